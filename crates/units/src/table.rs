//! The table of units: each with every spelling that technicians use for it, and its exact factor.
//!
//! Source of every factor, unless a line says otherwise: NIST Special Publication 811 (2008),
//! appendix B; prefixes and units used with the SI: SI Brochure, 9th edition. Factors that are
//! exact by definition are written from the definition, so that nothing is rounded on the way:
//! pound 0.453 592 37 kg, inch 0.0254 m, US gallon 231 in³, Btu(IT) 1055.055 852 62 J, standard
//! gravity 9.806 65 m/s², conventional millimetre of mercury 133.322 387 415 Pa.
//!
//! A unit's spellings are written as `tidy` in `unit.rs` leaves them: no spaces, no dots, `µ` and
//! `Ω` in one form. The first list holds the spellings that always mean this unit; the second
//! those that mean it only where its dimension was asked for.

use crate::dimension::Dimension as D;
use crate::unit::{Unit, Waveform};

/// Pounds-force in newtons: 0.453 592 37 × 9.806 65.
const POUND_FORCE: f64 = 4.448_221_615_260_5;
/// A square inch in square metres.
const SQUARE_INCH: f64 = 0.000_645_16;
const MERCURY_MILLIMETRE: f64 = 133.322_387_415;
const MERCURY_INCH: f64 = 25.4 * MERCURY_MILLIMETRE;
/// Conventional: water of 1000 kg/m³ under standard gravity.
const WATER_MILLIMETRE: f64 = 9.806_65;
const WATER_INCH: f64 = 25.4 * WATER_MILLIMETRE;
const POUND: f64 = 0.453_592_37;
const GALLON: f64 = 0.003_785_411_784;
const CUBIC_FOOT: f64 = 0.028_316_846_592;
const SQUARE_FOOT: f64 = 0.092_903_04;
const FOOT: f64 = 0.3048;
const BTU: f64 = 1_055.055_852_62;
const ONE: (f64, f64) = (1.0, 1.0);
const MILLI: (f64, f64) = (1.0, 1e3);
const MICRO: (f64, f64) = (1.0, 1e6);
const NANO: (f64, f64) = (1.0, 1e9);
const PICO: (f64, f64) = (1.0, 1e12);
const KILO: (f64, f64) = (1e3, 1.0);
const MEGA: (f64, f64) = (1e6, 1.0);

const fn u(
    dimension: D,
    symbol: &'static str,
    factor: (f64, f64),
    spellings: &'static [&'static str],
    when_asked: &'static [&'static str],
) -> Unit {
    Unit::new(dimension, symbol, factor, spellings, when_asked)
}

const ZERO_CELSIUS: f64 = 273.15;
const ZERO_FAHRENHEIT: f64 = 459.67;

#[rustfmt::skip] // One unit a line reads as the table it is.
pub(crate) static UNITS: &[Unit] = &[
    // Electrical.
    u(D::Resistance, "mΩ", MILLI, &["mΩ", "mohm", "mOhm", "milliohm", "milliohms"], &[]),
    u(D::Resistance, "Ω", ONE, &["Ω", "ohm", "ohms", "Ohm", "Ohms", "OHM", "OHMS", "ω"], &["R", "r"]),
    u(D::Resistance, "kΩ", KILO, &["kΩ", "KΩ", "kohm", "kohms", "kOhm", "kOhms", "KOhm", "Kohm", "KOHM", "kiloohm", "kilohm", "kilohms", "k"], &["K"]),
    u(D::Resistance, "MΩ", MEGA, &["MΩ", "Mohm", "Mohms", "MOhm", "MOhms", "MOHM", "MOHMS", "megohm", "megohms", "megaohm", "meg", "Meg", "megs", "M"], &[]),
    u(D::Resistance, "GΩ", (1e9, 1.0), &["GΩ", "Gohm", "GOhm", "GOHM", "gigohm", "gigohms"], &["G"]),
    u(D::Capacitance, "pF", PICO, &["pF", "picofarad", "picofarads", "mmfd", "MMFD"], &["p"]),
    u(D::Capacitance, "nF", NANO, &["nF", "nanofarad", "nanofarads"], &["n"]),
    // Labels say MFD. A bare mF or MF is left out on purpose: a millifarad to some, a microfarad
    // to others, so it is asked about.
    u(D::Capacitance, "µF", MICRO, &["µF", "uF", "MFD", "mfd", "Mfd", "µfd", "ufd", "microfarad", "microfarads", "mike", "mikes"], &["µ", "u"]),
    u(D::Capacitance, "F", ONE, &["farad", "farads"], &["F"]),
    u(D::Inductance, "µH", MICRO, &["µH", "uH", "microhenry"], &[]),
    u(D::Inductance, "mH", MILLI, &["mH", "millihenry"], &[]),
    u(D::Inductance, "H", ONE, &["H", "henry", "henries"], &[]),
    u(D::Voltage, "µV", MICRO, &["µV", "uV"], &[]),
    u(D::Voltage, "mV", MILLI, &["mV", "millivolt", "millivolts"], &[]),
    u(D::Voltage, "V", ONE, &["V", "v", "volt", "volts", "Volt", "Volts"], &[]),
    u(D::Voltage, "kV", KILO, &["kV", "kilovolt", "kilovolts"], &[]),
    u(D::Voltage, "mV AC", MILLI, &["mVAC"], &[]).waving(Waveform::Ac),
    u(D::Voltage, "mV DC", MILLI, &["mVDC"], &[]).waving(Waveform::Dc),
    u(D::Voltage, "V AC", ONE, &["VAC", "Vac", "V~", "voltsAC", "Vrms"], &[]).waving(Waveform::Ac),
    u(D::Voltage, "V DC", ONE, &["VDC", "Vdc", "V=", "V⎓", "voltsDC"], &[]).waving(Waveform::Dc),
    u(D::Current, "µA", MICRO, &["µA", "uA", "microamp", "microamps"], &[]),
    u(D::Current, "mA", MILLI, &["mA", "milliamp", "milliamps"], &[]),
    u(D::Current, "A", ONE, &["A", "a", "amp", "amps", "Amp", "Amps", "ampere", "amperes"], &[]),
    u(D::Current, "mA AC", MILLI, &["mAAC"], &[]).waving(Waveform::Ac),
    u(D::Current, "mA DC", MILLI, &["mADC"], &[]).waving(Waveform::Dc),
    u(D::Current, "A AC", ONE, &["AAC", "Aac", "A~", "ampsAC"], &[]).waving(Waveform::Ac),
    u(D::Current, "A DC", ONE, &["ADC", "Adc", "A=", "A⎓", "ampsDC"], &[]).waving(Waveform::Dc),
    // Power and energy. SP 811 B.8: Btu(IT), not the thermochemical one.
    u(D::Power, "mW", MILLI, &["mW", "milliwatt", "milliwatts"], &[]),
    u(D::Power, "W", ONE, &["W", "w", "watt", "watts", "Watt", "Watts", "J/s"], &[]),
    u(D::Power, "kW", KILO, &["kW", "KW", "kilowatt", "kilowatts"], &[]),
    u(D::Power, "Btu/h", (BTU, 3600.0), &["Btu/h", "BTU/h", "BTUH", "Btuh", "BTU/hr", "Btu/hr", "btuh"], &["BTU", "btu"]),
    u(D::Power, "kcal/h", (4_186.8, 3600.0), &["kcal/h", "kcal/hr"], &[]),
    u(D::Power, "ton", (12_000.0 * BTU, 3600.0), &["ton", "tons", "TR"], &[]),
    // 550 foot pounds-force per second.
    u(D::Power, "hp", (550.0 * FOOT * POUND_FORCE, 1.0), &["hp", "HP", "horsepower"], &[]),
    u(D::ApparentPower, "VA", ONE, &["VA", "voltampere", "voltamperes"], &[]),
    u(D::ApparentPower, "kVA", KILO, &["kVA"], &[]),
    u(D::Energy, "J", ONE, &["J", "joule", "joules", "Ws"], &[]),
    u(D::Energy, "kJ", KILO, &["kJ"], &[]),
    u(D::Energy, "MJ", MEGA, &["MJ"], &[]),
    u(D::Energy, "Wh", (3600.0, 1.0), &["Wh"], &[]),
    u(D::Energy, "kWh", (3.6e6, 1.0), &["kWh", "KWH", "kilowatthours"], &[]),
    u(D::Energy, "Btu", (BTU, 1.0), &["Btu", "BTU", "btu", "btus"], &[]),
    u(D::Energy, "kcal", (4_186.8, 1.0), &["kcal"], &[]),
    u(D::Frequency, "Hz", ONE, &["Hz", "hertz", "cps"], &[]),
    u(D::Frequency, "kHz", KILO, &["kHz"], &[]),
    u(D::RotationalSpeed, "rpm", (1.0, 60.0), &["rpm", "RPM", "r/min", "rev/min"], &[]),
    u(D::RotationalSpeed, "rps", ONE, &["rps", "r/s", "rev/s"], &["Hz"]),
    // Temperature.
    u(D::Temperature, "°C", ONE, &["°C", "C", "c", "degC", "degc", "DegC", "degreesC", "celsius", "Celsius", "degreesCelsius", "oC"], &[]).shifted(ZERO_CELSIUS),
    // (t + 459.67) / 1.8, with both numbers whole.
    u(D::Temperature, "°F", (5.0, 9.0), &["°F", "F", "f", "degF", "degf", "DegF", "degreesF", "fahrenheit", "Fahrenheit", "degreesFahrenheit", "oF"], &[]).shifted(ZERO_FAHRENHEIT),
    u(D::Temperature, "K", ONE, &["K", "kelvin", "kelvins"], &["k"]),
    u(D::TemperatureDifference, "K", ONE, &["ΔK", "ΔC", "Δ°C", "C°", "Cdiff", "Kdiff"], &["K", "k", "kelvin", "kelvins", "°C", "C", "c", "degC", "degreesC", "celsius", "deltaC", "deltaK"]),
    u(D::TemperatureDifference, "°F", (5.0, 9.0), &["ΔF", "Δ°F", "F°", "Fdiff"], &["°F", "F", "f", "degF", "degreesF", "fahrenheit", "deltaF"]),
    // Pressure. A bare psi, bar or kPa is what a gauge shows, unless another zero was asked for
    // and the unit is one that is commonly used with it.
    u(D::PressureGauge, "psig", (POUND_FORCE, SQUARE_INCH), &["psig", "psi", "PSI", "PSIG", "lb/in2", "lbs/in2", "pounds"], &["lb", "lbs", "#"]),
    u(D::PressureGauge, "bar(g)", (1e5, 1.0), &["barg", "bar", "bars", "BAR"], &[]),
    u(D::PressureGauge, "mbar(g)", (100.0, 1.0), &["mbarg"], &["mbar"]),
    u(D::PressureGauge, "kPa(g)", KILO, &["kPag", "kPa", "kpa"], &[]),
    u(D::PressureGauge, "MPa(g)", MEGA, &["MPag", "MPa", "Mpa"], &[]),
    u(D::PressureGauge, "Pa(g)", ONE, &["Pag"], &["Pa", "pa"]),
    u(D::PressureGauge, "kgf/cm²(g)", (98_066.5, 1.0), &["kgf/cm2g", "kgf/cm2", "kg/cm2", "kgcm2"], &[]),
    // Negative for what a compound gauge marks as inches of vacuum.
    u(D::PressureGauge, "inHg(g)", (MERCURY_INCH, 1.0), &["inHgg"], &["inHg", "inhg", "\"Hg"]),
    u(D::PressureAbsolute, "psia", (POUND_FORCE, SQUARE_INCH), &["psia", "PSIA"], &[]),
    u(D::PressureAbsolute, "bar(a)", (1e5, 1.0), &["bara"], &[]),
    u(D::PressureAbsolute, "mbar(a)", (100.0, 1.0), &["mbara"], &["mbar", "millibar", "millibars"]),
    u(D::PressureAbsolute, "hPa", (100.0, 1.0), &["hPa"], &[]),
    u(D::PressureAbsolute, "kPa(a)", KILO, &["kPaa"], &["kPa", "kpa"]),
    u(D::PressureAbsolute, "MPa(a)", MEGA, &["MPaa"], &["MPa"]),
    u(D::PressureAbsolute, "Pa(a)", ONE, &["Paa"], &["Pa", "pa"]),
    u(D::PressureAbsolute, "atm", (101_325.0, 1.0), &["atm"], &[]),
    u(D::PressureAbsolute, "inHg(a)", (MERCURY_INCH, 1.0), &["inHga"], &["inHg", "inhg", "\"Hg"]),
    u(D::PressureAbsolute, "mmHg", (MERCURY_MILLIMETRE, 1.0), &["mmHga"], &["mmHg"]),
    u(D::PressureDifference, "Pa", ONE, &["Pa", "pa", "pascal", "pascals"], &[]),
    u(D::PressureDifference, "mbar", (100.0, 1.0), &["mbar", "millibar", "millibars"], &[]),
    u(D::PressureDifference, "kPa", KILO, &["kPad"], &["kPa", "kpa"]),
    u(D::PressureDifference, "bar", (1e5, 1.0), &["bard"], &["bar"]),
    u(D::PressureDifference, "psi", (POUND_FORCE, SQUARE_INCH), &["psid", "PSID"], &["psi", "PSI"]),
    u(D::PressureDifference, "inH2O", (WATER_INCH, 1.0), &["inH2O", "inWC", "inwc", "inWG", "inwg", "\"WC", "\"wc", "iwc", "IWC"], &[]),
    u(D::PressureDifference, "mmH2O", (WATER_MILLIMETRE, 1.0), &["mmH2O", "mmWC", "mmwc"], &[]),
    u(D::PressureDifference, "ftH2O", (12.0 * WATER_INCH, 1.0), &["ftH2O", "ftWC", "fthd"], &["ft"]),
    u(D::Vacuum, "micron", (MERCURY_MILLIMETRE, 1e3), &["micron", "microns", "µmHg", "umHg", "mTorr", "millitorr"], &["µm", "um", "µ"]),
    // One 760th of the standard atmosphere, which is not quite the millimetre of mercury.
    u(D::Vacuum, "Torr", (101_325.0, 760.0), &["Torr", "torr", "TORR"], &[]),
    u(D::Vacuum, "mmHg", (MERCURY_MILLIMETRE, 1.0), &["mmHg"], &[]),
    u(D::Vacuum, "Pa", ONE, &["Pavac"], &["Pa", "pa", "pascal", "pascals"]),
    u(D::Vacuum, "mbar", (100.0, 1.0), &["mbarvac"], &["mbar", "millibar"]),
    u(D::Vacuum, "kPa", KILO, &["kPavac"], &["kPa"]),
    // Time.
    u(D::Time, "ms", MILLI, &["ms", "msec", "millisecond", "milliseconds"], &[]),
    u(D::Time, "s", ONE, &["s", "sec", "secs", "second", "seconds"], &[]),
    u(D::Time, "min", (60.0, 1.0), &["min", "mins", "minute", "minutes"], &["m"]),
    u(D::Time, "h", (3600.0, 1.0), &["h", "hr", "hrs", "hour", "hours"], &["H"]),
    u(D::Time, "d", (86_400.0, 1.0), &["d", "day", "days"], &[]),
    // Mass.
    u(D::Mass, "g", MILLI, &["g", "gram", "grams", "gr"], &[]),
    u(D::Mass, "kg", ONE, &["kg", "KG", "Kg", "kilo", "kilos", "kilogram", "kilograms"], &[]),
    u(D::Mass, "lb", (POUND, 1.0), &["lb", "lbs", "lbm", "pound"], &["pounds", "#"]),
    u(D::Mass, "oz", (POUND, 16.0), &["oz", "ounce", "ounces"], &[]),
    // Length, area, volume.
    u(D::Length, "µm", MICRO, &["µm", "um", "micrometre", "micrometer"], &["micron", "microns"]),
    u(D::Length, "mm", MILLI, &["mm", "millimetre", "millimeter", "millimetres", "millimeters"], &[]),
    u(D::Length, "cm", (1.0, 100.0), &["cm", "centimetre", "centimeter"], &[]),
    u(D::Length, "m", ONE, &["m", "metre", "meter", "metres", "meters"], &[]),
    u(D::Length, "km", KILO, &["km"], &[]),
    u(D::Length, "in", (0.0254, 1.0), &["in", "inch", "inches", "\"", "″"], &[]),
    u(D::Length, "ft", (FOOT, 1.0), &["ft", "foot", "feet", "'", "′"], &[]),
    u(D::Area, "mm²", MICRO, &["mm2", "sqmm"], &[]),
    u(D::Area, "cm²", (1.0, 1e4), &["cm2", "sqcm"], &[]),
    u(D::Area, "m²", ONE, &["m2", "sqm"], &[]),
    u(D::Area, "in²", (SQUARE_INCH, 1.0), &["in2", "sqin"], &[]),
    u(D::Area, "ft²", (SQUARE_FOOT, 1.0), &["ft2", "sqft"], &[]),
    u(D::Volume, "mL", MICRO, &["mL", "ml", "cm3", "cc"], &[]),
    u(D::Volume, "L", MILLI, &["L", "l", "litre", "liter", "litres", "liters", "ltr"], &[]),
    u(D::Volume, "m³", ONE, &["m3", "cum"], &[]),
    u(D::Volume, "gal", (GALLON, 1.0), &["gal", "gals", "gallon", "gallons"], &[]),
    u(D::Volume, "ft³", (CUBIC_FOOT, 1.0), &["ft3", "cuft"], &[]),
    // Flow.
    u(D::VolumeFlow, "L/s", MILLI, &["L/s", "l/s", "lps"], &[]),
    u(D::VolumeFlow, "L/min", (1.0, 60e3), &["L/min", "l/min", "lpm", "LPM"], &[]),
    u(D::VolumeFlow, "L/h", (1.0, 3.6e6), &["L/h", "l/h", "lph"], &[]),
    u(D::VolumeFlow, "m³/h", (1.0, 3600.0), &["m3/h", "m3/hr", "cmh", "CMH"], &[]),
    u(D::VolumeFlow, "m³/s", ONE, &["m3/s"], &[]),
    u(D::VolumeFlow, "gpm", (GALLON, 60.0), &["gpm", "GPM", "gal/min"], &[]),
    u(D::VolumeFlow, "CFM", (CUBIC_FOOT, 60.0), &["CFM", "cfm", "ft3/min", "cuft/min"], &[]),
    u(D::MassFlow, "g/s", MILLI, &["g/s"], &[]),
    u(D::MassFlow, "kg/s", ONE, &["kg/s"], &[]),
    u(D::MassFlow, "kg/h", (1.0, 3600.0), &["kg/h", "kg/hr"], &[]),
    u(D::MassFlow, "lb/h", (POUND, 3600.0), &["lb/h", "lb/hr", "lbs/h", "lbs/hr"], &[]),
    u(D::Velocity, "m/s", ONE, &["m/s"], &[]),
    u(D::Velocity, "km/h", (1.0, 3.6), &["km/h"], &[]),
    u(D::Velocity, "ft/min", (FOOT, 60.0), &["ft/min", "fpm", "FPM"], &[]),
    u(D::Velocity, "ft/s", (FOOT, 1.0), &["ft/s", "fps"], &[]),
    u(D::Torque, "N·m", ONE, &["Nm", "N-m", "newtonmetre", "newtonmeter"], &[]),
    u(D::Torque, "lbf·ft", (POUND_FORCE * FOOT, 1.0), &["lbfft", "lbf-ft", "ft-lb", "ftlb", "ft-lbs", "ftlbs", "lb-ft", "lbft", "footpounds"], &[]),
    u(D::Torque, "lbf·in", (POUND_FORCE * 0.0254, 1.0), &["lbfin", "lbf-in", "in-lb", "inlb", "in-lbs", "inlbs", "lb-in", "lbin", "inchpounds"], &[]),
    // Pure numbers.
    u(D::Ratio, "%", (1.0, 100.0), &["%", "percent", "pct"], &[]),
    u(D::Ratio, "ppm", MICRO, &["ppm", "PPM"], &[]),
    u(D::Ratio, "1", ONE, &["pu"], &["1", "x", "×"]),
    u(D::Humidity, "%RH", (1.0, 100.0), &["%RH", "%rh", "RH", "rh", "%rF"], &["%", "percent", "pct"]),
    u(D::Count, "steps", ONE, &["steps", "step", "pulses", "pulse", "blinks", "blink", "flashes", "flash", "times", "starts", "tries"], &["x", "×"]),
];
