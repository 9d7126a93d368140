//! What somebody types at the prompt or in a case: a reading, or one of a few words.

use halfsplit_workshop::journal::{Ending, SafetyKind, SkipReason};

/// A line as it is meant.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// Nothing.
    Blank,
    /// A reading of the test that is on the table.
    Reading(String),
    /// A reading of a test by its id: `microfarads CRUN = 2.1 uF`.
    For(String, String),
    /// The test on the table is not made.
    Skip(SkipReason),
    /// Another test, searched by words.
    Other(String),
    /// Back to the proposed test.
    Back,
    /// The latest event is taken back.
    Undo,
    /// Why a suspect stands where it stands.
    Why(String),
    /// What a reading would leave.
    Suppose(String),
    /// Everything so far.
    List,
    /// A report about the power.
    Report(SafetyKind),
    /// Something was repaired; empty for the repair that is proposed.
    Did(String),
    /// What had tripped was reset.
    Reset,
    /// Power was switched off and on.
    PowerCycled,
    /// The machine was run to prove the repair.
    Proved(bool, String),
    /// Something noticed.
    Note(String),
    /// Minutes left of the visit.
    Left(String),
    /// The job is closed.
    End(Option<Ending>, String),
    /// What can be typed.
    Help,
    /// Out; the job is kept.
    Quit,
}

/// The words for why a test is not made.
pub const SKIP_WORDS: &str = "no tool, can't reach, unsafe, not fitted, can't find";

/// The words for how a job ends.
pub const END_WORDS: &str = "repaired, nothing broken, cannot tell, made safe, stopgap, declined";

/// Understands a line.
///
/// # Errors
/// What is wrong with it and what to type.
pub fn understand(line: &str) -> Result<Line, String> {
    let line = line.trim();
    if line.is_empty() {
        return Ok(Line::Blank);
    }
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let alone = |l: Line| if rest.is_empty() { Some(l) } else { None };
    let word = match first.to_lowercase().as_str() {
        "skip" => return skip(rest).map(Line::Skip),
        "other" => Some(Line::Other(rest.to_owned())),
        "back" => alone(Line::Back),
        "undo" => alone(Line::Undo),
        "why" => Some(Line::Why(rest.to_owned())),
        "suppose" => {
            return if rest.is_empty() {
                Err("suppose what? Type a reading behind it: suppose 2.1 uF".into())
            } else {
                Ok(Line::Suppose(rest.to_owned()))
            };
        }
        "list" => alone(Line::List),
        "report" => return report(rest).map(Line::Report),
        "did" => Some(Line::Did(rest.to_owned())),
        "reset" => alone(Line::Reset),
        "cycled" => alone(Line::PowerCycled),
        "proved" => Some(Line::Proved(true, rest.to_owned())),
        "unproved" => Some(Line::Proved(false, rest.to_owned())),
        "note" => {
            return if rest.is_empty() {
                Err("note what? Type it behind the word: note oil on the return bend".into())
            } else {
                Ok(Line::Note(rest.to_owned()))
            };
        }
        "left" => Some(Line::Left(rest.to_owned())),
        "end" => return end(rest),
        "help" | "?" => Some(Line::Help),
        "quit" => alone(Line::Quit),
        _ => None,
    };
    if let Some(word) = word {
        return Ok(word);
    }
    // A test's id never holds an equals sign with blanks around it.
    if let Some((test, typed)) = line.split_once(" = ") {
        return Ok(Line::For(test.trim().to_owned(), typed.trim().to_owned()));
    }
    Ok(Line::Reading(line.to_owned()))
}

fn skip(why: &str) -> Result<SkipReason, String> {
    Ok(match why.to_lowercase().replace('’', "'").as_str() {
        "no tool" => SkipReason::NoTool,
        "can't reach" | "cannot reach" => SkipReason::CannotReach,
        "unsafe" => SkipReason::Unsafe,
        "not fitted" => SkipReason::NotFitted,
        "can't find" | "cannot find" | "can't find it" => SkipReason::CannotFind,
        "" => return Err(format!("skip for what reason? {SKIP_WORDS}, or in your own words")),
        _ => SkipReason::Other(why.to_owned()),
    })
}

fn report(what: &str) -> Result<SafetyKind, String> {
    Ok(match what.to_lowercase().as_str() {
        "isolated" => SafetyKind::Isolated,
        "dead" | "proved dead" => SafetyKind::ProvedDead,
        "discharged" => SafetyKind::Discharged,
        "live" => SafetyKind::PowerRestored,
        _ => return Err("report what? isolated, discharged, dead, or live".into()),
    })
}

/// How an ending is typed.
pub fn ending_words(e: Ending) -> &'static str {
    match e {
        Ending::Repaired => "repaired",
        Ending::NothingBroken => "nothing broken",
        Ending::CannotTell => "cannot tell",
        Ending::MadeSafe => "made safe",
        Ending::Stopgap => "stopgap",
        Ending::Declined => "declined",
    }
}

fn end(how: &str) -> Result<Line, String> {
    const ALL: [Ending; 6] = [
        Ending::Repaired,
        Ending::NothingBroken,
        Ending::CannotTell,
        Ending::MadeSafe,
        Ending::Stopgap,
        Ending::Declined,
    ];
    if how.is_empty() {
        return Ok(Line::End(None, String::new()));
    }
    let lower = how.to_lowercase();
    for e in ALL {
        if let Some(note) = lower.strip_prefix(ending_words(e)) {
            if note.is_empty() || note.starts_with([' ', ':', ',']) {
                let note = how.get(how.len() - note.len()..).unwrap_or_default();
                return Ok(Line::End(Some(e), note.trim_matches([' ', ':', ',']).to_owned()));
            }
        }
    }
    Err(format!("end how? {END_WORDS}; a note may follow"))
}

/// What can be typed, for `help`.
pub const HELP: &str = "\
Type the reading of the test that is on the table, with its unit:
  2.1 uF    OL    >20 MOhm    118..122 V    hums 7 s then silent
or its number where words are listed. Or one of these:

  skip WHY              the test is not made: no tool, can't reach, unsafe,
                        not fitted, can't find, or your own words
  other WORDS           another test, searched: other capacitor
  TEST = READING        a reading of any test by its id
  back                  leave the other test, return to the proposed one
  why [A]               why a suspect stands where it stands
  suppose READING       what a reading would leave
  report WHAT           isolated, discharged, dead (proved), live (power back on)
  did [REPAIR]          the proposed repair was made, or another: did K3/replace
  reset                 what had tripped was reset (cut-off, breaker)
  cycled                power was switched off and on: stored messages are gone
  proved / unproved     the proving run showed it right, or not
  left 15 min           minutes left of the visit
  note WORDS            anything noticed
  list                  everything so far
  undo                  takes back the last thing entered
  end HOW               repaired, nothing broken, cannot tell, made safe,
                        stopgap, declined; a note may follow
  quit                  out; the job is kept
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_told_from_words() {
        assert_eq!(understand("2.1 uF"), Ok(Line::Reading("2.1 uF".into())));
        assert_eq!(understand("no response"), Ok(Line::Reading("no response".into())));
        assert_eq!(understand("microfarads CRUN = 2.1 uF"), Ok(Line::For("microfarads CRUN".into(), "2.1 uF".into())));
        assert_eq!(understand("skip can't reach"), Ok(Line::Skip(SkipReason::CannotReach)));
        assert_eq!(understand("skip wasps in there"), Ok(Line::Skip(SkipReason::Other("wasps in there".into()))));
        assert_eq!(understand("report dead"), Ok(Line::Report(SafetyKind::ProvedDead)));
        assert_eq!(
            understand("end made safe: leak under the stove"),
            Ok(Line::End(Some(Ending::MadeSafe), "leak under the stove".into()))
        );
        assert!(understand("end of the line").is_err());
        assert!(understand("report something").unwrap_err().contains("discharged"));
    }
}
