//! Conversion factors against the tables of NIST Special Publication 811 (2008), appendix B.8,
//! "Factors for units listed alphabetically", as printed there (seven digits).

use halfsplit_units::{Dimension as D, Unit, UnitLookup};

fn unit(text: &str, dimension: D) -> &'static Unit {
    match Unit::lookup(text, Some(dimension)) {
        UnitLookup::Found(unit) => unit,
        other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn factors_are_those_of_sp_811() {
    // Text, dimension, the factor as printed.
    let printed = [
        ("atm", D::PressureAbsolute, 1.013_25e5),
        ("bar", D::PressureGauge, 1.0e5),
        ("Btu/h", D::Power, 2.930_711e-1),
        ("Btu", D::Energy, 1.055_056e3),
        ("ft", D::Length, 3.048e-1),
        ("fpm", D::Velocity, 5.08e-3),
        ("ftH2O", D::PressureDifference, 2.989_067e3),
        ("ft-lb", D::Torque, 1.355_818),
        ("CFM", D::VolumeFlow, 4.719_474e-4),
        ("gal", D::Volume, 3.785_412e-3),
        ("gpm", D::VolumeFlow, 6.309_020e-5),
        ("hp", D::Power, 7.456_999e2),
        ("in", D::Length, 2.54e-2),
        ("inHg", D::PressureAbsolute, 3.386_389e3),
        ("inWC", D::PressureDifference, 2.490_889e2),
        ("kWh", D::Energy, 3.6e6),
        ("kcal", D::Energy, 4.186_8e3),
        ("kgf/cm2", D::PressureGauge, 9.806_65e4),
        ("mmHg", D::Vacuum, 1.333_224e2),
        ("mmH2O", D::PressureDifference, 9.806_65),
        ("oz", D::Mass, 2.834_952e-2),
        ("lb", D::Mass, 4.535_924e-1),
        ("lb/h", D::MassFlow, 1.259_979e-4),
        ("in-lb", D::Torque, 1.129_848e-1),
        ("psig", D::PressureGauge, 6.894_757e3),
        ("psia", D::PressureAbsolute, 6.894_757e3),
        ("sq ft", D::Area, 9.290_304e-2),
        ("sq in", D::Area, 6.451_6e-4),
        ("cu ft", D::Volume, 2.831_685e-2),
        ("ton", D::Power, 3.516_853e3),
        ("torr", D::Vacuum, 1.333_224e2),
        ("day", D::Time, 8.64e4),
    ];
    for (text, dimension, factor) in printed {
        let ours = unit(text, dimension).step_to_si(1.0);
        assert!((ours / factor - 1.0).abs() < 5e-7, "{text}: {ours} against {factor}");
    }
}

#[test]
fn vacuum_units_agree_with_each_other() {
    // 1 inHg is 25 400 µm Hg by definition of the inch; a millitorr differs in the seventh digit
    // (source: NIST SP 811, B.8, torr 1.333 224 E+02 and conventional millimetre of mercury alike).
    let micron = unit("micron", D::Vacuum).step_to_si(1.0);
    let inch = unit("inHg", D::PressureAbsolute).step_to_si(1.0);
    assert!((inch / micron - 25_400.0).abs() < 1e-9);
    // 500 µm Hg in pascals: 66.66.
    assert!((500.0 * micron - 66.661).abs() < 1e-3);
}

#[test]
fn prefixes_are_those_of_the_si() {
    // Source: SI Brochure, 9th edition, table 7.
    for (text, dimension, factor) in [
        ("pF", D::Capacitance, 1e-12),
        ("nF", D::Capacitance, 1e-9),
        ("MFD", D::Capacitance, 1e-6),
        ("µF", D::Capacitance, 1e-6),
        ("\u{3bc}F", D::Capacitance, 1e-6),
        ("mΩ", D::Resistance, 1e-3),
        ("\u{2126}", D::Resistance, 1.0),
        ("kΩ", D::Resistance, 1e3),
        ("megohm", D::Resistance, 1e6),
        ("GΩ", D::Resistance, 1e9),
        ("mV", D::Voltage, 1e-3),
        ("kV", D::Voltage, 1e3),
        ("µA", D::Current, 1e-6),
        ("MJ", D::Energy, 1e6),
        ("hPa", D::PressureAbsolute, 1e2),
    ] {
        assert_eq!(unit(text, dimension).to_si(1.0), factor, "{text}");
    }
}

#[test]
fn the_table_agrees_with_the_typed_temperatures() {
    // Source: NIST SP 811, B.8: T/K = (t/°F + 459.67)/1.8 and T/K = t/°C + 273.15.
    use halfsplit_units::Temperature;
    for number in [-40.0, 0.0, 32.0, 98.6, 212.0] {
        let table = unit("°F", D::Temperature).to_si(number);
        assert!((table - Temperature::from_fahrenheit(number).kelvin()).abs() < 1e-12);
        let table = unit("°C", D::Temperature).to_si(number);
        assert_eq!(table, Temperature::from_celsius(number).kelvin());
    }
}
