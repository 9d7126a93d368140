//! From a situation to advice.

use crate::hypothesis::QueryId;
use crate::plan::act::Acts;
use crate::plan::advice::{Advice, Candidate, PlanSettings, Policy, Step};
use crate::plan::outlook::Outlook;
use crate::plan::search::{Found, Look, Search};
use crate::plan::situation::{Situation, bits};
use crate::problem::Problem;
use crate::reasoner::Reasoner;
use crate::reasons::Leaves;

/// A test in the bundle tells at least this much (nats): less is not worth a line.
const WORTH_BUNDLING: f64 = 0.02;

impl Reasoner {
    /// What to do next.
    pub fn recommend(&mut self, problem: &impl Problem, situation: &Situation, settings: &PlanSettings) -> Advice {
        let (advice, outlook) = self.weigh_steps(problem, situation, settings);
        outlook.leave(self);
        advice
    }

    /// What to do next; and if it is a test, what each of its outcomes would leave, as [`Reasoner::leaves`] says.
    pub fn recommend_and_foresee(
        &mut self,
        problem: &impl Problem,
        situation: &Situation,
        settings: &PlanSettings,
    ) -> (Advice, Vec<Leaves>) {
        let (advice, outlook) = self.weigh_steps(problem, situation, settings);
        let chart = outlook.charts.iter().find(|c| advice.step == Step::Test(c.test));
        let leaves = chart.map_or(Vec::new(), |chart| self.leaves_after(problem, &outlook, chart));
        outlook.leave(self);
        (advice, leaves)
    }

    fn weigh_steps(
        &mut self,
        problem: &impl Problem,
        situation: &Situation,
        settings: &PlanSettings,
    ) -> (Advice, Outlook) {
        let outlook = Outlook::new(problem, self, situation, settings);
        let acts = Acts::new(&outlook, situation);
        let most = acts.most();
        let least = acts.least(&outlook.masses());
        let mut search = Search::new(&outlook, acts, settings);
        let root = search.root();
        let (act_now_cost, act_now) = search.act(&root);
        let (found, depth) = search.deepen(&root, settings.depth.max(1));
        let step = match found.step {
            // Costs one step ahead are mostly estimates: with so much still possible, the pace at which
            // information comes chooses better.
            Step::Test(test) if depth == 1 && settings.policy == Policy::ExpectedCost => {
                Step::Test(search.fastest(&root, &found.looks).map_or(test, |chart| search.chart(chart).test))
            }
            Step::Test(_) => self.by_policy(&search, &found, situation, settings),
            other => other,
        };
        let advice = Advice {
            step,
            expected_cost: found.cost,
            act_now,
            act_now_cost,
            least_cost: least,
            bundle: match step {
                Step::Test(test) => bundle(&search, &found.looks, situation, test),
                _ => Vec::new(),
            },
            candidates: found
                .looks
                .iter()
                .map(|look| Candidate {
                    test: search.chart(look.chart).test,
                    minutes: look.minutes,
                    gain: look.gain,
                    expected_cost: look.cost,
                })
                .collect(),
            neglected: outlook.neglected,
            cost_error: outlook.neglected * most,
            expansions: search.spent,
            depth,
        };
        (advice, outlook)
    }

    fn by_policy(&self, search: &Search<'_>, found: &Found, situation: &Situation, settings: &PlanSettings) -> Step {
        let looks = &found.looks;
        let test_of = |look: &Look| search.chart(look.chart).test;
        let most = |score: &dyn Fn(&Look) -> f64| {
            looks
                .iter()
                .max_by(|a, b| score(a).total_cmp(&score(b)).then_with(|| test_of(b).cmp(&test_of(a))))
                .map_or(found.step, |look| Step::Test(test_of(look)))
        };
        match &settings.policy {
            Policy::ExpectedCost => found.step,
            Policy::GainPerMinute => most(&Look::rate),
            Policy::Gain => most(&|look| look.gain),
            Policy::Random(seed) => {
                let mut tests: Vec<usize> = looks.iter().map(test_of).collect();
                tests.sort_unstable();
                let draw = mix(seed.wrapping_add(mix(self.readings().len() as u64)));
                match tests.len() {
                    0 => found.step,
                    n => Step::Test(tests[(draw % n as u64) as usize]),
                }
            }
            Policy::FixedOrder { order, skip_below } => {
                let read = |query: QueryId| self.readings().iter().any(|r| r.query == query);
                order
                    .iter()
                    .filter(|&&query| !read(query))
                    .find_map(|&query| {
                        let test = situation.tests.iter().position(|t| t.query == query && situation.offered(t))?;
                        let gain = looks.iter().find(|look| test_of(look) == test).map_or(0.0, |look| look.gain);
                        (gain >= *skip_below).then_some(Step::Test(test))
                    })
                    .unwrap_or(found.step)
            }
        }
    }
}

/// Other tests that need no more than what the recommended one opens, in its state.
fn bundle(search: &Search<'_>, looks: &[Look], situation: &Situation, recommended: usize) -> Vec<usize> {
    let chosen = &situation.tests[recommended];
    let open = situation.open_bits() | bits(&chosen.access);
    let state = chosen.state.unwrap_or(situation.state);
    let mut worth: Vec<(f64, usize)> = looks
        .iter()
        .map(|look| (look, search.chart(look.chart).test))
        .filter(|&(look, test)| {
            let other = &situation.tests[test];
            test != recommended
                && look.gain >= WORTH_BUNDLING
                && bits(&other.access) & !open == 0
                && other.state.is_none_or(|s| s == state)
        })
        .map(|(look, test)| (look.gain / situation.tests[test].minutes.max(1e-6), test))
        .collect();
    worth.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    worth.into_iter().map(|(_, test)| test).collect()
}

/// A number made of a number with no visible pattern (SplitMix64, Steele, Lea & Flood 2014).
fn mix(seed: u64) -> u64 {
    let z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
