//! The next step.

mod advice;
mod situation;

pub use advice::{Advice, Candidate, PlanSettings, Policy, Step};
pub use situation::{AccessId, RepairOption, Situation, StateId, TestOption};
