//! Ways to be that are no failure: they explain what is observed, and nothing is put right for them.

mod support;

use halfsplit_inference::{
    Advice, EpisodeId, Hypothesis, ModeId, NameId, Observed, PlanSettings, QueryId, Reading, Reasoner, RepairId,
    RepairOption, Settings, Situation, Step, Suspect, TestOption,
};
use support::{Tables, exact, set, surely};

const WAITING: ModeId = ModeId(0);
const DEAD: ModeId = ModeId(1);
const DIRTY: ModeId = ModeId(2);

/// Three modes: waiting and dead both keep still what query 0 looks at; query 1 tells them apart, the same as long as
/// both last; query 2 shows dirt and nothing else.
fn still(waiting: f64) -> Tables {
    let mut tables = Tables::new(&[waiting, 0.05, 0.05], vec![exact(2)], |present, _, query| {
        let shows = match query.0 {
            0 => present.contains(&WAITING) || present.contains(&DEAD),
            1 => present.contains(&DEAD),
            _ => present.contains(&DIRTY),
        };
        surely(2, usize::from(shows))
    });
    tables.modes[WAITING.0 as usize].harmless = true;
    tables
}

fn after(problem: &Tables, readings: &[(u32, usize)]) -> Reasoner {
    let mut reasoner = Reasoner::new(problem, Settings::default());
    for &(query, seen) in readings {
        let reading = Reading { query: QueryId(query), observed: Observed::Category(seen), episode: EpisodeId(0) };
        reasoner.observe(problem, reading).expect("fits its kind");
    }
    reasoner
}

/// Repairs for all three modes, as though there were one for waiting too; tests as asked for.
fn situation(tests: &[u32]) -> Situation {
    Situation {
        tests: tests.iter().map(|&q| TestOption::new(QueryId(q), 5.0)).collect(),
        repairs: (0..3).map(|i| RepairOption::new(RepairId(i), 20.0, vec![ModeId(i)])).collect(),
        verify_minutes: 5.0,
        repaired_later: true,
        ..Situation::default()
    }
}

fn advice(problem: &Tables, readings: &[(u32, usize)], tests: &[u32]) -> Advice {
    after(problem, readings).recommend(problem, &situation(tests), &PlanSettings::default())
}

#[test]
fn what_a_harmless_mode_explains_ends_with_nothing_wrong() {
    let problem = still(0.02);
    let readings = [(0, 1), (1, 0), (2, 0)];
    let posterior = after(&problem, &readings).posterior().clone();
    assert!(posterior.probability_of(&Hypothesis::NONE) < 1e-9);
    assert!(posterior.sound() > 0.999_999, "{posterior:?}");
    assert!(posterior.mode(WAITING) > 0.999_999 && posterior.names()[0].0 == NameId(0));
    assert_eq!(posterior.repairs(&problem.modes)[0].0, []);
    let advice = advice(&problem, &readings, &[]);
    assert_eq!((advice.step, advice.act_now, advice.act_now_cost), (Step::Close, Step::Close, 0.0));
}

#[test]
fn a_harmless_mode_is_no_reason_for_a_repair_however_probable() {
    for waiting in [0.01, 0.1, 1.0, 10.0, 100.0] {
        let problem = still(waiting);
        for tests in [&[][..], &[1, 2], &[0, 1, 2]] {
            for readings in [&[][..], &[(0, 1)], &[(0, 1), (2, 1)], &[(1, 1)]] {
                let advice = advice(&problem, readings, tests);
                assert_ne!(advice.step, Step::Repair(0), "{waiting} {readings:?}");
                assert_ne!(advice.act_now, Step::Repair(0), "{waiting} {readings:?}");
            }
        }
    }
}

#[test]
fn the_test_that_tells_it_from_a_fault_comes_first_and_decides() {
    let problem = still(0.05);
    assert_eq!(advice(&problem, &[(0, 1), (2, 0)], &[1]).step, Step::Test(0));
    assert_eq!(advice(&problem, &[(0, 1), (2, 0), (1, 0)], &[1]).step, Step::Close);
    assert_eq!(advice(&problem, &[(0, 1), (2, 0), (1, 1)], &[1]).step, Step::Repair(1));
}

#[test]
fn beside_a_fault_only_the_fault_is_put_right() {
    let problem = still(0.5);
    let readings = [(0, 1), (1, 0), (2, 1)];
    let posterior = after(&problem, &readings).posterior().clone();
    assert!(posterior.probability_of(&set(&[0, 2])) > 0.999_999, "{posterior:?}");
    assert!(posterior.sound() < 1e-9);
    assert_eq!(posterior.repairs(&problem.modes)[0].0, [RepairId(2)]);
    let advice = advice(&problem, &readings, &[]);
    assert_eq!(advice.step, Step::Repair(2));
    // One repair of 20 minutes and its proof, and the end.
    assert!((advice.act_now_cost - 25.0).abs() < 1e-4, "{advice:?}");
}

#[test]
fn once_the_fault_is_put_right_a_harmless_mode_beside_it_is_nothing_wrong() {
    let problem = still(0.5);
    let mut reasoner = after(&problem, &[(0, 1), (1, 0), (2, 1)]);
    let situation = Situation { mended: vec![DIRTY], ..situation(&[]) };
    assert_eq!(reasoner.recommend(&problem, &situation, &PlanSettings::default()).step, Step::Close);
}

#[test]
fn costs_are_those_of_a_machine_with_nothing_wrong() {
    // Waiting shows nowhere but in query 0, which is not asked: then it cannot matter how probable it is.
    let (with, without) = (still(0.7), still(0.0));
    for readings in [&[][..], &[(2, 1)], &[(1, 1)], &[(2, 0)]] {
        let (a, b) = (advice(&with, readings, &[1, 2]), advice(&without, readings, &[1, 2]));
        assert_eq!(a.step, b.step);
        assert!((a.expected_cost - b.expected_cost).abs() < 1e-9, "{readings:?}: {a:?} {b:?}");
        assert!((a.act_now_cost - b.act_now_cost).abs() < 1e-9);
    }
}

#[test]
fn reasons_count_it_as_nothing_wrong_and_still_name_it() {
    let problem = still(0.05);
    let mut reasoner = after(&problem, &[(2, 0)]);
    let voices = reasoner.voices(&problem, Suspect::Sound);
    let sound = reasoner.posterior().sound();
    assert!((voices.total() - libm::log(sound / (1.0 - sound))).abs() < 1e-9);
    let leaves = reasoner.leaves(&problem, &situation(&[0, 1]), 0, &PlanSettings::default());
    let still = leaves.iter().find(|l| l.names.first().is_some_and(|n| n.1 > 0.4)).expect("it stands still");
    let waits = still.names.iter().find(|n| n.0 == NameId(0)).expect("it may be waiting").1;
    assert!((still.sound - waits).abs() < 0.03, "{still:?}");
    // Whether it waits or not, nothing is to be done: knowing that is worth nothing.
    let refutes = reasoner.refutation(&problem, &situation(&[1]), Suspect::Sound, &PlanSettings::default());
    assert!(refutes.is_some_and(|r| r.leaves < 1e-9));
}

#[test]
fn what_is_not_described_is_not_like_it() {
    let mut problem = still(5.0);
    (problem.not_described, problem.likeness) = (0.05, 0.7);
    let reasoner = after(&problem, &[(0, 1)]);
    let like = reasoner.not_described_like(&problem);
    assert!(like.iter().all(|(name, share)| *name != NameId(0) && *share > 0.0), "{like:?}");
    assert_eq!(like[0].0, NameId(1));
}

/// Two faults, alike in all that can be seen, odds even; no test, 20 minutes for either repair, 5 for its proof, 100 for ending with
/// it. By hand.
#[test]
fn a_proof_that_shows_nothing_is_not_paid_for_as_though_it_did() {
    let mut problem = Tables::new(&[1.0, 1.0], vec![exact(2)], |_, _, _| surely(2, 0));
    problem.sound = 0.0;
    let situation = |least_worth: f64, end_cost: f64| Situation {
        repairs: (0..2).map(|i| RepairOption::new(RepairId(i), 20.0, vec![ModeId(i)])).collect(),
        verify_minutes: 5.0,
        end_cost,
        least_worth,
        ..Situation::default()
    };
    let cost = |problem: &Tables, situation: &Situation| {
        let advice = after(problem, &[]).recommend(problem, situation, &PlanSettings::default());
        (advice.act_now, advice.act_now_cost)
    };
    let near = |(step, cost): (Step, f64), first: bool, want: f64| {
        assert!((cost - want).abs() < 1e-6 && matches!(step, Step::Repair(_)) == first, "{step:?} {cost} {want}");
    };
    // Never both at once.
    problem.promotion.insert((0, 1), 0.0);
    near(cost(&problem, &situation(0.0, 100.0)), true, 25.0 + 0.5 * 25.0);
    problem.shows = 0.0;
    near(cost(&problem, &situation(0.0, 100.0)), true, 25.0 + 0.5 * 100.0);
    // Worth 20 of its 25 by itself, and begun with for the proof that tells; not where that does not count.
    problem.shows = 1.0;
    near(cost(&problem, &situation(0.0, 40.0)), true, 25.0 + 0.5 * 25.0);
    near(cost(&problem, &situation(0.9, 40.0)), false, 40.0);
}

/// A repair of half a minute for what is wrong one time in ten, ending costs 100. By hand.
#[test]
fn a_guess_is_not_made_for_being_quick() {
    let step = |least_chance: f64, odds: f64| {
        let mut problem = Tables::new(&[1.0, odds], vec![exact(2)], |_, _, _| surely(2, 0));
        problem.sound = 0.0;
        problem.promotion.insert((0, 1), 0.0);
        let situation = Situation {
            repairs: vec![RepairOption::new(RepairId(0), 0.5, vec![ModeId(0)])],
            end_cost: 100.0,
            least_chance,
            ..Situation::default()
        };
        after(&problem, &[]).recommend(&problem, &situation, &PlanSettings::default()).act_now
    };
    assert_eq!(step(0.0, 9.0), Step::Repair(0));
    assert_eq!(step(0.125, 9.0), Step::Close);
    assert_eq!(step(0.125, 6.0), Step::Repair(0));
}
