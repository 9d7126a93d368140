//! How the machine is built, where its sheet leaves that open: odds of each way, and of whatever is wrong under each.
//!
//! A way of building is a mode of standing as built. It stands beside every set of faults that is thought of, and what a
//! fault is worth is worked out under it: a cut-off that darkens the display makes somebody call for another reason than
//! one that leaves it lit. So a job on such a sheet is the jobs on the plain sheets, weighed by the ways' shares and by how
//! well each of them foretells what was read.

use std::collections::BTreeMap;

use halfsplit_machine::{Machine, ModeIx};

use crate::priors::Priors;

/// The ways of building, but for the machine as drawn.
pub(crate) struct Built {
    /// Whether a mode is a way of building, by index.
    pub made: Vec<bool>,
    sets: BTreeMap<Vec<usize>, Way>,
}

/// One way of building the machine.
pub(crate) struct Way {
    /// Its odds against the machine as drawn.
    pub odds: f64,
    /// What the faults are worth under it.
    pub priors: Priors,
}

impl Built {
    /// `priors_of` gives what the faults are worth on a machine with these modes.
    pub(crate) fn new(m: &Machine, mut priors_of: impl FnMut(&[usize]) -> Priors) -> Built {
        let odds = |i: usize| m.built_odds(ModeIx(i));
        let made: Vec<bool> = (0..m.modes.len()).map(|i| odds(i).is_some()).collect();
        let mut sets: Vec<(Vec<usize>, f64)> = vec![(Vec::new(), 1.0)];
        for (part, _) in m.unsure() {
            let ways = (0..m.modes.len()).filter(|i| m.modes[*i].part == part).filter_map(|i| Some((i, odds(i)?)));
            let mut more = Vec::new();
            for (way, odds) in ways {
                more.extend(sets.iter().map(|(set, o)| ([&set[..], &[way]].concat(), o * odds)));
            }
            sets.extend(more);
        }
        let sets = sets.into_iter().skip(1).map(|(mut set, odds)| {
            set.sort_unstable();
            let priors = priors_of(&set);
            (set, Way { odds, priors })
        });
        Built { sets: sets.collect(), made }
    }

    /// Whether a mode is a way of building.
    pub(crate) fn made(&self, mode: usize) -> bool {
        self.made[mode]
    }

    /// The ways but the one as drawn, each with its modes.
    pub(crate) fn ways(&self) -> impl Iterator<Item = (&[usize], &Way)> {
        self.sets.iter().map(|(set, way)| (set.as_slice(), way))
    }

    /// The way of building among some modes, and the faults.
    pub(crate) fn apart(&self, modes: &[usize]) -> (Option<&Way>, Vec<usize>) {
        let (made, faults): (Vec<usize>, Vec<usize>) = modes.iter().partition(|m| self.made[**m]);
        (self.sets.get(&made), faults)
    }
}
