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
    let mut replayed = serde_json::to_value(&replayed).expect("JSON");
    assert!(replayed["still_possible"]["suspects"].as_array().is_some_and(|s| s.len() > 8), "{replayed}");
    // All that the page shows of it.
    replayed["reasons"] = json!([]);
    replayed["still_possible"]["repairs"] = json!([]);
    if let Some(suspects) = replayed["still_possible"]["suspects"].as_array_mut() {
        suspects.truncate(8);
    }
    assert_eq!(replayed, view["view"]);
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

/// A job that is a practice, with a test made.
fn practised() -> Browser {
    let mut browser = Browser::opened();
    let first = browser.ask(json!({ "ask": "practice", "seed": 3 }));
    for reading in first["readings"].as_array().expect("readings") {
        browser.event("reading", reading.clone());
    }
    let said = browser.ask(json!({ "ask": "practice_read", "test": "shown T4 at rest" }));
    let said = browser.event("reading", json!({ "test": "shown T4 at rest", "as_typed": said["typed"] }));
    assert!(said["error"].is_null(), "{said}");
    browser
}

#[test]
fn a_practice_goes_on_after_a_reload_as_if_there_had_been_none() {
    let mut stayed = practised();
    let mut reloaded = Browser::default();
    let said = reloaded.ask(json!({ "ask": "go_on", "text": stayed.text(), "practice": 3 }));
    assert_eq!(said["left"], json!([]), "{said}");
    for test in ["shown T4 at rest", "microfarads CRUN", "look CRUN bulge"] {
        let ask = json!({ "ask": "practice_read", "test": test });
        assert_eq!(reloaded.ask(ask.clone()), stayed.ask(ask), "{test}");
    }
    assert_eq!(reloaded.ask(json!({ "ask": "debrief" })), stayed.ask(json!({ "ask": "debrief" })));
}

#[test]
fn a_practice_that_was_cut_off_at_its_beginning_says_what_is_left_to_enter() {
    let mut browser = Browser::opened();
    let first = browser.ask(json!({ "ask": "practice", "seed": 3 }));
    let readings = first["readings"].as_array().expect("readings").clone();
    browser.event("reading", readings[0].clone());
    let said = Browser::default().ask(json!({ "ask": "go_on", "text": browser.text(), "practice": 3 }));
    assert_eq!(said["left"], json!(readings[1..]), "{said}");
}

#[test]
fn a_practice_proves_what_was_repaired_and_nothing_else() {
    let mut browser = Browser::opened();
    browser.ask(json!({ "ask": "practice", "seed": 3 }));
    assert_eq!(browser.ask(json!({ "ask": "practice_prove" }))["passed"], false, "nothing was repaired yet");
    let mended = browser.ask(json!({ "ask": "practice_mend", "repair": "CRUN/replace" }));
    assert_eq!(browser.ask(json!({ "ask": "practice_prove" }))["passed"], mended["proved"]);
}

/// Found in use: with this seed the display showed −282 °C, which no journal takes.
#[test]
fn what_a_practice_shows_can_be_entered() {
    let mut browser = Browser::opened();
    browser.ask(json!({ "ask": "practice", "seed": 22 }));
    for test in ["shown T4 at rest", "shown T1 at rest"] {
        let said = browser.ask(json!({ "ask": "practice_read", "test": test }));
        let said = browser.event("reading", json!({ "test": test, "as_typed": said["typed"] }));
        assert!(said["error"].is_null(), "{test}: {said}");
    }
}

#[test]
fn thinking_ahead_changes_no_answer() {
    let mut plain = Browser::opened();
    let mut ahead = Browser::opened();
    for (test, read) in [("complaint", "message on the display"), ("display lit", "lit"), ("look CRUN bulge", "2")] {
        let mut part = 0;
        while ahead.ask(json!({ "ask": "think_ahead", "part": part }))["more"] == true {
            part += 1;
        }
        assert!(part > 0, "nothing was thought ahead");
        let with = json!({ "test": test, "as_typed": read });
        assert_eq!(plain.event("reading", with.clone()), ahead.event("reading", with));
    }
}

#[test]
fn every_drawing_of_a_job_stands_alone_and_comes_with_words() {
    let mut browser = Browser::opened();
    for (ask, flags) in [
        (json!({ "ask": "drawing", "of": "wiring", "test": "ohms COMP.C-COMP.R off" }), 2),
        (json!({ "ask": "drawing", "of": "wiring" }), 0),
        (json!({ "ask": "drawing", "of": "loop" }), 0),
        (json!({ "ask": "drawing", "of": "cycle" }), 0),
    ] {
        let said = browser.ask(ask.clone());
        let d = &said["drawing"];
        assert!(
            d["svg"].as_str().is_some_and(|s| s.starts_with("<svg xmlns") && s.contains("prefers-color-scheme")),
            "{ask}"
        );
        assert!(d["words"].as_str().is_some_and(|w| w.len() > 40), "{ask}: {}", d["words"]);
        assert!(d["width"].as_f64().is_some_and(|w| w >= 390.0) && d["height"].as_f64().is_some_and(|h| h > 200.0));
        assert_eq!(d["flags"].as_array().map(Vec::len), Some(flags), "{ask}");
    }
}

#[test]
fn values_are_shown_in_the_units_of_the_device_and_the_journal_stays() {
    let mut browser = Browser::opened();
    browser.event("reading", json!({ "test": "shown T4 at rest", "as_typed": "20 C" }));
    let us = json!({ "who": "Ada", "device": "browser-1", "now": "2026-03-02T09:14:00Z", "chance": 7, "units": "us" });
    let mut said: Value =
        serde_json::from_str(&browser.desk.answer(&json!({ "ask": "view", "hand": us }).to_string())).expect("JSON");
    while said["line"].is_string() {
        said = serde_json::from_str(&browser.desk.answer(r#"{"ask":"taken"}"#)).expect("JSON");
    }
    assert_eq!(said["view"]["readings"][0]["understood"], "68.0 °F");
    assert_eq!(said["view"]["readings"][0]["typed"], "20 C");
    let back = browser.ask(json!({ "ask": "view" }));
    assert_eq!(back["view"]["readings"][0]["understood"], "20.0 °C");
}

#[test]
fn an_opening_takes_conditions_as_typed() {
    let mut browser = Browser::default();
    browser.ask(json!({ "ask": "begin", "job": "j" }));
    let opened = |air: &str| {
        json!({ "ask": "event", "event": {
            "kind": "opened", "machine": "water-heater", "typed": { "ambient": air, "water": "" }, "with": { "complaint": "" },
        } })
    };
    let refused = browser.ask(opened("warm"));
    assert!(refused["error"]["do"].as_str().is_some_and(|d| d.contains("20 °C")), "{refused}");
    browser.ask(opened("12,5"));
    let line = browser.kept.iter().find(|l| l.contains("\"opened\"")).expect("opened");
    assert!(line.contains("\"ambient\":285.65"), "12.5 °C in kelvin: {}", &line[line.len().saturating_sub(600)..]);
}

#[test]
fn every_machine_has_a_look_round_of_ten() {
    let said = Browser::default().ask(json!({ "ask": "machines" }));
    for m in said["machines"].as_array().expect("machines") {
        let all = m["look_round"].as_array().expect("a look round");
        assert_eq!(all.len(), 10, "{}", m["name"]);
        let behind_a_cover = |r: &Value| r["test"].as_str().is_some_and(|t| t.starts_with("look CRUN"));
        assert!(!all.iter().any(behind_a_cover), "{}", m["name"]);
        assert!(m["complaints"].as_array().is_some_and(|c| c.len() > 1), "{}", m["name"]);
    }
}

#[test]
fn a_sheet_is_started_checked_and_opened() {
    let mut browser = Browser::default();
    let form = browser.ask(json!({ "ask": "form" }));
    assert!(form["kinds"][0]["questions"].as_array().is_some_and(|q| q.len() > 5), "{form}");
    let answers = json!({ "volts": "230 V", "hertz": "50" });
    let started =
        browser.ask(json!({ "ask": "start_sheet", "kind": "split", "name": "Yard unit", "answers": answers }));
    // What would help most to find out, and which test tells how it is built.
    let wanted = started["wanted"].as_array().expect("facts");
    assert!((1..=5).contains(&wanted.len()) && wanted[0]["meaning"].is_string(), "{wanted:?}");
    let unknown = started["unknown"].as_array().expect("questions");
    let valve = unknown.iter().find(|u| u["question"].as_str().is_some_and(|q| q.contains("reversing valve's coil")));
    assert!(valve.expect("asked")["told_by"][0]["test"].as_str().is_some_and(|t| t.starts_with("Volts")), "{valve:?}");
    let text = started["sheet"].as_str().expect("a sheet");
    let checked = browser.ask(json!({ "ask": "check_sheet", "text": text, "drawing": "wiring" }));
    assert_eq!(checked["checked"]["name"], "Yard unit", "{}", checked["checked"]["wrong"]);
    assert!(checked["checked"]["drawing"]["svg"].as_str().is_some_and(|s| s.contains("<svg")));
    let broken = text.replacen("class = \"", "class = \"no-such-", 1);
    let checked = browser.ask(json!({ "ask": "check_sheet", "text": broken, "drawing": "wiring" }));
    let wrong = &checked["checked"]["wrong"][0];
    let line = wrong["line"].as_u64().expect("a line") as usize;
    assert!(broken.lines().nth(line - 1).is_some_and(|l| l.contains("no-such-")), "{wrong}");
    // What is written as a sheet should be, and is no machine for all that.
    let unknown = text.replacen("R410A", "230 V", 1);
    let checked = browser.ask(json!({ "ask": "check_sheet", "text": unknown, "drawing": "wiring" }));
    let wrong = &checked["checked"]["wrong"][0];
    assert!(wrong["what"].as_str().is_some_and(|w| w.contains("no refrigerant 230 V")), "{checked}");
    let said = browser.ask(json!({ "ask": "machines", "own": [{ "id": "own-3", "text": unknown }] }));
    let mine: Vec<&Value> = said["machines"].as_array().expect("all").iter().filter(|m| m["own"] == true).collect();
    assert_eq!((mine.len(), &mine[0]["broken"]), (1, &json!(true)));
    let own = json!([{ "id": "own-1", "text": text }, { "id": "own-2", "text": broken }]);
    let said = browser.ask(json!({ "ask": "machines", "own": own }));
    let mine: Vec<&Value> = said["machines"].as_array().expect("all").iter().filter(|m| m["own"] == true).collect();
    assert_eq!((mine.len(), &mine[0]["name"], &mine[1]["broken"]), (2, &json!("Yard unit"), &json!(true)));
    browser.ask(json!({ "ask": "begin", "job": "j" }));
    let event = json!({ "kind": "opened", "machine": "own-1", "sheet_text": text, "with": { "complaint": "" } });
    let said = browser.ask(json!({ "ask": "event", "event": event }));
    assert_eq!(said["view"]["machine"]["name"], "Yard unit");
}

#[test]
fn a_reading_that_was_thought_of_gives_what_it_gives_without() {
    let mut browser = Browser::opened();
    browser.event("reading", json!({ "test": "complaint", "as_typed": "message on the display" }));
    let number = browser.ask(json!({ "ask": "tests", "words": "volts" }))["tests"][0]["id"].clone();
    let mut thinking = Browser::default();
    thinking.ask(json!({ "ask": "go_on", "text": browser.text() }));
    thinking.kept.clone_from(&browser.kept);
    for one in [&mut browser, &mut thinking] {
        one.event("safety_report", json!({ "kind": "live", "who": "Ada" }));
    }
    // What was typed on the way, and what cannot be read, is harmless.
    for reading in ["1 V", "12 V", "no number", "120 V"] {
        let said = thinking.ask(json!({ "ask": "suppose", "test": number, "reading": reading }));
        assert_eq!(said, json!({}), "{reading}");
    }
    let read = json!({ "test": number, "as_typed": "120 V" });
    let (with, without) = (thinking.event("reading", read.clone()), browser.event("reading", read));
    assert!(without["view"]["next"].is_object(), "{without}");
    assert_eq!(with, without);
    assert_eq!(thinking.text(), browser.text());
}

#[test]
fn a_job_that_was_drafted_is_as_if_it_had_not_been() {
    let mut plain = Browser::default();
    let mut drafting = Browser::default();
    let opened = json!({ "machine_age_years": 8.0, "complaint": "It hums and clicks." });
    let event = json!({ "kind": "opened", "machine": "water-heater", "with": opened });
    let complaint = |as_typed: &str| json!({ "test": "complaint", "as_typed": as_typed });
    // Another age and another complaint first, then those that it is opened with.
    let mut earlier = event.clone();
    earlier["with"]["machine_age_years"] = json!(3.0);
    for (event, readings) in [
        (&earlier, json!([complaint("no hot water")])),
        (&event, json!([complaint("no hot water")])),
        (&event, json!([complaint("message on the display")])),
    ] {
        let first = drafting.ask(json!({ "ask": "draft", "event": event, "readings": readings, "part": 0 }));
        assert_eq!(first, json!({ "more": true }));
        let second = drafting.ask(json!({ "ask": "draft", "event": event, "readings": readings, "part": 1 }));
        assert_eq!(second, json!({ "more": false }));
    }
    assert!(drafting.kept.is_empty(), "{:?}", drafting.kept);
    for browser in [&mut plain, &mut drafting] {
        browser.ask(json!({ "ask": "begin", "job": "2026-03-02-0914-kfm" }));
        browser.event("opened", opened.clone());
    }
    let read = complaint("message on the display");
    assert_eq!(plain.event("reading", read.clone()), drafting.event("reading", read));
    assert_eq!(plain.text(), drafting.text());
}
