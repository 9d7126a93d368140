//! A job over JSON lines: one object in, one object out. `docs/json-lines.md` describes it.

use std::io::BufRead;

use halfsplit_workshop::journal::{EventId, Kind};
use halfsplit_workshop::units::Preferences;
use halfsplit_workshop::{JobError, What};
use serde::Deserialize;
use serde_json::{Value, json};

use super::opening;
use super::session::Session;
use crate::failure::Failure;
use crate::screen::print;

/// Something asked that changes nothing, or a shorthand.
#[derive(Deserialize)]
#[serde(tag = "ask", rename_all = "snake_case", deny_unknown_fields)]
enum Ask {
    View,
    Tests {
        #[serde(default)]
        words: String,
    },
    Test {
        test: String,
    },
    Why {
        suspect: String,
    },
    Suppose {
        test: String,
        reading: String,
    },
    CheckReading {
        test: String,
        reading: String,
    },
    Undo,
}

/// Reads lines until the input ends. An error answers its own line; the job goes on.
pub fn run(input: &mut dyn BufRead, mut session: Session, damage: &[String], sheet: &str, units: Preferences) -> Result<(), Failure> {
    if !damage.is_empty() {
        out(&json!({ "damage": damage }))?;
    }
    if !session.job().journal().events.is_empty() {
        let view = session.view()?;
        out(&json!({ "view": view }))?;
    }
    let mut bytes = Vec::new();
    let mut number = 0;
    loop {
        bytes.clear();
        let read = input
            .read_until(b'\n', &mut bytes)
            .map_err(|e| Failure::File(format!("cannot read the input: {e}\n  the job is kept")))?;
        if read == 0 {
            return Ok(());
        }
        number += 1;
        if bytes.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        let answer = match line(&mut session, &bytes, sheet, units) {
            Ok(answer) => answer,
            Err(Trouble::Job(e)) => error(number, &e),
            Err(Trouble::Input(what, hint)) => {
                json!({ "error": { "kind": "input", "line": number, "what": what, "do": hint } })
            }
            Err(Trouble::Fatal(e)) => return Err(e),
        };
        out(&answer)?;
    }
}

enum Trouble {
    Job(JobError),
    Input(String, &'static str),
    Fatal(Failure),
}

impl From<JobError> for Trouble {
    fn from(e: JobError) -> Trouble {
        Trouble::Job(e)
    }
}

impl From<Failure> for Trouble {
    fn from(e: Failure) -> Trouble {
        Trouble::Fatal(e)
    }
}

fn error(line: usize, e: &JobError) -> Value {
    json!({ "error": { "kind": e.kind, "line": line, "what": e.what, "do": e.hint } })
}

fn out(value: &Value) -> Result<(), Failure> {
    print(&format!("{value}\n"))
}

fn line(session: &mut Session, bytes: &[u8], sheet: &str, units: Preferences) -> Result<Value, Trouble> {
    const SHAPE: &str = "send one JSON object a line, with \"kind\" and \"with\" for an event or \"ask\" for a question; docs/json-lines.md shows them";
    let mut value: Value = serde_json::from_slice(bytes)
        .map_err(|e| Trouble::Input(format!("this line is no JSON: {e}"), SHAPE))?;
    if value.get("ask").is_some() {
        let ask = serde_json::from_value(value).map_err(|e| Trouble::Input(format!("no such question: {e}"), SHAPE))?;
        return answer(session, ask);
    }
    if value["kind"] == "opened" {
        complete_opening(&mut value, sheet, units);
    }
    let kind: Kind =
        serde_json::from_value(value).map_err(|e| Trouble::Input(format!("this is no event: {e}"), SHAPE))?;
    record(session, kind)
}

/// What a program may leave out of an opening: sheet, hash, engine, units.
fn complete_opening(value: &mut Value, sheet: &str, units: Preferences) {
    let given = value["with"].as_object().cloned().unwrap_or_default();
    let text = given.get("sheet_text").and_then(Value::as_str).unwrap_or(sheet);
    let mut with = serde_json::to_value(opening::blank(text, units)).unwrap_or_default();
    for (key, v) in given {
        with[key] = v;
    }
    value["with"] = with;
}

fn record(session: &mut Session, kind: Kind) -> Result<Value, Trouble> {
    // Refusals answer the line; a journal that cannot be written ends the job.
    session.job().check(&kind)?;
    session.record(kind)?;
    let view = session.view()?;
    Ok(json!({ "view": view }))
}

fn answer(session: &mut Session, ask: Ask) -> Result<Value, Trouble> {
    Ok(match ask {
        Ask::View => json!({ "view": session.view()? }),
        Ask::Tests { words } => json!({ "tests": session.job().find(&words) }),
        Ask::Test { test } => json!({ "test": session.job().about(&test)? }),
        Ask::Why { suspect } => json!({ "why": session.job().why(&suspect)? }),
        Ask::Suppose { test, reading } => json!({ "suppose": session.job().suppose(&test, &reading)? }),
        Ask::CheckReading { test, reading } => json!({ "ask_back": session.job().ask_back(&test, &reading)? }),
        Ask::Undo => {
            let event: EventId = session.job().latest().map(|e| e.id.clone()).ok_or_else(|| {
                Trouble::Job(JobError { kind: What::NoSuchName, what: "there is nothing to take back".into(), hint: String::new() })
            })?;
            record(session, Kind::Undone { event })?
        }
    })
}
