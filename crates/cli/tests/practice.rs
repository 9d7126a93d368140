//! Practice at the prompt and over JSON lines.

mod common;

use common::{place, run, text};

#[test]
fn a_practice_ends_in_a_debrief_in_minutes() {
    let place = place("practice");
    let lines = "find setting mode\nlook SET mode\nno such test\nmend SET/set\nend\n";
    let args = ["practice", "--seed", "4", "--hide", "SET:away"];
    let out = run(&place, &args, lines);
    let said = text(&out.stdout);
    assert!(out.status.success(), "{said}{}", text(&out.stderr));
    for wanted in [
        "complaint = ",
        "1.0 min  look SET mode = ",
        "there is no test \"no such test\"",
        "SET/set: the proving run passed",
        "HIDDEN: settings SET: mode left on away",
        "YOURS: 15 min, 0 repairs that put nothing right",
        "THE PROGRAM'S OWN: ",
    ] {
        assert!(said.contains(wanted), "{wanted} in {said}");
    }
    // What is hidden is not said before the end, and the same seed says the same.
    assert!(said.find("HIDDEN") > said.find("the proving run passed"));
    assert_eq!(said, text(&run(&place, &args, lines).stdout));
}

#[test]
fn a_program_can_practise_too() {
    let place = place("practice-json");
    let lines = "{\"test\": \"look SET mode\"}\nnot json\n{\"mend\": \"SET/set\"}\n{\"end\": true}\n";
    let out = run(&place, &["practice", "--seed", "4", "--hide", "SET:away", "--json"], lines);
    let said: Vec<serde_json::Value> =
        text(&out.stdout).lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    assert_eq!(said.len(), 5);
    assert_eq!(said[0]["seed"], 4);
    assert_eq!(said[1]["step"]["test"], "look SET mode");
    assert!(said[2]["error"].as_str().is_some_and(|e| e.contains("no JSON")));
    assert_eq!(said[3]["step"]["proved"], true);
    assert_eq!(said[4]["debrief"]["hidden"][0], "SET:away");
    let unknown = run(&place, &["practice", "--hide", "SET:nonsense"], "");
    assert_eq!(unknown.status.code(), Some(1));
    assert!(text(&unknown.stderr).contains("SET:nonsense"));
}
