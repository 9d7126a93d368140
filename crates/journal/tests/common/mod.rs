//! An invented job, written on one device.
#![allow(dead_code, reason = "each test file uses its own part of this")]

use halfsplit_journal::{
    Action, ActionKind, Advised, Conditions, Ended, Ending, Event, EventId, FactLearned, Journal, Kind, Observation,
    Opened, Photo, Proposal, ProvingRun, Reading, Repaired, SafetyKind, SafetyReport, SkipReason, Skipped,
};
use halfsplit_units::{Dimension, Preferences, parse_entry};

pub fn reading(test: &str, as_typed: &str, dimension: Dimension) -> Reading {
    Reading {
        test: test.into(),
        as_typed: as_typed.into(),
        entry: Some(parse_entry(as_typed, Some(dimension)).expect("an entry")),
        ..Reading::default()
    }
}

/// Adds an event to a journal as a client would.
pub fn add(journal: &mut Journal, device: &str, kind: Kind) -> EventId {
    let seq = journal.next_seq();
    let id = EventId::new(format!("{device}-{seq}"));
    let time = format!("2026-03-02T09:{:02}:00+01:00", seq);
    journal.events.push(Event::new(seq, id.clone(), time, "Ada", device, kind));
    id
}

pub fn job() -> Journal {
    let mut journal = Journal::new("job-17");
    let j = &mut journal;
    let phone = "phone-1";
    let conditions = Conditions {
        supply_volts: Some(238.5),
        ambient: Some(293.15),
        humidity: Some(0.55),
        water_in: Some(285.15),
        altitude: Some(410.0),
        ..Conditions::default()
    };
    add(
        j,
        phone,
        Kind::Opened(Opened {
            sheet_text: "title = \"invented heater\"\n".into(),
            sheet_hash: "b3:5f1d".into(),
            engine_version: "0.1.0".into(),
            machine_age_years: Some(7.0),
            complaint: "It \"hums\" – then nothing.\nNo hot water since Monday.".into(),
            shown_code: Some("P4".into()),
            onset: Some("after a power cut".into()),
            conditions,
            tools_carried: vec!["meter".into(), "clamp".into()],
            seed: 20_260_302,
            units: Preferences::default(),
        }),
    );
    add(j, phone, Kind::SafetyReport(SafetyReport { kind: SafetyKind::ProvedDead, who: "Ada".into() }));
    add(
        j,
        phone,
        Kind::Advised(Advised {
            text: "Measure the run capacitor out of circuit.".into(),
            proposes: Proposal::Test("capacitance:CRUN".into()),
            reasons: vec!["It divides what is still possible almost in half.".into()],
            budget_used: 4096,
        }),
    );
    let mut wrong = reading("capacitance:CRUN", "12.1 uF", Dimension::Capacitance);
    wrong.power = Some("isolated".into());
    let slip = add(j, phone, Kind::Reading(wrong.clone()));
    add(j, phone, Kind::Undone { event: slip });
    let mut right = reading("capacitance:CRUN", "2.1 uF", Dimension::Capacitance);
    right.power = wrong.power;
    right.note = "bulged lid".into();
    add(j, phone, Kind::Reading(right));
    add(j, phone, Kind::Skipped(Skipped { test: "insulation:C-PE".into(), reason: SkipReason::NoTool }));
    add(
        j,
        phone,
        Kind::Skipped(Skipped { test: "gauge:low".into(), reason: SkipReason::Other("core is painted over".into()) }),
    );
    add(j, phone, Kind::Observation(Observation { what: "compressor".into(), words: "hums 7 s then silent".into() }));
    add(
        j,
        phone,
        Kind::FactLearned(FactLearned {
            name: "CRUN.rating".into(),
            as_typed: "12,5 MFD".into(),
            entry: Some(parse_entry("12,5 MFD", Some(Dimension::Capacitance)).expect("a rating")),
        }),
    );
    add(j, phone, Kind::Photo(Photo { hash: "b3:77aa".into(), what: "nameplate".into() }));
    add(j, phone, Kind::Action(Action { kind: ActionKind::Replace, part: "CRUN".into(), detail: String::new() }));
    add(j, phone, Kind::Repaired(Repaired { part: "CRUN".into(), what: "new, 12.5 µF 440 V".into() }));
    add(j, phone, Kind::ProvingRun(ProvingRun { passed: true, note: "1.8 A, 60 °C".into() }));
    add(
        j,
        phone,
        Kind::Ended(Ended {
            ending: Ending::Repaired,
            cause: Some("CRUN low".into()),
            upstream: Some("heat: filter was matted".into()),
            note: String::new(),
        }),
    );
    journal
}
