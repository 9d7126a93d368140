//! What is wrong with an entry, said so that it can be put right at once.

use core::fmt;

use crate::dimension::Dimension;
use crate::unit::Unit;

/// An entry that cannot be taken, with the place and the way out.
#[derive(Debug, Clone, PartialEq)]
pub struct EntryError {
    /// The text as it was typed.
    pub typed: String,
    /// Where the trouble begins: characters (not bytes) before it in `typed`.
    pub at: usize,
    /// How many characters it concerns; 0 where something is missing.
    pub len: usize,
    /// What is wrong.
    pub problem: EntryProblem,
    /// What was asked for, if anything was.
    pub asked: Option<Dimension>,
}

/// The kinds of trouble with an entry.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum EntryProblem {
    /// Nothing was typed.
    Empty,
    /// A number was expected and there is none.
    NotANumber,
    /// The number can be read in two ways.
    TwoMeanings {
        /// With the comma as a mark between thousands.
        thousands: String,
        /// With the comma as the decimal mark.
        decimal: String,
    },
    /// Points and commas that fit no way of writing a number.
    MuddledNumber,
    /// "3/8".
    Fraction,
    /// Too large to be a number here.
    TooLarge,
    /// A number without a unit, where it could mean several things.
    UnitMissing,
    /// A unit that is not known.
    UnknownUnit {
        /// The units that are spelled most nearly so.
        nearest: Vec<&'static Unit>,
    },
    /// Upper and lower case decide between these units, and the typed mixture fits none.
    CaseDecides {
        /// The units it could be.
        between: Vec<&'static Unit>,
    },
    /// A unit of something else than what was asked for, or than the first number of a range.
    WrongDimension {
        /// The unit that was typed.
        unit: &'static Unit,
        /// What it had to measure.
        needed: Dimension,
    },
    /// Below zero, where nothing can be.
    Negative {
        /// What was to be entered.
        dimension: Dimension,
    },
    /// More than there can be, or less: beyond 100 % humidity, below a perfect vacuum.
    Impossible {
        /// Why.
        why: &'static str,
    },
    /// A whole number was needed.
    NotWhole,
    /// Something after the entry that belongs to nothing.
    TrailingText,
    /// Parts of one quantity in an order that makes no sense: "3 oz 2 lb".
    PartsOutOfOrder,
}

impl EntryError {
    /// The characters that the trouble is about; empty where something is missing.
    #[must_use]
    pub fn excerpt(&self) -> String {
        self.typed.chars().skip(self.at).take(self.len).collect()
    }

    /// What to do next, in a sentence.
    #[must_use]
    pub fn what_to_do(&self) -> String {
        let example = self.asked.map_or("12.5 uF", Dimension::example);
        match &self.problem {
            EntryProblem::Empty | EntryProblem::NotANumber => {
                if self.asked == Some(Dimension::Words) {
                    "Say in a few words what was seen or heard.".to_owned()
                } else {
                    format!("Type it like \"{example}\", or OL if the meter shows no reading.")
                }
            }
            EntryProblem::TwoMeanings { thousands, decimal } => {
                format!("Type {thousands} or {decimal}.")
            }
            EntryProblem::MuddledNumber => {
                "Use one decimal point or comma, and nothing between thousands.".to_owned()
            }
            EntryProblem::Fraction => "Type the fraction as a decimal, 0.375 for 3/8.".to_owned(),
            EntryProblem::TooLarge => format!("Check the exponent; type it like \"{example}\"."),
            EntryProblem::UnitMissing => format!("Add the unit, as in \"{example}\"."),
            EntryProblem::UnknownUnit { nearest } if nearest.is_empty() => {
                format!("Type it like \"{example}\".")
            }
            EntryProblem::UnknownUnit { nearest } => format!("Did you mean {}?", listed(nearest)),
            EntryProblem::CaseDecides { between } => {
                format!("Type it as {}; capital M is a million, small m a thousandth.", listed(between))
            }
            EntryProblem::WrongDimension { unit, needed } => match (unit.dimension(), needed) {
                (Dimension::PressureGauge, Dimension::PressureAbsolute) => {
                    "If it was measured from a perfect vacuum, type psia, bar(a) or kPa(a); a gauge that shows 0 in the open air reads gauge pressure.".to_owned()
                }
                (Dimension::PressureAbsolute, Dimension::PressureGauge) => {
                    "If it was read on a gauge that shows 0 in the open air, type psig, bar(g) or kPa(g).".to_owned()
                }
                _ => format!("Type {}, like \"{}\".", needed.in_words(), needed.example()),
            },
            EntryProblem::Negative { dimension: Dimension::Resistance } => {
                "A meter shows less than nothing when its leads were not zeroed or the circuit is live: prove it dead, then measure again.".to_owned()
            }
            EntryProblem::Negative { .. } => "Check the sign and the unit.".to_owned(),
            EntryProblem::Impossible { .. } => "Check the number and the unit.".to_owned(),
            EntryProblem::NotWhole => format!("Type a whole number, like \"{example}\"."),
            EntryProblem::TrailingText => {
                "Leave it out here, and enter it as a note or an observation of its own.".to_owned()
            }
            EntryProblem::PartsOutOfOrder => {
                "Type the larger unit first, as in \"2 lb 3 oz\", or use one unit.".to_owned()
            }
        }
    }
}

fn listed(units: &[&'static Unit]) -> String {
    let symbols: Vec<&str> = units.iter().map(|unit| unit.symbol()).collect();
    match symbols.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => symbols.concat(),
    }
}

impl fmt::Display for EntryError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let part = self.excerpt();
        if !self.typed.trim().is_empty() {
            write!(f, "\"{}\", character {}: ", self.typed, self.at + 1)?;
        }
        match &self.problem {
            EntryProblem::Empty => write!(f, "Nothing was typed.")?,
            EntryProblem::NotANumber if part.is_empty() => write!(f, "a number is missing.")?,
            EntryProblem::NotANumber => write!(f, "\"{part}\" is not a number.")?,
            EntryProblem::TwoMeanings { thousands, decimal } => {
                write!(f, "\"{part}\" can be {thousands} or {decimal}.")?;
            }
            EntryProblem::MuddledNumber => write!(f, "\"{part}\" is not written as a number.")?,
            EntryProblem::Fraction => write!(f, "\"{part}\" is a fraction.")?,
            EntryProblem::TooLarge => write!(f, "\"{part}\" is too large.")?,
            EntryProblem::UnitMissing => write!(f, "the unit is missing.")?,
            EntryProblem::UnknownUnit { .. } => write!(f, "\"{part}\" is not a unit I know.")?,
            EntryProblem::CaseDecides { .. } => {
                write!(f, "\"{part}\" can be more than one unit.")?;
            }
            EntryProblem::WrongDimension { unit, needed } => {
                write!(f, "{unit} measures {}, but {} was asked for.", unit.dimension().in_words(), needed.in_words())?
            }
            EntryProblem::Negative { dimension: Dimension::Temperature } => {
                write!(f, "\"{part}\" is below absolute zero, -273.15 °C or -459.67 °F.")?;
            }
            EntryProblem::Negative { dimension } => {
                write!(f, "{} cannot be below zero.", dimension.in_words())?;
            }
            EntryProblem::Impossible { why } => write!(f, "\"{part}\" {why}.")?,
            EntryProblem::NotWhole => write!(f, "\"{part}\" is not a whole number.")?,
            EntryProblem::TrailingText => write!(f, "\"{part}\" does not belong to the entry.")?,
            EntryProblem::PartsOutOfOrder => {
                write!(f, "\"{part}\" cannot follow what is before it.")?;
            }
        }
        write!(f, " {}", self.what_to_do())
    }
}

impl core::error::Error for EntryError {}
