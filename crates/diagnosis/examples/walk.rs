//! Walks one hidden single fault through the advice, answering each test with the expected reading.
use halfsplit_diagnosis::{Action, Case, Do, Judgement, Observed, Opening};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};
use std::rc::Rc;

fn main() {
    let hidden = std::env::args().nth(1).unwrap_or_else(|| "CRUN:open".into());
    let t0 = std::time::Instant::now();
    let m =
        Machine::build(include_str!("../../../machines/garage-water-heater.toml")).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(m).unwrap_or_else(|e| panic!("{e}")));
    let conditions = Conditions { age_years: 8.0, ..Conditions::default() };
    let mut case =
        Case::open(plant.clone(), Opening { conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() });
    println!("open {:?}", t0.elapsed());
    let mode = plant.machine.modes.iter().position(|x| x.id == hidden);
    let mut params = plant.machine.sound();
    if let Some(mode) = mode {
        plant.machine.apply(ModeIx(mode), &mut params);
    }
    let op = plant.operate(&params, &Visit { conditions, reset: false });
    let answer = |case: &mut Case, t: usize| {
        let test = plant.machine.tests[t].clone();
        let o = match plant.predict(&params, &op, &test) {
            Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
            Prediction::Number { centre, .. } => Observed::Value(centre),
            Prediction::Words(p) => {
                Observed::Category(p.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).unwrap().0)
            }
        };
        println!("   {} -> {o:?}", test.id);
        let t0 = std::time::Instant::now();
        case.read(t, o).unwrap();
        println!("   read took {:?}", t0.elapsed());
    };
    for id in ["complaint", "display lit", "display message"] {
        let t = case.test(id).unwrap();
        answer(&mut case, t);
    }
    for _ in 0..15 {
        let p = case.still_possible();
        for s in p.suspects.iter().take(6) {
            println!("      {:.3} {} {}", s.probability, s.id, s.level);
        }
        println!(
            "      nothing {:.3} not described {:.3} unexpanded {:.5} hyps {}",
            p.nothing_broken,
            p.not_described,
            p.not_worked_out,
            case.posterior().hypotheses.len()
        );
        let t0 = std::time::Instant::now();
        let a = case.advice();
        println!(
            "advice in {:?}: expected {:.1} min, act now {:.1}, {} expansions",
            t0.elapsed(),
            a.expected_minutes,
            a.act_now_minutes,
            a.expansions
        );
        match a.next {
            Do::Test(t) => {
                answer(&mut case, t.test);
            }
            Do::Repair { group, probability } => {
                println!("REPAIR {group} {probability:.3}");
                case.act(&Action::Mend(group)).unwrap();
                break;
            }
            Do::End(e) => {
                println!("END {e:?}");
                break;
            }
        }
    }
}
