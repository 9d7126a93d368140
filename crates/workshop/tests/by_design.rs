//! A state by design in words: what to wait for before the second look, and what to tell the customer.

use halfsplit_workshop::journal::{Event, EventId, Kind, Opened, Reading};
use halfsplit_workshop::{ENGINE_VERSION, Job, Next};

const SPLIT: &str = include_str!("../../../machines/unitary-split.toml");

fn enter(job: &mut Job, kind: Kind) -> EventId {
    let seq = job.journal().next_seq();
    let id = EventId::new(format!("e{seq}"));
    let event = Event::new(seq, id.clone(), format!("2026-03-02T09:{seq:02}:00Z"), "Ada", "d", kind);
    job.take_in(event).unwrap_or_else(|e| panic!("{e}"));
    id
}

fn read(job: &mut Job, test: &str, typed: &str) -> EventId {
    enter(job, Kind::Reading(Reading { test: test.into(), as_typed: typed.into(), ..Reading::default() }))
}

fn json(job: &mut Job) -> String {
    serde_json::to_string(&job.view()).expect("JSON")
}

#[test]
fn a_wait_is_asked_for_and_an_ending_says_what_it_was() {
    let mut job = Job::new("waits");
    let mut opened = Opened {
        sheet_text: SPLIT.into(),
        engine_version: ENGINE_VERSION.into(),
        machine_age_years: Some(6.0),
        complaint: "Nothing runs outside.".into(),
        ..Opened::default()
    };
    opened.conditions.ambient = Some(300.15);
    opened.conditions.outdoor = Some(305.15);
    enter(&mut job, Kind::Opened(opened));
    for (test, typed) in [
        ("complaint", "no cooling or heating"),
        ("look SET mode", "on"),
        ("look SET setting shown", "where the customer wants it"),
        ("look FILTER blockage", "clean"),
        ("watch BLOW while cooling", "runs"),
        ("watch COMP while cooling", "silent"),
        ("volts YC-24C while cooling", "0.1 V"),
        ("volts 24C-Y2 while cooling", "25.2 V"),
        ("volts L1-L2 while cooling", "239 V"),
    ] {
        read(&mut job, test, typed);
    }
    let before = json(&mut job);
    let Next::Test(t) = job.view().next else { panic!("a test is next") };
    assert_eq!(t.id, "watch COMP while cooling");
    let wait = t.first.last().expect("a wait");
    assert!(wait.starts_with("Wait six minutes") && wait.contains("ASC: its minimum off time still runs"), "{wait}");
    assert!(t.minutes > 6.0, "{} min", t.minutes);
    // What was seen after the wait can be taken back, and leaves nothing behind.
    let seen = read(&mut job, "watch COMP while cooling", "runs");
    let possible = job.view().still_possible.expect("open");
    assert!(possible.suspects.iter().all(|s| s.id != "ASC:waiting"), "what is over is no suspect");
    enter(&mut job, Kind::Undone { event: seen });
    let strip = |text: &str| text.split("\"next\":").nth(1).map(|t| t[..200].to_owned());
    assert_eq!(strip(&json(&mut job)), strip(&before));
    for (test, typed) in [
        ("watch COMP while cooling", "runs"),
        ("watch OFAN while cooling", "runs"),
        ("look DRAIN blocked", "dry or running off"),
        ("look ICOIL fouling", "clean"),
        ("look OCOIL fouling", "clean"),
        ("thermometer supply air settled", "13 C"),
        ("amps COMP.C while cooling", "13.0 A"),
        ("look SET mode", "on"),
        ("look SET setting shown", "where the customer wants it"),
        ("look FILTER blockage", "clean"),
        ("thermometer discharge line settled", "70 C"),
        ("thermometer suction line settled", "12 C"),
        ("amps supply while strip", "23 A"),
        ("volts 24R-G at rest", "26.2 V"),
    ] {
        read(&mut job, test, typed);
    }
    let Next::End(end) = job.view().next else { panic!("it ends") };
    assert_eq!(end.ending, "nothing_broken");
    assert!(
        end.words.contains("state that it is built for") && end.words.contains("lets through by itself"),
        "{}",
        end.words
    );
}
