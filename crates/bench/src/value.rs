//! What a working value is: its inputs, results, formula, source and range, as data.

use halfsplit_units::{Dimension, Unit};
use serde::Serialize;

use crate::known::{Found, Known};
use crate::refusal::Refusal;

/// What kind of entry an input or a result is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A quantity, typed in any unit of its dimension and computed in SI.
    Quantity(Dimension),
    /// A number that is always in the one unit named beside it (a coefficient, an angle, money).
    Plain,
    /// Several quantities.
    Quantities(Dimension),
    /// Several numbers in the unit named beside them.
    Plains,
    /// One of these words; any word if the list is empty.
    Word(&'static [&'static str]),
}

/// Closed limits in the usual unit, except that the low one may be open.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// Whether the lowest value itself is excluded: "above zero".
    pub above_low: bool,
}

impl Range {
    /// From `low` to `high`, both included.
    pub const fn from_to(low: f64, high: f64) -> Self {
        Self { low, high, above_low: false }
    }

    /// Above zero, up to `high`.
    pub const fn above_zero(high: f64) -> Self {
        Self { low: 0.0, high, above_low: true }
    }

    /// Whether a value lies inside. A value that is not a number does not.
    pub fn holds(&self, value: f64) -> bool {
        (value > self.low || value == self.low && !self.above_low) && value <= self.high
    }
}

/// Whether an input must be given.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Need {
    /// Yes.
    Required,
    /// No; this number (in the usual unit) is taken instead.
    Otherwise(f64),
    /// No; this word is taken instead.
    OtherwiseWord(&'static str),
    /// No; results that need it are left out.
    Optional,
}

/// One input of a working value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Input {
    /// Name by which it is given: `snake_case`, unique within the value.
    pub name: &'static str,
    /// What it is and where to measure it.
    pub meaning: &'static str,
    /// Kind of entry.
    pub kind: Kind,
    /// Usual unit, in which range and default are stated; empty for words.
    pub unit: &'static str,
    /// Values accepted, in the usual unit.
    pub range: Range,
    /// Whether it must be given.
    pub need: Need,
}

impl Input {
    /// A required quantity; `unit` is the usual one, in which `range` is stated.
    pub const fn quantity(
        name: &'static str,
        meaning: &'static str,
        dimension: Dimension,
        unit: &'static str,
        range: Range,
    ) -> Self {
        Self { name, meaning, kind: Kind::Quantity(dimension), unit, range, need: Need::Required }
    }

    /// A required number in a fixed unit.
    pub const fn plain(name: &'static str, meaning: &'static str, unit: &'static str, range: Range) -> Self {
        Self { name, meaning, kind: Kind::Plain, unit, range, need: Need::Required }
    }

    /// A required list of quantities.
    pub const fn quantities(
        name: &'static str,
        meaning: &'static str,
        dimension: Dimension,
        unit: &'static str,
        range: Range,
    ) -> Self {
        Self { name, meaning, kind: Kind::Quantities(dimension), unit, range, need: Need::Required }
    }

    /// A required list of numbers in a fixed unit.
    pub const fn plains(name: &'static str, meaning: &'static str, unit: &'static str, range: Range) -> Self {
        Self { name, meaning, kind: Kind::Plains, unit, range, need: Need::Required }
    }

    /// A required word out of a list.
    pub const fn word(name: &'static str, meaning: &'static str, words: &'static [&'static str]) -> Self {
        let range = Range::from_to(0.0, 0.0);
        Self { name, meaning, kind: Kind::Word(words), unit: "", range, need: Need::Required }
    }

    /// With a default, in the usual unit.
    pub const fn or(mut self, value: f64) -> Self {
        self.need = Need::Otherwise(value);
        self
    }

    /// With a word as default.
    pub const fn or_word(mut self, word: &'static str) -> Self {
        self.need = Need::OtherwiseWord(word);
        self
    }

    /// Not needed.
    pub const fn optional(mut self) -> Self {
        self.need = Need::Optional;
        self
    }

    /// The SI value of a number in the usual unit.
    pub(crate) fn si(&self, number: f64) -> f64 {
        usual_unit(self.kind, self.unit).map_or(number, |unit| unit.to_si(number))
    }

    /// A number in the usual unit from SI.
    pub(crate) fn usual(&self, si: f64) -> f64 {
        usual_unit(self.kind, self.unit).map_or(si, |unit| unit.from_si(si))
    }
}

/// How far the formula itself may be off, beyond what the inputs bring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Nothing worth naming beside a meter's error.
    None,
    /// A share of the result, with the reason.
    Relative(f64, &'static str),
    /// An amount in the usual unit, with the reason.
    Absolute(f64, &'static str),
}

/// One result of a working value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Output {
    /// Name, `snake_case`, unique within the value.
    pub name: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Kind of result.
    pub kind: Kind,
    /// Usual unit.
    pub unit: &'static str,
    /// The formula's own doubt.
    pub spread: Spread,
}

impl Output {
    /// A quantity, shown in its usual unit.
    pub const fn quantity(name: &'static str, meaning: &'static str, dimension: Dimension, unit: &'static str) -> Self {
        Self { name, meaning, kind: Kind::Quantity(dimension), unit, spread: Spread::None }
    }

    /// A number in a fixed unit.
    pub const fn plain(name: &'static str, meaning: &'static str, unit: &'static str) -> Self {
        Self { name, meaning, kind: Kind::Plain, unit, spread: Spread::None }
    }

    /// A word: a verdict or a class.
    pub const fn word(name: &'static str, meaning: &'static str) -> Self {
        Self { name, meaning, kind: Kind::Word(&[]), unit: "", spread: Spread::None }
    }

    /// With the formula's own doubt.
    pub const fn spread(mut self, spread: Spread) -> Self {
        self.spread = spread;
        self
    }
}

pub(crate) fn usual_unit(kind: Kind, symbol: &str) -> Option<&'static Unit> {
    match kind {
        Kind::Quantity(dimension) | Kind::Quantities(dimension) => Unit::by_symbol(dimension, symbol),
        Kind::Plain | Kind::Plains | Kind::Word(_) => None,
    }
}

/// A single computation of the trade, with everything needed to ask for it, trust it and show it.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct WorkingValue {
    /// Name: subject and value, joined by a dot.
    pub id: &'static str,
    /// What it answers, in trade words.
    pub title: &'static str,
    /// Inputs, in the order in which one would ask for them.
    pub inputs: &'static [Input],
    /// Results.
    pub outputs: &'static [Output],
    /// The formula as text.
    pub formula: &'static str,
    /// Where the formula and its constants are published, or that it is common practice or from memory.
    pub source: &'static str,
    /// Where it holds and what to mind.
    pub validity: &'static str,
    /// Inputs that give a sensible answer, as text.
    pub example: &'static [(&'static str, &'static str)],
    #[serde(skip)]
    pub(crate) compute: fn(&Known) -> Result<Found, Refusal>,
}
