//! From a nameplate to a sheet, and from a logger's table to readings, at the terminal.

mod common;

use common::{place, run, text};

#[test]
fn a_sheet_is_started_from_answers() {
    let place = place("start");
    let out = run(
        &place,
        &["sheet", "start", "refrigerator", "refrigerant=R600a", "rated_load_a=0.9 A", "locked_rotor_a=8.5", "--json"],
        "",
    );
    assert!(out.status.success(), "{}", text(&out.stderr));
    let value: serde_json::Value = serde_json::from_str(&text(&out.stdout)).expect("JSON");
    assert!(value["sheet"].as_str().is_some_and(|s| s.contains("rated_load_a = 0.9")));
    assert!(value["assumed"].as_array().is_some_and(|a| a.iter().any(|x| x == "COMP.run_ohm")));
    // What nobody read of the compressor and its starter would help, and is said.
    assert!(!value["most_wanted"].as_array().expect("a list").is_empty());
    let leakage = &value["alternatives"][0];
    assert_eq!(leakage["taken"], "no");
}

#[test]
fn it_asks_where_nothing_is_given() {
    let place = place("start-asks");
    let path = place.join("mine.toml");
    let file = path.to_string_lossy().into_owned();
    let out = run(&place, &["sheet", "start", "split", "--out", &file], "230 V\n50\nR32\n\n9 parsec\n9 A\n");
    assert!(out.status.success(), "{}", text(&out.stderr));
    let said = text(&out.stderr);
    assert!(said.contains("Refrigerant") && said.contains("parsec") && said.contains("assumed"), "{said}");
    assert!(said.contains("Poles of the contactor") && said.contains("To tell it from"), "{said}");
    let checked = run(&place, &["sheet", "check", &file], "");
    assert!(text(&checked.stdout).contains("It can be computed"), "{}", text(&checked.stderr));
}

#[test]
fn what_is_no_answer_is_refused() {
    let place = place("start-refused");
    for (args, says) in [
        (vec!["sheet", "start", "toaster", "--json"], "there is no kind"),
        (vec!["sheet", "start", "split", "volts"], "KEY=VALUE"),
        (vec!["sheet", "start", "split", "volts=9 V"], "usual are"),
        (vec!["sheet", "start", "split", "colour=white"], "is not asked"),
    ] {
        let out = run(&place, &args, "");
        assert_eq!(out.status.code(), Some(1), "{args:?}");
        assert!(text(&out.stderr).contains(says), "{args:?}: {}", text(&out.stderr));
    }
}

#[test]
fn examples_are_listed_and_stand_for_files() {
    let place = place("examples");
    let out = run(&place, &["sheet", "examples"], "");
    assert!(text(&out.stdout).contains("refrigerator"), "{}", text(&out.stdout));
    let out = run(&place, &["sheet", "check", "dehumidifier"], "");
    assert!(text(&out.stdout).contains("It can be computed"), "{}", text(&out.stderr));
}
