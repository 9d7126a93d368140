//! Speed on a made-up problem of real size: 65 named failures with one to three levels (130 modes),
//! 8 samples of shared unknowns, all pairs, 120 tests. Predictions are kept by the engine, so after
//! the first round these figures are the engine's own time.

#![allow(missing_docs, reason = "the macro that names the benchmarks writes a function without")]

use std::cell::Cell;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit_inference::{
    AccessId, Broad, ComponentId, EpisodeId, ModeId, ModeInfo, NameId, Observed, PlanSettings, Policy, Predicted,
    Problem, QueryId, QueryKind, Reading, Reasoner, RepairId, RepairOption, Settings, Situation, StateId, Step,
    TestOption,
};

const NAMES: u32 = 65;
const SAMPLES: usize = 8;
const TESTS: u32 = 120;

struct MadeUp {
    modes: Vec<ModeInfo>,
    samples: Vec<f64>,
    number: QueryKind,
    look: QueryKind,
    asked: Cell<usize>,
}

fn mix(seed: u64) -> u64 {
    let z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn unit(a: u64, b: u64) -> f64 {
    (mix(a.wrapping_mul(0x1_0001).wrapping_add(mix(b))) >> 11) as f64 / (1_u64 << 53) as f64
}

impl MadeUp {
    fn new() -> MadeUp {
        let mut modes = Vec::new();
        for name in 0..NAMES {
            let levels = 1 + name % 3;
            for _ in 0..levels {
                modes.push(ModeInfo {
                    prior_odds: 0.02 * (0.2 + unit(1, u64::from(name))) / f64::from(levels),
                    component: ComponentId(name / 3),
                    name: NameId(name),
                    repair: RepairId(name / 2),
                    intermittent: None,
                    harmless: false,
                });
            }
        }
        MadeUp {
            modes,
            samples: vec![1.0; SAMPLES],
            number: QueryKind { least_common_sd: 0.05, ..QueryKind::number(-10.0, 10.0, 0.05) },
            look: QueryKind { broad: Broad::Categories(vec![1.0; 4]), ..QueryKind::categories(4) },
            asked: Cell::new(0),
        }
    }

    /// A test in three looks at everything; the others look at one mode in eight.
    fn touches(&self, mode: ModeId, query: QueryId) -> bool {
        query.0.is_multiple_of(3) || mix(u64::from(mode.0) << 20 | u64::from(query.0)).is_multiple_of(8)
    }
}

impl Problem for MadeUp {
    fn modes(&self) -> &[ModeInfo] {
        &self.modes
    }
    fn samples(&self) -> &[f64] {
        &self.samples
    }
    fn predict(&self, hypothesis: &[ModeId], sample: usize, query: QueryId) -> Predicted {
        self.asked.set(self.asked.get() + 1);
        let touching = hypothesis.iter().filter(|m| self.touches(**m, query));
        if query.0 % 4 == 1 {
            let mut p = vec![0.94, 0.02, 0.02, 0.02];
            for mode in touching {
                p.rotate_right((mix(u64::from(mode.0 ^ query.0)) % 4) as usize);
            }
            return Predicted::Categories(p);
        }
        let shift: f64 = touching.map(|m| 4.0 * (unit(u64::from(m.0), u64::from(query.0)) - 0.5)).sum();
        Predicted::Number { centre: shift + 0.05 * sample as f64, noise_sd: 0.1, common_sd: 0.15 }
    }
    fn kind(&self, query: QueryId) -> &QueryKind {
        if query.0 % 4 == 1 { &self.look } else { &self.number }
    }
    fn reaches(&self, mode: ModeId, query: QueryId) -> bool {
        self.touches(mode, query)
    }
    fn pair_prior(&self, a: ModeId, b: ModeId) -> f64 {
        0.1 * self.modes[a.0 as usize].prior_odds * self.modes[b.0 as usize].prior_odds
    }
}

fn situation(problem: &MadeUp) -> Situation {
    Situation {
        tests: (0..TESTS)
            .map(|q| TestOption {
                access: (q % 5 > 0).then_some(AccessId(q % 5 - 1)).into_iter().collect(),
                state: Some(StateId(q % 3)),
                ..TestOption::new(QueryId(q), 2.0 + f64::from(q % 7))
            })
            .collect(),
        repairs: (0..NAMES.div_ceil(2))
            .map(|r| {
                let fixes = (0..problem.modes.len())
                    .filter(|&m| problem.modes[m].repair == RepairId(r))
                    .map(|m| ModeId(m as u32))
                    .collect();
                RepairOption::new(RepairId(r), 20.0 + 12.0 * f64::from(r % 9), fixes)
            })
            .collect(),
        access: vec![5.0, 8.0, 10.0, 3.0],
        transitions: vec![vec![2.0; 3]; 3],
        verify_minutes: 5.0,
        ..Situation::default()
    }
}

/// What the machine would show with this mode, in the middle sample.
fn truth(problem: &MadeUp, mode: u32, query: QueryId) -> Reading {
    let observed = match problem.predict(&[ModeId(mode)], 3, query) {
        Predicted::Categories(p) => {
            Observed::Category((0..p.len()).max_by(|&i, &j| p[i].total_cmp(&p[j])).unwrap_or(0))
        }
        Predicted::Number { centre, .. } => Observed::Value(centre),
        Predicted::NumberOrOver { centre, .. } => Observed::Value(centre),
    };
    Reading { query, observed, episode: EpisodeId(0) }
}

fn job(criterion: &mut Criterion) {
    let problem = MadeUp::new();
    let situation = situation(&problem);
    let settings = PlanSettings::default();
    let mut group = criterion.benchmark_group("reasoner");
    group.sample_size(10);

    group.bench_function("new: priors and all pairs", |b| {
        b.iter(|| Reasoner::new(black_box(&problem), Settings::default()));
    });

    // A job up to each number of readings, following the advice.
    let hidden = 77;
    for readings in [0, 2, 4, 8] {
        let mut reasoner = Reasoner::new(&problem, Settings::default());
        let mut open = situation.clone();
        let mut advice = reasoner.recommend(&problem, &open, &settings);
        for query in 0..readings {
            let test = match advice.step {
                Step::Test(test) => test,
                _ => query,
            };
            open.tests[test].allowed = false;
            let query = open.tests[test].query;
            reasoner.observe(&problem, truth(&problem, hidden, query)).expect("fits its kind");
            advice = reasoner.recommend(&problem, &open, &settings);
        }
        let next = match advice.step {
            Step::Test(test) => open.tests[test].query,
            _ => QueryId(119),
        };
        let reading = truth(&problem, hidden, next);
        let asked = problem.asked.get();
        reasoner.observe(&problem, reading).expect("fits its kind");
        reasoner.recommend(&problem, &open, &settings);
        println!(
            "after {readings} readings: {} worked out, {} predictions asked for by the next, \
             unexpanded {:.1e}, neglected {:.4}, {} expansions to depth {}, {:?}",
            reasoner.posterior().hypotheses.len(),
            problem.asked.get() - asked,
            reasoner.posterior().unexpanded,
            advice.neglected,
            advice.expansions,
            advice.depth,
            advice.step,
        );
        reasoner.undo();
        group.bench_function(format!("reading {} and the next step", readings + 1), |b| {
            b.iter(|| {
                reasoner.observe(&problem, reading).expect("fits its kind");
                let advice = reasoner.recommend(&problem, &open, &settings);
                reasoner.undo();
                advice
            });
        });
        group.bench_function(format!("reading {} alone", readings + 1), |b| {
            b.iter(|| {
                reasoner.observe(&problem, reading).expect("fits its kind");
                reasoner.undo();
            });
        });
        if readings == 2 {
            let greedy = PlanSettings { policy: Policy::GainPerMinute, depth: 1, ..settings.clone() };
            group.bench_function("one step ahead only, after 2 readings", |b| {
                b.iter(|| reasoner.recommend(&problem, &open, &greedy));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, job);
criterion_main!(benches);
