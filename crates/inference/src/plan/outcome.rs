//! What a test can show, sorted into few outcomes.
//!
//! Categories are outcomes as they are. A number is sorted into bins whose edges lie between the
//! hypotheses: the mean centres of the shortlisted hypotheses, in order, are first drawn together
//! where they are closer than a quarter of their spread, then neighbours are merged, the cheapest
//! first, until few enough are left. The price of a merger is the separation it gives up, in
//! standard deviations, weighed by the lesser probability of the two (Ward's criterion). An edge
//! lies between two neighbours in proportion to their spreads. Beyond either end of the
//! instrument's range is an outcome of its own when anything expects it.

use crate::normal::Table;
use crate::prediction::{NumberPrediction, Prediction};
use crate::problem::{Broad, Observed, QueryKind};

/// One outcome of a test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// A number from the first (negative infinity: from the lowest) up to the second.
    Range(f64, f64),
    /// Beyond the high end of the instrument's range.
    Over,
    /// Beyond the low end of the instrument's range.
    Under,
    /// This category.
    Category(usize),
}

impl Outcome {
    /// A reading that says just this much.
    pub fn as_observed(&self) -> Observed {
        match *self {
            Outcome::Range(low, high) if low == f64::NEG_INFINITY => Observed::AtMost(high),
            Outcome::Range(low, high) if high == f64::INFINITY => Observed::AtLeast(low),
            Outcome::Range(low, high) => Observed::Between(low, high),
            Outcome::Over => Observed::Over,
            Outcome::Under => Observed::Under,
            Outcome::Category(i) => Observed::Category(i),
        }
    }
}

/// A group of hypotheses that expect about the same number.
#[derive(Clone, Copy)]
pub(super) struct Cluster {
    pub weight: f64,
    pub centre: f64,
    pub sd: f64,
}

impl Cluster {
    fn merged(self, other: Cluster) -> Cluster {
        let weight = self.weight + other.weight;
        let (a, b) = (self.weight / weight, other.weight / weight);
        Cluster { weight, centre: a * self.centre + b * other.centre, sd: a * self.sd + b * other.sd }
    }

    fn separation(self, other: Cluster) -> f64 {
        (other.centre - self.centre).abs() / (0.5 * (self.sd + other.sd))
    }

    fn price(self, other: Cluster) -> f64 {
        let apart = self.separation(other).min(6.0);
        self.weight * other.weight / (self.weight + other.weight) * apart * apart
    }
}

/// Edges between the clusters, ascending, at most `bins − 1`.
pub(super) fn edges(mut clusters: Vec<Cluster>, bins: usize) -> Vec<f64> {
    clusters.retain(|c| c.weight > 0.0);
    clusters.sort_unstable_by(|a, b| {
        a.centre.total_cmp(&b.centre).then(a.weight.total_cmp(&b.weight)).then(a.sd.total_cmp(&b.sd))
    });
    let mut kept: Vec<Cluster> = Vec::with_capacity(clusters.len());
    for cluster in clusters {
        match kept.last_mut() {
            Some(last) if last.separation(cluster) < 0.25 => *last = last.merged(cluster),
            _ => kept.push(cluster),
        }
    }
    while kept.len() > bins.max(1) {
        let cheapest = (0..kept.len() - 1)
            .min_by(|&i, &j| {
                let price = |i: usize| kept[i].price(kept[i + 1]);
                price(i).total_cmp(&price(j))
            })
            .unwrap_or(0);
        kept[cheapest] = kept[cheapest].merged(kept[cheapest + 1]);
        kept.remove(cheapest + 1);
    }
    kept.windows(2).map(|w| (w[0].centre * w[1].sd + w[1].centre * w[0].sd) / (w[0].sd + w[1].sd)).collect()
}

/// The outcomes of one query.
pub(super) struct Outcomes {
    pub list: Vec<Outcome>,
    edges: Vec<f64>,
    under: Option<usize>,
    over: Option<usize>,
    /// Probability of each outcome in the broad distribution.
    pub broad: Vec<f64>,
    /// And in a slip.
    slipped: Vec<f64>,
}

impl Outcomes {
    pub(super) fn categories(kind: &QueryKind) -> Outcomes {
        let broad = Prediction::broad_categories(kind);
        Outcomes {
            list: (0..broad.len()).map(Outcome::Category).collect(),
            edges: Vec::new(),
            under: None,
            over: None,
            slipped: broad.clone(),
            broad,
        }
    }

    /// Numbers: `beyond` says whether anything expects to be under or over the range.
    pub(super) fn numbers(kind: &QueryKind, table: &Table, edges: Vec<f64>, beyond: (bool, bool)) -> Outcomes {
        let (low, high) = (kind.low_limit.unwrap_or(f64::NEG_INFINITY), kind.high_limit.unwrap_or(f64::INFINITY));
        let edges: Vec<f64> = edges.into_iter().filter(|&e| e > low && e < high).collect();
        let mut list: Vec<Outcome> = Vec::with_capacity(edges.len() + 3);
        let mut from = f64::NEG_INFINITY;
        for &edge in &edges {
            list.push(Outcome::Range(from, edge));
            from = edge;
        }
        list.push(Outcome::Range(from, f64::INFINITY));
        let mut place = |wanted: bool, outcome: Outcome| {
            wanted.then(|| {
                list.push(outcome);
                list.len() - 1
            })
        };
        let under = place(beyond.0 || kind.low_limit.is_some(), Outcome::Under);
        let over = place(beyond.1 || kind.high_limit.is_some(), Outcome::Over);
        let mut outcomes = Outcomes { list, edges, under, over, broad: Vec::new(), slipped: Vec::new() };
        outcomes.broad = outcomes.broad_numbers(kind);
        outcomes.slipped = outcomes.broad.clone();
        if let Some(to) = kind.slips_to {
            outcomes.slipped.iter_mut().for_each(|p| *p *= 1.0 - to.share);
            let mut there = vec![0.0; outcomes.list.len()];
            outcomes.add_number(kind, table, (to.share, to.at, to.sd), &mut there);
            outcomes.slipped.iter_mut().zip(there).for_each(|(p, there)| *p += there);
        }
        outcomes
    }

    fn broad_numbers(&self, kind: &QueryKind) -> Vec<f64> {
        let Broad::Number { low, high, p_over, p_under } = kind.broad else {
            return vec![0.0; self.list.len()];
        };
        let mut p = vec![0.0; self.list.len()];
        let in_range = (1.0 - p_over - p_under).max(0.0);
        let width = (high - low).max(f64::MIN_POSITIVE);
        let mut before = 0.0;
        for (i, edge) in self.edges.iter().enumerate() {
            let upto = ((edge - low) / width).clamp(0.0, 1.0);
            p[i] = in_range * (upto - before);
            before = upto;
        }
        let last = self.edges.len();
        p[last] = in_range * (1.0 - before);
        p[self.over.unwrap_or(last)] += p_over;
        p[self.under.unwrap_or(0)] += p_under;
        p
    }

    /// Adds `weight` times the probability of each outcome, for a number in range expected about
    /// `centre`.
    fn add_number(&self, kind: &QueryKind, table: &Table, (weight, centre, sd): (f64, f64, f64), p: &mut [f64]) {
        let below = |x: f64| table.below((x - centre) / sd);
        let mut before = 0.0;
        if let (Some(i), Some(limit)) = (self.under, kind.low_limit) {
            before = below(limit);
            p[i] += weight * before;
        }
        for (i, &edge) in self.edges.iter().enumerate() {
            let upto = below(edge);
            p[i] += weight * (upto - before);
            before = upto;
        }
        let last = self.edges.len();
        match (self.over, kind.high_limit) {
            (Some(i), Some(limit)) => {
                let upto = below(limit);
                p[last] += weight * (upto - before);
                p[i] += weight * (1.0 - upto);
            }
            _ => p[last] += weight * (1.0 - before),
        }
    }

    fn add_atoms(&self, over: f64, under: f64, p: &mut [f64]) {
        p[self.over.unwrap_or(self.edges.len())] += over;
        p[self.under.unwrap_or(0)] += under;
    }

    /// Probability of each outcome for a first reading; slips included.
    pub(super) fn first(&self, kind: &QueryKind, table: &Table, prediction: &Prediction, p: &mut [f64]) {
        p.fill(0.0);
        match prediction {
            Prediction::Categories(q) => {
                let n = q.len().min(p.len());
                p[..n].copy_from_slice(&q[..n]);
            }
            Prediction::Number(n) => {
                self.add_number(kind, table, (n.in_range(), n.centre, n.total_sd()), p);
                self.add_atoms(n.over, n.under, p);
            }
        }
        self.slip(kind, p);
    }

    /// Probability of each outcome for a number expected from a mixture; slips included.
    /// `atoms` are the probabilities of in range, over and under, given earlier readings.
    pub(super) fn repeat(
        &self,
        kind: &QueryKind,
        table: &Table,
        mixture: &[crate::likelihood::Component],
        atoms: (f64, f64, f64),
        p: &mut [f64],
    ) {
        p.fill(0.0);
        for c in mixture {
            self.add_number(kind, table, (atoms.0 * c.weight, c.centre, c.sd), p);
        }
        self.add_atoms(atoms.1, atoms.2, p);
        self.slip(kind, p);
    }

    fn slip(&self, kind: &QueryKind, p: &mut [f64]) {
        for (p, b) in p.iter_mut().zip(&self.slipped) {
            *p = (1.0 - kind.slip) * *p + kind.slip * b;
        }
    }
}

/// Whether a prediction expects to lie under or over the range.
pub(super) fn expects_beyond(n: &NumberPrediction) -> (bool, bool) {
    (n.under > 0.0, n.over > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cluster(weight: f64, centre: f64) -> Cluster {
        Cluster { weight, centre, sd: 1.0 }
    }

    #[test]
    fn edges_fall_into_the_widest_gaps_that_matter() {
        let edges = edges(vec![cluster(0.4, 0.0), cluster(0.1, 0.1), cluster(0.3, 10.0), cluster(0.2, 12.0)], 2);
        assert_eq!(edges.len(), 1);
        assert!(edges[0] > 4.0 && edges[0] < 7.0, "{edges:?}");
    }

    #[test]
    fn probabilities_of_the_outcomes_sum_to_one() {
        let mut kind = QueryKind::number(0.0, 10.0, 0.1);
        kind.high_limit = Some(9.0);
        let outcomes = Outcomes::numbers(&kind, &Table::new(), vec![2.0, 5.0], (true, true));
        let prediction =
            Prediction::Number(NumberPrediction { centre: 8.5, noise: 0.5, common: 0.5, over: 0.1, under: 0.05 });
        let mut p = vec![0.0; outcomes.list.len()];
        outcomes.first(&kind, &Table::new(), &prediction, &mut p);
        assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert_eq!(outcomes.list.len(), 5);
    }
}
