//! Makes the visits of an evaluation.

use std::collections::BTreeMap;
use std::rc::Rc;

use halfsplit_diagnosis::{Case, CaseError, Judgement, Opening};
use halfsplit_inference::Policy;
use halfsplit_machine::test::Tool;
use halfsplit_plant::Plant;

use super::jobs::{Job, Part, Settings, Subject, day, names};
use crate::draw::Draw;
use crate::hidden::Hidden;
use crate::run::{Guide, Run, run};

/// What came of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct JobResult {
    /// The part of the evaluation.
    pub part: Part,
    /// Names of the hidden faults.
    pub hidden: Vec<String>,
    /// Which day it was told to be.
    pub day: usize,
    /// Seed of the hidden machine.
    pub seed: u64,
    /// The visit, by the name of the policy.
    pub runs: Vec<(&'static str, Run)>,
}

impl JobResult {
    /// The program's own visit.
    pub fn own(&self) -> &Run {
        &self.runs[0].1
    }
}

/// Makes visits, and keeps what can be used again from one to the next.
pub struct Bench {
    plant: Rc<Plant>,
    settings: Settings,
    judgement: Judgement,
    cases: BTreeMap<usize, Case>,
}

impl Bench {
    /// A bench for one machine.
    pub fn new(plant: Rc<Plant>, settings: Settings, judgement: Judgement) -> Bench {
        Bench { plant, settings, judgement, cases: BTreeMap::new() }
    }

    /// Makes one visit (under every policy, where policies are compared).
    ///
    /// # Errors
    /// If the machine has no complaint, display or message to open with.
    pub fn run(&mut self, job: &Job) -> Result<JobResult, CaseError> {
        let plant = self.plant.clone();
        let stated = day(job.day);
        // One day at a time: a case remembers much.
        self.cases.retain(|d, _| *d == job.day);
        let judgement = &self.judgement;
        let case = self.cases.entry(job.day).or_insert_with(|| {
            let opening = Opening { conditions: stated, tools: Tool::ALL.to_vec(), judgement: judgement.clone() };
            Case::open(plant.clone(), opening)
        });
        case.begin_again();
        let hidden_names = subject(case, &plant, job);
        if !job.left_out.is_empty() {
            case.leave_out(&job.left_out);
        }
        let names: Vec<&str> = hidden_names.iter().map(String::as_str).collect();
        let hidden = Hidden::new(&plant, stated, &names, self.settings.stray, job.seed);
        let guides = vec![("expected cost", Guide::Program(Policy::ExpectedCost))];
        let mut runs = Vec::new();
        for (name, guide) in guides {
            case.begin_again();
            runs.push((name, run(case, &mut hidden.clone(), &guide)?));
        }
        if !job.left_out.is_empty() {
            case.leave_out(&[]);
        }
        Ok(JobResult { part: job.part, hidden: hidden_names, day: job.day, seed: job.seed, runs })
    }
}

/// The names that a job hides. The case has no readings yet: its posterior is the prior.
fn subject(case: &Case, plant: &Plant, job: &Job) -> Vec<String> {
    let mut draw = Draw::keyed(job.seed, &[100]);
    let modes = &plant.machine.modes;
    let by_prior = |draw: &mut Draw, pairs_only: bool| {
        let prior = &case.posterior().hypotheses;
        let weights: Vec<f64> = prior
            .iter()
            .map(|w| if pairs_only && w.hypothesis.modes().len() != 2 { 0.0 } else { w.probability })
            .collect();
        prior[draw.pick(&weights)].hypothesis.modes().iter().map(|x| modes[x.0 as usize].name_id.clone()).collect()
    };
    match &job.subject {
        Subject::Names(names) => names.clone(),
        Subject::ByPrior => by_prior(&mut draw, false),
        Subject::PairByPrior => by_prior(&mut draw, true),
        Subject::PairEvenly => {
            let names = names(&plant.machine);
            let part = |n: &str| modes.iter().find(|x| x.name_id == n).map(|x| x.part);
            let group = |n: &str| modes.iter().find(|x| x.name_id == n).map(|x| x.repair_group.clone());
            loop {
                let (a, b) = (names[draw.below(names.len())], names[draw.below(names.len())]);
                if part(a) != part(b) && group(a) != group(b) {
                    return vec![a.to_owned(), b.to_owned()];
                }
            }
        }
    }
}
