//! Evaluates the demo machine, or with `--sheet FILE` another one (which has no chart to compare with).
//!
//! `--only singles,intermittent,pairs-prior,pairs-uniform,not-described,calibration,minutes` chooses parts;
//! `--policies own,fixed,blind,chart,one-step,gain,random` chooses who visits the machines of `minutes`, `--chart FILE` another chart;
//! `--draws N`, `--pairs N`, `--left-out N`, `--prior N`, `--compared N` say how much; `--seed S`, `--threads N`;
//! `--known-wrong`: on visits to single faults and to pairs it is known that something is wrong, left out: they follow a call;
//! `--name PREFIX` keeps faults of that name, `--every N` one visit in so many, `--visit SEED` the one that a trace tells so; `--trace` prints every visit
//! (`--trace wrong`: those that went wrong), `--odds` also what was still possible after each step, and where a visit went wrong what spoke for and against the truth, in bits; `--json`;
//! `--slips S` and `--altered S` set the share of slips and of predictions that are altered: what a sum of trouble costs;
//! `--not-found MIN`: minutes that it costs to go home without what had to be found, on visits where something is known to be wrong.
use std::rc::Rc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use halfsplit_diagnosis::{Action, Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::test::{Answer, Tool};
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::{Plant, axis_of};
use halfsplit_practice::{
    Bench, Contender, Flowchart, Hide, Job, JobResult, Part, Practice, Settings, Step, Subject, jobs, summarise,
};

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const SHEET: &str = include_str!("../../../machines/garage-water-heater.toml");
const CHART: &str = include_str!("../../../machines/garage-water-heater.flowchart.toml");

const FLAGS: [&str; 22] = [
    "--sheet",
    "--only",
    "--policies",
    "--chart",
    "--draws",
    "--pairs",
    "--left-out",
    "--prior",
    "--compared",
    "--seed",
    "--threads",
    "--known-wrong",
    "--name",
    "--every",
    "--visit",
    "--trace",
    "--odds",
    "--json",
    "--slips",
    "--altered",
    "--not-found",
    "--help",
];

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let unknown = args[1..].iter().find(|a| a.starts_with("--") && !FLAGS.contains(&a.as_str()));
    if unknown.is_some() || args.iter().any(|a| a == "--help") {
        let about = include_str!("evaluate.rs").lines().map_while(|l| l.strip_prefix("//!"));
        eprintln!("{}", about.collect::<Vec<_>>().join("\n"));
        std::process::exit(if unknown.is_some() { 2 } else { 0 });
    }
    let value = |flag: &str| args.iter().position(|a| a == flag).and_then(|i| args.get(i + 1)).cloned();
    let number = |flag: &str, default: usize| value(flag).map_or(default, |v| v.parse().expect("a number"));
    let has = |flag: &str| args.iter().any(|a| a == flag);
    let default = Settings::default();
    let mut settings = Settings {
        seed: number("--seed", 1) as u64,
        draws: number("--draws", default.draws),
        pairs: number("--pairs", default.pairs),
        left_out: number("--left-out", default.left_out),
        prior: number("--prior", default.prior),
        compared: number("--compared", default.compared),
        ..default.clone()
    };
    let share = |flag: &str, default: f64| value(flag).map_or(default, |v| v.parse().expect("a share from 0 to 1"));
    settings.stray.slips = share("--slips", settings.stray.slips);
    settings.stray.altered = share("--altered", settings.stray.altered);
    if has("--known-wrong") {
        settings.errand = Errand::FindIt;
    }
    if let Some(only) = value("--only") {
        settings.parts.retain(|p| only.split(',').any(|o| o == p.name()));
    }
    if let Some(policies) = value("--policies") {
        let unknown = policies.split(',').find(|p| Contender::ALL.iter().all(|c| c.key() != *p));
        assert!(unknown.is_none(), "{}: no such policy, see --help", unknown.unwrap_or_default());
        settings.contenders.retain(|c| policies.split(',').any(|p| p == c.key()));
    }
    let machine = Machine::build(&sheet()).unwrap_or_else(|e| panic!("{e}"));
    let mut all = jobs(&machine, &settings);
    if let Some(name) = value("--name") {
        all.retain(|j| matches!(&j.subject, Subject::Names(n) if n.iter().any(|x| x.starts_with(&name))));
    }
    if value("--visit").is_some() {
        let seed = number("--visit", 0) as u64;
        all.retain(|j| j.seed == seed);
    }
    let every = number("--every", 1).max(1);
    let mut place = 0..;
    all.retain(|_| place.next().is_some_and(|i: usize| i.is_multiple_of(every)));
    let started = Instant::now();
    let results = run_all(&all, &settings, number("--threads", 1), started);
    for r in &results {
        let wrong = r.own().unneeded > 0 || !r.own().cured;
        if has("--trace") && (wrong || value("--trace").as_deref() != Some("wrong")) {
            trace(&machine, r, has("--odds").then(|| bench(&settings)));
        }
    }
    let mut report = summarise(&bench(&settings).common(), &results);
    if has("--json") || settings.parts == default.parts {
        report.seconds_per_recommendation = Some(seconds_per_recommendation());
    }
    if has("--json") {
        println!("{}", serde_json::to_string_pretty(&report).expect("a report is plain data"));
    } else {
        println!("{report}");
        println!(
            "{} visits, {} recommendations, {:.0} s",
            results.len(),
            report.recommendations,
            started.elapsed().as_secs_f64()
        );
    }
}

/// What going home empty-handed costs may be told.
fn judgement() -> Judgement {
    let mut args = std::env::args().skip_while(|a| a != "--not-found").skip(1);
    let default = Judgement::default();
    let not_found = args.next().map_or(default.not_found, |v| v.parse().expect("minutes"));
    Judgement { not_found, ..default }
}

/// The text of the chart: that of the demo machine, or another for it.
fn chart() -> String {
    text("--chart", CHART)
}

/// The text of the sheet that is evaluated.
fn sheet() -> String {
    text("--sheet", SHEET)
}

/// The text of the file that a flag names, or what stands for it.
fn text(flag: &str, otherwise: &str) -> String {
    let mut args = std::env::args().skip_while(|a| a != flag).skip(1);
    args.next()
        .map_or(otherwise.to_owned(), |path| std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}")))
}

fn bench(settings: &Settings) -> Bench {
    let machine = Machine::build(&sheet()).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
    let chart = (sheet() == SHEET).then(|| Flowchart::parse(&chart()).unwrap_or_else(|e| panic!("{e}")));
    Bench::new(plant, settings.clone(), judgement(), chart)
}

fn run_all(all: &[Job], settings: &Settings, threads: usize, started: Instant) -> Vec<JobResult> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, JobResult)>> = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let mut bench = bench(settings);
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(job) = all.get(at) else { break };
                    let result = bench.run(job).unwrap_or_else(|e| panic!("{e}"));
                    let mut results = results.lock().unwrap();
                    results.push((at, result));
                    let n = results.len();
                    if n.is_multiple_of(20) || n == all.len() {
                        eprintln!("{n} of {} in {:.0} s", all.len(), started.elapsed().as_secs_f64());
                    }
                }
            });
        }
    });
    let mut results = results.into_inner().unwrap();
    results.sort_by_key(|r| r.0);
    results.into_iter().map(|r| r.1).collect()
}

/// Mean over a few fresh visits: a reading taken in and the next step asked for, the first step of a visit included.
fn seconds_per_recommendation() -> f64 {
    let machine = Machine::build(&sheet()).unwrap_or_else(|e| panic!("{e}"));
    let plant = Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")));
    let (mut seconds, mut count) = (0.0, 0);
    for seed in 0..4 {
        let conditions = Conditions { age_years: 8.0, ..Conditions::default() };
        let opening =
            Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
        let mut visit = Practice::begin(&plant, opening, &Hide::ByPrior, seed).unwrap_or_else(|e| panic!("{e}"));
        let mut started = Instant::now();
        while let Do::Test(t) = visit.case().next_step() {
            seconds += started.elapsed().as_secs_f64();
            count += 1;
            started = Instant::now();
            visit.ask(t.test).unwrap_or_else(|e| panic!("{e}"));
        }
    }
    seconds / f64::from(count.max(1))
}

fn trace(machine: &Machine, r: &JobResult, mut odds: Option<Bench>) {
    for (policy, run) in &r.runs {
        println!(
            "\n== {} {:?} {policy}: day {} seed {}: right at once {}, cured {}, quiet {}, {:.0} min, not described {:.2}",
            r.part.name(),
            r.hidden,
            r.day,
            r.seed,
            run.right_at_once(),
            run.cured,
            run.quiet,
            run.minutes,
            run.not_described
        );
        let mut case = odds.as_mut().map(|b| b.fresh(r.day, r.errand));
        if let Some(case) = case.as_mut().filter(|_| r.part == Part::NotDescribed) {
            case.leave_out(&r.hidden);
        }
        for (step, minutes) in &run.steps {
            let band = case.as_mut().and_then(|case| match step {
                Step::Read(t, _) => case.expected_band(*t),
                _ => None,
            });
            let retold = case.as_mut().map(|case| match step {
                Step::Read(t, o) => case.read(*t, *o),
                Step::Mended { group, proved, .. } => {
                    case.act(&Action::Mend(group.clone())).and_then(|()| case.prove(*proved))
                }
                Step::Proved(right) => case.prove(*right),
                Step::Ended(..) | Step::GaveUp => Ok(()),
            });
            if let Some(Err(e)) = retold {
                panic!("{e}");
            }
            match step {
                Step::Read(t, o) => {
                    let test = &machine.tests[*t];
                    let shown = match (o, axis_of(test), &test.answer) {
                        (Observed::Value(x), Some(axis), _) => format!("{:.4e}", axis.from(*x)),
                        (Observed::Category(i), _, Answer::Words(w)) => w[*i].clone(),
                        (o, ..) => format!("{o:?}"),
                    };
                    let sound = band.map_or(String::new(), |(low, high)| {
                        let of = |x: f64| axis_of(test).map_or(x, |axis| axis.from(x));
                        format!(" (sound: {:.4e} to {:.4e})", of(low), of(high))
                    });
                    println!("   {minutes:5.1} {} -> {shown}{sound}", test.id);
                }
                other => println!("   {minutes:5.1} {other:?}"),
            }
            if let Some(case) = &case {
                let possible = case.still_possible();
                let likely: Vec<String> = possible
                    .suspects
                    .iter()
                    .take(7)
                    .map(|s| format!("{} {:.1}", s.id, s.probability * 100.0))
                    .collect();
                println!(
                    "              {} | nothing {:.1}, not described {:.1}",
                    likely.join(", "),
                    possible.nothing_broken * 100.0,
                    possible.not_described * 100.0
                );
            }
        }
        // What spoke for and against the truth, in bits.
        for name in r.hidden.iter().filter(|_| !run.right_at_once() || !run.cured) {
            let Some(standing) = case.as_mut().and_then(|c| c.reasons(name)) else { continue };
            let voices = standing.readings.iter().filter(|v| v.weight.abs() > std::f64::consts::LN_2);
            let said: Vec<String> = voices
                .map(|v| {
                    format!(
                        "{} {:+.1}",
                        machine.tests.get(v.test).map_or("proof", |t| &t.id),
                        v.weight / std::f64::consts::LN_2
                    )
                })
                .collect();
            println!("   {name}: {:+.1} bits before; {}", standing.before / std::f64::consts::LN_2, said.join(", "));
        }
    }
}
