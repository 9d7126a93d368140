//! The evaluation: many visits to hidden machines, counted.
//!
//! [`jobs`] lists the visits of an evaluation, a [`Bench`] makes them one by one, [`summarise`] counts. Jobs are
//! independent: a client may share them among benches on as many threads as it likes, in any order, and the
//! report is the same.

mod account;
mod bench;
mod interval;
mod jobs;
mod order;
mod report;
mod telling;

pub use account::{Telling, went_wrong};
pub use bench::{Bench, Common, JobResult};
pub use interval::wilson;
pub use jobs::{Contender, Job, Part, Settings, Subject, jobs};
pub use report::{Bin, ByName, PolicyReport, Report, Share, summarise};
pub use telling::Groups;
