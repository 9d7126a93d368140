//! What is shown can be typed, and comes back as the same value.

use halfsplit_units::{
    DecimalMark, Dimension as D, Entry, MeasureSystem, Preferences, PressureUnit, TemperatureUnit, Unit, VacuumUnit,
    parse_entry, show, shown,
};
use proptest::prelude::*;

fn preferences() -> impl Strategy<Value = Preferences> {
    (
        prop_oneof![Just(TemperatureUnit::Celsius), Just(TemperatureUnit::Fahrenheit)],
        prop_oneof![Just(PressureUnit::Bar), Just(PressureUnit::Kilopascal), Just(PressureUnit::Psi)],
        prop_oneof![Just(VacuumUnit::Micron), Just(VacuumUnit::Pascal)],
        prop_oneof![Just(MeasureSystem::Metric), Just(MeasureSystem::UsCustomary)],
        prop_oneof![Just(DecimalMark::Point), Just(DecimalMark::Comma)],
    )
        .prop_map(|(temperature, pressure, vacuum, system, decimal_mark)| Preferences {
            temperature,
            pressure,
            vacuum,
            system,
            decimal_mark,
        })
}

fn measurable() -> impl Strategy<Value = D> {
    let all: Vec<D> = D::ALL.iter().copied().filter(|dimension| *dimension != D::Words).collect();
    prop::sample::select(all)
}

#[allow(clippy::disallowed_methods, reason = "test data need not be the same bits everywhere")]
/// A value that an instrument could show, for a number between 0 and 1.
fn plausible(dimension: D, share: f64, decade: i32) -> f64 {
    let spread = share * 10_f64.powi(decade);
    match dimension {
        D::Temperature => 200.0 + 200.0 * share,
        D::PressureAbsolute => 1e3 + 4e6 * share,
        D::Humidity => share,
        D::Count => (share * 500.0).round(),
        D::Capacitance | D::Inductance => spread * 1e-6,
        _ => spread,
    }
}

proptest! {
    #[test]
    fn shown_then_typed_is_the_same_within_the_last_digit(
        dimension in measurable(),
        preferences in preferences(),
        share in 0.0..1.0_f64,
        decade in -2..5_i32,
        relative in prop::option::of(1e-5..0.2_f64),
    ) {
        let si = plausible(dimension, share, decade);
        let uncertainty = relative.map(|r| r * if dimension == D::Temperature { 10.0 } else { si });
        let text = show(si, dimension, &preferences, uncertainty);
        // "1,234 kΩ" is right in a country with a decimal comma, and is asked about elsewhere.
        let text = text.replace(',', ".");
        let entry = parse_entry(&text, Some(dimension));
        let Ok(Entry::Value(quantity)) = entry else {
            return Err(TestCaseError::fail(format!("{text}: {entry:?}")));
        };
        // Nothing is written coarser than the uncertainty, or than three digits without one.
        let coarsest = match uncertainty {
            Some(u) if u > 0.0 => u,
            _ if matches!(dimension, D::Temperature | D::TemperatureDifference) => 0.051,
            _ if dimension == D::Count => 0.5,
            _ => si * 0.00501,
        };
        prop_assert!(
            (quantity.si - si).abs() <= coarsest * (1.0 + 1e-9),
            "{si} was shown as {text} and came back as {}", quantity.si
        );
    }

    #[test]
    fn every_unit_there_and_back(
        index in 0..Unit::all().len(),
        number in -1e6..1e6_f64,
    ) {
        let unit = &Unit::all()[index];
        let back = unit.from_si(unit.to_si(number));
        prop_assert!((back - number).abs() <= 1e-9 * number.abs().max(1.0), "{unit}: {number} {back}");
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC*", index in 0..=D::ALL.len()) {
        let asked = D::ALL.get(index).copied();
        if let Err(error) = parse_entry(&text, asked) {
            let message = error.to_string();
            prop_assert!(!message.is_empty());
            prop_assert!(error.at + error.len <= text.chars().count());
        }
    }

    #[test]
    fn no_near_entry_makes_it_panic(
        text in "[-+<>~≈]?[0-9]{1,4}[., ]?[0-9]{0,4}[eE]?-?[0-9]{0,3} ?(uF|ohm|k|V|C|%|psi|lb|oz|s|in|ft)?( ?(to|and|-|±|\\.\\.) ?)?[0-9]{0,3} ?(uF|ohm|k7|V|C|%|psi|lb|oz|s)?",
        index in 0..=D::ALL.len(),
    ) {
        let asked = D::ALL.get(index).copied();
        match parse_entry(&text, asked) {
            Ok(entry) => {
                // What was taken has the dimension that was asked for, and finite values.
                if let Some(asked) = asked {
                    prop_assert_eq!(entry.dimension(), Some(asked));
                }
                if let Entry::Between { low, high } = entry {
                    prop_assert!(low.si <= high.si && high.si.is_finite());
                }
            }
            Err(error) => prop_assert!(error.at + error.len <= text.chars().count()),
        }
    }
}

#[test]
fn digits_follow_the_uncertainty() {
    let metric = Preferences::default();
    for (si, dimension, uncertainty, text) in [
        // At most two digits of the uncertainty are carried (source: GUM, JCGM 100:2008, 7.2.6).
        (12.816, D::Resistance, Some(0.05), "12.82 Ω"),
        (12.816, D::Resistance, Some(0.5), "12.8 Ω"),
        (12.816, D::Resistance, Some(0.2), "12.82 Ω"),
        (12.816, D::Resistance, Some(4.0), "13 Ω"),
        (12.816, D::Resistance, None, "12.8 Ω"),
        (1234.0, D::Resistance, None, "1.23 kΩ"),
        (999.9, D::Resistance, None, "1.00 kΩ"),
        (0.0, D::Resistance, None, "0 Ω"),
        (0.05, D::Resistance, None, "50.0 mΩ"),
        (240.4, D::Voltage, Some(3.0), "240 V"),
        (1_234_567.0, D::PressureGauge, Some(5e4), "12.3 bar(g)"),
        (66.66, D::Vacuum, Some(3.0), "500 micron"),
        (523.0, D::Count, Some(40.0), "523 steps"),
        (-0.01, D::Voltage, Some(1.0), "0.0 V"),
        (99.96, D::Voltage, None, "100 V"),
        (90.0, D::Time, None, "90.0 s"),
        (300.0, D::Time, Some(5.0), "5.00 min"),
    ] {
        assert_eq!(show(si, dimension, &metric, uncertainty), text);
    }
}

#[test]
fn each_choice_of_units_shows() {
    let metric = Preferences::default();
    for (si, dimension, in_metric, in_us) in [
        (293.15, D::Temperature, "20.0 °C", "68.0 °F"),
        (10.0, D::TemperatureDifference, "10.0 K", "18.0 °F"),
        (813_581.0, D::PressureGauge, "8.14 bar(g)", "118 psig"),
        (101_325.0, D::PressureAbsolute, "1.01 bar(a)", "14.7 psia"),
        (0.8, D::Mass, "800 g", "1.76 lb"),
        (0.19, D::Volume, "190 L", "50.2 gal"),
        (2.5, D::Velocity, "2.50 m/s", "492 ft/min"),
        (124.6, D::PressureDifference, "125 Pa", "0.500 inH2O"),
        (12.5e-6, D::Capacitance, "12.5 µF", "12.5 µF"),
        (0.55, D::Humidity, "55.0 %RH", "55.0 %RH"),
    ] {
        assert_eq!(show(si, dimension, &metric, None), in_metric);
        assert_eq!(show(si, dimension, &Preferences::US, None), in_us);
    }
    let comma = Preferences { decimal_mark: DecimalMark::Comma, ..metric };
    assert_eq!(show(12.5e-6, D::Capacitance, &comma, None), "12,5 µF");
    let pascal = Preferences { vacuum: VacuumUnit::Pascal, ..metric };
    assert_eq!(show(66.7, D::Vacuum, &pascal, None), "66.7 Pa");
}

#[test]
fn nothing_is_shown_for_nothing() {
    let metric = Preferences::default();
    assert_eq!(shown(f64::NAN, D::Voltage, &metric, None), None);
    assert_eq!(shown(1.0, D::Words, &metric, None), None);
    assert_eq!(show(f64::INFINITY, D::Resistance, &metric, None), "–");
}

#[test]
fn stored_preferences_of_another_version_still_read() {
    let read: Preferences = serde_json::from_str(r#"{"temperature":"fahrenheit","colour":"blue"}"#).expect("read");
    assert_eq!(read, Preferences { temperature: TemperatureUnit::Fahrenheit, ..Preferences::default() });
}
