//! Ratings that contradict each other are evidence and a warning, not an error: the sheet builds, both values are
//! doubted, and the spread says by how much.

use halfsplit_machine::sheet::Severity;
use halfsplit_machine::{Machine, Param, PartIx, Spread};

const DEMO: &str = include_str!("../../../machines/garage-water-heater.toml");

fn build(text: &str) -> Machine {
    Machine::build(text).unwrap_or_else(|e| panic!("{e}"))
}

fn ohms_of<'m>(m: &'m Machine, part: &str) -> &'m Param {
    let PartIx(ix) = m.part(part).expect("the part");
    m.params.iter().find(|p| p.part.0 == ix && p.name == "ohms").expect("its ohms")
}

fn relative(p: &Param) -> f64 {
    match p.spread {
        Spread::Relative(r) => r,
        other => panic!("{other:?}"),
    }
}

/// 4500 W and 12.8 ohm agree at 240 V (P = V²/R); at 208 V the same element gives 3380 W, 75 per cent.
/// Source: elementary law; the pair of voltages is common practice.
#[test]
fn an_element_for_another_voltage_is_a_warning_and_a_wider_spread() {
    let sound = build(DEMO);
    assert_eq!(sound.findings, Vec::new());
    let m = build(&DEMO.replace("volts = 240", "volts = 208"));
    let warnings: Vec<String> = m.findings.iter().map(|f| f.at.to_string()).collect();
    assert_eq!(m.findings.len(), 2, "one for each element: {warnings:?}");
    assert!(m.findings.iter().all(|f| f.severity == Severity::Warning && f.at.span.is_some()));
    insta::assert_snapshot!(warnings.join("\n"));

    let by_watts = 208.0 * 208.0 / 4500.0;
    let doubted = ohms_of(&m, "EUP");
    assert!(by_watts < doubted.nominal && doubted.nominal < 12.8, "{} ohm is not between the two", doubted.nominal);
    assert!(relative(doubted) > 3.0 * relative(ohms_of(&sound, "EUP")), "{:?}", doubted.spread);
    // Both values that were read lie within two standard deviations of what is assumed.
    for read in [by_watts, 12.8] {
        assert!((read / doubted.nominal - 1.0).abs() < 2.0 * relative(doubted), "{read} ohm is ruled out");
    }
}

/// Elements are made to ±5 % (common practice): 12.3 ohm beside 4500 W at 240 V is no contradiction.
#[test]
fn a_few_per_cent_are_no_contradiction() {
    let text = DEMO.replace(
        "ratings = { watts = 4500, ohm = 12.8, upper = 1 }",
        "ratings = { watts = 4500, ohm = 12.3, upper = 1 }",
    );
    assert_eq!(build(&text).findings, Vec::new());
}

#[test]
fn what_is_assumed_is_doubted_more() {
    let text = DEMO.replace(
        "ratings = { watts = 4500, ohm = 12.8, upper = 1 }",
        "ratings = { watts = 4500, ohm = 12.8, upper = 1 }\nassumed = [\"ohm\"]",
    );
    assert!(relative(ohms_of(&build(&text), "EUP")) >= 0.10);
    assert!(relative(ohms_of(&build(DEMO), "EUP")) <= 0.05);
}
