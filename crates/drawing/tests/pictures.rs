//! Every picture of every example machine: nothing missing, nothing over anything else, nothing outside.

use std::collections::BTreeMap;

use halfsplit_drawing::{Picture, cut, refrigerant_loop, wiring};
use halfsplit_workshop::journal::{Event, EventId, Kind, Opened, Reading, SafetyKind, SafetyReport};
use halfsplit_workshop::machine::starter::{Form, start};
use halfsplit_workshop::pictures::{Live, loop_of, wiring_of};
use halfsplit_workshop::{Job, Next, sheet_of};
use proptest::prelude::*;

const SHEETS: [&str; 6] = [
    include_str!("../../../machines/garage-water-heater.toml"),
    include_str!("../../../machines/cellar-water-heater.toml"),
    include_str!("../../../machines/kitchen-refrigerator.toml"),
    include_str!("../../../machines/basement-dehumidifier.toml"),
    include_str!("../../../machines/unitary-split.toml"),
    include_str!("../../../machines/wall-mini-split.toml"),
];

fn job(sheet: &str) -> Job {
    let mut job = Job::new("pictures");
    tell(&mut job, Kind::Opened(Opened { sheet_text: sheet.to_owned(), ..Opened::default() }));
    job
}

fn tell(job: &mut Job, kind: Kind) {
    let seq = job.journal().next_seq();
    let event = Event::new(seq, EventId::new(format!("e{seq}")), "2026-05-04T09:15:00Z", "Ada", "test", kind);
    job.take_in(event).unwrap_or_else(|e| panic!("{e}"));
}

/// No two texts over each other, all of them and all flags inside.
fn in_order(p: &Picture) {
    let labels = p.labels();
    for (i, a) in labels.iter().enumerate() {
        assert!(
            a.left >= 0.0 && a.right <= p.width && a.top >= 0.0 && a.bottom <= p.height,
            "{}: outside: {a:?}",
            p.title
        );
        for b in &labels[i + 1..] {
            assert!(!a.overlaps(b), "{}: {a:?} over {b:?}", p.title);
        }
    }
    for (n, x, y) in p.flags() {
        assert!((0.0..p.width).contains(x) && (0.0..p.height).contains(y), "flag {n} at {x}, {y}");
    }
    let svg = p.inline("x");
    assert!(svg.contains("role=\"img\"") && svg.contains("aria-labelledby=\"x-title x-desc\""));
    assert!(!p.description.is_empty() && svg.contains("<desc id=\"x-desc\">"));
}

#[test]
fn every_terminal_of_every_sheet_is_drawn_once() {
    for sheet in SHEETS {
        let m = sheet_of(sheet).expect("sheet");
        let p = wiring(&m, &wiring_of(&m));
        let mut drawn: BTreeMap<&str, usize> = BTreeMap::new();
        for t in p.terminals() {
            *drawn.entry(t).or_default() += 1;
        }
        let mut wired = 0;
        for part in &m.parts {
            for t in part.terminals.iter().filter(|t| t.net.is_some()) {
                let name = format!("{}.{}", part.id, t.name);
                assert_eq!(drawn.get(name.as_str()), Some(&1), "{}: {name}", m.sheet.machine.name);
                wired += 1;
            }
        }
        assert_eq!(drawn.len(), wired);
        in_order(&p);
    }
}

/// What nobody knows of the wiring is drawn dashed, and every real terminal is where it was; a question has none.
#[test]
fn a_conductor_in_question_is_drawn_and_offers_no_terminal() {
    for kind in ["water-heater", "split"] {
        let form = Form { kind: kind.to_owned(), ..Form::default() };
        let sheet = start(&form).unwrap_or_else(|e| panic!("{kind}: {e}")).sheet;
        let m = sheet_of(&sheet).expect("sheet");
        let p = wiring(&m, &wiring_of(&m));
        let question = m.unsure().next().map(|(part, _)| m.parts[part.0].id.clone()).expect("a question");
        assert!(p.description.contains("a conductor that may be there or not"), "{}", p.description);
        assert!(p.inline("x").contains("class=\"l d\""), "{kind}");
        assert!(p.terminals().iter().all(|t| !t.starts_with(&question)), "{kind}");
        for part in m.parts.iter().filter(|p| p.id != question) {
            for t in part.terminals.iter().filter(|t| t.net.is_some()) {
                let name = format!("{}.{}", part.id, t.name);
                assert_eq!(p.terminals().iter().filter(|x| **x == name).count(), 1, "{kind}: {name}");
            }
        }
        in_order(&p);
        let job = job(&sheet);
        for t in m.tests.iter().step_by(41) {
            in_order(&wiring(&m, &job.wiring(Some(&t.id)).expect("state")));
        }
    }
}

#[test]
fn the_flags_of_every_test_stand_in_the_picture() {
    for sheet in SHEETS {
        let job = job(sheet);
        let m = job.machine().expect("machine");
        for t in m.tests.iter().step_by(29) {
            let probes = m.probes(t);
            let p = wiring(m, &job.wiring(Some(&t.id)).expect("state"));
            let mut flags: Vec<usize> = p.flags().iter().map(|f| f.0).collect();
            flags.sort_unstable();
            assert_eq!(flags, (1..=probes.len()).collect::<Vec<_>>(), "{}", t.id);
            in_order(&p);
        }
    }
}

#[test]
fn probes_are_where_the_description_says() {
    let job = job(SHEETS[0]);
    let m = job.machine().expect("machine");
    for t in m.tests.iter().filter(|t| t.id.starts_with("volts ")) {
        for r in m.probes(t) {
            let part = &m.parts[r.part.0];
            let said = format!("{} terminal {}", part.id, part.terminals[r.terminal].name);
            assert!(t.how.contains(&said), "{}: {} does not name {said}", t.id, t.how);
        }
    }
}

/// Arithmetic: a split-phase supply of 240 V stands 120 V to earth on either side. That an element switched off in one side
/// only has 0 V across it and 120 V from both ends to the cabinet is common practice, no source.
#[test]
fn an_element_that_is_off_is_still_live() {
    let job = job(SHEETS[0]);
    let m = job.machine().expect("machine");
    let state = job.wiring(None).expect("state");
    let net = |name: &str| m.nets.iter().position(|n| n == name).expect("wire");
    for name in ["L1E", "L2E", "EL"] {
        let (re, im) = state.volts[net(name)].expect("volts");
        assert!(((re * re + im * im).sqrt() - 120.0).abs() < 2.0, "{name}: {re} {im}");
        assert_eq!(state.live[net(name)], Live::Live);
    }
    assert!((state.volts[net("EL")].unwrap().0 - state.volts[net("L2E")].unwrap().0).abs() < 0.5);
    // The control circuit is isolated from the mains.
    assert_eq!(state.live[net("12V")], Live::Not);
}

#[test]
fn what_was_reported_decides_what_is_drawn_live() {
    let mut job = job(SHEETS[0]);
    let m = sheet_of(SHEETS[0]).expect("sheet");
    let net = |name: &str| m.nets.iter().position(|n| n == name).expect("wire");
    let report = |job: &mut Job, kind| tell(job, Kind::SafetyReport(SafetyReport { kind, who: "Ada".into() }));
    report(&mut job, SafetyKind::Isolated);
    let state = job.wiring(None).expect("state");
    assert_eq!((state.live[net("S1")], state.live[net("L1E")]), (Live::Always, Live::NotProved));
    assert!(wiring(&m, &state).description.contains("L1E (not proved dead)"));
    report(&mut job, SafetyKind::ProvedDead);
    let state = job.wiring(None).expect("state");
    assert_eq!((state.live[net("S1")], state.live[net("L1E")]), (Live::Always, Live::Not));
    report(&mut job, SafetyKind::PowerRestored);
    assert_eq!(job.wiring(None).expect("state").live[net("L1E")], Live::Live);
}

#[test]
fn the_loop_shows_what_was_read_beside_what_is_expected() {
    let mut job = job(SHEETS[0]);
    let reading = |test: &str, typed: &str| {
        Kind::Reading(Reading { test: test.into(), as_typed: typed.into(), ..Reading::default() })
    };
    tell(&mut job, reading("thermometer discharge line settled", "118 C"));
    let p = refrigerant_loop("it", &job.refrigerant_loop().expect("loop"));
    in_order(&p);
    assert!(p.description.contains("discharge line, thermometer: 118.0 °C, OUTSIDE; expected "), "{}", p.description);
    let order: Vec<usize> = ["COMP compressor", "COND condenser", "EEV expansion valve", "EVAP evaporator"]
        .iter()
        .map(|w| p.description.find(w).unwrap_or_else(|| panic!("{w}")))
        .collect();
    assert!(order.is_sorted());
    for sheet in SHEETS {
        let m = sheet_of(sheet).expect("sheet");
        in_order(&refrigerant_loop(&m.sheet.machine.name, &loop_of(&m)));
    }
    // The cycle has both.
    let cycle = job.cycle().expect("cycle");
    assert!(cycle.words.contains("discharge line 118.0 °C") && cycle.svg.contains("expected"), "{}", cycle.words);
}

#[test]
fn the_cut_of_a_job_says_what_every_outcome_leaves() {
    let mut job = job(SHEETS[0]);
    let view = job.view();
    let Next::Test(t) = &view.next else { panic!("a test") };
    let p = cut(view.still_possible.as_ref().expect("suspects"), &t.outcomes, &t.title);
    in_order(&p);
    for o in &t.outcomes {
        assert!(p.description.contains(&format!("If {} (", o.shows)), "{}", p.description);
    }
}

#[test]
fn pictures_as_they_are() {
    let mut job = job(SHEETS[0]);
    let state = job.wiring(Some("volts L2E-R while heat-pump")).expect("state");
    insta::assert_snapshot!("wiring", wiring(job.machine().expect("machine"), &state).standalone());
    let p = refrigerant_loop("Garage water heater", &job.refrigerant_loop().expect("loop"));
    insta::assert_snapshot!("loop", p.description);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever a sheet calls its parts, nothing is drawn over anything else.
    #[test]
    fn names_of_any_length_keep_apart(part in "[A-Z]{1,9}[0-9]{0,3}", wire in "[A-Z][a-z0-9]{0,14}", words in "[a-z ]{1,60}") {
        let sheet = SHEETS[0]
            .replace("\"CRUN\"", &format!("\"Q{part}\""))
            .replace("= \"R\"", &format!("= \"W{wire}\""))
            .replace("compressor return plug", &format!("x{words}"));
        let sheet = sheet.replace("NO = \"R\"", &format!("NO = \"W{wire}\""));
        if let Ok(m) = sheet_of(&sheet) {
            in_order(&wiring(&m, &wiring_of(&m)));
        }
    }
}
