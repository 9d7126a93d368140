//! What can happen in a job. Payloads are words and numbers; what they mean is decided elsewhere.

use std::collections::BTreeMap;

use halfsplit_units::{Entry, Preferences};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::event::EventId;

/// What happened. Stored as `"kind"`, with the payload under `"with"`.
///
/// A payload field that another version added, and a kind that it invented, are kept: the line is
/// handed on as it was written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "with", rename_all = "snake_case")]
#[non_exhaustive]
#[allow(clippy::large_enum_variant, reason = "one Opened a job; boxing would only burden callers")]
pub enum Kind {
    /// The job was opened.
    Opened(Opened),
    /// Something was proposed, as shown.
    Advised(Advised),
    /// A reading was entered.
    Reading(Reading),
    /// Something was seen, heard, smelled or felt, without being asked for.
    Observation(Observation),
    /// A proposed test was not made.
    Skipped(Skipped),
    /// Something was done that changes the machine.
    Action(Action),
    /// Somebody reported a state that matters for safety.
    SafetyReport(SafetyReport),
    /// A fact about the machine became known.
    FactLearned(FactLearned),
    /// An earlier event was taken back.
    Undone {
        /// The event that no longer stands.
        event: EventId,
    },
    /// A photograph was kept.
    Photo(Photo),
    /// A repair was made.
    Repaired(Repaired),
    /// The machine was run to show that it is right.
    ProvingRun(ProvingRun),
    /// The job was closed.
    Ended(Ended),
    /// An event of another version, kept as it is.
    #[serde(skip)]
    Unknown(Unknown),
}

impl Kind {
    /// The name under which it is stored: "reading".
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Opened(_) => "opened",
            Self::Advised(_) => "advised",
            Self::Reading(_) => "reading",
            Self::Observation(_) => "observation",
            Self::Skipped(_) => "skipped",
            Self::Action(_) => "action",
            Self::SafetyReport(_) => "safety_report",
            Self::FactLearned(_) => "fact_learned",
            Self::Undone { .. } => "undone",
            Self::Photo(_) => "photo",
            Self::Repaired(_) => "repaired",
            Self::ProvingRun(_) => "proving_run",
            Self::Ended(_) => "ended",
            Self::Unknown(unknown) => &unknown.kind,
        }
    }
}

/// The machine, the complaint and the day, as known when the job was opened.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Opened {
    /// The whole machine sheet, so that the job can always be read again.
    pub sheet_text: String,
    /// A hash of the sheet's text: [`crate::sheet_hash`].
    pub sheet_hash: String,
    /// The version of the engine that the advice came from.
    pub engine_version: String,
    /// Age of the machine in years.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine_age_years: Option<f64>,
    /// The customer's words, verbatim.
    #[serde(default)]
    pub complaint: String,
    /// The code that the display shows, as shown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown_code: Option<String>,
    /// When and how it began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub onset: Option<String>,
    /// The conditions of the day.
    #[serde(default)]
    pub conditions: Conditions,
    /// Names of the tools at hand.
    #[serde(default)]
    pub tools_carried: Vec<String>,
    /// Seed for everything drawn at random in this job.
    #[serde(default)]
    pub seed: u64,
    /// The units in which values were shown.
    #[serde(default)]
    pub units: Preferences,
}

/// Conditions at the machine, in SI; none where nobody said.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// Supply voltage, V.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply_volts: Option<f64>,
    /// Supply frequency, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supply_hertz: Option<f64>,
    /// Air around the machine, or indoors where it has an indoor and an outdoor part, K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ambient: Option<f64>,
    /// Outdoor air, K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outdoor: Option<f64>,
    /// Relative humidity of the air around, 0 to 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub humidity: Option<f64>,
    /// Water coming in, K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub water_in: Option<f64>,
    /// Water in the tank, or going out, K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub water: Option<f64>,
    /// What the machine is set to, K.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setpoint: Option<f64>,
    /// Height above the sea, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub altitude: Option<f64>,
    /// Anything else, by name, in SI.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub other: BTreeMap<String, f64>,
}

impl Conditions {
    fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// Advice as it was shown, so that an old job reads the same whatever the engine says today.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advised {
    /// The text as shown.
    pub text: String,
    /// What it proposes.
    pub proposes: Proposal,
    /// The reasons given, as shown.
    #[serde(default)]
    pub reasons: Vec<String>,
    /// How many steps of thought it took, in the engine's own count.
    #[serde(default)]
    pub budget_used: u64,
}

/// What a piece of advice proposes, by the engine's name for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Proposal {
    /// To make this test.
    Test(String),
    /// To do this.
    Action(String),
    /// To close the job so.
    End(String),
}

/// A reading, with the circumstances in which it was taken.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Reading {
    /// The engine's name for the test.
    pub test: String,
    /// What was typed.
    pub as_typed: String,
    /// What that was understood as.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<Entry>,
    /// The phase of operation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phase: Option<String>,
    /// What was commanded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub command: Option<String>,
    /// The power state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power: Option<String>,
    /// Conditions where they differ from those of the job.
    #[serde(default, skip_serializing_if = "Conditions::is_empty")]
    pub conditions: Conditions,
    /// Which run of a fault that comes and goes, counted by the technician.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub episode: Option<u32>,
    /// When it was taken, RFC 3339, where that is not when it was entered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_at: Option<String>,
    /// Anything worth remembering.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Something noticed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Observation {
    /// What it is about: a part, or a name of the engine's.
    pub what: String,
    /// In the technician's words.
    pub words: String,
}

/// A test that was not made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Skipped {
    /// The engine's name for the test.
    pub test: String,
    /// Why.
    pub reason: SkipReason,
}

/// Why a test was not made. None of them blames anything.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SkipReason {
    /// The tool is not at hand.
    NoTool,
    /// The place cannot be reached.
    CannotReach,
    /// It would not be safe here.
    Unsafe,
    /// This machine does not have the part.
    NotFitted,
    /// The place was not found.
    CannotFind,
    /// In the technician's words.
    Other(String),
}

/// Something done that changes the machine from then on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Action {
    /// What sort of thing.
    pub kind: ActionKind,
    /// The part it was done to; empty for the whole machine.
    #[serde(default)]
    pub part: String,
    /// How, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub detail: String,
}

/// The sorts of action.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs, reason = "the trade's own words")]
pub enum ActionKind {
    Clean,
    Replace,
    Reset,
    Unplug,
    Substitute,
    Force,
    PowerCycle,
    Adjust,
    Other,
}

/// A state reported by a person. Nothing here certifies it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SafetyReport {
    /// What was reported.
    pub kind: SafetyKind,
    /// Who says so.
    pub who: String,
}

/// What can be reported about the power.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SafetyKind {
    /// The supply is switched off and secured.
    Isolated,
    /// Tested and found dead, with a tester proved before and after.
    ProvedDead,
    /// Capacitors discharged.
    Discharged,
    /// The machine is live.
    Live,
    /// The supply is back on; earlier reports lapse.
    PowerRestored,
}

/// A fact about this machine: a rating read off a plate, a terminal found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FactLearned {
    /// The engine's name for the fact.
    pub name: String,
    /// What was typed.
    pub as_typed: String,
    /// What that was understood as.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entry: Option<Entry>,
}

/// A photograph, kept elsewhere under its hash.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Photo {
    /// Hash of the picture's bytes.
    pub hash: String,
    /// What it shows.
    pub what: String,
}

/// A repair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repaired {
    /// The part.
    pub part: String,
    /// What was done.
    pub what: String,
}

/// A run after the repair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ProvingRun {
    /// Whether it showed that the machine is right.
    pub passed: bool,
    /// What it showed, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// How a job was closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ended {
    /// The ending.
    pub ending: Ending,
    /// The cause, where one was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cause: Option<String>,
    /// What caused the cause, where that was found or is suspected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upstream: Option<String>,
    /// Anything for whoever comes next.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// The honest endings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// The cause was put right and the machine proved.
    Repaired,
    /// Nothing is broken.
    NothingBroken,
    /// It cannot be told with what is at hand.
    CannotTell,
    /// Made safe and left.
    MadeSafe,
    /// Runs for now.
    Stopgap,
    /// The customer does not want it repaired.
    Declined,
}

/// An event that this version does not understand: a newer kind, or a payload in another shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// Its kind as stored.
    pub kind: String,
    /// Its payload as stored.
    pub with: Value,
}
