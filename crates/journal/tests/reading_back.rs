//! What was written reads back, and reads well.

mod common;

use common::{add, job};
use halfsplit_journal::{
    Action, ActionKind, Conditions, DamageKind, Event, EventId, Header, Kind, Observation, Opened, Reading, decode,
    effective, encode, encode_header, undone,
};
use halfsplit_units::{Dimension, Entry, parse_entry};
use proptest::prelude::*;

#[test]
fn a_journal_reads_like_a_record() {
    insta::assert_snapshot!(job().encode().expect("text"));
}

#[test]
fn the_same_events_come_back() {
    let journal = job();
    let text = journal.encode().expect("text");
    let decoded = decode(&text);
    assert_eq!(decoded.damage, []);
    assert!(!decoded.ends_inside_line);
    assert_eq!(decoded.into_journal(), Some(journal));
}

#[test]
fn what_was_undone_no_longer_stands() {
    let mut journal = job();
    let names =
        |events: &[Event]| -> Vec<String> { effective(events).iter().map(|event| event.id.to_string()).collect() };
    let standing = names(&journal.events);
    assert!(!standing.contains(&"phone-1-4".to_owned()), "the slip");
    assert!(!standing.contains(&"phone-1-5".to_owned()), "its undoing");
    assert_eq!(standing.len(), journal.events.len() - 2);
    assert_eq!(undone(&journal.events).len(), 1);

    // Undoing the undoing brings the reading back.
    add(&mut journal, "phone-1", Kind::Undone { event: EventId::new("phone-1-5") });
    let standing = names(&journal.events);
    assert!(standing.contains(&"phone-1-4".to_owned()));
    // Undoing what never was changes nothing.
    add(&mut journal, "phone-1", Kind::Undone { event: EventId::new("nobody") });
    assert_eq!(names(&journal.events), standing);
}

/// A line as another version would write it, by its own checksum.
fn foreign(body: &str) -> String {
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(body.as_bytes());
    format!("{body},\"crc\":\"{sum:08x}\"}}")
}

#[test]
fn what_another_version_added_is_handed_on_as_it_was() {
    let header = encode_header(&Header::new("job-17"));
    let who = r#""time":"2026-03-02T09:00:00Z","actor":"Ada","device":"d""#;
    let lines = [
        // A new field in a known payload, and one beside it.
        format!(r#"{{"seq":1,"id":"a",{who},"kind":"observation","with":{{"what":"fan","words":"still","loudness":0.10}},"place":"roof""#),
        // A new kind, with numbers written in ways of its own.
        format!(r#"{{"seq":2,"id":"b",{who},"kind":"smelled","with":{{"of":["oil",{{"ppm":1e2}}],"n":123456789012345678901234567890}}"#),
        // A known kind in a shape that is not known.
        format!(r#"{{"seq":3,"id":"c",{who},"kind":"action","with":{{"kind":"transmute","part":"lead"}}"#),
    ]
    .map(|body| foreign(&body));
    let text = format!("{header}\n{}\n", lines.join("\n"));
    let decoded = decode(&text);
    assert_eq!(decoded.events.len(), 3);
    assert_eq!(decoded.events[0].kind, Kind::Observation(Observation { what: "fan".into(), words: "still".into() }));
    let reports: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
    assert_eq!(decoded.damage.len(), 2, "{reports:?}");
    assert!(decoded.damage.iter().all(|damage| !damage.is_loss()));
    assert!(reports[0].contains("\"smelled\"") && reports[1].contains("transmute"), "{reports:?}");
    for (event, line) in decoded.events.iter().zip(&lines) {
        assert_eq!(&encode(event).expect("a line"), line);
    }
    assert_eq!(decoded.into_journal().and_then(|j| j.encode().ok()), Some(text));
}

#[test]
fn a_changed_event_is_not_written_as_it_was() {
    let who = r#""time":"t","actor":"Ada","device":"d""#;
    let line = foreign(&format!(
        r#"{{"seq":1,"id":"a",{who},"kind":"observation","with":{{"what":"fan","words":"still","new":1}}"#
    ));
    let mut event = decode(&line).events.remove(0);
    assert_eq!(encode(&event).as_ref(), Ok(&line));
    event.actor = "Bob".into();
    let written = encode(&event).expect("a line");
    assert!(written.contains("Bob") && !written.contains("Ada"), "{written}");
}

#[test]
fn numbers_that_json_cannot_write_are_refused() {
    let conditions = Conditions { supply_volts: Some(f64::NAN), ..Conditions::default() };
    let opened = Kind::Opened(Opened { conditions, ..Opened::default() });
    let error = encode(&Event::new(1, EventId::new("x"), "t", "a", "d", opened)).expect_err("not a number");
    assert!(error.to_string().contains("not finite"), "{error}");
}

#[test]
fn a_newer_format_is_said_and_read() {
    let text = format!(
        "{}\n{}\n",
        foreign(r#"{"journal":"halfsplit","format":9,"job":"j","colour":"blue""#),
        encode(&job().events[0]).expect("a line")
    );
    let decoded = decode(&text);
    assert_eq!(decoded.header.as_ref().map(|header| header.format), Some(9));
    assert_eq!(decoded.events.len(), 1);
    assert_eq!(decoded.damage.len(), 1);
    assert_eq!(decoded.damage[0].kind, DamageKind::NewerFormat { format: 9 });
}

#[test]
fn editors_may_leave_their_marks() {
    let text = job().encode().expect("text");
    let marked = format!("\u{feff}{}\r\n\r\n", text.trim_end().replace('\n', "\r\n"));
    let decoded = decode(&marked);
    assert_eq!(decoded.damage, []);
    assert_eq!(decoded.into_journal(), Some(job()));
}

fn any_entry() -> impl Strategy<Value = Option<Entry>> {
    (any::<f64>(), prop::sample::select(vec!["uF", "MOhm", "V", "VAC", "psig", "°F", "%"])).prop_map(
        |(number, unit)| {
            parse_entry(&format!("{number:e} {unit}"), None)
                .or_else(|_| parse_entry("about 1 V", Some(Dimension::Voltage)))
                .ok()
        },
    )
}

fn any_kind() -> impl Strategy<Value = Kind> {
    let finite = || any::<f64>().prop_filter("finite", |x| x.is_finite());
    prop_oneof![
        (any::<[String; 4]>(), prop::option::of(finite()), prop::option::of(finite()), any::<u64>()).prop_map(
            |([sheet_text, complaint, hash, tool], age, ambient, seed)| {
                Kind::Opened(Opened {
                    sheet_text,
                    sheet_hash: hash,
                    machine_age_years: age,
                    complaint,
                    tools_carried: vec![tool],
                    conditions: Conditions { ambient, ..Conditions::default() },
                    seed,
                    ..Opened::default()
                })
            }
        ),
        (any::<[String; 3]>(), any_entry(), prop::option::of(any::<u32>())).prop_map(
            |([test, as_typed, note], entry, episode)| {
                Kind::Reading(Reading { test, as_typed, entry, episode, note, ..Reading::default() })
            }
        ),
        any::<[String; 2]>().prop_map(|[what, words]| Kind::Observation(Observation { what, words })),
        any::<[String; 2]>().prop_map(|[part, detail]| Kind::Action(Action {
            kind: ActionKind::PowerCycle,
            part,
            detail
        })),
        any::<String>().prop_map(|event| Kind::Undone { event: EventId::new(event) }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_event_reads_back_to_the_last_bit(
        seq in 1..u64::MAX,
        who in any::<[String; 4]>(),
        kind in any_kind(),
    ) {
        let [id, time, actor, device] = who;
        let event = Event::new(seq, EventId::new(id), time, actor, device, kind);
        let line = encode(&event).expect("finite numbers");
        prop_assert!(!line.contains('\n'));
        prop_assert_eq!(decode(&line).events, vec![event]);
    }
}

#[test]
fn the_example_in_the_readme_is_a_journal() {
    let readme = include_str!("../README.md");
    let lines: Vec<&str> = readme.lines().filter(|line| line.starts_with('{')).collect();
    let decoded = decode(&lines.join("\n"));
    assert_eq!(decoded.header, Some(Header::new("job-17")));
    assert_eq!(decoded.events, job().events[1..2]);
    // It shows the second event only, and says so.
    let kinds: Vec<&DamageKind> = decoded.damage.iter().map(|damage| &damage.kind).collect();
    assert_eq!(kinds, [&DamageKind::Missing { first: 1, last: 1 }]);
}
