//! What is still possible, as data.

use std::collections::{BTreeMap, BTreeSet};

use crate::hypothesis::{Hypothesis, MAX_FAULTS, ModeId, NameId, RepairId};
use crate::problem::ModeInfo;

/// A hypothesis with its probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighed {
    /// The set of modes.
    pub hypothesis: Hypothesis,
    /// Its posterior probability, 0 to 1.
    pub probability: f64,
}

/// Posterior over hypotheses.
///
/// Probabilities are relative to what was worked out; the true ones lie between `p / (1 +
/// unexpanded)` and `p`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Posterior {
    /// All hypotheses that were worked out, most probable first.
    pub hypotheses: Vec<Weighed>,
    /// Probability of something that no mode describes.
    pub not_described: f64,
    /// Upper bound on the weight of hypotheses not worked out, as a share of the evidence.
    pub unexpanded: f64,
    /// Log of the summed weight (prior odds times likelihood). Negative infinity if every
    /// hypothesis is impossible, in which case there are no probabilities.
    pub log_evidence: f64,
    sound: f64,
    modes: Vec<f64>,
    names: Vec<(NameId, f64)>,
    repairs: Vec<(Vec<RepairId>, f64)>,
}

impl Posterior {
    pub(crate) fn impossible() -> Posterior {
        Posterior { unexpanded: 1.0, log_evidence: f64::NEG_INFINITY, ..Posterior::default() }
    }

    pub(crate) fn new(
        infos: &[ModeInfo],
        hypotheses: Vec<Weighed>,
        not_described: f64,
        unexpanded: f64,
        log_evidence: f64,
    ) -> Posterior {
        let mut modes = vec![0.0; infos.len()];
        let names: BTreeSet<NameId> = infos.iter().map(|i| i.name).collect();
        let mut names: Vec<(NameId, f64)> = names.into_iter().map(|name| (name, 0.0)).collect();
        let place = |i: &ModeInfo| names.binary_search_by_key(&i.name, |n| n.0).unwrap_or(0);
        let name_of: Vec<usize> = infos.iter().map(place).collect();
        let mut repairs = Sums::new(infos);
        for weighed in &hypotheses {
            let p = weighed.probability;
            let mut repair = Needed::default();
            for (i, mode) in weighed.hypothesis.modes().iter().enumerate() {
                let info = &infos[mode.0 as usize];
                modes[mode.0 as usize] += p;
                let before = &weighed.hypothesis.modes()[..i];
                if before.iter().all(|m| infos[m.0 as usize].name != info.name) {
                    names[name_of[mode.0 as usize]].1 += p;
                }
                if !info.harmless {
                    repair.add(info.repair);
                }
            }
            repairs.add(repair, p);
        }
        let sound = repairs.none;
        Posterior {
            hypotheses,
            not_described,
            unexpanded,
            log_evidence,
            sound,
            modes,
            names: descending(names),
            repairs: descending(repairs.list()),
        }
    }

    /// Probability that nothing is wrong: that no mode is present but harmless ones.
    pub fn sound(&self) -> f64 {
        self.sound
    }

    /// Probability of exactly this hypothesis; zero if it was not worked out.
    pub fn probability_of(&self, hypothesis: &Hypothesis) -> f64 {
        self.hypotheses.iter().find(|w| w.hypothesis == *hypothesis).map_or(0.0, |w| w.probability)
    }

    /// Probability that this mode is present, alone or with others.
    pub fn mode(&self, mode: ModeId) -> f64 {
        self.modes.get(mode.0 as usize).copied().unwrap_or(0.0)
    }

    /// Probability that something of each name is present, most probable first; severity levels
    /// are taken together. These do not sum to one: two faults may be present, and a harmless mode
    /// may be there when nothing is wrong.
    pub fn names(&self) -> &[(NameId, f64)] {
        &self.names
    }

    /// Probability of each set of repairs being what is needed (the empty set: none), most
    /// probable first. These sum to one less [`Posterior::not_described`].
    pub fn repairs(&self) -> &[(Vec<RepairId>, f64)] {
        &self.repairs
    }
}

/// A set of repairs, sorted, without an allocation of its own.
#[derive(Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Needed {
    len: usize,
    repairs: [RepairId; MAX_FAULTS],
}

impl Needed {
    fn list(&self) -> &[RepairId] {
        &self.repairs[..self.len]
    }

    fn add(&mut self, repair: RepairId) {
        if !self.list().contains(&repair) {
            self.repairs[self.len] = repair;
            self.len += 1;
            self.repairs[..self.len].sort_unstable();
        }
    }
}

/// Probability per set of repairs. There are thousands of sets of two, all of which may come: they have places of their
/// own.
struct Sums {
    /// One more than the largest repair's number.
    width: usize,
    none: f64,
    /// By the first and the second repair of a set; the same twice for one alone. `None`: no such set came.
    two: Vec<Option<f64>>,
    more: BTreeMap<Needed, f64>,
}

impl Sums {
    fn new(infos: &[ModeInfo]) -> Sums {
        let width = infos.iter().map(|i| i.repair.0 as usize + 1).max().unwrap_or(0);
        Sums { width, none: 0.0, two: vec![None; width * width], more: BTreeMap::new() }
    }

    fn add(&mut self, needed: Needed, p: f64) {
        let sum = match *needed.list() {
            [] => &mut self.none,
            [a] => self.two[a.0 as usize * (self.width + 1)].get_or_insert_default(),
            [a, b] => self.two[a.0 as usize * self.width + b.0 as usize].get_or_insert_default(),
            _ => self.more.entry(needed).or_default(),
        };
        *sum += p;
    }

    fn list(self) -> Vec<(Vec<RepairId>, f64)> {
        let mut all = if self.none > 0.0 { vec![(Vec::new(), self.none)] } else { Vec::new() };
        for (i, p) in self.two.iter().enumerate() {
            if let Some(p) = p {
                let (a, b) = (RepairId((i / self.width) as u32), RepairId((i % self.width) as u32));
                all.push((if a == b { vec![a] } else { vec![a, b] }, *p));
            }
        }
        all.extend(self.more.into_iter().map(|(needed, p)| (needed.list().to_vec(), p)));
        all
    }
}

fn descending<T: Ord>(mut items: Vec<(T, f64)>) -> Vec<(T, f64)> {
    items.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    items
}
