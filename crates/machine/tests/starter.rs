//! From a nameplate to a sheet.

use std::collections::BTreeMap;

use halfsplit_machine::Machine;
use halfsplit_machine::sheet::{Rating, Sheet};
use halfsplit_machine::starter::{Form, KINDS, Started, questions, start};

fn form(kind: &str, answers: &[(&str, &str)]) -> Form {
    let answers: BTreeMap<String, String> = answers.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
    Form { kind: kind.to_owned(), name: String::new(), answers }
}

fn started(kind: &str, answers: &[(&str, &str)]) -> Started {
    start(&form(kind, answers)).unwrap_or_else(|e| panic!("{kind}: {e}"))
}

fn rating(s: &Started, part: &str, key: &str) -> f64 {
    let sheet = Sheet::parse(&s.sheet).expect("a sheet");
    let part = sheet.parts.iter().find(|p| p.id == part).unwrap_or_else(|| panic!("no part {part}"));
    match part.ratings.get(key) {
        Some(Rating::Number(v)) => *v,
        other => panic!("{key}: {other:?}"),
    }
}

#[test]
fn every_kind_starts_from_nothing_and_assumes_everything() {
    for kind in KINDS {
        let s = started(kind.key, &[]);
        let m = Machine::build(&s.sheet).unwrap_or_else(|e| panic!("{}: {e}", kind.key));
        assert!(m.modes.len() > 50 && m.tests.len() > 50, "{}", kind.key);
        assert!(s.assumed.len() >= 5, "{}: {:?}", kind.key, s.assumed);
        // Words as the form asks for them: every example answer is understood.
        for q in questions(kind) {
            if let Err(e) = start(&form(kind.key, &[(q.key, q.example)])) {
                panic!("{} {}: {e}", kind.key, q.key);
            }
        }
    }
}

#[test]
fn what_was_read_is_taken_and_the_rest_marked() {
    let s = started(
        "split",
        &[
            ("volts", "230 V"),
            ("hertz", "50 Hz"),
            ("refrigerant", "R32"),
            ("rated_load_a", "11 A"),
            ("capacitor_uf", "40 uF"),
        ],
    );
    let sheet = Sheet::parse(&s.sheet).expect("a sheet");
    assert_eq!((sheet.nameplate.volts, sheet.nameplate.hertz), (230.0, 50.0));
    assert_eq!(sheet.nameplate.refrigerant.as_deref(), Some("R32"));
    assert_eq!(sheet.nameplate.rated_load_a, Some(11.0));
    assert_eq!(rating(&s, "CDUAL", "herm_uf"), 40.0);
    assert!(!s.assumed.contains(&"CDUAL.herm_uf".to_owned()));
    assert!(s.assumed.contains(&"COMP.run_ohm".to_owned()) && s.assumed.contains(&"CDUAL.fan_uf".to_owned()));
    // A smaller machine has a compressor of more ohms.
    assert!(rating(&s, "COMP", "run_ohm") > 0.62);
    // On 50 Hz one conductor is a neutral.
    assert_eq!(rating(&s, "MAINS", "earthed"), 1.0);
    // Assumed values are spread wider than read ones.
    let (m, known) = (Machine::build(&s.sheet).expect("builds"), Machine::build(KINDS[1].example).expect("builds"));
    let spread = |m: &Machine| {
        let part = m.part("COMP").expect("COMP");
        m.params.iter().find(|p| p.part == part && p.name == "run ohms").expect("run ohms").spread
    };
    assert_ne!(format!("{:?}", spread(&m)), format!("{:?}", spread(&known)));
}

/// Judgement: a larger inverter drives more current from the same bus: fewer ohms, more microfarads, a higher trip.
#[test]
fn an_inverter_is_sized_by_what_its_bus_carries() {
    let (small, large) =
        (started("mini-split", &[("capacity_w", "2.5 kW")]), started("mini-split", &[("capacity_w", "7 kW")]));
    assert!((rating(&small, "COMP", "pair_ohm") / rating(&large, "COMP", "pair_ohm") - 2.8).abs() < 0.05);
    assert!((rating(&large, "CBUS", "microfarad") / rating(&small, "CBUS", "microfarad") - 2.8).abs() < 0.05);
    assert!(rating(&large, "IPM", "trips_a") > rating(&small, "IPM", "trips_a"));
    let sheet = Sheet::parse(&large.sheet).expect("a sheet");
    assert_eq!(sheet.nameplate.locked_rotor_a, None);
    assert_eq!(rating(&large, "F1", "rated_a"), sheet.nameplate.breaker_a.expect("a breaker"));
    assert_eq!(rating(&large, "FI", "rated_a"), 3.0);
    // The valve's coil the other way round: its relay pulls in cooling.
    let other = Sheet::parse(&started("mini-split", &[("valve_energised_in", "cooling")]).sheet).expect("a sheet");
    let pulls = |id: &str| {
        other.commands.iter().find(|c| c.id == id).expect(id).stages.iter().any(|s| s.on.contains(&"KRV".to_owned()))
    };
    assert!(pulls("cooling") && !pulls("heating"));
    assert!(large.notes.iter().any(|n| n.contains("three readings between its pins are alike")), "{:?}", large.notes);
}

/// P = V²/R, arithmetic: an element of other watts and volts has other ohms.
#[test]
fn ohms_follow_from_watts() {
    let s = started("water-heater", &[("volts", "208 V"), ("element_w", "3500 W")]);
    let m = Machine::build(&s.sheet).expect("builds");
    let part = m.part("EUP").expect("EUP");
    let ohms = m.params.iter().find(|p| p.part == part && p.name == "ohms").expect("ohms").nominal;
    assert!((ohms - 208.0 * 208.0 / 3500.0).abs() < 0.01, "{ohms}");
}

#[test]
fn a_contradicting_nameplate_is_taken_and_doubted() {
    let s = started("split", &[("rated_load_a", "16.7 A"), ("locked_rotor_a", "23 A")]);
    assert!(s.notes.iter().any(|n| n.contains("doubted") && n.contains("LRA")), "{:?}", s.notes);
    let s = started("split", &[("rated_load_a", "16.7"), ("fan_a", "1.2"), ("minimum_circuit_a", "35")]);
    assert!(s.notes.iter().any(|n| n.contains("MCA")), "{:?}", s.notes);
    // NEC 440 (from memory): 1.25 × 16.7 + 1.2 = 22.1 A fits.
    let s = started("split", &[("rated_load_a", "16.7"), ("fan_a", "1.2"), ("minimum_circuit_a", "22.1")]);
    assert!(!s.notes.iter().any(|n| n.contains("MCA")), "{:?}", s.notes);
    let s = started("water-heater", &[("element_w", "4500"), ("element_ohm", "21")]);
    assert!(s.notes.iter().any(|n| n.contains("Both are doubted")), "{:?}", s.notes);
}

#[test]
fn unknown_structure_is_carried_as_alternatives() {
    let s = started("split", &[]);
    let poles = s.alternatives.iter().find(|a| a.key == "contactor_poles").expect("asked");
    let single = Machine::build(&poles.others[0].sheet).expect("the other way builds");
    let contactor = single.part("CC").expect("CC");
    assert!(single.parts[contactor.0].terminals.iter().all(|t| t.name != "T2" || t.net.is_none()));
    // Answered, it is no alternative any more.
    let s = started("split", &[("contactor_poles", "1")]);
    assert!(s.alternatives.iter().all(|a| a.key != "contactor_poles"));
    let s = started("water-heater", &[("cut_off_feeds_board", "?")]);
    assert!(s.alternatives.iter().any(|a| a.key == "cut_off_feeds_board"));
}

#[test]
fn what_cannot_be_understood_is_refused_with_its_question() {
    for (kind, key, value) in [
        ("split", "volts", "240 ohm"),
        ("split", "volts", "9 V"),
        ("split", "contactor_poles", "3"),
        ("refrigerator", "element_w", "4500"),
        ("mini-split", "locked_rotor_a", "40 A"),
        ("mini-split", "volts", "115 V"),
    ] {
        let e = start(&form(kind, &[(key, value)])).expect_err(key);
        assert_eq!(e.key, key, "{e}");
        assert!(!e.hint.is_empty());
    }
    assert!(start(&form("toaster", &[])).is_err());
    // A refrigerant that nobody knows makes a sheet; the loop refuses it when it is computed.
    assert!(start(&form("split", &[("refrigerant", "R999")])).is_ok());
}
