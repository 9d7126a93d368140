//! The grammar of an entry, read from left to right.

use crate::dimension::Dimension;
use crate::entry::{Entry, Quantity};
use crate::error::{EntryError, EntryProblem};
use crate::number::{self, NumberProblem};
use crate::unit::{Unit, UnitLookup};

/// Meters and technicians write "no reading, beyond the range" in these ways. Dots and blanks are
/// taken out first.
const OVER_WORDS: &[&str] = &[
    "ol",
    "0l",
    "open",
    "openline",
    "opencircuit",
    "overload",
    "overrange",
    "overlimit",
    "infinite",
    "infinity",
    "inf",
    "∞",
];

/// Words before a bound, longest first where one begins another.
const AT_LEAST: &[&str] = &["greater than", "more than", "at least", "above", "over", ">=", "=>", ">", "≥", "⩾"];
const AT_MOST: &[&str] =
    &["smaller than", "less than", "at most", "up to", "below", "under", "<=", "=<", "<", "≤", "⩽"];
const ROUGHLY: &[&str] =
    &["approximately", "approx.", "approx", "roughly", "around", "about", "circa", "ca.", "ca", "~", "≈"];

/// Reads a whole entry; see [`crate::parse_entry`].
pub(crate) fn read(text: &str, asked: Option<Dimension>) -> Result<Entry, EntryError> {
    let mut reader = Reader { typed: text, chars: text.chars().collect(), at: 0, asked };
    reader.skip_blanks();
    if reader.at_end() {
        return Err(reader.error(0, 0, EntryProblem::Empty));
    }
    if asked == Some(Dimension::Words) {
        return Ok(Entry::Words(text.trim().to_owned()));
    }
    if let Some(over) = reader.over()? {
        return Ok(over);
    }
    if asked.is_none() && !reader.begins_like_a_measurement() {
        return Ok(Entry::Words(text.trim().to_owned()));
    }
    reader.measurement()
}

struct Reader<'a> {
    typed: &'a str,
    chars: Vec<char>,
    at: usize,
    asked: Option<Dimension>,
}

/// A quantity before its unit is settled: in "118..122 V" the first number borrows the second's.
struct Part {
    number: number::Number,
    /// Where the number begins.
    start: usize,
    unit: Option<&'static Unit>,
}

impl Reader<'_> {
    fn error(&self, at: usize, len: usize, problem: EntryProblem) -> EntryError {
        EntryError { typed: self.typed.to_owned(), at, len, problem, asked: self.asked }
    }

    fn at_end(&self) -> bool {
        self.at >= self.chars.len()
    }

    fn peek(&self) -> Option<char> {
        self.chars.get(self.at).copied()
    }

    fn skip_blanks(&mut self) {
        while self.peek().is_some_and(char::is_whitespace) {
            self.at += 1;
        }
    }

    /// Characters from here to the last that is not blank.
    fn rest_len(&self) -> usize {
        let blank_tail = self.chars[self.at..].iter().rev().take_while(|c| c.is_whitespace());
        self.chars.len() - self.at - blank_tail.count()
    }

    /// Takes the first of these words that stands here, with the blanks after it. A word of
    /// letters must end here too: "about" is not the start of "abouts".
    fn take_any(&mut self, words: &[&str]) -> bool {
        for word in words {
            let len = word.chars().count();
            let Some(here) = self.chars.get(self.at..self.at + len) else {
                continue;
            };
            let same = here.iter().flat_map(|c| c.to_lowercase()).eq(word.chars());
            let next = self.chars.get(self.at + len);
            let splits_a_word = word.ends_with(char::is_alphabetic) && next.is_some_and(|c| c.is_alphabetic());
            if same && !splits_a_word {
                self.at += len;
                self.skip_blanks();
                return true;
            }
        }
        false
    }

    /// "OL" in any of its forms, with or without the unit of the meter's range behind it.
    fn over(&self) -> Result<Option<Entry>, EntryError> {
        let rest = &self.chars[self.at..self.at + self.rest_len()];
        for len in (1..=rest.len()).rev() {
            let head: String = rest[..len]
                .iter()
                .filter(|c| !c.is_whitespace() && **c != '.')
                .flat_map(|c| c.to_lowercase())
                .collect();
            if !OVER_WORDS.contains(&head.as_str()) {
                continue;
            }
            if rest[len..].first().is_some_and(|c| c.is_alphanumeric()) {
                continue;
            }
            let tail: String = rest[len..].iter().collect();
            let tail_start = self.at + len;
            if tail.trim_matches(|c: char| c.is_whitespace() || c == '.').is_empty() {
                return Ok(Some(Entry::Over(self.asked)));
            }
            let blanks = rest[len..].iter().take_while(|c| c.is_whitespace()).count();
            return match (self.unit_named(&tail, tail_start + blanks), self.asked) {
                (Ok(unit), _) => Ok(Some(Entry::Over(Some(unit.dimension())))),
                // "open since Tuesday" is an observation where nothing else was asked for.
                (Err(_), None) => Ok(None),
                (Err(error), Some(_)) => Err(error),
            };
        }
        Ok(None)
    }

    /// A digit comes next, perhaps after a sign, a bound or "about".
    fn begins_like_a_measurement(&mut self) -> bool {
        let start = self.at;
        while self.take_any(AT_LEAST) || self.take_any(AT_MOST) || self.take_any(ROUGHLY) {}
        while self.peek().is_some_and(|c| matches!(c, '+' | '-' | '−' | '–' | '.' | ',')) {
            self.at += 1;
        }
        let digit = self.peek().is_some_and(|c| c.is_ascii_digit());
        self.at = start;
        digit
    }

    fn measurement(&mut self) -> Result<Entry, EntryError> {
        let mut rough = self.take_any(ROUGHLY);
        let between = self.take_any(&["between", "from"]);
        let bound: Option<fn(Quantity) -> Entry> = if self.take_any(AT_LEAST) {
            Some(Entry::AtLeast)
        } else if self.take_any(AT_MOST) {
            Some(Entry::AtMost)
        } else {
            None
        };
        rough |= self.take_any(ROUGHLY);
        let first = self.part()?;
        self.skip_blanks();
        if self.at_end() {
            let quantity = self.settle(&first, first.unit, rough)?;
            return Ok(bound.map_or(Entry::Value(quantity), |bound| bound(quantity)));
        }
        if bound.is_none() {
            if self.take_any(&["±", "+/-", "+-"]) {
                return self.tolerance(&first, rough);
            }
            let dash = ["...", "..", "…", "-", "–", "—", "−", "to", "and", "~"];
            if self.take_any(if between { &dash } else { &dash[..8] }) {
                return self.range(&first, rough);
            }
        }
        if let Some(unit) = first.unit
            && matches!(unit.dimension(), Dimension::Time | Dimension::Mass | Dimension::Length)
            && self.peek().is_some_and(|c| c.is_ascii_digit())
        {
            let quantity = self.compound(&first, unit, rough)?;
            return Ok(bound.map_or(Entry::Value(quantity), |bound| bound(quantity)));
        }
        Err(self.error(self.at, self.rest_len(), EntryProblem::TrailingText))
    }

    /// From here on the unit must measure what the first number's unit did.
    fn ask_for_the_same(&mut self, first: &Part) {
        self.asked = self.asked.or(first.unit.map(Unit::dimension));
    }

    /// The second number of a range, and both in order.
    fn range(&mut self, first: &Part, rough: bool) -> Result<Entry, EntryError> {
        self.ask_for_the_same(first);
        let second = self.part()?;
        self.expect_end()?;
        let unit = first.unit.or(second.unit);
        let first = self.settle(first, unit, rough)?;
        let second = self.settle(&second, second.unit.or(unit), rough)?;
        let (low, high) = if second.si < first.si { (second, first) } else { (first, second) };
        Ok(Entry::Between { low, high })
    }

    /// "12.5 ± 0.3 uF" or "12.8 ohm ± 5 %".
    fn tolerance(&mut self, first: &Part, rough: bool) -> Result<Entry, EntryError> {
        self.ask_for_the_same(first);
        let number = self.number()?;
        self.skip_blanks();
        // Of the value, that is: points of humidity are added, and a share of a temperature is nothing.
        let may_be_per_cent = first.unit.is_some_and(|unit| {
            !matches!(unit.dimension(), Dimension::Ratio | Dimension::Humidity | Dimension::Temperature)
        });
        let per_cent = may_be_per_cent && self.take_any(&["%"]);
        let unit = if per_cent || self.at_end() { first.unit } else { Some(self.unit()?) };
        self.expect_end()?;
        let middle = self.settle(first, first.unit.or(unit), rough)?;
        let half = if per_cent {
            middle.si.abs() * number.value.abs() / 100.0
        } else {
            unit.unwrap_or(middle.unit).step_to_si(number.value.abs())
        };
        let whole = (first.start, self.at - first.start);
        let low = Quantity { si: middle.si - half, ..middle };
        let high = Quantity { si: middle.si + half, ..middle };
        self.check(&low, whole)?;
        self.check(&high, whole)?;
        Ok(Entry::Between { low, high })
    }

    /// "2 lb 3 oz": the rest of a quantity that began in a larger unit.
    fn compound(&mut self, first: &Part, unit: &'static Unit, rough: bool) -> Result<Quantity, EntryError> {
        let mut total = self.settle(first, Some(unit), rough)?;
        self.ask_for_the_same(first);
        let mut last = unit;
        while !self.at_end() {
            let part = self.part()?;
            let taken = self.at - part.start;
            let Some(unit) = part.unit else {
                return Err(self.error(self.at, 0, EntryProblem::UnitMissing));
            };
            if unit.step_to_si(1.0) >= last.step_to_si(1.0) || part.number.value < 0.0 {
                return Err(self.error(part.start, taken, EntryProblem::PartsOutOfOrder));
            }
            let quantity = self.settle(&part, Some(unit), rough)?;
            total.si += quantity.si;
            total.step = quantity.step;
            last = unit;
            self.skip_blanks();
        }
        self.check(&total, (first.start, self.at - first.start))?;
        Ok(total)
    }

    fn expect_end(&mut self) -> Result<(), EntryError> {
        self.skip_blanks();
        if self.at_end() {
            return Ok(());
        }
        Err(self.error(self.at, self.rest_len(), EntryProblem::TrailingText))
    }

    fn number(&mut self) -> Result<number::Number, EntryError> {
        let start = self.at;
        let (len, problem) = match number::read(&self.chars[start..]) {
            Ok(number) => {
                self.at += number.len;
                return Ok(number);
            }
            Err(NumberProblem::Missing) => (self.rest_len(), EntryProblem::NotANumber),
            Err(NumberProblem::Muddled { len }) => (len, EntryProblem::MuddledNumber),
            Err(NumberProblem::TooLarge { len }) => (len, EntryProblem::TooLarge),
            Err(NumberProblem::TwoMeanings { len, thousands, decimal }) => {
                (len, EntryProblem::TwoMeanings { thousands, decimal })
            }
        };
        Err(self.error(start, len, problem))
    }

    /// A number and the unit behind it, if there is one.
    fn part(&mut self) -> Result<Part, EntryError> {
        let start = self.at;
        if let Some(part) = self.resistor_marking() {
            return Ok(part);
        }
        let number = self.number()?;
        if self.peek() == Some('/') && self.chars.get(self.at + 1).is_some_and(char::is_ascii_digit) {
            let len = self.rest_len() + self.at - start;
            return Err(self.error(start, len, EntryProblem::Fraction));
        }
        let after_number = self.at;
        self.skip_blanks();
        let unit_len = self.unit_len();
        if unit_len == 0 {
            self.at = after_number;
            return Ok(Part { number, start, unit: None });
        }
        let unit = self.unit()?;
        Ok(Part { number, start, unit: Some(unit) })
    }

    /// "4k7" is 4.7 kΩ and "2R2" 2.2 Ω: the letter stands where the point would (IEC 60062).
    fn resistor_marking(&mut self) -> Option<Part> {
        if self.asked.is_some_and(|dimension| dimension != Dimension::Resistance) {
            return None;
        }
        let rest = &self.chars[self.at..];
        let whole = rest.iter().take_while(|c| c.is_ascii_digit()).count();
        let letter = *rest.get(whole)?;
        if whole == 0 || !matches!(letter, 'R' | 'k' | 'K' | 'M') {
            return None;
        }
        let fraction = rest[whole + 1..].iter().take_while(|c| c.is_ascii_digit()).count();
        let len = whole + 1 + fraction;
        if fraction == 0 || rest.get(len).is_some_and(|c| c.is_alphanumeric() || *c == '.') {
            return None;
        }
        let written: Vec<char> = rest[..len].iter().map(|c| if *c == letter { '.' } else { *c }).collect();
        let number = number::read(&written).ok()?;
        let symbol = match letter {
            'R' => "Ω",
            'M' => "MΩ",
            _ => "kΩ",
        };
        let start = self.at;
        self.at += len;
        Some(Part { number, start, unit: Unit::by_symbol(Dimension::Resistance, symbol) })
    }

    /// How far the unit that begins here goes: to the next number, range, tolerance or the end.
    fn unit_len(&self) -> usize {
        let rest = &self.chars[self.at..self.at + self.rest_len()];
        let mut len = 0;
        while let Some(&c) = rest.get(len) {
            let ends_word = len == 0 || rest[len - 1].is_whitespace();
            if matches!(c, '±' | '…' | '—' | '–' | '−') {
                break;
            }
            // A dash or a plus ends a unit unless letters go on behind it, as in "ft-lb".
            let next = rest.get(len + 1);
            if matches!(c, '-' | '+') && !next.is_some_and(|c| c.is_alphabetic()) {
                break;
            }
            if c == '.' && next == Some(&'.') {
                break;
            }
            // A digit belongs to a unit only where it raises one or stands in H2O; another
            // begins the next number, as in "2lb3oz" and "6ft2in".
            let raises = matches!(c, '2' | '3')
                && len > 0
                && matches!(rest[len - 1], 'm' | 't' | 'n' | 'H' | 'h' | '^')
                && next.is_none_or(|n| !n.is_alphanumeric() || matches!(n, 'O' | 'o'));
            if c.is_ascii_digit() && !raises {
                break;
            }
            if ends_word && c.is_alphabetic() {
                let word: String = rest[len..].iter().take_while(|c| c.is_alphabetic()).collect();
                if matches!(word.to_lowercase().as_str(), "to" | "and") {
                    break;
                }
            }
            len += 1;
        }
        while len > 0 && rest[len - 1].is_whitespace() {
            len -= 1;
        }
        len
    }

    fn unit(&mut self) -> Result<&'static Unit, EntryError> {
        let len = self.unit_len();
        let text: String = self.chars[self.at..self.at + len].iter().collect();
        let unit = self.unit_named(&text, self.at)?;
        self.at += len;
        Ok(unit)
    }

    fn unit_named(&self, text: &str, at: usize) -> Result<&'static Unit, EntryError> {
        let problem = match Unit::lookup(text, self.asked) {
            UnitLookup::Found(unit) => return Ok(unit),
            UnitLookup::Elsewhere(unit) => {
                EntryProblem::WrongDimension { unit, needed: self.asked.unwrap_or(unit.dimension()) }
            }
            UnitLookup::Several(between) => EntryProblem::CaseDecides { between },
            UnitLookup::Unknown => EntryProblem::UnknownUnit { nearest: Unit::nearest(text, self.asked) },
        };
        Err(self.error(at, text.trim().chars().count(), problem))
    }

    /// Turns a number into SI with the unit that was typed, or the one it can do without.
    fn settle(&self, part: &Part, unit: Option<&'static Unit>, rough: bool) -> Result<Quantity, EntryError> {
        let end = part.start + part.number.len;
        let unit = match unit.or_else(|| self.asked.and_then(Unit::of_bare_number)) {
            Some(unit) => unit,
            None => return Err(self.error(end, 0, EntryProblem::UnitMissing)),
        };
        let quantity =
            Quantity { si: unit.to_si(part.number.value), step: unit.step_to_si(part.number.step), unit, rough };
        self.check(&quantity, (part.start, part.number.len))?;
        Ok(quantity)
    }

    /// Refuses what cannot be. `place` is where the number stands, and its length.
    fn check(&self, quantity: &Quantity, place: (usize, usize)) -> Result<(), EntryError> {
        let dimension = quantity.dimension();
        let si = quantity.si;
        let problem = if !si.is_finite() || !quantity.step.is_finite() {
            EntryProblem::TooLarge
        } else if dimension.never_negative() && si < 0.0 {
            EntryProblem::Negative { dimension }
        } else if dimension == Dimension::Humidity && si > 1.0 {
            EntryProblem::Impossible { why: "is more than 100 % relative humidity" }
        } else if dimension == Dimension::PressureGauge && si < -DEEPEST_GAUGE {
            EntryProblem::Impossible { why: "is below a perfect vacuum" }
        } else if dimension == Dimension::Count && si != si.trunc() {
            EntryProblem::NotWhole
        } else {
            return Ok(());
        };
        Err(self.error(place.0, place.1, problem))
    }
}

/// No gauge can show less than this below the air around: the highest air pressure on record at a
/// weather station is below 1090 hPa (source: from memory), with room for a gauge's own error.
const DEEPEST_GAUGE: f64 = 110_000.0;
