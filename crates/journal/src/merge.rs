//! Bringing together two copies of one job that were written on apart.

use core::fmt;
use std::collections::{BTreeMap, BTreeSet};

use crate::event::{Event, EventId, Journal};
use crate::kind::Kind;
use crate::line;

/// Two journals that are not of the same job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DifferentJobs {
    /// The job of the first.
    pub left: String,
    /// The job of the second.
    pub right: String,
}

impl fmt::Display for DifferentJobs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "these journals belong to two jobs, \"{}\" and \"{}\"; choose two copies of one job",
            self.left, self.right
        )
    }
}

impl core::error::Error for DifferentJobs {}

/// Two copies as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Merged {
    /// Everything that either copy knew, in the order that every device arrives at.
    pub journal: Journal,
    /// What somebody should look at.
    pub conflicts: Vec<Conflict>,
}

/// What two people did without knowing of each other, where it matters. Nothing is dropped but
/// the second version of an event with one name, and that is given here.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Conflict {
    /// One name, two contents.
    SameId {
        /// The version in the merged journal: the same whichever copy comes first.
        kept: Box<Event>,
        /// The other.
        other: Box<Event>,
    },
    /// Both changed the machine: in which order is not known for certain, nor which readings came
    /// before which change.
    ActedApart {
        /// Actions and repairs that only the first copy knew.
        left: Vec<EventId>,
        /// Those that only the second knew.
        right: Vec<EventId>,
    },
    /// Both closed the job.
    EndedApart {
        /// In the first copy.
        left: Vec<EventId>,
        /// In the second.
        right: Vec<EventId>,
    },
}

impl fmt::Display for Conflict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = |ids: &[EventId]| ids.iter().map(EventId::as_str).collect::<Vec<_>>().join(", ");
        match self {
            Self::SameId { kept, other } => write!(
                f,
                "event {} has two contents: one written by {} on {} is kept, one by {} on {} is set aside; compare them",
                kept.id, kept.actor, kept.device, other.actor, other.device
            ),
            Self::ActedApart { left, right } => write!(
                f,
                "the machine was changed on two devices that did not know of each other ({}; {}): check the order, and take again the readings it matters for",
                names(left),
                names(right)
            ),
            Self::EndedApart { left, right } => write!(
                f,
                "the job was closed on two devices ({}; {}): undo the ending that does not hold",
                names(left),
                names(right)
            ),
        }
    }
}

/// Merges two copies of a job: every event of either, once, in the order of its number, then
/// device, then name. The outcome is the same whichever copy comes first, and merging three
/// copies gives the same events in any grouping.
///
/// # Errors
///
/// [`DifferentJobs`] when the headers name different jobs.
pub fn merge(left: &Journal, right: &Journal) -> Result<Merged, DifferentJobs> {
    if left.header.job != right.header.job {
        return Err(DifferentJobs { left: left.header.job.clone(), right: right.header.job.clone() });
    }
    let mut conflicts = Vec::new();
    let mut by_id: BTreeMap<&EventId, &Event> = BTreeMap::new();
    for event in left.events.iter().chain(&right.events) {
        match by_id.get(&event.id).copied() {
            Some(first) if first != event => {
                let (kept, other) = if text_of(first) <= text_of(event) { (first, event) } else { (event, first) };
                by_id.insert(&event.id, kept);
                conflicts.push(Conflict::SameId { kept: Box::new(kept.clone()), other: Box::new(other.clone()) });
            }
            Some(_) => {}
            None => {
                by_id.insert(&event.id, event);
            }
        }
    }
    let mut events: Vec<Event> = by_id.into_values().cloned().collect();
    events.sort_by(|a, b| a.place().cmp(&b.place()));

    let standing = crate::effective(&events);
    let known_to =
        |journal: &Journal| -> BTreeSet<EventId> { journal.events.iter().map(|event| event.id.clone()).collect() };
    let (known_left, known_right) = (known_to(left), known_to(right));
    let apart = |wanted: fn(&Kind) -> bool| {
        let missing_in = |other: &BTreeSet<EventId>| -> Vec<EventId> {
            standing
                .iter()
                .filter(|event| wanted(&event.kind) && !other.contains(&event.id))
                .map(|event| event.id.clone())
                .collect()
        };
        let (l, r) = (missing_in(&known_right), missing_in(&known_left));
        (!l.is_empty() && !r.is_empty()).then_some((l, r))
    };
    if let Some((left, right)) = apart(|kind| matches!(kind, Kind::Action(_) | Kind::Repaired(_))) {
        conflicts.push(Conflict::ActedApart { left, right });
    }
    if let Some((left, right)) = apart(|kind| matches!(kind, Kind::Ended(_))) {
        conflicts.push(Conflict::EndedApart { left, right });
    }
    // The format is that of the newer copy: its events are among these.
    let header = if left.header.format >= right.header.format { &left.header } else { &right.header };
    let journal = Journal { header: header.clone(), events };
    Ok(Merged { journal, conflicts })
}

/// The text that decides which of two contents is kept.
fn text_of(event: &Event) -> String {
    line::encode(event).unwrap_or_default()
}
