//! Evaluates the demo machine: `--draws N --only singles,pairs-prior --seed S --threads 2 --name CRUN --trace`.
use std::rc::Rc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use halfsplit_diagnosis::{Judgement, Observed};
use halfsplit_machine::Machine;
use halfsplit_machine::test::Answer;
use halfsplit_plant::{Plant, axis_of};
use halfsplit_practice::{Bench, JobResult, Settings, Step, Subject, jobs, summarise};

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let value = |flag: &str| args.iter().position(|a| a == flag).and_then(|i| args.get(i + 1)).cloned();
    let number = |flag: &str, default: usize| value(flag).map_or(default, |v| v.parse().expect("a number"));
    let mut settings =
        Settings { draws: number("--draws", 5), seed: number("--seed", 1) as u64, ..Settings::default() };
    if let Some(only) = value("--only") {
        settings.parts.retain(|p| only.split(',').any(|o| o == p.name()));
    }
    let text = include_str!("../../../machines/garage-water-heater.toml");
    let machine = Machine::build(text).unwrap_or_else(|e| panic!("{e}"));
    let mut all = jobs(&machine, &settings);
    if let Some(name) = value("--name") {
        all.retain(|j| matches!(&j.subject, Subject::Names(n) if n.iter().any(|x| x.starts_with(&name))));
    }
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, JobResult)>> = Mutex::new(Vec::new());
    let started = Instant::now();
    std::thread::scope(|scope| {
        for _ in 0..number("--threads", 1) {
            scope.spawn(|| {
                let machine = Machine::build(text).unwrap_or_else(|e| panic!("{e}"));
                let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
                let mut bench = Bench::new(plant, settings.clone(), Judgement::default());
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = all.get(at) else { break };
                    let result = bench.run(job).unwrap_or_else(|e| panic!("{e}"));
                    let mut results = results.lock().unwrap();
                    results.push((at, result));
                    let n = results.len();
                    if n % 20 == 0 {
                        eprintln!("{n} of {} in {:.0} s", all.len(), started.elapsed().as_secs_f64());
                    }
                }
            });
        }
    });
    let seconds = started.elapsed().as_secs_f64();
    let mut results = results.into_inner().unwrap();
    results.sort_by_key(|r| r.0);
    let results: Vec<JobResult> = results.into_iter().map(|r| r.1).collect();
    if args.iter().any(|a| a == "--trace") {
        results.iter().for_each(|r| trace(&machine, r));
    }
    let report = summarise(&machine, &results);
    for (title, list) in [("singles", &report.singles), ("intermittent", &report.intermittent)] {
        if list.is_empty() {
            continue;
        }
        let mean = list.iter().map(|n| n.right as f64 / n.visits as f64).sum::<f64>() / list.len() as f64;
        println!("{title}: mean over {} names {mean:.3}", list.len());
        for n in list {
            println!("  {:24} {:3}/{:3} {:6.0} min", n.name, n.right, n.visits, n.minutes);
        }
    }
    let asked: usize = results.iter().map(|r| r.own().asked).sum();
    println!("{} visits, {asked} recommendations, {seconds:.1} s", results.len());
}

fn trace(machine: &Machine, r: &JobResult) {
    let run = r.own();
    println!(
        "\n== {} {:?} day {} seed {} right {} quiet {} minutes {:.0} not described {:.2}",
        r.part.name(),
        r.hidden,
        r.day,
        r.seed,
        run.right_at_once(),
        run.quiet,
        run.minutes,
        run.not_described
    );
    for (step, minutes) in &run.steps {
        match step {
            Step::Read(t, o) => {
                let test = &machine.tests[*t];
                let shown = match (o, axis_of(test), &test.answer) {
                    (Observed::Value(x), Some(axis), _) => format!("{:.4e}", axis.from(*x)),
                    (Observed::Category(i), _, Answer::Words(w)) => w[*i].clone(),
                    (o, ..) => format!("{o:?}"),
                };
                println!("   {minutes:5.1} {} -> {shown}", test.id);
            }
            other => println!("   {minutes:5.1} {other:?}"),
        }
    }
}
