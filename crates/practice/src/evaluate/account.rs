//! A visit of an evaluation told step by step, for whoever asks why it went as it did.

use std::fmt::{self, Write as _};

use halfsplit_diagnosis::{Action, Case, CaseError, Observed};
use halfsplit_machine::Machine;
use halfsplit_machine::test::{Answer, Test};
use halfsplit_plant::axis_of;

use super::bench::{Bench, JobResult};
use super::jobs::Part;
use crate::run::{Run, Step};

/// How much is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Telling {
    /// What was read and done.
    Steps,
    /// Also where a sound machine would have read, what was possible after each step, and, where the visit did not find the
    /// truth or left it there, what spoke for and against it.
    Odds,
}

/// A visit after which something is left to explain: a fault is still there, or a part was fitted that was not needed.
pub fn went_wrong(result: &JobResult) -> bool {
    result.own().unneeded > 0 || !result.own().cured
}

impl Bench {
    /// The visit (under every policy that made it), step by step: one paragraph each, minutes at the head of a line.
    ///
    /// # Errors
    /// If the visit cannot have been made to this machine.
    pub fn account(&mut self, result: &JobResult, telling: Telling) -> Result<String, CaseError> {
        let mut text = String::new();
        for (policy, run) in &result.runs {
            let case = match telling {
                Telling::Steps => None,
                Telling::Odds => Some(self.fresh(result.day, result.errand)),
            };
            // Nothing fails in writing to a string.
            let _ = head(&mut text, result, policy, run);
            match case {
                Some(case) => {
                    if result.part == Part::NotDescribed {
                        case.leave_out(&result.hidden);
                    }
                    let told = retold(&mut text, result, run, case);
                    case.leave_out(&[]);
                    told?;
                }
                None => {
                    for (step, minutes) in &run.steps {
                        let _ = line(&mut text, self.machine(), step, *minutes, None);
                    }
                }
            }
        }
        Ok(text)
    }
}

fn head(text: &mut String, r: &JobResult, policy: &str, run: &Run) -> fmt::Result {
    writeln!(
        text,
        "\n== {} {:?} {policy}: day {} seed {}: right at once {}, cured {}, quiet {}, {:.0} min, not described {:.2}",
        r.part.name(),
        r.hidden,
        r.day,
        r.seed,
        run.right_at_once(),
        run.cured,
        run.quiet,
        run.minutes,
        run.not_described
    )
}

/// The visit made once more with the readings that were taken.
fn retold(text: &mut String, r: &JobResult, run: &Run, case: &mut Case) -> Result<(), CaseError> {
    let plant = case.plant().clone();
    for (step, minutes) in &run.steps {
        let sound = match step {
            Step::Read(test, _) => case.expected_band(*test),
            _ => None,
        };
        match step {
            Step::Read(test, observed) => case.read(*test, *observed)?,
            Step::Mended { group, proved, .. } => {
                case.act(&Action::Mend(group.clone()))?;
                case.prove(*proved)?;
            }
            Step::Proved(right) => case.prove(*right)?,
            Step::Ended(..) | Step::GaveUp => {}
        }
        let _ = line(text, &plant.machine, step, *minutes, sound);
        let possible = case.still_possible();
        let suspects = possible.suspects.iter().take(7).map(|s| format!("{} {:.1}", s.id, s.probability * 100.0));
        let _ = writeln!(
            text,
            "              {} | nothing {:.1}, not described {:.1}",
            suspects.collect::<Vec<_>>().join(", "),
            possible.nothing_broken * 100.0,
            possible.not_described * 100.0
        );
    }
    if run.right_at_once() && run.cured {
        return Ok(());
    }
    const BITS: f64 = std::f64::consts::LN_2;
    for name in &r.hidden {
        let Some(standing) = case.reasons(name) else { continue };
        let voices = standing.readings.iter().filter(|v| v.weight.abs() > BITS).map(|v| {
            let test = plant.machine.tests.get(v.test).map_or("proof", |t| &t.id);
            format!("{test} {:+.1}", v.weight / BITS)
        });
        let voices = voices.collect::<Vec<_>>().join(", ");
        let _ = writeln!(text, "   {name}: {:+.1} bits before; {voices}", standing.before / BITS);
    }
    Ok(())
}

/// One step; of a reading also where a sound machine would have read (SI).
fn line(text: &mut String, machine: &Machine, step: &Step, minutes: f64, sound: Option<(f64, f64)>) -> fmt::Result {
    let Step::Read(test, observed) = step else {
        return writeln!(text, "   {minutes:5.1} {step:?}");
    };
    let test = &machine.tests[*test];
    let sound = sound.map_or(String::new(), |(low, high)| format!(" (sound: {low:.4e} to {high:.4e})"));
    writeln!(text, "   {minutes:5.1} {} -> {}{sound}", test.id, shown(test, *observed))
}

/// What was read: the word, or the number in SI.
fn shown(test: &Test, observed: Observed) -> String {
    match (observed, axis_of(test), &test.answer) {
        (Observed::Value(x), Some(axis), _) => format!("{:.4e}", axis.from(x)),
        (Observed::Category(word), _, Answer::Words(words)) => words[word].clone(),
        (other, ..) => format!("{other:?}"),
    }
}
