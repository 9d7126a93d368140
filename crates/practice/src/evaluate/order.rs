//! A fixed order of tests for a complaint and a message, made greedily: the next is what tells most per minute apart of what the
//! ones before it leave.

use std::collections::BTreeMap;

use halfsplit_diagnosis::Case;
use halfsplit_machine::{Conditions, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

use super::telling::{apart, shows};
use crate::run::faults_among;

/// Hypotheses that an order is optimised on: the likeliest after the opening evidence.
const HYPOTHESES: usize = 80;
/// Longest order.
const LONGEST: usize = 40;

/// The order for a case with nothing but its opening evidence: each time the test that takes most uncertainty about
/// what is needed per minute, given all tests before it, whatever they show, and what they left open.
pub(crate) fn fixed_order(case: &Case, plant: &Plant, stated: Conditions) -> Vec<usize> {
    let visit = Visit { conditions: stated, reset: false };
    let mut likely: Vec<_> = case.posterior().hypotheses.iter().collect();
    likely.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    likely.truncate(HYPOTHESES);
    let modes = &plant.machine.modes;
    let mut shown: Vec<Vec<Prediction>> = Vec::new();
    let mut needs: Vec<Vec<&str>> = Vec::new();
    let mut weights: Vec<f64> = Vec::new();
    for w in &likely {
        let these: Vec<ModeIx> = w.hypothesis.modes().iter().map(|m| ModeIx(m.0 as usize)).collect();
        let mut need: Vec<&str> = faults_among(modes, w).map(|x| x.repair_group.as_str()).collect();
        need.sort_unstable();
        need.dedup();
        shown.push(shows(plant, &visit, &these));
        needs.push(need);
        weights.push(w.probability);
    }
    let tests = plant.machine.tests.len();
    // For each test, which of its outcomes each hypothesis leads to.
    let outcomes: Vec<Vec<u32>> = (0..tests).map(|t| classes(&shown, t)).collect();
    let needs: Vec<u32> = number(&needs);
    let offered: Vec<bool> = (0..tests).map(|t| case.offered(t)).collect();
    let mut order: Vec<usize> = Vec::new();
    let mut cell: Vec<u32> = vec![0; weights.len()];
    let mut left = uncertainty(&cell, &needs, &weights);
    while order.len() < LONGEST && left > 1e-3 {
        let minutes = case.minutes_after(&order);
        let best = (0..tests)
            .filter(|t| offered[*t] && !order.contains(t))
            .map(|t| (t, uncertainty(&refine(&cell, &outcomes[t]), &needs, &weights)))
            .filter(|(_, after)| left - after > 1e-6)
            .max_by(|a, b| {
                let rate = |(t, after): &(usize, f64)| (left - after) / minutes[*t].max(0.1);
                rate(a).total_cmp(&rate(b)).then(b.0.cmp(&a.0))
            });
        let Some((t, after)) = best else { break };
        cell = refine(&cell, &outcomes[t]);
        left = after;
        order.push(t);
    }
    order
}

fn number<K: Ord>(keys: &[K]) -> Vec<u32> {
    let mut known: BTreeMap<&K, u32> = BTreeMap::new();
    keys.iter()
        .map(|k| {
            let next = known.len() as u32;
            *known.entry(k).or_insert(next)
        })
        .collect()
}

/// Hypotheses whose prediction cannot be told from that of an earlier one share its class.
fn classes(shown: &[Vec<Prediction>], test: usize) -> Vec<u32> {
    let mut first: Vec<usize> = Vec::new();
    shown
        .iter()
        .enumerate()
        .map(|(h, s)| match first.iter().position(|f| !apart(&shown[*f][test], &s[test])) {
            Some(class) => class as u32,
            None => {
                first.push(h);
                first.len() as u32 - 1
            }
        })
        .collect()
}

fn refine(cell: &[u32], by: &[u32]) -> Vec<u32> {
    number(&cell.iter().zip(by).collect::<Vec<_>>())
}

/// Expected uncertainty (nats) about what is needed, once the cell is known.
fn uncertainty(cell: &[u32], needs: &[u32], weights: &[f64]) -> f64 {
    let mut of_both: BTreeMap<(u32, u32), f64> = BTreeMap::new();
    let mut of_cell: BTreeMap<u32, f64> = BTreeMap::new();
    for ((c, n), w) in cell.iter().zip(needs).zip(weights) {
        *of_both.entry((*c, *n)).or_insert(0.0) += w;
        *of_cell.entry(*c).or_insert(0.0) += w;
    }
    of_both.iter().filter(|(_, w)| **w > 0.0).map(|((c, _), w)| -w * libm::log(w / of_cell[c])).sum()
}
