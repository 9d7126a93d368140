//! What is still possible, as data.

use std::collections::{BTreeMap, BTreeSet};

use crate::hypothesis::{Hypothesis, ModeId, NameId, RepairId};
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
        let mut sound = 0.0;
        for weighed in &hypotheses {
            let p = weighed.probability;
            let mut harmless = true;
            for (i, mode) in weighed.hypothesis.modes().iter().enumerate() {
                let info = &infos[mode.0 as usize];
                modes[mode.0 as usize] += p;
                let before = &weighed.hypothesis.modes()[..i];
                if before.iter().all(|m| infos[m.0 as usize].name != info.name) {
                    names[name_of[mode.0 as usize]].1 += p;
                }
                harmless &= info.harmless;
            }
            if harmless {
                sound += p;
            }
        }
        Posterior { hypotheses, not_described, unexpanded, log_evidence, sound, modes, names: descending(names) }
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
    /// probable first. These sum to one less [`Posterior::not_described`]. Worked out when asked for: there are thousands.
    pub fn repairs(&self, infos: &[ModeInfo]) -> Vec<(Vec<RepairId>, f64)> {
        let mut sums: BTreeMap<Vec<RepairId>, f64> = BTreeMap::new();
        for weighed in &self.hypotheses {
            let modes = weighed.hypothesis.modes().iter().map(|m| &infos[m.0 as usize]);
            let needed: BTreeSet<RepairId> = modes.filter(|info| !info.harmless).map(|info| info.repair).collect();
            *sums.entry(needed.into_iter().collect()).or_default() += weighed.probability;
        }
        descending(sums.into_iter().collect())
    }
}

fn descending<T: Ord>(mut items: Vec<(T, f64)>) -> Vec<(T, f64)> {
    items.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    items
}
