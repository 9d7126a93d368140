//! Practice: the hidden machine that answers in place of a real one. The job beside it is like any other.

use std::rc::Rc;

use halfsplit_practice::{Conditions, Errand, Hide, Judgement, OPENING, Opening, Plant, Practice, Step, Tool};
use halfsplit_workshop::journal::Kind;
use halfsplit_workshop::{Job, JobError, sheet_of};
use serde_json::{Value, json};

use crate::desk::trouble;

pub struct Drill {
    practice: Practice,
    plant: Rc<Plant>,
    /// Whether the machine was right after the last repair.
    right: bool,
}

impl Drill {
    /// Hides a fault in the machine of a job that has been opened, and gives what every visit begins with.
    pub fn begin(job: &Job, seed: u64) -> Result<(Drill, Vec<Value>), JobError> {
        let opened = job.journal().events.iter().find_map(|e| match &e.kind {
            Kind::Opened(o) => Some(o),
            _ => None,
        });
        let opened = opened.ok_or_else(|| trouble("this job has not been opened", "open it first"))?;
        let plant =
            Plant::new(sheet_of(&opened.sheet_text)?).map_err(|e| trouble(e.message, "choose another machine"))?;
        let plant = Rc::new(plant);
        let mut conditions = Conditions::default();
        if let Some(years) = opened.machine_age_years {
            conditions.age_years = years;
        }
        let opening =
            Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
        let practice =
            Practice::begin(&plant, opening, &Hide::ByPrior, seed).map_err(|e| trouble(e.to_string(), ""))?;
        let drill = Drill { practice, plant, right: false };
        let first = drill.practice.steps().iter().zip(OPENING).filter_map(|((step, _), id)| match step {
            Step::Read(_, observed) => {
                job.as_read(id, observed).ok().map(|typed| json!({ "test": id, "as_typed": typed }))
            }
            _ => None,
        });
        let first = first.collect();
        Ok((drill, first))
    }

    /// Goes on with a practice whose job is kept: hides the same again, and does again what the job tells of. Gives the
    /// readings of the beginning that the job does not have yet.
    pub fn resume(job: &Job, seed: u64) -> Result<(Drill, Vec<Value>), JobError> {
        let (mut drill, mut first) = Drill::begin(job, seed)?;
        for event in &job.journal().events {
            match &event.kind {
                Kind::Reading(r) => match first.iter().position(|f| f["test"] == r.test.as_str()) {
                    Some(of_beginning) => {
                        first.remove(of_beginning);
                    }
                    None => {
                        drill.read(job, &r.test)?;
                    }
                },
                Kind::Repaired(r) => {
                    drill.mend(&format!("{}/{}", r.part, r.what))?;
                }
                _ => {}
            }
        }
        Ok((drill, first))
    }

    /// What a test shows, as it would be typed.
    pub fn read(&mut self, job: &Job, test: &str) -> Result<String, JobError> {
        let index = self.practice.case().test(test).map_err(|e| trouble(e.to_string(), "choose another test"))?;
        let (observed, _) = self.practice.ask(index).map_err(|e| trouble(e.to_string(), "choose another test"))?;
        job.as_read(test, &observed)
    }

    /// Makes a repair; whether the machine was right afterwards.
    pub fn mend(&mut self, repair: &str) -> Result<bool, JobError> {
        let mended = self.practice.mend(repair).map_err(|e| trouble(e.to_string(), "choose another repair"))?;
        self.right = mended.proved;
        Ok(self.right)
    }

    /// Whether it runs as it should after the repairs that were made.
    pub fn right(&self) -> bool {
        self.right
    }

    /// What was hidden, and both visits in minutes.
    pub fn end(self) -> Result<Value, JobError> {
        let debrief = self.practice.end().map_err(|e| trouble(e.to_string(), ""))?;
        let machine = &self.plant.machine;
        let steps = |steps: &[(Step, f64)]| -> Vec<Value> {
            steps
                .iter()
                .map(|(step, minutes)| {
                    let what = match step {
                        Step::Read(test, _) => machine.tests[*test].title.clone(),
                        Step::Mended { group, right, .. } => {
                            let mode = machine.modes.iter().find(|m| m.repair_group == *group);
                            let what = mode.map_or_else(
                                || group.clone(),
                                |m| {
                                    format!(
                                        "{} {}: {}",
                                        machine.parts[m.part.0].name, machine.parts[m.part.0].id, m.repair.what
                                    )
                                },
                            );
                            format!("{what} ({})", if *right { "needed" } else { "not needed" })
                        }
                        Step::Proved(right) => {
                            format!("proved once more: {}", if *right { "passed" } else { "not passed" })
                        }
                        Step::Ended(..) => "the end".to_owned(),
                        Step::GaveUp => "given up".to_owned(),
                    };
                    json!({ "what": what, "minutes": minutes })
                })
                .collect()
        };
        let hidden: Vec<String> = debrief
            .hidden
            .iter()
            .map(|m| {
                let mode = &machine.modes[m.0];
                if mode.level.is_empty() { mode.name.clone() } else { format!("{} ({})", mode.name, mode.level) }
            })
            .collect();
        Ok(json!({
            "hidden": hidden,
            "yours": { "minutes": debrief.yours.minutes, "cured": debrief.yours.cured, "steps": steps(&debrief.yours.steps) },
            "program": { "minutes": debrief.program.minutes, "cured": debrief.program.cured, "steps": steps(&debrief.program.steps) },
        }))
    }
}
