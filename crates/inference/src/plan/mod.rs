//! The next step.

mod act;
mod advice;
mod outcome;
pub(crate) mod outlook;
mod pace;
mod recommend;
mod search;
mod situation;

pub use advice::{Advice, Candidate, PlanSettings, Policy, Step};
pub use outcome::Outcome;
pub(crate) use search::uncertainty;
pub use situation::{AccessId, RepairOption, Situation, StateId, TestOption};
