//! Two or three devices on one job.

mod common;

use common::{add, job};
use halfsplit_journal::{
    Action, ActionKind, Conflict, Ended, Ending, Event, Journal, Kind, Observation, decode, effective, merge,
};
use proptest::prelude::*;

fn saw(words: &str) -> Kind {
    Kind::Observation(Observation { what: "fan".into(), words: words.into() })
}

fn did(kind: ActionKind) -> Kind {
    Kind::Action(Action { kind, part: "filter".into(), detail: String::new() })
}

fn ended(ending: Ending) -> Kind {
    Kind::Ended(Ended { ending, cause: None, upstream: None, note: String::new() })
}

#[test]
fn work_done_apart_comes_together_in_one_order() {
    let base = job();
    let (mut left, mut right) = (base.clone(), base.clone());
    add(&mut left, "phone-1", saw("turns"));
    add(&mut left, "phone-1", saw("stops"));
    add(&mut right, "tablet-2", saw("squeals"));
    let merged = merge(&left, &right).expect("one job");
    assert_eq!(merged.conflicts, []);
    let names: Vec<&str> = merged.journal.events[base.events.len()..].iter().map(|event| event.id.as_str()).collect();
    assert_eq!(names, ["phone-1-16", "tablet-2-16", "phone-1-17"]);
    assert_eq!(merged.journal.next_seq(), 18);
    // What was merged is a sound journal.
    let decoded = decode(&merged.journal.encode().expect("text"));
    assert_eq!(decoded.damage, []);
    assert_eq!(decoded.into_journal(), Some(merged.journal));
}

#[test]
fn an_undoing_on_another_device_counts() {
    let base = job();
    let (mut left, right) = (base.clone(), base.clone());
    let target = base.events[8].id.clone();
    add(&mut left, "phone-1", Kind::Undone { event: target.clone() });
    let merged = merge(&right, &left).expect("one job");
    assert!(!effective(&merged.journal.events).iter().any(|event| event.id == target));
}

#[test]
fn what_cannot_be_ordered_is_said() {
    let base = job();
    let (mut left, mut right) = (base.clone(), base.clone());
    let l = add(&mut left, "phone-1", did(ActionKind::Clean));
    let r = add(&mut right, "tablet-2", did(ActionKind::Replace));
    let l_end = add(&mut left, "phone-1", ended(Ending::Repaired));
    let r_end = add(&mut right, "tablet-2", ended(Ending::Stopgap));
    let merged = merge(&left, &right).expect("one job");
    assert_eq!(
        merged.conflicts,
        [
            Conflict::ActedApart { left: vec![l], right: vec![r.clone()] },
            Conflict::EndedApart { left: vec![l_end], right: vec![r_end.clone()] },
        ]
    );
    // Once one side is undone, there is nothing to report.
    let mut settled = right.clone();
    add(&mut settled, "tablet-2", Kind::Undone { event: r_end });
    add(&mut settled, "tablet-2", Kind::Undone { event: r });
    assert_eq!(merge(&left, &settled).expect("one job").conflicts, []);
}

#[test]
fn one_name_with_two_contents_is_reported_and_the_choice_is_the_same_everywhere() {
    let base = job();
    let mut other = base.clone();
    other.events[8].kind = saw("something else");
    let one = merge(&base, &other).expect("one job");
    let two = merge(&other, &base).expect("one job");
    assert_eq!(one, two);
    let [Conflict::SameId { kept, other: aside }] = &one.conflicts[..] else {
        panic!("{:?}", one.conflicts);
    };
    assert_ne!(kept, aside);
    assert_eq!(kept.id, aside.id);
    assert!(one.conflicts[0].to_string().contains("phone-1-9"));
}

#[test]
fn two_jobs_stay_two() {
    let error = merge(&job(), &Journal::new("job-18")).expect_err("two jobs");
    assert!(error.to_string().contains("job-17") && error.to_string().contains("job-18"));
}

/// A copy of one job as some device might hold it: events of a few names, so that copies overlap,
/// sometimes with differing contents.
fn copy() -> impl Strategy<Value = Journal> {
    prop::collection::vec((1..6_u64, 0..3_u8, 0..2_u8), 0..12).prop_map(|picks| {
        let mut journal = Journal::new("job");
        for (seq, device, content) in picks {
            let id = format!("{device}-{seq}");
            if journal.events.iter().all(|event| event.id.as_str() != id) {
                let kind = match content {
                    0 => saw("turns"),
                    _ => did(ActionKind::Clean),
                };
                journal.events.push(Event::new(
                    seq,
                    halfsplit_journal::EventId::new(id),
                    "t",
                    "Ada",
                    format!("device-{device}"),
                    kind,
                ));
            }
        }
        merge(&journal, &journal).expect("one job").journal
    })
}

fn joined(left: &Journal, right: &Journal) -> Journal {
    merge(left, right).expect("one job").journal
}

proptest! {
    #[test]
    fn merging_is_a_union(a in copy(), b in copy(), c in copy()) {
        prop_assert_eq!(joined(&a, &b), joined(&b, &a));
        prop_assert_eq!(joined(&joined(&a, &b), &c), joined(&a, &joined(&b, &c)));
        prop_assert_eq!(joined(&a, &a), a.clone());
        let all = joined(&a, &b);
        for event in a.events.iter().chain(&b.events) {
            prop_assert!(all.events.iter().any(|known| known.id == event.id));
        }
        prop_assert_eq!(joined(&all, &b), all);
    }
}
