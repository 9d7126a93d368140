//! Reasons as data: who is suspected and why, what a test would leave, what a reading says.
//!
//! Nothing here is worded: the client says it in its own words.

use std::collections::BTreeMap;

use crate::evidence::log_sum;
use crate::hypothesis::{Hypothesis, ModeId, NameId, QueryId, RepairId};
use crate::likelihood;
use crate::normal;
use crate::plan::outlook::{Chart, Need, Outlook};
use crate::plan::{Outcome, PlanSettings, Situation};
use crate::prediction::Prediction;
use crate::problem::{Broad, ModeInfo, Observed, Problem};
use crate::reasoner::Reasoner;

/// Something that is suspected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Suspect {
    /// Nothing is wrong: no mode is present but harmless ones.
    Sound,
    /// Something of this name is present, alone or with others.
    Name(NameId),
    /// Exactly this.
    Exactly(Hypothesis),
    /// Something that no mode describes.
    NotDescribed,
}

/// What speaks for (positive) and against (negative) a suspect: logs of the factors by which its
/// odds against everything else change. `prior` plus all of `readings` is the log of its odds now.
#[derive(Clone, Debug, PartialEq)]
pub struct Voices {
    /// Log odds before any reading.
    pub prior: f64,
    /// One per reading, in the order they came. Where readings overlap in what they say, the
    /// earlier has the credit.
    pub readings: Vec<f64>,
}

impl Voices {
    /// Log odds now.
    pub fn total(&self) -> f64 {
        self.prior + self.readings.iter().sum::<f64>()
    }
}

/// What one outcome of a test would leave.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaves {
    /// The outcome.
    pub outcome: Outcome,
    /// Its probability.
    pub probability: f64,
    /// Probability that something of each name is present then, most probable first.
    pub names: Vec<(NameId, f64)>,
    /// Probability that nothing has to be put right then: what is harmless, and what was put right, may be there.
    pub sound: f64,
    /// Probability of something not described then.
    pub not_described: f64,
}

/// Where an observation is expected to lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Band {
    /// A number: the middle, and the ends between which it lies with the asked-for probability if
    /// it is in range.
    Number {
        /// Median.
        middle: f64,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
        /// Probability beyond the high end of the instrument's range.
        p_over: f64,
        /// Probability beyond the low end of the instrument's range.
        p_under: f64,
    },
    /// A probability for each category.
    Categories(Vec<f64>),
}

/// What one reading says.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingView {
    /// Where it would lie if nothing were wrong.
    pub if_sound: Band,
    /// Names whose odds it cut to a twentieth or less, with the log of the factor, most cut first.
    pub ruled_out: Vec<(NameId, f64)>,
    /// Names whose odds it raised twentyfold or more, with the log of the factor.
    pub brought_up: Vec<(NameId, f64)>,
}

/// The reading that would prove a suspect wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Refutation {
    /// Index of the test in the situation.
    pub test: usize,
    /// What it would have to show.
    pub outcome: Outcome,
    /// How probable that is.
    pub probability: f64,
    /// What would be left of the suspect's probability.
    pub leaves: f64,
}

/// What knowing one shared unknown would tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnknownWorth {
    /// Index into [`Problem::shared_unknowns`].
    pub unknown: usize,
    /// The question: is it above this?
    pub threshold: f64,
    /// Expected information about what needs doing, in nats.
    pub gain: f64,
}

/// ln 20: a factor worth calling "ruled out".
const TWENTYFOLD: f64 = 2.995_732_273_553_991;

impl Reasoner {
    /// What speaks for and against a suspect, and by how much.
    pub fn voices(&mut self, problem: &impl Problem, suspect: Suspect) -> Voices {
        let unknown = self.not_described_course();
        self.voices_with(problem.modes(), suspect, &unknown)
    }

    /// Log weight of "not described" after 0, 1, … readings.
    fn not_described_course(&self) -> Vec<f64> {
        (0..=self.taken.len()).map(|k| self.undescribed.log_weight_after(k)).collect()
    }

    fn voices_with(&self, infos: &[ModeInfo], suspect: Suspect, unknown: &[f64]) -> Voices {
        let count = self.taken.len();
        let (mut inside, mut outside) = (vec![Vec::new(); count + 1], vec![Vec::new(); count + 1]);
        for track in &self.tracks {
            if self.log_weight(track).is_none() {
                continue;
            }
            let hypothesis = self.store.hypothesis(track.hypothesis);
            let side = if covers(suspect, hypothesis, infos) { &mut inside } else { &mut outside };
            for (logs, evidence) in side.iter_mut().zip(track.score.evidences()) {
                logs.push(track.log_prior + evidence);
            }
        }
        let side = if suspect == Suspect::NotDescribed { &mut inside } else { &mut outside };
        for (logs, log) in side.iter_mut().zip(unknown) {
            logs.push(*log);
        }
        let odds: Vec<f64> = inside.iter().zip(&outside).map(|(a, b)| log_sum(a) - log_sum(b)).collect();
        Voices { prior: odds[0], readings: odds.windows(2).map(|w| w[1] - w[0]).collect() }
    }

    /// What each outcome of a test would leave; the most probable outcomes first.
    ///
    /// Returns nothing if the test is not on offer.
    pub fn leaves(
        &mut self,
        problem: &impl Problem,
        situation: &Situation,
        test: usize,
        settings: &PlanSettings,
    ) -> Vec<Leaves> {
        let mut one = situation.clone();
        for (i, t) in one.tests.iter_mut().enumerate() {
            t.allowed &= i == test;
        }
        let outlook = Outlook::new(problem, self, &one, settings);
        let leaves = outlook.charts.first().map_or(Vec::new(), |chart| self.leaves_after(problem, &outlook, chart));
        outlook.leave(self);
        leaves
    }

    pub(crate) fn leaves_after(&self, problem: &impl Problem, outlook: &Outlook, chart: &Chart) -> Vec<Leaves> {
        let mut leaves: Vec<Leaves> = chart
            .outcomes
            .iter()
            .zip(chart.rows())
            .map(|(&outcome, row)| self.leaves_of(problem, outlook, outcome, row))
            .filter(|l| l.probability > 1e-9)
            .collect();
        leaves.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        leaves
    }

    fn leaves_of(&self, problem: &impl Problem, outlook: &Outlook, outcome: Outcome, row: &[f64]) -> Leaves {
        let infos = problem.modes();
        let mut names: BTreeMap<NameId, f64> = BTreeMap::new();
        let (mut total, mut sound, mut unknown) = (0.0, 0.0, 0.0);
        for (((whole, class), weight), p) in outlook.wholes().zip(&outlook.classes).zip(&outlook.weights).zip(row) {
            let mass = weight * p;
            total += mass;
            match whole.map(|h| self.store.hypothesis(h)) {
                None => unknown += mass,
                Some(h) => {
                    // What was put right counts as nothing wrong.
                    if outlook.needs[*class] == Need::Nothing {
                        sound += mass;
                    }
                    for name in names_of(h, infos) {
                        *names.entry(name).or_default() += mass;
                    }
                }
            }
        }
        let scale = if total > 0.0 { 1.0 / total } else { 0.0 };
        let mut names: Vec<(NameId, f64)> = names.into_iter().map(|(n, m)| (n, m * scale)).collect();
        names.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        Leaves { outcome, probability: total, names, sound: sound * scale, not_described: unknown * scale }
    }

    /// Posterior weights of the samples of shared unknowns.
    pub fn sample_weights(&self) -> Vec<f64> {
        let samples = self.store.samples();
        let mut weights = vec![0.0; samples];
        self.for_each_weight(|_, sample, weight| weights[sample] += weight);
        let total: f64 = weights.iter().sum();
        if total > 0.0 {
            weights.iter_mut().for_each(|w| *w /= total);
        }
        weights
    }

    /// Visits the posterior weight of every worked-out hypothesis in every sample.
    fn for_each_weight(&self, mut visit: impl FnMut(Hypothesis, usize, f64)) {
        let samples = self.store.samples();
        for track in &self.tracks {
            if self.log_weight(track).is_none() {
                continue;
            }
            let hypothesis = self.store.hypothesis(track.hypothesis);
            let base = track.log_prior - self.posterior.log_evidence;
            for sample in 0..samples {
                let log = base + self.log_samples[sample] + track.score.likelihood_in(sample);
                visit(hypothesis, sample, libm::exp(log));
            }
        }
    }

    /// Where a query's answer is expected under a hypothesis, given what is known of the shared
    /// unknowns; `coverage` (0 to 1, .95 say) is the probability between the ends.
    pub fn band(&mut self, problem: &impl Problem, query: QueryId, hypothesis: &Hypothesis, coverage: f64) -> Band {
        let query = self.store.query_index(problem, query);
        let hypothesis = self.store.hypothesis_index(*hypothesis);
        self.store.ensure(problem, query, hypothesis);
        let weights = self.sample_weights();
        let mut categories: Vec<f64> = Vec::new();
        let mut numbers = Vec::new();
        let (mut p_over, mut p_under) = (0.0, 0.0);
        for (sample, weight) in weights.iter().enumerate() {
            match self.store.prediction(query, hypothesis, sample) {
                Prediction::Number(n) => {
                    p_over += weight * n.over;
                    p_under += weight * n.under;
                    numbers.push((weight * n.in_range(), n.centre, n.total_sd()));
                }
                Prediction::Categories(p) => {
                    categories.resize(categories.len().max(p.len()), 0.0);
                    for (sum, x) in categories.iter_mut().zip(p) {
                        *sum += weight * x;
                    }
                }
            }
        }
        if numbers.is_empty() {
            return Band::Categories(categories);
        }
        let tail = 0.5 * (1.0 - coverage.clamp(0.0, 1.0 - 1e-9));
        Band::Number {
            middle: quantile(&numbers, 0.5),
            low: quantile(&numbers, tail),
            high: quantile(&numbers, 1.0 - tail),
            p_over,
            p_under,
        }
    }

    /// Whether the reading at `index` is odd where just this is there: not the likeliest word, or a number that is rather a slip than
    /// what is foreseen. There is no such reading: not odd.
    pub fn is_odd(&mut self, problem: &impl Problem, index: usize, hypothesis: Hypothesis) -> bool {
        let Some(taken) = self.taken.get(index) else { return false };
        let (query, observed) = (taken.query, taken.observed);
        let hypothesis = self.store.hypothesis_index(hypothesis);
        self.store.ensure(problem, query, hypothesis);
        let weights = self.sample_weights();
        let kind = &self.store.query(query).kind;
        let mean = |of: &dyn Fn(&Prediction) -> f64| -> f64 {
            let shown = |sample| of(self.store.prediction(query, hypothesis, sample));
            weights.iter().enumerate().map(|(sample, w)| w * shown(sample)).sum()
        };
        let of_word = |word: usize| {
            mean(&|p| match p {
                Prediction::Categories(p) => p.get(word).copied().unwrap_or(0.0),
                Prediction::Number(_) => 0.0,
            })
        };
        match (observed, &kind.broad) {
            (Observed::Category(seen), Broad::Categories(words)) => {
                (0..words.len()).any(|word| of_word(word) > of_word(seen))
            }
            _ => 2.0 * likelihood::slipped(kind, observed) > mean(&|p| likelihood::single(kind, p, observed)),
        }
    }

    /// What each reading says: where it would lie if nothing were wrong (95 %), and whom it ruled
    /// out or brought up.
    pub fn reading_views(&mut self, problem: &impl Problem) -> Vec<ReadingView> {
        let unknown = self.not_described_course();
        let mut names: Vec<NameId> = self.posterior.names().iter().map(|n| n.0).collect();
        names.sort_unstable();
        let voices: Vec<(NameId, Voices)> = names
            .into_iter()
            .map(|n| {
                let voices = self.voices_with(problem.modes(), Suspect::Name(n), &unknown);
                (n, voices)
            })
            .collect();
        let as_made = self.most_probably_made();
        (0..self.readings().len())
            .map(|k| {
                let query = self.readings()[k].query;
                let moved = |most_first: f64| {
                    let mut moved: Vec<(NameId, f64)> = voices
                        .iter()
                        .map(|(n, v)| (*n, v.readings[k]))
                        .filter(|(_, v)| v * most_first >= TWENTYFOLD)
                        .collect();
                    moved.sort_by(|a, b| (b.1 * most_first).total_cmp(&(a.1 * most_first)));
                    moved
                };
                let (ruled_out, brought_up) = (moved(-1.0), moved(1.0));
                ReadingView { if_sound: self.band(problem, query, &as_made, 0.95), ruled_out, brought_up }
            })
            .collect()
    }

    /// The outcome, of a test on offer, that would best prove a suspect wrong: the most probable
    /// one that leaves it at most a tenth of its probability; failing that, the one that leaves it
    /// least. `None` if no test lowers it.
    pub fn refutation(
        &mut self,
        problem: &impl Problem,
        situation: &Situation,
        suspect: Suspect,
        settings: &PlanSettings,
    ) -> Option<Refutation> {
        let outlook = Outlook::new(problem, self, situation, settings);
        let infos = problem.modes();
        let inside: Vec<bool> = outlook
            .wholes()
            .map(|whole| match whole {
                None => suspect == Suspect::NotDescribed,
                Some(h) => covers(suspect, self.store.hypothesis(h), infos),
            })
            .collect();
        let share = |row: &[f64]| {
            let (mut total, mut own) = (0.0, 0.0);
            for ((weight, p), inside) in outlook.weights.iter().zip(row).zip(&inside) {
                total += weight * p;
                own += if *inside { weight * p } else { 0.0 };
            }
            (total, if total > 0.0 { own / total } else { 0.0 })
        };
        let (_, now) = share(&vec![1.0; outlook.weights.len()]);
        let mut best: Option<Refutation> = None;
        for chart in &outlook.charts {
            for (&outcome, row) in chart.outcomes.iter().zip(chart.rows()) {
                let (probability, leaves) = share(row);
                if probability < 1e-6 || leaves >= now {
                    continue;
                }
                let refutes = |left: f64| left <= 0.1 * now;
                let better = best.as_ref().is_none_or(|b| match (refutes(leaves), refutes(b.leaves)) {
                    (true, true) => probability > b.probability,
                    (true, false) => true,
                    (false, true) => false,
                    (false, false) => leaves < b.leaves,
                });
                if better {
                    best = Some(Refutation { test: chart.test, outcome, probability, leaves });
                }
            }
        }
        best
    }

    /// What knowing each shared unknown would tell about what needs doing, most telling first: the
    /// information in whether it is above its (posterior) median.
    pub fn worth_knowing(&self, problem: &impl Problem) -> Vec<UnknownWorth> {
        let infos = problem.modes();
        let weights = self.sample_weights();
        let mut needs: BTreeMap<Vec<RepairId>, Vec<f64>> = BTreeMap::new();
        self.for_each_weight(|hypothesis, sample, weight| {
            let info = |m: &ModeId| &infos[m.0 as usize];
            let mut need: Vec<RepairId> =
                hypothesis.modes().iter().map(info).filter(|i| !i.harmless).map(|i| i.repair).collect();
            need.sort_unstable();
            need.dedup();
            needs.entry(need).or_insert_with(|| vec![0.0; weights.len()])[sample] += weight;
        });
        let mut worth: Vec<UnknownWorth> = problem
            .shared_unknowns()
            .iter()
            .enumerate()
            .filter(|(_, u)| u.values.len() == weights.len())
            .filter_map(|(unknown, u)| {
                let threshold = split(&u.values, &weights)?;
                let mut halves = [Vec::new(), Vec::new()];
                for masses in needs.values() {
                    let mut sums = [0.0; 2];
                    for (mass, value) in masses.iter().zip(&u.values) {
                        sums[usize::from(*value > threshold)] += mass;
                    }
                    halves[0].push(sums[0]);
                    halves[1].push(sums[1]);
                }
                let all: Vec<f64> = halves[0].iter().zip(&halves[1]).map(|(a, b)| a + b).collect();
                let gain = crate::plan::uncertainty(&all)
                    - crate::plan::uncertainty(&halves[0])
                    - crate::plan::uncertainty(&halves[1]);
                Some(UnknownWorth { unknown, threshold, gain: gain.max(0.0) })
            })
            .collect();
        worth.sort_by(|a, b| b.gain.total_cmp(&a.gain).then(a.unknown.cmp(&b.unknown)));
        worth
    }
}

/// A value between two samples' that divides the weights most evenly; `None` if all are equal.
fn split(values: &[f64], weights: &[f64]) -> Option<f64> {
    let mut order: Vec<(f64, f64)> = values.iter().copied().zip(weights.iter().copied()).collect();
    order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut below = 0.0;
    let mut best: Option<(f64, f64)> = None;
    for pair in order.windows(2) {
        below += pair[0].1;
        if pair[1].0 > pair[0].0 {
            let uneven = (below - 0.5).abs();
            if best.is_none_or(|b| uneven < b.0) {
                best = Some((uneven, 0.5 * (pair[0].0 + pair[1].0)));
            }
        }
    }
    best.map(|b| b.1)
}

fn covers(suspect: Suspect, hypothesis: Hypothesis, infos: &[ModeInfo]) -> bool {
    match suspect {
        Suspect::Sound => ModeInfo::all_harmless(infos, hypothesis.modes()),
        Suspect::Name(name) => hypothesis.modes().iter().any(|m| infos[m.0 as usize].name == name),
        Suspect::Exactly(other) => hypothesis == other,
        Suspect::NotDescribed => false,
    }
}

fn names_of(hypothesis: Hypothesis, infos: &[ModeInfo]) -> Vec<NameId> {
    let mut names: Vec<NameId> = hypothesis.modes().iter().map(|m| infos[m.0 as usize].name).collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// The value below which a mixture of normals lies with probability `p`, by halving.
fn quantile(mixture: &[(f64, f64, f64)], p: f64) -> f64 {
    let total: f64 = mixture.iter().map(|m| m.0).sum();
    let mut low = f64::INFINITY;
    let mut high = f64::NEG_INFINITY;
    for (_, centre, sd) in mixture {
        low = low.min(centre - 10.0 * sd);
        high = high.max(centre + 10.0 * sd);
    }
    if total <= 0.0 {
        return 0.5 * (low + high);
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        let below: f64 = mixture.iter().map(|(w, centre, sd)| w * normal::below((middle - centre) / sd)).sum();
        if below < p * total {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
