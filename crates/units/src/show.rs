//! Writing a value in the units that somebody chose, with as many digits as it deserves.

use serde::{Deserialize, Serialize};

use crate::dimension::Dimension;
use crate::unit::Unit;

/// The scale for temperatures and their differences.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum TemperatureUnit {
    #[default]
    Celsius,
    Fahrenheit,
}

/// The unit for refrigerant and water pressures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum PressureUnit {
    #[default]
    Bar,
    Kilopascal,
    Psi,
}

/// The unit for vacuum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum VacuumUnit {
    #[default]
    Micron,
    Pascal,
}

/// The system for lengths, masses, volumes and flows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum MeasureSystem {
    #[default]
    Metric,
    UsCustomary,
}

/// The mark between whole and decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the names say it")]
pub enum DecimalMark {
    #[default]
    Point,
    Comma,
}

/// The units in which somebody wants to read values. Every field has a default, so that a stored
/// choice from another version still reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// For temperatures and their differences.
    pub temperature: TemperatureUnit,
    /// For gauge and absolute pressures.
    pub pressure: PressureUnit,
    /// For vacuum.
    pub vacuum: VacuumUnit,
    /// For everything else that differs between countries.
    pub system: MeasureSystem,
    /// Between whole and decimals.
    pub decimal_mark: DecimalMark,
}

impl Preferences {
    /// °F, psi, µm Hg, pounds, feet, gallons.
    pub const US: Self = Self {
        temperature: TemperatureUnit::Fahrenheit,
        pressure: PressureUnit::Psi,
        vacuum: VacuumUnit::Micron,
        system: MeasureSystem::UsCustomary,
        decimal_mark: DecimalMark::Point,
    };

    /// The unit for a value of this dimension and size; none for words.
    #[must_use]
    pub fn unit_for(&self, dimension: Dimension, si: f64) -> Option<&'static Unit> {
        let metric = self.system == MeasureSystem::Metric;
        // Each list from small to large: the largest unit in which the number is at least 1 wins.
        let symbols: &[&str] = match dimension {
            Dimension::Resistance => &["mΩ", "Ω", "kΩ", "MΩ", "GΩ"],
            Dimension::Capacitance => &["pF", "nF", "µF"],
            Dimension::Inductance => &["µH", "mH", "H"],
            Dimension::Voltage => &["µV", "mV", "V", "kV"],
            Dimension::Current => &["µA", "mA", "A"],
            Dimension::Power => &["mW", "W", "kW"],
            Dimension::ApparentPower => &["VA", "kVA"],
            Dimension::Energy => &["J", "Wh", "kWh"],
            Dimension::Frequency => &["Hz", "kHz"],
            Dimension::RotationalSpeed => &["rpm"],
            Dimension::Temperature => match self.temperature {
                TemperatureUnit::Celsius => &["°C"],
                TemperatureUnit::Fahrenheit => &["°F"],
            },
            Dimension::TemperatureDifference => match self.temperature {
                TemperatureUnit::Celsius => &["K"],
                TemperatureUnit::Fahrenheit => &["°F"],
            },
            Dimension::PressureGauge => match self.pressure {
                PressureUnit::Bar => &["bar(g)"],
                PressureUnit::Kilopascal => &["kPa(g)"],
                PressureUnit::Psi => &["psig"],
            },
            Dimension::PressureAbsolute => match self.pressure {
                PressureUnit::Bar => &["bar(a)"],
                PressureUnit::Kilopascal => &["kPa(a)"],
                PressureUnit::Psi => &["psia"],
            },
            Dimension::PressureDifference if metric => &["Pa", "kPa"],
            Dimension::PressureDifference => &["inH2O", "psi"],
            Dimension::Vacuum => match self.vacuum {
                VacuumUnit::Micron => &["micron"],
                VacuumUnit::Pascal => &["Pa", "kPa"],
            },
            Dimension::Time => &["ms", "s", "min", "h", "d"],
            Dimension::Mass if metric => &["g", "kg"],
            Dimension::Mass => &["oz", "lb"],
            Dimension::Length if metric => &["µm", "mm", "m", "km"],
            Dimension::Length => &["in", "ft"],
            Dimension::Area if metric => &["mm²", "cm²", "m²"],
            Dimension::Area => &["in²", "ft²"],
            Dimension::Volume if metric => &["mL", "L"],
            Dimension::Volume => &["gal"],
            Dimension::VolumeFlow if metric => &["L/min", "m³/h"],
            Dimension::VolumeFlow => &["gpm", "CFM"],
            Dimension::MassFlow if metric => &["g/s", "kg/s"],
            Dimension::MassFlow => &["lb/h"],
            Dimension::Velocity if metric => &["m/s"],
            Dimension::Velocity => &["ft/min"],
            Dimension::Torque if metric => &["N·m"],
            Dimension::Torque => &["lbf·in", "lbf·ft"],
            Dimension::Ratio => &["%"],
            Dimension::Humidity => &["%RH"],
            Dimension::Count => &["steps"],
            Dimension::Words => return None,
        };
        let mut units = symbols.iter().filter_map(|symbol| Unit::by_symbol(dimension, symbol));
        // Nothing, in the middle unit: "0 Ω", not "0 mΩ".
        let size = if si == 0.0 { plain_size(dimension) } else { si.abs() };
        let smallest = units.next()?;
        Some(units.fold(smallest, |best, unit| {
            let large_enough = unit.step_from_si(size) >= threshold(unit);
            if large_enough { unit } else { best }
        }))
    }
}

/// An SI size that is written in the plain unit of the dimension.
const fn plain_size(dimension: Dimension) -> f64 {
    match dimension {
        Dimension::Capacitance => 1e-6,
        Dimension::Inductance => 1e-3,
        _ => 1.0,
    }
}

/// How many of this unit there must be before it is used rather than the smaller one. Judgement:
/// "90 s" and "1000 W" read better than "1.5 min" and "1 kW", water is spoken of in litres a
/// minute and air in cubic metres an hour.
fn threshold(unit: &Unit) -> f64 {
    match (unit.dimension(), unit.symbol()) {
        (Dimension::Time, "min" | "h" | "d") => 2.0,
        (Dimension::Energy, "Wh") => 0.1,
        (Dimension::VolumeFlow, "CFM") => 20.0,
        (Dimension::VolumeFlow, "m³/h") => 6.0,
        (Dimension::PressureDifference, "psi") => 1.0,
        _ => 1.0,
    }
}

/// A value written out, in its two parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The digits, with sign and decimal mark.
    pub number: String,
    /// The symbol of the unit; empty for a count without one.
    pub unit: &'static str,
}

/// Writes a value for reading.
///
/// `si` is in the SI unit of `dimension`; `uncertainty` is its standard uncertainty as an SI step
/// (kelvins for temperatures). With an uncertainty, digits stop at its first significant place,
/// one further when that digit is a 1 or 2 (source for at most two: GUM, JCGM 100:2008, 7.2.6).
/// Without one, three significant digits are shown, and temperatures to a tenth.
/// None for [`Dimension::Words`] and for values that are not finite.
#[must_use]
pub fn shown(si: f64, dimension: Dimension, preferences: &Preferences, uncertainty: Option<f64>) -> Option<Shown> {
    if !si.is_finite() {
        return None;
    }
    // Something small beside its own uncertainty is written in the uncertainty's unit.
    let size = uncertainty.filter(|u| u.is_finite()).map_or(si, |u| si.abs().max(u.abs()));
    let mut unit = preferences.unit_for(dimension, size)?;
    let place = last_place(unit, si, uncertainty);
    // 999.9 Ω to three digits is 1.00 kΩ: the rounded number has the last word.
    let rounded = unit.to_si(rounded(unit.from_si(si), place));
    if rounded.abs() >= size {
        unit = preferences.unit_for(dimension, rounded)?;
    }
    let place = last_place(unit, rounded, uncertainty);
    let mut number = written(unit.from_si(si), place);
    if preferences.decimal_mark == DecimalMark::Comma {
        number = number.replace('.', ",");
    }
    Some(Shown { number, unit: unit.symbol() })
}

/// [`shown`] as one text, "12.5 µF"; a dash where there is nothing to show.
///
/// ```
/// use halfsplit_units::{Dimension, Preferences, show};
///
/// let metric = Preferences::default();
/// assert_eq!(show(12.5e-6, Dimension::Capacitance, &metric, None), "12.5 µF");
/// assert_eq!(show(300.0, Dimension::Temperature, &Preferences::US, Some(0.5)), "80.3 °F");
/// ```
#[must_use]
pub fn show(si: f64, dimension: Dimension, preferences: &Preferences, uncertainty: Option<f64>) -> String {
    match shown(si, dimension, preferences, uncertainty) {
        Some(shown) => format!("{} {}", shown.number, shown.unit),
        None => "–".to_owned(),
    }
}

/// The decimal exponent of the last digit worth writing.
fn last_place(unit: &Unit, si: f64, uncertainty: Option<f64>) -> i32 {
    if unit.dimension() == Dimension::Count {
        return 0;
    }
    let step = uncertainty.map(|u| unit.step_from_si(u.abs())).filter(|u| u.is_normal());
    match step {
        Some(step) => {
            let (digit, exponent) = leading(step);
            if digit <= 2 { exponent - 1 } else { exponent }
        }
        None if matches!(unit.dimension(), Dimension::Temperature | Dimension::TemperatureDifference) => -1,
        None => {
            let number = unit.from_si(si);
            if number.is_normal() { leading(number).1 - 2 } else { 0 }
        }
    }
}

/// The first significant digit of a normal number and its decimal exponent, exactly.
fn leading(number: f64) -> (u32, i32) {
    let text = format!("{:e}", number.abs());
    let digit = text.chars().next().and_then(|c| c.to_digit(10)).unwrap_or(0);
    let exponent = text.rsplit('e').next().and_then(|e| e.parse().ok()).unwrap_or(0);
    (digit, exponent)
}

/// Digits to the given place, by the shortest decimal text: no power is computed.
fn written(number: f64, place: i32) -> String {
    let text = if place <= 0 {
        // More places than any number here has would only print noise.
        let decimals = usize::try_from(-place).unwrap_or(0).min(18);
        format!("{number:.decimals$}")
    } else {
        let (_, exponent) = if number.is_normal() { leading(number) } else { (0, 0) };
        let digits = usize::try_from(exponent - place).unwrap_or(0);
        let rounded: f64 = format!("{number:.digits$e}").parse().unwrap_or(number);
        if exponent < place { small_beside(number, place) } else { format!("{rounded:.0}") }
    };
    if text.trim_start_matches('-').bytes().all(|b| matches!(b, b'0' | b'.')) {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A number smaller than the place it is rounded to: nothing, or one in that place.
fn small_beside(number: f64, place: i32) -> String {
    let one: f64 = format!("1e{place}").parse().unwrap_or(f64::INFINITY);
    if number.abs() * 2.0 >= one { format!("{:.0}", one.copysign(number)) } else { "0".to_owned() }
}

fn rounded(number: f64, place: i32) -> f64 {
    written(number, place).parse().unwrap_or(number)
}
