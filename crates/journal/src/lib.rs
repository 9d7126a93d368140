//! The record of a job: append-only events, their encoding, and replay.
//!
//! A journal is text, one JSON object a line. The first line is a [`Header`], every other an
//! [`Event`]. Lines are only ever added. Each carries a checksum, so that a line cut off by a dead
//! battery or a full disk is known for what it is: [`decode`] returns every whole event together
//! with an exact report of the damage, and never gives up on good lines because of a bad one.
//!
//! Undoing is an event too; [`effective`] leaves out what was undone. Two devices that worked on
//! the same job apart are brought together by [`merge`].
//!
//! This crate reads no file and no clock: texts go in and out, times come with the events. It
//! knows nothing of machines: payloads are words and numbers, kept as they were entered.

mod damage;
mod decode;
mod effective;
mod event;
mod kind;
mod line;
mod merge;

pub use damage::{Damage, DamageKind};
pub use decode::{Decoded, decode, decode_bytes};
pub use effective::{effective, undone};
pub use event::{Event, EventId, Header, Journal};
pub use kind::{
    Action, ActionKind, Advised, Conditions, Ended, Ending, FactLearned, Kind, Observation, Opened, Photo, Proposal,
    ProvingRun, Reading, Repaired, SafetyKind, SafetyReport, SkipReason, Skipped, Unknown,
};
pub use line::{EncodeError, encode, encode_header, sheet_hash};
pub use merge::{Conflict, DifferentJobs, Merged, merge};
