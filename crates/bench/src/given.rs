//! Inputs as they are given: text with units, or numbers in SI.

use std::collections::BTreeMap;

use halfsplit_units::{Dimension, Entry, Quantity, parse_entry};
use serde::{Deserialize, Serialize};

use crate::known::Item;
use crate::value::{Input, Kind};
use crate::work::WorkError;

/// One input as given.
///
/// In JSON either a text, as a technician types it (`"10 kΩ ± 1 %"`, `"wye"`, `"42 gal, 21 gal"`), or an object with the
/// number in SI.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum Given {
    /// Text with a unit, a ± where the reading has one, or a word.
    Text(String),
    /// A number in the SI unit of the input's dimension (or the fixed unit of a plain number).
    Si {
        /// The number.
        si: f64,
        /// Half the width of its uncertainty, also in SI.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        plus_minus: Option<f64>,
    },
    /// Several numbers in SI.
    Several(Vec<f64>),
}

/// The inputs of one computation, by name.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Inputs(pub BTreeMap<String, Given>);

impl Inputs {
    /// With one more input as text.
    #[must_use]
    pub fn text(mut self, name: &str, text: &str) -> Self {
        self.0.insert(name.to_owned(), Given::Text(text.to_owned()));
        self
    }

    /// With one more input as a number in SI.
    #[must_use]
    pub fn si(mut self, name: &str, si: f64) -> Self {
        self.0.insert(name.to_owned(), Given::Si { si, plus_minus: None });
        self
    }
}

impl<'a> FromIterator<(&'a str, &'a str)> for Inputs {
    fn from_iter<I: IntoIterator<Item = (&'a str, &'a str)>>(pairs: I) -> Self {
        pairs.into_iter().fold(Self::default(), |inputs, (name, text)| inputs.text(name, text))
    }
}

/// An input read, with half the width of its uncertainty in SI (0 where none was given).
pub(crate) struct Read {
    pub item: Item,
    pub plus_minus: f64,
}

impl Read {
    fn exact(item: Item) -> Self {
        Self { item, plus_minus: 0.0 }
    }
}

/// Reads one input and checks its range.
pub(crate) fn read(input: &Input, given: &Given) -> Result<Read, WorkError> {
    match (given, input.kind) {
        (Given::Text(text), Kind::Quantity(dimension)) => {
            let (si, plus_minus) = quantity(input, text, dimension)?;
            Ok(Read { item: Item::Number(checked(input, si)?), plus_minus })
        }
        (Given::Text(text), Kind::Plain) => {
            let (number, plus_minus) = plain(input, text)?;
            Ok(Read { item: Item::Number(checked(input, number)?), plus_minus })
        }
        (Given::Si { si, plus_minus }, Kind::Quantity(_) | Kind::Plain) => {
            let plus_minus = plus_minus.unwrap_or(0.0).abs();
            if !plus_minus.is_finite() {
                return Err(unreadable(input, format!("its ± of {plus_minus} is no number; give one or leave it out")));
            }
            Ok(Read { item: Item::Number(checked(input, *si)?), plus_minus })
        }
        (Given::Text(text), Kind::Quantities(dimension)) => {
            let one = |part: &str| checked(input, quantity(input, part, dimension)?.0);
            Ok(Read::exact(Item::Numbers(parts(text).map(one).collect::<Result<_, _>>()?)))
        }
        (Given::Text(text), Kind::Plains) => {
            let one = |part: &str| checked(input, plain(input, part)?.0);
            Ok(Read::exact(Item::Numbers(
                text.split([',', ';'])
                    .map(str::trim)
                    .filter(|part| !part.is_empty())
                    .map(one)
                    .collect::<Result<_, _>>()?,
            )))
        }
        (Given::Several(numbers), Kind::Quantities(_) | Kind::Plains) => {
            let all = numbers.iter().map(|&si| checked(input, si)).collect::<Result<_, _>>()?;
            Ok(Read::exact(Item::Numbers(all)))
        }
        (Given::Text(text), Kind::Word(words)) => word(input, text, words),
        (Given::Si { .. } | Given::Several(_), _) => Err(unreadable(
            input,
            match input.kind {
                Kind::Word(_) => "a number was given where a word is asked for",
                Kind::Quantities(_) | Kind::Plains => "one number was given where a list is asked for",
                Kind::Quantity(_) | Kind::Plain => "a list was given where one number is asked for",
            },
        )),
    }
}

fn unreadable(input: &Input, reason: impl Into<String>) -> WorkError {
    WorkError::Unreadable { name: input.name.to_owned(), reason: reason.into() }
}

/// Items of a list stand apart by semicolons, or by commas with a blank behind (a comma alone may be a decimal mark).
fn parts(text: &str) -> impl Iterator<Item = &str> {
    let separator = if text.contains(';') { ";" } else { ", " };
    text.split(separator).map(str::trim).filter(|part| !part.is_empty())
}

/// Middle and half width in SI.
fn quantity(input: &Input, text: &str, dimension: Dimension) -> Result<(f64, f64), WorkError> {
    let middle = |low: Quantity, high: Quantity| (0.5 * (low.si + high.si), 0.5 * (high.si - low.si));
    match parse_entry(text, Some(dimension)).map_err(|error| unreadable(input, error.to_string()))? {
        Entry::Value(quantity) => Ok((quantity.si, 0.0)),
        Entry::Between { low, high } => Ok(middle(low, high)),
        Entry::AtLeast(_) | Entry::AtMost(_) | Entry::Over(_) | Entry::Words(_) => Err(unreadable(
            input,
            format!("\"{text}\" is no single value to compute with; give a number with its unit"),
        )),
    }
}

/// A number in the fixed unit, which may be written behind it.
fn plain(input: &Input, text: &str) -> Result<(f64, f64), WorkError> {
    let number = |part: &str| {
        let bare = part.trim();
        let bare = if input.unit == "1" { bare } else { bare.strip_suffix(input.unit).unwrap_or(bare).trim() };
        bare.parse::<f64>().ok().filter(|number| number.is_finite()).ok_or_else(|| {
            unreadable(input, format!("\"{bare}\" is not a number; give one in {}", unit_in_words(input.unit)))
        })
    };
    let pair = text.split_once('±').or_else(|| text.split_once("+/-")).or_else(|| text.split_once("+-"));
    let Some((middle, half)) = pair else {
        return Ok((number(text)?, 0.0));
    };
    let middle = number(middle)?;
    match half.trim().strip_suffix('%') {
        Some(per_cent) => Ok((middle, (middle * number(per_cent)? / 100.0).abs())),
        None => Ok((middle, number(half)?.abs())),
    }
}

fn unit_in_words(unit: &str) -> &str {
    if unit == "1" { "plain figures" } else { unit }
}

fn word(input: &Input, text: &str, words: &'static [&'static str]) -> Result<Read, WorkError> {
    let typed = text.trim();
    if words.is_empty() {
        return Ok(Read::exact(Item::Word(typed.to_owned())));
    }
    let same = |word: &&&str| word.eq_ignore_ascii_case(typed) || word.replace('_', " ").eq_ignore_ascii_case(typed);
    match words.iter().find(same) {
        Some(word) => Ok(Read::exact(Item::Word((*word).to_owned()))),
        None => Err(unreadable(input, format!("\"{typed}\" is not among {}", words.join(", ")))),
    }
}

fn checked(input: &Input, si: f64) -> Result<f64, WorkError> {
    // Conversion may leave a value typed at the very end of the range a rounding beyond it.
    let usual = input.usual(si);
    let slack = 1e-12 * usual.abs();
    if [usual, usual - slack, usual + slack].into_iter().any(|value| input.range.holds(value)) {
        Ok(si)
    } else {
        Err(WorkError::OutOfRange {
            name: input.name.to_owned(),
            value: usual,
            low: input.range.low,
            high: input.range.high,
            above_low: input.range.above_low,
            unit: input.unit.to_owned(),
        })
    }
}
