//! The same engine as native code: it says what the page should show, and answers for a machine with a hidden fault.

use halfsplit_web::Desk;
use halfsplit_workshop::Job;
use halfsplit_workshop::journal::{Journal, decode};
use halfsplit_workshop::units::Preferences;
use serde_json::{Value, json};

use crate::Res;

/// What the browser's journal gives as native code. It takes in what has been added since it was last asked, as the
/// page does; what a journal gives from its beginning is asked of [`afresh`].
#[derive(Default)]
pub struct Twin {
    job: Option<Job>,
}

impl Twin {
    /// The view at the end of a journal.
    ///
    /// # Errors
    /// If native code would have advised something else than the browser wrote down.
    pub fn view(&mut self, journal: &str) -> Res<Value> {
        let decoded = decode(journal);
        if !decoded.damage.is_empty() {
            return Err(format!("the browser's journal is damaged: {:?}", decoded.damage).into());
        }
        let whole = decoded.into_journal().ok_or("the browser's journal has no header")?;
        match &mut self.job {
            Some(job) if begins(&whole, job.journal()) => {
                let known = job.journal().events.len();
                for event in &whole.events[known..] {
                    job.take_in(event.clone())?;
                }
            }
            other => *other = Some(Job::replay(&whole)?),
        }
        let job = self.job()?;
        job.show_in(Some(Preferences::default()));
        let view = job.view();
        match job.advised(&view) {
            Some(other) => Err(format!("native code advises something else than the browser did: {other:?}").into()),
            None => Ok(serde_json::to_value(view)?),
        }
    }

    /// The first test that is found by words: its id and its title.
    pub fn find(&mut self, words: &str) -> Res<(String, String)> {
        let found = self.job()?.find(words).into_iter().next();
        let found = found.ok_or_else(|| format!("no test is found by \"{words}\""))?;
        Ok((found.id, found.title))
    }

    /// A test as it would be shown now.
    pub fn about(&mut self, test: &str) -> Res<Value> {
        Ok(serde_json::to_value(self.job()?.about(test)?)?)
    }

    fn job(&mut self) -> Res<&mut Job> {
        self.job.as_mut().ok_or_else(|| "native code has no job yet".into())
    }
}

/// Whether a journal goes on where another ends.
fn begins(whole: &Journal, known: &Journal) -> bool {
    whole.header == known.header && whole.events.starts_with(&known.events)
}

/// What a journal gives from its first line on.
///
/// # Errors
/// As [`Twin::view`].
pub fn afresh(journal: &str) -> Res<Value> {
    Twin::default().view(journal)
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
