//! What a client is shown. The names of fields are a promise to programs: they are added to, never changed.

use schemars::JsonSchema;
use serde::Serialize;

use crate::power::PowerView;

/// A job as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct View {
    /// Name of the job.
    pub job: String,
    /// The machine; none before the job is opened.
    pub machine: Option<MachineView>,
    /// What was said at the opening.
    pub opening: Option<OpeningView>,
    /// Events in the journal, undone ones among them.
    pub events: usize,
    /// How often the machine has been changed by what was done.
    pub epoch: usize,
    /// The power as reported.
    pub power: PowerView,
    /// Readings that stand, in order.
    pub readings: Vec<ReadingView>,
    /// Tests that will not be made on this visit.
    pub not_made: Vec<NotMade>,
    /// What was done to the machine.
    pub done: Vec<Done>,
    /// Runs that were to prove it.
    pub proving_runs: Vec<ProvingRunView>,
    /// What was noticed or noted.
    pub notes: Vec<Note>,
    /// What is still possible; none where the sheet cannot be computed by this version.
    pub still_possible: Option<StillPossible>,
    /// What to do next.
    pub next: Next,
    /// What else to take while this is open.
    pub bundle: Vec<AlsoTake>,
    /// Why the leading suspect leads: what each reading did to it.
    pub reasons: Vec<Speaks>,
    /// Expected minutes to the end when following the advice, call-backs and wrong parts included.
    pub expected_minutes: Option<f64>,
    /// Expected minutes when acting now without another test.
    pub act_now_minutes: Option<f64>,
    /// Node expansions that the advice took.
    pub budget_used: u64,
    /// How the job was closed.
    pub ended: Option<EndedView>,
    /// Events that could not be taken in, and why.
    pub set_aside: Vec<SetAside>,
    /// What should be taken with caution about this view.
    pub doubts: Vec<String>,
}

/// The machine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MachineView {
    /// Its name.
    pub name: String,
    /// What kind of machine.
    pub kind: String,
    /// What a reader should know first.
    pub note: Option<String>,
}

/// The opening.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OpeningView {
    /// Age, years.
    pub age_years: Option<f64>,
    /// The customer's words.
    pub complaint: String,
    /// What the display showed, as shown.
    pub shown_code: Option<String>,
    /// Tools carried.
    pub tools: Vec<String>,
    /// Version of the engine that the job was opened with.
    pub engine_version: String,
    /// When it was opened.
    pub at: String,
    /// By whom.
    pub by: String,
}

/// A reading.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReadingView {
    /// The event it came in.
    pub event: String,
    /// Id of the test.
    pub test: String,
    /// What the test is, in one line.
    pub title: String,
    /// As typed.
    pub typed: String,
    /// As understood.
    pub understood: String,
    /// When.
    pub at: String,
    /// By whom.
    pub by: String,
    /// The epoch it belongs to.
    pub epoch: usize,
    /// What was commanded.
    pub command: Option<String>,
    /// Power state that it was taken in: "live", "dead" or "any".
    pub power: &'static str,
    /// What a sound machine would have shown, in words.
    pub if_healthy: Option<String>,
    /// Low end of that, SI.
    pub healthy_low: Option<f64>,
    /// High end, SI.
    pub healthy_high: Option<f64>,
    /// Whether it lies outside of that; none for words.
    pub outside_healthy: Option<bool>,
    /// Who dropped from possible to hardly possible with it.
    pub ruled_out: Vec<String>,
    /// Anything noted with it.
    pub note: String,
}

/// A test that is not made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NotMade {
    /// Id of the test.
    pub test: String,
    /// Why, in words.
    pub why: String,
}

/// Something done to the machine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Done {
    /// What, in words.
    pub what: String,
    /// The repair, by its id, where it was one.
    pub repair: Option<String>,
    /// When.
    pub at: String,
    /// By whom.
    pub by: String,
    /// What shows that it was right.
    pub proof: String,
    /// What to look for upstream.
    pub upstream: String,
    /// Of a repair: what it most probably put right, by all that was known before it; empty where nobody spoke for it.
    pub found: String,
    /// What brings that about.
    pub brought_about_by: String,
    /// Whether a proving run showed it.
    pub proved: bool,
}

/// A run after a repair.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ProvingRunView {
    /// Whether the machine was right.
    pub passed: bool,
    /// What it showed.
    pub note: String,
    /// When.
    pub at: String,
    /// By whom.
    pub by: String,
}

/// Something noticed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Note {
    /// What about.
    pub about: String,
    /// The words.
    pub words: String,
    /// When.
    pub at: String,
}

/// What is still possible.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct StillPossible {
    /// Suspects, most probable first.
    pub suspects: Vec<SuspectView>,
    /// Nothing is broken (any more), per cent.
    pub nothing_broken: f64,
    /// Something that no part of the library describes, per cent.
    pub not_described: f64,
    /// The described fault that it shows much like, if there is one; it is not that one.
    pub not_described_like: Option<String>,
    /// At most this much, per cent, belongs to pairs of faults that were not worked out.
    pub not_worked_out_at_most: f64,
    /// What is needed now, most probable first.
    pub repairs: Vec<RepairOdds>,
    /// How the machine is built, question by question of those that its sheet leaves open; left out where it leaves none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub how_built: Vec<HowBuiltView>,
}

/// A question of how the machine is built, and what the readings make of it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HowBuiltView {
    /// Its id in the sheet.
    pub id: String,
    /// The question.
    pub question: String,
    /// The ways, in the order of the sheet.
    pub ways: Vec<WayView>,
}

/// One way of building the machine.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WayView {
    /// What the sheet calls it.
    pub says: String,
    /// Probability that the machine is built so, per cent.
    pub percent: f64,
}

impl HowBuiltView {
    /// In one line: "Does the cut-off feed the board? yes 70 %, no 30 %".
    #[must_use]
    pub fn in_words(&self) -> String {
        let ways: Vec<String> = self.ways.iter().map(|w| format!("{} {}", w.says, crate::percent(w.percent))).collect();
        format!("{} {}", self.question, ways.join(", "))
    }
}

/// A suspect.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SuspectView {
    /// Stable id, `PART:mode`.
    pub id: String,
    /// What to call it.
    pub name: String,
    /// How bad, where it has degrees.
    pub degree: String,
    /// Probability that it is present, per cent.
    pub percent: f64,
    /// The same in a word.
    pub odds: &'static str,
    /// What brings it about.
    pub cause: String,
    /// What to look for upstream of it.
    pub upstream: String,
    /// What puts it right.
    pub repair: String,
    /// Id of that repair.
    pub repair_id: String,
    /// What shows that it was right.
    pub proof: String,
    /// Comes and goes.
    pub intermittent: bool,
}

/// A repair and its odds.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RepairOdds {
    /// Id; two ids joined by " and " where both are needed.
    pub id: String,
    /// Per cent.
    pub percent: f64,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(tag = "do", rename_all = "snake_case")]
#[allow(clippy::large_enum_variant, reason = "one a view")]
pub enum Next {
    /// Open the job.
    Open,
    /// Make a test.
    Test(TestView),
    /// Make a repair.
    Repair(RepairView),
    /// Prove the repairs that were made.
    Prove(ProveView),
    /// Close the job so.
    End(EndView),
    /// The job is closed.
    Closed,
    /// This version cannot compute the job; what was shown last.
    ReadOnly {
        /// The advice as it was shown.
        last_advice: Option<String>,
        /// Why no new one is given.
        why: String,
    },
}

/// A test, ready to be made.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct TestView {
    /// Id.
    pub id: String,
    /// What to do, in one line.
    pub title: String,
    /// Meter setting and probe places.
    pub how: String,
    /// Where.
    pub place: String,
    /// What has to be opened for it, outermost first.
    pub open: Vec<String>,
    /// Tool.
    pub tool: Option<String>,
    /// "live", "dead" or "any".
    pub power: &'static str,
    /// What is commanded while it is made.
    pub command: Option<String>,
    /// Steps to get there: power state, command, settling.
    pub first: Vec<String>,
    /// Reports that are still missing before its reading is taken: "isolated", "discharged", "dead", "live".
    pub report_first: Vec<&'static str>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// Minutes from where things stand.
    pub minutes: f64,
    /// What kind of answer.
    pub answer: AnswerView,
    /// What a sound machine would show, in words.
    pub if_healthy: Option<String>,
    /// What each outcome would leave.
    pub outcomes: Vec<OutcomeView>,
    /// The machine has been repaired and this shows whether that was right.
    pub proving: bool,
    /// The machine has passed, and this is recorded of it before it is left.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run_in: Option<RunInView>,
}

/// How much of a run-in is left, the reading that it is shown with included.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RunInView {
    /// What it is for, and how to leave it.
    pub words: String,
    /// It was taken before, and what it showed is odd for a machine that is right.
    pub again: bool,
    /// Readings.
    pub readings: usize,
    /// Minutes.
    pub minutes: f64,
}

/// What kind of answer a test wants.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum AnswerView {
    /// A number with a unit.
    Number {
        /// What it measures.
        of: String,
        /// How to type it.
        example: String,
    },
    /// One of these words.
    Words {
        /// The words.
        words: Vec<String>,
    },
}

/// One outcome of a test.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OutcomeView {
    /// In words: "hums, then stops", "1.8 to 2.3 µF", "OL".
    pub shows: String,
    /// Low end, SI, where it is a range with one.
    pub low: Option<f64>,
    /// High end, SI.
    pub high: Option<f64>,
    /// How probable, per cent.
    pub percent: f64,
    /// Who would be left, most probable first.
    pub leaves: Vec<Left>,
    /// Nothing broken then, per cent.
    pub nothing_broken: f64,
    /// Something not described then, per cent.
    pub not_described: f64,
}

/// A suspect left by an outcome.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Left {
    /// Id of the suspect.
    pub id: String,
    /// What to call it.
    pub name: String,
    /// Per cent.
    pub percent: f64,
}

/// A repair, ready to be made.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RepairView {
    /// Id, `PART/repair`.
    pub id: String,
    /// The part or parts.
    pub part: String,
    /// What to do.
    pub what: String,
    /// Probability that it puts right what is wrong, per cent.
    pub percent: f64,
    /// The same in a word.
    pub odds: &'static str,
    /// Minutes, access included.
    pub minutes: f64,
    /// What it puts right, most probable first: names.
    pub puts_right: Vec<String>,
    /// What to look for upstream.
    pub upstream: Vec<String>,
    /// What shows that it was right.
    pub proof: String,
}

/// What to prove.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ProveView {
    /// The repairs that were made, in words.
    pub after: Vec<String>,
    /// What shows that they were right.
    pub how: Vec<String>,
    /// How a sound machine warms its tank, in these conditions: rise and electricity of half an hour, and how long a full heat-up
    /// takes. Empty for machines without a tank.
    pub expect: Vec<String>,
    /// What to look for upstream before closing.
    pub upstream: Vec<String>,
}

/// A proposed ending.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct EndView {
    /// "repaired", "nothing_broken" or "cannot_tell".
    pub ending: &'static str,
    /// In words.
    pub words: String,
    /// What to get, where it cannot be told: tools, access, advice.
    pub get: Vec<String>,
}

/// Something to take with the next test.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AlsoTake {
    /// Id of the test.
    pub test: String,
    /// What it is.
    pub title: String,
    /// Minutes.
    pub minutes: f64,
}

/// What a reading said about a suspect.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Speaks {
    /// Id of the test.
    pub test: String,
    /// What was read.
    pub read: String,
    /// Factor on the suspect's odds.
    pub factor: f64,
    /// In words.
    pub words: String,
}

/// Why a suspect stands where it stands.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WhyView {
    /// The suspect's id.
    pub suspect: String,
    /// What it is called.
    pub name: String,
    /// Per cent before any reading.
    pub before: f64,
    /// Per cent now.
    pub now: f64,
    /// What each reading said.
    pub readings: Vec<Speaks>,
    /// The reading, of those on offer now, that would best prove it wrong.
    pub proved_wrong_by: Option<ProvedWrongBy>,
}

/// What would prove a suspect wrong.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ProvedWrongBy {
    /// Id of the test.
    pub test: String,
    /// What to do.
    pub title: String,
    /// What it would have to show, in words.
    pub shows: String,
    /// How probable that is, per cent.
    pub percent: f64,
    /// What would be left of the suspect, per cent.
    pub leaves: f64,
}

/// What a reading that has not been taken would leave.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SupposeView {
    /// The test.
    pub test: String,
    /// The reading as understood.
    pub read: String,
    /// What would be possible then.
    pub still_possible: StillPossible,
    /// Who would drop from possible to hardly possible.
    pub ruled_out: Vec<String>,
}

/// How the job was closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct EndedView {
    /// "repaired", "nothing_broken", "cannot_tell", "made_safe", "stopgap" or "declined".
    pub ending: &'static str,
    /// In words.
    pub words: String,
    /// The cause.
    pub cause: Option<String>,
    /// What caused the cause.
    pub upstream: Option<String>,
    /// For whoever comes next.
    pub note: String,
    /// When.
    pub at: String,
    /// By whom.
    pub by: String,
}

/// An event that could not be taken in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SetAside {
    /// The event.
    pub event: String,
    /// Why.
    pub why: String,
}
