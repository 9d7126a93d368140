//! The one door to the engine: a job takes events and answers with views.
//!
//! A [`Job`] is a journal and what follows from it. A client writes down an event (who, when, what), asks
//! [`Job::check`] whether it can be taken in, puts it on disk, and only then calls [`Job::apply`], which
//! answers with a [`View`]: what is still possible, what to do next, what was reported about the power, and
//! why. [`Job::replay`] gives the same view from the journal alone, to the last bit.
//!
//! Views are data in the trade's words, with every value also as a number; how they look is the client's
//! business. This crate reads no clock, file, network or chance: times, names and seeds come in events.

mod advice;
mod engine;
mod error;
mod job;
pub mod logger;
mod manual;
pub mod pictures;
mod power;
mod proving;
mod started;
pub mod values;
mod view;
mod words;

pub use advice::advice_text;
pub use error::{JobError, What};
pub use halfsplit_diagnosis::{Telling, Wanted};
pub use halfsplit_journal as journal;
pub use halfsplit_machine as machine;
pub use halfsplit_units as units;
pub use job::{AskBack, Found, Job, sheet_of};
pub use manual::{class_page, classes};
pub use power::{PowerView, Report};
pub use started::{told_by, worth_finding_out};
pub use view::*;
pub use words::{odds_word, percent, understood};

/// Version of the engine, kept in every journal.
pub const ENGINE_VERSION: &str = env!("CARGO_PKG_VERSION");
