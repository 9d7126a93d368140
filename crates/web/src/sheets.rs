//! Machine sheets for the page: what can be chosen at an opening, the form that a sheet is started from, and checking one
//! while it is edited.

use std::collections::BTreeMap;

use halfsplit_practice::Plant;
use halfsplit_workshop::machine::sheet::{Serves, SheetError};
use halfsplit_workshop::machine::starter::{Form, KINDS, questions, start};
use halfsplit_workshop::machine::test::{Answer, Measure, PowerState, Test, Tool};
use halfsplit_workshop::machine::{self, Machine};
use halfsplit_workshop::{JobError, What, sheet_of, told_by, worth_finding_out};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::desk::trouble;
use crate::drawings;

/// Observations offered in one look round the machine.
const LOOK_ROUND: usize = 10;

/// A sheet that somebody made on this device.
#[derive(Deserialize)]
pub struct Own {
    id: String,
    text: String,
}

/// The machines with what can be chosen at the opening: those that come with the program, then those of this device.
pub fn machines(own: &[Own]) -> Value {
    let all: Vec<Value> = machine::examples::EXAMPLES
        .iter()
        .map(|e| (e.name, e.text, false))
        .chain(own.iter().map(|o| (o.id.as_str(), o.text.as_str(), true)))
        .filter_map(|(id, text, own)| {
            // Those that come with the program are computed by its tests.
            let computed = sheet_of(text).ok().filter(|m| !own || Plant::new(m.clone()).is_ok());
            let mut card = match computed {
                Some(m) => card(&m),
                // A sheet that this version cannot compute can still be corrected.
                None if own => json!({ "name": id, "kind": "cannot be computed: see the sheet", "broken": true }),
                None => return None,
            };
            (card["id"], card["own"]) = (json!(id), json!(own));
            Some(card)
        })
        .collect();
    json!({ "machines": all, "tools": Tool::ALL.map(Tool::name) })
}

/// What is asked when a job on this machine is opened.
fn card(m: &Machine) -> Value {
    let words = |id: &str| m.tests.iter().find(|t| t.id == id).and_then(words_of);
    let about = &m.sheet.machine;
    let air = about.serves == Serves::RoomAir;
    let mut conditions = vec![json!({ "key": "ambient", "ask": if air { "Air indoors" } else { "Air around it" } })];
    if air {
        conditions.push(json!({ "key": "outdoor", "ask": "Air outdoors" }));
    }
    if about.serves == Serves::HotWater {
        conditions.push(json!({ "key": "water", "ask": "Hot water at the tap" }));
    }
    json!({
        "name": about.name, "kind": about.kind,
        "complaints": words("complaint"), "display": words("display lit"), "messages": words("display message"),
        "conditions": conditions, "look_round": look_round(m),
    })
}

fn words_of(t: &Test) -> Option<Vec<String>> {
    match &t.answer {
        Answer::Words(words) => Some(words.clone()),
        Answer::Number(_) => None,
    }
}

/// What can be seen, heard and felt before any cover is off and any tool out, the quickest first; after that what the
/// sheet offers no test for: it is noted, and nothing is computed from it.
fn look_round(m: &Machine) -> Vec<Value> {
    let nothing_to_open = |t: &Test| m.way_to(t.place).iter().all(|p| m.places[p.0].minutes == 0.0);
    let mut seen: Vec<(&Test, Vec<String>)> = m
        .tests
        .iter()
        .filter(|t| t.tool.is_none() && t.command.is_none() && t.power == PowerState::Any && nothing_to_open(t))
        .filter(|t| !matches!(t.measure, Measure::Complaint | Measure::ShownCode))
        .filter_map(|t| Some((t, words_of(t)?)))
        .collect();
    seen.sort_by(|a, b| a.0.minutes.total_cmp(&b.0.minutes).then_with(|| a.0.id.cmp(&b.0.id)));
    seen.truncate(LOOK_ROUND - 3);
    let to_note = NOTICED.iter().take(LOOK_ROUND - seen.len()).map(|n| json!({ "note": n }));
    let tests: Vec<Value> =
        seen.iter().map(|(t, words)| json!({ "test": t.id, "title": t.title, "words": words })).collect();
    tests.into_iter().chain(to_note).collect()
}

/// What a look round may show on any machine. Common practice, no source.
const NOTICED: [&str; 10] = [
    "smells burnt",
    "oil at a joint of the pipes",
    "water where none should be",
    "ice or frost",
    "a noise that does not belong",
    "signs of earlier work",
    "wires or plugs discoloured",
    "dirt on a coil or filter",
    "air cannot get in or out",
    "breaker found tripped",
];

/// The text of a sheet that comes with the program.
pub fn example(name: &str) -> Result<&'static str, JobError> {
    let example = machine::examples::example(name);
    example.map(|e| e.text).ok_or_else(|| trouble(format!("there is no machine \"{name}\""), "choose one of the list"))
}

/// Checks a sheet and draws it. A sheet that cannot be computed is no failure: `wrong` says why, and on which lines.
pub fn check(text: &str, drawing: &str) -> Value {
    let place =
        |e: &SheetError| json!({ "line": e.span.map(|s| s.line), "excerpt": e.excerpt, "what": e.what, "do": e.hint });
    match Machine::build(text) {
        Ok(m) => {
            if let Err(e) = Plant::new(m.clone()) {
                return json!({ "wrong": [{ "what": e.message, "do": "Correct the ratings." }] });
            }
            json!({
                "name": m.sheet.machine.name, "kind": m.sheet.machine.kind,
                "parts": m.parts.len(), "tests": m.tests.len(), "faults": m.modes.len(),
                "odd": m.findings.iter().map(|f| place(&f.at)).collect::<Vec<_>>(),
                "drawing": drawings::of_machine(&m, drawing),
            })
        }
        Err(e) => json!({ "wrong": e.0.iter().map(place).collect::<Vec<_>>() }),
    }
}

/// The kinds that a sheet can be started for, with their questions.
pub fn form() -> Value {
    let kinds = KINDS.iter().map(|k| {
        let asked: Vec<Value> = questions(k).iter().map(|q| json!(q)).collect();
        json!({ "key": k.key, "name": k.name, "questions": asked })
    });
    json!({ "kinds": kinds.collect::<Vec<_>>() })
}

/// A sheet made from what could be read of a machine.
pub fn started(kind: String, name: String, answers: BTreeMap<String, String>) -> Result<Value, JobError> {
    let started = start(&Form { kind, name, answers }).map_err(|e| JobError {
        kind: What::Sheet,
        what: format!("{}: {}", e.key, e.what),
        hint: e.hint,
    })?;
    let wrong = |what: String| JobError { kind: What::Sheet, what, hint: "correct the answers".to_owned() };
    let mut unknown = Vec::new();
    for a in &started.alternatives {
        let told = a.others.iter().zip(told_by(&started, a).map_err(wrong)?);
        let told: Vec<Value> = told
            .filter_map(|(other, t)| {
                let t = t?;
                Some(json!({ "from": other.answer, "test": t.title, "minutes": t.minutes }))
            })
            .collect();
        unknown.push(json!({
            "question": a.question, "taken": a.taken, "matters": a.matters, "weighed": a.carried.is_some(), "told_by": told,
        }));
    }
    let wanted = worth_finding_out(&started.sheet).map_err(wrong)?;
    let wanted: Vec<Value> =
        wanted.iter().map(|w| json!({ "part": w.part, "key": w.key, "meaning": w.meaning })).collect();
    Ok(
        json!({ "sheet": started.sheet, "notes": started.notes, "assumed": started.assumed.len(), "unknown": unknown, "wanted": wanted }),
    )
}
