//! What goes into a visit and what is told of it, as data.

use std::fmt;

use halfsplit_inference::ObservationError;
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Nature, PlaceIx};

use crate::judgement::Judgement;

/// What a visit is made for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Errand {
    /// Somebody called. Maybe nothing is broken, and what nobody notices may wait.
    #[default]
    Call,
    /// It is known that something is wrong, whether anybody notices or not, and it has to be found: an inspection, a claim
    /// under warranty, a second visit, a fault hidden to train on.
    FindIt,
}

/// What is known when the visit begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// What it is made for.
    pub errand: Errand,
    /// Conditions of the day, the machine's age with them.
    pub conditions: Conditions,
    /// Tools at hand.
    pub tools: Vec<Tool>,
    /// Tunable numbers.
    pub judgement: Judgement,
}

/// Something done that changes the machine from now on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Action {
    /// A repair was made: the group as named in [`Do::Repair`].
    Mend(String),
    /// Everything that had tripped was reset and stored messages cleared.
    Reset,
}

/// What stands between a visit and its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// What was wrong has been put right, as it seems. Where no proving run has passed since, or the last one did not, a proving run
    /// comes first: whoever is told this asks for it.
    Repaired,
    /// Nothing is broken.
    NothingBroken,
    /// What is left is best dealt with another way: nothing on offer is worth its minutes, or a machine that shows nothing wrong has failed
    /// twice in turn.
    CannotTell,
}

/// A suspect, in trade words.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Stable id, for example `CRUN:weak`.
    pub id: String,
    /// What to call it.
    pub name: String,
    /// Probability that it is present, alone or with another, 0 to 1.
    pub probability: f64,
    /// The likeliest degree, if it has degrees.
    pub level: &'static str,
    /// What brings it about.
    pub cause: &'static str,
    /// What to look for upstream.
    pub upstream: &'static str,
    /// What puts it right.
    pub repair: &'static str,
    /// Repair group, for [`Action::Mend`].
    pub repair_group: String,
    /// What shows afterwards that it is right.
    pub proof: &'static str,
    /// It comes and goes.
    pub intermittent: bool,
    /// Whether it is a failure at all. What is none has its share in [`Possible::nothing_broken`].
    pub nature: Nature,
}

/// What is still possible.
#[derive(Debug, Clone, PartialEq)]
pub struct Possible {
    /// Suspects, most probable first, down to one in a thousand.
    pub suspects: Vec<Suspect>,
    /// Probability that nothing is broken (any more).
    pub nothing_broken: f64,
    /// Probability of something that no mode describes.
    pub not_described: f64,
    /// The name of the described fault that it shows much like, if there is one.
    pub not_described_like: Option<String>,
    /// Upper bound on the probability of pairs of faults not worked out.
    pub not_worked_out: f64,
    /// Probability of each repair group being what is needed now.
    pub repairs: Vec<(String, f64)>,
    /// How the machine is built, question by question of those that its sheet leaves open.
    pub how_built: Vec<HowBuilt>,
}

/// A question of how the machine is built.
#[derive(Debug, Clone, PartialEq)]
pub struct HowBuilt {
    /// Its id in the sheet.
    pub id: String,
    /// The question.
    pub question: String,
    /// The ways, in the order of the sheet, with the probability of each (0 to 1; they add up to one).
    pub ways: Vec<(String, f64)>,
}

/// What one outcome of a test would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaving {
    /// The outcome: a range on the test's axis turned back into SI, a word, or beyond the meter.
    pub shown: Shown,
    /// Its probability.
    pub probability: f64,
    /// What would be left then, most probable first: name id and probability.
    pub left: Vec<(String, f64)>,
    /// Probability that nothing is broken then, or any more.
    pub nothing_broken: f64,
    /// Probability of something not described then.
    pub not_described: f64,
}

/// An outcome in SI or words.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// From, to; open ends are `None`.
    Range(Option<f64>, Option<f64>),
    /// OL.
    Over,
    /// Below what the instrument shows.
    Under,
    /// A word.
    Word(String),
}

/// A wait before a second look.
#[derive(Debug, Clone, PartialEq)]
pub struct WaitAdvice {
    /// Minutes, within those of the test.
    pub minutes: f64,
    /// What to call the likeliest state that it waits for.
    pub name: String,
    /// What to do, in one line.
    pub what: &'static str,
    /// What shows that it is over.
    pub over: &'static str,
}

/// How much of a run-in is left, the reading that it is told with included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunIn {
    /// Readings.
    pub readings: usize,
    /// Minutes.
    pub minutes: f64,
    /// It was taken before, and what it showed is odd for a machine that is right.
    pub again: bool,
}

/// A test as advised.
#[derive(Debug, Clone, PartialEq)]
pub struct TestAdvice {
    /// Index among the machine's tests.
    pub test: usize,
    /// Minutes from where things stand.
    pub minutes: f64,
    /// Places that have to be opened for it, outermost first.
    pub open: Vec<PlaceIx>,
    /// The power state has to change for it.
    pub change_state: bool,
    /// It has been read already: a second look, for what has not been done in between.
    pub again: bool,
    /// What the machine did may be a state by design: before the second look comes a wait, after which it is over.
    pub wait: Option<WaitAdvice>,
    /// It belongs to the run-in: the machine has passed, and what it does is recorded before anybody leaves it.
    pub run_in: Option<RunIn>,
    /// What each outcome would leave.
    pub outcomes: Vec<Leaving>,
}

/// What to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Do {
    /// Make a test.
    Test(TestAdvice),
    /// Make a repair, then prove it.
    Repair {
        /// Repair group.
        group: String,
        /// Probability that it puts right what is wrong.
        probability: f64,
    },
    /// End.
    End(Ending),
}

/// Advice.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What to do.
    pub next: Do,
    /// Expected minutes until the end, call-backs and wrong parts included.
    pub expected_minutes: f64,
    /// Expected minutes if one acted without another test.
    pub act_now_minutes: f64,
    /// Other tests worth taking while what is open is open: index and minutes.
    pub bundle: Vec<(usize, f64)>,
    /// Node expansions spent on this advice.
    pub expansions: usize,
}

/// What one reading did to one suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// Index of the test.
    pub test: usize,
    /// Natural logarithm of the factor by which it changed the suspect's odds.
    pub weight: f64,
}

/// Why a suspect stands where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Log odds before any reading.
    pub before: f64,
    /// One per reading, in order.
    pub readings: Vec<Reason>,
}

/// The reading that would best prove a suspect wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Refuting {
    /// Index of the test.
    pub test: usize,
    /// What it would have to show.
    pub shown: Shown,
    /// How probable that is.
    pub probability: f64,
    /// What would be left of the suspect's probability.
    pub leaves: f64,
}

/// Why something cannot be taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CaseError {
    /// No test has this id.
    NoSuchTest {
        /// What was asked for.
        id: String,
        /// Ids that look like it.
        near: Vec<String>,
    },
    /// No repair group has this name.
    NoSuchRepair(String),
    /// No fault has this name.
    NoSuchFault(String),
    /// The answer is of another kind than the test gives.
    WrongKind {
        /// What the test wants.
        wants: String,
        /// What came.
        came: String,
    },
    /// What was typed cannot be such a reading.
    Entry(String),
    /// The engine refuses the observation.
    Refused(String),
}

impl fmt::Display for CaseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CaseError::NoSuchTest { id, near } if near.is_empty() => {
                write!(f, "there is no test \"{id}\"; list the machine's tests and take one of their ids")
            }
            CaseError::NoSuchTest { id, near } => {
                write!(f, "there is no test \"{id}\"; did you mean \"{}\"?", near.join("\" or \""))
            }
            CaseError::NoSuchRepair(g) => {
                write!(f, "there is no repair \"{g}\"; the suspects name the repairs that this machine knows")
            }
            CaseError::NoSuchFault(n) => {
                write!(f, "there is no fault \"{n}\"; list the machine's faults and take one of their names")
            }
            CaseError::WrongKind { wants, came } => write!(f, "this test wants {wants}, but \"{came}\" came"),
            CaseError::Entry(why) | CaseError::Refused(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for CaseError {}

impl From<ObservationError> for CaseError {
    fn from(e: ObservationError) -> Self {
        CaseError::Refused(e.to_string())
    }
}
