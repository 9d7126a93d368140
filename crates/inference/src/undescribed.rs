//! The evidence for "something not described".
//!
//! An unknown fault either shows in its own way, or much like a described one and yet not quite: the fuse that nobody
//! put on the sheet leaves the same terminals dead as the power supply behind it. So it is weighed on several *bases*:
//! a machine with nothing wrong, and each single described fault, by its prior, once as it is and once *elsewhere*: all
//! goes as with that fault, but what shows its component's own state shows it sound. On each base it disturbs a share of
//! the readings; how large a share is not known, so a few are weighed. What is not disturbed shows as on the base; what is
//! disturbed may show anything (the broad distribution of its kind), or, on the base of a described fault, as often
//! what a sound machine shows.
//!
//! Ten ordinary readings then cost it little, so that it is not driven out by them; and one strange reading gains it
//! little, because a described fault that predicts the strange value sharply beats the broad distribution by far. Only
//! several readings that nothing described explains carry it to the top, or a repair that should have helped and did
//! not: nobody knows what would put it right, so on its bases no repair has done anything. A proving run that passes
//! speaks against it as against everything else that would show there.

use crate::evidence::{self, Member, Taken, item, log_ratio, log_sum};
use crate::hypothesis::{Hypothesis, ModeId};
use crate::likelihood::{self, Item};
use crate::prediction::Prediction;
use crate::problem::{Observed, Problem};
use crate::reasoner::{made_sets, prior_odds, with};
use crate::store::{HypothesisIndex, QueryIndex, Store};

/// On the base of a described fault: how often a disturbed reading shows what a sound machine shows, and not anything.
const LIKE_SOUND: f64 = 0.5;

/// Of what is like a described fault: how much of it lies elsewhere than in that fault's component.
const ELSEWHERE: f64 = 0.5;

/// What an unknown fault may be like, and how the machine is made under it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Base {
    pub made: Hypothesis,
    like: Like,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Like {
    /// Nothing described.
    Nothing,
    /// This mode.
    This(ModeId),
    /// This mode, but its component is sound.
    Elsewhere(ModeId),
}

impl Base {
    pub(crate) fn mode(self) -> Option<ModeId> {
        match self.like {
            Like::Nothing => None,
            Like::This(mode) | Like::Elsewhere(mode) => Some(mode),
        }
    }

    /// Whether it is like nothing described.
    pub(crate) fn is_nothing(self) -> bool {
        self.like == Like::Nothing
    }

    /// What it shows in a query: as if no repair had done anything.
    pub(crate) fn shown(self, problem: &impl Problem, store: &mut Store, query: QueryIndex) -> HypothesisIndex {
        let id = store.query(query).id;
        let hypothesis = match self.like {
            Like::Elsewhere(mode) if problem.shows_component_of(mode, id) => self.made,
            Like::This(mode) | Like::Elsewhere(mode) => {
                // There is room: bases have one fault.
                with(self.made, problem.lasting(mode, id)).unwrap_or(self.made)
            }
            Like::Nothing => self.made,
        };
        let hypothesis = store.hypothesis_index(hypothesis);
        store.ensure(problem, query, hypothesis);
        hypothesis
    }
}

/// See the module.
pub(crate) struct Undescribed {
    log_odds: f64,
    bases: Vec<Base>,
    /// Shares of the readings that it may disturb.
    shares: Vec<f64>,
    /// After 0, 1, … readings: log weight per base, sample and share, the last fastest. The first sums to one.
    rows: Vec<Vec<f64>>,
}

/// What "not described" is like now, on one base and in one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Alike {
    /// Of all that it may be like; these sum to one.
    pub weight: f64,
    /// Mean share of readings that may show anything.
    pub anything: f64,
    /// Mean share of readings that show what a sound machine would, rather than what the base shows.
    pub as_sound: f64,
}

impl Undescribed {
    /// Before any reading. `shares`: shares of the readings that it may disturb, with weights.
    pub(crate) fn new(problem: &impl Problem, log_samples: &[f64], shares: &[(f64, f64)]) -> Undescribed {
        let likeness = problem.undescribed_likeness().clamp(0.0, 1.0);
        let modes = problem.modes();
        let candidate = |i: &usize| {
            let m = &modes[*i];
            m.intermittent.is_none() && !m.harmless && m.prior_odds > 0.0
        };
        let candidates: Vec<ModeId> = (0..modes.len()).filter(candidate).map(|i| ModeId(i as u32)).collect();
        let mut bases = Vec::new();
        for (made, share) in made_sets(problem) {
            // A fault weighs what it does where the machine is made so.
            let odds = |mode: &ModeId| match made.is_empty() {
                true => modes[mode.0 as usize].prior_odds,
                false => with(made, *mode).map_or(0.0, |h| prior_odds(problem, h)),
            };
            let known: f64 = candidates.iter().map(odds).sum();
            let likeness = if known > 0.0 { likeness } else { 0.0 };
            bases.push((Base { made, like: Like::Nothing }, share * (1.0 - likeness)));
            if likeness > 0.0 {
                for mode in &candidates {
                    let weight = share * (likeness * odds(mode) / known);
                    bases.push((Base { made, like: Like::This(*mode) }, (1.0 - ELSEWHERE) * weight));
                    bases.push((Base { made, like: Like::Elsewhere(*mode) }, ELSEWHERE * weight));
                }
            }
        }
        bases.retain(|b| b.1 > 0.0);
        let all: f64 = shares.iter().map(|s| s.1).sum();
        let mut row = Vec::with_capacity(bases.len() * log_samples.len() * shares.len());
        for (_, weight) in &bases {
            for log_sample in log_samples {
                row.extend(shares.iter().map(|s| libm::log(weight * s.1 / all) + log_sample));
            }
        }
        Undescribed {
            log_odds: libm::log(problem.not_described_odds()),
            bases: bases.into_iter().map(|b| b.0).collect(),
            shares: shares.iter().map(|s| s.0).collect(),
            rows: vec![row],
        }
    }

    fn seen(&self) -> usize {
        self.rows.len() - 1
    }

    /// Forgets all but the first readings.
    pub(crate) fn go_back_to(&mut self, readings: usize) {
        self.rows.truncate(readings + 1);
    }

    /// The same, and gives what is forgotten: for [`Undescribed::take_up`].
    pub(crate) fn set_aside(&mut self, readings: usize) -> Vec<Vec<f64>> {
        self.rows.split_off(self.rows.len().min(readings + 1))
    }

    /// Takes up what was set aside at the same readings.
    pub(crate) fn take_up(&mut self, rows: Vec<Vec<f64>>) {
        self.rows.extend(rows);
    }

    /// Log weight after so many readings, prior odds included.
    pub(crate) fn log_weight_after(&self, readings: usize) -> f64 {
        if self.log_odds == f64::NEG_INFINITY { self.log_odds } else { self.log_odds + log_sum(&self.rows[readings]) }
    }

    /// Holds it against the readings that it has not seen yet.
    pub(crate) fn take_in(&mut self, problem: &impl Problem, store: &mut Store, readings: &mut [Taken]) {
        if self.log_odds == f64::NEG_INFINITY {
            return;
        }
        while self.seen() < readings.len() {
            let at = self.seen();
            let mut row = self.rows[at].clone();
            self.multiply(problem, store, readings, at, &mut row);
            self.rows.push(row);
        }
    }

    fn multiply(&self, problem: &impl Problem, store: &mut Store, readings: &mut [Taken], at: usize, row: &mut [f64]) {
        let samples = store.samples();
        let asked = store.query(readings[at].query);
        let settling = problem.shows_whatever_is_wrong(asked.id).map(|shown| Prediction::new(shown, &asked.kind));
        let members: Vec<usize> = readings[at].earlier.iter().copied().chain([at]).collect();
        // Each way of being made, with nothing wrong.
        let mut made: Vec<(Hypothesis, HypothesisIndex)> = Vec::new();
        for base in &self.bases {
            if made.last().is_none_or(|(last, _)| *last != base.made) {
                made.push((base.made, store.hypothesis_index(base.made)));
            }
        }
        for &i in &members {
            for (_, sound) in &made {
                store.ensure(problem, readings[i].query, *sound);
            }
        }
        let sampled = members.iter().any(|&i| store.query(readings[i].query).sampled());
        let differing = if sampled { samples } else { 1 };
        // What does not depend on the base, per sample: before this reading and after it.
        let common_of = |store: &Store, readings: &[Taken], sound: HypothesisIndex| -> Vec<[Common; 2]> {
            (0..differing)
                .map(|sample| {
                    [&members[..members.len() - 1], &members].map(|m| Common::of(store, readings, m, sound, sample))
                })
                .collect()
        };
        let common: Vec<(Hypothesis, Vec<[Common; 2]>)> =
            made.iter().map(|(made, sound)| (*made, common_of(store, readings, *sound))).collect();
        let mut common = common.iter().peekable();
        let width = samples * self.shares.len();
        let mut key = Vec::new();
        for (&base, row) in self.bases.iter().zip(row.chunks_mut(width)) {
            // Bases stand in the order of the ways of being made.
            while common.peek().is_some_and(|(made, _)| *made != base.made) {
                common.next();
            }
            let Some((_, common)) = common.peek() else { continue };
            let hypotheses: Vec<HypothesisIndex> =
                members.iter().map(|&i| base.shown(problem, store, readings[i].query)).collect();
            readings[at].catch_up(problem, store);
            let mut logs = Vec::with_capacity(self.shares.len());
            for (sample, cells) in row.chunks_mut(self.shares.len()).enumerate() {
                if sample < differing {
                    let mut own = [1.0; 2];
                    let whatever = settling.as_ref().filter(|_| base.is_nothing());
                    if let ([only], None) = (&members[..], whatever) {
                        own[1] = readings[*only].single(store, hypotheses[0], sample);
                    } else if let Some(prediction) = whatever {
                        let items: Vec<Item<'_>> = members
                            .iter()
                            .zip(&hypotheses)
                            .map(|(&i, &h)| Item { prediction, ..item(store, &readings[i], h, sample) })
                            .collect();
                        own = [likelihood::group(&items[..items.len() - 1]), likelihood::group(&items)];
                    } else {
                        let all = members.iter().zip(&hypotheses);
                        let all = all.map(|(&reading, &shown)| Member { reading, shown, sound: None });
                        let before = all.clone().take(members.len() - 1);
                        own = [
                            evidence::joint(store, readings, before, sample, &mut key),
                            evidence::joint(store, readings, all, sample, &mut key),
                        ];
                    }
                    logs.clear();
                    logs.extend(self.shares.iter().map(|&share| {
                        let share = if settling.is_some() { 0.0 } else { share };
                        let [before, after] =
                            [0, 1].map(|i| common[sample][i].disturbed(!base.is_nothing(), share, own[i]));
                        log_ratio(after, before)
                    }));
                }
                cells.iter_mut().zip(&logs).for_each(|(cell, log)| *cell += log);
            }
        }
    }

    /// How probable each base is now, of all that it may be like; these sum to one.
    pub(crate) fn bases(&self, samples: usize) -> impl Iterator<Item = (Base, f64)> + '_ {
        let row = &self.rows[self.seen()];
        let peak = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let of = move |logs: &[f64]| logs.iter().map(|log| libm::exp(log - peak)).sum::<f64>();
        let weights: Vec<f64> = row.chunks(samples * self.shares.len()).map(of).collect();
        let all: f64 = weights.iter().sum();
        self.bases.iter().copied().zip(weights.into_iter().map(move |w| if all > 0.0 { w / all } else { 0.0 }))
    }

    /// What it is like now on the base that is so many after the first, and has this weight; sample by sample.
    pub(crate) fn alike(&self, base: usize, weight: f64, samples: usize) -> Vec<Alike> {
        let width = samples * self.shares.len();
        let (base, logs) = (self.bases[base], &self.rows[self.seen()][base * width..(base + 1) * width]);
        let whole = log_sum(logs);
        let alike = |logs: &[f64]| {
            let own = log_sum(logs);
            let mean: f64 = logs.iter().zip(&self.shares).map(|(log, s)| libm::exp(log - own) * s).sum();
            let mean = if own == f64::NEG_INFINITY { 0.0 } else { mean };
            let as_sound = if !base.is_nothing() { LIKE_SOUND * mean } else { 0.0 };
            Alike { weight: weight * libm::exp(own - whole), anything: mean - as_sound, as_sound }
        };
        logs.chunks(self.shares.len()).map(alike).collect()
    }
}

/// Likelihoods of a group of readings that do not depend on the base.
struct Common {
    /// With nothing wrong.
    sound: f64,
    /// They show one strange thing.
    strange: f64,
}

impl Common {
    fn of(store: &Store, readings: &[Taken], members: &[usize], sound: HypothesisIndex, sample: usize) -> Common {
        let items: Vec<Item<'_>> = members.iter().map(|&i| item(store, &readings[i], sound, sample)).collect();
        Common { sound: likelihood::group(&items), strange: strange(store, readings, members, sound, sample) }
    }

    /// Likelihood of the group when this share of readings is disturbed and the base alone gives it `own`.
    fn disturbed(&self, described: bool, share: f64, own: f64) -> f64 {
        let disturbed =
            if described { LIKE_SOUND * self.sound + (1.0 - LIKE_SOUND) * self.strange } else { self.strange };
        (1.0 - share) * own + share * disturbed
    }
}

/// The readings of a group show one strange thing, whatever was done between them; as noisy as the noisiest of them, so that
/// their order does not matter.
fn strange(store: &Store, readings: &[Taken], members: &[usize], sound: HypothesisIndex, sample: usize) -> f64 {
    let Some(&first) = members.first() else { return 1.0 };
    let observed: Vec<Observed> = members.iter().map(|&i| readings[i].observed).collect();
    let noise = |i: usize| match store.prediction(readings[i].query, sound, sample) {
        Prediction::Number(n) => n.noise,
        Prediction::Categories(_) => 1.0,
    };
    let noise = members.iter().map(|&i| noise(i)).fold(0.0, f64::max);
    likelihood::disturbed(&store.query(readings[first].query).kind, noise, &observed)
}
