//! Joins the plant (what would be read) with inference (what that says) for one visit to one machine.
//!
//! [`Case`] holds a visit: readings go in, actions change the machine from then on, and out come what is
//! still possible ([`Case::still_possible`]), what to do next ([`Case::advice`]) and why
//! ([`Case::reasons`]). Everything is returned as data; wording for people is the client's business beyond the
//! trade names that come from the part library.
//!
//! This crate knows no journal, file, clock or screen.

mod built;
mod case;
mod judgement;
mod levels;
mod offer;
mod priors;
mod problem;
mod told;
mod wanted;

pub use case::Case;
pub use halfsplit_inference::Observed;
pub use halfsplit_plant::SoundRun;
pub use judgement::Judgement;
pub use told::{
    Action, Advice, CaseError, Do, Ending, Errand, HowBuilt, Leaving, Opening, Possible, Reason, Refuting, RunIn,
    Shown, Standing, Suspect, TestAdvice, WaitAdvice,
};
pub use wanted::{Telling, Wanted, most_wanted, telling, telling_ways};
