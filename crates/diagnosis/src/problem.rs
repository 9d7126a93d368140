//! The plant as the inference engine sees it.

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit_inference::{
    Broad, ComponentId, Duty, Hypothesis, ModeId, ModeInfo, NameId, Predicted, Problem, QueryId, QueryKind, Reasoner,
    RepairId, Settings, SlipsTo,
};
use halfsplit_machine::test::{Answer, Measure, Moment, Test};
use halfsplit_machine::{CommandIx, Conditions, Machine, Mode, ModeIx, Nature, Role, When};
use halfsplit_plant::{Axis, Operation, Plant, Prediction, Visit, Water, axis_of};
use rustc_hash::FxHashMap;

use crate::built::{Built, Way};
use crate::judgement::Judgement;
use crate::levels;
use crate::priors::Priors;
use crate::told::Errand;

/// The time between two actions that change the machine.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Epoch {
    /// Conditions and resets.
    pub visit: Visit,
    /// Modes that an action has put right, by index.
    pub mended: Vec<bool>,
    /// Somebody has waited since, so that no state by design is on any more.
    pub waited: bool,
}

/// One visit to one machine, as a problem of inference.
pub(crate) struct VisitProblem {
    pub plant: Rc<Plant>,
    pub errand: Errand,
    pub judgement: Judgement,
    modes: Vec<ModeInfo>,
    /// Name id → mode ids of that name; repair id → group name.
    pub names: Vec<String>,
    pub repairs: Vec<String>,
    priors: Priors,
    /// How the machine may be built otherwise than drawn.
    built: Built,
    /// For each mode, those that stand next to it in degree.
    neighbours: Vec<Vec<u32>>,
    /// The degrees for which a mode stands in pairs, by index.
    stands_for: Vec<Vec<usize>>,
    /// Of modes that are no failure: odds of finding the machine so against not. By index.
    harmless: Vec<Option<f64>>,
    /// Of modes that a part is designed for: minutes after which they are over. By index.
    passing: Vec<Option<f64>>,
    /// Modes that are not thought of, by index.
    left_out: Vec<bool>,
    /// Whether a mode leaves other water in the tank than a sound machine does, or may with another fault beside it.
    marks_water: Vec<bool>,
    sound: Vec<f64>,
    kinds: Vec<QueryKind>,
    /// The proving run, as a query beyond the machine's tests.
    proof: QueryKind,
    pub epochs: Vec<Epoch>,
    operations: RefCell<FxHashMap<OperationKey, Rc<Operation>>>,
    /// The parameters asked for last, and whose they are.
    params: RefCell<(Hypothesis, Rc<Vec<f64>>)>,
    /// The last prediction for a sample, and how far it moves with the water: the other samples are asked for next.
    last: RefCell<Option<Last>>,
}

/// Hypothesis, query, what it shows with the water as expected, and how far that moves with the water.
type Last = (Vec<ModeId>, QueryId, Prediction, f64);

/// The modes that are present, in order, the visit, and the water that was there before it.
type OperationKey = (Hypothesis, u32, Option<[u64; 3]>);

/// An operation with the parameters that it was worked out from.
struct Worked {
    params: Rc<Vec<f64>>,
    operation: Rc<Operation>,
}

/// By how many standard deviations the water lies off, and the weights of these: a normal distribution in even steps.
/// They have to be close: several good thermometers in one tank agree to a kelvin or two, and if the water lies between
/// two samples, whatever fault shifts them all a little explains them better than a sound machine does.
const WATER: ([f64; 9], [f64; 9]) = (
    [-2.2, -1.65, -1.1, -0.55, 0.0, 0.55, 1.1, 1.65, 2.2],
    // exp(-z²/2)
    [0.088_922, 0.256_340, 0.546_074, 0.859_633, 1.0, 0.859_633, 0.546_074, 0.256_340, 0.088_922],
);

/// Operations kept at all, for each way of building: more than a machine of two hundred faults has pairs, or they would be
/// worked out again and again.
const KEPT: usize = 60_000;

impl VisitProblem {
    pub(crate) fn new(plant: Rc<Plant>, errand: Errand, conditions: Conditions, judgement: Judgement) -> VisitProblem {
        let m = &plant.machine;
        let visit = Visit { conditions, reset: false };
        let sound = m.sound();
        let operations = RefCell::new(FxHashMap::default());
        let passing: Vec<Option<f64>> = m
            .modes
            .iter()
            .map(|x| match x.nature {
                Nature::ByDesign { minutes, .. } => Some(minutes),
                _ => None,
            })
            .collect();
        let mut marks_water = vec![false; m.modes.len()];
        // What the faults are worth where the machine is built so: each of them is run through, and what comes of it kept.
        let mut priors_of = |built: &[usize]| {
            let with = |more: Option<usize>| {
                let mut modes: Vec<usize> = built.iter().copied().chain(more).collect();
                modes.sort_unstable();
                modes.dedup();
                let mut params = sound.clone();
                apply_in_order(m, &modes, &mut params);
                let operation = match more.filter(|i| passing[*i].is_some()) {
                    None => plant.operate(&params, &visit),
                    Some(_) => {
                        let mut past = sound.clone();
                        apply_in_order(m, built, &mut past);
                        plant.just_now(&params, &plant.operate(&past, &visit))
                    }
                };
                (modes, operation)
            };
            let (_, healthy) = with(None);
            let mut call: Vec<f64> = (0..m.modes.len())
                .map(|i| {
                    let rival = |b: &usize| *b != i && m.modes[*b].part == m.modes[i].part;
                    // Two ways of building one thing exclude each other.
                    if built.iter().any(rival) {
                        return 0.0;
                    }
                    let (modes, operation) = with(Some(i));
                    let call = operation.outcome.call;
                    marks_water[i] |= plant.has_tank()
                        && (operation.water() != healthy.water()
                            || operation.outcome.heat_pump != healthy.outcome.heat_pump
                            || operation.outcome.elements != healthy.outcome.elements
                            || operation.outcome.backup != healthy.outcome.backup);
                    let ids: Vec<ModeId> = modes.iter().map(|i| ModeId(*i as u32)).collect();
                    let key = Hypothesis::new(&ids).unwrap_or(Hypothesis::NONE);
                    operations.borrow_mut().insert((key, 0, None), Rc::new(operation));
                    call
                })
                .collect();
            let mut untroubled = healthy.outcome.call;
            if errand == Errand::FindIt {
                // Whatever it is has brought this visit about, and never that the machine is sound.
                call.fill(1.0);
                untroubled = 0.0;
            }
            Priors::new(m, &conditions, &judgement, call, untroubled)
        };
        let priors = priors_of(&[]);
        let built = Built::new(m, priors_of);
        let (mut names, mut repairs): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
        let index = |list: &mut Vec<String>, key: &str| {
            list.iter().position(|k| k == key).unwrap_or_else(|| {
                list.push(key.to_owned());
                list.len() - 1
            }) as u32
        };
        let modes = m
            .modes
            .iter()
            .map(|mode| ModeInfo {
                prior_odds: 0.0,
                component: ComponentId(mode.part.0 as u32),
                name: NameId(index(&mut names, &mode.name_id)),
                repair: RepairId(index(&mut repairs, &mode.repair_group)),
                intermittent: mode.intermittent.then(Duty::unknown),
                harmless: mode.nature.harmless(),
            })
            .collect();
        let kinds = (0..).zip(&m.tests).map(|(i, t)| kind_of(i, t, &plant, &judgement)).collect();
        let mut proof = QueryKind::categories(2);
        // Nobody mistakes a machine that works for one that does not.
        proof.slip = 0.002;
        // A run made anew shows the same machine: what errs in it anew is its slip.
        proof.category_redraw = 0.1;
        let epoch = Epoch { visit, mended: vec![false; m.modes.len()], waited: false };
        let mut problem = VisitProblem {
            errand,
            modes,
            names,
            repairs,
            priors,
            built,
            neighbours: levels::neighbours(&plant.machine),
            stands_for: levels::stands_for(&plant.machine),
            harmless: m
                .modes
                .iter()
                .map(|x| match x.nature {
                    Nature::Fault => None,
                    Nature::ByDesign { when: When::IceGrows, .. } if !plant.ice_grows(&conditions) => Some(0.0),
                    nature => Some(nature.odds()),
                })
                .collect(),
            passing,
            left_out: vec![false; plant.machine.modes.len()],
            marks_water,
            params: RefCell::new((Hypothesis::NONE, Rc::new(sound.clone()))),
            sound,
            kinds,
            proof,
            epochs: vec![epoch],
            operations,
            last: RefCell::new(None),
            judgement,
            plant,
        };
        problem.weigh();
        problem
    }

    /// Gives every mode its odds. What is no failure stands beside a sound machine as it stands beside any other.
    fn weigh(&mut self) {
        for i in 0..self.modes.len() {
            let fault = !self.left_out[i] && self.harmless[i].is_none();
            self.modes[i].prior_odds = if fault { self.priors.single(i) } else { 0.0 };
        }
        // Odds of being built otherwise are those of a sound machine that is.
        let sound = self.sound_odds();
        for (i, odds) in self.harmless.iter().enumerate().filter(|(i, _)| !self.left_out[*i]) {
            if let Some(odds) = odds {
                self.modes[i].prior_odds = odds * (sound + self.taken_for_fault(i));
            }
        }
    }

    /// Visits that a state by design brings about by itself, because somebody takes it for a failure.
    fn taken_for_fault(&self, mode: usize) -> f64 {
        match self.errand {
            Errand::Call if self.passing[mode].is_some() => self.judgement.taken_for_fault,
            _ => 0.0,
        }
    }

    /// How many of these modes are no way of building.
    fn faults(&self, modes: &[ModeId]) -> usize {
        modes.iter().filter(|m| self.built.made.get(m.0 as usize).is_none_or(|made| !made)).count()
    }

    /// Odds of nothing being wrong on a machine that is built so, against the same machine as drawn.
    fn sound_odds_of(&self, priors: &Priors) -> f64 {
        match self.errand {
            Errand::Call => self.judgement.nothing_broken + priors.by_design(),
            Errand::FindIt => MISTAKEN * self.failures_of(priors),
        }
    }

    /// Odds of all that is a failure, one at a time, on a machine that is built so.
    fn failures_of(&self, priors: &Priors) -> f64 {
        let fault = |i: &usize| !self.left_out[*i] && self.harmless[*i].is_none();
        (0..self.modes.len()).filter(fault).map(|i| priors.single(i)).sum()
    }

    /// Odds of two modes together, degrees of each taken together, on a machine that is built so.
    fn pair_of(&self, priors: &Priors, a: usize, b: usize) -> f64 {
        if self.left_out[a] || self.left_out[b] || self.stands_for[a].is_empty() || self.stands_for[b].is_empty() {
            return 0.0;
        }
        let alone = |i: usize| self.stands_for[i].iter().map(|i| priors.single(*i)).sum::<f64>();
        match (self.harmless[a], self.harmless[b]) {
            (Some(a), Some(b)) => a * b * self.sound_odds_of(priors),
            (Some(odds), None) => odds * alone(b),
            (None, Some(odds)) => odds * alone(a),
            (None, None) => {
                self.stands_for[a].iter().flat_map(|a| self.stands_for[b].iter().map(|b| priors.pair(*a, *b))).sum()
            }
        }
    }

    /// Odds of a set of modes on a machine that is built so: as the reasoner has them, sets of three from their pairs.
    fn odds_where(&self, way: &Way, modes: &[usize]) -> f64 {
        let sound = self.sound_odds_of(&way.priors);
        let single = |i: usize| match self.harmless[i] {
            _ if self.left_out[i] => 0.0,
            Some(odds) => odds * sound,
            None => way.priors.single(i),
        };
        let odds = match *modes {
            [] => sound,
            [a] if !self.left_out[a] => single(a) + self.harmless[a].unwrap_or(0.0) * self.taken_for_fault(a),
            [a] => single(a),
            [a, b] => self.pair_of(&way.priors, a, b),
            _ => {
                let mut product = sound;
                for (i, &a) in modes.iter().enumerate() {
                    product *= single(a) / sound;
                    for &b in &modes[i + 1..] {
                        let apart = single(a) * single(b) / sound;
                        product *= if apart > 0.0 { self.pair_of(&way.priors, a, b) / apart } else { 0.0 };
                    }
                }
                product
            }
        };
        way.odds * odds
    }

    /// Odds of all that is a failure, one at a time.
    fn failures(&self) -> f64 {
        self.modes.iter().filter(|m| !m.harmless).map(|m| m.prior_odds).sum()
    }

    /// What the visit is for.
    pub(crate) fn errand(&self) -> Errand {
        self.errand
    }

    /// What the machine is called for to do when it is proved: what somebody wants of it on such a day. `None` where it is called
    /// for nothing.
    pub(crate) fn proved_by(&self) -> Option<CommandIx> {
        self.plant.season(&self.epochs[0].visit.conditions).map(CommandIx)
    }

    /// Whether a test looks how a breaker's handle stands.
    pub(crate) fn shows_a_handle(&self, test: &Test) -> bool {
        let Measure::Look { part, param, .. } = &test.measure else { return false };
        let role = &self.plant.machine.parts[part.0].role;
        matches!(role, Role::OverCurrent { .. }) && role.stands() == Some(*param)
    }

    /// A reasoner that knows nothing yet.
    pub(crate) fn reasoner(&self) -> Reasoner {
        Reasoner::new(self, Settings { neglect: self.judgement.neglect, ..Settings::default() })
    }

    /// Takes the modes of these names out of what is thought possible, or brings all back.
    pub(crate) fn leave_out(&mut self, names: &[String]) {
        for (i, info) in self.modes.iter().enumerate() {
            self.left_out[i] = names.contains(&self.names[info.name.0 as usize]);
        }
        self.weigh();
    }

    /// Goes back to the first epoch.
    pub(crate) fn forget_epochs(&mut self) {
        self.epochs.truncate(1);
        self.last.take();
    }

    /// Whether a name is that of a way of building the machine, and of no fault.
    pub(crate) fn is_way(&self, name: NameId) -> bool {
        self.modes.iter().zip(0..).any(|(m, i)| m.name == name && self.built.made(i))
    }

    pub(crate) fn query(&self, epoch: usize, test: usize) -> QueryId {
        QueryId((epoch * (self.plant.machine.tests.len() + 1) + test) as u32)
    }

    /// The epoch and the test of a query; the test after the last stands for the proving run.
    pub(crate) fn epoch_and_test(&self, query: QueryId) -> (usize, usize) {
        let n = self.plant.machine.tests.len() + 1;
        (query.0 as usize / n, query.0 as usize % n)
    }

    /// What the board of a sound machine has to show in the conditions of the visit, by detection.
    pub(crate) fn by_design(&self) -> Vec<usize> {
        self.worked(&[], 0).operation.latches.stored.clone()
    }

    /// Whether one look at a test tells a machine in a state by design from a sound one.
    pub(crate) fn shows_state(&self, state: ModeId, epoch: usize, test: usize) -> bool {
        let of = |modes: &[ModeId]| {
            let worked = self.worked(modes, epoch);
            self.plant.predict(&worked.params, &worked.operation, &self.plant.machine.tests[test])
        };
        match (of(&[state]), of(&[])) {
            (Prediction::Words(p), Prediction::Words(q)) => {
                0.5 * p.iter().zip(&q).map(|(p, q)| (p - q).abs()).sum::<f64>() > 0.5
            }
            (
                Prediction::Number { centre: a, noise: na, common: ca, over: oa },
                Prediction::Number { centre: b, noise: nb, common: cb, over: ob },
            ) => (oa - ob).abs() > 0.5 || (a - b).abs() > 3.0 * (na + ca).max(nb + cb),
            _ => false,
        }
    }

    /// The mode that is meant: names beyond the list are those of [`Problem::lasting`], and beyond those of [`Problem::away`].
    fn meant(&self, mode: ModeId) -> ModeId {
        ModeId(mode.0 % self.modes.len() as u32)
    }

    /// Whether a name is that of what stays of a mode while it is away.
    fn is_away(&self, mode: ModeId) -> bool {
        mode.0 as usize >= 2 * self.modes.len()
    }

    /// Whether what was done before an epoch has put this right: never what lasts. What a part is designed for is over once
    /// somebody has waited.
    fn put_right(&self, mode: ModeId, epoch: usize) -> bool {
        let (e, mode) = (&self.epochs[epoch], mode.0 as usize);
        e.mended.get(mode).copied().unwrap_or(false) || e.waited && self.passing.get(mode).is_some_and(Option::is_some)
    }

    /// States by design that may be on in an epoch: mode, and minutes after which it is over.
    pub(crate) fn passing(&self, epoch: usize) -> impl Iterator<Item = (ModeId, f64)> + '_ {
        let waited = self.epochs[epoch].waited;
        let minutes = |(i, minutes): (usize, &Option<f64>)| minutes.map(|m| (ModeId(i as u32), m));
        self.passing.iter().enumerate().filter_map(minutes).filter(move |_| !waited)
    }

    /// The epoch that this one becomes by waiting.
    pub(crate) fn once_waited(&mut self, epoch: usize) -> usize {
        let next = Epoch { waited: true, ..self.epochs[epoch].clone() };
        self.epoch_like(next, epoch)
    }

    /// The number of an epoch after `epoch` like this one: one that an earlier visit came to, or a new one.
    pub(crate) fn epoch_like(&mut self, next: Epoch, epoch: usize) -> usize {
        let known = (epoch + 1..self.epochs.len()).find(|e| self.epochs[*e] == next);
        known.unwrap_or_else(|| {
            self.epochs.push(next);
            self.epochs.len() - 1
        })
    }

    /// What is left of these modes where what happened before counts: a state that lasts for minutes has no past.
    fn lasting_of(&self, modes: Hypothesis) -> Hypothesis {
        modes.filter(|m| self.passing[m.0 as usize].is_none())
    }

    /// The chance that a proving run shows something wrong with what is left of a hypothesis, degrees taken together (0 to 1). What
    /// somebody notices counts in so far as a sound machine does not show it on such a day.
    fn proof_fails(&self, hypothesis: &[ModeId], epoch: usize) -> f64 {
        let sound = self.worked(&[], epoch).operation.outcome.noticed;
        let fails = |hypothesis: &[ModeId]| {
            let wrong = self.worked(hypothesis, epoch).operation.outcome.noticed.beyond(&sound);
            wrong.clamp(PROOF_ERRS, 1.0 - PROOF_ERRS)
        };
        let beside: Vec<f64> = self.a_degree_beside(hypothesis, epoch).map(|modes| fails(&modes)).collect();
        levels::mixed(fails(hypothesis), beside.into_iter())
    }

    /// What a machine with these modes does in an epoch.
    fn worked(&self, hypothesis: &[ModeId], epoch: usize) -> Worked {
        let e = &self.epochs[epoch];
        let there = |m: &ModeId| !self.put_right(*m, epoch) && !self.is_away(*m);
        let left: Vec<ModeId> = hypothesis.iter().copied().filter(there).map(|m| self.meant(m)).collect();
        let left = Hypothesis::new(&left).unwrap_or(Hypothesis::NONE);
        // Epochs that differ only in what was mended are the same machine once that is taken away. But the water in the
        // tank is still the one that the fault left: a repair does not heat it.
        let visit_key = self.epochs.iter().position(|x| x.visit == e.visit).unwrap_or(epoch);
        // Who has only waited finds the water that he found.
        let worked_on = e.visit.reset;
        let away = hypothesis.iter().any(|m| self.is_away(*m));
        let water = match self.plant.has_tank() {
            true if away => self.meanwhile(hypothesis),
            true if worked_on => self.before(hypothesis),
            _ => None,
        };
        let key = (left, visit_key as u32, water.map(Water::key));
        let params = self.params_of(left);
        if let Some(operation) = self.operations.borrow().get(&key) {
            return Worked { params, operation: operation.clone() };
        }
        let lasting = self.lasting_of(left);
        let operation = Rc::new(match lasting == left {
            true => self.plant.operate_on(&params, &e.visit, water),
            false => {
                let past = self.plant.operate_on(&self.params_of(lasting), &e.visit, water);
                self.plant.just_now(&params, &past)
            }
        });
        let mut kept = self.operations.borrow_mut();
        if kept.len() >= KEPT * (1 + self.built.ways().count()) {
            kept.retain(|k, _| self.faults(k.0.modes()) < 2);
        }
        kept.insert(key, operation.clone());
        Worked { params, operation }
    }

    /// The water that a machine with these modes had before anything was done.
    fn before(&self, hypothesis: &[ModeId]) -> Option<Water> {
        let mut modes: Vec<ModeId> = hypothesis.iter().map(|m| self.meant(*m)).collect();
        modes.sort_unstable();
        self.worked(&modes, 0).operation.water()
    }

    /// The water of a machine with faults that are away just now: for how long they have been nobody knows, so it lies between the
    /// water that a machine would have which always had them, and that of one which never had.
    fn meanwhile(&self, hypothesis: &[ModeId]) -> Option<Water> {
        let others: Vec<ModeId> = hypothesis.iter().copied().filter(|m| !self.is_away(*m)).collect();
        Some(self.before(hypothesis)?.or(self.before(&others)?))
    }

    /// The parameters of a machine with these modes. They are made anew rather than kept: there are thousands of pairs.
    fn params_of(&self, modes: Hypothesis) -> Rc<Vec<f64>> {
        let mut last = self.params.borrow_mut();
        if last.0 != modes {
            let mut params = self.sound.clone();
            let these: Vec<usize> = modes.modes().iter().map(|m| m.0 as usize).collect();
            apply_in_order(&self.plant.machine, &these, &mut params);
            *last = (modes, Rc::new(params));
        }
        last.1.clone()
    }

    /// For each test between two mains wires, the volts (rounded, open circuit) under nothing and every single
    /// mode; `None` for tests of other kinds.
    pub(crate) fn outlines(&self) -> Vec<Option<Vec<i32>>> {
        let m = &self.plant.machine;
        let mut out: Vec<Option<Vec<i32>>> =
            m.tests.iter().map(|t| matches!(t.measure, Measure::Volts(..)).then(Vec::new)).collect();
        let alone = std::iter::once(Vec::new()).chain((0..m.modes.len()).map(|i| vec![i]));
        // What tells nothing on the machine as drawn may tell how it is built.
        let otherwise = self.built.ways().flat_map(|(set, _)| {
            (0..m.modes.len()).filter(|i| !self.built.made(*i)).map(move |i| [set, &[i]].concat())
        });
        for mut modes in alone.chain(otherwise) {
            modes.sort_unstable();
            let worked = self.worked(&modes.iter().map(|i| ModeId(*i as u32)).collect::<Vec<_>>(), 0);
            for (t, list) in m.tests.iter().zip(&mut out) {
                if let Some(list) = list {
                    list.push(
                        self.plant
                            .open_circuit_volts(&worked.params, &worked.operation, t)
                            .map_or(-1, |v| libm::round(v) as i32),
                    );
                }
            }
        }
        out
    }

    /// What a test shows under a hypothesis, degrees taken together, and how far a number moves for one standard
    /// deviation of the water.
    fn shows(&self, hypothesis: &[ModeId], epoch: usize, worked: &Worked, test: &Test) -> (Prediction, f64) {
        let mut at = self.plant.predict(&worked.params, &worked.operation, test);
        if test.measure == Measure::Complaint
            && hypothesis
                .iter()
                .any(|m| self.passing[self.meant(*m).0 as usize].is_some() && !self.put_right(*m, epoch))
        {
            // Somebody may have taken the state itself for a failure that lasts, and called.
            let lasts = self.plant.operate(&worked.params, &self.epochs[epoch].visit);
            let then = self.plant.predict(&worked.params, &lasts, test);
            if let (Prediction::Words(now), Prediction::Words(then)) = (&mut at, then) {
                now.iter_mut().zip(then).for_each(|(p, q)| *p += TAKEN_FOR_A_FAULT * (q - *p));
            }
        }
        let moves = match &at {
            Prediction::Number { centre, .. } => {
                self.plant.shares_water(&worked.params, &worked.operation, test, *centre)
            }
            Prediction::Words(_) => 0.0,
        };
        let reach = if self.faults(hypothesis) > 1 { levels::WHOLE } else { levels::HALF_WAY };
        (levels::spread(at, &self.beside(hypothesis, epoch, test), reach), moves)
    }

    /// What the same test shows a degree weaker and a degree stronger, of each mode that has degrees.
    fn beside(&self, hypothesis: &[ModeId], epoch: usize, test: &Test) -> Vec<Prediction> {
        let predict = |modes: Vec<ModeId>| {
            let worked = self.worked(&modes, epoch);
            self.plant.predict(&worked.params, &worked.operation, test)
        };
        self.a_degree_beside(hypothesis, epoch).map(predict).collect()
    }

    /// The hypotheses in which one mode of this one is a degree weaker or a degree stronger.
    fn a_degree_beside<'h>(&'h self, hypothesis: &'h [ModeId], epoch: usize) -> impl Iterator<Item = Vec<ModeId>> + 'h {
        // What only lasts is not known so well that its neighbours would matter.
        let there = move |mode: ModeId| !self.put_right(mode, epoch) && self.meant(mode) == mode;
        let with_degree = hypothesis.iter().enumerate().filter(move |(_, mode)| there(**mode));
        with_degree.flat_map(move |(at, mode)| {
            self.neighbours[mode.0 as usize].iter().map(move |other| {
                let mut modes = hypothesis.to_vec();
                modes[at] = ModeId(*other);
                modes.sort_unstable();
                modes
            })
        })
    }

    /// Whether a part's own state alone decides a test.
    fn local_part(&self, test: &Test) -> Option<usize> {
        let m = &self.plant.machine;
        match &test.measure {
            Measure::PartFarads(p, ..) | Measure::Insulation(p, _) | Measure::Diode(p, ..) => Some(p.0),
            Measure::PartOhms(p, ..) | Measure::PlugOhms(p, ..) => match &m.parts[p.0].role {
                // Trips and water temperatures come from elsewhere.
                Role::OverCurrent { .. } | Role::CutOff { .. } | Role::Thermistor(_) => None,
                _ => Some(p.0),
            },
            Measure::Look { part, param, .. } => (m.parts[part.0].role.stands() != Some(*param)).then_some(part.0),
            _ => None,
        }
    }
}

impl Problem for VisitProblem {
    fn modes(&self) -> &[ModeInfo] {
        &self.modes
    }

    fn samples(&self) -> &[f64] {
        &WATER.1
    }

    fn predict(&self, hypothesis: &[ModeId], sample: usize, query: QueryId) -> Predicted {
        let (epoch, test) = self.epoch_and_test(query);
        let Some(test) = self.plant.machine.tests.get(test) else {
            let wrong = self.proof_fails(hypothesis, epoch);
            return Predicted::Categories(vec![1.0 - wrong, wrong]);
        };
        let mut last = self.last.borrow_mut();
        let (shown, moves) = match &*last {
            Some((h, q, shown, moves)) if *q == query && h == hypothesis => (shown.clone(), *moves),
            _ => {
                let (shown, moves) = self.shows(hypothesis, epoch, &self.worked(hypothesis, epoch), test);
                if moves != 0.0 {
                    *last = Some((hypothesis.to_vec(), query, shown.clone(), moves));
                }
                (shown, moves)
            }
        };
        let off = WATER.0[sample] * moves;
        match shown {
            Prediction::Number { centre, noise, common, over } if over > 0.0 => Predicted::NumberOrOver {
                centre: centre + off,
                noise_sd: noise,
                common_sd: common,
                p_over: over,
                p_under: 0.0,
            },
            Prediction::Number { centre, noise, common, .. } => {
                Predicted::Number { centre: centre + off, noise_sd: noise, common_sd: common }
            }
            Prediction::Words(p) => Predicted::Categories(p),
        }
    }

    fn sample_matters(&self, query: QueryId) -> bool {
        self.plant.machine.tests.get(self.epoch_and_test(query).1).is_some_and(|t| self.plant.near_water(t))
    }

    fn kind(&self, query: QueryId) -> &QueryKind {
        self.kinds.get(self.epoch_and_test(query).1).unwrap_or(&self.proof)
    }

    fn sound_odds(&self) -> f64 {
        match self.errand {
            Errand::Call => self.judgement.nothing_broken + self.priors.by_design(),
            Errand::FindIt => MISTAKEN * self.failures(),
        }
    }

    fn not_described_odds(&self) -> f64 {
        let alone: f64 = self.sound_odds() + self.failures();
        // Each of these is found with whatever else is found.
        let found = |i: &usize| !self.left_out[*i] && !self.built.made(*i);
        let beside: f64 = (0..self.modes.len()).filter(found).filter_map(|i| self.harmless[i]).sum();
        let mut described = alone + beside * alone;
        for (_, way) in self.built.ways().filter(|(set, _)| !set.iter().any(|i| self.left_out[*i])) {
            let alone = self.sound_odds_of(&way.priors) + self.failures_of(&way.priors);
            described += way.odds * (alone + beside * alone);
        }
        let share = self.judgement.not_described;
        described * share / (1.0 - share)
    }

    fn undescribed_likeness(&self) -> f64 {
        UNDESCRIBED_LIKENESS
    }

    fn shows_component_of(&self, mode: ModeId, query: QueryId) -> bool {
        let m = &self.plant.machine;
        let Some(test) = m.tests.get(self.epoch_and_test(query).1) else { return false };
        let part = match &test.measure {
            // A thermistor's ohms are its own, at whatever temperature others give it.
            Measure::PartOhms(p, ..) | Measure::PlugOhms(p, ..) => Some(p.0),
            _ => self.local_part(test),
        };
        part == Some(m.modes[mode.0 as usize].part.0)
    }

    fn shows_whatever_is_wrong(&self, query: QueryId) -> Option<Predicted> {
        let proving = self.epoch_and_test(query).1 == self.plant.machine.tests.len();
        proving.then(|| Predicted::Categories(vec![1.0 - UNKNOWN_SHOWS, UNKNOWN_SHOWS]))
    }

    fn lasting(&self, mode: ModeId, query: QueryId) -> ModeId {
        let mended = self.put_right(mode, self.epoch_and_test(query).0);
        if mended { ModeId(mode.0 + self.modes.len() as u32) } else { mode }
    }

    fn away(&self, mode: ModeId) -> Option<ModeId> {
        let marks = self.marks_water[mode.0 as usize];
        marks.then(|| ModeId(mode.0 + 2 * self.modes.len() as u32))
    }

    fn pair_prior(&self, a: ModeId, b: ModeId) -> f64 {
        self.pair_of(&self.priors, a.0 as usize, b.0 as usize)
    }

    fn made_so(&self, mode: ModeId) -> bool {
        self.built.made(mode.0 as usize)
    }

    fn set_odds(&self, modes: &[ModeId]) -> Option<f64> {
        let modes: Vec<usize> = modes.iter().map(|m| m.0 as usize).collect();
        if modes.iter().any(|i| self.built.made(*i) && self.left_out[*i]) {
            return Some(0.0);
        }
        let (way, faults) = self.built.apart(&modes);
        way.map(|way| self.odds_where(way, &faults))
    }

    fn end_share(&self, left: &[ModeId]) -> f64 {
        if self.errand == Errand::FindIt {
            return 1.0;
        }
        let heard = self.worked(left, 0).operation.outcome.call;
        QUIET_CALL_BACK + (1.0 - QUIET_CALL_BACK) * heard
    }

    fn proof_shows(&self, left: &[ModeId]) -> f64 {
        if left.is_empty() {
            return 0.0;
        }
        // What comes and goes may be away while it is proved: its share of the time is not known.
        let there = |m: &ModeId| self.modes.get(m.0 as usize).is_some_and(|x| x.intermittent.is_none());
        let away = if left.iter().any(there) { 1.0 } else { 0.5 };
        away * self.proof_fails(left, 0)
    }

    fn may_coexist(&self, a: ModeId, b: ModeId) -> bool {
        let modes = &self.plant.machine.modes;
        let (a, b) = (&modes[a.0 as usize], &modes[b.0 as usize]);
        // However it is built, its parts fail.
        let built = |x: &Mode| matches!(x.nature, Nature::AsBuilt { .. });
        built(a) != built(b) || a.part != b.part && a.repair_group != b.repair_group
    }

    fn reaches(&self, mode: ModeId, query: QueryId) -> bool {
        let (epoch, test) = self.epoch_and_test(query);
        if self.put_right(mode, epoch) {
            return self.marks_water[mode.0 as usize];
        }
        let m = &self.plant.machine;
        if self.is_away(mode) {
            // What was told of it is told of when it was there.
            let told = |t: &Test| matches!(t.measure, Measure::Complaint | Measure::ShownCode | Measure::DisplayLit);
            return m.tests.get(test).is_some_and(|t| !told(t) && self.local_part(t).is_none());
        }
        if self.passing[self.meant(mode).0 as usize].is_some() {
            // A state by design is about what the machine was told to do; a customer may have seen it.
            return m.tests.get(test).is_some_and(|t| t.command.is_some() || t.measure == Measure::Complaint);
        }
        match m.tests.get(test).and_then(|t| self.local_part(t)) {
            Some(part) => m.modes[self.meant(mode).0 as usize].edits.iter().any(|e| m.params[e.param.0].part.0 == part),
            None => true,
        }
    }
}

/// Applies modes to the parameters: first how the machine is built, then what has become of it.
fn apply_in_order(m: &Machine, modes: &[usize], params: &mut [f64]) {
    let built = |i: usize| matches!(m.modes[i].nature, Nature::AsBuilt { .. });
    for first in [true, false] {
        for &i in modes.iter().filter(|i| built(**i) == first) {
            m.apply(ModeIx(i), params);
        }
    }
}

/// Share of visits on which something was said to be wrong for certain and nothing is (0 to 1). Judgement.
const MISTAKEN: f64 = 0.001;

/// How often a customer complains of what a state by design shows, as though it lasted, when the machine is in it at the visit
/// (0 to 1). Judgement.
const TAKEN_FOR_A_FAULT: f64 = 0.5;

/// How much of what is not described shows much like something described: an unknown part breaks the same chains as the
/// known ones beside it. Judgement.
const UNDESCRIBED_LIKENESS: f64 = 0.7;

/// Chance that a proving run shows what is not described: somebody has called for it, and yet it may come and go.
/// Judgement.
const UNKNOWN_SHOWS: f64 = 0.9;

/// The share of machines that never pass though they are right, and of those that always pass though everybody would call about
/// them (0 to 1); that a single run errs is its slip. Judgement.
const PROOF_ERRS: f64 = 1e-4;

/// What a fault left behind that nobody notices costs, as a share of one that everybody does. Judgement: it comes to light one day.
const QUIET_CALL_BACK: f64 = 0.5;

/// A fault counts as noticed above this chance of a call (0 to 1). Judgement.
pub(crate) const NOTICED: f64 = 0.1;

/// Share of slips with a probe or a clamp that show nothing. Judgement.
const SHOWS_NOTHING: f64 = 0.3;

/// What a meter shows that is held wrong: a probe that touches nothing, a clamp round both leads, tips that touch each other, and
/// stray volts besides. Common practice, no source; share and widths are judgement: narrower, they would take a true 0 V for a slip.
fn slips_to(test: &Test, axis: Option<Axis>) -> Option<SlipsTo> {
    let sd = match (&test.measure, axis) {
        (_, Some(Axis::Ohms | Axis::Farads)) => {
            return axis.map(|a| SlipsTo { at: a.to(0.0), sd: 0.3, share: SHOWS_NOTHING });
        }
        (Measure::Volts(..) | Measure::BusVolts(_), _) => 2.0,
        (Measure::ControlVolts(..), _) => 0.3,
        (Measure::SupplyAmps | Measure::LeadAmps(..), _) => 0.1,
        _ => return None,
    };
    Some(SlipsTo { at: 0.0, sd, share: SHOWS_NOTHING })
}

/// The least common error of a reading, and the least of all its error as a share of the reading, by which what is not worked out
/// is bounded. Judgement, a little below what is foreseen at the sharpest, so that they widen nothing but two things: the figures of
/// an instrument that all but certainly shows none, and ohms, of which 3 % are taken to be the same at every reading.
fn least_errors(test: &Test, axis: Option<Axis>) -> (f64, f64) {
    match (&test.measure, axis) {
        // Decades: 3 %.
        (_, Some(Axis::Ohms | Axis::Farads)) => (0.0135, 0.0),
        (Measure::Volts(..), _) => (0.0, 0.017),
        (Measure::BusVolts(_), _) => (0.0, 0.022),
        (Measure::ControlVolts(..), _) => (0.0, 0.02),
        (Measure::SupplyAmps | Measure::LeadAmps(..) | Measure::Gauge(_), _) => (0.0, 0.025),
        (Measure::Thermometer(_), _) => (0.99, 0.0),
        (Measure::ShownTemperature(_), _) => (0.49, 0.0),
        _ => (0.0, 0.0),
    }
}

/// What is common to all predictions of a test: where a slip or an unknown fault may land. Judgement.
fn kind_of(index: u32, test: &Test, plant: &Plant, judgement: &Judgement) -> QueryKind {
    let plate = &plant.machine.sheet.nameplate;
    let axis = axis_of(test);
    let mut kind = match (&test.answer, axis) {
        (Answer::Words(w), _) => QueryKind::categories(w.len()),
        (_, Some(Axis::Ohms)) => {
            let mut k = QueryKind::number(Axis::Ohms.to(0.0), Axis::Ohms.to(20e6), 0.004);
            if let Broad::Number { p_over, p_under, .. } = &mut k.broad {
                (*p_over, *p_under) = (0.25, 0.005);
            }
            k
        }
        (_, Some(Axis::Farads)) => QueryKind::number(Axis::Farads.to(0.0), Axis::Farads.to(100e-6), 0.004),
        (_, _) => match &test.measure {
            Measure::ShownLessThermometer(_) => {
                let mut k = QueryKind::number(-40.0, 40.0, 0.3);
                if let Broad::Number { p_over, .. } = &mut k.broad {
                    *p_over = 0.1;
                }
                k
            }
            Measure::Gauge(_) => QueryKind::number(-1e5, 45e5, 2e3),
            Measure::WaterRise(..) => {
                let mut k = QueryKind::number(-5.0, 45.0, 0.1);
                if let Broad::Number { p_over, .. } = &mut k.broad {
                    *p_over = 0.08;
                }
                k
            }
            Measure::EnergyMeanwhile => QueryKind::number(0.0, 10e6, 2e4),
            Measure::SuctionRise(_) => QueryKind::number(-5.0, 40.0, 0.1),
            Measure::Volts(..) => QueryKind::number(0.0, 1.2 * plate.volts, 0.3),
            Measure::BusVolts(_) => QueryKind::number(0.0, 2.0 * plate.volts, 0.5),
            Measure::Diode(..) => {
                let mut k = QueryKind::number(0.0, 3.0, 0.005);
                if let Broad::Number { p_over, .. } = &mut k.broad {
                    *p_over = 0.4;
                }
                k
            }
            Measure::ControlVolts(..) => QueryKind::number(0.0, 15.0, 0.01),
            Measure::SupplyAmps => QueryKind::number(0.0, 1.2 * plate.breaker_a.unwrap_or(30.0), 0.02),
            Measure::LeadAmps(..) => QueryKind::number(0.0, 1.3 * plate.locked_rotor_a.unwrap_or(20.0), 0.02),
            _ => {
                let mut k = QueryKind::number(248.0, 378.0, 0.2);
                if let Broad::Number { p_over, .. } = &mut k.broad {
                    *p_over = 0.08;
                }
                k
            }
        },
    };
    (kind.least_common_sd, kind.least_share) = least_errors(test, axis);
    // Where the probe sits, what a part's tolerance is and what the model has wrong stay the same after a repair: reading
    // the same number again then is no second proof.
    kind.repeat_group = axis.is_some().then_some(index);
    kind.slip = match test.measure {
        // The customer's words go through a confusion table already.
        Measure::Complaint => 0.05,
        _ => judgement.slip,
    };
    kind.slips_to = slips_to(test, axis);
    kind.unshown = match test.measure {
        // What the customer complains of, and a dark display, are what the fault was called out for.
        Measure::Complaint | Measure::DisplayLit => 0.0,
        _ => judgement.unshown,
    };
    // How a part is worn is seen, and a loose lug felt, also while it happens to work.
    kind.lasting = test.measure.shows_wear(&plant.machine);
    // What a state of the machine shows is seen again; what comes and goes is drawn by the episode.
    kind.category_redraw = if test.moment == Moment::AtRest { 0.0 } else { 0.2 };
    kind
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_errors_widen_nothing_but_ohms_that_is_foreseen_of_any_example() {
        for example in halfsplit_machine::examples::EXAMPLES {
            let machine = Machine::build(example.text).unwrap_or_else(|e| panic!("{e}"));
            let plant = Plant::new(machine).unwrap_or_else(|e| panic!("{e}"));
            let m = &plant.machine;
            let visit = Visit { conditions: Conditions::default(), reset: false };
            for mode in std::iter::once(None).chain((0..m.modes.len()).map(Some)) {
                let mut params = m.sound();
                apply_in_order(m, mode.as_slice(), &mut params);
                let operation = plant.operate(&params, &visit);
                for test in m.tests.iter().filter(|t| axis_of(t).is_none()) {
                    let (least, share) = least_errors(test, None);
                    if let Prediction::Number { centre, noise, common, over } = plant.predict(&params, &operation, test)
                        && over < 0.99
                    {
                        let all = libm::hypot(noise, common);
                        let widened = libm::hypot(noise, common.max(least)).max(share * centre.abs());
                        assert!(widened <= 1.001 * all, "{}: {centre} {noise} {common}", test.id);
                    }
                }
            }
        }
    }
}
