//! The catalogue as data: complete, consistent, and every entry works.

use std::collections::BTreeSet;

use halfsplit_bench::{Content, Inputs, Kind, Need, catalogue, explain, figures, find, work_out};
use halfsplit_units::Unit;

fn snake_case(name: &str) -> bool {
    !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

#[test]
fn names_are_unique_and_plain() {
    let mut ids = BTreeSet::new();
    for value in catalogue() {
        assert!(ids.insert(value.id), "{} is there twice", value.id);
        assert!(value.id.contains('.') && value.id.split('.').all(snake_case), "{}", value.id);
        let inputs: BTreeSet<_> = value.inputs.iter().map(|input| input.name).collect();
        let outputs: BTreeSet<_> = value.outputs.iter().map(|output| output.name).collect();
        assert_eq!(inputs.len(), value.inputs.len(), "{}: an input is there twice", value.id);
        assert_eq!(outputs.len(), value.outputs.len(), "{}: a result is there twice", value.id);
        assert!(inputs.iter().chain(&outputs).all(|name| snake_case(name)), "{}", value.id);
    }
    let figures: BTreeSet<_> = figures().iter().map(|figure| figure.id).collect();
    assert_eq!(figures.len(), halfsplit_bench::figures().len(), "a figure is there twice");
}

#[test]
fn every_entry_says_formula_source_and_range() {
    for value in catalogue() {
        for (what, text) in
            [("title", value.title), ("formula", value.formula), ("source", value.source), ("validity", value.validity)]
        {
            assert!(text.trim().len() > 3, "{} has no {what}", value.id);
        }
        assert!(!value.outputs.is_empty() && !value.inputs.is_empty(), "{}", value.id);
    }
    for figure in figures() {
        assert!(figure.source.len() > 3 && figure.title.len() > 3, "{}", figure.id);
    }
}

#[test]
fn every_usual_unit_exists_and_every_default_lies_in_its_range() {
    for value in catalogue() {
        let kinds = value.inputs.iter().map(|input| (input.name, input.kind, input.unit));
        for (name, kind, unit) in
            kinds.chain(value.outputs.iter().map(|output| (output.name, output.kind, output.unit)))
        {
            if let Kind::Quantity(dimension) | Kind::Quantities(dimension) = kind {
                assert!(
                    Unit::by_symbol(dimension, unit).is_some(),
                    "{} {name}: {unit} is no unit of {dimension}",
                    value.id
                );
            }
        }
        for input in value.inputs {
            match (input.need, input.kind) {
                (Need::Otherwise(default), _) => {
                    assert!(input.range.holds(default), "{} {}: default {default}", value.id, input.name);
                }
                (Need::OtherwiseWord(word), Kind::Word(words)) => {
                    assert!(words.contains(&word), "{}", value.id)
                }
                (Need::OtherwiseWord(_), _) => {
                    panic!("{} {}: a word as default of no word", value.id, input.name)
                }
                (Need::Required | Need::Optional, _) => {}
            }
        }
    }
}

#[test]
fn every_example_works_out_and_goes_into_json() {
    for value in catalogue() {
        let explanation = explain(value.id).unwrap_or_else(|error| panic!("{}: {error}", value.id));
        assert!(!explanation.worked.results.is_empty(), "{} gives nothing", value.id);
        for outcome in &explanation.worked.results {
            if let Content::Number(number) = &outcome.what {
                assert!(number.si.is_finite(), "{} {}: {}", value.id, outcome.name, number.si);
                assert!(number.plus_minus.is_none_or(f64::is_finite), "{} {}", value.id, outcome.name);
            }
        }
        let json = serde_json::to_value(&explanation).expect("an explanation goes into JSON");
        for field in ["id", "title", "inputs", "outputs", "formula", "source", "validity", "worked"] {
            assert!(!json[field].is_null(), "{}: no {field}", value.id);
        }
    }
}

/// The ± of a reading must show in some result, and its parts must add up to the whole.
#[test]
fn uncertainty_reaches_the_results() {
    let mut with_uncertainty = 0;
    for value in catalogue() {
        if !value.example.iter().any(|(_, text)| text.contains('±')) {
            continue;
        }
        let worked = explain(value.id).expect("an explanation").worked;
        assert!(
            worked.results.iter().any(|outcome| matches!(&outcome.what, Content::Number(n) if n.plus_minus.is_some())),
            "{}: the ± of the example is lost",
            value.id
        );
        for outcome in worked.results.iter().filter(|outcome| !outcome.parts.is_empty()) {
            let sum: f64 = outcome.parts.iter().map(|part| part.share).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{} {}", value.id, outcome.name);
        }
        with_uncertainty += 1;
    }
    assert!(with_uncertainty >= 8, "only {with_uncertainty} examples carry a ±");
}

/// Leaving out any required input, or adding one that is not there, is an error that names it.
#[test]
fn missing_and_unknown_inputs_are_named() {
    for value in catalogue() {
        for input in value.inputs.iter().filter(|input| input.need == Need::Required) {
            let without: Inputs = value.example.iter().copied().filter(|(name, _)| *name != input.name).collect();
            let error = work_out(value.id, &without).expect_err("an input is missing");
            assert_eq!((error.kind(), error.input()), ("missing", Some(input.name)), "{}", value.id);
            assert!(error.to_string().contains(input.meaning), "{error}");
        }
        let more = value.example.iter().copied().collect::<Inputs>().text("no_such_input", "1");
        let error = work_out(value.id, &more).expect_err("an input too many");
        assert_eq!((error.kind(), error.input()), ("unknown_input", Some("no_such_input")));
        assert!(error.to_string().contains(value.inputs[0].name), "{error}");
    }
}

/// No number outside its range gets as far as the formula, and none that is not a number.
#[test]
fn values_outside_the_range_are_refused_everywhere() {
    let mut tried = 0;
    for value in catalogue() {
        for input in value.inputs.iter().filter(|input| matches!(input.kind, Kind::Quantity(_) | Kind::Plain)) {
            let scale = |usual: f64| match input.kind {
                Kind::Quantity(dimension) => {
                    Unit::by_symbol(dimension, input.unit).map_or(usual, |unit| unit.to_si(usual))
                }
                _ => usual,
            };
            let span = input.range.high - input.range.low;
            for wrong in [input.range.low - 0.01 * span, input.range.high + 0.01 * span, f64::NAN, f64::INFINITY] {
                let inputs = value.example.iter().copied().collect::<Inputs>().si(input.name, scale(wrong));
                let error = work_out(value.id, &inputs).expect_err("out of range");
                assert_eq!((error.kind(), error.input()), ("out_of_range", Some(input.name)), "{} {wrong}", value.id);
                tried += 1;
            }
        }
    }
    assert!(tried > 400, "{tried}");
}

#[test]
fn a_wrong_name_finds_its_neighbours() {
    let error = find("thermistor.ohms").expect_err("no such value").to_string();
    assert!(error.contains("thermistor."), "{error}");
    let error = find("xyzzy").expect_err("no such value").to_string();
    assert!(error.contains("list them all"), "{error}");
}
