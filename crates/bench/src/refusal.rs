//! Why a computation has no answer, in words that say what to do next.

use std::fmt;

use halfsplit_fluids::{air::AirError, refrigerant::RefrigerantError, water::WaterError};
use serde::{Serialize, Serializer};

/// A computation's own refusal of values that make no sense or lie outside its range.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// A value that must be above zero is not (or is not a number).
    NotPositive {
        /// What it is.
        what: &'static str,
        /// The value given, in `unit`.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// A value lies outside the range where the formula means anything.
    OutOfRange {
        /// What it is.
        what: &'static str,
        /// The value given, in `unit`.
        value: f64,
        /// Lowest value accepted.
        low: f64,
        /// Highest value accepted.
        high: f64,
        /// Unit of the three figures.
        unit: &'static str,
    },
    /// The values contradict each other, or one that is needed is missing; the text says which and what to do.
    Contradiction(String),
    /// Moist air refused.
    Air(AirError),
    /// Water refused.
    Water(WaterError),
    /// The refrigerant refused.
    Refrigerant(RefrigerantError),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotPositive { what, value, unit } => {
                write!(f, "{what} must be above zero, and {value} {unit} is not; check the reading")
            }
            Self::OutOfRange { what, value, low, high, unit } => {
                write!(f, "{what} of {value} {unit} is outside {low} to {high} {unit}; check the reading and its unit")
            }
            Self::Contradiction(text) => f.write_str(text),
            Self::Air(error) => error.fmt(f),
            Self::Water(error) => error.fmt(f),
            Self::Refrigerant(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for Refusal {}

impl Serialize for Refusal {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl From<AirError> for Refusal {
    fn from(error: AirError) -> Self {
        Self::Air(error)
    }
}

impl From<WaterError> for Refusal {
    fn from(error: WaterError) -> Self {
        Self::Water(error)
    }
}

impl From<RefrigerantError> for Refusal {
    fn from(error: RefrigerantError) -> Self {
        Self::Refrigerant(error)
    }
}

/// Passes a value that is finite and above zero.
pub(crate) fn positive(what: &'static str, value: f64, unit: &'static str) -> Result<f64, Refusal> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(Refusal::NotPositive { what, value, unit }) }
}

/// Passes a value within closed limits.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    (low, high): (f64, f64),
    unit: &'static str,
) -> Result<f64, Refusal> {
    if value >= low && value <= high { Ok(value) } else { Err(Refusal::OutOfRange { what, value, low, high, unit }) }
}

/// Shorthand for a refusal in words.
pub(crate) fn contradiction(text: impl Into<String>) -> Refusal {
    Refusal::Contradiction(text.into())
}
