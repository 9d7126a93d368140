//! The desk as the browser uses it, without a browser.

use halfsplit_web::Desk;
use halfsplit_workshop::{Job, journal::decode};
use serde_json::{Value, json};

/// A browser that keeps lines.
#[derive(Default)]
struct Browser {
    desk: Desk,
    kept: Vec<String>,
}

impl Browser {
    fn ask(&mut self, mut question: Value) -> Value {
        question["hand"] = json!({ "who": "Ada", "device": "browser-1", "now": "2026-03-02T09:14:00Z", "chance": 7 });
        let mut said: Value = serde_json::from_str(&self.desk.answer(&question.to_string())).expect("JSON");
        while let Some(line) = said["line"].as_str() {
            self.kept.push(line.to_owned());
            if question["ask"] == "begin" {
                return said;
            }
            said = serde_json::from_str(&self.desk.answer(r#"{"ask":"taken"}"#)).expect("JSON");
        }
        said
    }

    fn event(&mut self, kind: &str, with: Value) -> Value {
        self.ask(json!({ "ask": "event", "event": { "kind": kind, "machine": "water-heater", "with": with } }))
    }

    fn opened() -> Browser {
        let mut browser = Browser::default();
        browser.ask(json!({ "ask": "begin", "job": "2026-03-02-0914-kfm" }));
        browser.event("opened", json!({ "machine_age_years": 8.0, "complaint": "It hums and clicks." }));
        browser
    }

    fn text(&self) -> String {
        self.kept.iter().map(|line| format!("{line}\n")).collect()
    }
}

#[test]
fn what_is_kept_is_a_journal_that_gives_the_same_view() {
    let mut browser = Browser::opened();
    let view = browser.event("reading", json!({ "test": "complaint", "as_typed": "message on the display" }));
    assert_eq!(view["view"]["next"]["do"], "test");
    let decoded = decode(&browser.text());
    assert!(decoded.damage.is_empty(), "{:?}", decoded.damage);
    let journal = decoded.into_journal().expect("a header");
    let replayed = Job::replay(&journal).expect("opens").view();
    assert_eq!(serde_json::to_value(&replayed).expect("JSON"), view["view"]);
    let again = Browser::default().ask(json!({ "ask": "go_on", "text": browser.text() }));
    assert_eq!(again["view"], view["view"]);
}

#[test]
fn what_could_not_be_kept_did_not_happen() {
    let mut browser = Browser::opened();
    let before = browser.ask(json!({ "ask": "view" }));
    let event = json!({ "kind": "reading", "with": { "test": "complaint", "as_typed": "message on the display" } });
    let said: Value =
        serde_json::from_str(&browser.desk.answer(&json!({ "ask": "event", "event": event }).to_string()))
            .expect("JSON");
    assert!(said["line"].is_string());
    browser.desk.answer(r#"{"ask":"not_taken"}"#);
    assert_eq!(browser.ask(json!({ "ask": "view" })), before);
}

#[test]
fn a_refusal_says_what_and_what_to_do_and_keeps_nothing() {
    let mut browser = Browser::opened();
    let kept = browser.kept.len();
    let said = browser.event("reading", json!({ "test": "no such test", "as_typed": "1" }));
    assert!(said["error"]["what"].as_str().is_some_and(|w| w.contains("no such test")), "{said}");
    assert_eq!(browser.kept.len(), kept);
}

#[test]
fn a_practice_answers_and_is_debriefed() {
    let mut browser = Browser::opened();
    let first = browser.ask(json!({ "ask": "practice", "seed": 3 }));
    for reading in first["readings"].as_array().expect("readings") {
        let said = browser.event("reading", reading.clone());
        assert!(said["error"].is_null(), "{said}");
    }
    let said = browser.ask(json!({ "ask": "practice_read", "test": "microfarads CRUN" }));
    assert!(said["typed"].as_str().is_some_and(|t| !t.is_empty()), "{said}");
    let debrief = browser.ask(json!({ "ask": "debrief" }));
    assert!(debrief["debrief"]["program"]["minutes"].as_f64().is_some_and(|m| m > 0.0), "{debrief}");
    let machine = halfsplit_workshop::sheet_of(
        halfsplit_workshop::machine::examples::example("water-heater").expect("an example").text,
    )
    .expect("builds");
    for hidden in debrief["debrief"]["hidden"].as_array().expect("what was hidden") {
        let words = hidden.as_str().expect("words");
        assert!(machine.modes.iter().any(|m| words.starts_with(&m.name)), "a fault is named in words: {words}");
    }
}
