//! What tests can tell apart, on a machine as the sheet has it.

use std::collections::BTreeMap;

use halfsplit_machine::{Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

use super::jobs::names;

/// What a test shows, as far as it can be told from what it shows otherwise.
pub(crate) fn apart(a: &Prediction, b: &Prediction) -> bool {
    match (a, b) {
        (Prediction::Words(p), Prediction::Words(q)) => {
            // Half the sum of differences: how much better than guessing one look can be.
            0.5 * p.iter().zip(q).map(|(x, y)| (x - y).abs()).sum::<f64>() > 0.5
        }
        (
            Prediction::Number { centre: a, noise: na, common: ca, over: oa },
            Prediction::Number { centre: b, noise: nb, common: cb, over: ob },
        ) => {
            let sd = libm::sqrt(na * na + ca * ca + nb * nb + cb * cb);
            let both_in_range = *oa < 0.5 && *ob < 0.5;
            (oa - ob).abs() > 0.5 || (both_in_range && (a - b).abs() > 2.0 * sd)
        }
        _ => false,
    }
}

/// What all tests show of a machine with these modes.
pub(crate) fn shows(plant: &Plant, visit: &Visit, modes: &[ModeIx]) -> Vec<Prediction> {
    let mut params = plant.machine.sound();
    for m in modes {
        plant.machine.apply(*m, &mut params);
    }
    let operation = plant.operate(&params, visit);
    plant.machine.tests.iter().map(|t| plant.predict(&params, &operation, t)).collect()
}

/// Names that need not or cannot be told apart, and names that no test can see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Groups {
    /// Names with the same repair, or that no test on offer tells apart, each group in the order of the machine.
    pub groups: Vec<Vec<String>>,
    /// Names that no test on offer tells from a sound machine, in their strongest degree.
    pub unseen: Vec<String>,
}

/// Sorts the names of a machine into groups. `offered`: which tests count, by index.
pub fn groups(plant: &Plant, visit: &Visit, offered: &[bool]) -> Groups {
    let m: &Machine = &plant.machine;
    let names = names(m);
    let strongest: Vec<ModeIx> =
        names.iter().map(|n| ModeIx(m.modes.iter().rposition(|x| x.name_id == **n).unwrap_or(0))).collect();
    let sound = shows(plant, visit, &[]);
    let shown: Vec<Vec<Prediction>> = strongest.iter().map(|x| shows(plant, visit, &[*x])).collect();
    let told = |a: &[Prediction], b: &[Prediction]| a.iter().zip(b).zip(offered).any(|((x, y), on)| *on && apart(x, y));
    let mut root: Vec<usize> = (0..names.len()).collect();
    for a in 0..names.len() {
        for b in 0..a {
            let same_repair = m.modes[strongest[a].0].repair_group == m.modes[strongest[b].0].repair_group;
            if root[a] != root[b] && (same_repair || !told(&shown[a], &shown[b])) {
                let (from, to) = (root[a].max(root[b]), root[a].min(root[b]));
                root.iter_mut().filter(|r| **r == from).for_each(|r| *r = to);
            }
        }
    }
    let mut groups: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for (name, r) in names.iter().zip(&root) {
        groups.entry(*r).or_default().push((*name).to_owned());
    }
    let unseen = names.iter().zip(&shown).filter(|(_, s)| !told(s, &sound)).map(|(n, _)| (*n).to_owned()).collect();
    Groups { groups: groups.into_values().collect(), unseen }
}
