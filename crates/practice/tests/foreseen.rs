//! Hidden machines stray from the sheet. What the engine foresees has to be wide enough to hold them: where readings of sound
//! machines lie further off than their stated spread, sound machines look broken and faults look like something unknown.

use halfsplit_diagnosis::Observed;
use halfsplit_machine::examples::EXAMPLES;
use halfsplit_machine::test::{Measure, Test};
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};
use halfsplit_practice::{Hidden, Stray};

/// Sound machines drawn for each sheet and day.
const DRAWN: u64 = 400;

/// The root mean square of what should be standard normal: 400 draws lie below 1.11 in 99.9 of 100 cases; readings are not quite
/// normal, and the supply's volts are in many tests, so more is left for that.
const MOST: f64 = 1.75;

#[test]
fn what_is_foreseen_of_a_sound_machine_holds_hidden_sound_machines() {
    let kelvin = |celsius: f64| Some(celsius + 273.15);
    let days = [
        Conditions { air: kelvin(24.0), outdoor: kelvin(33.0), humidity: Some(0.55), ..Conditions::default() },
        Conditions { air: kelvin(20.0), outdoor: kelvin(2.0), humidity: Some(0.55), ..Conditions::default() },
    ];
    let stray = Stray { slips: 0.0, altered: 0.0, ..Stray::default() };
    let mut wrong = Vec::new();
    for example in EXAMPLES {
        let plant = Plant::new(Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"))).expect("a plant");
        let m = &plant.machine;
        let both = m.sheet.parts.iter().any(|p| p.class.contains("outdoor"));
        for day in &days[..if both { 2 } else { 1 }] {
            let operation = plant.operate(&m.sound(), &Visit { conditions: *day, reset: false });
            let mut squares = vec![(0.0, 0u32); m.tests.len()];
            for seed in 0..DRAWN {
                let mut hidden = Hidden::new(&plant, *day, &[], stray, 9_000 + 31 * seed);
                for (i, test) in m.tests.iter().enumerate() {
                    let foreseen = plant.predict(&m.sound(), &operation, test);
                    let (Prediction::Number { centre, noise, common, .. }, Observed::Value(read)) =
                        (foreseen, hidden.answer(&plant, i, 0))
                    else {
                        continue;
                    };
                    let water = plant.shares_water(&m.sound(), &operation, test, centre);
                    let variance = noise * noise + common * common + water * water;
                    squares[i].0 += (read - centre) * (read - centre) / variance;
                    squares[i].1 += 1;
                }
            }
            for (test, (sum, n)) in m.tests.iter().zip(squares) {
                let off = (sum / f64::from(n.max(1))).sqrt();
                if u64::from(n) > DRAWN / 2 && off > MOST {
                    wrong.push(format!("{} {}: {off:.2}", example.name, test.id));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A sensor out of its place shows the air, and a thermometer beside its place what it should show: how far they lie apart hangs
/// on two temperatures that nobody knows so well.
#[test]
fn what_is_foreseen_of_a_sensor_out_of_its_place_holds_hidden_ones() {
    let stray = Stray { slips: 0.0, altered: 0.0, ..Stray::default() };
    let mut held = 0;
    for example in EXAMPLES {
        let plant = Plant::new(Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"))).expect("a plant");
        let m = &plant.machine;
        let day =
            Conditions { air: Some(287.15), outdoor: Some(306.15), humidity: Some(0.55), ..Conditions::default() };
        for (mode, detached) in m.modes.iter().enumerate().filter(|(_, mode)| mode.name_id.ends_with(":detached")) {
            let mut params = m.sound();
            m.apply(ModeIx(mode), &mut params);
            let operation = plant.operate(&params, &Visit { conditions: day, reset: false });
            let compares = |t: &Test| matches!(t.measure, Measure::ShownLessThermometer(p) if p == detached.part);
            for (i, test) in m.tests.iter().enumerate().filter(|(_, t)| compares(t)) {
                let Prediction::Number { centre, noise, common, over } = plant.predict(&params, &operation, test)
                else {
                    panic!("{} is a number", test.id);
                };
                if over > 0.5 {
                    continue;
                }
                let water = plant.shares_water(&params, &operation, test, centre);
                let variance = noise * noise + common * common + water * water;
                let mut off: Vec<f64> = (0..60)
                    .filter_map(|seed| {
                        let mut hidden = Hidden::new(&plant, day, &[&detached.name_id], stray, 5_000 + 17 * seed);
                        let Observed::Value(read) = hidden.answer(&plant, i, 0) else { return None };
                        Some(((read - centre) * (read - centre) / variance).sqrt())
                    })
                    .collect();
                off.sort_by(f64::total_cmp);
                assert!(off.len() > 40, "{} {}: read in {} of 60", example.name, test.id, off.len());
                let nine_in_ten = off[off.len() * 9 / 10];
                assert!(nine_in_ten < 3.0, "{} {}: nine in ten within {nine_in_ten:.1}", example.name, test.id);
                held += 1;
            }
        }
    }
    assert!(held > 30, "{held} pairs of a sensor and a test");
}
