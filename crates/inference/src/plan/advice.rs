//! What the planner answers.

use crate::hypothesis::QueryId;

/// What to do next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Make the test at this index of [`Situation::tests`].
    ///
    /// [`Situation::tests`]: crate::Situation::tests
    Test(usize),
    /// Make the repair at this index of [`Situation::repairs`], then prove it.
    ///
    /// [`Situation::repairs`]: crate::Situation::repairs
    Repair(usize),
    /// End here: nothing is wrong, or nothing that is worth doing is left.
    Close,
}

/// How the next test is chosen. All but the first serve comparison: they choose the test
/// differently, and act on the same rule.
#[derive(Clone, Debug, PartialEq)]
pub enum Policy {
    /// Least expected total cost. Where the budget does not reach two steps ahead, most information
    /// per minute of a test and one that follows it.
    ExpectedCost,
    /// Most information about what is needed, per minute.
    GainPerMinute,
    /// Most information, whatever it costs.
    Gain,
    /// Any test that could tell something, by this seed and the number of readings so far.
    Random(u64),
    /// The first in this order that is offered and not yet read, passing over those whose expected
    /// gain is below `skip_below` nats.
    FixedOrder {
        /// The order.
        order: Vec<QueryId>,
        /// Expected gain (nats) under which a test is passed over; 0 passes over none.
        skip_below: f64,
    },
}

/// How far the planner looks.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanSettings {
    /// How the next test is chosen.
    pub policy: Policy,
    /// Node expansions (one test held against one belief) at most. Never clock time: the same
    /// input gives the same advice everywhere.
    pub expansions: usize,
    /// Tests and failed repairs looked ahead at most (≥ 1).
    pub depth: usize,
    /// Tests followed further than one step, at the first and at later choices.
    pub beam: (usize, usize),
    /// Bins that the outcome of a number is sorted into at most.
    pub bins: usize,
    /// Probability that may be left out of planning at most, unless `hypotheses` is reached first.
    pub neglect: f64,
    /// Hypotheses kept for planning at most.
    pub hypotheses: usize,
    /// A test has to be expected to save this much against acting at once: estimates are no finer, and whoever knows enough
    /// should not go on looking.
    pub margin: f64,
}

impl Default for PlanSettings {
    fn default() -> PlanSettings {
        PlanSettings {
            policy: Policy::ExpectedCost,
            expansions: 1500,
            depth: 3,
            beam: (8, 4),
            bins: 6,
            neglect: 0.005,
            hypotheses: 64,
            margin: 0.0,
        }
    }
}

/// A test, weighed one step ahead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Index into the situation's tests.
    pub test: usize,
    /// Minutes from where things stand: its own, unpaid access, change of state.
    pub minutes: f64,
    /// Expected information about what is needed, in nats.
    pub gain: f64,
    /// Expected total cost of making it and going on, as far as it was looked into.
    pub expected_cost: f64,
}

/// The recommendation and what it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// What to do next.
    pub step: Step,
    /// Expected total cost, in minutes, of doing so and going on.
    pub expected_cost: f64,
    /// The best that can be done without another test.
    pub act_now: Step,
    /// Its expected total cost: the repairs one after another, best first, each proved.
    pub act_now_cost: f64,
    /// Expected cost if the truth were known: no plan can be cheaper.
    pub least_cost: f64,
    /// All tests that could tell something, best first.
    pub candidates: Vec<Candidate>,
    /// Other tests worth making while what the recommended test needs is open and the state holds,
    /// best gain per minute first.
    pub bundle: Vec<usize>,
    /// Probability left out of planning.
    pub neglected: f64,
    /// No figure of expected cost is wrong by more than this for what was left out.
    pub cost_error: f64,
    /// Node expansions spent.
    pub expansions: usize,
    /// How many steps ahead the answer was completed for.
    pub depth: usize,
}
