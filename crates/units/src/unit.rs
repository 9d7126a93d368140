//! One unit, and finding the unit that somebody spelled.

use core::fmt;

use crate::dimension::Dimension;
use crate::table::UNITS;

/// Whether a voltage or current alternates, when the unit typed says so ("VAC", "V DC").
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Waveform {
    /// Alternating, as its effective value.
    Ac,
    /// Direct.
    Dc,
}

/// A unit as technicians write it, with its exact conversion to SI.
///
/// SI value = (number + shift) × numerator / denominator.
pub struct Unit {
    symbol: &'static str,
    /// Spellings that mean this unit whether or not its dimension was asked for.
    spellings: &'static [&'static str],
    /// Spellings that mean this unit only where its dimension was asked for: they are another
    /// unit's otherwise.
    when_asked: &'static [&'static str],
    dimension: Dimension,
    numerator: f64,
    denominator: f64,
    /// The power of ten that the factor is, where it is one.
    power_of_ten: Option<i32>,
    shift: f64,
    waveform: Option<Waveform>,
}

impl Unit {
    pub(crate) const fn new(
        dimension: Dimension,
        symbol: &'static str,
        (numerator, denominator): (f64, f64),
        spellings: &'static [&'static str],
        when_asked: &'static [&'static str],
    ) -> Self {
        Self {
            symbol,
            spellings,
            when_asked,
            dimension,
            numerator,
            denominator,
            power_of_ten: power_of_ten(numerator, denominator),
            shift: 0.0,
            waveform: None,
        }
    }

    pub(crate) const fn shifted(mut self, shift: f64) -> Self {
        self.shift = shift;
        self
    }

    pub(crate) const fn waving(mut self, waveform: Waveform) -> Self {
        self.waveform = Some(waveform);
        self
    }

    /// How halfsplit writes it: "kΩ", "°C", "psig".
    #[must_use]
    pub const fn symbol(&self) -> &'static str {
        self.symbol
    }

    /// What it measures.
    #[must_use]
    pub const fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// Alternating or direct, where the spelling says so.
    #[must_use]
    pub const fn waveform(&self) -> Option<Waveform> {
        self.waveform
    }

    /// The SI value of a number of these units. Prefixes are exact: 2.3 kΩ is the number nearest
    /// to 2300 Ω, not 2.3 × 1000 as rounded arithmetic has it.
    #[must_use]
    pub fn to_si(&self, number: f64) -> f64 {
        self.step_to_si(number + self.shift)
    }

    /// How many of these units an SI value is.
    #[must_use]
    pub fn from_si(&self, si: f64) -> f64 {
        self.step_from_si(si) - self.shift
    }

    /// The SI size of a step of one unit, which for °C and °F differs from the value of "1 °C".
    #[must_use]
    pub fn step_to_si(&self, step: f64) -> f64 {
        match self.power_of_ten {
            Some(power) => move_point(step, power),
            None => step * self.numerator / self.denominator,
        }
    }

    /// The size of an SI step in this unit.
    #[must_use]
    pub fn step_from_si(&self, step: f64) -> f64 {
        match self.power_of_ten {
            Some(power) => move_point(step, -power),
            None => step * self.denominator / self.numerator,
        }
    }

    /// Every unit known, in table order.
    #[must_use]
    pub const fn all() -> &'static [Unit] {
        UNITS
    }

    /// The unit of this dimension with exactly this symbol, as files store it.
    #[must_use]
    pub fn by_symbol(dimension: Dimension, symbol: &str) -> Option<&'static Unit> {
        UNITS.iter().find(|unit| unit.dimension == dimension && unit.symbol == symbol)
    }

    /// The unit that a bare number of this dimension can only mean; none where meters change range
    /// or countries differ, so that the unit has to be given.
    #[must_use]
    pub fn of_bare_number(dimension: Dimension) -> Option<&'static Unit> {
        let symbol = match dimension {
            Dimension::Voltage => "V",
            Dimension::Current => "A",
            Dimension::Power => "W",
            Dimension::Frequency => "Hz",
            Dimension::Count => "steps",
            Dimension::Ratio => "1",
            _ => return None,
        };
        Self::by_symbol(dimension, symbol)
    }

    /// Finds the unit that a text spells, preferring the dimension that was asked for.
    ///
    /// Spaces, dots and the like are ignored. Case counts first ("mΩ" is not "MΩ"); when no
    /// spelling matches exactly, one that differs only in case will do if it is the only one.
    #[must_use]
    pub fn lookup(text: &str, asked: Option<Dimension>) -> UnitLookup {
        let typed = tidy(text);
        if let Some(dimension) = asked {
            let here = |unit: &&Unit| unit.dimension == dimension;
            if let Some(unit) = UNITS.iter().filter(here).find(|unit| unit.spelled(&typed, true)) {
                return UnitLookup::Found(unit);
            }
        }
        if let Some(unit) = UNITS.iter().find(|unit| unit.spelled(&typed, false)) {
            return match asked {
                Some(dimension) if unit.dimension != dimension => UnitLookup::Elsewhere(unit),
                _ => UnitLookup::Found(unit),
            };
        }
        let loose = typed.to_lowercase();
        // A single letter in the wrong case is too little to go by: "20 m" is no megohm.
        let long_enough = typed.chars().nth(1).is_some();
        let candidates: Vec<&'static Unit> = UNITS
            .iter()
            .filter(|unit| {
                long_enough
                    && asked.is_none_or(|dimension| unit.dimension == dimension)
                    && unit.spelled_loosely(&loose, asked.is_some())
            })
            .collect();
        match candidates.as_slice() {
            [unit] => return UnitLookup::Found(unit),
            [] => {}
            // Readings that differ only in case: never guess a factor.
            _ => return UnitLookup::Several(candidates),
        }
        if asked.is_some()
            && let UnitLookup::Found(unit) = Self::lookup(text, None)
        {
            return UnitLookup::Elsewhere(unit);
        }
        UnitLookup::Unknown
    }

    /// Up to three units whose spelling is nearest to a text, of the dimension asked for if any.
    #[must_use]
    pub fn nearest(text: &str, asked: Option<Dimension>) -> Vec<&'static Unit> {
        let typed = tidy(text).to_lowercase();
        let mut ranked: Vec<(usize, usize, &'static Unit)> = Vec::new();
        for (index, unit) in UNITS.iter().enumerate() {
            if asked.is_some_and(|dimension| unit.dimension != dimension) {
                continue;
            }
            let spellings = unit.spellings.iter().chain(unit.when_asked);
            let distance = spellings.map(|spelling| distance(&typed, &spelling.to_lowercase())).min();
            ranked.push((distance.unwrap_or(usize::MAX), index, unit));
        }
        ranked.sort_by_key(|&(distance, index, _)| (distance, index));
        // Without a dimension to go by, only a near miss is worth a suggestion.
        let far = if asked.is_some() { usize::MAX } else { 2 };
        let mut nearest: Vec<&'static Unit> = Vec::new();
        for (distance, _, unit) in ranked {
            if distance <= far && nearest.iter().all(|other| other.symbol != unit.symbol) {
                nearest.push(unit);
            }
            if nearest.len() == 3 {
                break;
            }
        }
        nearest
    }

    fn spelled(&self, typed: &str, asked: bool) -> bool {
        self.spellings.contains(&typed) || asked && self.when_asked.contains(&typed)
    }

    fn spelled_loosely(&self, lower: &str, asked: bool) -> bool {
        let same = |spelling: &&str| spelling.to_lowercase() == lower;
        self.spellings.iter().any(same) || asked && self.when_asked.iter().any(same)
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.dimension == other.dimension && self.symbol == other.symbol
    }
}

impl Eq for Unit {}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({} of {})", self.symbol, self.dimension)
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol)
    }
}

/// What [`Unit::lookup`] found.
#[derive(Debug, Clone, PartialEq)]
pub enum UnitLookup {
    /// This unit, of the dimension asked for if one was.
    Found(&'static Unit),
    /// A unit, but not of the dimension asked for.
    Elsewhere(&'static Unit),
    /// The case was wrong for every one of these and right for none.
    Several(Vec<&'static Unit>),
    /// No unit known is spelled so.
    Unknown,
}

/// The exponent of a factor that is a power of ten used by an SI prefix or a count of hundreds.
const fn power_of_ten(numerator: f64, denominator: f64) -> Option<i32> {
    let mut power = 0;
    let mut ten_to_it = 1.0;
    while power <= 12 {
        if numerator == ten_to_it && denominator == 1.0 {
            return Some(power);
        }
        if denominator == ten_to_it && numerator == 1.0 {
            return Some(-power);
        }
        ten_to_it *= 10.0;
        power += 1;
    }
    None
}

/// A number with its decimal point moved, correctly rounded: by way of its shortest decimal text,
/// which is what somebody typed.
fn move_point(number: f64, places: i32) -> f64 {
    if places == 0 || number == 0.0 || !number.is_finite() {
        return number;
    }
    let text = format!("{number:e}");
    let (digits, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent = exponent.parse().unwrap_or(0) + places;
    format!("{digits}e{exponent}").parse().unwrap_or(number)
}

/// Takes out what people put into units without meaning anything by it, and makes look-alike
/// letters one: both micro signs, both ohm signs, raised digits.
fn tidy(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '^' | '·' | '⋅' | '*' | '(' | ')'))
        .map(|c| match c {
            'μ' => 'µ',
            '\u{2126}' => 'Ω',
            '²' => '2',
            '³' => '3',
            '₂' => '2',
            'º' => '°',
            other => other,
        })
        .collect()
}

/// Edits between two short words: letters put in, left out, or changed.
fn distance(left: &str, right: &str) -> usize {
    let right: Vec<char> = right.chars().collect();
    let mut row: Vec<usize> = (0..=right.len()).collect();
    for (i, l) in left.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, r) in right.iter().enumerate() {
            let changed = diagonal + usize::from(l != *r);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[right.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn symbol(text: &str, asked: Option<Dimension>) -> &'static str {
        match Unit::lookup(text, asked) {
            UnitLookup::Found(unit) => unit.symbol(),
            other => panic!("{text:?} gave {other:?}"),
        }
    }

    #[test]
    fn no_spelling_means_two_units_at_once() {
        for (index, unit) in UNITS.iter().enumerate() {
            for other in &UNITS[index + 1..] {
                for spelling in unit.spellings {
                    assert!(!other.spellings.contains(spelling), "{spelling} is both {unit} and {other}");
                }
                if unit.dimension == other.dimension {
                    assert_ne!(unit.symbol, other.symbol);
                    for spelling in unit.spellings.iter().chain(unit.when_asked) {
                        assert!(
                            !other.spellings.contains(spelling) && !other.when_asked.contains(spelling),
                            "{spelling} is both {unit} and {other}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn every_spelling_survives_tidying_and_finds_its_unit() {
        for unit in UNITS {
            for spelling in unit.spellings {
                assert_eq!(tidy(spelling), **spelling, "of {unit}");
                assert_eq!(Unit::lookup(spelling, None), UnitLookup::Found(unit));
            }
            for spelling in unit.spellings.iter().chain(unit.when_asked) {
                assert_eq!(Unit::lookup(spelling, Some(unit.dimension)), UnitLookup::Found(unit));
            }
            assert_eq!(Unit::lookup(unit.symbol, Some(unit.dimension)), UnitLookup::Found(unit));
        }
    }

    #[test]
    fn what_was_asked_for_settles_double_meanings() {
        use Dimension as D;
        assert_eq!(symbol("F", Some(D::Capacitance)), "F");
        assert_eq!(symbol("F", None), "°F");
        assert_eq!(symbol("F", Some(D::TemperatureDifference)), "°F");
        assert_eq!(symbol("K", Some(D::Resistance)), "kΩ");
        assert_eq!(symbol("K", None), "K");
        assert_eq!(symbol("k", None), "kΩ");
        assert_eq!(symbol("µm", Some(D::Vacuum)), "micron");
        assert_eq!(symbol("µm", None), "µm");
        assert_eq!(symbol("psi", None), "psig");
        assert_eq!(symbol("%", Some(D::Humidity)), "%RH");
    }

    #[test]
    fn a_bare_psi_never_becomes_absolute() {
        let UnitLookup::Elsewhere(unit) = Unit::lookup("psi", Some(Dimension::PressureAbsolute)) else {
            panic!("psi counts from the air");
        };
        assert_eq!(unit.dimension(), Dimension::PressureGauge);
    }

    #[test]
    fn case_counts_where_it_carries_a_factor() {
        assert_eq!(symbol("mΩ", None), "mΩ");
        assert_eq!(symbol("MΩ", None), "MΩ");
        assert_eq!(symbol("MOHM", Some(Dimension::Resistance)), "MΩ");
        assert!(matches!(
            Unit::lookup("MoHm", Some(Dimension::Resistance)),
            UnitLookup::Several(units) if units.len() == 2
        ));
        assert_eq!(symbol("KPA", None), "kPa(g)");
        assert_eq!(symbol("btu/H", None), "Btu/h");
    }

    #[test]
    fn the_nearest_units_come_first() {
        let near = Unit::nearest("ufd", Some(Dimension::Capacitance));
        assert_eq!(near[0].symbol(), "µF");
        assert_eq!(Unit::nearest("wibble", None), Vec::<&Unit>::new());
    }

    #[test]
    fn prefixes_are_exact() {
        let kilo = Unit::by_symbol(Dimension::Resistance, "kΩ").expect("kΩ");
        assert_eq!(kilo.to_si(2.3), 2300.0);
        let micro = Unit::by_symbol(Dimension::Capacitance, "µF").expect("µF");
        assert_eq!(micro.to_si(2.1), 2.1e-6);
        assert_eq!(micro.from_si(2.1e-6), 2.1);
        assert_eq!(kilo.to_si(1e307), f64::INFINITY);
        assert_eq!(kilo.to_si(f64::INFINITY), f64::INFINITY);
    }

    #[test]
    fn edits_are_counted() {
        // Source: the textbook pair of V. I. Levenshtein's distance, kitten and sitting, 3.
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("abc", "abc"), 0);
    }
}
