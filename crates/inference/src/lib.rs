//! Hypotheses, likelihoods, posteriors and the worth of a test; knows no trade.
//!
//! A client implements one trait, [`Problem`]: what can be wrong (*modes*), and what would be
//! observed under any set of modes (*predictions*). The [`Reasoner`] takes readings and keeps the
//! [`Posterior`]: over nothing wrong, one, two, if need be three modes together, and "something not
//! described". [`Reasoner::recommend`] says what to do next at the least expected total cost, and
//! [`Reasoner::voices`], [`Reasoner::leaves`] and their like give the reasons, as data.
//!
//! Nothing here depends on time, chance or the platform: the same calls give the same bits.
//!
//! # Example
//!
//! Two components; either broken one moves a quantity, by different amounts.
//!
//! ```
//! use halfsplit_inference::*;
//!
//! struct TwoParts {
//!     modes: Vec<ModeInfo>,
//!     kind: QueryKind,
//! }
//!
//! impl Problem for TwoParts {
//!     fn modes(&self) -> &[ModeInfo] {
//!         &self.modes
//!     }
//!     fn samples(&self) -> &[f64] {
//!         &[1.0] // nothing is assumed
//!     }
//!     fn predict(&self, present: &[ModeId], _sample: usize, _query: QueryId) -> Predicted {
//!         let moved: f64 = present.iter().map(|m| 2.0 + 3.0 * f64::from(m.0)).sum();
//!         Predicted::Number { centre: 10.0 - moved, noise_sd: 0.1, common_sd: 0.2 }
//!     }
//!     fn kind(&self, _query: QueryId) -> &QueryKind {
//!         &self.kind
//!     }
//! }
//!
//! let mode = |i: u32| ModeInfo {
//!     prior_odds: 0.1,
//!     component: ComponentId(i),
//!     name: NameId(i),
//!     repair: RepairId(i),
//!     intermittent: None,
//!     harmless: false,
//! };
//! let problem = TwoParts {
//!     modes: vec![mode(0), mode(1)],
//!     kind: QueryKind::number(0.0, 20.0, 0.05),
//! };
//! let mut reasoner = Reasoner::new(&problem, Settings::default());
//! let situation = Situation {
//!     tests: vec![TestOption::new(QueryId(0), 3.0)],
//!     repairs: (0..2)
//!         .map(|i| RepairOption::new(RepairId(i), 40.0, vec![ModeId(i)]))
//!         .collect(),
//!     ..Situation::default()
//! };
//! let advice = reasoner.recommend(&problem, &situation, &PlanSettings::default());
//! assert_eq!(advice.step, Step::Test(0));
//!
//! let observed = Observed::Value(5.1);
//! reasoner.observe(&problem, Reading { query: QueryId(0), observed, episode: EpisodeId(0) })?;
//! assert!(reasoner.posterior().mode(ModeId(1)) > 0.9);
//! let advice = reasoner.recommend(&problem, &situation, &PlanSettings::default());
//! assert_eq!(advice.step, Step::Repair(1));
//! # Ok::<(), ObservationError>(())
//! ```

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
mod score;
mod store;
mod undescribed;

pub use hypothesis::{ComponentId, EpisodeId, Hypothesis, MAX_FAULTS, ModeId, NameId, QueryId, RepairId};
pub use plan::{
    AccessId, Advice, Candidate, Outcome, PlanSettings, Policy, RepairOption, Situation, StateId, Step, TestOption,
};
pub use posterior::{Posterior, Weighed};
pub use prediction::ObservationError;
pub use problem::{Broad, Duty, ModeInfo, Observed, Predicted, Problem, QueryKind, SharedUnknown, SlipsTo};
pub use reasoner::{Aside, Reading, Reasoner, Settings};
pub use reasons::{Band, Leaves, ReadingView, Refutation, Suspect, UnknownWorth, Voices};
