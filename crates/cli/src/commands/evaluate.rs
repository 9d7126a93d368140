//! `halfsplit evaluate`: how well the diagnosis does on hidden machines.

use std::io::Write;
use std::path::PathBuf;
use std::rc::Rc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use halfsplit_practice::{
    Bench, Conditions, Do, Errand, Flowchart, Hide, Job, JobResult, Judgement, Machine, Opening, Plant, Practice,
    Settings, Subject, Telling, Tool, jobs, summarise, went_wrong,
};

use super::sheet;
use crate::failure::Failure;
use crate::screen::print;
use crate::store;

const EXAMPLES: &str = "Examples:
  halfsplit evaluate --only singles --draws 5
  halfsplit evaluate my-heater.toml --only singles,intermittent --json
  halfsplit evaluate --only minutes --compared 4 --policies own,chart --seed 3
  halfsplit evaluate --only singles --name FILTER --draws 1 --tell wrong --odds

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
    #[arg(long, default_value_t = 5, value_name = "N")]
    draws: usize,
    /// Pairs of each sort.
    #[arg(long, value_name = "N")]
    pairs: Option<usize>,
    /// Draws per fault that is left out of what the engine knows.
    #[arg(long, value_name = "N")]
    left_out: Option<usize>,
    /// Visits drawn by the odds of real ones, for calibration.
    #[arg(long, value_name = "N")]
    prior: Option<usize>,
    /// Hidden machines per policy compared.
    #[arg(long, value_name = "N")]
    compared: Option<usize>,
    /// Who visits the machines that policies are compared on: own, fixed, blind, chart, one-step, gain, random.
    #[arg(long, value_delimiter = ',', value_name = "POLICY")]
    policies: Vec<String>,
    /// A printed fault-finding chart to compare with; the one that comes with an example machine if left out.
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// On visits to single faults and to pairs it is known that something is wrong; left out: they follow a customer's call.
    #[arg(long)]
    known_wrong: bool,
    /// Only faults whose name begins so; of parts that go by names.
    #[arg(long, value_name = "START")]
    name: Option<String>,
    /// Only the visit that was told with this seed.
    #[arg(long, value_name = "SEED")]
    visit: Option<u64>,
    /// Tell the visits step by step before the figures: all of them, or those that left a fault or fitted a needless part.
    #[arg(long, value_enum, conflicts_with = "json")]
    tell: Option<Which>,
    /// Tell also what was possible after each step, and what spoke for and against a truth that was missed.
    #[arg(long, requires = "tell")]
    odds: bool,
    /// Share of readings that are slips, 0 to 1.
    #[arg(long, value_name = "SHARE", value_parser = share)]
    slips: Option<f64>,
    /// Share of (test, fault) pairs that do not show what is foreseen of them, 0 to 1.
    #[arg(long, value_name = "SHARE", value_parser = share)]
    altered: Option<f64>,
    /// Minutes that it costs to go home without what had to be found, where something is known to be wrong.
    #[arg(long, value_name = "MINUTES")]
    not_found: Option<f64>,
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

/// Which visits are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Which {
    All,
    Wrong,
}

/// A share as it is typed.
fn share(typed: &str) -> Result<f64, String> {
    let share = typed.parse().ok().filter(|s| (0.0..=1.0).contains(s));
    share.ok_or_else(|| format!("\"{typed}\" is no share: type a number from 0 to 1, such as 0.02"))
}

/// A machine and what its visits are made with: enough for every thread to build a bench of its own.
struct Ground {
    sheet: String,
    settings: Settings,
    judgement: Judgement,
    chart: Option<Flowchart>,
}

impl Ground {
    fn of(args: &Args) -> Result<Ground, Failure> {
        let sheet = match &args.sheet {
            Some(path) => sheet::text_of(path)?,
            None => sheet::DEMO.to_owned(),
        };
        let chart = match &args.chart {
            Some(path) => Flowchart::parse(&store::read_text(path)?)
                .map(Some)
                .map_err(|e| Failure::Refused(format!("{}: {e}", path.display())))?,
            None => Flowchart::printed_for(&sheet).map_err(refused)?,
        };
        let mut judgement = Judgement::default();
        judgement.not_found = args.not_found.unwrap_or(judgement.not_found);
        Ok(Ground { sheet, settings: settings(args)?, judgement, chart })
    }

    fn plant(&self) -> Result<Rc<Plant>, Failure> {
        let machine = Machine::build(&self.sheet).map_err(refused)?;
        Plant::new(machine).map(Rc::new).map_err(refused)
    }

    fn bench(&self) -> Result<Bench, Failure> {
        Ok(Bench::new(self.plant()?, self.settings.clone(), self.judgement.clone(), self.chart.clone()))
    }
}

fn refused(e: impl std::fmt::Display) -> Failure {
    Failure::Refused(e.to_string())
}

fn settings(args: &Args) -> Result<Settings, Failure> {
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
    settings.stray.slips = args.slips.unwrap_or(settings.stray.slips);
    settings.stray.altered = args.altered.unwrap_or(settings.stray.altered);
    chosen(&mut settings.parts, &args.only, |p| p.name(), "part of the evaluation")?;
    chosen(&mut settings.contenders, &args.policies, |c| c.key(), "policy")?;
    Ok(settings)
}

/// Keeps what was named; nothing named keeps all.
fn chosen<T>(all: &mut Vec<T>, named: &[String], name: impl Fn(&T) -> &'static str, what: &str) -> Result<(), Failure> {
    let known: Vec<&str> = all.iter().map(&name).collect();
    if let Some(bad) = named.iter().find(|n| !known.contains(&n.as_str())) {
        return Err(Failure::Refused(format!("there is no {what} \"{bad}\"; choose among {}", known.join(", "))));
    }
    if !named.is_empty() {
        all.retain(|x| named.iter().any(|n| n == name(x)));
    }
    Ok(())
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let ground = Ground::of(args)?;
    let plant = ground.plant()?;
    if let Some(chart) = &ground.chart {
        chart.fits(&plant.machine).map_err(refused)?;
    }
    let mut all = jobs(&plant.machine, &ground.settings);
    if let Some(start) = &args.name {
        all.retain(|j| matches!(&j.subject, Subject::Names(n) if n.iter().any(|x| x.starts_with(start))));
    }
    if let Some(seed) = args.visit {
        all.retain(|j| j.seed == seed);
    }
    if all.is_empty() {
        return Err(Failure::Refused("there is no such visit: see --only, --name and --visit".to_owned()));
    }
    let results = run_all(&all, &ground, args.threads.max(1))?;
    let mut bench = ground.bench()?;
    let telling = if args.odds { Telling::Odds } else { Telling::Steps };
    for result in results.iter().filter(|r| args.tell.is_some_and(|which| which == Which::All || went_wrong(r))) {
        print(&bench.account(result, telling).map_err(refused)?)?;
    }
    let mut report = summarise(&bench.common(), &results);
    if args.json {
        report.seconds_per_recommendation = Some(seconds_per_recommendation(&ground)?);
        let json = serde_json::to_string_pretty(&report).map_err(refused)?;
        return print(&format!("{json}\n"));
    }
    print(&format!("{report}\n"))
}

/// Makes all visits on so many threads; each builds the machine for itself. Progress goes to standard error.
fn run_all(all: &[Job], ground: &Ground, threads: usize) -> Result<Vec<JobResult>, Failure> {
    let next = AtomicUsize::new(0);
    let results: Mutex<Vec<(usize, JobResult)>> = Mutex::new(Vec::new());
    let trouble: Mutex<Option<Failure>> = Mutex::new(None);
    let started = Instant::now();
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                let work = || -> Result<(), Failure> {
                    let mut bench = ground.bench()?;
                    loop {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        let Some(job) = all.get(at) else { return Ok(()) };
                        let result = bench.run(job).map_err(refused)?;
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
fn seconds_per_recommendation(ground: &Ground) -> Result<f64, Failure> {
    let plant = ground.plant()?;
    let (mut seconds, mut count) = (0.0, 0);
    for seed in 0..4 {
        let conditions = Conditions { age_years: 8.0, ..Conditions::default() };
        let opening =
            Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
        let mut visit = Practice::begin(&plant, opening, &Hide::ByPrior, seed).map_err(refused)?;
        let mut started = Instant::now();
        while let Do::Test(t) = visit.case().next_step() {
            seconds += started.elapsed().as_secs_f64();
            count += 1;
            started = Instant::now();
            visit.ask(t.test).map_err(refused)?;
        }
    }
    Ok(seconds / f64::from(count.max(1)))
}
