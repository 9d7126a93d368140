//! What the visits add up to.

use std::collections::BTreeMap;

use halfsplit_machine::Machine;

use super::bench::JobResult;
use super::interval::wilson;
use super::jobs::{Part, names};

/// How single faults of one name fared.
#[derive(Debug, Clone, PartialEq)]
pub struct NameReport {
    /// The name.
    pub name: String,
    /// Visits.
    pub visits: usize,
    /// Visits that ended on the right cause, or one with the same repair.
    pub right: usize,
    /// Mean minutes.
    pub minutes: f64,
}

/// A share with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Hits.
    pub hits: usize,
    /// Out of.
    pub of: usize,
}

impl Share {
    /// The share, 0 to 1; `NaN` of nothing.
    pub fn value(self) -> f64 {
        self.hits as f64 / self.of as f64
    }

    /// Its 95 % interval.
    pub fn interval(self) -> (f64, f64) {
        wilson(self.hits, self.of)
    }
}

/// The evaluation's figures; `None` where a part was not asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Names of faults, levels taken together.
    pub modes: usize,
    /// Tests.
    pub tests: usize,
    /// Singles, name by name.
    pub singles: Vec<NameReport>,
    /// Intermittent singles, name by name.
    pub intermittent: Vec<NameReport>,
}

/// Counts.
pub fn summarise(machine: &Machine, results: &[JobResult]) -> Report {
    Report {
        modes: names(machine).len(),
        tests: machine.tests.len(),
        singles: by_name(results, Part::Singles),
        intermittent: by_name(results, Part::Intermittent),
    }
}

fn by_name(results: &[JobResult], part: Part) -> Vec<NameReport> {
    let mut all: BTreeMap<&str, NameReport> = BTreeMap::new();
    for r in results.iter().filter(|r| r.part == part) {
        let name = r.hidden.first().map_or("", String::as_str);
        let entry =
            all.entry(name).or_insert_with(|| NameReport { name: name.to_owned(), visits: 0, right: 0, minutes: 0.0 });
        entry.visits += 1;
        entry.right += usize::from(r.own().right_at_once());
        entry.minutes += (r.own().minutes - entry.minutes) / entry.visits as f64;
    }
    all.into_values().collect()
}
