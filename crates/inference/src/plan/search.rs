//! Looking ahead: the least expected total cost over tests, repairs and ending, to a bounded depth.
//!
//! An and/or search, deepened one step at a time. A belief can be acted on at the cost of
//! [`Acts::now`], which is what a real plan costs, or tested. Where the search stops, two figures
//! are at hand: what acting would cost, which is too much if tests are left, and what it would cost
//! if further tests told apart whatever the tests on offer can tell apart, at the best rate of gain
//! per minute on offer at the start, which is too little. If the latter is less, their mean is
//! taken. (Tried on random instances against the exhaustive optimum, the mean did better than
//! either.) With a limit of time, acting alone counts. A test is not looked into when its cost alone exceeds what knowing the truth could
//! save. Work is counted in node expansions, never in time: one test held against one belief
//! counts one for every 64 particles begun.

use crate::plan::act::{Acts, Ground};
use crate::plan::advice::{PlanSettings, Step};
use crate::plan::outlook::{Chart, Outlook};
use crate::plan::situation::bits;

/// A belief on the way: the particles that still count, with weights that are not scaled (their
/// sum is the probability of getting here).
pub(super) struct Node {
    pub(super) particles: Vec<usize>,
    pub(super) classes: Vec<usize>,
    pub(super) weights: Vec<f64>,
    used: Vec<bool>,
    repaired: Vec<bool>,
    ground: Ground,
}

/// A test held against a belief.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    pub chart: usize,
    /// Minutes from here.
    pub minutes: f64,
    /// Information, in nats times mass.
    pub gain: f64,
    /// Cost of making it and going on, weighted by mass.
    pub cost: f64,
}

impl Look {
    /// Information per minute.
    pub(super) fn rate(&self) -> f64 {
        rate(self.gain, self.minutes)
    }
}

/// Information per minute; a test takes a moment at least.
pub(super) fn rate(gain: f64, minutes: f64) -> f64 {
    gain / minutes.max(1e-6)
}

/// What a test would leave of each class, per outcome.
struct View {
    chart: usize,
    minutes: f64,
    gain: f64,
    outcomes: Vec<Vec<f64>>,
}

impl View {
    /// Information per minute.
    fn rate(&self) -> f64 {
        rate(self.gain, self.minutes)
    }
}

pub(super) struct Search<'a> {
    pub outlook: &'a Outlook,
    pub acts: Acts<'a>,
    /// Minutes for one nat at the best rate on offer at the start.
    minutes_per_nat: f64,
    budget: usize,
    pub spent: usize,
    beam: (usize, usize),
    margin: f64,
    needs: Vec<u64>,
    /// Tests that later choices are made among.
    later: Vec<usize>,
    /// Classes that all tests on offer together can hardly tell apart.
    alike: Vec<Vec<usize>>,
}

/// What a completed depth says.
pub(super) struct Found {
    pub cost: f64,
    pub step: Step,
    pub looks: Vec<Look>,
}

/// Repairs tried before further tests, per belief.
const REPAIRS_TRIED: usize = 3;

/// Tests whose cost is worked out at the first choice, by gain per minute.
const FIRST_TESTS: usize = 48;

/// Tests that later choices are made among, by gain per minute at the first.
const LATER_TESTS: usize = 24;

/// Tests whose cost is worked out at a later choice, by gain per minute there.
const FOLLOWED_TESTS: usize = 10;

/// A particle below this share of a later belief no longer counts in it.
const LEAST_PARTICLE: f64 = 1e-6;

/// Particles that one expansion covers.
const PARTICLES_PER_EXPANSION: usize = 64;

/// Outcomes less probable than this are taken as leaves.
const LEAST_OUTCOME: f64 = 1e-9;

impl<'a> Search<'a> {
    pub(super) fn new(outlook: &'a Outlook, acts: Acts<'a>, settings: &PlanSettings) -> Search<'a> {
        let needs = outlook.charts.iter().map(|c| bits(&acts.situation.tests[c.test].access)).collect();
        Search {
            outlook,
            acts,
            minutes_per_nat: f64::INFINITY,
            budget: settings.expansions,
            spent: 0,
            beam: settings.beam,
            margin: settings.margin,
            needs,
            later: Vec::new(),
            alike: alike(outlook),
        }
    }

    pub(super) fn root(&self) -> Node {
        let situation = self.acts.situation;
        Node {
            particles: (0..self.outlook.weights.len()).collect(),
            classes: self.outlook.classes.clone(),
            weights: self.outlook.weights.clone(),
            used: vec![false; self.outlook.charts.len()],
            repaired: vec![false; situation.repairs.len()],
            ground: Ground {
                open: situation.open_bits(),
                state: situation.state,
                minutes_left: situation.minutes_left.unwrap_or(f64::INFINITY),
            },
        }
    }

    /// Deepens from one step ahead to `depth`; the deepest completed answer, and its depth.
    pub(super) fn deepen(&mut self, root: &Node, depth: usize) -> (Found, usize) {
        let (act, act_step) = self.act(root);
        let looks = self.first_looks(root);
        let mut found = self.pick(act, act_step, looks);
        let mut completed = 1;
        for deeper in 2..=depth {
            match self.solve_root(root, deeper, &found.looks) {
                Some(better) => {
                    found = better;
                    completed = deeper;
                }
                None => break,
            }
        }
        (found, completed)
    }

    pub(super) fn act(&self, node: &Node) -> (f64, Step) {
        let masses = self.masses(node);
        self.acts.now(&masses, &node.repaired, &node.ground)
    }

    /// All tests, one step ahead; sets the going rate of information, and which tests later choices
    /// are made among.
    fn first_looks(&mut self, root: &Node) -> Vec<Look> {
        let charts: Vec<usize> = (0..self.outlook.charts.len()).collect();
        let views = self.views(root, &charts);
        let rate = views.iter().map(View::rate).fold(0.0, f64::max);
        if rate > 0.0 {
            self.minutes_per_nat = 1.0 / rate;
        }
        self.later = views.iter().take(LATER_TESTS).map(|v| v.chart).collect();
        self.later.sort_unstable();
        self.weigh(root, views, FIRST_TESTS)
    }

    /// What the given tests would show, most information per minute first; those that do not fit
    /// in or cannot tell anything are left out.
    fn views(&mut self, node: &Node, charts: &[usize]) -> Vec<View> {
        let before = self.masses(node);
        let mass: f64 = before.iter().sum();
        let unsure = uncertainty(&before);
        let mut views = Vec::with_capacity(charts.len());
        for &chart in charts {
            let minutes = self.minutes(node, chart);
            if node.used[chart] || minutes > node.ground.minutes_left {
                continue;
            }
            self.spent += node.weights.len().div_ceil(PARTICLES_PER_EXPANSION);
            let outcomes: Vec<Vec<f64>> =
                self.outlook.charts[chart].rows().map(|row| self.masses_after(node, row)).collect();
            let left: f64 = outcomes.iter().map(|m| uncertainty(m)).sum();
            let gain = unsure - left;
            if gain > 1e-9 * mass {
                views.push(View { chart, minutes, gain, outcomes });
            }
        }
        views.sort_by(|a, b| b.rate().total_cmp(&a.rate()).then(a.chart.cmp(&b.chart)));
        views
    }

    /// What making each test and going on would cost, cheapest first. Beyond the first `most` (by
    /// gain per minute) a test is put down as worth nothing.
    fn weigh(&self, node: &Node, views: Vec<View>, most: usize) -> Vec<Look> {
        let mass: f64 = node.weights.iter().sum();
        let act = if views.len() > most { self.act(node).0 } else { 0.0 };
        let mut looks: Vec<Look> = views
            .into_iter()
            .enumerate()
            .map(|(place, view)| {
                let after: f64 = if place < most {
                    let ground = self.ground_after(node, view.chart, view.minutes);
                    view.outcomes.iter().map(|masses| self.leaf(masses, &node.repaired, &ground)).sum()
                } else {
                    act
                };
                Look { chart: view.chart, minutes: view.minutes, gain: view.gain, cost: mass * view.minutes + after }
            })
            .collect();
        self.sort(&mut looks);
        looks
    }

    /// Cheapest first; between equals the less hazardous, then the quicker, then the first listed.
    fn sort(&self, looks: &mut [Look]) {
        let hazard = |l: &Look| self.acts.situation.tests[self.outlook.charts[l.chart].test].hazard;
        // Rounded, so that "equal" is the same relation in every comparison.
        let cost = |l: &Look| (l.cost * 1e7).round();
        looks.sort_by(|a, b| {
            cost(a)
                .total_cmp(&cost(b))
                .then(hazard(a).cmp(&hazard(b)))
                .then(a.minutes.total_cmp(&b.minutes))
                .then(a.chart.cmp(&b.chart))
        });
    }

    fn minutes(&self, node: &Node, chart: usize) -> f64 {
        self.minutes_on(&node.ground, chart)
    }

    /// Minutes of a test from here.
    pub(super) fn minutes_on(&self, ground: &Ground, chart: usize) -> f64 {
        let situation = self.acts.situation;
        let test = &situation.tests[self.outlook.charts[chart].test];
        test.minutes + situation.unpaid(self.needs[chart], ground.open) + situation.change(ground.state, test.state)
    }

    pub(super) fn ground_after(&self, node: &Node, chart: usize, minutes: f64) -> Ground {
        let test = &self.acts.situation.tests[self.outlook.charts[chart].test];
        Ground {
            open: node.ground.open | self.needs[chart],
            state: test.state.unwrap_or(node.ground.state),
            minutes_left: node.ground.minutes_left - minutes,
        }
    }

    fn masses(&self, node: &Node) -> Vec<f64> {
        self.by_class(&node.classes, &node.weights)
    }

    /// Sums of weights by class.
    pub(super) fn by_class(&self, classes: &[usize], weights: &[f64]) -> Vec<f64> {
        let mut masses = vec![0.0; self.outlook.needs.len()];
        for (&class, weight) in classes.iter().zip(weights) {
            masses[class] += weight;
        }
        masses
    }

    fn masses_after(&self, node: &Node, row: &[f64]) -> Vec<f64> {
        let mut masses = vec![0.0; self.outlook.needs.len()];
        for ((&n, &class), weight) in node.particles.iter().zip(&node.classes).zip(&node.weights) {
            masses[class] += weight * row[n];
        }
        masses
    }

    fn leaf(&self, masses: &[f64], repaired: &[bool], ground: &Ground) -> f64 {
        let (act, _) = self.acts.now(masses, repaired, ground);
        if ground.minutes_left.is_finite() {
            // There may be no time for what further tests would tell.
            return act;
        }
        let informed = self.told_apart(masses, repaired, ground);
        0.5 * (act + act.min(informed))
    }

    /// Expected cost if further tests, at the going rate, told apart all that the tests on offer can
    /// tell apart, and nothing else.
    fn told_apart(&self, masses: &[f64], repaired: &[bool], ground: &Ground) -> f64 {
        let mut cost = 0.0;
        let mut sums = Vec::with_capacity(self.alike.len());
        for group in &self.alike {
            let sum: f64 = group.iter().map(|&c| masses[c]).sum();
            sums.push(sum);
            if let [only] = group[..] {
                cost += masses[only] * self.acts.least_of(only);
            } else if sum > 0.0 {
                cost += self.acts.now_among(group, masses, repaired, ground).0;
            }
        }
        cost + uncertainty(&sums) * self.minutes_per_nat
    }

    /// The cheapest test if it beats acting.
    fn pick(&self, act: f64, act_step: Step, looks: Vec<Look>) -> Found {
        let better = looks.first().filter(|first| beats(first.cost + self.margin, act));
        let (cost, step) = match better {
            Some(first) => (first.cost, Step::Test(self.chart(first.chart).test)),
            None => (act, act_step),
        };
        Found { cost, step, looks }
    }

    /// As [`Search::solve`], keeping what each test would cost.
    fn solve_root(&mut self, root: &Node, depth: usize, earlier: &[Look]) -> Option<Found> {
        let (act, act_step) = self.act(root);
        let mut looks = earlier.to_vec();
        let followed = looks.len().min(self.beam.0);
        for look in &mut looks[..followed] {
            look.cost = self.follow(root, look.chart, look.minutes, depth)?;
        }
        let (head, _) = looks.split_at_mut(followed);
        self.sort(head);
        let mut found = self.pick(act, act_step, looks);
        for (r, cost, ground) in self.repairs(root) {
            let total = self.try_repair(root, r, cost, ground, depth)?;
            if beats(total, found.cost) {
                found.cost = total;
                found.step = Step::Repair(r);
            }
        }
        Some(found)
    }

    fn repairs(&self, node: &Node) -> Vec<(usize, f64, Ground)> {
        let masses = self.masses(node);
        self.acts.first_repairs(&masses, &node.repaired, &node.ground, REPAIRS_TRIED)
    }

    /// Least cost from a belief, looking `depth` steps ahead; `None` when the budget ran out.
    fn solve(&mut self, node: &Node, depth: usize) -> Option<f64> {
        let masses = self.masses(node);
        if depth == 0 {
            return Some(self.leaf(&masses, &node.repaired, &node.ground));
        }
        let mass: f64 = masses.iter().sum();
        let (mut best, _) = self.acts.now(&masses, &node.repaired, &node.ground);
        let least = self.acts.least(&masses);
        let cheapest = (0..self.outlook.charts.len())
            .filter(|&c| !node.used[c])
            .map(|c| self.minutes(node, c))
            .fold(f64::INFINITY, f64::min);
        if best - least <= cheapest * mass || mass <= LEAST_OUTCOME {
            return Some(best);
        }
        if self.spent >= self.budget {
            return None;
        }
        let later = std::mem::take(&mut self.later);
        let views = self.views(node, &later);
        self.later = later;
        let looks = self.weigh(node, views, self.beam.1.max(FOLLOWED_TESTS));
        if depth == 1 {
            if let Some(first) = looks.first() {
                best = best.min(first.cost);
            }
            return Some(best);
        }
        for look in looks.iter().take(self.beam.1) {
            if look.minutes * mass + least >= best {
                continue;
            }
            best = best.min(self.follow(node, look.chart, look.minutes, depth)?);
        }
        for (r, cost, ground) in self.repairs(node) {
            best = best.min(self.try_repair(node, r, cost, ground, depth)?);
        }
        Some(best)
    }

    /// Cost of a test and of the best that follows each outcome.
    fn follow(&mut self, node: &Node, chart: usize, minutes: f64, depth: usize) -> Option<f64> {
        let outlook = self.outlook;
        let mass: f64 = node.weights.iter().sum();
        let ground = self.ground_after(node, chart, minutes);
        let mut used = node.used.clone();
        used[chart] = true;
        let mut total = mass * minutes;
        for row in outlook.charts[chart].rows() {
            let weights: Vec<f64> = node.particles.iter().zip(&node.weights).map(|(&n, w)| w * row[n]).collect();
            let least = LEAST_PARTICLE * weights.iter().sum::<f64>();
            let kept = || (0..weights.len()).filter(|&i| weights[i] > least);
            let child = Node {
                particles: kept().map(|i| node.particles[i]).collect(),
                classes: kept().map(|i| node.classes[i]).collect(),
                weights: kept().map(|i| weights[i]).collect(),
                used: used.clone(),
                repaired: node.repaired.clone(),
                ground,
            };
            total += self.solve(&child, depth - 1)?;
        }
        Some(total)
    }

    /// Cost of a repair, its proof, and the best that follows if it shows something still wrong; if it shows nothing, the end.
    fn try_repair(&mut self, node: &Node, r: usize, cost: f64, ground: Ground, depth: usize) -> Option<f64> {
        let mass: f64 = node.weights.iter().sum();
        let mut child = Node {
            particles: node.particles.clone(),
            classes: node.classes.clone(),
            weights: node.weights.clone(),
            used: node.used.clone(),
            repaired: node.repaired.clone(),
            ground,
        };
        let left = self.acts.fail(r, &mut child.weights, &child.classes, &mut child.repaired);
        Some(mass * cost + left + self.solve(&child, depth - 1)?)
    }

    pub(super) fn chart(&self, chart: usize) -> &'a Chart {
        &self.outlook.charts[chart]
    }
}

/// Two classes are alike if all tests on offer, made once each, leave this much overlap or more
/// between them (the product of their Bhattacharyya coefficients; the chance of taking one for the
/// other is at most half of it).
const OVERLAP: f64 = 0.35;

/// Sorts the classes into groups that the tests on offer can hardly tell apart, each round its most
/// probable member.
fn alike(outlook: &Outlook) -> Vec<Vec<usize>> {
    let masses = outlook.masses();
    let classes = masses.len();
    // Square roots of what each class shows on average, so that the overlap is an inner product.
    let roots: Vec<Vec<Vec<f64>>> = outlook
        .charts
        .iter()
        .map(|chart| {
            let mut shown = vec![vec![0.0; chart.outcomes.len()]; classes];
            for (o, row) in chart.rows().enumerate() {
                for ((&class, weight), p) in outlook.classes.iter().zip(&outlook.weights).zip(row) {
                    shown[class][o] += weight * p;
                }
            }
            for (shown, mass) in shown.iter_mut().zip(&masses) {
                shown.iter_mut().for_each(|p| *p = (*p / mass).sqrt());
            }
            shown
        })
        .collect();
    let overlap = |a: usize, b: usize| {
        let mut overlap = 1.0;
        for test in &roots {
            let both: f64 = test[a].iter().zip(&test[b]).map(|(x, y)| x * y).sum();
            overlap *= both.min(1.0);
            if overlap < OVERLAP {
                break;
            }
        }
        overlap
    };
    let mut order: Vec<usize> = (0..classes).collect();
    order.sort_by(|&a, &b| masses[b].total_cmp(&masses[a]));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for class in order {
        match groups.iter_mut().find(|group| overlap(group[0], class) >= OVERLAP) {
            Some(group) => group.push(class),
            None => groups.push(vec![class]),
        }
    }
    groups
}

/// Whether a cost is less than another by more than rounding.
fn beats(cost: f64, other: f64) -> bool {
    cost < other - 1e-9 * (1.0 + other.abs())
}

/// Entropy (nats) of masses that need not sum to one, times their sum.
pub(crate) fn uncertainty(masses: &[f64]) -> f64 {
    let total: f64 = masses.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    let sum: f64 = masses.iter().filter(|&&m| m > 0.0).map(|&m| m * libm::log(m / total)).sum();
    (-sum).max(0.0)
}
