//! Small published problems with known answers.

mod support;

use halfsplit_inference::{
    EpisodeId, ModeId, Observed, PlanSettings, Policy, Predicted, QueryId, Reading, Reasoner, RepairId, RepairOption,
    Settings, Situation, Step, TestOption,
};
use support::{Tables, exact, surely};

fn read(reasoner: &mut Reasoner, problem: &Tables, query: u32, category: usize) {
    reasoner
        .observe(
            problem,
            Reading { query: QueryId(query), observed: Observed::Category(category), episode: EpisodeId(0) },
        )
        .expect("a category of the kind");
}

/// Test sequencing: Pattipati & Alexandridis, "Application of heuristic search and information
/// theory to sequential fault diagnosis", IEEE Trans. SMC 20(4), 1990 (instance from memory;
/// optimum 2.18 recomputed by exhaustive search).
mod sequencing {
    use super::*;

    const P: [f64; 6] = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
    const DETECTS: [&[u32]; 5] = [&[3, 4, 5], &[1, 4, 5], &[2, 5], &[2, 3, 4, 5], &[1, 3, 5]];
    /// A wrong repair costs so much that only complete identification pays.
    const DEAR: f64 = 1e4;

    fn detects(test: usize) -> &'static [u32] {
        // t4 detects {2,3,5} and t5 {1,3}.
        match test {
            3 => &[2, 3, 5],
            4 => &[1, 3],
            other => DETECTS[other],
        }
    }

    fn problem() -> Tables {
        let odds: Vec<f64> = P[1..].iter().map(|p| p / P[0]).collect();
        Tables::new(&odds, vec![exact(2)], |modes, _, query| {
            let found = modes.iter().any(|m| detects(query.0 as usize).contains(&(m.0 + 1)));
            surely(2, usize::from(found))
        })
    }

    fn situation() -> Situation {
        Situation {
            tests: (0..5).map(|t| TestOption::new(QueryId(t), 1.0)).collect(),
            repairs: (0..5).map(|m| RepairOption::new(RepairId(m), DEAR, vec![ModeId(m)])).collect(),
            end_cost: 10.0 * DEAR,
            ..Situation::default()
        }
    }

    /// Expected test cost of following the advice to the end, and the first test.
    fn follow(settings: &PlanSettings) -> (f64, Option<usize>) {
        let problem = problem();
        let reasoner_settings = Settings { max_faults: 1, ..Settings::default() };
        let (mut total, mut root) = (0.0, None);
        for (truth, p) in P.into_iter().enumerate() {
            let mut reasoner = Reasoner::new(&problem, reasoner_settings.clone());
            for made in 0.. {
                let mut situation = situation();
                for reading in reasoner.readings() {
                    situation.tests[reading.query.0 as usize].allowed = false;
                }
                let advice = reasoner.recommend(&problem, &situation, settings);
                let Step::Test(test) = advice.step else {
                    let right = match advice.step {
                        Step::Repair(r) => r + 1 == truth,
                        _ => truth == 0,
                    };
                    assert!(right, "{truth} ended in {:?}", advice.step);
                    break;
                };
                if made == 0 {
                    root = Some(test);
                }
                total += p;
                let shows = truth > 0 && detects(test).contains(&(truth as u32));
                read(&mut reasoner, &problem, test as u32, usize::from(shows));
            }
        }
        (total, root)
    }

    #[test]
    fn expected_cost_is_the_published_optimum() {
        let settings = PlanSettings { depth: 4, expansions: 20_000, beam: (5, 5), ..PlanSettings::default() };
        let (cost, root) = follow(&settings);
        assert!((cost - 2.18).abs() < 1e-12, "{cost}");
        assert_eq!(root, Some(1));
    }

    #[test]
    fn default_settings_find_it_too() {
        let (cost, root) = follow(&PlanSettings::default());
        assert!((cost - 2.18).abs() < 1e-12, "{cost}");
        assert_eq!(root, Some(1));
    }

    #[test]
    fn greedy_information_gain_costs_more() {
        let settings = PlanSettings { policy: Policy::Gain, ..PlanSettings::default() };
        let (cost, _) = follow(&settings);
        assert!((cost - 2.86).abs() < 1e-12, "{cost}");
    }
}

/// Repairs one after another: Kadane & Simon, "Optimal strategies for a class of constrained
/// sequential problems", Annals of Statistics 5(2), 1977; Heckerman, Breese & Rommelse, CACM 38(3),
/// 1995. Probabilities .5 .3 .2, costs 10 3 1: best order 3, 2, 1 at 8.4.
#[test]
fn repairs_go_by_probability_per_cost() {
    let problem = Tables { sound: 0.0, ..Tables::new(&[0.5, 0.3, 0.2], vec![exact(2)], |_, _, _| surely(2, 0)) };
    let settings = Settings { max_faults: 1, ..Settings::default() };
    let mut reasoner = Reasoner::new(&problem, settings);
    let costs = [10.0, 3.0, 1.0];
    let situation = Situation {
        repairs: (0..3).map(|m| RepairOption::new(RepairId(m), costs[m as usize], vec![ModeId(m)])).collect(),
        end_cost: 1000.0,
        ..Situation::default()
    };
    let advice = reasoner.recommend(&problem, &situation, &PlanSettings::default());
    assert_eq!(advice.step, Step::Repair(2));
    assert!((advice.expected_cost - 8.4).abs() < 1e-12, "{advice:?}");
    // Any other order, by hand: the worst is 10 + .5·3 + .2·1 = 11.7.
    let p = [0.5, 0.3, 0.2];
    let orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
    let cost = |order: [usize; 3]| {
        let mut left = 1.0;
        order
            .iter()
            .map(|&i| {
                let paid = left * costs[i];
                left -= p[i];
                paid
            })
            .sum::<f64>()
    };
    let all: Vec<f64> = orders.into_iter().map(cost).collect();
    let best = all.iter().copied().fold(f64::INFINITY, f64::min);
    let worst = all.iter().copied().fold(0.0, f64::max);
    assert!((best - advice.expected_cost).abs() < 1e-12);
    assert!((worst - 11.7).abs() < 1e-12);
}

/// The polybox: de Kleer & Williams, "Diagnosing multiple faults", Artificial Intelligence 32,
/// 1987. A faulty component's output may be anything.
mod polybox {
    use super::*;

    // Modes: 0 M1, 1 M2, 2 M3, 3 A1, 4 A2. Queries: 0 F, 1 G, 2 X, 3 Y, 4 Z.
    // Values 0..32 as categories. A faulty output is any of them, evenly, independently; what it
    // is, is not observed, so outputs are summed over. Consistency is what is tested, so the joint
    // observation of F and G is one query (5), whose category is 1 when F = 10 and G = 12.
    const VALUES: usize = 32;

    fn outputs(faulty: &[ModeId], free: &[usize; 5]) -> [usize; 5] {
        let bad = |m: u32| faulty.contains(&ModeId(m));
        let x = if bad(0) { free[0] } else { 3 * 2 };
        let y = if bad(1) { free[1] } else { 2 * 3 };
        let z = if bad(2) { free[2] } else { 2 * 3 };
        let f = if bad(3) { free[3] } else { x + y };
        let g = if bad(4) { free[4] } else { y + z };
        [f, g, x, y, z]
    }

    /// Whether some behaviour of the faulty components gives F = 10, G = 12 and, if asked, a value
    /// at a probe.
    fn consistent(faulty: &[ModeId], probe: Option<(usize, usize)>) -> bool {
        // Values of the multipliers decide everything; a faulty adder can show what is observed.
        let choices =
            |m: u32| -> Vec<usize> { if faulty.contains(&ModeId(m)) { (0..VALUES).collect() } else { vec![0] } };
        choices(0).iter().any(|&x| {
            choices(1).iter().any(|&y| {
                choices(2).iter().any(|&z| {
                    let out = outputs(faulty, &[x, y, z, 10, 12]);
                    out[0] == 10 && out[1] == 12 && probe.is_none_or(|(at, value)| out[at] == value)
                })
            })
        })
    }

    fn problem() -> Tables {
        // The value at a probe, given F and G as observed, where it is settled; any value, where it
        // is not (a faulty component may show anything).
        Tables::new(&[0.01 / 0.99; 5], vec![exact(2), exact(VALUES)], |faulty, _, query| {
            if query.0 == 0 {
                return surely(2, usize::from(consistent(faulty, None)));
            }
            let at = 1 + query.0 as usize / 2;
            let possible: Vec<f64> = (0..VALUES).map(|v| f64::from(consistent(faulty, Some((at, v))))).collect();
            Predicted::Categories(possible)
        })
    }

    const PROBES: [u32; 3] = [3, 5, 7];

    fn reasoner(problem: &Tables) -> Reasoner {
        let mut reasoner = Reasoner::new(problem, Settings { max_faults: 5, neglect: 0.0, ..Settings::default() });
        read(&mut reasoner, problem, 0, 1);
        reasoner
    }

    #[test]
    fn posteriors_and_candidates_are_as_computed() {
        let problem = problem();
        let reasoner = reasoner(&problem);
        let posterior = reasoner.posterior();
        let consistent = posterior.hypotheses.iter().filter(|w| w.probability > 0.0).count();
        assert_eq!(consistent, 27);
        for (mode, expected) in [(3, 0.4976), (0, 0.4976), (1, 0.0196), (2, 0.0148), (4, 0.0148)] {
            let p = posterior.mode(ModeId(mode));
            assert!((p - expected).abs() < 5e-5, "{mode} {p}");
        }
    }

    #[test]
    fn minimal_candidates_are_the_published_ones() {
        let problem = problem();
        let reasoner = reasoner(&problem);
        let all: Vec<_> = reasoner.posterior().hypotheses.iter().map(|w| w.hypothesis).collect();
        let mut minimal: Vec<_> = all
            .iter()
            .filter(|h| !all.iter().any(|o| o != *h && o.modes().iter().all(|m| h.contains(*m))))
            .copied()
            .collect();
        minimal.sort_unstable();
        let mut expected = vec![support::set(&[3]), support::set(&[0]), support::set(&[1, 4]), support::set(&[1, 2])];
        expected.sort_unstable();
        assert_eq!(minimal, expected);
    }

    #[test]
    fn the_best_probe_is_x_and_its_values_leave_the_published_candidates() {
        let problem = problem();
        let mut reasoner = reasoner(&problem);
        let situation = Situation {
            tests: PROBES.iter().map(|&q| TestOption::new(QueryId(q), 1.0)).collect(),
            repairs: (0..5).map(|m| RepairOption::new(RepairId(m), 100.0, vec![ModeId(m)])).collect(),
            end_cost: 1e4,
            ..Situation::default()
        };
        let advice = reasoner.recommend(&problem, &situation, &PlanSettings::default());
        assert_eq!(advice.step, Step::Test(0), "{advice:?}");

        let leading = |value: usize| {
            let mut supposed = Reasoner::new(&problem, Settings { max_faults: 2, ..Settings::default() });
            read(&mut supposed, &problem, 0, 1);
            read(&mut supposed, &problem, PROBES[0], value);
            let all: Vec<_> = supposed.posterior().hypotheses.iter().map(|w| w.hypothesis).collect();
            let mut minimal: Vec<_> = all
                .iter()
                .filter(|h| !all.iter().any(|o| o != *h && o.modes().iter().all(|m| h.contains(*m))))
                .copied()
                .collect();
            minimal.sort_unstable();
            minimal
        };
        assert!(leading(4).contains(&support::set(&[0])));
        assert!(!leading(4).contains(&support::set(&[3])));
        let mut six = vec![support::set(&[3]), support::set(&[1, 4]), support::set(&[1, 2])];
        six.sort_unstable();
        assert_eq!(leading(6), six);
    }
}
