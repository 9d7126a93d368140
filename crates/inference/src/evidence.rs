//! The evidence for one hypothesis: what its predictions make of the readings so far.
//!
//! Kept per sample of the shared unknowns and summed over samples only at the end, so that an
//! assumption that is off puts every reading off together.

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use rustc_hash::FxHashMap;

use crate::hypothesis::{EpisodeId, Hypothesis, ModeId, QueryId};
use crate::likelihood::{self, Item};
use crate::problem::{Duty, Observed, Problem};
use crate::store::{HypothesisIndex, QueryIndex, SOUND, Store};

/// Episodes that may hang together through shared errors before the common error is taken as drawn
/// afresh: the sum over who was present when doubles with each.
const LINKED_EPISODES: usize = 5;

/// The same where several queries share the error: repeats of one test after this and that was put right.
const LINKED_BY_QUERIES: usize = 3;

/// The same for hypotheses with many patterns, of three and more modes that come and go: the sum grows eightfold with each episode.
const LINKED_OF_MANY: usize = 3;

/// Most patterns of a hypothesis that are summed over as many episodes as others are: those of two modes.
const FEW_PATTERNS: usize = 4;

/// What shares a common error: the repeats of one query, or a declared group of queries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum GroupKey {
    Query(QueryId),
    Declared(u32),
}

/// A reading as the engine keeps it.
#[derive(Clone, Debug)]
pub(crate) struct Taken {
    /// No other reading ever has it.
    pub serial: u64,
    pub query: QueryIndex,
    pub observed: Observed,
    pub episode: EpisodeId,
    pub group: GroupKey,
    /// Earlier readings of the same group.
    pub earlier: Vec<usize>,
    /// Log of the largest likelihood that any prediction could give it.
    pub log_ceiling: f64,
    /// Likelihood and its log per distinct prediction of the query, when nothing is shared with an
    /// earlier reading; grows with the store.
    pub singles: Vec<(f64, f64)>,
    /// Log likelihood per distinct prediction when what is wrong may not show, with the distinct prediction of the sound
    /// machine that it was worked out beside: it is mostly the same for thousands of hypotheses.
    pub mixed: Vec<Cell<(usize, f64)>>,
    /// Joint likelihoods of readings that share their error, this the last of them, by what each of them is predicted to show:
    /// thousands of hypotheses predict the same.
    pub joint: RefCell<FxHashMap<Box<[u32]>, f64>>,
    /// By the same key, the log of what this reading multiplies the evidence by, given the earlier ones.
    pub after: RefCell<FxHashMap<Box<[u32]>, f64>>,
}

impl Taken {
    /// Works out the likelihood for distinct predictions that have come since.
    pub(crate) fn catch_up(&mut self, problem: &impl Problem, store: &mut Store) {
        store.ensure(problem, self.query, SOUND);
        let query = store.query(self.query);
        for prediction in &query.distinct()[self.singles.len()..] {
            let p = likelihood::single(&query.kind, prediction, self.observed);
            self.singles.push((p, libm::log(p)));
        }
        self.mixed.resize(self.singles.len(), Cell::new((usize::MAX, 0.0)));
    }

    /// Likelihood of what a hypothesis shows in one sample. [`Taken::catch_up`] comes first.
    pub(crate) fn single(&self, store: &Store, hypothesis: HypothesisIndex, sample: usize) -> f64 {
        self.singles[store.row(self.query, hypothesis)[sample] as usize].0
    }

    /// Log likelihood under a hypothesis in one sample, when nothing is shared with another reading.
    fn alone(&self, store: &Store, hypothesis: HypothesisIndex, sample: usize) -> f64 {
        let own = store.row(self.query, hypothesis)[sample] as usize;
        let sound = store.row(self.query, store.sound_of(hypothesis))[sample] as usize;
        let unshown = store.query(self.query).kind.unshown;
        if own == sound || unshown == 0.0 {
            return self.singles[own].1;
        }
        let (beside, known) = self.mixed[own].get();
        if beside == sound {
            return known;
        }
        let log = libm::log((1.0 - unshown) * self.singles[own].0 + unshown * self.singles[sound].0);
        self.mixed[own].set((sound, log));
        log
    }
}

/// What one reading of several is held against.
#[derive(Clone, Copy)]
pub(crate) struct Member {
    /// Index of the reading.
    pub reading: usize,
    pub shown: HypothesisIndex,
    /// The same machine with nothing wrong, if what is wrong may not show in this reading.
    pub sound: Option<HypothesisIndex>,
}

/// Joint likelihood, in one sample, of readings that share their common error; whether what is wrong shows in them is common
/// to all. The latest of them stands last. `key` is room to work in.
pub(crate) fn joint(
    store: &Store,
    readings: &[Taken],
    members: impl Iterator<Item = Member> + Clone,
    sample: usize,
    key: &mut Vec<u32>,
) -> f64 {
    let Some(latest) = foreseen(store, readings, members.clone(), sample, key) else { return 1.0 };
    if let Some(&known) = readings[latest].joint.borrow().get(&key[..]) {
        return known;
    }
    let of = |m: Member, hypothesis: HypothesisIndex| item(store, &readings[m.reading], hypothesis, sample);
    let shown: Vec<Item<'_>> = members.clone().map(|m| of(m, m.shown)).collect();
    let sound: Vec<Item<'_>> = members.map(|m| of(m, m.sound.unwrap_or(m.shown))).collect();
    let p = together(&shown, &sound);
    readings[latest].joint.borrow_mut().insert(key.as_slice().into(), p);
    p
}

/// What is predicted for each of these readings in one sample, into `key`; and the latest of them.
fn foreseen(
    store: &Store,
    readings: &[Taken],
    members: impl Iterator<Item = Member>,
    sample: usize,
    key: &mut Vec<u32>,
) -> Option<usize> {
    key.clear();
    let mut latest = None;
    for m in members {
        let query = readings[m.reading].query;
        let sound = m.sound.map_or(u32::MAX, |sound| store.row(query, sound)[sample]);
        key.extend([m.reading as u32, store.row(query, m.shown)[sample], sound]);
        latest = Some(m.reading);
    }
    latest
}

/// Joint likelihood of readings that share their common error; whether what is wrong shows in them is common to all.
pub(crate) fn together(shown: &[Item<'_>], sound: &[Item<'_>]) -> f64 {
    let own = likelihood::group(shown);
    let unshown = shown.iter().map(|i| i.kind.unshown).fold(0.0, f64::max);
    if unshown == 0.0 || shown.iter().zip(sound).all(|(a, b)| std::ptr::eq(a.prediction, b.prediction)) {
        own
    } else {
        (1.0 - unshown) * own + unshown * likelihood::group(sound)
    }
}

pub(crate) fn item<'a>(store: &'a Store, reading: &Taken, hypothesis: HypothesisIndex, sample: usize) -> Item<'a> {
    Item {
        kind: &store.query(reading.query).kind,
        prediction: store.prediction(reading.query, hypothesis, sample),
        observed: reading.observed,
    }
}

/// Per sample, the log of what reading `at` multiplies the evidence by, given the earlier ones, for
/// a hypothesis without intermittent modes.
pub(crate) fn steady_factor(
    problem: &impl Problem,
    store: &mut Store,
    readings: &mut [Taken],
    at: usize,
    hypothesis: HypothesisIndex,
    out: &mut Vec<f64>,
) {
    store.ensure(problem, readings[at].query, hypothesis);
    out.clear();
    if readings[at].earlier.is_empty() {
        let reading = &mut readings[at];
        reading.catch_up(problem, store);
        let reading = &readings[at];
        if store.query(reading.query).sampled() {
            out.extend((0..store.samples()).map(|sample| reading.alone(store, hypothesis, sample)));
        } else {
            out.resize(store.samples(), reading.alone(store, hypothesis, 0));
        }
        return;
    }
    let as_made = store.sound_of(hypothesis);
    store.ensure(problem, readings[at].query, as_made);
    for &i in &readings[at].earlier {
        store.ensure(problem, readings[i].query, hypothesis);
        store.ensure(problem, readings[i].query, as_made);
    }
    let reading = &readings[at];
    let earlier = reading.earlier.iter().map(|&i| Member { reading: i, shown: hypothesis, sound: Some(as_made) });
    let all = earlier.clone().chain([Member { reading: at, shown: hypothesis, sound: Some(as_made) }]);
    let agree = |m: Member| {
        let query = readings[m.reading].query;
        let same = |hypothesis| store.row(query, hypothesis).windows(2).all(|pair| pair[0] == pair[1]);
        !store.query(query).sampled() || same(m.shown) && m.sound.is_none_or(same)
    };
    let differ = !all.clone().all(agree);
    let mut key = Vec::new();
    for sample in 0..store.samples() {
        if sample > 0 && !differ {
            out.push(out[0]);
            continue;
        }
        foreseen(store, readings, all.clone(), sample, &mut key);
        let known = readings[at].after.borrow().get(&key[..]).copied();
        let log = known.unwrap_or_else(|| {
            let key_of_all: Box<[u32]> = key.as_slice().into();
            let before = joint(store, readings, earlier.clone(), sample, &mut key);
            let after = joint(store, readings, all.clone(), sample, &mut key);
            let log = log_ratio(after, before);
            readings[at].after.borrow_mut().insert(key_of_all, log);
            log
        });
        out.push(log);
    }
}

pub(crate) fn log_ratio(after: f64, before: f64) -> f64 {
    if before > 0.0 { libm::log(after / before) } else { f64::NEG_INFINITY }
}

/// How the readings hang together through episodes and shared errors; the same for all hypotheses.
#[derive(Clone, Debug, Default)]
pub(crate) struct Layout {
    parts: Vec<Part>,
    /// The same where less is linked, for hypotheses with many patterns.
    parts_of_many: Vec<Part>,
}

/// Episodes that shared errors tie together.
#[derive(Clone, Debug)]
struct Part {
    episodes: Vec<EpisodeId>,
    groups: Vec<Linked>,
    /// The same, told by what stays true when readings are taken back and others come.
    key: Arc<[Place]>,
}

/// Readings of one part that share their error.
#[derive(Clone, Debug)]
struct Linked {
    /// Reading, and index of its episode within the part.
    members: Vec<(usize, usize)>,
    /// The episodes of its members, each once, ascending: who is there in others changes nothing for it.
    own: Vec<usize>,
}

/// Serial number of a reading, index of its episode within its part, and of its group.
type Place = (u64, usize, usize);

impl Layout {
    pub(crate) fn new(readings: &[Taken]) -> Layout {
        Layout {
            parts: linked(readings, LINKED_EPISODES, LINKED_BY_QUERIES),
            parts_of_many: linked(readings, LINKED_OF_MANY, LINKED_OF_MANY),
        }
    }

    /// The parts for a hypothesis with so many patterns.
    fn parts(&self, patterns: usize) -> &[Part] {
        if patterns > FEW_PATTERNS { &self.parts_of_many } else { &self.parts }
    }
}

/// Readings by parts, at most so many episodes linked by one query, and by several.
fn linked(readings: &[Taken], by_query: usize, by_queries: usize) -> Vec<Part> {
    let mut episodes: Vec<EpisodeId> = readings.iter().map(|r| r.episode).collect();
    episodes.sort_unstable();
    episodes.dedup();
    let mut part_of: Vec<usize> = (0..episodes.len()).collect();
    let mut groups: Vec<(GroupKey, Vec<usize>)> = Vec::new();
    for (i, r) in readings.iter().enumerate() {
        match groups.iter_mut().find(|(key, _)| *key == r.group) {
            Some((_, members)) => members.push(i),
            None => groups.push((r.group, vec![i])),
        }
    }
    // What is linked must not hang on the order in which readings came.
    groups.sort_unstable_by_key(|(key, _)| *key);
    let slot = |i: usize| episodes.binary_search(&readings[i].episode).unwrap_or(0);
    let mut settled: Vec<Vec<usize>> = Vec::new();
    for (_, members) in groups {
        let mut parts: Vec<usize> = members.iter().map(|&i| part_of[slot(i)]).collect();
        parts.sort_unstable();
        parts.dedup();
        let size = part_of.iter().filter(|p| parts.contains(p)).count();
        let one_query = members.iter().all(|&i| readings[i].query == readings[members[0]].query);
        if size <= if one_query { by_query } else { by_queries } {
            for p in &mut part_of {
                if parts.contains(p) {
                    *p = parts[0];
                }
            }
            settled.push(members);
        } else {
            let mut by_episode: Vec<Vec<usize>> = vec![Vec::new(); episodes.len()];
            for i in members {
                by_episode[slot(i)].push(i);
            }
            settled.extend(by_episode.into_iter().filter(|m| !m.is_empty()));
        }
    }
    let mut parts = Vec::new();
    for root in 0..episodes.len() {
        let inside: Vec<EpisodeId> = (0..episodes.len()).filter(|&e| part_of[e] == root).map(|e| episodes[e]).collect();
        if inside.is_empty() {
            continue;
        }
        let groups: Vec<Linked> = settled
            .iter()
            .filter(|members| part_of[slot(members[0])] == root)
            .map(|members| {
                let place = |&i: &usize| (i, inside.binary_search(&readings[i].episode).unwrap_or(0));
                let members: Vec<(usize, usize)> = members.iter().map(place).collect();
                let mut own: Vec<usize> = members.iter().map(|m| m.1).collect();
                own.sort_unstable();
                own.dedup();
                Linked { members, own }
            })
            .collect();
        let places = groups.iter().enumerate().flat_map(|(g, linked)| linked.members.iter().map(move |m| (m, g)));
        let key = places.map(|(&(reading, slot), group)| (readings[reading].serial, slot, group)).collect();
        parts.push(Part { episodes: inside, groups, key });
    }
    parts
}

/// The intermittent modes of a hypothesis, and what is left of it when some of them are absent.
pub(crate) struct Comings {
    /// The store's index of what is left, per pattern (bit set: present).
    pub patterns: Vec<HypothesisIndex>,
    /// The same machine with nothing wrong.
    sound: HypothesisIndex,
    grid: Vec<Combination>,
    /// Parts worked out before, latest last.
    known: Vec<Known>,
}

/// What a part of the readings gives. Kept, because a new reading mostly leaves the others' parts as they are, and adds
/// one factor to its own.
struct Known {
    key: Arc<[Place]>,
    /// How many samples the rows below are for; one if the samples agree.
    rows: usize,
    /// How many sequences of patterns there are.
    width: usize,
    /// Log likelihood of every sequence of patterns, row by row; after them the log of what is left of them when they are
    /// weighed, per combination of duties, row by row. One piece of memory: thousands of hypotheses keep several.
    logs: Vec<f64>,
}

impl Known {
    /// The same for all hypotheses that hold it, mostly.
    fn is_of(&self, key: &Arc<[Place]>) -> bool {
        Arc::ptr_eq(&self.key, key) || self.key == *key
    }

    /// Log likelihood of every sequence of patterns in a sample.
    fn sequences(&self, sample: usize) -> &[f64] {
        row(&self.logs[..self.rows * self.width], self.rows, sample)
    }

    /// Log of what is left of them per combination of duties.
    fn weighed(&self, sample: usize) -> &[f64] {
        row(&self.logs[self.rows * self.width..], self.rows, sample)
    }
}

/// The row of a sample, of so many in all: the only one if the samples agree.
fn row(of: &[f64], rows: usize, sample: usize) -> &[f64] {
    let width = of.len() / rows;
    let row = if rows > 1 { sample } else { 0 };
    &of[row * width..(row + 1) * width]
}

/// Room to work in, kept from one hypothesis to the next. Holds nothing in between.
#[derive(Default)]
pub(crate) struct Room {
    parts: Vec<usize>,
    logs: Vec<f64>,
    row: Vec<f64>,
    shares: Vec<f64>,
    halves: Vec<f64>,
    shown: Vec<f64>,
    key: Vec<u32>,
}

/// Parts that one hypothesis keeps: those of now, and of before a reading that may be taken back.
const KEPT_PARTS: usize = 12;

/// One combination of duties.
struct Combination {
    log_weight: f64,
    /// Probability of each pattern.
    patterns: Vec<f64>,
}

impl Comings {
    pub(crate) fn new(problem: &impl Problem, store: &mut Store, hypothesis: Hypothesis) -> Comings {
        let infos = problem.modes();
        let intermittent: Vec<_> =
            hypothesis.modes().iter().copied().filter(|m| infos[m.0 as usize].intermittent.is_some()).collect();
        let patterns: Vec<HypothesisIndex> = (0..1_usize << intermittent.len())
            .map(|pattern| {
                let away =
                    |m: &ModeId| intermittent.iter().position(|i| i == m).is_some_and(|bit| pattern >> bit & 1 == 0);
                let left: Vec<ModeId> = hypothesis
                    .modes()
                    .iter()
                    .filter_map(|m| if away(m) { problem.away(*m) } else { Some(*m) })
                    .collect();
                store.hypothesis_index(Hypothesis::new(&left).unwrap_or(hypothesis))
            })
            .collect();
        let duties = intermittent.iter().filter_map(|m| infos[m.0 as usize].intermittent.as_ref());
        let sound = store.sound_of(patterns[0]);
        Comings { patterns, sound, grid: grid(duties), known: Vec::new() }
    }

    /// Per sample, into `out`: log of the evidence of `readings`.
    pub(crate) fn total(
        &mut self,
        problem: &impl Problem,
        store: &mut Store,
        readings: &mut [Taken],
        layout: &Layout,
        room: &mut Room,
        out: &mut Vec<f64>,
    ) {
        let surplus = self.known.len().saturating_sub(KEPT_PARTS);
        self.known.drain(..surplus);
        let mut parts = std::mem::take(&mut room.parts);
        parts.clear();
        let of_these = layout.parts(self.patterns.len());
        parts.extend(of_these.iter().map(|part| self.know(problem, store, readings, part, room)));
        let differ = parts.iter().any(|&part| self.known[part].rows > 1);
        let logs = &mut room.logs;
        let mut total = |sample: usize| {
            logs.clear();
            logs.extend(self.grid.iter().map(|combination| combination.log_weight));
            for &part in &parts {
                logs.iter_mut().zip(self.known[part].weighed(sample)).for_each(|(log, left)| *log += left);
            }
            log_sum(logs)
        };
        let samples = store.samples();
        out.clear();
        if differ {
            out.extend((0..samples).map(total));
        } else {
            out.resize(samples, total(0));
        }
        room.parts = parts;
    }

    /// The index in `known` of a part, worked out if need be.
    fn know(
        &mut self,
        problem: &impl Problem,
        store: &mut Store,
        readings: &mut [Taken],
        part: &Part,
        room: &mut Room,
    ) -> usize {
        if let Some(known) = self.known.iter().rposition(|k| k.is_of(&part.key)) {
            return known;
        }
        for group in &part.groups {
            for &(reading, _) in &group.members {
                for left in self.patterns.iter().copied().chain([self.sound]) {
                    store.ensure(problem, readings[reading].query, left);
                }
                readings[reading].catch_up(problem, store);
            }
        }
        let shorter = match part.groups.last().map(|g| g.members.as_slice()) {
            Some(&[last]) => {
                let before = &part.key[..part.key.len() - 1];
                let sequences = self.patterns.len().pow(part.episodes.len() as u32);
                let fits = |k: &&Known| *k.key == *before && k.width == sequences;
                self.known.iter().rfind(fits).map(|k| (k, last))
            }
            _ => None,
        };
        let (rows, mut all) = match shorter {
            Some((known, (reading, episode))) => self.lengthened(store, &readings[reading], episode, known),
            None => {
                let mut members = part.groups.iter().flat_map(|g| &g.members);
                let differ = members.any(|&(r, _)| self.differ(store, readings[r].query));
                let rows = if differ { store.samples() } else { 1 };
                let mut all = Vec::new();
                let mut row = std::mem::take(&mut room.row);
                for sample in 0..rows {
                    self.sequences(store, readings, part, sample, room, &mut row);
                    if sample == 0 {
                        all.reserve_exact(rows * (row.len() + self.grid.len()));
                    }
                    all.extend_from_slice(&row);
                }
                room.row = row;
                (rows, all)
            }
        };
        let width = all.len() / rows;
        let Room { row, shares, halves, .. } = room;
        for sample in 0..rows {
            row.clear();
            row.extend_from_slice(&all[sample * width..(sample + 1) * width]);
            let peak = peak(row);
            relative(row, peak, shares);
            all.extend(self.grid.iter().map(|c| libm::log(mean(shares, &c.patterns, halves)) + peak));
        }
        self.known.push(Known { key: Arc::clone(&part.key), rows, width, logs: all });
        self.known.len() - 1
    }

    /// Rows of sequences of patterns, and how many, with one more reading that shares its error with no other; with room for
    /// what is left of them.
    fn lengthened(&self, store: &Store, reading: &Taken, episode: usize, known: &Known) -> (usize, Vec<f64>) {
        let stride = self.patterns.len().pow(episode as u32);
        let rows = if known.rows > 1 || self.differ(store, reading.query) { store.samples() } else { 1 };
        let mut all = Vec::with_capacity(rows * (known.width + self.grid.len()));
        let mut shown = Vec::with_capacity(self.patterns.len());
        for sample in 0..rows {
            shown.clear();
            shown.extend(
                self.patterns.iter().map(|&left| reading.alone(store, self.seen(store, reading.query, left), sample)),
            );
            let before = known.sequences(sample).iter().enumerate();
            all.extend(before.map(|(sequence, log)| log + shown[sequence / stride % shown.len()]));
        }
        (rows, all)
    }

    /// What a query is held against while only `left` is there.
    fn seen(&self, store: &Store, query: QueryIndex, left: HypothesisIndex) -> HypothesisIndex {
        let whole = self.patterns[self.patterns.len() - 1];
        if store.query(query).kind.lasting { whole } else { left }
    }

    /// Whether samples differ in what a query shows, with whatever comes and goes there and away.
    fn differ(&self, store: &Store, query: QueryIndex) -> bool {
        store.query(query).sampled()
            && self.patterns.iter().chain(&[self.sound]).any(|&left| {
                let row = store.row(query, left);
                row.iter().any(|x| *x != row[0])
            })
    }

    /// Per sample and pattern: log of the evidence of `readings` together with the pattern that
    /// holds in episode `focus` (which may be a new one). Summed over patterns it is the evidence.
    pub(crate) fn evidence(
        &self,
        problem: &impl Problem,
        store: &mut Store,
        readings: &mut [Taken],
        layout: &Layout,
        focus: Option<EpisodeId>,
    ) -> Vec<Vec<f64>> {
        for reading in readings.iter_mut() {
            for &left in &self.patterns {
                store.ensure(problem, reading.query, left);
            }
            reading.catch_up(problem, store);
        }
        let mut out: Vec<Vec<f64>> = Vec::with_capacity(store.samples());
        for sample in 0..store.samples() {
            // Most queries show the same in all samples.
            let as_first = sample > 0
                && readings.iter().all(|r| {
                    self.patterns.iter().chain(&[self.sound]).all(|&left| {
                        let row = store.row(r.query, left);
                        row[sample] == row[0]
                    })
                });
            let here = if as_first { out[0].clone() } else { self.evidence_in(store, readings, layout, focus, sample) };
            out.push(here);
        }
        out
    }

    fn evidence_in(
        &self,
        store: &Store,
        readings: &[Taken],
        layout: &Layout,
        focus: Option<EpisodeId>,
        sample: usize,
    ) -> Vec<f64> {
        let patterns = self.patterns.len();
        // Per duty combination, log weight; and per pattern in the focus, log of its share.
        let mut logs: Vec<f64> = self.grid.iter().map(|c| c.log_weight).collect();
        let mut focused_part = None;
        let (mut sequences, mut likelihoods, mut room) = (Vec::new(), Vec::new(), Room::default());
        for part in layout.parts(patterns) {
            match focus.and_then(|f| part.episodes.binary_search(&f).ok()) {
                Some(episode) => focused_part = Some((part, episode)),
                None => {
                    let peak = self.sequences(store, readings, part, sample, &mut room, &mut sequences);
                    relative(&sequences, peak, &mut likelihoods);
                    for (log, c) in logs.iter_mut().zip(&self.grid) {
                        let sum: f64 = self.weighted(&likelihoods, part, &c.patterns).map(|(_, p)| p).sum();
                        *log += libm::log(sum) + peak;
                    }
                }
            }
        }
        let mut shares = vec![0.0; self.grid.len() * patterns];
        match focused_part {
            None => {
                for (row, c) in shares.chunks_mut(patterns).zip(&self.grid) {
                    row.iter_mut().zip(&c.patterns).for_each(|(share, p)| *share = libm::log(*p));
                }
            }
            Some((part, episode)) => {
                let peak = self.sequences(store, readings, part, sample, &mut room, &mut sequences);
                relative(&sequences, peak, &mut likelihoods);
                for (row, c) in shares.chunks_mut(patterns).zip(&self.grid) {
                    for (sequence, p) in self.weighted(&likelihoods, part, &c.patterns) {
                        row[sequence / patterns.pow(episode as u32) % patterns] += p;
                    }
                    row.iter_mut().for_each(|share| *share = libm::log(*share) + peak);
                }
            }
        }
        let mut column = vec![0.0; self.grid.len()];
        (0..patterns)
            .map(|pattern| {
                for (d, (sum, log)) in column.iter_mut().zip(&logs).enumerate() {
                    *sum = log + shares[d * patterns + pattern];
                }
                log_sum(&column)
            })
            .collect()
    }

    /// For every sequence of patterns, its likelihood (relative to the peak) times its probability.
    fn weighted<'a>(
        &'a self,
        likelihoods: &'a [f64],
        part: &'a Part,
        probability: &'a [f64],
    ) -> impl Iterator<Item = (usize, f64)> + 'a {
        let patterns = self.patterns.len();
        likelihoods.iter().enumerate().map(move |(sequence, likelihood)| {
            let (mut p, mut rest) = (*likelihood, sequence);
            for _ in 0..part.episodes.len() {
                p *= probability[rest % patterns];
                rest /= patterns;
            }
            (sequence, p)
        })
    }

    /// Log likelihood of a part's readings for every sequence of patterns over its episodes, into `logs`; and the
    /// largest of them, or 0 if there is none.
    fn sequences(
        &self,
        store: &Store,
        readings: &[Taken],
        part: &Part,
        sample: usize,
        room: &mut Room,
        logs: &mut Vec<f64>,
    ) -> f64 {
        // There are as many patterns as a number of this many bits can tell; a sequence is one such number per episode.
        let bits = self.patterns.len().trailing_zeros() as usize;
        let of = |sequence: usize, episode: usize| sequence >> (bits * episode) & (self.patterns.len() - 1);
        let Room { shown, key, .. } = room;
        logs.clear();
        logs.resize(1 << (bits * part.episodes.len()), 0.0);
        for Linked { members, own } in &part.groups {
            // What a group shows hangs on who was there in its own episodes.
            shown.clear();
            shown.extend((0..1_usize << (bits * own.len())).map(|seen| {
                let shown = |reading: usize, episode: usize| {
                    let place = own.iter().position(|e| *e == episode).unwrap_or(0);
                    self.seen(store, readings[reading].query, self.patterns[of(seen, place)])
                };
                if let [(reading, episode)] = members[..] {
                    return readings[reading].alone(store, shown(reading, episode), sample);
                }
                let members = members.iter().map(|&(reading, episode)| Member {
                    reading,
                    shown: shown(reading, episode),
                    sound: Some(self.sound),
                });
                libm::log(joint(store, readings, members, sample, key))
            }));
            for (sequence, log) in logs.iter_mut().enumerate() {
                let seen = own.iter().enumerate().fold(0, |seen, (place, e)| seen | of(sequence, *e) << (bits * place));
                *log += shown[seen];
            }
        }
        peak(logs)
    }
}

/// The mean of what every sequence of patterns has, one pattern after the other being drawn with these probabilities. `room` is
/// room to work in.
fn mean(of: &[f64], probability: &[f64], room: &mut Vec<f64>) -> f64 {
    room.clear();
    room.extend_from_slice(of);
    let mut left = of.len();
    while left > 1 {
        // The last episode is taken away.
        left /= probability.len();
        for i in 0..left {
            room[i] = probability.iter().enumerate().map(|(pattern, p)| p * room[i + pattern * left]).sum();
        }
    }
    room[0]
}

/// What these are the logs of, in terms of what has its log at `peak`: once for all combinations of duties.
fn relative(logs: &[f64], peak: f64, out: &mut Vec<f64>) {
    out.clear();
    out.extend(logs.iter().map(|log| libm::exp(log - peak)));
}

/// The largest of some logs, or 0 if there is none.
fn peak(logs: &[f64]) -> f64 {
    let peak = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if peak.is_finite() { peak } else { 0.0 }
}

/// Every combination of duties.
fn grid<'a>(duties: impl Iterator<Item = &'a Duty>) -> Vec<Combination> {
    let mut grid = vec![(1.0, vec![1.0])];
    for duty in duties {
        let total: f64 = duty.values.iter().map(|v| v.1.max(0.0)).sum();
        let mut finer = Vec::with_capacity(grid.len() * duty.values.len());
        for (weight, patterns) in &grid {
            for &(d, w) in &duty.values {
                let d = d.clamp(0.0, 1.0);
                let absent = patterns.iter().map(|p| p * (1.0 - d));
                let present = patterns.iter().map(|p| p * d);
                let share = if total > 0.0 { w.max(0.0) / total } else { 0.0 };
                finer.push((weight * share, absent.chain(present).collect()));
            }
        }
        grid = finer;
    }
    grid.into_iter().map(|(weight, patterns)| Combination { log_weight: libm::log(weight), patterns }).collect()
}

/// log Σ exp
pub(crate) fn log_sum(logs: &[f64]) -> f64 {
    log_sum_of(logs.iter().copied())
}

/// The same of logs that are worked out on the way.
pub(crate) fn log_sum_of(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let peak = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if !peak.is_finite() {
        return f64::NEG_INFINITY;
    }
    let sum: f64 = logs.map(|x| libm::exp(x - peak)).sum();
    peak + libm::log(sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One query, read once in each of so many episodes.
    fn read_in(episodes: u32) -> Vec<Taken> {
        let of = |episode| Taken {
            serial: u64::from(episode),
            query: 0,
            observed: Observed::Category(0),
            episode: EpisodeId(episode),
            group: GroupKey::Query(QueryId(0)),
            earlier: (0..episode as usize).collect(),
            log_ceiling: 0.0,
            singles: Vec::new(),
            mixed: Vec::new(),
            joint: RefCell::default(),
            after: RefCell::default(),
        };
        (0..episodes).map(of).collect()
    }

    /// The sum over who was there when has as many terms as patterns to the power of linked episodes: three loose joints over five
    /// episodes would be 32,768 for every sample and every set of three. By arithmetic.
    #[test]
    fn what_hangs_together_is_bounded_by_how_much_comes_and_goes() {
        for episodes in 1..12 {
            let layout = Layout::new(&read_in(episodes));
            for (patterns, most) in [(2_usize, 32), (4, 1024), (8, 512)] {
                let parts = layout.parts(patterns);
                assert!(parts.iter().all(|p| patterns.pow(p.episodes.len() as u32) <= most), "{episodes} {patterns}");
                // Whatever is linked, every reading is in one part.
                let members = parts.iter().flat_map(|p| &p.groups).map(|g| g.members.len()).sum::<usize>();
                assert_eq!(members, episodes as usize);
            }
        }
        // Few are summed over as they are.
        assert_eq!(Layout::new(&read_in(5)).parts(4).len(), 1);
        assert_eq!(Layout::new(&read_in(3)).parts(8).len(), 1);
    }
}
