//! `halfsplit evaluate`: how well the diagnosis does on hidden machines.

use std::io::Write;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use halfsplit_practice::{
    Bench, Conditions, Do, Errand, Flowchart, Hide, Job, JobResult, Judgement, Machine, Opening, Plant, Practice,
    Settings, Tool, jobs, summarise,
};

use super::sheet;
use crate::failure::Failure;
use crate::screen::print;

const FLOWCHART: &str = include_str!("../../../../machines/garage-water-heater.flowchart.toml");

const EXAMPLES: &str = "Examples:
  halfsplit evaluate --only singles --draws 5
  halfsplit evaluate my-heater.toml --only singles,intermittent --json
  halfsplit evaluate --only minutes --compared 4 --seed 3

A hidden machine is never the sheet's twin: part values within tolerance, conditions mis-stated a little,
severities between the library's degrees, meter noise, two slips in a hundred readings. Same seed, same figures.";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Machine sheet; the demo machine if left out.
    sheet: Option<PathBuf>,
    /// Parts of the evaluation: singles, intermittent, pairs-prior, pairs-uniform, not-described, calibration, minutes.
    #[arg(long, value_delimiter = ',', value_name = "PART")]
    only: Vec<String>,
    /// Draws per fault.
    #[arg(long, default_value_t = 5)]
    draws: usize,
    /// Pairs of each sort.
    #[arg(long)]
    pairs: Option<usize>,
    /// Draws per fault that is left out of what the engine knows.
    #[arg(long)]
    left_out: Option<usize>,
    /// Visits drawn by the odds of real ones, for calibration.
    #[arg(long)]
    prior: Option<usize>,
    /// Hidden machines per policy compared.
    #[arg(long)]
    compared: Option<usize>,
    /// On visits to single faults and to pairs it is known that something is wrong; left out: they follow a customer's call.
    #[arg(long)]
    known_wrong: bool,
    /// Seed.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Threads.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Answer in JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let text = match &args.sheet {
        Some(path) => sheet::text_of(path)?,
        None => sheet::DEMO.to_owned(),
    };
    let default = Settings::default();
    let mut settings = Settings {
        seed: args.seed,
        draws: args.draws.max(1),
        pairs: args.pairs.unwrap_or(default.pairs),
        left_out: args.left_out.unwrap_or(default.left_out),
        prior: args.prior.unwrap_or(default.prior),
        compared: args.compared.unwrap_or(default.compared),
        errand: if args.known_wrong { Errand::FindIt } else { Errand::Call },
        ..default
    };
    let known: Vec<&str> = settings.parts.iter().map(|p| p.name()).collect();
    if let Some(bad) = args.only.iter().find(|o| !known.contains(&o.as_str())) {
        return Err(Failure::Refused(format!(
            "there is no part \"{bad}\" of the evaluation; parts: {}",
            known.join(", ")
        )));
    }
    if !args.only.is_empty() {
        settings.parts.retain(|p| args.only.iter().any(|o| o == p.name()));
    }
    let refused = |e: &dyn std::fmt::Display| Failure::Refused(e.to_string());
    let machine = Machine::build(&text).map_err(|e| refused(&e))?;
    Plant::new(machine.clone()).map_err(|e| refused(&e))?;
    // The flowchart belongs to the demo machine.
    let chart = args.sheet.is_none().then(|| Flowchart::parse(FLOWCHART)).transpose().map_err(|e| refused(&e))?;
    let all = jobs(&machine, &settings);
    let results = run_all(&all, &text, &settings, chart.as_ref(), args.threads.max(1))?;
    let mut report = summarise(&bench(&text, &settings, chart)?.common(), &results);
    if args.json {
        report.seconds_per_recommendation = Some(seconds_per_recommendation(&text)?);
        let json = serde_json::to_string_pretty(&report).map_err(|e| refused(&e))?;
        return print(&format!("{json}\n"));
    }
    print(&format!("{report}\n"))
}

fn plant(text: &str) -> Result<Rc<Plant>, Failure> {
    let machine = Machine::build(text).map_err(|e| Failure::Refused(e.to_string()))?;
    Plant::new(machine).map(Rc::new).map_err(|e| Failure::Refused(e.to_string()))
}

fn bench(text: &str, settings: &Settings, chart: Option<Flowchart>) -> Result<Bench, Failure> {
    Ok(Bench::new(plant(text)?, settings.clone(), Judgement::default(), chart))
}

/// Makes all visits on so many threads; each builds the machine for itself. Progress goes to standard error.
fn run_all(
    all: &[Job],
    text: &str,
    settings: &Settings,
    chart: Option<&Flowchart>,
    threads: usize,
) -> Result<Vec<JobResult>, Failure> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, JobResult)>> = Mutex::new(Vec::new());
    let trouble: Mutex<Option<Failure>> = Mutex::new(None);
    let started = Instant::now();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let work = || -> Result<(), Failure> {
                    let mut bench = bench(text, settings, chart.cloned())?;
                    loop {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        let Some(job) = all.get(at) else { return Ok(()) };
                        let result = bench.run(job).map_err(|e| Failure::Refused(e.to_string()))?;
                        let Ok(mut done) = results.lock() else { return Ok(()) };
                        done.push((at, result));
                        if done.len() % 20 == 0 || done.len() == all.len() {
                            // Whoever does not read the progress does not stop the work.
                            let _ = writeln!(
                                std::io::stderr(),
                                "{} of {} visits, {:.0} s",
                                done.len(),
                                all.len(),
                                started.elapsed().as_secs_f64()
                            );
                        }
                    }
                };
                if let (Err(e), Ok(mut t)) = (work(), trouble.lock()) {
                    *t = Some(e);
                }
            });
        }
    });
    if let Ok(Some(e)) = trouble.into_inner() {
        return Err(e);
    }
    let mut results = results.into_inner().unwrap_or_default();
    results.sort_by_key(|r| r.0);
    Ok(results.into_iter().map(|r| r.1).collect())
}

/// Mean over a few fresh visits: a reading taken in and the next step asked for, the first step of a visit included.
fn seconds_per_recommendation(text: &str) -> Result<f64, Failure> {
    let refused = |e: &dyn std::fmt::Display| Failure::Refused(e.to_string());
    let plant = plant(text)?;
    let (mut seconds, mut count) = (0.0, 0);
    for seed in 0..4 {
        let conditions = Conditions { age_years: 8.0, ..Conditions::default() };
        let opening =
            Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
        let mut visit = Practice::begin(&plant, opening, &Hide::ByPrior, seed).map_err(|e| refused(&e))?;
        let mut started = Instant::now();
        while let Do::Test(t) = visit.case().next_step() {
            seconds += started.elapsed().as_secs_f64();
            count += 1;
            started = Instant::now();
            visit.ask(t.test).map_err(|e| refused(&e))?;
        }
    }
    Ok(seconds / f64::from(count.max(1)))
}
