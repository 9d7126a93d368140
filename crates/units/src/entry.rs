//! Reading what a technician types for a reading: "2.1 uF", "OL", ">20 MOhm", "118..122 V".

use serde::{Deserialize, Serialize};

use crate::dimension::Dimension;
use crate::error::EntryError;
use crate::reader;
use crate::unit::{Unit, Waveform};

/// A number with its unit, as entered, in SI inside.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StoredQuantity", into = "StoredQuantity")]
pub struct Quantity {
    /// The value in the SI unit of its dimension (kelvins for temperatures, pascals, ratios of 1).
    pub si: f64,
    /// The SI size of one in the last digit typed: a reading of "2.1 uF" has 1e-7 F. Never
    /// negative; 0 where it cannot be told.
    pub step: f64,
    /// The unit that was typed, or the one that a bare number of this dimension must mean.
    pub unit: &'static Unit,
    /// Said to be rough: "about", "~".
    pub rough: bool,
}

impl Quantity {
    /// What it measures.
    #[must_use]
    pub const fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// Alternating or direct, where the unit says so.
    #[must_use]
    pub const fn waveform(&self) -> Option<Waveform> {
        self.unit.waveform()
    }

    /// The number in the unit that was typed.
    #[must_use]
    pub fn number(&self) -> f64 {
        self.unit.from_si(self.si)
    }
}

/// How a [`Quantity`] stands in a file.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct StoredQuantity {
    si: f64,
    step: f64,
    dimension: Dimension,
    unit: String,
    #[serde(default, skip_serializing_if = "is_false")]
    rough: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "the form that serde calls")]
const fn is_false(flag: &bool) -> bool {
    !*flag
}

impl From<Quantity> for StoredQuantity {
    fn from(quantity: Quantity) -> Self {
        Self {
            si: quantity.si,
            step: quantity.step,
            dimension: quantity.dimension(),
            unit: quantity.unit.symbol().to_owned(),
            rough: quantity.rough,
        }
    }
}

impl TryFrom<StoredQuantity> for Quantity {
    type Error = String;
    fn try_from(stored: StoredQuantity) -> Result<Self, String> {
        let unit = Unit::by_symbol(stored.dimension, &stored.unit)
            .ok_or_else(|| format!("\"{}\" is not a unit of {} in this version", stored.unit, stored.dimension))?;
        Ok(Self { si: stored.si, step: stored.step, unit, rough: stored.rough })
    }
}

/// What was entered for a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Entry {
    /// A value.
    Value(Quantity),
    /// More than this: the end of the meter's range, or a bound that was good enough.
    AtLeast(Quantity),
    /// Less than this.
    AtMost(Quantity),
    /// Somewhere between two values, or swinging between them.
    Between {
        /// The lower value.
        low: Quantity,
        /// The higher value.
        high: Quantity,
    },
    /// The meter shows that the value is beyond every range: OL, open line.
    Over(Option<Dimension>),
    /// What was seen or heard, as typed, without the blanks around it.
    Words(String),
}

impl Entry {
    /// What was entered; none for an OL where nothing was asked for.
    #[must_use]
    pub const fn dimension(&self) -> Option<Dimension> {
        match self {
            Self::Value(q) | Self::AtLeast(q) | Self::AtMost(q) | Self::Between { low: q, .. } => Some(q.dimension()),
            Self::Over(dimension) => *dimension,
            Self::Words(_) => Some(Dimension::Words),
        }
    }
}

/// Reads an entry.
///
/// `asked` is what the test measures. It settles units with two meanings ("F" is farads or degrees
/// Fahrenheit) and refuses units of anything else. With `None` the unit decides, and a text that
/// does not begin like a measurement is taken as words.
///
/// Taken are: a number with a unit; `OL`, `O.L`, `open`, `inf`; bounds (`>20 MOhm`, `at most 5 V`);
/// ranges (`118..122 V`, `118-122 V`, `118 to 122 V`, `12.5 ± 0.3 uF`, `12.8 ohm ± 5 %`);
/// `about`, `~`; two units that belong together (`2 lb 3 oz`, `1 min 30 s`); resistor marking
/// (`4k7`; source: IEC 60062). Numbers may have a decimal point or comma. A bare number is
/// taken for volts, amperes, watts, hertz, counts and ratios only.
///
/// # Errors
///
/// [`EntryError`] says what was typed, the character at which the trouble begins, and what to do:
/// unknown units with the nearest known, units of another dimension, values that cannot be
/// (negative ohms, kelvins or farads, humidity above 100 %), numbers with two meanings ("1,234").
///
/// ```
/// use halfsplit_units::{Dimension, Entry, parse_entry};
///
/// let entry = parse_entry("2.1 uF", Some(Dimension::Capacitance)).expect("a capacitance");
/// let Entry::Value(reading) = entry else { panic!("a value") };
/// assert_eq!(reading.si, 2.1e-6);
///
/// let error = parse_entry("-4 ohm", Some(Dimension::Resistance)).expect_err("below zero");
/// assert!(error.to_string().contains("cannot be below zero"));
/// ```
pub fn parse_entry(text: &str, asked: Option<Dimension>) -> Result<Entry, EntryError> {
    reader::read(text, asked)
}
