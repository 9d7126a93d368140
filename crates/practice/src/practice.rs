//! Practice: a technician against a hidden fault, with a debrief in minutes.

use std::rc::Rc;

use halfsplit_diagnosis::{Case, CaseError, Observed, Opening};
use halfsplit_inference::Policy;
use halfsplit_machine::ModeIx;
use halfsplit_plant::Plant;

use crate::draw::Draw;
use crate::hidden::{Hidden, Stray};
use crate::run::{self, Guide, Run, Step, faults_among, mend, read, run};

/// What to hide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Hide {
    /// Whatever the prior draws; now and then nothing is broken.
    ByPrior,
    /// The faults of these names (as in [`halfsplit_machine::Mode::name_id`]).
    Names(Vec<String>),
}

/// A visit for practice: the technician chooses, the hidden machine answers.
pub struct Practice {
    case: Case,
    hidden: Hidden,
    /// As it was before anything was done, for the program's own visit.
    untouched: Hidden,
    so_far: Run,
}

/// What there is to say afterwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Debrief {
    /// What was hidden, a mode of each name.
    pub hidden: Vec<ModeIx>,
    /// The technician's visit: its steps with their minutes.
    pub yours: Run,
    /// The program's own visit to the same machine.
    pub program: Run,
}

/// What a repair came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mended {
    /// The proving run passed.
    pub proved: bool,
    /// Minutes, its price turned into minutes and the proving run included.
    pub minutes: f64,
}

impl Practice {
    /// Hides something, and takes in what every visit begins with: complaint, display, message.
    ///
    /// # Errors
    /// If the machine has none of these, or does not know one of the names.
    pub fn begin(plant: &Rc<Plant>, opening: Opening, hide: &Hide, seed: u64) -> Result<Practice, CaseError> {
        let stated = opening.conditions;
        let mut case = Case::open(plant.clone(), opening);
        let modes = &plant.machine.modes;
        let names: Vec<String> = match hide {
            Hide::Names(names) => names.clone(),
            Hide::ByPrior => {
                let prior = &case.posterior().hypotheses;
                let weights: Vec<f64> = prior.iter().map(|w| w.probability).collect();
                let drawn = Draw::keyed(seed, &[101]).pick(&weights);
                faults_among(modes, &prior[drawn]).map(|x| x.name_id.clone()).collect()
            }
        };
        let known = |n: &String| modes.iter().any(|x| x.name_id == *n && !x.nature.harmless());
        if let Some(unknown) = names.iter().find(|n| !known(n)) {
            return Err(CaseError::NoSuchFault(unknown.clone()));
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let hidden = Hidden::new(plant, stated, &names, Stray::default(), seed);
        case.begin_again();
        let so_far = Run::begun(&case, &hidden, plant);
        let mut practice = Practice { untouched: hidden.clone(), hidden, so_far, case };
        for test in run::opening(&practice.case) {
            practice.ask(test)?;
        }
        Ok(practice)
    }

    /// The case as it stands: what is still possible, advice, reasons, for whoever wants to look.
    pub fn case(&mut self) -> &mut Case {
        &mut self.case
    }

    /// Makes a test: what it showed, and the minutes that it took from where things stood.
    ///
    /// # Errors
    /// None in practice: a hidden machine answers in the test's own kind.
    pub fn ask(&mut self, test: usize) -> Result<(Observed, f64), CaseError> {
        let plant = self.case.plant().clone();
        let observed = read(&mut self.case, &mut self.hidden, &plant, &mut self.so_far, test)?;
        Ok((observed, self.so_far.steps.last().map_or(0.0, |s| s.1)))
    }

    /// Makes a repair and a proving run.
    ///
    /// # Errors
    /// If the machine knows no such repair.
    pub fn mend(&mut self, group: &str) -> Result<Mended, CaseError> {
        let plant = self.case.plant().clone();
        let proved = mend(&mut self.case, &mut self.hidden, &plant, &mut self.so_far, group.to_owned(), 0.0)?;
        Ok(Mended { proved, minutes: self.so_far.steps.last().map_or(0.0, |s| s.1) })
    }

    /// What was done so far, with its minutes.
    pub fn steps(&self) -> &[(Step, f64)] {
        &self.so_far.steps
    }

    /// Ends it: uncovers what was hidden, and makes the program's own visit to the same machine.
    ///
    /// # Errors
    /// As [`run()`].
    pub fn end(mut self) -> Result<Debrief, CaseError> {
        let plant = self.case.plant().clone();
        let hidden = self.untouched.faults().collect();
        let mut yours = self.so_far;
        yours.close(&self.case, &mut self.hidden, &plant);
        self.case.begin_again();
        let program = run(&mut self.case, &mut self.untouched, &Guide::Program(Policy::ExpectedCost))?;
        Ok(Debrief { hidden, yours, program })
    }
}
