//! One visit, looked at closely: `replay NAME[,NAME] SEED [DAY]` prints what is still possible after every step.
use std::rc::Rc;

use halfsplit_diagnosis::{Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::test::{Answer, Tool};
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::{Plant, axis_of};
use halfsplit_practice::{Hide, Practice, Step};

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let names = args.get(1).expect("a name").split(',').map(str::to_owned).collect();
    let seed = args.get(2).map_or(1, |s| s.parse().expect("a seed"));
    let day: usize = args.get(3).map_or(0, |s| s.parse().expect("a day"));
    let machine = Machine::build(include_str!("../../../machines/garage-water-heater.toml"));
    let plant = Rc::new(Plant::new(machine.unwrap_or_else(|e| panic!("{e}"))).unwrap_or_else(|e| panic!("{e}")));
    let (air, age_years, recent_work) = [(293.15, 8.0, false), (286.15, 12.0, false), (294.15, 8.0, true)][day];
    let conditions = Conditions { air: Some(air), age_years, recent_work, ..Conditions::default() };
    let opening =
        Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
    let mut visit = Practice::begin(&plant, opening, &Hide::Names(names), seed).unwrap_or_else(|e| panic!("{e}"));
    let say = |step: &(Step, f64)| match &step.0 {
        Step::Read(t, o) => {
            let test = &plant.machine.tests[*t];
            let shown = match (o, axis_of(test), &test.answer) {
                (Observed::Value(x), Some(axis), _) => format!("{:.4e}", axis.from(*x)),
                (Observed::Category(i), _, Answer::Words(w)) => w[*i].clone(),
                (o, ..) => format!("{o:?}"),
            };
            println!("{:5.1} min  {} -> {shown}", step.1, test.id);
        }
        other => println!("{:5.1} min  {other:?}", step.1),
    };
    visit.steps().iter().for_each(say);
    for _ in 0..40 {
        let possible = visit.case().posterior().clone();
        for w in possible.hypotheses.iter().take(6) {
            let modes: Vec<&str> =
                w.hypothesis.modes().iter().map(|m| plant.machine.modes[m.0 as usize].id.as_str()).collect();
            println!("                {:.4} {}", w.probability, modes.join(" + "));
        }
        println!("                {:.4} not described", possible.not_described);
        let advice = visit.case().advice();
        println!(
            "             expects {:.0} min, acting now {:.0} min",
            advice.expected_minutes, advice.act_now_minutes
        );
        match advice.next {
            Do::Test(t) => {
                visit.ask(t.test).unwrap_or_else(|e| panic!("{e}"));
            }
            Do::Repair { group, .. } => {
                visit.mend(&group).unwrap_or_else(|e| panic!("{e}"));
            }
            Do::End(ending) => {
                println!("{ending:?}");
                break;
            }
        }
        visit.steps().last().into_iter().for_each(say);
    }
}
