//! Predictions asked for once and kept.
//!
//! Equal predictions of a query are kept once: most hypotheses leave most queries as they are, so
//! likelihoods are worked out per distinct prediction and looked up per hypothesis and sample.

use rustc_hash::FxHashMap;

use crate::hypothesis::{Hypothesis, ModeId, QueryId};
use crate::prediction::Prediction;
use crate::problem::{Problem, QueryKind};

const UNKNOWN: u32 = u32::MAX;

/// Index of a query in the store.
pub(crate) type QueryIndex = usize;
/// Index of a hypothesis in the store.
pub(crate) type HypothesisIndex = usize;
/// The hypothesis that nothing is wrong.
pub(crate) const SOUND: HypothesisIndex = 0;

pub(crate) struct Store {
    samples: usize,
    modes: usize,
    hypotheses: Vec<Hypothesis>,
    /// For each hypothesis, the same machine with nothing wrong: the ways in which it is made alone.
    sound_of: Vec<HypothesisIndex>,
    /// Whether a mode is a way of being made, by index.
    made: Vec<bool>,
    by_hypothesis: FxHashMap<Hypothesis, HypothesisIndex>,
    queries: Vec<QueryStore>,
    by_query: FxHashMap<QueryId, QueryIndex>,
}

/// A number for some of very many hypotheses, in pages: most queries are held against a few hypotheses only.
#[derive(Default)]
struct Rows {
    pages: Vec<Option<Box<[u32; PAGE]>>>,
}

const PAGE: usize = 64;

impl Rows {
    fn get(&self, hypothesis: HypothesisIndex) -> u32 {
        match self.pages.get(hypothesis / PAGE) {
            Some(Some(page)) => page[hypothesis % PAGE],
            _ => UNKNOWN,
        }
    }

    fn set(&mut self, hypothesis: HypothesisIndex, row: u32) {
        let page = hypothesis / PAGE;
        if self.pages.len() <= page {
            self.pages.resize(page + 1, None);
        }
        self.pages[page].get_or_insert_with(|| Box::new([UNKNOWN; PAGE]))[hypothesis % PAGE] = row;
    }
}

/// Everything known about one query.
pub(crate) struct QueryStore {
    pub id: QueryId,
    pub kind: QueryKind,
    /// Which modes can change what it shows.
    reach: Vec<bool>,
    /// Whether samples differ in what it shows.
    sampled: bool,
    distinct: Vec<Prediction>,
    by_key: FxHashMap<Vec<u64>, u32>,
    /// Per hypothesis, the start of its row in `data`.
    rows: Rows,
    by_reduced: FxHashMap<Hypothesis, u32>,
    /// Per row and sample, an index into `distinct`.
    data: Vec<u32>,
}

impl QueryStore {
    pub(crate) fn distinct(&self) -> &[Prediction] {
        &self.distinct
    }

    /// Whether samples differ in what it shows.
    pub(crate) fn sampled(&self) -> bool {
        self.sampled
    }
}

impl Store {
    /// `made`: for each mode, whether it is a way of being made.
    pub(crate) fn new(samples: usize, made: Vec<bool>) -> Store {
        Store {
            samples,
            modes: made.len(),
            hypotheses: vec![Hypothesis::NONE],
            sound_of: vec![SOUND],
            made,
            by_hypothesis: FxHashMap::from_iter([(Hypothesis::NONE, SOUND)]),
            queries: Vec::new(),
            by_query: FxHashMap::default(),
        }
    }

    pub(crate) fn samples(&self) -> usize {
        self.samples
    }

    pub(crate) fn hypothesis(&self, index: HypothesisIndex) -> Hypothesis {
        self.hypotheses[index]
    }

    pub(crate) fn hypothesis_index(&mut self, hypothesis: Hypothesis) -> HypothesisIndex {
        if let Some(&known) = self.by_hypothesis.get(&hypothesis) {
            return known;
        }
        let made = self.made_part(hypothesis);
        let sound = (made != hypothesis).then(|| self.hypothesis_index(made));
        let index = self.hypotheses.len();
        self.hypotheses.push(hypothesis);
        self.sound_of.push(sound.unwrap_or(index));
        self.by_hypothesis.insert(hypothesis, index);
        index
    }

    /// The ways in which a machine is made under a hypothesis.
    pub(crate) fn made_part(&self, hypothesis: Hypothesis) -> Hypothesis {
        // Names of modes that last are beyond the list: those of faults.
        hypothesis.filter(|m| self.made.get(m.0 as usize).copied().unwrap_or(false))
    }

    /// Whether there is one way of being made only.
    pub(crate) fn all_made_alike(&self) -> bool {
        !self.made.contains(&true)
    }

    /// How many faults a hypothesis has: its modes but for the ways in which the machine is made.
    pub(crate) fn faults(&self, hypothesis: Hypothesis) -> usize {
        hypothesis.len() - self.made_part(hypothesis).len()
    }

    /// The machine of a hypothesis with nothing wrong.
    pub(crate) fn sound_of(&self, hypothesis: HypothesisIndex) -> HypothesisIndex {
        self.sound_of[hypothesis]
    }

    pub(crate) fn query_index(&mut self, problem: &impl Problem, id: QueryId) -> QueryIndex {
        if let Some(&index) = self.by_query.get(&id) {
            return index;
        }
        self.queries.push(QueryStore {
            id,
            kind: problem.kind(id).clone(),
            reach: (0..self.modes).map(|m| problem.reaches(ModeId(m as u32), id)).collect(),
            sampled: problem.sample_matters(id),
            distinct: Vec::new(),
            by_key: FxHashMap::default(),
            rows: Rows::default(),
            by_reduced: FxHashMap::default(),
            data: Vec::new(),
        });
        self.by_query.insert(id, self.queries.len() - 1);
        self.queries.len() - 1
    }

    pub(crate) fn query(&self, index: QueryIndex) -> &QueryStore {
        &self.queries[index]
    }

    /// Makes sure that the predictions of this query under this hypothesis are there; also those of the same machine with
    /// nothing wrong, where that is made otherwise than [`SOUND`].
    pub(crate) fn ensure(&mut self, problem: &impl Problem, query: QueryIndex, hypothesis: HypothesisIndex) {
        if self.queries[query].rows.get(hypothesis) != UNKNOWN {
            return;
        }
        let sound = self.sound_of[hypothesis];
        if sound != SOUND && sound != hypothesis {
            self.ensure(problem, query, sound);
        }
        let store = &mut self.queries[query];
        let id = store.id;
        // Names that the client gave to modes that last are beyond the list.
        let reaches = |m: ModeId| store.reach.get(m.0 as usize).copied().unwrap_or_else(|| problem.reaches(m, id));
        let reduced = self.hypotheses[hypothesis].filter(reaches);
        if let Some(&row) = store.by_reduced.get(&reduced) {
            store.rows.set(hypothesis, row);
            return;
        }
        let row = store.data.len() as u32;
        for sample in 0..self.samples {
            if sample > 0 && !store.sampled {
                store.data.push(store.data[row as usize]);
                continue;
            }
            let predicted = problem.predict(reduced.modes(), sample, store.id);
            let prediction = Prediction::new(predicted, &store.kind);
            let distinct = &mut store.distinct;
            let index = *store.by_key.entry(prediction.key()).or_insert_with(|| distinct.len() as u32);
            if index as usize == distinct.len() {
                distinct.push(prediction);
            }
            store.data.push(index);
        }
        store.by_reduced.insert(reduced, row);
        store.rows.set(hypothesis, row);
    }

    /// Per sample, which of the query's distinct predictions holds. [`Store::ensure`] comes first.
    pub(crate) fn row(&self, query: QueryIndex, hypothesis: HypothesisIndex) -> &[u32] {
        let store = &self.queries[query];
        let start = store.rows.get(hypothesis) as usize;
        &store.data[start..start + self.samples]
    }

    /// One prediction. [`Store::ensure`] comes first.
    pub(crate) fn prediction(&self, query: QueryIndex, hypothesis: HypothesisIndex, sample: usize) -> &Prediction {
        &self.queries[query].distinct[self.row(query, hypothesis)[sample] as usize]
    }
}
