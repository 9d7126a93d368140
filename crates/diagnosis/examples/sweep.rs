//! Sweep.
use halfsplit_diagnosis::{Case, Do, Judgement, Observed, Opening};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};
use std::rc::Rc;
fn main() {
    let m =
        Machine::build(include_str!("../../../machines/garage-water-heater.toml")).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(m).unwrap_or_else(|e| panic!("{e}")));
    let conditions = Conditions { age_years: 8.0, ..Conditions::default() };
    let only = std::env::args().nth(1);
    let (mut right, mut all) = (0, 0);
    for (mi, mode) in plant.machine.modes.iter().enumerate() {
        if only.as_ref().is_some_and(|o| !mode.id.starts_with(o.as_str())) {
            continue;
        }
        if only.is_none() && mi % 2 == 1 {
            continue;
        }
        let mut case = Case::open(
            plant.clone(),
            Opening { conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() },
        );
        let mut params = plant.machine.sound();
        plant.machine.apply(ModeIx(mi), &mut params);
        let op = plant.operate(&params, &Visit { conditions, reset: false });
        let mut trace = String::new();
        let mut answer = |case: &mut Case, t: usize| {
            let test = plant.machine.tests[t].clone();
            let o = match plant.predict(&params, &op, &test) {
                Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
                Prediction::Number { centre, .. } => Observed::Value(centre),
                Prediction::Words(p) => {
                    Observed::Category(p.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).unwrap().0)
                }
            };
            trace += &format!("{} {o:?}; ", test.id);
            case.read(t, o).unwrap();
        };
        for id in ["complaint", "display lit", "display message"] {
            let t = case.test(id).unwrap();
            answer(&mut case, t);
        }
        let mut end = String::from("steps");
        let mut n = 0;
        for _ in 0..30 {
            n += 1;
            match case.advice().next {
                Do::Test(t) => answer(&mut case, t.test),
                Do::Repair { group, probability } => {
                    end = format!("{group} {probability:.2}");
                    break;
                }
                Do::End(e) => {
                    end = format!("{e:?}");
                    break;
                }
            }
        }
        let ok = end.starts_with(&mode.repair_group);
        all += 1;
        if ok {
            right += 1;
        }
        println!("{} {:44} {n:2} -> {end}", if ok { "  " } else { "XX" }, mode.id);
        if !ok || only.is_some() {
            println!("      {trace}");
            let p = case.still_possible();
            for s in p.suspects.iter().take(4) {
                println!("      {:.2} {}", s.probability, s.id);
            }
            println!("      nothing {:.2} nd {:.2}", p.nothing_broken, p.not_described);
        }
    }
    println!("{right}/{all}");
}
