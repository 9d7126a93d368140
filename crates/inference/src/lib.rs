//! Hypotheses, likelihoods, posteriors and the worth of a test; knows no trade.
mod evidence;
mod hypothesis;
mod likelihood;
pub mod noisy_or;
mod normal;
mod plan;
mod posterior;
mod prediction;
mod problem;
mod reasoner;
mod reasons;
mod store;

pub use hypothesis::{
    ComponentId, EpisodeId, Hypothesis, MAX_FAULTS, ModeId, NameId, QueryId, RepairId,
};
pub use plan::{
    AccessId, Advice, Candidate, Outcome, PlanSettings, Policy, RepairOption, Situation, StateId,
    Step, TestOption,
};
pub use posterior::{Posterior, Weighed};
pub use prediction::ObservationError;
pub use problem::{Broad, Duty, ModeInfo, Observed, Predicted, Problem, QueryKind, SharedUnknown};
pub use reasoner::{Reading, Reasoner, Settings};
pub use reasons::{Band, Leaves, ReadingView, Refutation, Suspect, UnknownWorth, Voices};
