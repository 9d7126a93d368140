//! Which visits an evaluation makes.

use halfsplit_diagnosis::Errand;
use halfsplit_machine::{Conditions, Machine, Role};

use crate::draw::Draw;
use crate::hidden::Stray;

/// A part of the evaluation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Every single fault that is there all the time.
    Singles,
    /// Every single fault that comes and goes.
    Intermittent,
    /// Pairs drawn by prior, promotion included.
    PairsPrior,
    /// Pairs drawn evenly.
    PairsUniform,
    /// Every name in turn hidden in the machine and not thought of by the engine.
    NotDescribed,
    /// Whatever the prior draws: for calibration.
    Prior,
    /// The same hidden machines under every policy.
    Minutes,
}

impl Part {
    /// All parts, in the order of the report.
    pub const ALL: [Part; 7] = [
        Part::Singles,
        Part::Intermittent,
        Part::PairsPrior,
        Part::PairsUniform,
        Part::NotDescribed,
        Part::Prior,
        Part::Minutes,
    ];

    /// What to call it, in reports and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Part::Singles => "singles",
            Part::Intermittent => "intermittent",
            Part::PairsPrior => "pairs-prior",
            Part::PairsUniform => "pairs-uniform",
            Part::NotDescribed => "not-described",
            Part::Prior => "calibration",
            Part::Minutes => "minutes",
        }
    }
}

/// Who is compared on the same hidden machines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contender {
    /// The program as it advises.
    Own,
    /// A fixed order of tests, passing over what yields next to nothing.
    Fixed,
    /// The same order, nothing passed over.
    Blind,
    /// The printed chart, where there is one.
    Chart,
    /// The program, looking one step ahead.
    OneStep,
    /// The program, going by what a test tells, whatever it costs.
    Gain,
    /// The program's stop rule and repairs, tests at random.
    Random,
}

impl Contender {
    /// All, in the order of the report.
    pub const ALL: [Contender; 7] = [
        Contender::Own,
        Contender::Fixed,
        Contender::Blind,
        Contender::Chart,
        Contender::OneStep,
        Contender::Gain,
        Contender::Random,
    ];

    /// What to call it in reports.
    pub fn name(self) -> &'static str {
        match self {
            Contender::Own => "expected cost",
            Contender::Fixed => "fixed order, passing over < .05 nat",
            Contender::Blind => "fixed order, blind",
            Contender::Chart => "flowchart",
            Contender::OneStep => "one-step gain per minute",
            Contender::Gain => "gain alone",
            Contender::Random => "random",
        }
    }

    /// What to call it on the command line.
    pub fn key(self) -> &'static str {
        match self {
            Contender::Own => "own",
            Contender::Fixed => "fixed",
            Contender::Blind => "blind",
            Contender::Chart => "chart",
            Contender::OneStep => "one-step",
            Contender::Gain => "gain",
            Contender::Random => "random",
        }
    }
}

/// What to evaluate, and how much of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Everything follows from it.
    pub seed: u64,
    /// Parts to evaluate.
    pub parts: Vec<Part>,
    /// Draws per name, for single faults.
    pub draws: usize,
    /// Pairs, by prior and evenly each.
    pub pairs: usize,
    /// Draws per name left out.
    pub left_out: usize,
    /// Cases drawn by prior for calibration.
    pub prior: usize,
    /// Hidden machines on which policies are compared.
    pub compared: usize,
    /// Who visits them.
    pub contenders: Vec<Contender>,
    /// How hidden machines stray.
    pub stray: Stray,
    /// What the visits to single faults, also those that come and go, and to pairs are made for; all others follow a call.
    pub errand: Errand,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            seed: 1,
            parts: Part::ALL.to_vec(),
            draws: 20,
            pairs: 300,
            left_out: 3,
            prior: 2000,
            compared: 300,
            contenders: Contender::ALL.to_vec(),
            stray: Stray::default(),
            errand: Errand::Call,
        }
    }
}

/// Whom a visit is made to.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// A machine with these faults, by name.
    Names(Vec<String>),
    /// Whatever the prior draws.
    ByPrior,
    /// A pair that the prior draws.
    PairByPrior,
    /// A pair drawn evenly.
    PairEvenly,
}

/// One visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The part of the evaluation that it belongs to.
    pub part: Part,
    /// Whom to visit.
    pub subject: Subject,
    /// Which of a few days it is told to be (air, age, worked on lately).
    pub day: usize,
    /// Seed of the hidden machine.
    pub seed: u64,
    /// Names that the engine does not think of.
    pub left_out: Vec<String>,
    /// What the visit is made for.
    pub errand: Errand,
}

/// Days as they are told: air, age, and whether somebody has worked on the machine lately. Few, because a bench
/// keeps what it worked out for a day; the hidden machine's own day differs each time.
pub(crate) const DAYS: [(f64, f64, bool); 3] = [(293.15, 8.0, false), (286.15, 12.0, false), (294.15, 8.0, true)];

/// The same days where the machine has a part outdoors: room and outdoors, K. Somebody calls when there is something to
/// cool or to heat; in a cool room a sound machine stands, and a visit there would be for nothing.
const ROOM_AND_OUTDOORS: [(f64, f64); 3] = [(299.15, 306.15), (291.15, 278.15), (300.15, 304.15)];

/// The stated conditions of a day.
pub(crate) fn day(m: &Machine, index: usize) -> Conditions {
    let (air, age_years, recent_work) = DAYS[index % DAYS.len()];
    let (room, outdoors) = ROOM_AND_OUTDOORS[index % DAYS.len()];
    let outside = m.parts.iter().any(|p| matches!(p.role, Role::Coil { outdoor: true, .. }));
    Conditions {
        air: Some(if outside { room } else { air }),
        outdoor: outside.then_some(outdoors),
        age_years,
        recent_work,
        ..Conditions::default()
    }
}

/// Names of the machine's faults, levels taken together, in order.
pub(crate) fn names(m: &Machine) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for mode in m.modes.iter().filter(|x| !x.nature.harmless()) {
        if !names.contains(&mode.name_id.as_str()) {
            names.push(&mode.name_id);
        }
    }
    names
}

/// Whether the modes of a name are there only some of the time.
pub(crate) fn comes_and_goes(m: &Machine, name: &str) -> bool {
    m.modes.iter().any(|x| x.name_id == name && x.intermittent)
}

/// How often somebody has worked on a machine lately before a fault that needs it, and otherwise. Judgement: one
/// machine in seven has been worked on, and without that such a fault is twenty times rarer.
const RECENT_WORK: (f64, f64) = (0.78, 0.15);

fn day_for(m: &Machine, name: Option<&str>, draw: &mut Draw) -> usize {
    let workmanship = name.is_some_and(|n| m.modes.iter().any(|x| x.name_id == n && x.workmanship));
    let p = if workmanship { RECENT_WORK.0 } else { RECENT_WORK.1 };
    if draw.chance(p) { 2 } else { draw.below(2) }
}

/// The visits of an evaluation, those of one day and one kind together.
pub fn jobs(m: &Machine, settings: &Settings) -> Vec<Job> {
    let mut all = Vec::new();
    let names = names(m);
    for part in Part::ALL.into_iter().filter(|p| settings.parts.contains(p)) {
        let mut job = |number: u64, subject: Subject, name: Option<&str>| {
            let mut draw = Draw::keyed(settings.seed, &[part as u64, number]);
            let day = day_for(m, name, &mut draw);
            let left_out = match (part, name) {
                (Part::NotDescribed, Some(n)) => vec![n.to_owned()],
                _ => Vec::new(),
            };
            let errand = match part {
                Part::Singles | Part::Intermittent | Part::PairsPrior | Part::PairsUniform => settings.errand,
                _ => Errand::Call,
            };
            all.push(Job { part, subject, day, seed: draw.bits(), left_out, errand });
        };
        match part {
            Part::Singles | Part::Intermittent | Part::NotDescribed => {
                let draws = if part == Part::NotDescribed { settings.left_out } else { settings.draws };
                for (i, name) in names.iter().enumerate() {
                    if part != Part::NotDescribed && comes_and_goes(m, name) != (part == Part::Intermittent) {
                        continue;
                    }
                    for d in 0..draws {
                        let number = (i * 10_000 + d) as u64;
                        job(number, Subject::Names(vec![(*name).to_owned()]), Some(name));
                    }
                }
            }
            Part::PairsPrior => (0..settings.pairs).for_each(|n| job(n as u64, Subject::PairByPrior, None)),
            Part::PairsUniform => (0..settings.pairs).for_each(|n| job(n as u64, Subject::PairEvenly, None)),
            Part::Prior => (0..settings.prior).for_each(|n| job(n as u64, Subject::ByPrior, None)),
            Part::Minutes => (0..settings.compared).for_each(|n| job(n as u64, Subject::ByPrior, None)),
        }
    }
    all.sort_by_key(|j| (j.day, j.errand == Errand::FindIt, j.part));
    all
}
