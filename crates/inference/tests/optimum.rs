//! The planner against the exhaustive optimum on small random instances.
//!
//! The oracle knows nothing of the engine: it plays every policy (tests, repairs each followed by a
//! proof, ending) by dynamic programming over beliefs written as plain vectors.

mod support;

use std::collections::BTreeMap;

use halfsplit_inference::{
    AccessId, EpisodeId, ModeId, Observed, PlanSettings, Policy, Predicted, QueryId, Reading, Reasoner, RepairId,
    RepairOption, Settings, Situation, StateId, Step, TestOption,
};
use support::{Draw, Tables, exact};

#[derive(Clone)]
struct Instance {
    /// Probability of each mode alone; the last is "nothing is wrong".
    prior: Vec<f64>,
    /// Probability that a test shows "1", per test and state of the world (sound last).
    shows: Vec<Vec<f64>>,
    minutes: Vec<f64>,
    access_of: Vec<Option<usize>>,
    state_of: Vec<Option<usize>>,
    access: Vec<f64>,
    change: f64,
    repair: Vec<f64>,
    repair_access: Vec<Option<usize>>,
    verify: f64,
    end: f64,
}

impl Instance {
    fn draw(seed: u64, modes: usize, tests: usize, noisy: bool) -> Instance {
        let mut draw = Draw(seed);
        let mut prior: Vec<f64> = (0..modes).map(|_| draw.between(0.05, 1.0)).collect();
        prior.push(draw.between(0.0, 0.5));
        let total: f64 = prior.iter().sum();
        prior.iter_mut().for_each(|p| *p /= total);
        let mut pick = |n: usize, p: f64| (draw.unit() < p).then(|| draw.below(n));
        let access_of = (0..tests).map(|_| pick(2, 0.5)).collect();
        let state_of = (0..tests).map(|_| pick(2, 0.7)).collect();
        let repair_access = (0..modes).map(|_| pick(2, 0.5)).collect();
        let shows = (0..tests)
            .map(|_| {
                (0..=modes)
                    .map(|world| {
                        let yes = world < modes && draw.unit() < 0.4;
                        let doubt = if noisy { draw.between(0.02, 0.2) } else { 0.0 };
                        if yes { 1.0 - doubt } else { doubt }
                    })
                    .collect()
            })
            .collect();
        Instance {
            prior,
            shows,
            minutes: (0..tests).map(|_| draw.between(1.0, 10.0)).collect(),
            access_of,
            state_of,
            access: (0..2).map(|_| draw.between(2.0, 15.0)).collect(),
            change: draw.between(1.0, 6.0),
            repair: (0..modes).map(|_| draw.between(10.0, 150.0)).collect(),
            repair_access,
            verify: draw.between(2.0, 10.0),
            end: if seed.is_multiple_of(2) { 120.0 } else { 500.0 },
        }
    }
}

/// Where a plan stands.
#[derive(Clone)]
struct Here {
    belief: Vec<f64>,
    tests_made: u32,
    repaired: u32,
    open: u32,
    state: usize,
    /// Outcomes so far, to tell beliefs apart.
    outcomes: u32,
}

type Key = (u32, u32, u32, u32, usize, Vec<bool>);

struct Oracle<'a> {
    instance: &'a Instance,
    memo: BTreeMap<Key, f64>,
    exact: bool,
}

fn normalised(belief: &[f64]) -> Option<Vec<f64>> {
    let total: f64 = belief.iter().sum();
    (total > 1e-12).then(|| belief.iter().map(|b| b / total).collect())
}

impl Instance {
    fn start(&self) -> Here {
        Here { belief: self.prior.clone(), tests_made: 0, repaired: 0, open: 0, state: 0, outcomes: 0 }
    }

    fn pay(&self, here: &mut Here, access: Option<usize>, state: Option<usize>) -> f64 {
        let mut cost = 0.0;
        if let Some(a) = access.filter(|a| here.open >> a & 1 == 0) {
            cost += self.access[a];
            here.open |= 1 << a;
        }
        if let Some(s) = state.filter(|s| *s != here.state) {
            cost += self.change;
            here.state = s;
        }
        cost
    }

    fn make_test(&self, here: &Here, test: usize) -> (f64, Vec<(f64, Here)>) {
        let mut after = here.clone();
        let cost = self.minutes[test] + self.pay(&mut after, self.access_of[test], self.state_of[test]);
        after.tests_made |= 1 << test;
        let mut branches = Vec::new();
        for outcome in 0..2_u32 {
            let joint: Vec<f64> = here
                .belief
                .iter()
                .zip(&self.shows[test])
                .map(|(b, p)| b * if outcome == 1 { *p } else { 1.0 - p })
                .collect();
            let p: f64 = joint.iter().sum();
            if let Some(belief) = normalised(&joint) {
                let mut next = after.clone();
                next.belief = belief;
                next.outcomes |= outcome << test;
                branches.push((p, next));
            }
        }
        (cost, branches)
    }

    /// Cost with its proof, and where it leaves us if it did not help (with that probability).
    fn make_repair(&self, here: &Here, mode: usize) -> (f64, Option<(f64, Here)>) {
        let mut after = here.clone();
        let cost = self.repair[mode] + self.verify + self.pay(&mut after, self.repair_access[mode], None);
        after.repaired |= 1 << mode;
        let sound = self.prior.len() - 1;
        after.belief[mode] = 0.0;
        after.belief[sound] = 0.0;
        let p: f64 = after.belief.iter().sum();
        let failed = normalised(&after.belief).map(|belief| {
            after.belief = belief;
            (p, after)
        });
        (cost, failed)
    }

    fn close(&self, here: &Here) -> f64 {
        (1.0 - here.belief[self.prior.len() - 1]) * self.end
    }
}

impl Oracle<'_> {
    fn best(&mut self, here: &Here) -> f64 {
        // Without noise, what is left decides; the tests made only pay for access and state.
        let support: Vec<bool> = here.belief.iter().map(|b| *b > 1e-12).collect();
        let key = if self.exact {
            (0, 0, 0, here.open, here.state, support.clone())
        } else {
            (here.tests_made, here.outcomes, here.repaired, here.open, here.state, Vec::new())
        };
        if let Some(&known) = self.memo.get(&key) {
            return known;
        }
        let instance = self.instance;
        let mut best = instance.close(here);
        // Even the truth for nothing would leave this much to pay: what costs more is no use.
        let least: f64 = (0..instance.repair.len())
            .map(|m| here.belief[m] * (instance.repair[m] + instance.verify).min(instance.end))
            .sum();
        for mode in 0..instance.repair.len() {
            if here.belief[mode] > 1e-12 {
                let (cost, failed) = instance.make_repair(here, mode);
                if cost < best {
                    let rest = failed.map_or(0.0, |(p, next)| p * self.best(&next));
                    best = best.min(cost + rest);
                }
            }
        }
        for test in 0..instance.minutes.len() {
            if here.tests_made >> test & 1 == 1 {
                continue;
            }
            let (cost, branches) = instance.make_test(here, test);
            if cost + least >= best || (self.exact && branches.len() < 2) {
                continue;
            }
            let rest: f64 = branches.iter().map(|(p, next)| p * self.best(next)).sum();
            best = best.min(cost + rest);
        }
        self.memo.insert(key, best);
        best
    }
}

fn optimum(instance: &Instance, exact: bool) -> f64 {
    let mut oracle = Oracle { instance, memo: BTreeMap::new(), exact };
    oracle.best(&instance.start())
}

// ---- The engine on the same instance --------------------------------------------------------

/// Queries: the tests, then per mode "is it proved right after this repair?".
fn problem(instance: &Instance) -> Tables {
    let shows = instance.shows.clone();
    let modes = instance.repair.len();
    let sound_share = instance.prior[modes].max(1e-300);
    let odds: Vec<f64> = instance.prior[..modes].iter().map(|p| p / sound_share).collect();
    Tables::new(&odds, vec![exact(2)], move |present, _, query| {
        let query = query.0 as usize;
        let world = present.first().map_or(modes, |m| m.0 as usize);
        let yes = if query < shows.len() {
            shows[query][world]
        } else {
            f64::from(world == modes || world == query - shows.len())
        };
        Predicted::Categories(vec![1.0 - yes, yes])
    })
}

fn situation(instance: &Instance, here: &Here) -> Situation {
    let ids = |a: Option<usize>| a.map(|a| AccessId(a as u32)).into_iter().collect();
    Situation {
        tests: (0..instance.minutes.len())
            .map(|t| TestOption {
                access: ids(instance.access_of[t]),
                state: instance.state_of[t].map(|s| StateId(s as u32)),
                allowed: here.tests_made >> t & 1 == 0,
                ..TestOption::new(QueryId(t as u32), instance.minutes[t])
            })
            .collect(),
        repairs: (0..instance.repair.len())
            .map(|m| {
                let id = m as u32;
                RepairOption {
                    access: ids(instance.repair_access[m]),
                    allowed: here.repaired >> m & 1 == 0,
                    ..RepairOption::new(RepairId(id), instance.repair[m], vec![ModeId(id)])
                }
            })
            .collect(),
        access: instance.access.clone(),
        open: (0..2).filter(|a| here.open >> a & 1 == 1).map(AccessId).collect(),
        state: StateId(here.state as u32),
        transitions: vec![vec![0.0, instance.change], vec![instance.change, 0.0]],
        end_cost: instance.end,
        verify_minutes: instance.verify,
        ..Situation::default()
    }
}

/// Expected cost of following the advice everywhere, exactly: every branch is walked.
fn follow(instance: &Instance, problem: &Tables, reasoner: &mut Reasoner, here: &Here, settings: &PlanSettings) -> f64 {
    let advice = reasoner.recommend(problem, &situation(instance, here), settings);
    let read = |query: usize, category: usize| Reading {
        query: QueryId(query as u32),
        observed: Observed::Category(category),
        episode: EpisodeId(0),
    };
    match advice.step {
        Step::Close => instance.close(here),
        Step::Test(test) => {
            let (cost, branches) = instance.make_test(here, test);
            let mut total = cost;
            for (p, next) in branches {
                let outcome = (next.outcomes >> test & 1) as usize;
                reasoner.observe(problem, read(test, outcome)).expect("a category");
                total += p * follow(instance, problem, reasoner, &next, settings);
                reasoner.undo();
            }
            total
        }
        Step::Repair(mode) => {
            let (cost, failed) = instance.make_repair(here, mode);
            let mut total = cost;
            if let Some((p, next)) = failed {
                reasoner.observe(problem, read(instance.minutes.len() + mode, 0)).expect("a category");
                total += p * follow(instance, problem, reasoner, &next, settings);
                reasoner.undo();
            }
            total
        }
    }
}

fn ratios(instances: &[(Instance, f64)], settings: &PlanSettings) -> (f64, f64) {
    let (mut sum, mut worst) = (0.0, 0.0_f64);
    for (instance, best) in instances {
        let problem = problem(instance);
        let mut reasoner = Reasoner::new(&problem, Settings { max_faults: 1, ..Settings::default() });
        let cost = follow(instance, &problem, &mut reasoner, &instance.start(), settings);
        let ratio = cost / best;
        assert!(ratio > 1.0 - 1e-9, "cheaper than the optimum: {cost} {best}");
        sum += ratio;
        worst = worst.max(ratio);
    }
    (sum / instances.len() as f64, worst)
}

/// The instances with their optimal costs.
fn instances(plain: u64, noisy: u64) -> Vec<(Instance, f64)> {
    let plain = (0..plain).map(|seed| (Instance::draw(seed, 8, 10, false), true));
    let noisy = (0..noisy).map(|seed| (Instance::draw(1000 + seed, 5, 5, true), false));
    plain
        .chain(noisy)
        .map(|(instance, exact)| {
            let best = optimum(&instance, exact);
            (instance, best)
        })
        .collect()
}

#[test]
fn expected_cost_is_close_to_the_exhaustive_optimum() {
    let settings = PlanSettings { neglect: 0.0, ..PlanSettings::default() };
    let all = instances(100, 50);
    let (mean, worst) = ratios(&all, &settings);
    println!("expected cost: mean {mean:.4}, worst {worst:.4}");
    for (name, policy) in [
        ("expected cost", Policy::ExpectedCost),
        ("gain per minute", Policy::GainPerMinute),
        ("gain", Policy::Gain),
        ("random", Policy::Random(1)),
    ] {
        let settings = PlanSettings { policy, ..settings.clone() };
        let (mean, worst) = ratios(&all[..30], &settings);
        println!("first 30, {name}: mean {mean:.4}, worst {worst:.4}");
    }
    let (shallow, _) = ratios(&all, &PlanSettings { depth: 1, ..settings.clone() });
    println!("one step: {shallow:.4}");
    assert!(mean <= 1.01 && worst <= 1.08, "mean {mean} worst {worst}");
}
