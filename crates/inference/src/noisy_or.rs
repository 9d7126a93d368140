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
        let mut priors = vec![NONE; self.faults.len()];
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
                if priors[f] == NONE {
                    let prior = self.faults[f];
                    priors[f] = build.factor(&[variable], &[1.0 - prior, prior]);
                }
                parents.push((variable, p));
            }
            build.gate(gate.leak, &parents, child);
        }
        // Where the table of each prior says "present".
        for prior in priors.iter_mut().filter(|p| **p != NONE) {
            *prior = build.factors[*prior].table.0 + 1;
        }
        let (probability, slopes) = build.solve();
        if probability <= 0.0 {
            return None;
        }
        let posterior = |f: usize| match priors[f] {
            NONE => self.faults[f],
            present => (self.faults[f] * slopes[present] / probability).clamp(0.0, 1.0),
        };
        Some((0..self.faults.len()).map(posterior).collect())
    }
}

/// Where the scope and the table of a factor stand: from here to there.
#[derive(Clone, Copy)]
struct Place {
    scope: (usize, usize),
    table: (usize, usize),
}

/// Factors over binary variables. Their scopes and tables stand end to end: there are hundreds of small ones, and making
/// room for each would take longer than to sum them. The first variable of a scope is the lowest bit of a table's index.
#[derive(Default)]
struct Build {
    variables: usize,
    scopes: Vec<usize>,
    tables: Vec<f64>,
    factors: Vec<Place>,
}

/// No factor.
const NONE: usize = usize::MAX;

impl Build {
    fn variable(&mut self) -> usize {
        self.variables += 1;
        self.variables - 1
    }

    fn factor(&mut self, scope: &[usize], table: &[f64]) -> usize {
        let from = (self.scopes.len(), self.tables.len());
        self.scopes.extend_from_slice(scope);
        self.tables.extend_from_slice(table);
        self.factors.push(Place { scope: (from.0, self.scopes.len()), table: (from.1, self.tables.len()) });
        self.factors.len() - 1
    }

    fn scope(&self, factor: usize) -> &[usize] {
        let (from, to) = self.factors[factor].scope;
        &self.scopes[from..to]
    }

    fn finding(&mut self, leak: f64, parents: &[(usize, f64)], on: bool) {
        if on {
            // 1 − (1−leak)·Π: the helper picks the one or the other.
            let helper = self.variable();
            self.factor(&[helper], &[1.0, leak - 1.0]);
            self.product(helper, parents);
        } else {
            for (i, &(parent, p)) in parents.iter().enumerate() {
                let scale = if i == 0 { 1.0 - leak } else { 1.0 };
                self.factor(&[parent], &[scale, scale * (1.0 - p)]);
            }
        }
    }

    fn gate(&mut self, leak: f64, parents: &[(usize, f64)], child: usize) {
        let helper = self.variable();
        // Rows: child off, child on; columns: helper picks one, helper picks the product.
        self.factor(&[child, helper], &[0.0, 1.0, 1.0 - leak, leak - 1.0]);
        self.product(helper, parents);
    }

    fn product(&mut self, helper: usize, parents: &[(usize, f64)]) {
        for &(parent, p) in parents {
            self.factor(&[parent, helper], &[1.0, 1.0, 1.0, 1.0 - p]);
        }
    }

    /// Fewest neighbours first; neighbours of what is summed out become neighbours of each other.
    fn order(&self) -> Vec<usize> {
        let words = self.variables.div_ceil(64);
        let mut near = vec![0_u64; words * self.variables];
        for place in &self.factors {
            let scope = &self.scopes[place.scope.0..place.scope.1];
            for &a in scope {
                for &b in scope {
                    if a != b {
                        near[a * words + b / 64] |= 1 << (b % 64);
                    }
                }
            }
        }
        let size = |bits: &[u64]| bits.iter().map(|w| w.count_ones()).sum::<u32>();
        // What has been summed out has more neighbours than anything.
        const GONE: u32 = u32::MAX;
        let mut degrees: Vec<u32> = near.chunks_exact(words.max(1)).map(size).collect();
        let mut order = Vec::with_capacity(self.variables);
        let mut around = vec![0_u64; words];
        for _ in 0..self.variables {
            let fewest = degrees.iter().copied().min().unwrap_or(GONE);
            let next = degrees.iter().position(|d| *d == fewest).unwrap_or(0);
            order.push(next);
            degrees[next] = GONE;
            around.copy_from_slice(&near[next * words..(next + 1) * words]);
            for (word, bits) in around.iter().enumerate() {
                let mut rest = *bits;
                while rest != 0 {
                    let v = word * 64 + rest.trailing_zeros() as usize;
                    rest &= rest - 1;
                    let mine = &mut near[v * words..(v + 1) * words];
                    for (mine, theirs) in mine.iter_mut().zip(&around) {
                        *mine |= theirs;
                    }
                    mine[next / 64] &= !(1 << (next % 64));
                    mine[v / 64] &= !(1 << (v % 64));
                    degrees[v] = size(mine);
                }
            }
        }
        order
    }

    /// The sum over all variables of the product of all factors, and its derivative with respect
    /// to every entry of every table.
    fn solve(mut self) -> (f64, Vec<f64>) {
        let order = self.order();
        let mut turn = vec![0; self.variables];
        for (i, &v) in order.iter().enumerate() {
            turn[v] = i;
        }
        // The factors whose first variable is summed out at that turn, as a chain.
        let mut chain = vec![NONE; order.len()];
        let mut next = vec![NONE; self.factors.len() + order.len()];
        let first = |scope: &[usize]| scope.iter().map(|&v| turn[v]).min();
        for (f, place) in self.factors.iter().enumerate() {
            if let Some(t) = first(&self.scopes[place.scope.0..place.scope.1]) {
                next[f] = std::mem::replace(&mut chain[t], f);
            }
        }
        let mut total = 1.0;
        let mut roots: Vec<usize> = Vec::new();
        let mut work = Work::with_room(self.variables);
        for (t, &v) in order.iter().enumerate() {
            let chained = std::iter::successors((chain[t] != NONE).then_some(chain[t]), |&f| {
                Some(next[f]).filter(|f| *f != NONE)
            });
            let made = work.sum_out(&mut self, v, chained);
            match first(self.scope(made)) {
                Some(t) => next[made] = std::mem::replace(&mut chain[t], made),
                None => {
                    total *= self.tables[self.factors[made].table.0];
                    roots.push(made);
                }
            }
        }
        let mut slopes = vec![0.0; self.tables.len()];
        let value = |root: usize| self.factors[root].table.0;
        // Separate parts of the network multiply.
        for &root in &roots {
            let others = roots.iter().filter(|&&other| other != root);
            slopes[value(root)] = others.map(|&other| self.tables[value(other)]).product();
        }
        work.back(&self, &mut slopes);
        (total, slopes)
    }
}

/// Variables summed out one after the other, each of the product of the factors that mention it.
struct Work {
    steps: Vec<Step>,
    /// The factors of all steps.
    members: Vec<usize>,
    /// For each factor of each step, the index in its table of each entry of the product.
    entries: Vec<u32>,
    /// For each factor of each step, the product up to and with it.
    products: Vec<f64>,
    /// The scope of the step, the variable that is summed out first; where a variable stands in it; the step that put it there.
    scope: Vec<usize>,
    place: Vec<usize>,
    put_by: Vec<usize>,
    message: Vec<f64>,
}

struct Step {
    /// The first of its members, and how many.
    members: (usize, usize),
    /// Where the entries and products of the first of them begin.
    from: usize,
    /// How many entries the product has.
    size: usize,
    /// The factor that it made.
    made: usize,
}

impl Work {
    fn with_room(variables: usize) -> Work {
        Work {
            steps: Vec::with_capacity(variables),
            members: Vec::with_capacity(8 * variables),
            entries: Vec::with_capacity(64 * variables),
            products: Vec::with_capacity(64 * variables),
            scope: Vec::new(),
            place: vec![0; variables],
            put_by: vec![NONE; variables],
            message: Vec::new(),
        }
    }

    /// Sums a variable out of the product of these factors; the factor that is made.
    fn sum_out(&mut self, build: &mut Build, variable: usize, factors: impl Iterator<Item = usize>) -> usize {
        let number = self.steps.len();
        self.scope.clear();
        self.scope.push(variable);
        (self.place[variable], self.put_by[variable]) = (0, number);
        let first = self.members.len();
        for f in factors {
            self.members.push(f);
            for &v in build.scope(f) {
                if self.put_by[v] != number {
                    (self.place[v], self.put_by[v]) = (self.scope.len(), number);
                    self.scope.push(v);
                }
            }
        }
        let members = &self.members[first..];
        let size = 1_usize << self.scope.len();
        let from = self.products.len();
        self.message.clear();
        for (k, &f) in members.iter().enumerate() {
            // What each bit of the product's index adds to the index of the factor's table.
            let mut adds = [0_u32; usize::BITS as usize];
            for (bit, &v) in build.scope(f).iter().enumerate() {
                adds[self.place[v]] = 1 << bit;
            }
            let here = from + k * size;
            self.entries.push(0);
            for i in 1..size {
                let without = self.entries[here + (i & (i - 1))];
                self.entries.push(without | adds[i.trailing_zeros() as usize]);
            }
            let table = &build.tables[build.factors[f].table.0..];
            for i in 0..size {
                let before = if k == 0 { 1.0 } else { self.products[here - size + i] };
                self.products.push(before * table[self.entries[here + i] as usize]);
            }
        }
        match members.len() {
            // A variable that nothing mentions has two values.
            0 => self.message.push(2.0),
            n => {
                let product = &self.products[from + (n - 1) * size..];
                self.message.extend(product.chunks_exact(2).map(|p| p[0] + p[1]));
            }
        }
        let made = build.factor(&self.scope[1..], &self.message);
        self.steps.push(Step { members: (first, members.len()), from, size, made });
        made
    }

    /// From the derivatives by what was made to the derivatives by what it was made of, the last first.
    fn back(&self, build: &Build, slopes: &mut [f64]) {
        let mut by_product: Vec<f64> = Vec::new();
        for step in self.steps.iter().rev() {
            let (from, to) = build.factors[step.made].table;
            by_product.clear();
            by_product.extend(slopes[from..to].iter().flat_map(|&s| [s, s]));
            for k in (0..step.members.1).rev() {
                let at = build.factors[self.members[step.members.0 + k]].table.0;
                let here = step.from + k * step.size;
                for (i, by) in by_product.iter_mut().enumerate() {
                    let entry = at + self.entries[here + i] as usize;
                    let before = if k == 0 { 1.0 } else { self.products[here - step.size + i] };
                    slopes[entry] += *by * before;
                    *by *= build.tables[entry];
                }
            }
        }
    }
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
