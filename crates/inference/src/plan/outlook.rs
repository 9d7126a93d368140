//! The belief that planning works on: a shortlist of particles (a hypothesis, with who of its
//! intermittent modes is present now, in one sample of the shared unknowns), sorted into classes
//! that need the same done, and what each test would show of each.
//!
//! # Why a shortlist is exact enough
//!
//! The expected cost of any fixed plan is linear in the belief, and lies between zero and `C`, the
//! cost of doing the worst that a plan in use here does: every repair on offer once, each proved,
//! and the end cost. If the shortlist leaves out a probability δ, the belief changes by δ in total
//! variation, so the expected cost of every plan changes by at most δ·C, and so does the least of
//! them. Advice can therefore only differ from that on the whole belief where two steps are closer
//! than 2δ·C. [`Advice::neglected`] is δ (with the bound on hypotheses not worked out),
//! [`Advice::cost_error`] is δ·C. Information gain changes by at most `h(δ) + δ·ln(n)` (Fannes),
//! with `n` outcomes and `h` the entropy of a coin.
//!
//! [`Advice::neglected`]: crate::Advice::neglected
//! [`Advice::cost_error`]: crate::Advice::cost_error

use std::sync::Arc;

use rustc_hash::FxHashMap;

use crate::evidence::{Layout, Member, joint, log_sum};
use crate::hypothesis::{Hypothesis, ModeId};
use crate::likelihood::{self, Item};
use crate::normal::Table;
use crate::plan::advice::PlanSettings;
use crate::plan::outcome::{Cluster, Outcome, Outcomes, edges, expects_beyond};
use crate::plan::situation::{Situation, TestOption};
use crate::prediction::{NumberPrediction, Prediction};
use crate::problem::{Broad, Observed, Problem, QueryKind};
use crate::reasoner::Reasoner;
use crate::reasoner::with;
use crate::store::{HypothesisIndex, QueryIndex, SOUND};
use crate::undescribed::{Alike, Base};

/// What a particle needs done.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Need {
    /// Nothing.
    Nothing,
    /// For each entry, one of these repairs (indices into the situation's).
    Repairs(Vec<Vec<usize>>),
    /// Something that no repair on offer puts right.
    Unknown,
}

/// One particle; its weight is kept in a vector apart.
struct Particle {
    /// Number of its hypothesis in the shortlist, for the clusters.
    slot: usize,
    /// The whole hypothesis; `None`: not described.
    whole: Option<HypothesisIndex>,
    /// What is present now.
    now: HypothesisIndex,
    sample: usize,
    /// Index into `Outlook::returns`, if some of it comes and goes.
    returns: Option<usize>,
    /// Of an unknown fault: what it is like.
    base: Option<Base>,
    /// Of it, the share of readings that may show anything; 0 for described ones.
    anything: f64,
    /// And the share that shows what it would with nothing wrong, rather than `now`.
    as_sound: f64,
    /// What ending costs then, as a share of what it costs at most.
    ends: f64,
    /// The chance that the proof of a repair shows it, if it is still there.
    shows: f64,
}

impl Particle {
    /// Whether what is foreseen of two of one hypothesis is the same, given that samples do not differ in it and the same is present.
    fn looks_like(&self, other: &Particle) -> bool {
        self.base == other.base && self.anything == other.anything && self.as_sound == other.as_sound
    }
}

/// How an intermittent hypothesis may look in a new episode.
struct Returns {
    patterns: Vec<(HypothesisIndex, f64)>,
}

/// What one test would show.
pub(crate) struct Chart {
    /// Index into the situation's tests.
    pub test: usize,
    pub outcomes: Vec<Outcome>,
    /// Probability of each outcome (row) for each particle (column), row by row.
    p: Vec<f64>,
}

impl Chart {
    /// For each outcome, its probability for each particle.
    pub(crate) fn rows(&self) -> impl ExactSizeIterator<Item = &[f64]> + Clone {
        self.p.chunks_exact((self.p.len() / self.outcomes.len().max(1)).max(1))
    }
}

/// The belief and the tests over it.
pub(crate) struct Outlook {
    pub needs: Vec<Need>,
    /// What ending costs in each class, as a share of what it costs at most: the mean over its particles.
    pub ends: Vec<f64>,
    /// The chance that the proof of a repair shows that something in the class is still wrong: the mean over its particles.
    pub shows: Vec<f64>,
    /// Class of each particle: an index into `needs`.
    pub classes: Vec<usize>,
    /// Probability of each particle; sums to one.
    pub weights: Vec<f64>,
    pub charts: Vec<Chart>,
    pub neglected: f64,
    particles: Vec<Particle>,
    returns: Vec<Returns>,
    slots: usize,
    /// What is present in any particle now; and in any episode.
    present: [Vec<HypothesisIndex>; 2],
}

/// Samples of the shared unknowns that a hypothesis is planned for.
const STAND_FOR_ALL: usize = 3;

/// Bases that "not described" is planned on.
const BASES: usize = 4;

/// Particles below this share of the belief are left out, their weight counted as neglected.
const LEAST_PARTICLE: f64 = 1e-6;

impl Outlook {
    pub(crate) fn new(
        problem: &impl Problem,
        reasoner: &mut Reasoner,
        situation: &Situation,
        settings: &PlanSettings,
    ) -> Outlook {
        let mut outlook = Outlook {
            needs: Vec::new(),
            ends: Vec::new(),
            shows: Vec::new(),
            classes: Vec::new(),
            weights: Vec::new(),
            charts: Vec::new(),
            neglected: 0.0,
            particles: Vec::new(),
            returns: Vec::new(),
            slots: 0,
            present: Default::default(),
        };
        outlook.gather(problem, reasoner, situation, settings);
        outlook.present = [outlook.present(false), outlook.present(true)];
        let table = Arc::clone(&reasoner.table);
        for (index, test) in situation.tests.iter().enumerate() {
            if situation.offered(test) {
                let chart = outlook.chart(problem, reasoner, test, index, &table, settings);
                outlook.charts.push(chart);
            }
        }
        outlook
    }

    /// Leaves its memory to the next one: a plan is made for every reading, and fresh memory costs more than to fill it.
    pub(crate) fn leave(self, reasoner: &mut Reasoner) {
        reasoner.spare.extend(self.charts.into_iter().map(|c| c.p));
    }

    fn gather(
        &mut self,
        problem: &impl Problem,
        reasoner: &mut Reasoner,
        situation: &Situation,
        settings: &PlanSettings,
    ) {
        let log_evidence = reasoner.posterior.log_evidence;
        let samples = reasoner.store.samples();
        let mut order: Vec<(f64, usize)> =
            (0..reasoner.tracks.len()).filter_map(|t| Some((reasoner.log_weight(&reasoner.tracks[t])?, t))).collect();
        order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let unknown = reasoner.posterior.not_described;
        let mut covered = unknown;
        let mut found: Vec<(Need, f64, Particle)> = Vec::new();
        let layout = Layout::new(&reasoner.taken);
        for (log_weight, t) in order {
            let share = libm::exp(log_weight - log_evidence);
            if covered >= 1.0 - settings.neglect || self.slots >= settings.hypotheses || share < LEAST_PARTICLE {
                break;
            }
            covered += share;
            let whole = reasoner.tracks[t].hypothesis;
            let hypothesis = reasoner.store.hypothesis(whole);
            // Neither what has been put right nor what is harmless has to be done.
            let infos = problem.modes();
            let left = hypothesis.filter(|m| !situation.mended.contains(&m) && !infos[m.0 as usize].harmless);
            let need = need_of(left, situation);
            // How it is made stays, and says what is noticed of what is left.
            let as_made = hypothesis.filter(|m| left.contains(m) || problem.made_so(m));
            let ends = problem.end_share(as_made.modes());
            let shows = problem.proof_shows(as_made.modes());
            let base = reasoner.tracks[t].log_prior - log_evidence;
            let slot = self.slots;
            self.slots += 1;
            if let Some(comings) = reasoner.comings_of(problem, t) {
                let now = comings.evidence(
                    problem,
                    &mut reasoner.store,
                    &mut reasoner.taken,
                    &layout,
                    Some(situation.episode),
                );
                let afresh = comings.evidence(problem, &mut reasoner.store, &mut reasoner.taken, &layout, None);
                let logs = now.iter().zip(&reasoner.log_samples).map(|(row, log)| log + log_sum(row));
                for (sample, share) in representatives(logs.collect()) {
                    let peak = afresh[sample].iter().copied().fold(f64::NEG_INFINITY, f64::max);
                    let mut patterns: Vec<(HypothesisIndex, f64)> = comings
                        .patterns
                        .iter()
                        .zip(&afresh[sample])
                        .map(|(&h, log)| (h, libm::exp(log - peak)))
                        .collect();
                    let sum: f64 = patterns.iter().map(|p| p.1).sum();
                    patterns.iter_mut().for_each(|p| p.1 /= sum);
                    self.returns.push(Returns { patterns });
                    for (&left, log) in comings.patterns.iter().zip(&now[sample]) {
                        let weight = share * libm::exp(base + reasoner.log_samples[sample] + log);
                        found.push((
                            need.clone(),
                            weight,
                            Particle {
                                slot,
                                whole: Some(whole),
                                now: left,
                                sample,
                                returns: Some(self.returns.len() - 1),
                                base: None,
                                anything: 0.0,
                                as_sound: 0.0,
                                ends,
                                shows,
                            },
                        ));
                    }
                }
                reasoner.tracks[t].comings = Some(comings);
            } else {
                let track = &reasoner.tracks[t];
                let log = |sample: usize| reasoner.log_samples[sample] + track.score.likelihood_in(sample);
                for (sample, share) in representatives((0..samples).map(log).collect()) {
                    let weight = share * libm::exp(base + log(sample));
                    found.push((
                        need.clone(),
                        weight,
                        Particle {
                            slot,
                            whole: Some(whole),
                            now: whole,
                            sample,
                            returns: None,
                            base: None,
                            anything: 0.0,
                            as_sound: 0.0,
                            ends,
                            shows,
                        },
                    ));
                }
            }
        }
        self.add_unknown(problem, reasoner, &mut found);
        self.settle(found, reasoner.posterior.unexpanded);
    }

    /// Particles for "not described": for each of the few bases that it is most like, by the samples that stand for all.
    fn add_unknown(&mut self, problem: &impl Problem, reasoner: &mut Reasoner, found: &mut Vec<(Need, f64, Particle)>) {
        let unknown = reasoner.posterior.not_described;
        if unknown <= LEAST_PARTICLE {
            return;
        }
        let samples = reasoner.store.samples();
        let bases = reasoner.undescribed.bases(samples).enumerate();
        let mut bases: Vec<(usize, Base, f64)> = bases.map(|(i, (base, weight))| (i, base, weight)).collect();
        bases.sort_by(|a, b| b.2.total_cmp(&a.2));
        bases.truncate(BASES);
        let kept: f64 = bases.iter().map(|b| b.2).sum();
        for (index, base, weight) in bases {
            let here = reasoner.undescribed.alike(index, weight, samples);
            let slot = self.slots;
            self.slots += 1;
            let like = base.mode().and_then(|mode| with(base.made, mode));
            let ends = like.map_or(1.0, |like| problem.end_share(like.modes()));
            let shows = like.map_or(1.0, |like| problem.proof_shows(like.modes()));
            for (sample, share) in representatives(here.iter().map(|a| libm::log(a.weight)).collect()) {
                let Alike { weight, anything, as_sound, .. } = here[sample];
                let weight = unknown * share * weight / kept;
                let (base, now) = (Some(base), SOUND);
                let particle =
                    Particle { slot, whole: None, now, sample, returns: None, base, anything, as_sound, ends, shows };
                found.push((Need::Unknown, weight, particle));
            }
        }
    }

    /// Sorts particles by class and scales their weights to one.
    fn settle(&mut self, mut found: Vec<(Need, f64, Particle)>, unexpanded: f64) {
        found.retain(|f| f.1 >= LEAST_PARTICLE);
        // Stable: within a class the order of the shortlist stays.
        found.sort_by(|a, b| a.0.cmp(&b.0));
        let total: f64 = found.iter().map(|f| f.1).sum();
        for (need, weight, particle) in found {
            if self.needs.last() != Some(&need) {
                self.needs.push(need);
            }
            self.classes.push(self.needs.len() - 1);
            self.particles.push(particle);
            self.weights.push(weight / total);
        }
        self.ends = vec![0.0; self.needs.len()];
        self.shows = self.ends.clone();
        for ((class, weight), particle) in self.classes.iter().zip(&self.weights).zip(&self.particles) {
            self.ends[*class] += weight * particle.ends;
            self.shows[*class] += weight * particle.shows;
        }
        let masses = self.masses();
        for ((ends, shows), mass) in self.ends.iter_mut().zip(&mut self.shows).zip(masses) {
            *ends /= mass;
            *shows /= mass;
        }
        let outside = (1.0 - total).max(0.0);
        self.neglected = ((outside + unexpanded) / (1.0 + unexpanded)).clamp(0.0, 1.0);
    }

    /// The whole hypothesis of each particle; `None`: not described.
    pub(crate) fn wholes(&self) -> impl Iterator<Item = Option<HypothesisIndex>> + '_ {
        self.particles.iter().map(|p| p.whole)
    }

    /// Total weight per class.
    pub(crate) fn masses(&self) -> Vec<f64> {
        let mut masses = vec![0.0; self.needs.len()];
        for (&class, weight) in self.classes.iter().zip(&self.weights) {
            masses[class] += weight;
        }
        masses
    }

    /// What is present in any particle, now or in another episode; each once.
    fn present(&self, returning: bool) -> Vec<HypothesisIndex> {
        let mut present: Vec<HypothesisIndex> = self.particles.iter().map(|p| p.now).collect();
        if returning {
            present.extend(self.returns.iter().flat_map(|r| &r.patterns).map(|p| p.0));
        }
        present.sort_unstable();
        present.dedup();
        present
    }

    fn chart(
        &self,
        problem: &impl Problem,
        reasoner: &mut Reasoner,
        test: &TestOption,
        index: usize,
        table: &Table,
        settings: &PlanSettings,
    ) -> Chart {
        let query = reasoner.store.query_index(problem, test.query);
        // What lasts shows in every episode, whatever is there now.
        let lasting = reasoner.store.query(query).kind.lasting;
        let afresh = test.new_episode && !lasting;
        if !lasting {
            for &present in &self.present[usize::from(afresh)] {
                reasoner.store.ensure(problem, query, present);
            }
        }
        // What the unknown is like is asked query by query.
        let now: Vec<HypothesisIndex> = self
            .particles
            .iter()
            .map(|p| match p.base {
                Some(base) => base.shown(problem, &mut reasoner.store, query),
                None if lasting => p.whole.unwrap_or(p.now),
                None => p.now,
            })
            .collect();
        if lasting {
            now.iter().for_each(|&whole| reasoner.store.ensure(problem, query, whole));
        }
        let mut p = reasoner.spare.pop().unwrap_or_default();
        let view = View::new(problem, reasoner, self, &now, query, table, settings);
        p.clear();
        p.resize(self.particles.len() * view.outcomes.list.len(), 0.0);
        let mut column = vec![0.0; view.outcomes.list.len()];
        let (mut part, mut spare) = (column.clone(), column.clone());
        let mut memo = Memo::new(view.outcomes.list.len());
        // Particles of one hypothesis are neighbours: where samples do not differ, what was found for one holds for the next.
        let (alike, mut slot, mut first) = (!view.sampled(), usize::MAX, 0);
        for (n, particle) in self.particles.iter().enumerate() {
            if particle.slot != slot {
                (slot, first) = (particle.slot, n);
            }
            let returning = particle.returns.is_some() && afresh;
            if alike && !returning {
                let same = |m: &usize| now[*m] == now[n] && self.particles[*m].looks_like(particle);
                if let Some(known) = (first..n).find(same) {
                    for row in p.chunks_exact_mut(self.particles.len()) {
                        row[n] = row[known];
                    }
                    continue;
                }
            }
            match particle.returns {
                Some(returns) if afresh => {
                    column.fill(0.0);
                    for &(left, weight) in &self.returns[returns].patterns {
                        view.look(left, particle.sample, &mut memo, &mut part, &mut spare);
                        for (c, x) in column.iter_mut().zip(&part) {
                            *c += weight * x;
                        }
                    }
                }
                _ if particle.base.is_some() => view.look_shown(now[n], particle.sample, &mut memo, &mut column),
                _ => view.look(now[n], particle.sample, &mut memo, &mut column, &mut spare),
            }
            if particle.base.is_some() {
                let left = 1.0 - particle.anything - particle.as_sound;
                if particle.as_sound > 0.0 {
                    view.look_shown(view.reasoner.store.sound_of(now[n]), particle.sample, &mut memo, &mut part);
                    column.iter_mut().zip(&part).for_each(|(c, s)| *c = left * *c + particle.as_sound * s);
                } else {
                    column.iter_mut().for_each(|c| *c *= left);
                }
                column.iter_mut().zip(&view.outcomes.broad).for_each(|(c, b)| *c += particle.anything * b);
            }
            for (o, c) in column.iter().enumerate() {
                p[o * self.particles.len() + n] = *c;
            }
        }
        Chart { test: index, outcomes: view.outcomes.list, p }
    }
}

/// Samples that stand for all of them, with what to multiply the weight of each by: no more than three, each for a
/// third of the weight or so and near its middle. Weights are given as logs. Where there are more than three samples,
/// neighbours are alike; what a test would show is spread by its own errors far more than by those.
fn representatives(logs: Vec<f64>) -> Vec<(usize, f64)> {
    if logs.len() <= STAND_FOR_ALL {
        return (0..logs.len()).map(|sample| (sample, 1.0)).collect();
    }
    let peak = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| libm::exp(log - peak)).collect();
    let total: f64 = weights.iter().sum();
    if !(total > 0.0 && total.is_finite()) {
        return Vec::new();
    }
    let mut runs = [(0.0, 0.0); STAND_FOR_ALL];
    let mut passed = 0.0;
    for (sample, weight) in weights.iter().enumerate() {
        let middle = (passed + 0.5 * weight) / total;
        passed += weight;
        let run = &mut runs[((middle * STAND_FOR_ALL as f64) as usize).min(STAND_FOR_ALL - 1)];
        run.0 += weight;
        run.1 += weight * sample as f64;
    }
    runs.iter()
        .filter(|run| run.0 > 0.0)
        .map(|(weight, moment)| {
            let near = libm::round(moment / weight) as usize;
            // The run's own middle may be a sample of next to no weight, between two heavy ones.
            let sample = (0..weights.len())
                .filter(|&s| weights[s] > 1e-3 * weight)
                .min_by_key(|s| s.abs_diff(near))
                .unwrap_or(near);
            (sample, weight / weights[sample])
        })
        .collect()
}

/// What needs doing while these are left to put right.
fn need_of(left: Hypothesis, situation: &Situation) -> Need {
    if left.is_empty() {
        return Need::Nothing;
    }
    let mut needs: Vec<Vec<usize>> = left.modes().iter().map(|mode| fixing(*mode, situation)).collect();
    if needs.iter().any(Vec::is_empty) {
        return Need::Unknown;
    }
    needs.sort_unstable();
    needs.dedup();
    Need::Repairs(needs)
}

fn fixing(mode: ModeId, situation: &Situation) -> Vec<usize> {
    (0..situation.repairs.len())
        .filter(|&r| situation.repairs[r].allowed && situation.repairs[r].fixes.contains(&mode))
        .collect()
}

/// Outcome probabilities already worked out, per distinct prediction.
struct Memo {
    width: usize,
    known: Vec<bool>,
    p: Vec<f64>,
    /// The same after earlier readings, by what was predicted for them too.
    again: FxHashMap<Box<[u32]>, Box<[f64]>>,
    /// Room to work in.
    key: Vec<u32>,
}

impl Memo {
    fn new(width: usize) -> Memo {
        Memo { width, known: Vec::new(), p: Vec::new(), again: FxHashMap::default(), key: Vec::new() }
    }
}

/// One query seen from the present belief.
struct View<'a> {
    reasoner: &'a Reasoner,
    query: QueryIndex,
    kind: &'a QueryKind,
    table: &'a Table,
    outcomes: Outcomes,
    /// Earlier readings that share its common error.
    earlier: Vec<usize>,
}

impl<'a> View<'a> {
    fn new(
        problem: &impl Problem,
        reasoner: &'a mut Reasoner,
        outlook: &Outlook,
        now: &[HypothesisIndex],
        query: QueryIndex,
        table: &'a Table,
        settings: &PlanSettings,
    ) -> View<'a> {
        let group = reasoner.group_of(query);
        let earlier: Vec<usize> = (0..reasoner.taken.len()).filter(|&i| reasoner.taken[i].group == group).collect();
        for &i in &earlier {
            let asked = reasoner.taken[i].query;
            reasoner.store.ensure(problem, asked, SOUND);
            for &present in outlook.present[1].iter().chain(now) {
                reasoner.store.ensure(problem, asked, present);
            }
        }
        reasoner.store.ensure(problem, query, SOUND);
        let reasoner: &'a Reasoner = reasoner;
        let kind = &reasoner.store.query(query).kind;
        let outcomes = match kind.broad {
            Broad::Categories(_) => Outcomes::categories(kind),
            Broad::Number { .. } => numbers(reasoner, outlook, now, query, kind, table, settings),
        };
        View { reasoner, query, kind, table, outcomes, earlier }
    }

    /// Whether samples differ in what it shows, or in what was read of it before.
    fn sampled(&self) -> bool {
        let of = |query: QueryIndex| self.reasoner.store.query(query).sampled();
        of(self.query) || self.earlier.iter().any(|&i| of(self.reasoner.taken[i].query))
    }

    /// Probability of each outcome for what is present, in one sample. `spare` is room as wide as `out`.
    fn look(&self, now: HypothesisIndex, sample: usize, memo: &mut Memo, out: &mut [f64], spare: &mut [f64]) {
        self.look_shown(now, sample, memo, out);
        let unshown = self.unshown(now, sample);
        if unshown > 0.0 {
            self.look_shown(self.reasoner.store.sound_of(now), sample, memo, spare);
            for (p, sound) in out.iter_mut().zip(spare) {
                *p += unshown * (*sound - *p);
            }
        }
    }

    /// Probability that what is present does not show in this query, after the earlier readings of it.
    fn unshown(&self, now: HypothesisIndex, sample: usize) -> f64 {
        let store = &self.reasoner.store;
        let as_made = store.sound_of(now);
        let same = |query| store.row(query, now)[sample] == store.row(query, as_made)[sample];
        let prior = self.kind.unshown;
        if prior == 0.0 || same(self.query) && self.earlier.iter().all(|&i| same(self.reasoner.taken[i].query)) {
            return 0.0;
        }
        if self.earlier.is_empty() {
            return prior;
        }
        let known = |shown: HypothesisIndex, sound: Option<HypothesisIndex>| {
            let members = self.earlier.iter().map(|&reading| Member { reading, shown, sound });
            joint(store, &self.reasoner.taken, members, sample, &mut Vec::new())
        };
        let (sound, either) = (known(as_made, None), known(now, Some(as_made)));
        if either > 0.0 { (prior * sound / either).min(1.0) } else { prior }
    }

    /// The earlier readings that share the common error, held against what is present.
    fn earlier_items(&self, now: HypothesisIndex, sample: usize) -> Vec<Item<'_>> {
        let store = &self.reasoner.store;
        let item = |&i: &usize| {
            let taken = &self.reasoner.taken[i];
            Item {
                kind: &store.query(taken.query).kind,
                prediction: store.prediction(taken.query, now, sample),
                observed: taken.observed,
            }
        };
        self.earlier.iter().map(item).collect()
    }

    /// As [`View::look`], if what is present shows.
    fn look_shown(&self, now: HypothesisIndex, sample: usize, memo: &mut Memo, out: &mut [f64]) {
        let id = self.reasoner.store.row(self.query, now)[sample] as usize;
        if !self.earlier.is_empty() {
            memo.key.clear();
            memo.key.push(id as u32);
            let store = &self.reasoner.store;
            memo.key.extend(self.earlier.iter().map(|&i| store.row(self.reasoner.taken[i].query, now)[sample]));
            if let Some(known) = memo.again.get(&memo.key[..]) {
                out.copy_from_slice(known);
            } else {
                self.look_again(now, sample, id, out);
                memo.again.insert(memo.key.as_slice().into(), out.into());
            }
            return;
        }
        if memo.known.len() <= id {
            let count = self.reasoner.store.query(self.query).distinct().len();
            memo.known.resize(count, false);
            memo.p.resize(count * memo.width, 0.0);
        }
        let slot = id * memo.width..(id + 1) * memo.width;
        if !memo.known[id] {
            memo.known[id] = true;
            let prediction = &self.reasoner.store.query(self.query).distinct()[id];
            let p = &mut memo.p[slot.clone()];
            self.outcomes.first(self.kind, self.table, prediction, p);
        }
        out.copy_from_slice(&memo.p[slot]);
    }

    /// As [`View::look_shown`], when earlier readings share the common error.
    fn look_again(&self, now: HypothesisIndex, sample: usize, id: usize, out: &mut [f64]) {
        let store = &self.reasoner.store;
        let items = self.earlier_items(now, sample);
        match &store.query(self.query).distinct()[id] {
            Prediction::Number(n) => {
                let mixture = likelihood::next_in_group(&items, n);
                let atoms = atoms_after(&items, n);
                self.outcomes.repeat(self.kind, self.table, &mixture, atoms, out);
            }
            prediction @ Prediction::Categories(_) => {
                let before = likelihood::group(&items);
                let mut longer = items;
                for (i, p) in out.iter_mut().enumerate() {
                    longer.push(Item { kind: self.kind, prediction, observed: Observed::Category(i) });
                    *p = if before > 0.0 { likelihood::group(&longer) / before } else { self.outcomes.broad[i] };
                    longer.pop();
                }
            }
        }
    }
}

/// Probabilities of in range, over and under for the next reading, given what earlier ones showed.
fn atoms_after(items: &[Item<'_>], n: &NumberPrediction) -> (f64, f64, f64) {
    if n.over == 0.0 && n.under == 0.0 {
        return (1.0, 0.0, 0.0);
    }
    let mut states = [n.in_range(), n.over, n.under];
    // What was foreseen otherwise then (something was put right since) shares nothing with this.
    let this = Prediction::Number(*n);
    for item in items.iter().filter(|item| likelihood::alike(item.prediction, &this)) {
        let slipped = likelihood::slipped(item.kind, item.observed);
        let kept = 1.0 - item.kind.slip;
        let alone = |over: f64, under: f64| {
            if let Prediction::Number(n) = item.prediction {
                let forced = Prediction::Number(NumberPrediction { over, under, ..*n });
                likelihood::single(item.kind, &forced, item.observed)
            } else {
                kept + slipped
            }
        };
        states[0] *= alone(0.0, 0.0);
        states[1] *= alone(1.0, 0.0);
        states[2] *= alone(0.0, 1.0);
    }
    let sum: f64 = states.iter().sum();
    if sum > 0.0 { (states[0] / sum, states[1] / sum, states[2] / sum) } else { (n.in_range(), n.over, n.under) }
}

fn numbers(
    reasoner: &Reasoner,
    outlook: &Outlook,
    now: &[HypothesisIndex],
    query: QueryIndex,
    kind: &QueryKind,
    table: &Table,
    settings: &PlanSettings,
) -> Outcomes {
    let nothing = Cluster { weight: 0.0, centre: 0.0, sd: 0.0 };
    let asked = reasoner.store.query(query);
    // What is predicted alike is one cluster; where samples differ, what a hypothesis shows in all of them is.
    let mut clusters: Vec<Cluster> = Vec::new();
    let (mut whose, mut at): (Vec<usize>, usize) = (Vec::new(), 0);
    let mut beyond = (false, false);
    let sampled = asked.sampled();
    // Neighbours mostly show the same: what is the same of them is worked out once.
    let mut latest: (u32, Option<(&NumberPrediction, f64, f64)>) = (u32::MAX, None);
    for ((particle, &weight), &now) in outlook.particles.iter().zip(&outlook.weights).zip(now) {
        if particle.base.is_some_and(Base::is_nothing) {
            continue;
        }
        let id = reasoner.store.row(query, now)[particle.sample];
        if id != latest.0 {
            latest = match &asked.distinct()[id as usize] {
                Prediction::Number(n) => {
                    let (under, over) = expects_beyond(n);
                    beyond = (beyond.0 || under, beyond.1 || over);
                    (id, Some((n, n.in_range(), n.total_sd())))
                }
                Prediction::Categories(_) => (id, None),
            };
        }
        let Some((n, in_range, sd)) = latest.1 else { continue };
        let weight = weight * in_range;
        let owner = if sampled { particle.slot } else { id as usize };
        if whose.get(at) != Some(&owner) {
            at = whose.iter().position(|w| *w == owner).unwrap_or_else(|| {
                whose.push(owner);
                clusters.push(nothing);
                whose.len() - 1
            });
        }
        let cluster = &mut clusters[at];
        cluster.weight += weight;
        cluster.centre += weight * n.centre;
        cluster.sd += weight * sd;
    }
    for c in clusters.iter_mut().filter(|c| c.weight > 0.0) {
        c.centre /= c.weight;
        c.sd /= c.weight;
    }
    Outcomes::numbers(kind, table, edges(clusters, settings.bins), beyond)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_samples_stand_for_all_with_their_whole_weight_and_about_their_mean() {
        let weights = [0.02, 0.1, 0.3, 0.28, 0.2, 0.06, 0.03, 1e-9, 0.01];
        let (all, mean) =
            weights.iter().enumerate().fold((0.0, 0.0), |(all, mean), (i, w)| (all + w, mean + w * i as f64));
        let few = representatives(weights.iter().map(|w| libm::log(*w)).collect());
        assert_eq!(few.len(), STAND_FOR_ALL);
        let kept: f64 = few.iter().map(|(i, share)| share * weights[*i]).sum();
        let about: f64 = few.iter().map(|(i, share)| share * weights[*i] * *i as f64).sum();
        assert!((kept / all - 1.0).abs() < 1e-12, "{kept} {all}");
        assert!((about / kept - mean / all).abs() < 0.5, "{about} {mean}");
    }

    #[test]
    fn what_was_foreseen_otherwise_says_nothing_of_the_next_reading() {
        let kind = QueryKind::number(0.0, 300.0, 0.5);
        let number = |centre: f64, over: f64| NumberPrediction { centre, noise: 0.5, common: 1.0, over, under: 0.0 };
        let after = |earlier: NumberPrediction| {
            let prediction = Prediction::Number(earlier);
            let items = [Item { kind: &kind, prediction: &prediction, observed: Observed::Over }];
            atoms_after(&items, &number(100.0, 0.1))
        };
        assert_eq!(after(number(250.0, 0.9)), (0.9, 0.1, 0.0));
        // The same foreseen, the same is seen again.
        assert!(after(number(100.0, 0.1)).1 > 0.7);
    }

    #[test]
    fn a_sample_of_no_weight_stands_for_nobody() {
        let few = representatives([0.5, 0.0, 0.0, 0.0, 0.5].iter().map(|w: &f64| libm::log(*w)).collect());
        assert!(few.iter().all(|(i, _)| *i == 0 || *i == 4), "{few:?}");
        assert_eq!(representatives(vec![0.0, -1.0, -2.0]), [(0, 1.0), (1, 1.0), (2, 1.0)]);
    }
}
