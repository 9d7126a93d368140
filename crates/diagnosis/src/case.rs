//! One visit to one machine: readings in, advice and reasons out.

mod run_in;

use std::collections::BTreeMap;
use std::rc::Rc;

use halfsplit_inference::{
    Aside, EpisodeId, Hypothesis, Leaves, ModeId, NameId, Observed, Outcome, PlanSettings, Policy, Posterior, QueryId,
    Reading, Reasoner, Situation, Step, Suspect as InferenceSuspect,
};
use halfsplit_machine::test::{Answer, Hazard, Measure, PowerState, Test};
use halfsplit_machine::{Mode, ModeIx, Nature};
use halfsplit_plant::{Axis, Plant, SoundRun, axis_of};
use halfsplit_units::{Entry, parse_entry};

use crate::offer::{Circumstances, Stand, Wait};
use crate::problem::{Epoch, VisitProblem};
use crate::told::{
    Action, Advice, CaseError, Do, Ending, Errand, HowBuilt, Leaving, Opening, Possible, Reason, Refuting, Shown,
    Standing, Suspect, TestAdvice, WaitAdvice,
};

/// Ohms that no meter of the trade shows in figures, and far beyond: a band of readings that are all OL.
const BEYOND_METERS: (f64, f64) = (2e7, 1e9);

/// Below this chance that nothing is broken nobody leaves a machine in a state by design without having seen it run. Judgement.
const SEEN_RUNNING: f64 = 0.9;

/// One visit.
pub struct Case {
    problem: VisitProblem,
    reasoner: Reasoner,
    circumstances: Circumstances,
    plan: PlanSettings,
    taken: Vec<usize>,
    /// Circumstances at the opening.
    opened: Circumstances,
    /// Readings that were supposed from where things stand, and repairs.
    supposed: Vec<Supposed>,
    supposed_done: Vec<SupposedDone>,
    /// Readings that were supposed where things no longer stand. To forget them takes a while, for which there is time later.
    spent: Vec<Supposed>,
    /// What was worked out before the reading or the repair that it follows came.
    ready: Option<Ready>,
}

/// What is told of where things stand.
#[derive(Clone)]
struct Ready {
    advice: Advice,
    possible: Possible,
    /// Why the leading suspect stands where it stands.
    reasons: Option<(String, Standing)>,
}

/// A reading that was supposed: what it would change, and what would be told then. A proving run is the test after the last.
struct Supposed {
    test: usize,
    observed: Observed,
    circumstances: Circumstances,
    aside: Aside,
    ready: Ready,
}

/// The same for something done to the machine.
struct SupposedDone {
    action: Action,
    circumstances: Circumstances,
    ready: Ready,
}

/// The episode of what the customer tells and the board stored: a fault that comes and goes was there then, whether
/// or not it is there at the visit.
const BEFORE: u32 = u32::MAX;

/// Epochs that are kept with all that was worked out for them, over visits begun anew. Bounds memory.
const KEPT_EPOCHS: usize = 32;

/// "Something not described" is told with what it is like from this probability on. Judgement.
const WORTH_A_NAME: f64 = 0.1;

/// It is said to be much like a described fault when this share of it is. Judgement.
const MUCH_LIKE: f64 = 0.4;

/// A state by design is worth a wait from this probability on. Judgement.
const WORTH_A_WAIT: f64 = 0.02;

/// The chance that nothing is broken any more from which a machine that did not pass is proved once more before anybody gives it
/// up. Judgement: a proving run costs minutes, to go home and come again hours.
const WORTH_PROVING_AGAIN: f64 = 0.2;

/// Minutes that a test has to save against repairing or ending at once. Judgement.
const MARGIN: f64 = 3.0;

impl Case {
    /// Begins a visit.
    pub fn open(plant: Rc<Plant>, opening: Opening) -> Case {
        let tests = plant.machine.tests.len();
        let plan = PlanSettings {
            policy: Policy::ExpectedCost,
            expansions: opening.judgement.expansions,
            depth: 2,
            bins: 5,
            hypotheses: 40,
            margin: MARGIN,
            ..PlanSettings::default()
        };
        let problem = VisitProblem::new(plant, opening.errand, opening.conditions, opening.judgement);
        let reasoner = problem.reasoner();
        let circumstances = Circumstances {
            stand: Stand::Rest,
            open: Vec::new(),
            refused: vec![false; tests],
            tools: opening.tools,
            minutes_left: None,
            episode: 0,
            epoch: 0,
            switched: false,
            taken: vec![0; tests],
            wait: None,
        };
        let opened = circumstances.clone();
        let mut case = Case {
            problem,
            reasoner,
            circumstances,
            plan,
            taken: Vec::new(),
            opened,
            supposed: Vec::new(),
            supposed_done: Vec::new(),
            spent: Vec::new(),
            ready: None,
        };
        case.drop_redundant();
        case.opened = case.circumstances.clone();
        case.foresee_wait();
        case
    }

    /// Begins the same visit anew. What was worked out is kept: it saves time and changes no answer.
    pub fn begin_again(&mut self) {
        self.moves_on();
        if self.problem.epochs.len() > KEPT_EPOCHS {
            self.problem.forget_epochs();
            self.reasoner = self.problem.reasoner();
        }
        while self.reasoner.undo().is_some() {}
        self.circumstances = self.opened.clone();
        self.taken.clear();
        self.foresee_wait();
    }

    /// Whether it is worth a wait to look again at what the machine did.
    fn foresee_wait(&mut self) {
        let p = self.reasoner.posterior();
        let epoch = self.circumstances.epoch;
        let states: Vec<(ModeId, f64)> =
            self.problem.passing(epoch).filter(|(mode, _)| p.mode(*mode) >= WORTH_A_WAIT).collect();
        let likeliest = states.iter().max_by(|a, b| p.mode(a.0).total_cmp(&p.mode(b.0))).map(|s| s.0.0 as usize);
        let minutes = states.iter().map(|s| s.1).fold(0.0, f64::max);
        self.circumstances.wait = likeliest
            .filter(|_| self.circumstances.taken.iter().any(|t| *t > 0))
            .map(|state| Wait { minutes, epoch: self.problem.once_waited(epoch), state });
    }

    /// Begins anew with the faults of these names (as in [`Suspect::id`]) not thought of: something that nobody
    /// has described. No names: everything is thought of again.
    pub fn leave_out(&mut self, names: &[String]) {
        self.problem.leave_out(names);
        self.reasoner.renew(&self.problem);
        self.begin_again();
    }

    /// Number of the episode that a reading of this test would belong to: what comes and goes is there or not for a
    /// whole episode.
    pub fn episode_of(&self, test: usize) -> u32 {
        let t = &self.problem.plant.machine.tests[test];
        let told = t.command.is_some() && Stand::of(t).is_some_and(|s| s != self.circumstances.stand);
        self.circumstances.episode + u32::from(told)
    }

    /// What the display of a sound machine shows in the conditions of this visit: by design, not by a fault.
    pub fn by_design(&self) -> Vec<&str> {
        let detections = &self.problem.plant.machine.detections;
        self.problem.by_design().into_iter().map(|d| detections[d].shows.as_str()).collect()
    }

    /// The state by design that the machine most likely is in, or was in before somebody waited, with its probability (0 to
    /// 1); `None` if that is not worth a word.
    pub fn state_by_design(&self) -> Option<(&Mode, f64)> {
        let p = self.reasoner.posterior();
        let modes = &self.problem.plant.machine.modes;
        let states = modes.iter().enumerate().filter(|(_, x)| matches!(x.nature, Nature::ByDesign { .. }));
        states
            .map(|(i, x)| (x, p.mode(ModeId(i as u32))))
            .filter(|(_, p)| *p >= WORTH_A_WAIT)
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// What the visit is for.
    pub fn errand(&self) -> Errand {
        self.problem.errand()
    }

    /// Minutes that a call-back costs.
    pub fn call_back(&self) -> f64 {
        self.problem.judgement.call_back
    }

    /// Minutes of a proving run.
    pub fn minutes_of_proof(&self) -> f64 {
        self.problem.judgement.prove
    }

    /// The queries of these tests in the present epoch, for [`Policy::FixedOrder`].
    pub fn queries(&self, tests: &[usize]) -> Vec<QueryId> {
        tests.iter().map(|t| self.problem.query(self.circumstances.epoch, *t)).collect()
    }

    /// Minutes of a test from where things stand: its own, what has still to be opened, change of power state.
    pub fn minutes_of(&self, test: usize) -> f64 {
        let situation = self.problem.situation(&self.circumstances);
        situation.minutes_of(&situation.tests[test])
    }

    /// Minutes of every test, by index, once these others have been made.
    pub fn minutes_after(&self, made: &[usize]) -> Vec<f64> {
        let mut circumstances = self.circumstances.clone();
        for test in made {
            circumstances.after(&self.problem.plant.machine, &self.tests()[*test]);
        }
        let situation = self.problem.situation(&circumstances);
        situation.tests.iter().map(|t| situation.minutes_of(t)).collect()
    }

    /// Minutes of a repair, its price turned into minutes and the proving run included; `None` if the machine knows
    /// no such repair.
    pub fn minutes_of_repair(&self, group: &str) -> Option<f64> {
        let situation = self.problem.situation(&self.circumstances);
        let r = self.problem.repairs.iter().position(|g| g == group)?;
        Some(situation.repairs[r].cost + situation.verify_minutes)
    }

    /// Whether a test is on offer: not refused, not read twice in this epoch, its tool at hand.
    pub fn offered(&self, test: usize) -> bool {
        self.problem.situation(&self.circumstances).tests[test].allowed
    }

    /// Takes the result of a proving run in: whether the machine is right now. In [`Case::reasons`] it stands as
    /// the test after the last.
    ///
    /// # Errors
    /// None in practice: a proving run always fits.
    pub fn prove(&mut self, right: bool) -> Result<(), CaseError> {
        let (proof, observed) = (self.tests().len(), proof_shown(right));
        self.moves_on();
        if self.take_up(proof, observed) {
            return Ok(());
        }
        self.prove_anew(observed)
    }

    fn prove_anew(&mut self, observed: Observed) -> Result<(), CaseError> {
        let proof = self.tests().len();
        let query = self.problem.query(self.circumstances.epoch, proof);
        // A run made anew is taken for the same one, longer: what comes and goes is there for both or for none.
        let earlier = self.reasoner.readings().iter().find(|r| r.query == query).map(|r| r.episode);
        let episode = earlier.unwrap_or(EpisodeId(self.circumstances.episode));
        self.reasoner.observe(&self.problem, Reading { query, observed, episode })?;
        self.taken.push(proof);
        // One that passed stands as the run left it: called for, and running. Of one that did not, nobody knows how it stands.
        if let (true, Some(command)) = (observed == proof_shown(true), self.problem.proved_by()) {
            self.circumstances.stand = Stand::Told(command);
        }
        self.circumstances.switched = true;
        // What comes and goes may have come or gone with the run.
        self.circumstances.episode += 1;
        self.foresee_wait();
        Ok(())
    }

    /// How a sound machine would warm its tank, in the conditions of this visit; `None` where it has none, or no compressor
    /// for it.
    pub fn sound_run(&self) -> Option<SoundRun> {
        self.problem.plant.sound_run(&self.problem.epochs[self.circumstances.epoch].visit)
    }

    /// The plant.
    pub fn plant(&self) -> &Rc<Plant> {
        &self.problem.plant
    }

    /// A fault counts as noticed above this chance of a call.
    pub const NOTICED: f64 = crate::problem::NOTICED;

    /// The plan's settings, for comparing policies.
    pub fn plan_mut(&mut self) -> &mut PlanSettings {
        self.moves_on();
        &mut self.plan
    }

    /// The tests of the machine.
    pub fn tests(&self) -> &[Test] {
        &self.problem.plant.machine.tests
    }

    /// Finds a test by id.
    ///
    /// # Errors
    /// [`CaseError::NoSuchTest`] with ids that look like it.
    pub fn test(&self, id: &str) -> Result<usize, CaseError> {
        self.tests().iter().position(|t| t.id == id).ok_or_else(|| {
            let words: Vec<&str> = id.split([' ', '.', '-']).filter(|w| !w.is_empty()).collect();
            let mut scored: Vec<(usize, &str)> = self
                .tests()
                .iter()
                .map(|t| (words.iter().filter(|w| t.id.contains(**w)).count(), t.id.as_str()))
                .filter(|(n, _)| *n > 0)
                .collect();
            scored.sort_by_key(|(n, id)| (usize::MAX - n, *id));
            CaseError::NoSuchTest {
                id: id.to_owned(),
                near: scored.into_iter().take(3).map(|(_, id)| id.to_owned()).collect(),
            }
        })
    }

    /// Turns what was typed into an observation of a test.
    ///
    /// # Errors
    /// [`CaseError::Entry`] if the text cannot be a reading of this kind (unknown unit, negative ohms, a
    /// capacitance where ohms are measured …), [`CaseError::WrongKind`] if it is none of the words asked for.
    pub fn observation(&self, test: usize, typed: &str) -> Result<Observed, CaseError> {
        let t = &self.tests()[test];
        match (&t.answer, axis_of(t)) {
            (Answer::Number(dimension), Some(axis)) => {
                let entry = parse_entry(typed, Some(*dimension)).map_err(|e| CaseError::Entry(e.to_string()))?;
                Ok(match entry {
                    Entry::Value(v) => Observed::Value(axis.to(v.si)),
                    Entry::AtLeast(v) => Observed::AtLeast(axis.to(v.si)),
                    Entry::AtMost(v) => Observed::AtMost(axis.to(v.si)),
                    Entry::Between { low, high } => Observed::Between(axis.to(low.si), axis.to(high.si)),
                    Entry::Over(_) => Observed::Over,
                    Entry::Words(came) => {
                        return Err(CaseError::WrongKind {
                            wants: format!("a reading such as {}", dimension.example()),
                            came,
                        });
                    }
                })
            }
            (Answer::Number(dimension), None) => {
                Err(CaseError::WrongKind { wants: dimension.in_words().to_owned(), came: typed.to_owned() })
            }
            (Answer::Words(words), _) => word_of(typed, words).map(Observed::Category).ok_or_else(|| {
                CaseError::WrongKind { wants: format!("one of: {}", words.join("; ")), came: typed.trim().to_owned() }
            }),
        }
    }

    /// Takes a reading in. The place that it was taken at counts as open from then on.
    ///
    /// # Errors
    /// If the observation cannot belong to the test.
    pub fn read(&mut self, test: usize, observed: Observed) -> Result<(), CaseError> {
        self.moves_on();
        if self.take_up(test, observed) {
            return Ok(());
        }
        self.take_in(test, observed)
    }

    /// Takes up what was supposed of a reading where things stood until now, if it was.
    fn take_up(&mut self, test: usize, observed: Observed) -> bool {
        let Some(at) = self.spent.iter().position(|s| s.test == test && s.observed == observed) else { return false };
        let s = self.spent.swap_remove(at);
        if !self.reasoner.take_up(&self.problem, s.aside) {
            return false;
        }
        self.circumstances = s.circumstances;
        self.taken.push(test);
        self.ready = Some(s.ready);
        true
    }

    /// Whatever was worked out from where things stood no longer holds.
    fn moves_on(&mut self) {
        self.ready = None;
        self.supposed_done.clear();
        self.spent = std::mem::take(&mut self.supposed);
    }

    fn take_in(&mut self, test: usize, observed: Observed) -> Result<(), CaseError> {
        if let Some(wait) = self.circumstances.wait_before(test, &self.tests()[test]) {
            // Whoever looks again has waited, as he was told to: what the machine did before, it may no longer do.
            self.circumstances.epoch = wait.epoch;
            self.circumstances.episode += 1;
            for (t, taken) in self.problem.plant.machine.tests.iter().zip(&mut self.circumstances.taken) {
                if t.command.is_some() {
                    *taken = 0;
                }
            }
        }
        self.circumstances.episode = self.episode_of(test);
        let t = &self.problem.plant.machine.tests[test];
        self.circumstances.after(&self.problem.plant.machine, t);
        let before_the_visit = !self.problem.epochs[self.circumstances.epoch].visit.reset
            && matches!(t.measure, Measure::Complaint | Measure::ShownCode);
        let episode = if before_the_visit { BEFORE } else { self.circumstances.episode };
        let reading = Reading {
            query: self.problem.query(self.circumstances.epoch, test),
            observed,
            episode: EpisodeId(episode),
        };
        self.reasoner.observe(&self.problem, reading)?;
        self.circumstances.taken[test] = self.circumstances.taken[test].saturating_add(1);
        self.taken.push(test);
        self.foresee_wait();
        Ok(())
    }

    /// A test will not or cannot be made on this visit. That blames nothing.
    pub fn refuse(&mut self, test: usize) {
        if self.circumstances.refused[test] {
            return;
        }
        self.moves_on();
        self.circumstances.refused[test] = true;
    }

    /// Minutes that are left of the visit.
    pub fn minutes_left(&mut self, minutes: Option<f64>) {
        self.moves_on();
        self.circumstances.minutes_left = minutes;
    }

    /// Something was done that changes the machine: a new epoch begins.
    ///
    /// # Errors
    /// If the machine knows no such repair.
    pub fn act(&mut self, action: &Action) -> Result<(), CaseError> {
        let done = std::mem::take(&mut self.supposed_done).into_iter().find(|d| d.action == *action);
        self.moves_on();
        if let Some(done) = done {
            self.circumstances = done.circumstances;
            self.ready = Some(done.ready);
            return Ok(());
        }
        self.do_anew(action)
    }

    fn do_anew(&mut self, action: &Action) -> Result<(), CaseError> {
        let mut next: Epoch = self.problem.epochs[self.circumstances.epoch].clone();
        next.visit.reset = true;
        if let Action::Mend(group) = action {
            // A repair takes longer than a state by design lasts.
            next.waited = self.problem.passing(self.circumstances.epoch).next().is_some() || next.waited;
            let m = &self.problem.plant.machine;
            if m.meant_for(group).next().is_none() {
                return Err(CaseError::NoSuchRepair(group.clone()));
            }
            for mode in m.puts_right(group) {
                next.mended[mode.0] = true;
            }
        }
        self.circumstances.epoch = self.problem.epoch_like(next, self.circumstances.epoch);
        self.circumstances.episode += 1;
        self.circumstances.switched = false;
        self.circumstances.taken.iter_mut().for_each(|t| *t = 0);
        // What the customer noticed was before the machine was changed: there is nothing to ask about it as it is now.
        let complaint = |t: &Test| t.measure == Measure::Complaint;
        if let Some(t) = self.tests().iter().position(complaint) {
            self.circumstances.refused[t] = true;
        }
        self.foresee_wait();
        Ok(())
    }

    /// The posterior of the inference engine.
    pub fn posterior(&self) -> &Posterior {
        self.reasoner.posterior()
    }

    /// What is still possible.
    pub fn still_possible(&self) -> Possible {
        if let Some(ready) = &self.ready {
            return ready.possible.clone();
        }
        let p = self.reasoner.posterior();
        let m = &self.problem.plant.machine;
        let mended = &self.problem.epochs[self.circumstances.epoch].mended;
        let passing: Vec<ModeId> = self.problem.passing(self.circumstances.epoch).map(|s| s.0).collect();
        let over = |i: usize| {
            let passes = matches!(m.modes[i].nature, Nature::ByDesign { .. });
            mended[i] || passes && !passing.contains(&ModeId(i as u32))
        };
        let suspects = p
            .names()
            .iter()
            .filter(|(_, q)| *q >= 1e-3)
            .filter_map(|(name, q)| {
                let levels: Vec<usize> =
                    (0..m.modes.len()).filter(|i| m.modes[*i].name_id == self.problem.names[name.0 as usize]).collect();
                // A way of building is nobody to suspect: it is told apart.
                if levels.iter().all(|i| over(*i) || m.built_odds(ModeIx(*i)).is_some()) {
                    return None;
                }
                let best = levels.into_iter().max_by(|a, b| {
                    p.mode(halfsplit_inference::ModeId(*a as u32))
                        .total_cmp(&p.mode(halfsplit_inference::ModeId(*b as u32)))
                })?;
                Some(self.suspect(best, *q))
            })
            .collect();
        // Thousands of hypotheses share some hundred sets of repairs.
        let mut by_repairs: BTreeMap<Vec<&str>, f64> = BTreeMap::new();
        for w in &p.hypotheses {
            let left: Vec<&str> = w
                .hypothesis
                .modes()
                .iter()
                .filter(|x| !mended[x.0 as usize])
                .map(|x| &m.modes[x.0 as usize])
                .filter(|x| !x.nature.harmless())
                .map(|x| x.repair_group.as_str())
                .collect();
            if !left.is_empty() {
                *by_repairs.entry(left).or_insert(0.0) += w.probability;
            }
        }
        let mut repairs: Vec<(String, f64)> = by_repairs.into_iter().map(|(left, q)| (left.join(" and "), q)).collect();
        repairs.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        repairs.truncate(12);
        Possible {
            suspects,
            nothing_broken: self.nothing_broken(),
            not_described: p.not_described,
            not_described_like: self.not_described_like(),
            not_worked_out: p.unexpanded,
            repairs,
            how_built: self.how_built(),
        }
    }

    /// The probability that nothing is left to put right.
    fn nothing_broken(&self) -> f64 {
        let hypotheses = self.reasoner.posterior().hypotheses.iter();
        hypotheses.filter(|w| self.nothing_left_of(&w.hypothesis)).map(|w| w.probability).sum()
    }

    /// Whether nothing of a hypothesis is left to put right.
    fn nothing_left_of(&self, hypothesis: &Hypothesis) -> bool {
        let mended = &self.problem.epochs[self.circumstances.epoch].mended;
        let modes = &self.problem.plant.machine.modes;
        hypothesis.modes().iter().all(|m| mended[m.0 as usize] || modes[m.0 as usize].nature.harmless())
    }

    /// How the machine is built, as far as the readings tell: each question that the sheet leaves open, with the odds of its
    /// ways. Empty where the sheet leaves nothing open.
    pub fn how_built(&self) -> Vec<HowBuilt> {
        let m = &self.problem.plant.machine;
        if m.unsure().next().is_none() {
            return Vec::new();
        }
        let made = self.reasoner.made();
        let of = |mode: ModeIx| -> f64 {
            let there = |(h, _): &&(halfsplit_inference::Hypothesis, f64)| h.contains(ModeId(mode.0 as u32));
            made.iter().filter(there).map(|(_, p)| p).sum()
        };
        m.unsure()
            .map(|(part, ways)| {
                let others: f64 = ways.iter().filter_map(|w| w.mode).map(of).sum();
                let odds = |w: &halfsplit_machine::Way| w.mode.map_or((1.0 - others).max(0.0), of);
                HowBuilt {
                    id: m.parts[part.0].id.clone(),
                    question: m.parts[part.0].name.clone(),
                    ways: ways.iter().map(|w| (w.says.clone(), odds(w))).collect(),
                }
            })
            .collect()
    }

    /// The parameters of a sound machine, built in each way that is still possible (one in a thousand), most probable first.
    pub fn sound_as_built(&self) -> Vec<Vec<f64>> {
        let m = &self.problem.plant.machine;
        if m.unsure().next().is_none() {
            return vec![m.sound()];
        }
        let possible = |(at, (_, p)): &(usize, (halfsplit_inference::Hypothesis, f64))| *at == 0 || *p >= 1e-3;
        let built = |(_, (set, _)): (usize, (halfsplit_inference::Hypothesis, f64))| {
            let mut params = m.sound();
            set.modes().iter().for_each(|way| m.apply(ModeIx(way.0 as usize), &mut params));
            params
        };
        self.reasoner.made().into_iter().enumerate().filter(possible).map(built).collect()
    }

    fn not_described_like(&self) -> Option<String> {
        if self.reasoner.posterior().not_described < WORTH_A_NAME {
            return None;
        }
        let (name, share) = *self.reasoner.not_described_like(&self.problem).first()?;
        let modes = &self.problem.plant.machine.modes;
        let id = &self.problem.names[name.0 as usize];
        let mode = modes.iter().find(|x| x.name_id == *id)?;
        (share >= MUCH_LIKE).then(|| mode.name.clone())
    }

    /// The mode of a repair group, by index, that is or was the likeliest: for what shows that its repair was right.
    pub fn likeliest_in(&self, group: &str) -> Option<usize> {
        let p = self.reasoner.posterior();
        let modes = &self.problem.plant.machine.modes;
        let of = |i: &usize| p.mode(halfsplit_inference::ModeId(*i as u32));
        // The first of equals.
        (0..modes.len()).rev().filter(|i| modes[*i].repair_group == group).max_by(|a, b| of(a).total_cmp(&of(b)))
    }

    fn suspect(&self, mode: usize, probability: f64) -> Suspect {
        let x = &self.problem.plant.machine.modes[mode];
        Suspect {
            id: x.name_id.clone(),
            name: x.name.clone(),
            probability,
            level: x.level,
            cause: x.cause,
            upstream: x.upstream,
            repair: x.repair.what,
            repair_group: x.repair_group.clone(),
            proof: x.proof,
            intermittent: x.intermittent,
            nature: x.nature,
        }
    }

    /// What to do next.
    pub fn advice(&mut self) -> Advice {
        if let Some(ready) = &self.ready {
            return ready.advice.clone();
        }
        let situation = self.problem.situation(&self.circumstances);
        let (a, leaves) = self.reasoner.recommend_and_foresee(&self.problem, &situation, &self.plan);
        let next = match self.after_a_wait(&situation, a.step) {
            step @ Step::Test(t) if step == a.step => Do::Test(self.with_outcomes(&situation, t, leaves)),
            Step::Test(t) => Do::Test(self.test_advice(&situation, t)),
            other => self.run_in_or(other, |case, t| case.test_advice(&situation, t)),
        };
        // With the cover off and the machine as the recommended test leaves it, they take only their own minutes.
        let bundle = match &next {
            Do::Test(t) if !a.bundle.is_empty() => {
                let minutes = self.minutes_after(&[t.test]);
                a.bundle.iter().map(|t| (*t, minutes[*t])).collect()
            }
            _ => Vec::new(),
        };
        let recorded = match &next {
            Do::Test(t) => t.run_in.map_or(0.0, |left| left.minutes),
            _ => 0.0,
        };
        Advice {
            next,
            expected_minutes: a.expected_cost + recorded,
            act_now_minutes: a.act_now_cost,
            bundle,
            expansions: a.expansions,
        }
    }

    /// Works out what a reading of this test will need: for the minutes while it is being taken. Saves time, and changes no
    /// answer.
    pub fn think_ahead(&mut self, test: usize) {
        self.spent.clear();
        let query = self.problem.query(self.circumstances.epoch, test);
        let situation = self.problem.situation(&self.circumstances);
        let later: Vec<QueryId> = situation.tests.iter().filter(|t| t.allowed).map(|t| t.query).collect();
        self.reasoner.think_ahead(&self.problem, query, &later);
    }

    /// Works out what would follow if this test showed this, for when it does: then it is there at once. Nothing that
    /// anybody is told changes; memory is held until something happens.
    ///
    /// # Errors
    /// If the observation cannot belong to the test.
    pub fn suppose(&mut self, test: usize, observed: Observed) -> Result<(), CaseError> {
        if self.supposed.iter().any(|s| s.test == test && s.observed == observed) {
            return Ok(());
        }
        self.suppose_so(test, observed, |case| case.take_in(test, observed))
    }

    /// The same for a proving run.
    ///
    /// # Errors
    /// None in practice: a proving run always fits.
    pub fn suppose_proof(&mut self, right: bool) -> Result<(), CaseError> {
        let (proof, observed) = (self.tests().len(), proof_shown(right));
        if self.supposed.iter().any(|s| s.test == proof && s.observed == observed) {
            return Ok(());
        }
        self.suppose_so(proof, observed, |case| case.prove_anew(observed))
    }

    /// The same for something that changes the machine.
    ///
    /// # Errors
    /// If the machine knows no such repair.
    pub fn suppose_done(&mut self, action: &Action) -> Result<(), CaseError> {
        if self.supposed_done.iter().any(|d| d.action == *action) {
            return Ok(());
        }
        self.spent.clear();
        let before = self.circumstances.clone();
        let ready = self.ready.take();
        let done = self.do_anew(action);
        if done.is_ok() {
            let ready = self.told();
            let circumstances = std::mem::replace(&mut self.circumstances, before);
            self.supposed_done.push(SupposedDone { action: action.clone(), circumstances, ready });
        } else {
            self.circumstances = before;
        }
        self.ready = ready;
        done
    }

    fn suppose_so(
        &mut self,
        test: usize,
        observed: Observed,
        take_in: impl FnOnce(&mut Case) -> Result<(), CaseError>,
    ) -> Result<(), CaseError> {
        self.spent.clear();
        let before = self.circumstances.clone();
        let ready = self.ready.take();
        let taken = take_in(self);
        if taken.is_ok() {
            let ready = self.told();
            self.taken.pop();
            let circumstances = std::mem::replace(&mut self.circumstances, before);
            if let Some(aside) = self.reasoner.set_aside() {
                self.supposed.push(Supposed { test, observed, circumstances, aside, ready });
            }
        } else {
            self.circumstances = before;
        }
        self.ready = ready;
        taken
    }

    /// All that is told of where things stand.
    fn told(&mut self) -> Ready {
        let possible = self.still_possible();
        let lead = possible.suspects.first().map(|s| s.id.clone());
        let reasons = lead.and_then(|id| self.reasons(&id).map(|standing| (id, standing)));
        Ready { advice: self.advice(), possible, reasons }
    }

    /// What to do next, and nothing more: as [`Case::advice`] says, without what each outcome would leave.
    pub fn next_step(&mut self) -> Do {
        let situation = self.problem.situation(&self.circumstances);
        let step = self.reasoner.recommend(&self.problem, &situation, &self.plan).step;
        match self.after_a_wait(&situation, step) {
            Step::Test(test) => Do::Test(self.bare_advice(&situation, test)),
            other => self.run_in_or(other, |case, t| case.bare_advice(&situation, t)),
        }
    }

    /// The next reading of the run-in, advised so, or what the step says.
    fn run_in_or(&mut self, step: Step, advised: impl FnOnce(&mut Case, usize) -> TestAdvice) -> Do {
        match self.run_in(step) {
            Some((test, left)) => Do::Test(TestAdvice { run_in: Some(left), ..advised(self, test) }),
            None => self.act_or_end(step),
        }
    }

    /// The step, or a second look before it: nothing is fitted to a machine, and none is given up or left unseen, that is more
    /// likely in a state by design than not. What else it may hide shows only once that is over.
    fn after_a_wait(&self, situation: &Situation, step: Step) -> Step {
        let likely = |w: &Wait| self.reasoner.posterior().mode(ModeId(w.state as u32)) > 0.5;
        let early = match step {
            Step::Test(_) => false,
            Step::Repair(_) => true,
            Step::Close => self.nothing_broken() < SEEN_RUNNING,
        };
        let Some(wait) = self.circumstances.wait.filter(|w| early && likely(w)) else { return step };
        let (state, epoch, tests) = (ModeId(wait.state as u32), self.circumstances.epoch, self.tests());
        let minutes = |i: usize| situation.minutes_of(&situation.tests[i]);
        (0..tests.len())
            .filter(|i| situation.tests[*i].allowed && self.circumstances.wait_before(*i, &tests[*i]).is_some())
            .filter(|i| self.problem.shows_state(state, epoch, *i))
            .min_by(|a, b| minutes(*a).total_cmp(&minutes(*b)))
            .map_or(step, Step::Test)
    }

    /// Whether the machine as it is now passed when it was last proved; `None` if it has not been.
    pub fn last_proof(&self) -> Option<bool> {
        self.proofs().next()
    }

    /// What the proving runs of the machine as it is now have shown, the last one first. A reset changes nothing of that.
    fn proofs(&self) -> impl Iterator<Item = bool> + '_ {
        let mended = &self.problem.epochs[self.circumstances.epoch].mended;
        let of_now = move |query: QueryId| {
            let (epoch, test) = self.problem.epoch_and_test(query);
            test == self.tests().len() && self.problem.epochs[epoch].mended == *mended
        };
        let readings = self.reasoner.readings().iter().rev().filter(move |r| of_now(r.query));
        readings.map(|r| r.observed == proof_shown(true))
    }

    fn act_or_end(&self, step: Step) -> Do {
        match step {
            Step::Repair(r) => {
                let group = self.problem.repairs[r].clone();
                let m = &self.problem.plant.machine;
                let mended = &self.problem.epochs[self.circumstances.epoch].mended;
                let probability = self
                    .reasoner
                    .posterior()
                    .hypotheses
                    .iter()
                    .filter(|w| {
                        w.hypothesis
                            .modes()
                            .iter()
                            .any(|x| !mended[x.0 as usize] && m.modes[x.0 as usize].repair_group == group)
                    })
                    .map(|w| w.probability)
                    .sum();
                Do::Repair { group, probability }
            }
            Step::Close | Step::Test(_) => {
                let repaired = self.problem.epochs[self.circumstances.epoch].mended.iter().any(|m| *m);
                // Before anybody gives up a machine that did not pass, it is proved once more, if it may well pass. One that
                // fails twice in turn, and shows nothing wrong, is not understood.
                let failed = if repaired { self.proofs().take_while(|passed| !passed).count() } else { 0 };
                let enough = match failed {
                    0 => 0.5,
                    1 => WORTH_PROVING_AGAIN,
                    _ => f64::INFINITY,
                };
                Do::End(match (self.nothing_broken() > enough, repaired) {
                    (true, true) => Ending::Repaired,
                    (true, false) => Ending::NothingBroken,
                    (false, _) => Ending::CannotTell,
                })
            }
        }
    }

    fn test_advice(&mut self, situation: &Situation, test: usize) -> TestAdvice {
        let leaves = self.reasoner.leaves(&self.problem, situation, test, &self.plan);
        self.with_outcomes(situation, test, leaves)
    }

    fn with_outcomes(&self, situation: &Situation, test: usize, leaves: Vec<Leaves>) -> TestAdvice {
        let t = &self.problem.plant.machine.tests[test];
        let axis = axis_of(t);
        let outcomes = leaves
            .into_iter()
            .map(|l| Leaving {
                shown: shown(t, axis, l.outcome),
                probability: l.probability,
                left: l
                    .names
                    .iter()
                    .filter(|(n, p)| *p > 0.005 && !self.problem.is_way(*n))
                    .take(6)
                    .map(|(n, p)| (self.problem.names[n.0 as usize].clone(), *p))
                    .collect(),
                nothing_broken: l.sound,
                not_described: l.not_described,
            })
            .collect();
        TestAdvice { outcomes, ..self.bare_advice(situation, test) }
    }

    fn bare_advice(&self, situation: &Situation, test: usize) -> TestAdvice {
        let t = &self.problem.plant.machine.tests[test];
        let open = self
            .problem
            .plant
            .machine
            .way_to(t.place)
            .into_iter()
            .filter(|p| p.0 > 0 && !self.circumstances.open.contains(p))
            .collect();
        let change_state = Stand::of(t).is_some_and(|s| s != self.circumstances.stand);
        TestAdvice {
            test,
            minutes: situation.minutes_of(&situation.tests[test]),
            open,
            change_state,
            again: self.circumstances.taken[test] > 0,
            wait: self.circumstances.wait_before(test, t).map(|wait| {
                let state = &self.problem.plant.machine.modes[wait.state];
                WaitAdvice {
                    minutes: wait.minutes,
                    name: state.name.clone(),
                    what: state.repair.what,
                    over: state.proof,
                }
            }),
            run_in: None,
            outcomes: Vec::new(),
        }
    }

    /// Advice on a test that the technician chose himself.
    pub fn about(&mut self, test: usize) -> TestAdvice {
        let mut c = self.circumstances.clone();
        c.refused[test] = false;
        c.taken[test] = 0;
        let situation = self.problem.situation(&c);
        self.test_advice(&situation, test)
    }

    /// Why a suspect stands where it stands.
    ///
    /// Returns `None` if no suspect has this id.
    pub fn reasons(&mut self, suspect: &str) -> Option<Standing> {
        if let Some((of, standing)) = self.ready.as_ref().and_then(|r| r.reasons.as_ref())
            && of == suspect
        {
            return Some(standing.clone());
        }
        let name = self.problem.names.iter().position(|n| n == suspect)?;
        let voices = self.reasoner.voices(&self.problem, InferenceSuspect::Name(NameId(name as u32)));
        let readings = self
            .taken
            .iter()
            .zip(&voices.readings)
            .map(|(test, weight)| Reason { test: *test, weight: *weight })
            .collect();
        Some(Standing { before: voices.prior, readings })
    }

    /// The reading, of those on offer now, that would best prove a suspect wrong. Whoever is about to act on a suspect may ask for it.
    ///
    /// Returns `None` if no suspect has this id, or no test that is on offer can lower it.
    pub fn refutation(&mut self, suspect: &str) -> Option<Refuting> {
        let name = self.problem.names.iter().position(|n| n == suspect)?;
        let situation = self.problem.situation(&self.circumstances);
        let suspect = InferenceSuspect::Name(NameId(name as u32));
        let found = self.reasoner.refutation(&self.problem, &situation, suspect, &self.plan)?;
        let t = &self.problem.plant.machine.tests[found.test];
        let shown = shown(t, axis_of(t), found.outcome);
        Some(Refuting { test: found.test, shown, probability: found.probability, leaves: found.leaves })
    }

    /// Where a sound machine would read in a test, SI: low and high end of nineteen readings in twenty; `None` for words.
    ///
    /// Where a sound machine shows OL, ohms lie beyond any meter; of any other quantity there is nothing to say: `None`.
    pub fn expected_band(&mut self, test: usize) -> Option<(f64, f64)> {
        let query = self.problem.query(self.circumstances.epoch, test);
        let axis = axis_of(&self.problem.plant.machine.tests[test])?;
        let as_built = self.reasoner.most_probably_made();
        match self.reasoner.band(&self.problem, query, &as_built, 0.95) {
            halfsplit_inference::Band::Number { low, high, p_over, .. } => {
                let band = (axis.from(low), axis.from(high));
                // A band is about readings in range. Where hardly any is, its figures mean nothing: those of an open
                // contact would be those of a closed one.
                if p_over <= 0.5 || band.1 >= BEYOND_METERS.0 {
                    return Some(band);
                }
                (axis == Axis::Ohms).then_some(BEYOND_METERS)
            }
            halfsplit_inference::Band::Categories(_) => None,
        }
    }

    /// Hazards of a test, with those of the refrigerant.
    pub fn cautions(&self, test: usize) -> Vec<Hazard> {
        let t = &self.tests()[test];
        let mut all = t.hazards.clone();
        if t.power == PowerState::Live && t.place.0 > 0 && !all.contains(&Hazard::Shock) {
            all.insert(0, Hazard::Shock);
        }
        all
    }

    /// Takes tests off the list that no single fault changes, and those whose two wires are electrically the same
    /// as those of a cheaper test of the same kind in every single fault.
    fn drop_redundant(&mut self) {
        let outlines = self.problem.outlines();
        let m = &self.problem.plant.machine;
        let cost = |t: &Test| t.minutes + m.way_to(t.place).iter().map(|p| m.places[p.0].minutes).sum::<f64>();
        let mut order: Vec<usize> = (0..outlines.len()).collect();
        order.sort_by(|a, b| cost(&m.tests[*a]).total_cmp(&cost(&m.tests[*b])).then(a.cmp(b)));
        let mut kept: Vec<usize> = Vec::new();
        for t in order {
            let Some(outline) = &outlines[t] else { continue };
            let same_everywhere = outline.windows(2).all(|w| w[0] == w[1]);
            let doubled = kept
                .iter()
                .any(|k| outlines[*k].as_ref() == Some(outline) && Stand::of(&m.tests[*k]) == Stand::of(&m.tests[t]));
            if same_everywhere || doubled {
                self.circumstances.refused[t] = true;
            } else {
                kept.push(t);
            }
        }
    }
}

/// What a proving run shows.
fn proof_shown(right: bool) -> Observed {
    Observed::Category(usize::from(!right))
}

/// Which of the words was meant: the word itself, its number in the list, its beginning, or what people say
/// in its place.
fn word_of(typed: &str, words: &[String]) -> Option<usize> {
    let typed = typed.trim().to_lowercase();
    if typed.is_empty() {
        return None;
    }
    let only = |found: Vec<usize>| if found.len() == 1 { Some(found[0]) } else { None };
    let which = |f: &dyn Fn(&str) -> bool| {
        words.iter().enumerate().filter(|(_, w)| f(&w.to_lowercase())).map(|(i, _)| i).collect::<Vec<_>>()
    };
    only(which(&|w| w == typed))
        .or_else(|| typed.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).filter(|n| *n < words.len()))
        .or_else(|| only(which(&|w| w.starts_with(&typed))))
        .or_else(|| heard(&typed, words))
        .or_else(|| only(which(&|w| typed.contains(w))))
}

/// What people say of what they hear or see, in place of the list's words.
fn heard(typed: &str, words: &[String]) -> Option<usize> {
    let find = |w: &str| words.iter().position(|x| x == w);
    let has = |w: &str| typed.contains(w);
    if has("hum") {
        find("hums, then stops")
    } else if has("run") && has("stop") {
        find("starts, then stops")
    } else if has("silent") || has("nothing") || has("dead") {
        find("silent").or_else(|| find("still")).or_else(|| find("nothing"))
    } else if has("slow") {
        find("slow")
    } else if has("hiss") {
        find("hisses softly")
    } else if ["crackl", "rumbl", "boil", "kettl"].iter().any(|w| has(w)) {
        find("crackles and rumbles")
    } else if has("run") || has("turns") {
        find("runs")
    } else {
        None
    }
}

fn shown(test: &Test, axis: Option<Axis>, outcome: Outcome) -> Shown {
    match (outcome, &test.answer, axis) {
        (Outcome::Category(i), Answer::Words(w), _) => Shown::Word(w.get(i).cloned().unwrap_or_default()),
        (Outcome::Range(a, b), _, Some(axis)) => {
            Shown::Range(a.is_finite().then(|| axis.from(a)), b.is_finite().then(|| axis.from(b)))
        }
        (Outcome::Over, ..) => Shown::Over,
        (Outcome::Under, ..) => Shown::Under,
        (Outcome::Range(a, b), _, None) => Shown::Range(Some(a), Some(b)),
        (Outcome::Category(_), Answer::Number(_), _) => Shown::Over,
    }
}
