//! Readings to enter, and what they leave possible.

use halfsplit_diagnosis::Case;

/// Takes in what was typed for a test.
pub fn read(case: &mut Case, test: &str, typed: &str) {
    let test = case.test(test).unwrap_or_else(|e| panic!("{e}"));
    let observed = case.observation(test, typed).unwrap_or_else(|e| panic!("{e}"));
    case.read(test, observed).unwrap_or_else(|e| panic!("{e}"));
}

/// The probability of a fault (0 to 1): 0 where it is not thought of.
pub fn chance(case: &Case, fault: &str) -> f64 {
    case.still_possible().suspects.iter().filter(|s| s.id == fault).map(|s| s.probability).sum()
}
