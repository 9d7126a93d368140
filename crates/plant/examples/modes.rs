//! Prints what each single mode of a machine leads to: the demo machine, or the sheet named. For looking, not for testing.
use halfsplit_machine::{Machine, ModeIx};
use halfsplit_plant::{Plant, Visit};

fn main() {
    let text = std::env::args().nth(1).map_or_else(
        || include_str!("../../../machines/garage-water-heater.toml").to_owned(),
        |path| std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}")),
    );
    let m = Machine::build(&text).unwrap_or_else(|e| panic!("{e}"));
    let plant = Plant::new(m).unwrap_or_else(|e| panic!("{e}"));
    let visit = Visit::default();
    let sound = plant.machine.sound();
    let t = std::time::Instant::now();
    let mut n = 0;
    for mode in std::iter::once(None).chain((0..plant.machine.modes.len()).map(Some)) {
        let mut p = sound.clone();
        if let Some(i) = mode {
            plant.machine.apply(ModeIx(i), &mut p);
        }
        let o = plant.operate(&p, &visit);
        n += 1;
        let name = mode.map_or("sound", |i| plant.machine.modes[i].id.as_str());
        let tripped: Vec<&str> = o
            .latches
            .tripped
            .iter()
            .enumerate()
            .filter(|(_, t)| **t)
            .map(|(i, _)| plant.machine.parts[i].id.as_str())
            .collect();
        let stored: Vec<&str> = o.latches.stored.iter().map(|d| plant.machine.detections[*d].id.as_str()).collect();
        let hp = plant.timeline(&p, &o, 0).unwrap();
        let Some(last) = hp.settled() else {
            println!("{name}: nothing follows");
            continue;
        };
        let Some(start) = hp.at_start() else { continue };
        println!(
            "{name:44} lit {} hp {:.2} el {:.2} call {:.2} noticed {:.3} trip {:?} codes {:?} | {:?} {:.2}A -> {} {:.2}A ET {:.1} CT {:.1} SH {:.1} DT {:.1} open {:.2}",
            o.display_lit as u8,
            o.heat_by_heat_pump,
            o.heat_by_elements,
            o.outcome.call,
            o.outcome.noticed.anything(),
            tripped,
            stored,
            start.compressor,
            start.supply_amps,
            last.name,
            last.supply_amps,
            last.point.evaporating - 273.15,
            last.point.condensing - 273.15,
            last.point.superheat,
            last.point.discharge - 273.15,
            last.point.opening
        );
    }
    eprintln!("{:.1} us per operation", t.elapsed().as_secs_f64() * 1e6 / n as f64);
    let o = plant.operate(&sound, &visit);
    let t = std::time::Instant::now();
    let tests = plant.machine.tests.clone();
    for test in &tests {
        println!("{:50} {:?}", test.id, plant.predict(&sound, &o, test));
    }
    eprintln!("{:.2} us per prediction of {}", t.elapsed().as_secs_f64() * 1e6 / tests.len() as f64, tests.len());
}
