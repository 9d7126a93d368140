//! What is wrong with a journal, exactly, and what to do.

use core::fmt;

use crate::event::{EventId, Header};

/// Something wrong in a journal's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// The line, from 1; the one after the gap for missing events.
    pub line: usize,
    /// Bytes before the damaged piece.
    pub byte: usize,
    /// Length of the damaged piece in bytes; 0 where something is missing.
    pub len: usize,
    /// What it is.
    pub kind: DamageKind,
}

/// The kinds of damage.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum DamageKind {
    /// There is no header.
    NoHeader,
    /// A second header, of another job.
    ForeignHeader {
        /// The job it names.
        job: String,
    },
    /// A newer version of halfsplit wrote this journal.
    NewerFormat {
        /// The format it states.
        format: u32,
    },
    /// A line that was cut off while it was being written.
    CutOff,
    /// The bytes are not those that were written.
    Changed,
    /// Bytes that are no text.
    NotText,
    /// A whole line, but no event of a journal.
    NotAnEvent {
        /// Why not.
        why: String,
    },
    /// An event that this version cannot interpret. It is kept and handed on as it is.
    NotUnderstood {
        /// The event.
        event: EventId,
        /// Its kind as stored.
        kind: String,
        /// What could not be read.
        why: String,
    },
    /// Two different events have one name; the first is used.
    SameId {
        /// The name.
        event: EventId,
    },
    /// Numbers are missing between the events: lines were lost.
    Missing {
        /// The first missing number.
        first: u64,
        /// The last missing number.
        last: u64,
    },
}

impl Damage {
    /// Whether something that was recorded cannot be read any more.
    #[must_use]
    pub const fn is_loss(&self) -> bool {
        !matches!(
            self.kind,
            DamageKind::NewerFormat { .. } | DamageKind::NotUnderstood { .. } | DamageKind::ForeignHeader { .. }
        )
    }

    /// What to do about it.
    #[must_use]
    pub const fn what_to_do(&self) -> &'static str {
        match self.kind {
            DamageKind::NoHeader => {
                "The events are used. Compare the job with its other copy, or start a new journal for it."
            }
            DamageKind::ForeignHeader { .. } => {
                "Two journals may have been joined: check that all events belong to this job."
            }
            DamageKind::NewerFormat { .. } => "Update halfsplit before you add to this job.",
            DamageKind::CutOff => {
                "Its event was never recorded: enter it again, and go on. Nothing else is touched by it."
            }
            DamageKind::Changed | DamageKind::NotText | DamageKind::NotAnEvent { .. } => {
                "All other events are used. Restore this line from another copy of the job, or enter it again."
            }
            DamageKind::NotUnderstood { .. } => "It is kept, but not taken into account. Update halfsplit to use it.",
            DamageKind::SameId { .. } => "Compare the two and enter again what is missing.",
            DamageKind::Missing { .. } => "Merge with another copy of the job, or enter again what is missing.",
        }
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Line {}, byte {}: ", self.line, self.byte)?;
        match &self.kind {
            DamageKind::NoHeader => write!(f, "the journal's first line is missing or damaged.")?,
            DamageKind::ForeignHeader { job } => {
                write!(f, "another journal begins here, of job \"{job}\".")?;
            }
            DamageKind::NewerFormat { format } => {
                write!(f, "this journal has format {format}, and this version of halfsplit writes {}.", Header::FORMAT)?
            }
            DamageKind::CutOff => {
                write!(f, "{} bytes are a line that was cut off in writing.", self.len)?;
            }
            DamageKind::Changed => {
                write!(f, "{} bytes are not what was written: the checksum is wrong.", self.len)?;
            }
            DamageKind::NotText => write!(f, "{} bytes are not text.", self.len)?,
            DamageKind::NotAnEvent { why } => write!(f, "this is no event: {why}.")?,
            DamageKind::NotUnderstood { event, kind, why } => {
                write!(f, "event {event} of kind \"{kind}\" is not understood by this version ({why}).")?
            }
            DamageKind::SameId { event } => {
                write!(f, "another event with the name {event} says something else.")?;
            }
            DamageKind::Missing { first, last } if first == last => {
                write!(f, "event number {first} is missing.")?;
            }
            DamageKind::Missing { first, last } => {
                write!(f, "event numbers {first} to {last} are missing.")?;
            }
        }
        write!(f, " {}", self.what_to_do())
    }
}
