//! Which events still stand.

use std::collections::BTreeSet;

use crate::event::{Event, EventId};
use crate::kind::Kind;

/// The events that still stand, in their order: without those that were undone, and without the
/// undoing itself. Undoing an undoing brings the event back.
///
/// `events` must be in order, as [`decode`](crate::decode) and [`merge`](crate::merge) give them.
#[must_use]
pub fn effective(events: &[Event]) -> Vec<&Event> {
    let undone = undone(events);
    events.iter().filter(|event| !matches!(event.kind, Kind::Undone { .. }) && !undone.contains(&event.id)).collect()
}

/// The names of the events that no longer stand, undoings among them. A name that no earlier event
/// has is left out: there was nothing to undo.
#[must_use]
pub fn undone(events: &[Event]) -> BTreeSet<&EventId> {
    let mut undone = BTreeSet::new();
    let mut standing_targets = BTreeSet::new();
    // Backwards: whether an undoing stands is known before what it undid is met.
    for event in events.iter().rev() {
        if standing_targets.contains(&event.id) {
            undone.insert(&event.id);
        } else if let Kind::Undone { event: target } = &event.kind {
            standing_targets.insert(target);
        }
    }
    undone
}
