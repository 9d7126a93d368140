//! Ranges and accuracy of one function of a meter.

use super::{Reading, Shown};

/// One range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Greatest value that it shows.
    pub full_scale: f64,
    /// Its last digit.
    pub resolution: f64,
}

/// The ranges of a function, lowest first, and its accuracy: percent of the reading plus counts of the last digit.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// Ranges, lowest first; the meter takes the first that holds the value.
    pub ranges: Vec<Range>,
    /// Percent of the reading.
    pub percent: f64,
    /// Counts of the last digit.
    pub counts: f64,
}

impl Scale {
    /// `number` ranges, the first up to `first`, each ten times the one before, of `counts` counts each.
    #[must_use]
    pub fn decades(first: f64, number: usize, counts: f64, percent: f64, digits: f64) -> Self {
        let mut ranges = Vec::with_capacity(number + 1);
        let mut full_scale = first;
        for _ in 0..number {
            ranges.push(Range { full_scale, resolution: full_scale / counts });
            full_scale *= 10.0;
        }
        Self { ranges, percent, counts: digits }
    }

    /// With one more range that ends at `full_scale`, ten times as coarse as the last.
    #[must_use]
    pub fn up_to(mut self, full_scale: f64) -> Self {
        let coarser = self.ranges.last().map_or(1.0, |r| 10.0 * r.resolution);
        self.ranges.push(Range { full_scale, resolution: coarser });
        self
    }

    /// The most that it shows in figures, in its unit; 0 without a range.
    #[must_use]
    pub fn full_scale(&self) -> f64 {
        self.ranges.last().map_or(0.0, |r| r.full_scale)
    }

    /// The reading of `value`, on the lowest range that holds it.
    #[must_use]
    pub fn read(&self, value: f64) -> Reading {
        match self.ranges.iter().find(|r| value.abs() <= r.full_scale) {
            Some(range) => self.read_on(*range, value),
            None => self.over_limit(),
        }
    }

    /// The reading of `value` on one range, which is over its limit when the value does not fit.
    #[must_use]
    pub fn read_on(&self, range: Range, value: f64) -> Reading {
        if value.abs() <= range.full_scale {
            let limit = self.percent / 100.0 * value.abs() + self.counts * range.resolution;
            Reading {
                shown: Shown::Value(value),
                resolution: range.resolution,
                standard_uncertainty: limit / 3.0_f64.sqrt(),
            }
        } else {
            self.over_limit()
        }
    }

    /// The reading OL.
    #[must_use]
    pub fn over_limit(&self) -> Reading {
        Reading {
            shown: Shown::OverLimit,
            resolution: self.ranges.last().map_or(0.0, |r| r.resolution),
            standard_uncertainty: 0.0,
        }
    }
}
