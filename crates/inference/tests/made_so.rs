//! Ways of being made: one problem that carries two of them against two problems, one for each, mixed by Bayes' theorem over
//! the way (arithmetic). Nothing is neglected, so they must agree to rounding.

mod support;

use halfsplit_inference::{
    Broad, EpisodeId, ModeId, Observed, PlanSettings, Predicted, QueryId, QueryKind, Reading, Reasoner, RepairId,
    RepairOption, Settings, Situation, Step, TestOption,
};
use support::{Draw, LASTING, Tables, duty, exact, surely};

const FAULTS: usize = 5;
/// The mode that stands for being made otherwise.
const OTHERWISE: u32 = FAULTS as u32;

/// What a machine shows: drawn anew for every set of modes, sample and query, the same each time.
fn shows(seed: u64, present: &[ModeId], sample: usize, query: QueryId) -> Predicted {
    let key = present.iter().fold(1_u64, |k, m| k * 31 + u64::from(m.0 % LASTING) + 1);
    let mut draw =
        Draw(seed ^ key.wrapping_mul(0x1234_5678_9abc_def1) ^ (sample as u64) << 40 ^ u64::from(query.0) << 50);
    if query.0.is_multiple_of(2) {
        let p = draw.between(0.05, 0.95);
        Predicted::Categories(vec![p, 1.0 - p])
    } else {
        Predicted::Number { centre: draw.between(0.0, 10.0), noise_sd: 0.4, common_sd: 0.8 }
    }
}

fn kinds() -> Vec<QueryKind> {
    (0..6)
        .map(|query| {
            let mut kind = if query % 2 == 0 { QueryKind::categories(2) } else { QueryKind::number(-5.0, 15.0, 0.1) };
            (kind.unshown, kind.category_redraw) = (0.03, 0.2);
            assert!(matches!(kind.broad, Broad::Categories(_)) == (query % 2 == 0));
            kind
        })
        .collect()
}

/// The faults on a machine made in one way; with odds, also on one made otherwise.
fn problem(seed: u64, always: Option<u32>, odds: Option<f64>) -> Tables {
    let mut draw = Draw(seed);
    let mut all: Vec<f64> = (0..FAULTS).map(|_| draw.between(0.01, 0.4)).collect();
    all.extend(odds);
    let mut tables = Tables::new(&all, kinds(), move |present, sample, query| {
        let mut present = present.to_vec();
        present.extend(always.map(ModeId));
        // A fault as though it had not been put right stands at its place.
        present.sort_unstable_by_key(|m| m.0 % LASTING);
        shows(seed, &present, sample, query)
    });
    tables.samples = vec![0.2, 0.5, 0.3];
    (tables.likeness, tables.not_described) = (0.7, 0.05 * (1.0 + odds.unwrap_or(0.0)));
    tables.modes[1].intermittent = duty(&[(0.3, 1.0), (0.7, 1.0)]);
    tables.promotion.insert((0, 2), 4.0);
    tables.mended = vec![(3, 5)];
    tables.own = vec![(2, 1), (4, 3)];
    if odds.is_some() {
        tables.modes[FAULTS].harmless = true;
        tables.made = vec![OTHERWISE];
    }
    tables
}

fn near(what: &str, a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9, "{what}: {a} in one problem, {b} in two");
}

#[test]
fn one_problem_with_two_ways_is_two_problems_mixed() {
    for seed in 0..12 {
        let odds = Draw(seed + 100).between(0.05, 3.0);
        let settings = || Settings { neglect: 0.0, widen_at: 2.0, ..Settings::default() };
        let one = problem(seed, None, Some(odds));
        let two = [problem(seed, None, None), problem(seed, Some(OTHERWISE), None)];
        let mut whole = Reasoner::new(&one, settings());
        let mut apart = [0, 1].map(|i| Reasoner::new(&two[i], settings()));
        let mut draw = Draw(seed + 1000);
        for step in 0..9 {
            let logs = [apart[0].posterior().log_evidence, apart[1].posterior().log_evidence + libm::log(odds)];
            let all = logs[0] + libm::log(1.0 + libm::exp(logs[1] - logs[0]));
            near("evidence", whole.posterior().log_evidence, all);
            let weights = logs.map(|l| libm::exp(l - all));
            let mixed = |f: &dyn Fn(&Reasoner) -> f64| weights[0] * f(&apart[0]) + weights[1] * f(&apart[1]);
            let otherwise = |r: &Reasoner| -> f64 {
                r.made().iter().filter(|(h, _)| h.contains(ModeId(OTHERWISE))).map(|(_, p)| p).sum()
            };
            near("the way", otherwise(&whole), weights[1]);
            near("nothing wrong", whole.posterior().sound(), mixed(&|r| r.posterior().sound()));
            near("not described", whole.posterior().not_described, mixed(&|r| r.posterior().not_described));
            for fault in (0..FAULTS as u32).map(ModeId) {
                near("a fault", whole.posterior().mode(fault), mixed(&|r| r.posterior().mode(fault)));
            }
            let query = QueryId(step % 6);
            let observed = match query.0 % 2 {
                0 => Observed::Category(draw.below(2)),
                _ => Observed::Value(draw.between(0.0, 10.0)),
            };
            let reading = Reading { query, observed, episode: EpisodeId(step / 4) };
            whole.observe(&one, reading).expect("fits its kind");
            apart.iter_mut().zip(&two).for_each(|(r, p)| r.observe(p, reading).expect("fits its kind"));
        }
    }
}

/// Two faults of two repairs; query 0 tells which of them it is on a machine made as drawn, and the other way round on one
/// made otherwise; query 1 tells how it is made, and nothing else.
fn crossed(odds: f64) -> Tables {
    let mut tables = Tables::new(&[0.3, 0.3, odds], vec![exact(3), exact(2)], |present, _, query| {
        let otherwise = present.contains(&ModeId(2));
        match query.0 {
            0 if present.contains(&ModeId(0)) => surely(3, if otherwise { 2 } else { 1 }),
            0 if present.contains(&ModeId(1)) => surely(3, if otherwise { 1 } else { 2 }),
            0 => surely(3, 0),
            _ => surely(2, usize::from(otherwise)),
        }
    });
    tables.modes[2].harmless = true;
    tables.made = vec![2];
    tables
}

fn step(tables: &Tables, repairs: [u32; 2]) -> Step {
    let mut reasoner = Reasoner::new(tables, Settings::default());
    let reading = Reading { query: QueryId(0), observed: Observed::Category(1), episode: EpisodeId(0) };
    reasoner.observe(tables, reading).expect("fits its kind");
    let mut options: Vec<RepairOption> = Vec::new();
    for (mode, repair) in repairs.into_iter().enumerate() {
        match options.iter_mut().find(|o| o.repair == RepairId(repair)) {
            Some(o) => o.fixes.push(ModeId(mode as u32)),
            None => options.push(RepairOption::new(RepairId(repair), 60.0, vec![ModeId(mode as u32)])),
        }
    }
    let situation = Situation {
        tests: vec![TestOption::new(QueryId(1), 5.0)],
        repairs: options,
        verify_minutes: 10.0,
        repaired_later: true,
        ..Situation::default()
    };
    reasoner.recommend(tables, &situation, &PlanSettings::default()).step
}

/// How it is made is asked when the repair hangs on it, and only then.
#[test]
fn the_way_is_asked_when_it_matters_and_only_then() {
    let tables = crossed(1.0);
    assert_eq!(step(&tables, [0, 1]), Step::Test(0));
    // One repair puts both right: whichever it is, nothing hangs on the way.
    assert!(matches!(step(&tables, [0, 0]), Step::Repair(_)));
    // Hardly anybody makes it otherwise: the look is not worth its minutes.
    assert!(matches!(step(&crossed(0.001), [0, 1]), Step::Repair(_)));
}
