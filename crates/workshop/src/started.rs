//! What a sheet that was started from a nameplate leaves open, and what would close it soonest.

use halfsplit_diagnosis::{Telling, Wanted, most_wanted, telling, telling_ways};
use halfsplit_machine::starter::{Alternative, Started};

/// Facts asked for at most: more than a hand full nobody looks up.
const FACTS: usize = 5;

/// The facts about the machine that would help the diagnosis most, the most helpful first: at most five.
///
/// # Errors
/// If the sheet cannot be computed.
pub fn worth_finding_out(sheet: &str) -> Result<Vec<Wanted>, String> {
    let mut wanted = most_wanted(sheet)?;
    wanted.truncate(FACTS);
    Ok(wanted)
}

/// For each other way of a question about the machine's structure, the test that tells it from the way that the sheet takes; `None`
/// where no test does.
///
/// # Errors
/// If one of the sheets cannot be computed.
pub fn told_by(started: &Started, question: &Alternative) -> Result<Vec<Option<Telling>>, String> {
    let others = question.others.iter().enumerate();
    others
        .map(|(at, other)| match &question.carried {
            Some(id) => telling_ways(&started.sheet, id, at + 1),
            None => telling(&started.sheet, &other.sheet),
        })
        .collect()
}
