//! Makes the visits of an evaluation.

use std::collections::BTreeMap;
use std::rc::Rc;

use halfsplit_diagnosis::{Case, CaseError, Errand, Judgement, Opening};
use halfsplit_inference::Policy;
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::{Plant, Visit};

use super::jobs::{Contender, Job, Part, Settings, Subject, day, names};
use super::order::fixed_order;
use super::telling::{Groups, groups};
use crate::draw::Draw;
use crate::flowchart::Flowchart;
use crate::hidden::Hidden;
use crate::run::{Guide, Run, faults_among, opening, run, run_to_first_act};

/// What came of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct JobResult {
    /// The part of the evaluation.
    pub part: Part,
    /// Names of the hidden faults.
    pub hidden: Vec<String>,
    /// Which day it was told to be.
    pub day: usize,
    /// What the visit was made for.
    pub errand: Errand,
    /// Seed of the hidden machine.
    pub seed: u64,
    /// The visit, by the name of the policy, in the order of [`Contender::ALL`]: the program's own first, unless only
    /// others were asked for.
    pub runs: Vec<(&'static str, Run)>,
}

impl JobResult {
    /// The program's own visit; where only other policies were asked for, that of the first of them.
    pub fn own(&self) -> &Run {
        &self.runs[0].1
    }
}

/// What is the same for all visits to a machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Common {
    /// Names of faults.
    pub modes: usize,
    /// Tests on offer.
    pub tests: usize,
    /// What tests can tell apart.
    pub groups: Groups,
}

/// Makes visits, and keeps what can be used again from one to the next.
pub struct Bench {
    plant: Rc<Plant>,
    settings: Settings,
    judgement: Judgement,
    chart: Option<Flowchart>,
    case: Option<((usize, Errand), Case)>,
    /// Fixed orders by day and opening evidence.
    orders: BTreeMap<(usize, Vec<usize>), Vec<usize>>,
}

impl Bench {
    /// A bench for one machine; with its chart, if there is one to compare with.
    pub fn new(plant: Rc<Plant>, settings: Settings, judgement: Judgement, chart: Option<Flowchart>) -> Bench {
        Bench { plant, settings, judgement, chart, case: None, orders: BTreeMap::new() }
    }

    /// What is the same for all visits.
    pub fn common(&mut self) -> Common {
        let case = case_for(&mut self.case, &self.plant, &self.judgement, (0, Errand::Call));
        let offered: Vec<bool> = (0..case.tests().len()).map(|t| case.offered(t)).collect();
        let visit = Visit { conditions: day(&self.plant.machine, 0), reset: false };
        Common {
            modes: names(&self.plant.machine).len(),
            tests: offered.iter().filter(|o| **o).count(),
            groups: groups(&self.plant, &visit, &offered),
        }
    }

    /// The machine that is visited.
    pub(super) fn machine(&self) -> &Machine {
        &self.plant.machine
    }

    /// A visit that has just begun, on one of the days.
    pub(super) fn fresh(&mut self, day: usize, errand: Errand) -> &mut Case {
        let case = case_for(&mut self.case, &self.plant, &self.judgement, (day, errand));
        case.begin_again();
        case
    }

    /// Makes one visit (under every policy, where policies are compared).
    ///
    /// # Errors
    /// If the machine has no complaint, display or message to open with, or the chart names what it does not have.
    pub fn run(&mut self, job: &Job) -> Result<JobResult, CaseError> {
        let plant = self.plant.clone();
        let stated = day(&plant.machine, job.day);
        let case = case_for(&mut self.case, &plant, &self.judgement, (job.day, job.errand));
        case.begin_again();
        let hidden_names = subject(case, &plant, job);
        if !job.left_out.is_empty() {
            case.leave_out(&job.left_out);
        }
        let names: Vec<&str> = hidden_names.iter().map(String::as_str).collect();
        let hidden = Hidden::new(&plant, stated, &names, self.settings.stray, job.seed);
        let asked_for = |c: &Contender| match c {
            _ if job.part != Part::Minutes => *c == Contender::Own,
            Contender::Chart if self.chart.is_none() => false,
            _ => self.settings.contenders.contains(c),
        };
        let mut compared: Vec<Contender> = Contender::ALL.into_iter().filter(asked_for).collect();
        if compared.is_empty() {
            compared.push(Contender::Own);
        }
        let mut runs = Vec::with_capacity(compared.len());
        for contender in compared {
            let mut order = || order_for(&mut self.orders, case, &plant, &mut hidden.clone(), job.day, stated);
            let guide = match contender {
                Contender::Own => Guide::Program(Policy::ExpectedCost),
                Contender::Fixed => Guide::Order(order()?, 0.05),
                Contender::Blind => Guide::Order(order()?, 0.0),
                Contender::Chart => self.chart.clone().map_or(Guide::Program(Policy::ExpectedCost), Guide::Chart),
                Contender::OneStep => Guide::Program(Policy::GainPerMinute),
                Contender::Gain => Guide::Program(Policy::Gain),
                Contender::Random => Guide::Program(Policy::Random(job.seed)),
            };
            case.begin_again();
            let make = if job.part == Part::Prior { run_to_first_act } else { run };
            runs.push((contender.name(), make(case, &mut hidden.clone(), &guide)?));
        }
        if !job.left_out.is_empty() {
            case.leave_out(&[]);
        }
        Ok(JobResult { part: job.part, hidden: hidden_names, day: job.day, errand: job.errand, seed: job.seed, runs })
    }
}

/// The case of a day and an errand: one at a time, since a case remembers much.
fn case_for<'c>(
    kept: &'c mut Option<((usize, Errand), Case)>,
    plant: &Rc<Plant>,
    judgement: &Judgement,
    wanted: (usize, Errand),
) -> &'c mut Case {
    if kept.as_ref().is_some_and(|(of, _)| *of != wanted) {
        *kept = None;
    }
    let (_, case) = kept.get_or_insert_with(|| {
        let (number, errand) = wanted;
        let opening = Opening {
            errand,
            conditions: day(&plant.machine, number),
            tools: Tool::ALL.to_vec(),
            judgement: judgement.clone(),
        };
        (wanted, Case::open(plant.clone(), opening))
    });
    case
}

/// The fixed order for the opening evidence that this hidden machine gives.
fn order_for(
    known: &mut BTreeMap<(usize, Vec<usize>), Vec<usize>>,
    case: &mut Case,
    plant: &Plant,
    hidden: &mut Hidden,
    day: usize,
    stated: Conditions,
) -> Result<Vec<usize>, CaseError> {
    case.begin_again();
    let mut evidence = Vec::new();
    for test in opening(case) {
        let observed = hidden.answer(plant, test, u64::from(case.episode_of(test)));
        case.read(test, observed)?;
        if let halfsplit_diagnosis::Observed::Category(word) = observed {
            evidence.push(word);
        }
    }
    let order = known.entry((day, evidence)).or_insert_with(|| fixed_order(case, plant, stated));
    Ok(order.clone())
}

/// The names that a job hides. The case has no readings yet: its posterior is the prior.
fn subject(case: &Case, plant: &Plant, job: &Job) -> Vec<String> {
    let mut draw = Draw::keyed(job.seed, &[100]);
    let modes = &plant.machine.modes;
    let by_prior = |draw: &mut Draw, pairs_only: bool| -> Vec<String> {
        let prior = &case.posterior().hypotheses;
        let weights: Vec<f64> = prior
            .iter()
            .map(|w| if pairs_only && faults_among(modes, w).count() != 2 { 0.0 } else { w.probability })
            .collect();
        faults_among(modes, &prior[draw.pick(&weights)]).map(|x| x.name_id.clone()).collect()
    };
    match &job.subject {
        Subject::Names(names) => names.clone(),
        Subject::ByPrior => by_prior(&mut draw, false),
        Subject::PairByPrior => by_prior(&mut draw, true),
        Subject::PairEvenly => {
            let names = names(&plant.machine);
            let first = |n: &str| modes.iter().find(|x| x.name_id == n);
            loop {
                let (a, b) = (names[draw.below(names.len())], names[draw.below(names.len())]);
                let fits =
                    first(a).zip(first(b)).is_some_and(|(x, y)| x.part != y.part && x.repair_group != y.repair_group);
                if fits {
                    return vec![a.to_owned(), b.to_owned()];
                }
            }
        }
    }
}
