//! Working values and the picture, as somebody asks for them in a terminal.

use std::process::{Command, Output};

fn halfsplit(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(args).output().expect("the program runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

/// Source: arithmetic on the B-value definition of IEC 60539-1: 10 kohm, B 3950 K, 5 kohm is 41.46023 °C.
#[test]
fn a_value_with_its_plus_minus_in_words_and_in_json() {
    let ask = ["value", "thermistor.temperature", "r25=10 kOhm", "beta=3950 K", "resistance=5 kOhm ± 1 %"];
    let out = halfsplit(&ask);
    assert!(out.status.success());
    assert!(text(&out.stdout).contains("41.46 ± 0.25 °C"), "{}", text(&out.stdout));
    let out = halfsplit(&[&ask[..], &["--json"]].concat());
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let value = json["results"][0]["value"].as_f64().expect("a number");
    assert!((value - 41.46023).abs() < 1e-4, "{json}");
}

#[test]
fn every_listed_value_explains_itself_with_formula_source_and_range() {
    let list = text(&halfsplit(&["value"]).stdout);
    let ids: Vec<&str> = list.lines().filter_map(|l| l.split_whitespace().next()).filter(|w| w.contains('.')).collect();
    assert!(ids.len() > 60, "{} values", ids.len());
    for id in ids.iter().step_by(9) {
        let about = halfsplit(&["value", id, "--about"]);
        assert!(about.status.success(), "{id}");
        for heading in ["Formula: ", "Source: ", "Range: ", "Example"] {
            assert!(text(&about.stdout).contains(heading), "{id} lacks {heading}");
        }
    }
}

#[test]
fn nonsense_is_refused_with_what_to_do() {
    for (args, says) in [
        (vec!["value", "thermistor.temprature"], "perhaps thermistor."),
        (vec!["value", "thermistor.temperature", "r25=10 kOhm", "beta=3950 K", "resistance=-5 kOhm"], "below zero"),
        (vec!["value", "thermistor.temperature", "resistance"], "name=value"),
        (vec!["picture", "R999", "--measured", "2.9 bara, 12 C; 14.8 bara, 80 C; 14.8 bara, 47 C"], "R134a"),
        (vec!["picture", "R134a", "--measured", "2.9 bara, 12 C"], "three"),
    ] {
        let out = halfsplit(&args);
        assert_eq!(out.status.code(), Some(1), "{args:?}");
        assert!(text(&out.stderr).contains(says), "{args:?}: {}", text(&out.stderr));
    }
}

#[test]
fn the_picture_of_a_cycle_is_svg_with_a_text_alternative() {
    let out = halfsplit(&["picture", "R134a", "--measured", "2.9 bara, 12 C; 14.8 bara, 80 C; 14.8 bara, 47 C"]);
    let svg = text(&out.stdout);
    assert!(
        out.status.success() && svg.starts_with("<svg") && svg.contains("<title") && svg.contains("measured"),
        "{svg}"
    );
}

#[test]
fn an_evaluation_asks_for_parts_that_exist() {
    let out = halfsplit(&["evaluate", "--only", "everything"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("singles"), "{}", text(&out.stderr));
}

#[test]
fn an_evaluation_refuses_what_it_does_not_know() {
    let refused = |args: &[&str]| {
        let out = halfsplit(args);
        assert!(!out.status.success(), "{args:?}");
        text(&out.stderr)
    };
    let policy = refused(&["evaluate", "--only", "minutes", "--policies", "own,guess"]);
    assert!(policy.contains("\"guess\"") && policy.contains("one-step"), "{policy}");
    let share = refused(&["evaluate", "--slips", "2"]);
    assert!(share.contains("from 0 to 1"), "{share}");
    let visit = refused(&["evaluate", "--only", "singles", "--name", "NOBODY"]);
    assert!(visit.contains("no such visit"), "{visit}");
    let chart = refused(&["evaluate", "--only", "minutes", "--chart", "Cargo.toml"]);
    assert!(chart.contains("Cargo.toml") && chart.contains("no chart"), "{chart}");
}

#[test]
fn an_evaluation_tells_its_visits() {
    let dust = ["evaluate", "dehumidifier", "--only", "singles", "--name", "FILTER", "--draws", "1", "--tell", "all"];
    let plain = text(&halfsplit(&dust).stdout);
    assert!(
        plain.contains("== singles [\"FILTER:clogged\"] expected cost") && plain.contains("complaint -> "),
        "{plain}"
    );
    assert!(!plain.contains("| nothing "), "{plain}");
    let seed = plain.split(" seed ").nth(1).and_then(|s| s.split(':').next()).unwrap_or_default();
    let odds = text(&halfsplit(&[&dust[..], &["--visit", seed, "--odds"]].concat()).stdout);
    assert!(odds.contains("| nothing ") && odds.contains("(sound: "), "{odds}");
    let without = |told: &str| {
        let lines = told.lines().filter(|l| !l.contains("| nothing "));
        lines.map(|l| l.split(" (sound:").next().unwrap_or_default().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(without(&odds), without(&plain), "the same visit, and what was possible after each step beside it");
}
