//! Prints what a machine does under each command, sound or with modes: `cargo run --example look -- sheet.toml [MODE…]`.
use halfsplit_machine::{Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let text = std::fs::read_to_string(&args[0]).expect("a sheet");
    let machine = Machine::build(&text).unwrap_or_else(|e| panic!("{e}"));
    println!("{} parts, {} modes, {} tests", machine.parts.len(), machine.modes.len(), machine.tests.len());
    let plant = Plant::new(machine).unwrap_or_else(|e| panic!("{e}"));
    let m = &plant.machine;
    let mut p = m.sound();
    for a in &args[1..] {
        let Some(i) = m.modes.iter().position(|x| x.id == *a) else { continue };
        m.apply(ModeIx(i), &mut p);
    }
    let o = plant.operate(&p, &Visit::default());
    println!("outcome {:?}", o.outcome);
    for (c, command) in m.commands.iter().enumerate() {
        let t = plant.timeline(&p, &o, c).expect("timeline");
        println!("{} fired {:?}", command.id, t.fired);
        for x in &t.phases {
            let q = &x.point;
            println!(
                "  {:>6.0} s {:<32} {:?} {:.2} A; et {:.1} ct {:.1} sh {:.1} sc {:.1} dt {:.1} W {:.0} heat {:.0} cool {:.0} out {:.1} open {:.2}",
                x.starts,
                x.name,
                x.compressor,
                x.supply_amps,
                q.evaporating - 273.15,
                q.condensing - 273.15,
                q.superheat,
                q.subcooling,
                q.discharge - 273.15,
                q.compressor_power,
                q.heat,
                q.cooling,
                q.leaving_air - 273.15,
                q.opening
            );
        }
    }
    if args.iter().any(|a| a == "tests") {
        for t in &m.tests {
            match plant.predict(&p, &o, t) {
                Prediction::Number { centre, noise, common, over } => {
                    println!("{:<44} {centre:.3} ±{noise:.3} ±{common:.3} over {over:.2}", t.id)
                }
                Prediction::Words(w) => println!("{:<44} {w:.2?}", t.id),
            }
        }
    }
}
