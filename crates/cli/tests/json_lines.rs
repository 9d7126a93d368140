//! The example of docs/json-lines.md, run as it stands there.

mod common;

use common::{place, root, run, text};
use serde_json::Value;

fn block(doc: &str, name: &str) -> String {
    let start = doc.find(&format!("```{name}\n")).unwrap_or_else(|| panic!("no block {name}"));
    let body = &doc[start + name.len() + 4..];
    body[..body.find("```").expect("an end")].to_owned()
}

/// Whether everything that is shown is in the answer; of a list, its first members.
fn inside(shown: &Value, answer: &Value) -> bool {
    match (shown, answer) {
        (Value::Object(s), Value::Object(a)) => s.iter().all(|(k, v)| a.get(k).is_some_and(|w| inside(v, w))),
        (Value::Array(s), Value::Array(a)) => s.len() <= a.len() && s.iter().zip(a).all(|(v, w)| inside(v, w)),
        _ => shown == answer,
    }
}

#[test]
fn the_example_of_the_document_does_what_it_shows() {
    let doc = std::fs::read_to_string(root().join("docs/json-lines.md")).expect("the document");
    let (input, shown) = (block(&doc, "json-in"), block(&doc, "json-out"));
    let out = run(&place("json-example"), &["job", "--json"], &input);
    assert!(out.status.success(), "{}", text(&out.stderr));
    let said = text(&out.stdout);
    let (answers, shown): (Vec<&str>, Vec<&str>) = (said.lines().collect(), shown.lines().collect());
    assert_eq!(answers.len(), shown.len());
    for (i, (answer, shown)) in answers.iter().zip(&shown).enumerate() {
        let a: Value = serde_json::from_str(answer).expect("JSON");
        let s: Value = serde_json::from_str(shown).expect("JSON");
        assert!(inside(&s, &a), "line {}: {shown}\nis not in {answer}", i + 1);
    }
}

#[test]
fn a_line_that_is_wrong_answers_with_an_error_and_the_job_goes_on() {
    let input = "not json\n{\"kind\":\"reading\",\"with\":{}}\n{\"ask\":\"weather\"}\n{\"ask\":\"view\"}\n\n{\"kind\":\"opened\",\"with\":{\"sheet_text\":\"sheet = 2\"}}\n{\"kind\":\"opened\",\"with\":{}}\n{\"ask\":\"tests\",\"words\":\"capacitor micro\"}\n";
    let out = run(&place("json-wrong"), &["job", "--json"], input);
    assert!(out.status.success(), "{}", text(&out.stderr));
    let answers: Vec<Value> = text(&out.stdout).lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    assert_eq!(answers.len(), 7);
    assert_eq!(answers[0]["error"]["kind"], "input");
    assert_eq!(answers[0]["error"]["line"], 1);
    assert!(answers[1]["error"].is_object() && answers[2]["error"].is_object());
    assert_eq!(answers[3]["view"]["next"]["do"], "open");
    assert_eq!(answers[4]["error"]["kind"], "sheet");
    assert!(answers[5]["view"]["still_possible"]["suspects"].is_array());
    assert_eq!(answers[6]["tests"][0]["id"], "microfarads CRUN");
}
