//! A nameplate alone gives a machine that works: sound, in weather in which somebody wants it, it does what it is for, and
//! nobody would call. Common practice, no source: what is sold runs. The plates are invented.

use std::collections::BTreeMap;

use halfsplit_machine::starter::{Form, KINDS, start};
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::{Plant, Visit};

/// Whether a machine started from these answers does what it is for.
fn works(kind: &str, answers: &[(&str, &str)], conditions: Conditions) {
    let given = answers.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect::<BTreeMap<_, _>>();
    let form = Form { kind: kind.to_owned(), name: String::new(), answers: given };
    let sheet = start(&form).unwrap_or_else(|e| panic!("{kind} {answers:?}: {e}")).sheet;
    let plant = Plant::new(Machine::build(&sheet).unwrap_or_else(|e| panic!("{e}"))).unwrap_or_else(|e| panic!("{e}"));
    let outcome = plant.operate(&plant.machine.sound(), &Visit { conditions, reset: false }).outcome;
    assert!(outcome.heat_pump > 0.9 && outcome.call < 0.1, "{kind} {answers:?}: {outcome:?}");
}

#[test]
fn whatever_a_nameplate_says_the_sound_machine_works() {
    let plates: [&[(&str, &str)]; 8] = [
        &[],
        &[("volts", "230V"), ("hertz", "50")],
        &[("volts", "230V"), ("hertz", "50"), ("refrigerant", "R32"), ("rated_load_a", "11A"), ("capacity_w", "8kW")],
        &[("capacity_w", "5kW")],
        &[("capacity_w", "17kW")],
        &[("capacity_w", "8kW"), ("rated_load_a", "15A")],
        &[("hard_start", "yes")],
        &[("contactor_poles", "1"), ("valve_energised_in", "heating")],
    ];
    for answers in plates {
        for (room, outdoors) in [(299.15, 306.15), (291.15, 278.15)] {
            let weather = Conditions { air: Some(room), outdoor: Some(outdoors), ..Conditions::default() };
            works("split", answers, weather);
        }
    }
    let small: [&[(&str, &str)]; 6] = [
        &[],
        &[("volts", "240V"), ("hertz", "60")],
        &[("capacity_w", "2.5kW"), ("refrigerant", "R410A")],
        &[("capacity_w", "7kW"), ("rated_load_a", "14A"), ("charge_kg", "1.6 kg")],
        &[("valve_energised_in", "cooling")],
        &[("earth_leakage_breaker", "no"), ("refrigerant", "R290"), ("charge_kg", "0.4 kg")],
    ];
    for answers in small {
        for (room, outdoors) in [(299.15, 306.15), (291.15, 278.15)] {
            let weather = Conditions { air: Some(room), outdoor: Some(outdoors), ..Conditions::default() };
            works("mini-split", answers, weather);
        }
    }
    for kind in KINDS.iter().filter(|k| !["split", "mini-split"].contains(&k.key)) {
        works(kind.key, &[], Conditions::default());
        works(kind.key, &[("volts", "230V"), ("hertz", "50")], Conditions::default());
    }
}
