//! Joints: a loose one is open to whatever measures through it, and leads on each other's pins start a motor or not.

use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::test::{Answer, Measure};
use halfsplit_machine::{Conditions, Machine, ModeIx, Role};
use halfsplit_plant::{Plant, Prediction, Visit};

fn plant(text: &str) -> Plant {
    Plant::new(Machine::build(text).unwrap_or_else(|e| panic!("{e}"))).expect("a plant")
}

/// Common practice, no source: the lead of a sensor that has come off reads as an open sensor, not as a very cold one.
#[test]
fn a_loose_sensor_lead_is_open_to_the_board() {
    let visit = Visit { conditions: Conditions::default(), reset: false };
    let mut leads = 0;
    for example in EXAMPLES {
        let plant = plant(example.text);
        let m = &plant.machine;
        for (i, mode) in m.modes.iter().enumerate() {
            if !mode.name_id.ends_with(":loose-1") || !matches!(m.parts[mode.part.0].role, Role::Thermistor(_)) {
                continue;
            }
            let mut params = m.sound();
            m.apply(ModeIx(i), &mut params);
            let operation = plant.operate(&params, &visit);
            for test in m.tests.iter().filter(|t| t.measure == Measure::ShownTemperature(mode.part)) {
                let shown = plant.predict(&params, &operation, test);
                let Prediction::Number { over, .. } = shown else { panic!("{}: {shown:?}", test.id) };
                assert!(over > 0.99, "{}: {} shows {shown:?} with {}", example.name, test.id, mode.id);
                leads += 1;
            }
        }
    }
    assert!(leads >= 10, "{leads} looked at");
}

/// Common practice, no source: a meter of ten megohms behind a lug that has come off shows nothing, and not a share of the mains.
#[test]
fn behind_a_loose_lug_there_are_no_volts() {
    let plant = plant(EXAMPLES[0].text);
    let m = &plant.machine;
    let visit = Visit { conditions: Conditions::default(), reset: false };
    let mut params = m.sound();
    m.apply(ModeIx(m.modes.iter().position(|x| x.id == "K1:loose-NO").expect("a lug")), &mut params);
    let test = m.tests.iter().find(|t| t.id == "volts L2E-R while heat-pump").expect("it is measured");
    let shown = plant.predict(&params, &plant.operate(&params, &visit), test);
    assert!(matches!(shown, Prediction::Number { centre, .. } if centre < 1.0), "{shown:?}");
}

/// Judgement: with the leads of a capacitor motor exchanged it has little starting torque, and what it does is not known: one
/// degree starts, the other hums. The two water heaters; the other examples start their compressors by other means.
#[test]
fn a_motor_with_exchanged_leads_starts_in_one_degree_and_hums_in_the_other() {
    let visit = Visit { conditions: Conditions::default(), reset: false };
    for example in &EXAMPLES[..2] {
        let plant = plant(example.text);
        let m = &plant.machine;
        let watch = m.tests.iter().find(|t| t.id == "watch COMP while heat-pump").expect("somebody watches it");
        let does: Vec<String> = ["COMP:miswired:turns-the-wrong-way", "COMP:miswired:does-not-start"]
            .iter()
            .map(|id| {
                let i = m.modes.iter().position(|x| x.id == *id).unwrap_or_else(|| panic!("no {id}"));
                let mut params = m.sound();
                m.apply(ModeIx(i), &mut params);
                let Prediction::Words(p) = plant.predict(&params, &plant.operate(&params, &visit), watch) else {
                    panic!("no words")
                };
                let likeliest = (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b])).expect("words");
                let Answer::Words(words) = &watch.answer else { panic!("no words") };
                words[likeliest].to_string()
            })
            .collect();
        assert_eq!(does, ["runs", "hums, then stops"], "{}", example.name);
    }
}
