//! Exact posteriors of many independent causes behind noisy-OR gates, any number of them at once.
//!
//! The [`Reasoner`](crate::Reasoner) takes predictions of any kind and at most a few faults
//! together. This module is its counterpart: binary findings only, but any number of simultaneous
//! faults, so that what is lost by truncating can be measured, and a large network of simple
//! symptoms can be read exactly.
//!
//! Faults (independent roots) cause mechanisms, mechanisms cause observations, each through a
//! noisy-OR gate: the child stays off if every active parent fails to set it off, and the leak too.
//!
//! # Method
//!
//! A gate with parents `x` is `P(off) = (1−leak)·Π cᵢ^xᵢ` and `P(on) = 1 − P(off)`: a sum of two
//! products. With a helper variable that picks the product, every gate falls apart into factors of
//! two variables (Díez & Galán 2003; Heckerman's quickscore of 1989 is the special case without
//! mechanisms). Only gates above the findings matter. Variables are summed out in a greedy order
//! (fewest neighbours first); all posteriors follow from one backward pass, as derivatives of the
//! probability of the findings with respect to the priors (Darwiche 2003), without a division.

/// A noisy-OR gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Gate {
    /// Probability of being on with no parent active (0 to 1).
    pub leak: f64,
    /// Parents with the probability that each, when active, sets the gate off by itself (0 to 1).
    pub parents: Vec<(usize, f64)>,
}

/// A network of faults, mechanisms and observations.
#[derive(Clone, Debug, PartialEq)]
pub struct NoisyOr {
    /// Prior probability of each fault.
    pub faults: Vec<f64>,
    /// Mechanisms; parents are faults.
    pub mechanisms: Vec<Gate>,
    /// Observations; parents are mechanisms.
    pub observations: Vec<Gate>,
}

impl NoisyOr {
    /// Posterior probability of every fault, given which observations were found on or off.
    ///
    /// Time and memory grow with the width of the part of the network above the findings, as for
    /// any exact method. Returns `None` if the findings are impossible.
    ///
    /// # Panics
    /// If a finding or a parent does not exist.
    pub fn posteriors(&self, findings: &[(usize, bool)]) -> Option<Vec<f64>> {
        let mut build = Build::default();
        let mut mechanism = vec![None; self.mechanisms.len()];
        let mut fault = vec![None; self.faults.len()];
        let mut priors = vec![usize::MAX; self.faults.len()];
        for &(observation, on) in findings {
            let gate = &self.observations[observation];
            let parents: Vec<(usize, f64)> =
                gate.parents.iter().map(|&(m, p)| (*mechanism[m].get_or_insert_with(|| build.variable()), p)).collect();
            build.finding(gate.leak, &parents, on);
        }
        for (m, gate) in self.mechanisms.iter().enumerate() {
            let Some(child) = mechanism[m] else { continue };
            let mut parents = Vec::with_capacity(gate.parents.len());
            for &(f, p) in &gate.parents {
                let variable = *fault[f].get_or_insert_with(|| build.variable());
                if priors[f] == usize::MAX {
                    let prior = self.faults[f];
                    priors[f] = build.factor(vec![variable], vec![1.0 - prior, prior]);
                }
                parents.push((variable, p));
            }
            build.gate(gate.leak, &parents, child);
        }
        let (probability, slopes) = build.solve();
        if probability <= 0.0 {
            return None;
        }
        let posterior = |f: usize| match priors[f] {
            usize::MAX => self.faults[f],
            factor => (self.faults[f] * slopes[factor][1] / probability).clamp(0.0, 1.0),
        };
        Some((0..self.faults.len()).map(posterior).collect())
    }
}

/// A table over binary variables; the first variable is the lowest bit of the index.
struct Factor {
    scope: Vec<usize>,
    table: Vec<f64>,
}

#[derive(Default)]
struct Build {
    variables: usize,
    factors: Vec<Factor>,
}

impl Build {
    fn variable(&mut self) -> usize {
        self.variables += 1;
        self.variables - 1
    }

    fn factor(&mut self, scope: Vec<usize>, table: Vec<f64>) -> usize {
        self.factors.push(Factor { scope, table });
        self.factors.len() - 1
    }

    fn finding(&mut self, leak: f64, parents: &[(usize, f64)], on: bool) {
        if on {
            // 1 − (1−leak)·Π: the helper picks the one or the other.
            let helper = self.variable();
            self.factor(vec![helper], vec![1.0, leak - 1.0]);
            self.product(helper, parents);
        } else {
            for (i, &(parent, p)) in parents.iter().enumerate() {
                let scale = if i == 0 { 1.0 - leak } else { 1.0 };
                self.factor(vec![parent], vec![scale, scale * (1.0 - p)]);
            }
        }
    }

    fn gate(&mut self, leak: f64, parents: &[(usize, f64)], child: usize) {
        let helper = self.variable();
        // Rows: child off, child on; columns: helper picks one, helper picks the product.
        self.factor(vec![child, helper], vec![0.0, 1.0, 1.0 - leak, leak - 1.0]);
        self.product(helper, parents);
    }

    fn product(&mut self, helper: usize, parents: &[(usize, f64)]) {
        for &(parent, p) in parents {
            self.factor(vec![parent, helper], vec![1.0, 1.0, 1.0, 1.0 - p]);
        }
    }

    /// Fewest neighbours first; neighbours of what is summed out become neighbours of each other.
    fn order(&self) -> Vec<usize> {
        let words = self.variables.div_ceil(64);
        let mut near = vec![vec![0_u64; words]; self.variables];
        for factor in &self.factors {
            for &a in &factor.scope {
                for &b in &factor.scope {
                    if a != b {
                        near[a][b / 64] |= 1 << (b % 64);
                    }
                }
            }
        }
        let size = |bits: &[u64]| bits.iter().map(|w| w.count_ones()).sum::<u32>();
        let mut degrees: Vec<u32> = near.iter().map(|n| size(n)).collect();
        let mut left: Vec<usize> = (0..self.variables).collect();
        let mut order = Vec::with_capacity(self.variables);
        while !left.is_empty() {
            let mut place = 0;
            for i in 1..left.len() {
                if degrees[left[i]] < degrees[left[place]] {
                    place = i;
                }
            }
            let next = left.swap_remove(place);
            order.push(next);
            let around = std::mem::take(&mut near[next]);
            for (word, bits) in around.iter().enumerate() {
                let mut rest = *bits;
                while rest != 0 {
                    let v = word * 64 + rest.trailing_zeros() as usize;
                    rest &= rest - 1;
                    for (mine, theirs) in near[v].iter_mut().zip(&around) {
                        *mine |= theirs;
                    }
                    near[v][next / 64] &= !(1 << (next % 64));
                    near[v][v / 64] &= !(1 << (v % 64));
                    degrees[v] = size(&near[v]);
                }
            }
        }
        order
    }

    /// The sum over all variables of the product of all factors, and its derivative with respect
    /// to every entry of every factor.
    fn solve(mut self) -> (f64, Vec<Vec<f64>>) {
        let given = self.factors.len();
        let order = self.order();
        let mut turn = vec![0; self.variables];
        for (i, &v) in order.iter().enumerate() {
            turn[v] = i;
        }
        let mut buckets: Vec<Vec<usize>> = vec![Vec::new(); order.len()];
        let mut total = 1.0;
        let first = |scope: &[usize]| scope.iter().map(|&v| turn[v]).min();
        for (f, factor) in self.factors.iter().enumerate() {
            match first(&factor.scope) {
                Some(t) => buckets[t].push(f),
                None => total *= factor.table[0],
            }
        }
        let mut steps: Vec<Step> = Vec::with_capacity(order.len());
        let mut roots: Vec<usize> = Vec::new();
        for (t, &v) in order.iter().enumerate() {
            let step = Step::new(v, std::mem::take(&mut buckets[t]), &self.factors);
            let message = step.summed();
            let scope = step.scope[1..].to_vec();
            let made = self.factor(scope, message);
            match first(&self.factors[made].scope) {
                Some(t) => buckets[t].push(made),
                None => {
                    total *= self.factors[made].table[0];
                    roots.push(made);
                }
            }
            steps.push(step);
        }
        let mut slopes: Vec<Vec<f64>> = self.factors.iter().map(|f| vec![0.0; f.table.len()]).collect();
        // Separate parts of the network multiply.
        for &root in &roots {
            slopes[root][0] =
                roots.iter().filter(|&&other| other != root).map(|&other| self.factors[other].table[0]).product();
        }
        for (t, step) in steps.iter().enumerate().rev() {
            step.back(&self.factors, given + t, &mut slopes);
        }
        slopes.truncate(given);
        (total, slopes)
    }
}

/// One variable summed out of the product of the factors in its bucket.
struct Step {
    /// The variable, then its neighbours.
    scope: Vec<usize>,
    factors: Vec<usize>,
    /// For each factor, the place of each of its variables in the scope.
    places: Vec<Vec<usize>>,
    /// Products of the first 1, 2, … factors.
    products: Vec<Vec<f64>>,
}

impl Step {
    fn new(variable: usize, bucket: Vec<usize>, factors: &[Factor]) -> Step {
        let mut scope = vec![variable];
        for &f in &bucket {
            for &v in &factors[f].scope {
                if !scope.contains(&v) {
                    scope.push(v);
                }
            }
        }
        let places: Vec<Vec<usize>> = bucket
            .iter()
            .map(|&f| {
                let place = |v: &usize| scope.iter().position(|s| s == v).unwrap_or(0);
                factors[f].scope.iter().map(place).collect()
            })
            .collect();
        let mut products: Vec<Vec<f64>> = Vec::with_capacity(bucket.len());
        for (k, &f) in bucket.iter().enumerate() {
            let table = &factors[f].table;
            let product = (0..1 << scope.len())
                .map(|i| {
                    let before = if k == 0 { 1.0 } else { products[k - 1][i] };
                    before * table[project(i, &places[k])]
                })
                .collect();
            products.push(product);
        }
        Step { scope, factors: bucket, places, products }
    }

    fn summed(&self) -> Vec<f64> {
        match self.products.last() {
            Some(product) => product.chunks_exact(2).map(|p| p[0] + p[1]).collect(),
            // A variable that nothing mentions has two values.
            None => vec![2.0],
        }
    }

    /// From the derivative by the message to the derivatives by the factors.
    fn back(&self, factors: &[Factor], message: usize, slopes: &mut [Vec<f64>]) {
        let mut by_product: Vec<f64> = slopes[message].iter().flat_map(|&s| [s, s]).collect();
        for k in (0..self.factors.len()).rev() {
            let f = self.factors[k];
            for (i, by) in by_product.iter_mut().enumerate() {
                let entry = project(i, &self.places[k]);
                let before = if k == 0 { 1.0 } else { self.products[k - 1][i] };
                slopes[f][entry] += *by * before;
                *by *= factors[f].table[entry];
            }
        }
    }
}

fn project(index: usize, places: &[usize]) -> usize {
    places.iter().enumerate().fold(0, |entry, (bit, place)| entry | (index >> place & 1) << bit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn enumerate(network: &NoisyOr, findings: &[(usize, bool)]) -> Vec<f64> {
        let (n, m) = (network.faults.len(), network.mechanisms.len());
        let off = |gate: &Gate, active: usize| {
            gate.parents
                .iter()
                .filter(|(parent, _)| active >> parent & 1 == 1)
                .fold(1.0 - gate.leak, |off, (_, p)| off * (1.0 - p))
        };
        let choose = |on: bool, off: f64| if on { 1.0 - off } else { off };
        let mut sums = vec![0.0; n];
        let mut total = 0.0;
        for faults in 0..1_usize << n {
            for mechanisms in 0..1_usize << m {
                let mut p = 1.0;
                for (i, prior) in network.faults.iter().enumerate() {
                    p *= choose(faults >> i & 1 == 1, 1.0 - prior);
                }
                for (i, gate) in network.mechanisms.iter().enumerate() {
                    p *= choose(mechanisms >> i & 1 == 1, off(gate, faults));
                }
                for &(o, on) in findings {
                    p *= choose(on, off(&network.observations[o], mechanisms));
                }
                total += p;
                for (i, sum) in sums.iter_mut().enumerate() {
                    *sum += if faults >> i & 1 == 1 { p } else { 0.0 };
                }
            }
        }
        sums.iter().map(|s| s / total).collect()
    }

    fn small() -> NoisyOr {
        let gate = |leak, parents: &[(usize, f64)]| Gate { leak, parents: parents.to_vec() };
        NoisyOr {
            faults: vec![0.1, 0.05, 0.2, 0.01],
            mechanisms: vec![
                gate(0.01, &[(0, 0.8), (1, 0.6)]),
                gate(0.02, &[(1, 0.7), (2, 0.9)]),
                gate(0.0, &[(2, 0.5), (3, 0.95)]),
            ],
            observations: vec![
                gate(0.05, &[(0, 0.9), (1, 0.3)]),
                gate(0.01, &[(1, 0.8), (2, 0.6)]),
                gate(0.02, &[(2, 0.9)]),
                gate(0.02, &[(0, 0.4), (2, 0.9)]),
            ],
        }
    }

    #[test]
    fn equals_enumeration() {
        let network = small();
        for findings in [
            &[][..],
            &[(0, true)],
            &[(0, true), (1, false)],
            &[(0, false), (1, true), (2, true)],
            &[(0, true), (1, true), (2, false), (3, true)],
        ] {
            let got = network.posteriors(findings).expect("possible");
            for (a, b) in got.iter().zip(enumerate(&network, findings)) {
                assert!((a - b).abs() < 1e-12, "{findings:?}: {a} {b}");
            }
        }
    }

    #[test]
    fn impossible_findings_have_no_posterior() {
        let mut network = small();
        network.observations[2].leak = 0.0;
        network.mechanisms[2].parents.clear();
        assert_eq!(network.posteriors(&[(2, true)]), None);
    }
}
