//! The reasoner: readings in, posterior out.
//!
//! Every hypothesis keeps how many of the readings it has been held against. None, single modes and
//! "not described" are always held against all of them. Pairs (and larger sets) start with none,
//! and are worked out only while it matters: the evidence of the first *k* readings times the
//! largest likelihood that anything could give the rest is an upper bound on what a hypothesis can
//! score, and the largest bounds are worked out until the rest together are below
//! [`Settings::neglect`] of the evidence.

mod aside;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub use aside::Aside;

use crate::evidence::{self, Comings, GroupKey, Layout, Taken, log_sum, log_sum_of};
use crate::hypothesis::{EpisodeId, Hypothesis, MAX_FAULTS, ModeId, NameId, QueryId};
use crate::likelihood;
use crate::normal::Table;
use crate::posterior::{Posterior, Weighed};
use crate::prediction::{self, ObservationError};
use crate::problem::{Observed, Problem};
use crate::score::Score;
use crate::store::{HypothesisIndex, QueryIndex, Store};
use crate::undescribed::Undescribed;

/// How the posterior is worked out. The defaults are meant to be used.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Faults that may be present together from the start (0 to [`MAX_FAULTS`]). All sets up to
    /// this size are listed: above two, for small problems only.
    pub max_faults: usize,
    /// Share of the evidence that hypotheses not worked out may hold together at most.
    pub neglect: f64,
    /// Steps (one hypothesis held against one reading) per new reading at most, for sets of two and
    /// more. If they run out, [`Posterior::unexpanded`] says what is left open.
    pub step_budget: usize,
    /// When pairs and "not described" together reach this probability, and two faults were the most
    /// considered, the likely pairs are tried with every third mode. Sets of three that are not
    /// listed then are outside of [`Posterior::unexpanded`].
    pub widen_at: f64,
    /// How far an unknown fault reaches: shares of the readings that it disturbs, with weights.
    pub disturbed: Vec<(f64, f64)>,
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            max_faults: 2,
            neglect: 1e-3,
            step_budget: 50_000,
            widen_at: 0.3,
            disturbed: vec![(0.05, 0.3), (0.15, 0.3), (0.35, 0.25), (0.6, 0.15)],
        }
    }
}

/// Share of what may be neglected that is worked out ahead of a reading: one that surprises raises what seemed negligible.
const AHEAD: f64 = 0.01;

/// So many larger sets are worked out before it is asked anew how much may be left, if what was gathered has not doubled before.
const ROUND: usize = 1024;

/// Nats by which a larger set may outweigh all singles before weights are told relative to it: far below what a number holds.
const BEYOND_MEASURE: f64 = 600.0;

/// Hypotheses whose predictions are asked for ahead for the choice after next.
const NEAR_THE_TOP: usize = 160;

/// Pairs that are tried with a third mode when the evidence asks for it.
const WIDENED_PAIRS: usize = 24;

/// Pairs less probable than this are not tried with a third mode.
const LEAST_WIDENED: f64 = 0.01;

/// One thing observed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What was asked of the machine.
    pub query: QueryId,
    /// What it answered.
    pub observed: Observed,
    /// The episode it was taken in; any number will do where nothing comes and goes.
    pub episode: EpisodeId,
}

/// A hypothesis and what it scored so far.
pub(crate) struct Track {
    pub hypothesis: HypothesisIndex,
    /// How many modes it has, but for ways of being made.
    faults: usize,
    pub log_prior: f64,
    /// Present if some of its modes come and go.
    pub comings: Option<Box<Comings>>,
    intermittent: bool,
    pub score: Score,
}

impl Track {
    fn seen(&self) -> usize {
        self.score.seen()
    }
}

/// What it takes to go back one reading.
struct Undo {
    tracks: usize,
    advanced: Vec<(usize, usize)>,
    posterior: Posterior,
}

/// Room to work in, kept from one reading to the next: there are thousands of hypotheses. Holds nothing in between.
#[derive(Default)]
struct Room {
    tracks: Vec<(f64, usize)>,
    amounts: Vec<f64>,
    factors: Vec<f64>,
    comings: evidence::Room,
}

/// Weighs hypotheses by readings. Holds everything but the problem, which every call is given.
pub struct Reasoner {
    pub(crate) settings: Settings,
    pub(crate) store: Store,
    /// Log weights of the samples.
    pub(crate) log_samples: Vec<f64>,
    pub(crate) tracks: Vec<Track>,
    pub(crate) undescribed: Undescribed,
    given: Vec<Reading>,
    pub(crate) taken: Vec<Taken>,
    pub(crate) posterior: Posterior,
    history: Vec<Undo>,
    /// How the first 0, 1, … readings hang together.
    layouts: Vec<Layout>,
    /// Serial number of the next reading.
    next_serial: u64,
    room: Room,
    /// Memory of the last plan, for the next.
    pub(crate) spare: Vec<Vec<f64>>,
    /// For planning; lives here because it is worth making once only.
    pub(crate) table: Arc<Table>,
}

impl Reasoner {
    /// Starts with the priors alone.
    pub fn new(problem: &impl Problem, settings: Settings) -> Reasoner {
        let weights = problem.samples();
        let total: f64 = weights.iter().sum();
        let modes = problem.modes().len();
        let log_samples: Vec<f64> = weights.iter().map(|w| libm::log(w / total)).collect();
        let mut reasoner = Reasoner {
            undescribed: Undescribed::new(problem, &log_samples, &settings.disturbed),
            store: Store::new(weights.len(), (0..modes).map(|m| problem.made_so(ModeId(m as u32))).collect()),
            log_samples,
            tracks: Vec::new(),
            given: Vec::new(),
            taken: Vec::new(),
            posterior: Posterior::default(),
            history: Vec::new(),
            layouts: vec![Layout::default()],
            next_serial: 0,
            room: Room::default(),
            spare: Vec::new(),
            table: Arc::new(Table::new()),
            settings,
        };
        reasoner.list_all(problem);
        reasoner
    }

    /// Forgets all readings and takes up the problem's priors anew; what was asked of the problem before is kept, so its
    /// predictions, kinds and reaches must be the same as ever.
    pub fn renew(&mut self, problem: &impl Problem) {
        self.tracks.clear();
        self.given.clear();
        self.taken.clear();
        self.history.clear();
        self.layouts.truncate(1);
        self.undescribed = Undescribed::new(problem, &self.log_samples, &self.settings.disturbed);
        self.list_all(problem);
    }

    fn list_all(&mut self, problem: &impl Problem) {
        let modes = problem.modes().len();
        let most = self.settings.max_faults.min(MAX_FAULTS);
        let made = made_sets(problem);
        let mut level = vec![Hypothesis::NONE];
        for size in 0..=most {
            for &hypothesis in &level {
                for (made, _) in &made {
                    if let Some(hypothesis) = together(problem, hypothesis, *made) {
                        self.list(problem, hypothesis);
                    }
                }
            }
            if size < most {
                level = extend(problem, &level, modes);
            }
        }
        self.refresh(problem, &mut Vec::new());
    }

    fn list(&mut self, problem: &impl Problem, hypothesis: Hypothesis) {
        let log_prior = libm::log(prior_odds(problem, hypothesis));
        if log_prior == f64::NEG_INFINITY && !hypothesis.is_empty() {
            return;
        }
        let infos = problem.modes();
        let intermittent = hypothesis.modes().iter().any(|m| infos[m.0 as usize].intermittent.is_some());
        self.tracks.push(Track {
            hypothesis: self.store.hypothesis_index(hypothesis),
            faults: self.store.faults(hypothesis),
            log_prior,
            comings: None,
            intermittent,
            score: Score::new(),
        });
    }

    /// Adds a reading and weighs everything anew.
    ///
    /// # Errors
    /// If the observation cannot belong to the query's kind; nothing is changed then.
    pub fn observe(&mut self, problem: &impl Problem, reading: Reading) -> Result<(), ObservationError> {
        let serial = self.next_serial;
        self.next_serial += 1;
        self.hold(problem, reading, serial)?;
        let mut undo =
            Undo { tracks: self.tracks.len(), advanced: Vec::new(), posterior: std::mem::take(&mut self.posterior) };
        self.refresh(problem, &mut undo.advanced);
        if self.asks_for_a_third_fault() && self.widen(problem) {
            self.refresh(problem, &mut undo.advanced);
        }
        self.history.push(undo);
        Ok(())
    }

    /// Puts a reading with the others, and weighs nothing by it yet.
    fn hold(&mut self, problem: &impl Problem, reading: Reading, serial: u64) -> Result<(), ObservationError> {
        let query = self.store.query_index(problem, reading.query);
        let group = self.group_of(query);
        let kind = &self.store.query(query).kind;
        prediction::check(kind, reading.observed)?;
        let earlier: Vec<usize> = (0..self.taken.len()).filter(|&i| self.taken[i].group == group).collect();
        let ceiling = likelihood::ceiling(kind, reading.observed, !earlier.is_empty());
        self.given.push(reading);
        self.taken.push(Taken {
            serial,
            query,
            observed: reading.observed,
            episode: reading.episode,
            group,
            earlier,
            log_ceiling: libm::log(ceiling),
            singles: Vec::new(),
            mixed: Vec::new(),
            joint: RefCell::default(),
            after: RefCell::default(),
        });
        self.layouts.push(Layout::new(&self.taken));
        Ok(())
    }

    /// The last reading, away from the others.
    fn let_go(&mut self) -> Option<Reading> {
        self.taken.pop();
        self.layouts.pop();
        self.undescribed.go_back_to(self.taken.len());
        self.given.pop()
    }

    /// Takes back the last reading, and restores exactly what held before it.
    pub fn undo(&mut self) -> Option<Reading> {
        let undo = self.history.pop()?;
        self.tracks.truncate(undo.tracks);
        self.roll_back(&undo.advanced);
        self.posterior = undo.posterior;
        self.let_go()
    }

    /// Brings tracks back to what they had seen.
    fn roll_back(&mut self, advanced: &[(usize, usize)]) {
        let samples = self.store.samples();
        // Latest first: a track may have been advanced twice.
        for &(track, seen) in advanced.iter().rev() {
            if let Some(track) = self.tracks.get_mut(track) {
                track.score.go_back_to(seen, samples);
            }
        }
    }

    /// Asks the problem now for what the next reading, most likely of `query`, will need of it, and the choice among
    /// `later` ones after it: while somebody is busy taking that reading, nobody waits. Saves time later, and changes no
    /// answer.
    pub fn think_ahead(&mut self, problem: &impl Problem, query: QueryId, later: &[QueryId]) {
        let neglect = self.settings.neglect;
        self.settings.neglect = neglect * AHEAD;
        let posterior = std::mem::take(&mut self.posterior);
        let mut advanced = Vec::new();
        self.refresh(problem, &mut advanced);
        let query = self.store.query_index(problem, query);
        let count = self.taken.len();
        for t in 0..self.tracks.len() {
            if self.tracks[t].seen() == count {
                self.ensure_track(problem, query, t);
                self.tracks[t].score.make_room(self.log_samples.len());
            }
        }
        self.roll_back(&advanced);
        self.settings.neglect = neglect;
        self.posterior = posterior;
        // Whatever comes to the top next is mostly near it now.
        let mut near: Vec<(f64, usize)> =
            (0..self.tracks.len()).filter_map(|t| Some((self.log_weight(&self.tracks[t])?, t))).collect();
        near.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        near.truncate(NEAR_THE_TOP);
        for &query in later {
            let query = self.store.query_index(problem, query);
            for &(_, t) in &near {
                self.ensure_track(problem, query, t);
            }
        }
    }

    /// Asks for what a query shows under a track's hypothesis, with whatever comes and goes there and away.
    fn ensure_track(&mut self, problem: &impl Problem, query: QueryIndex, t: usize) {
        let Reasoner { tracks, store, .. } = self;
        store.ensure(problem, query, tracks[t].hypothesis);
        for &present in tracks[t].comings.iter().flat_map(|c| &c.patterns) {
            store.ensure(problem, query, present);
        }
    }

    /// Takes back the reading at `index`, whichever it is; `None` if there is no such reading.
    pub fn remove(&mut self, problem: &impl Problem, index: usize) -> Option<Reading> {
        if index >= self.given.len() {
            return None;
        }
        let mut later = Vec::new();
        while self.given.len() > index + 1 {
            later.extend(self.undo());
        }
        let removed = self.undo();
        for reading in later.into_iter().rev() {
            // It was accepted before, so it is accepted again.
            let _ = self.observe(problem, reading);
        }
        removed
    }

    /// The posterior as it would be after one more reading; nothing is changed.
    ///
    /// # Errors
    /// If the observation cannot belong to the query's kind.
    pub fn suppose(&mut self, problem: &impl Problem, reading: Reading) -> Result<Posterior, ObservationError> {
        self.observe(problem, reading)?;
        let posterior = std::mem::take(&mut self.posterior);
        self.undo();
        Ok(posterior)
    }

    /// The readings so far, in the order they came.
    pub fn readings(&self) -> &[Reading] {
        &self.given
    }

    /// What is still possible.
    pub fn posterior(&self) -> &Posterior {
        &self.posterior
    }

    /// What "something not described" is like, most probable first: shares of it by the name of the described fault that
    /// it shows much like. What is left to one shows like nothing described.
    pub fn not_described_like(&self, problem: &impl Problem) -> Vec<(NameId, f64)> {
        let mut by_name: BTreeMap<NameId, f64> = BTreeMap::new();
        for (base, weight) in self.undescribed.bases(self.store.samples()) {
            if let Some(mode) = base.mode() {
                *by_name.entry(problem.modes()[mode.0 as usize].name).or_default() += weight;
            }
        }
        let mut like: Vec<(NameId, f64)> = by_name.into_iter().collect();
        like.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        like
    }

    /// How the machine is made: the probability of each set of [`Problem::made_so`] modes, whatever else is wrong with it,
    /// most probable first. These sum to one.
    pub fn made(&self) -> Vec<(Hypothesis, f64)> {
        let mut by_set: BTreeMap<Hypothesis, f64> = BTreeMap::new();
        for w in &self.posterior.hypotheses {
            *by_set.entry(self.store.made_part(w.hypothesis)).or_default() += w.probability;
        }
        if self.posterior.not_described > 0.0 {
            for (base, weight) in self.undescribed.bases(self.store.samples()) {
                *by_set.entry(base.made).or_default() += self.posterior.not_described * weight;
            }
        }
        let mut made: Vec<(Hypothesis, f64)> = by_set.into_iter().collect();
        made.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        made
    }

    /// How the machine is most probably made.
    pub fn most_probably_made(&self) -> Hypothesis {
        if self.store.all_made_alike() {
            Hypothesis::NONE
        } else {
            self.made().first().map_or(Hypothesis::NONE, |m| m.0)
        }
    }

    /// Log of the weight of a fully worked-out hypothesis; `None` if it lags behind the readings.
    pub(crate) fn log_weight(&self, track: &Track) -> Option<f64> {
        (track.seen() == self.taken.len()).then(|| track.log_prior + track.score.evidence())
    }

    /// Whether so much weight lies with pairs and the unknown that sets of three may matter.
    fn asks_for_a_third_fault(&self) -> bool {
        if self.settings.max_faults != 2 {
            return false;
        }
        let pairs: f64 = self
            .posterior
            .hypotheses
            .iter()
            .filter(|w| self.store.faults(w.hypothesis) == 2)
            .map(|w| w.probability)
            .sum();
        pairs + self.posterior.not_described >= self.settings.widen_at
    }

    /// Lists the likely pairs with every third mode; whether any is new.
    fn widen(&mut self, problem: &impl Problem) -> bool {
        let mut triples: Vec<Hypothesis> = self
            .posterior
            .hypotheses
            .iter()
            .filter(|w| self.store.faults(w.hypothesis) == 2 && w.probability >= LEAST_WIDENED)
            .take(WIDENED_PAIRS)
            .flat_map(|w| {
                (0..problem.modes().len()).filter_map(move |m| {
                    let mode = ModeId(m as u32);
                    (!problem.made_so(mode) && compatible(problem, w.hypothesis, mode))
                        .then(|| with(w.hypothesis, mode))
                })
            })
            .flatten()
            .collect();
        let listed: BTreeSet<Hypothesis> =
            self.tracks.iter().map(|t| self.store.hypothesis(t.hypothesis)).filter(|h| h.len() > 2).collect();
        triples.sort_unstable();
        triples.dedup();
        triples.retain(|t| !listed.contains(t));
        for &triple in &triples {
            self.list(problem, triple);
        }
        !triples.is_empty()
    }

    /// Holds hypotheses against the readings as far as it matters, and works out the posterior.
    fn refresh(&mut self, problem: &impl Problem, advanced: &mut Vec<(usize, usize)>) {
        let count = self.taken.len();
        let mut live = Vec::new();
        for t in 0..self.tracks.len() {
            if self.tracks[t].faults <= 1 {
                self.advance(problem, t, count, advanced);
                live.push(self.tracks[t].log_prior + self.tracks[t].score.evidence());
            }
        }
        self.undescribed.take_in(problem, &mut self.store, &mut self.taken);
        let not_described = self.undescribed.log_weight_after(count);
        live.push(not_described);
        let mut rest = vec![0.0; count + 1];
        for k in (0..count).rev() {
            rest[k] = rest[k + 1] + self.taken[k].log_ceiling;
        }
        let bound = |track: &Track| track.log_prior + track.score.evidence() + rest[track.seen()];
        let (mut open, mut bounds) = (std::mem::take(&mut self.room.tracks), std::mem::take(&mut self.room.amounts));
        bounds.clear();
        bounds.extend(self.tracks.iter().map(|t| if t.faults > 1 { bound(t) } else { f64::NEG_INFINITY }));
        // Weights from here on are relative to what the singles have, or to what the heaviest larger set may have where that is
        // beyond all measure more. A larger set may be left once its bound is below a level so low that all of them together
        // stay within what may be neglected: those that lie below it from the start, and the others at the level itself.
        let singles = log_sum(&live);
        let highest = bounds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let unit = singles.max(highest - BEYOND_MEASURE);
        let relative = |log: f64| if log == f64::NEG_INFINITY { 0.0 } else { libm::exp(log - unit) };
        bounds.iter_mut().for_each(|b| *b = relative(*b));
        let mut gathered = relative(singles);
        let mut asked = gathered;
        let mut level = cut_level(bounds.iter().copied(), self.settings.neglect * gathered);
        open.clear();
        open.extend(bounds.iter().enumerate().filter(|(_, b)| **b > level).map(|(t, b)| (*b, t)));
        // The heaviest come first: with what they bring, more may be neglected.
        open.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        // Within a round, neighbours come after each other: what they are held against lies together in memory.
        open.chunks_mut(ROUND).for_each(|round| round.sort_unstable_by_key(|(_, t)| *t));
        let mut budget = self.settings.step_budget;
        let mut left: f64 = bounds.iter().filter(|b| **b <= level).sum();
        for (done, &(first, t)) in open.iter().enumerate() {
            if done % ROUND == 0 || gathered > 2.0 * asked {
                // Those that were worked out to the end have left their share to the others.
                let rest = open[done..].iter().map(|(b, _)| *b);
                level = level.max(cut_level(rest, self.settings.neglect * gathered - left));
                asked = gathered;
            }
            let mut now = first;
            while now > level && self.tracks[t].seen() < count && budget > 0 {
                budget -= 1;
                let seen = self.tracks[t].seen();
                self.advance(problem, t, seen + 1, advanced);
                now = relative(bound(&self.tracks[t]));
            }
            if self.tracks[t].seen() == count {
                gathered += now;
            } else {
                left += now;
            }
        }
        (self.room.tracks, self.room.amounts) = (open, bounds);
        self.posterior = self.summarise(problem, not_described, &rest);
    }

    /// Holds a track against readings until it has seen `to` of them.
    fn advance(&mut self, problem: &impl Problem, t: usize, to: usize, advanced: &mut Vec<(usize, usize)>) {
        let seen = self.tracks[t].seen();
        if seen >= to {
            return;
        }
        advanced.push((t, seen));
        if self.tracks[t].intermittent {
            self.advance_intermittent(problem, t, to);
            return;
        }
        let Reasoner { tracks, store, taken, room: Room { factors, .. }, .. } = self;
        let track = &mut tracks[t];
        for at in seen..to {
            evidence::steady_factor(problem, store, taken, at, track.hypothesis, factors);
            track.score.multiply(factors, &self.log_samples);
        }
    }

    /// Takes from a track, to be given back, what says which of its modes come and go; `None` if none does.
    pub(crate) fn comings_of(&mut self, problem: &impl Problem, t: usize) -> Option<Box<Comings>> {
        let track = &mut self.tracks[t];
        if !track.intermittent {
            return None;
        }
        let hypothesis = self.store.hypothesis(track.hypothesis);
        let made = || Box::new(Comings::new(problem, &mut self.store, hypothesis));
        Some(track.comings.take().unwrap_or_else(made))
    }

    fn advance_intermittent(&mut self, problem: &impl Problem, t: usize, to: usize) {
        let Some(mut comings) = self.comings_of(problem, t) else { return };
        let Room { comings: room, factors: row, .. } = &mut self.room;
        for k in self.tracks[t].seen() + 1..=to {
            comings.total(problem, &mut self.store, &mut self.taken[..k], &self.layouts[k], room, row);
            self.tracks[t].score.set(row, &self.log_samples);
        }
        self.tracks[t].comings = Some(comings);
    }

    /// What a query shares its common error with.
    pub(crate) fn group_of(&self, query: QueryIndex) -> GroupKey {
        let query = self.store.query(query);
        match query.kind.repeat_group {
            Some(declared) => GroupKey::Declared(declared),
            None => GroupKey::Query(query.id),
        }
    }

    fn summarise(&mut self, problem: &impl Problem, not_described: f64, rest: &[f64]) -> Posterior {
        let (mut live, mut open) = (std::mem::take(&mut self.room.tracks), std::mem::take(&mut self.room.amounts));
        live.clear();
        open.clear();
        for (t, track) in self.tracks.iter().enumerate() {
            match self.log_weight(track) {
                Some(weight) => live.push((weight, t)),
                None => open.push(track.log_prior + track.score.evidence() + rest[track.seen()]),
            }
        }
        live.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let log_evidence = log_sum_of(live.iter().map(|l| l.0).chain([not_described]));
        let posterior = if log_evidence.is_finite() {
            let hypotheses: Vec<Weighed> = live
                .iter()
                .map(|&(weight, t)| Weighed {
                    hypothesis: self.store.hypothesis(self.tracks[t].hypothesis),
                    probability: libm::exp(weight - log_evidence),
                })
                .filter(|w| w.probability > 0.0)
                .collect();
            let unexpanded = libm::exp(log_sum(&open) - log_evidence);
            let not_described = libm::exp(not_described - log_evidence);
            Posterior::new(problem.modes(), hypotheses, not_described, unexpanded, log_evidence)
        } else {
            Posterior::impossible()
        };
        (self.room.tracks, self.room.amounts) = (live, open);
        posterior
    }
}

/// The height to which amounts have to be cut so that they come to `most` together: above all of them if they do anyway, 0 if
/// nothing may be left.
fn cut_level(amounts: impl Iterator<Item = f64> + Clone, most: f64) -> f64 {
    let mut level = 0.0;
    // From below: what is under the level so far stays whole, so the others share what is left. Each round settles more.
    loop {
        let (mut count, mut rest) = (0, 0.0);
        for amount in amounts.clone() {
            if amount > level {
                count += 1;
            } else {
                rest += amount;
            }
        }
        if count == 0 {
            return f64::INFINITY;
        }
        let next = (most - rest) / f64::from(count);
        if next <= level {
            return level;
        }
        level = next;
    }
}

fn extend(problem: &impl Problem, level: &[Hypothesis], modes: usize) -> Vec<Hypothesis> {
    let mut next = Vec::new();
    for &hypothesis in level {
        let from = hypothesis.modes().last().map_or(0, |m| m.0 as usize + 1);
        for m in from..modes {
            let mode = ModeId(m as u32);
            if !problem.made_so(mode) && compatible(problem, hypothesis, mode) {
                next.extend(with(hypothesis, mode));
            }
        }
    }
    next
}

pub(crate) fn with(hypothesis: Hypothesis, mode: ModeId) -> Option<Hypothesis> {
    let mut modes = hypothesis.modes().to_vec();
    modes.push(mode);
    Hypothesis::new(&modes)
}

fn compatible(problem: &impl Problem, hypothesis: Hypothesis, mode: ModeId) -> bool {
    !hypothesis.contains(mode) && hypothesis.modes().iter().all(|&other| problem.may_coexist(other, mode))
}

/// Faults on a machine that is made so; `None` if they cannot be together or are too many.
fn together(problem: &impl Problem, faults: Hypothesis, made: Hypothesis) -> Option<Hypothesis> {
    made.modes().iter().try_fold(faults, |h, m| with(h, *m).filter(|_| compatible(problem, h, *m)))
}

/// Every set of ways of being made, none of them first, and its share: by the odds of nothing wrong and of the single
/// faults there.
pub(crate) fn made_sets(problem: &impl Problem) -> Vec<(Hypothesis, f64)> {
    let modes = (0..problem.modes().len()).map(|m| ModeId(m as u32));
    let (made, faults): (Vec<ModeId>, Vec<ModeId>) = modes.partition(|m| problem.made_so(*m));
    if made.is_empty() {
        return vec![(Hypothesis::NONE, 1.0)];
    }
    let mut sets = vec![Hypothesis::NONE];
    for mode in made {
        let more: Vec<Hypothesis> =
            sets.iter().filter(|s| compatible(problem, **s, mode)).filter_map(|s| with(*s, mode)).collect();
        sets.extend(more);
    }
    let odds = |set: &Hypothesis| {
        let with_fault = |f: &ModeId| together(problem, Hypothesis::single(*f), *set);
        prior_odds(problem, *set) + faults.iter().filter_map(with_fault).map(|h| prior_odds(problem, h)).sum::<f64>()
    };
    let odds: Vec<f64> = sets.iter().map(odds).collect();
    let all: f64 = odds.iter().sum();
    sets.into_iter().zip(odds).map(|(set, odds)| (set, if all > 0.0 { odds / all } else { 0.0 })).collect()
}

/// Odds of a set of modes: the product of the single odds, times for every pair what the client
/// says of the two together against their product.
pub(crate) fn prior_odds(problem: &impl Problem, hypothesis: Hypothesis) -> f64 {
    let infos = problem.modes();
    if hypothesis.modes().iter().any(|m| problem.made_so(*m))
        && let Some(odds) = problem.set_odds(hypothesis.modes())
    {
        return odds;
    }
    let odds = |m: ModeId| infos[m.0 as usize].prior_odds;
    match hypothesis.modes() {
        [] => problem.sound_odds(),
        [m] => odds(*m),
        [a, b] => problem.pair_prior(*a, *b),
        modes => {
            let sound = match problem.sound_odds() {
                s if s > 0.0 => s,
                _ => 1.0,
            };
            let mut product = sound;
            for (i, &a) in modes.iter().enumerate() {
                product *= odds(a) / sound;
                for &b in &modes[i + 1..] {
                    let apart = odds(a) * odds(b) / sound;
                    product *= if apart > 0.0 { problem.pair_prior(a, b) / apart } else { 0.0 };
                }
            }
            product
        }
    }
}

#[cfg(test)]
mod tests {
    use super::cut_level;

    #[test]
    fn amounts_cut_at_the_level_come_to_what_is_allowed() {
        let amounts: [f64; 6] = [5.0, 0.1, 3.0, 0.2, 0.0, 2.0];
        let cut = |at: f64| amounts.iter().map(|a| a.min(at)).sum::<f64>();
        for most in [0.01, 0.3, 1.0, 4.0, 10.2] {
            let at = cut_level(amounts.iter().copied(), most);
            assert!((cut(at) - most).abs() < 1e-12, "{most}: {at}");
        }
        // By hand: 0.3 stay whole, three share 2.7.
        assert!((cut_level(amounts.iter().copied(), 3.0) - 0.9).abs() < 1e-12);
        assert_eq!(cut_level(amounts.iter().copied(), -1.0), 0.0);
        // All may stay as they are.
        assert_eq!(cut_level(amounts.iter().copied(), 11.0), f64::INFINITY);
        assert_eq!(cut_level([].into_iter(), 1.0), f64::INFINITY);
    }
}
