//! The same engine as native code: it says what the page should show, and answers for a machine with a hidden fault.

use halfsplit_web::Desk;
use serde_json::{Value, json};

use crate::Res;

/// What the browser's journal gives as native code.
///
/// # Errors
/// If native code would have advised something else than the browser wrote down.
pub fn view(journal: &str) -> Res<Value> {
    let said = ask(&mut Desk::default(), json!({ "ask": "go_on", "job": "", "text": journal }))?;
    if said["line"].is_string() {
        return Err(format!("native code advises something else than the browser did: {}", said["line"]).into());
    }
    Ok(said["view"].clone())
}

/// A machine with something wrong in it.
pub struct Hidden {
    desk: Desk,
}

impl Hidden {
    /// Hides what a seed draws.
    pub fn new(machine: &str, seed: u32) -> Res<Hidden> {
        let mut desk = Desk::default();
        ask(&mut desk, json!({ "ask": "begin", "job": "hidden" }))?;
        ask(&mut desk, json!({ "ask": "taken" }))?;
        let event = json!({ "kind": "opened", "machine": machine, "with": { "complaint": "" } });
        ask(&mut desk, json!({ "ask": "event", "event": event }))?;
        ask(&mut desk, json!({ "ask": "taken" }))?;
        ask(&mut desk, json!({ "ask": "practice", "seed": seed }))?;
        Ok(Hidden { desk })
    }

    /// What a test shows, as it would be typed.
    pub fn read(&mut self, test: &str) -> Res<String> {
        let said = ask(&mut self.desk, json!({ "ask": "practice_read", "test": test }))?;
        Ok(said["typed"].as_str().unwrap_or_default().to_owned())
    }

    /// Makes a repair, of one part or of several.
    pub fn mend(&mut self, repair: &str) -> Res<()> {
        for one in repair.split(" and ") {
            ask(&mut self.desk, json!({ "ask": "practice_mend", "repair": one }))?;
        }
        Ok(())
    }
}

fn ask(desk: &mut Desk, mut question: Value) -> Res<Value> {
    question["hand"] = json!({ "who": "twin", "device": "twin", "now": "2026-03-02T09:14:00Z", "chance": 7 });
    let said: Value = serde_json::from_str(&desk.answer(&question.to_string()))?;
    match said["error"]["what"].as_str() {
        Some(what) => Err(format!("the engine refuses {question}: {what}").into()),
        None => Ok(said),
    }
}
