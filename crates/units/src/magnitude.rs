//! Asking back when a number looks off by a power of ten.

use crate::dimension::Dimension;

/// A number that would be right with its point moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MagnitudeQuery {
    /// How many times too large it looks: 10, 1000 or 1 000 000, or one over these.
    pub times: f64,
    /// What was perhaps meant, in SI.
    pub perhaps: f64,
}

/// How near a power of ten the ratio must come, as a factor either way. Judgement, tunable: wide
/// enough for a part out of tolerance, narrow enough that a fault seldom looks like a slip.
const NEARNESS: f64 = 1.5;

/// Whether a value looks 10, 1000 or 1 000 000 times too large or too small beside one expected.
///
/// `si` is the value entered and `expected` one that the machine could show, both in the SI unit
/// of `dimension`. This is a question to ask, never a reason to refuse: a fault can be off by ten
/// too. None where the value is plausible, where ratios mean nothing (temperatures, gauge
/// pressures), or where either is zero or not finite.
#[must_use]
pub fn magnitude_query(si: f64, dimension: Dimension, expected: f64) -> Option<MagnitudeQuery> {
    let usable = |x: f64| x.is_finite() && x != 0.0;
    if !dimension.has_ratios() || !usable(si) || !usable(expected) {
        return None;
    }
    let ratio = (si / expected).abs();
    [10.0, 1e3, 1e6, 0.1, 1e-3, 1e-6].into_iter().find_map(|times| {
        let left_over = ratio / times;
        (left_over < NEARNESS && left_over > 1.0 / NEARNESS).then_some(MagnitudeQuery { times, perhaps: si / times })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slipped_prefix_is_asked_about() {
        // 12.5 µF typed as 12.5 nF, and 20.5 Ω typed as 20.5 kΩ.
        let query = magnitude_query(12.5e-9, Dimension::Capacitance, 12.5e-6).expect("a question");
        assert_eq!(query.times, 1e-3);
        assert!((query.perhaps - 12.5e-6).abs() < 1e-18);
        let query = magnitude_query(20_500.0, Dimension::Resistance, 20.0).expect("a question");
        assert_eq!((query.times, query.perhaps), (1000.0, 20.5));
        let query = magnitude_query(24.0, Dimension::Voltage, 240.0).expect("a question");
        assert_eq!((query.times, query.perhaps), (0.1, 240.0));
    }

    #[test]
    fn what_may_well_be_is_not() {
        assert_eq!(magnitude_query(2.1e-6, Dimension::Capacitance, 12.5e-6), None);
        assert_eq!(magnitude_query(100.0, Dimension::Resistance, 1.0), None);
        assert_eq!(magnitude_query(0.0, Dimension::Resistance, 12.8), None);
        assert_eq!(magnitude_query(f64::NAN, Dimension::Resistance, 12.8), None);
        // 30 K and 300 K: a ratio of kelvins means nothing to a technician.
        assert_eq!(magnitude_query(30.0, Dimension::Temperature, 300.0), None);
    }
}
