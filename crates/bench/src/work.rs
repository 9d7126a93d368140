//! Listing, explaining and working out.

use std::fmt;

use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use crate::given::{Inputs, Read, read};
use crate::known::{Answer, Found, Item, Known};
use crate::refusal::Refusal;
use crate::value::{Input, Kind, Need, Output, Spread, WorkingValue, usual_unit};

/// Every working value, subject by subject.
pub fn catalogue() -> impl Iterator<Item = &'static WorkingValue> {
    crate::SUBJECTS.iter().flat_map(|values| values.iter())
}

/// The working value of this name.
///
/// # Errors
/// [`WorkError::UnknownValue`] with the names that come nearest.
pub fn find(id: &str) -> Result<&'static WorkingValue, WorkError> {
    catalogue().find(|value| value.id == id).ok_or_else(|| {
        let wanted = id.to_ascii_lowercase();
        let words: Vec<&str> = wanted.split(['.', '_', ' ', '-']).filter(|word| word.len() > 2).collect();
        let mut near: Vec<(usize, &'static str)> = catalogue()
            .map(|value| (words.iter().filter(|word| mentions(value, word)).count(), value.id))
            .filter(|(hits, _)| *hits > 0)
            .collect();
        near.sort_by_key(|&(hits, id)| (std::cmp::Reverse(hits), id));
        WorkError::UnknownValue { id: id.to_owned(), near: near.into_iter().take(3).map(|(_, id)| id).collect() }
    })
}

fn mentions(value: &WorkingValue, word: &str) -> bool {
    value.id.contains(word) || value.title.to_lowercase().contains(word)
}

/// Formula, source and range of a working value, with a worked example.
#[derive(Debug, Clone, Serialize)]
pub struct Explanation {
    /// The value itself: inputs, outputs, formula, source, validity.
    #[serde(flatten)]
    pub value: &'static WorkingValue,
    /// Its example worked out.
    pub worked: Worked,
}

/// Explains a working value.
///
/// # Errors
/// [`WorkError::UnknownValue`].
pub fn explain(id: &str) -> Result<Explanation, WorkError> {
    let value = find(id)?;
    Ok(Explanation { value, worked: work_out(id, &value.example.iter().copied().collect())? })
}

/// Works out a value from named inputs.
///
/// Where inputs carry a ±, each is moved to both of its ends in turn and the half differences of every result are added as
/// squares (JCGM 100:2008, 5.1.2 with the numerical sensitivities of 5.1.3, note 2); the formula's own doubt is added the
/// same way. The ± of a result therefore covers as much as the ± of the inputs do, and takes them as independent.
///
/// # Errors
/// [`WorkError`] says which input is unknown, missing, unreadable or out of range, or why the computation refused.
pub fn work_out(id: &str, inputs: &Inputs) -> Result<Worked, WorkError> {
    let value = find(id)?;
    if let Some(name) = inputs.0.keys().find(|name| !value.inputs.iter().any(|input| input.name == **name)) {
        let known = value.inputs.iter().map(|input| input.name).collect();
        return Err(WorkError::UnknownInput { name: name.clone(), known });
    }
    let mut known = Known::default();
    let mut uncertain = Vec::new();
    let mut taken = Vec::new();
    for input in value.inputs {
        let Some(Read { item, plus_minus }) = settle(value, input, inputs)? else {
            continue;
        };
        taken.push(Taken::new(input, &item, plus_minus, inputs.0.contains_key(input.name)));
        known.put(input.name, item);
        if plus_minus > 0.0 {
            uncertain.push((input.name, plus_minus));
        }
    }
    let Found { results: found, mut remarks } = (value.compute)(&known).map_err(WorkError::Refused)?;
    // Each uncertain input at both ends. An end that the computation refuses leaves the other, one-sided.
    let mut moved = Vec::new();
    for &(name, half) in &uncertain {
        let end = |by: f64| (value.compute)(&known.moved(name, by)).ok();
        let ends = (end(-half), end(half));
        if ends.0.is_none() || ends.1.is_none() {
            remarks.push(format!(
                "within its ± {name} leaves the range of the formula; the ± of the results is one-sided there"
            ));
        }
        moved.push((name, ends));
    }
    let results =
        value.outputs.iter().filter_map(|output| Some(Outcome::new(output, found.get(output.name)?, &moved))).collect();
    Ok(Worked {
        id: value.id,
        title: value.title,
        inputs: taken,
        results,
        remarks,
        formula: value.formula,
        source: value.source,
    })
}

/// Reads an input or takes its default; none if it is optional and was not given.
fn settle(value: &WorkingValue, input: &Input, inputs: &Inputs) -> Result<Option<Read>, WorkError> {
    if let Some(given) = inputs.0.get(input.name) {
        return read(input, given).map(Some);
    }
    let item = match input.need {
        Need::Otherwise(number) => Item::Number(input.si(number)),
        Need::OtherwiseWord(word) => Item::Word(word.to_owned()),
        Need::Optional => return Ok(None),
        Need::Required => {
            return Err(WorkError::Missing {
                id: value.id,
                name: input.name,
                meaning: input.meaning,
                unit: input.unit,
            });
        }
    };
    Ok(Some(Read { item, plus_minus: 0.0 }))
}

/// A number in its usual unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Number {
    /// In SI (or the fixed unit of a plain number).
    pub si: f64,
    /// In the usual unit.
    pub value: f64,
    /// The usual unit.
    pub unit: &'static str,
    /// Half the width of its uncertainty, in the usual unit; none where no input has any and the formula has no doubt of its own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plus_minus: Option<f64>,
}

impl Number {
    fn new(kind: Kind, unit: &'static str, si: f64, plus_minus_si: f64) -> Self {
        let usual = usual_unit(kind, unit);
        Self {
            si,
            value: usual.map_or(si, |usual| usual.from_si(si)),
            unit,
            plus_minus: (plus_minus_si > 0.0)
                .then(|| usual.map_or(plus_minus_si, |usual| usual.step_from_si(plus_minus_si))),
        }
    }
}

/// An input as it went into the computation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Taken {
    /// Its name.
    pub name: &'static str,
    /// What it was: a number, several, or a word.
    #[serde(flatten)]
    pub what: Content,
    /// Whether it was given, rather than a default.
    pub given: bool,
}

/// A number, several, or a word.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Content {
    /// One number.
    Number(Number),
    /// Several numbers.
    Numbers {
        /// Each of them.
        numbers: Vec<Number>,
    },
    /// A word.
    Word {
        /// The word.
        word: String,
    },
}

impl Taken {
    fn new(input: &Input, item: &Item, plus_minus: f64, given: bool) -> Self {
        let number = |si: f64, plus_minus: f64| Number::new(input.kind, input.unit, si, plus_minus);
        let what = match item {
            Item::Number(si) => Content::Number(number(*si, plus_minus)),
            Item::Numbers(all) => Content::Numbers { numbers: all.iter().map(|&si| number(si, 0.0)).collect() },
            Item::Word(word) => Content::Word { word: word.clone() },
        };
        Self { name: input.name, what, given }
    }
}

/// How much of a result's ± one input, or the formula itself, brings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// The input's name, or why the formula itself is in doubt.
    pub from: &'static str,
    /// Its share of the squared ±, 0 to 1.
    pub share: f64,
}

/// One result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// The number or the word.
    #[serde(flatten)]
    pub what: Content,
    /// Where the ± of a number comes from, largest first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// Other words that are possible within the ± of the inputs.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub could_also_be: Vec<String>,
}

/// Results with one input moved to its lower and its upper end.
type Moved = (&'static str, (Option<Found>, Option<Found>));

impl Outcome {
    fn new(output: &Output, answer: &Answer, moved: &[Moved]) -> Self {
        match answer {
            Answer::Number(si) => Self::number(output, *si, moved),
            Answer::Word(word) => Self::word(output, word, moved),
        }
    }

    fn number(output: &Output, si: f64, moved: &[Moved]) -> Self {
        let at = |end: &Option<Found>| match end.as_ref()?.results.get(output.name)? {
            Answer::Number(si) => Some(*si),
            Answer::Word(_) => None,
        };
        let mut parts: Vec<(&'static str, f64)> = moved
            .iter()
            .map(|(name, (low, high))| {
                let half = match (at(low), at(high)) {
                    (Some(low), Some(high)) => 0.5 * (high - low),
                    (Some(end), None) | (None, Some(end)) => end - si,
                    (None, None) => 0.0,
                };
                (*name, half)
            })
            .collect();
        match output.spread {
            Spread::None => {}
            Spread::Relative(share, why) => parts.push((why, share * si)),
            Spread::Absolute(amount, why) => {
                let usual = usual_unit(output.kind, output.unit);
                parts.push((why, usual.map_or(amount, |usual| usual.step_to_si(amount))));
            }
        }
        // What only rounding makes of an input that the result does not depend on is no part of it.
        let largest = parts.iter().fold(0.0_f64, |largest, (_, half)| largest.max(half.abs()));
        parts.retain(|(_, half)| half.abs() > 1e-9 * largest);
        let total: f64 = parts.iter().map(|(_, half)| half * half).sum();
        parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        Self {
            name: output.name,
            meaning: output.meaning,
            what: Content::Number(Number::new(output.kind, output.unit, si, total.sqrt())),
            parts: parts.into_iter().map(|(from, half)| Part { from, share: half * half / total }).collect(),
            could_also_be: Vec::new(),
        }
    }

    fn word(output: &Output, word: &str, moved: &[Moved]) -> Self {
        let mut could_also_be: Vec<String> = Vec::new();
        for end in moved.iter().flat_map(|(_, (low, high))| [low, high]).flatten() {
            if let Some(Answer::Word(other)) = end.results.get(output.name)
                && other != word
                && !could_also_be.contains(other)
            {
                could_also_be.push(other.clone());
            }
        }
        Self {
            name: output.name,
            meaning: output.meaning,
            what: Content::Word { word: word.to_owned() },
            parts: Vec::new(),
            could_also_be,
        }
    }
}

/// A working value worked out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worked {
    /// Which value.
    pub id: &'static str,
    /// What it answers.
    pub title: &'static str,
    /// The inputs as used, defaults with them.
    pub inputs: Vec<Taken>,
    /// The results that the inputs allowed.
    pub results: Vec<Outcome>,
    /// What the reader should mind.
    pub remarks: Vec<String>,
    /// The formula.
    pub formula: &'static str,
    /// Its source.
    pub source: &'static str,
}

impl Worked {
    /// A numeric result by name.
    pub fn number(&self, name: &str) -> Option<&Number> {
        match &self.results.iter().find(|outcome| outcome.name == name)?.what {
            Content::Number(number) => Some(number),
            Content::Numbers { .. } | Content::Word { .. } => None,
        }
    }

    /// A result in words by name.
    pub fn word(&self, name: &str) -> Option<&str> {
        match &self.results.iter().find(|outcome| outcome.name == name)?.what {
            Content::Word { word } => Some(word),
            Content::Number(_) | Content::Numbers { .. } => None,
        }
    }
}

/// Why a value was not worked out.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum WorkError {
    /// No working value has this name.
    UnknownValue {
        /// The name asked for.
        id: String,
        /// Names that come near.
        near: Vec<&'static str>,
    },
    /// The value has no such input.
    UnknownInput {
        /// The name given.
        name: String,
        /// The names it has.
        known: Vec<&'static str>,
    },
    /// A required input was not given.
    Missing {
        /// The value.
        id: &'static str,
        /// The input's name.
        name: &'static str,
        /// What it is.
        meaning: &'static str,
        /// Its usual unit.
        unit: &'static str,
    },
    /// The text of an input could not be read.
    Unreadable {
        /// The input's name.
        name: String,
        /// Why, and what to do.
        reason: String,
    },
    /// An input lies outside its range; figures in the usual unit.
    OutOfRange {
        /// The input's name.
        name: String,
        /// The value given.
        value: f64,
        /// Lowest value.
        low: f64,
        /// Highest value.
        high: f64,
        /// Whether the lowest itself is excluded.
        above_low: bool,
        /// The unit.
        unit: String,
    },
    /// The computation refused.
    Refused(Refusal),
}

impl WorkError {
    /// A short name of the kind of error, for machines.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::UnknownValue { .. } => "unknown_value",
            Self::UnknownInput { .. } => "unknown_input",
            Self::Missing { .. } => "missing",
            Self::Unreadable { .. } => "unreadable",
            Self::OutOfRange { .. } => "out_of_range",
            Self::Refused(_) => "refused",
        }
    }

    /// The input that it is about, if one.
    pub fn input(&self) -> Option<&str> {
        match self {
            Self::UnknownInput { name, .. } | Self::Unreadable { name, .. } | Self::OutOfRange { name, .. } => {
                Some(name)
            }
            Self::Missing { name, .. } => Some(name),
            Self::UnknownValue { .. } | Self::Refused(_) => None,
        }
    }
}

impl fmt::Display for WorkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownValue { id, near } if near.is_empty() => {
                write!(f, "there is no working value \"{id}\"; list them all to find the one you mean")
            }
            Self::UnknownValue { id, near } => {
                write!(f, "there is no working value \"{id}\"; perhaps {}", near.join(" or "))
            }
            Self::UnknownInput { name, known } => {
                write!(f, "there is no input \"{name}\" here; the inputs are {}", known.join(", "))
            }
            Self::Missing { id, name, meaning, unit } if unit.is_empty() || *unit == "1" => {
                write!(f, "{id} needs {name} ({meaning}); give it")
            }
            Self::Missing { id, name, meaning, unit } => {
                write!(f, "{id} needs {name} ({meaning}); give it, for example in {unit}")
            }
            Self::Unreadable { name, reason } => write!(f, "{name}: {reason}"),
            Self::OutOfRange { name, value, low, high, above_low, unit } => {
                let from = if *above_low { "above " } else { "" };
                let unit = if unit == "1" { "" } else { unit };
                write!(
                    f,
                    "{name}: {value} {unit} is outside {from}{low} to {high} {unit}; check the reading and its unit"
                )
            }
            Self::Refused(refusal) => refusal.fmt(f),
        }
    }
}

impl std::error::Error for WorkError {}

impl Serialize for WorkError {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("WorkError", 3)?;
        fields.serialize_field("error", self.kind())?;
        fields.serialize_field("input", &self.input())?;
        fields.serialize_field("message", &self.to_string())?;
        fields.end()
    }
}
