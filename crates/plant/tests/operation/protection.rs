//! What protects: a part of it that is weak opens in use. One that still carries the machine is no fault of this machine.

use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::test::PowerState;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

fn plant(text: &str) -> Plant {
    Plant::new(Machine::build(text).unwrap_or_else(|e| panic!("{e}"))).expect("a plant")
}

/// Warm days and cold ones, so that a machine that heats and cools does both.
fn days() -> [Conditions; 2] {
    let kelvin = |celsius: f64| Some(celsius + 273.15);
    [
        Conditions { air: kelvin(24.0), outdoor: kelvin(33.0), humidity: Some(0.55), ..Conditions::default() },
        Conditions { air: kelvin(20.0), outdoor: kelvin(-4.0), humidity: Some(0.55), ..Conditions::default() },
    ]
}

/// Whether some test shows something else than of a sound machine, and not by a hair.
fn shows(plant: &Plant, params: &[f64], day: &Conditions) -> bool {
    let m = &plant.machine;
    let visit = Visit { conditions: *day, reset: false };
    let sound = m.sound();
    let (ours, theirs) = (plant.operate(params, &visit), plant.operate(&sound, &visit));
    m.tests.iter().any(|test| match (plant.predict(params, &ours, test), plant.predict(&sound, &theirs, test)) {
        (Prediction::Number { centre: a, over: p, .. }, Prediction::Number { centre: b, noise, common, over: q }) => {
            (p - q).abs() > 0.9 || p + q < 0.1 && (a - b).abs() > 6.0 * libm::hypot(noise, common)
        }
        (Prediction::Words(a), Prediction::Words(b)) => a.iter().zip(&b).any(|(a, b)| (a - b).abs() > 0.9),
        _ => true,
    })
}

/// Common practice, no source: a weak breaker is told by its tripping under the load that it should carry. Where the load is only
/// there now and then, a test has to ask for it.
#[test]
fn a_weak_breaker_opens_under_what_the_machine_draws() {
    let mut breakers = 0;
    for example in EXAMPLES {
        let plant = plant(example.text);
        let m = &plant.machine;
        for (i, mode) in m.modes.iter().enumerate() {
            let weakest = mode.id.ends_with(":weak:at-four-tenths-of-what-the-machine-draws");
            if m.sheet.parts[mode.part.0].class != "breaker" || !weakest {
                continue;
            }
            let mut params = m.sound();
            m.apply(ModeIx(i), &mut params);
            assert!(days().iter().any(|day| shows(&plant, &params, day)), "{} {}", example.name, mode.id);
            breakers += 1;
        }
    }
    assert!(breakers > EXAMPLES.len(), "{breakers} breakers");
}

#[test]
fn a_weak_cut_off_is_told_from_one_that_tripped_once_by_warming_it() {
    let plant = plant(EXAMPLES[0].text);
    let m = &plant.machine;
    let test = m.tests.iter().find(|t| t.id == "look ECO opens early").expect("a test that warms the cut-off");
    let shown = |mode: &str| {
        let mut params = m.sound();
        if let Some(i) = m.modes.iter().position(|x| x.name_id == mode) {
            m.apply(ModeIx(i), &mut params);
        }
        let operation = plant.operate(&params, &Visit::default());
        match plant.predict(&params, &operation, test) {
            Prediction::Words(p) => p,
            Prediction::Number { .. } => panic!("words"),
        }
    };
    assert!(shown("nothing")[0] > 0.9 && shown("ECO:tripped")[0] > 0.9);
    assert!(shown("ECO:weak")[1] > 0.9 && shown("ECO:open-pole")[1] > 0.9);
    assert_eq!(test.power, PowerState::Dead, "hands go to mains terminals");
}
