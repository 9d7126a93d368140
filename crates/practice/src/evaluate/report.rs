//! What the visits add up to.

use std::collections::BTreeMap;
use std::fmt;

use halfsplit_diagnosis::Ending;
use serde::Serialize;

use super::bench::{Common, JobResult};
use super::interval::wilson;
use super::jobs::{Contender, Part};
use crate::run::{Run, Step};

/// How faults of one name fared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByName {
    /// The name.
    pub name: String,
    /// Visits.
    pub visits: usize,
    /// Visits that count as good.
    pub good: usize,
    /// Mean minutes.
    pub minutes: f64,
}

/// A share with its 95 % interval (Wilson).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// 0 to 1.
    pub share: f64,
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
    /// Out of so many.
    pub of: usize,
}

impl Share {
    fn of<T>(all: &[T], good: impl Fn(&T) -> bool) -> Option<Share> {
        let hits = all.iter().filter(|x| good(x)).count();
        let (low, high) = wilson(hits, all.len());
        (!all.is_empty()).then(|| Share { share: hits as f64 / all.len() as f64, low, high, of: all.len() })
    }
}

/// Stated probabilities between two bounds, and how often they were right.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bin {
    /// When it was stated: "at the first act" or "after the opening".
    pub when: &'static str,
    /// Low end, included.
    pub from: f64,
    /// High end.
    pub to: f64,
    /// Cases.
    pub cases: usize,
    /// Mean stated probability.
    pub stated: f64,
    /// Share that was right.
    pub right: f64,
}

/// How a policy fared on the hidden machines that all policies visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PolicyReport {
    /// The policy.
    pub policy: &'static str,
    /// Visits.
    pub visits: usize,
    /// Mean minutes, wrong repairs and call-backs included.
    pub minutes: f64,
    /// Of these, mean minutes beyond the repairs that the machines need, which are the same for every policy: tests, the way to
    /// them, wrong repairs, call-backs. Who leaves a fault that nobody notices has saved its repair.
    pub minutes_to_find: f64,
    /// Share of visits after which nothing that anybody would notice was wrong.
    pub right: f64,
    /// Share of visits whose first repair was needed (or that rightly found nothing broken).
    pub right_at_once: f64,
    /// Mean number of repairs that put nothing right.
    pub unneeded: f64,
    /// Accuracy within a point of the program's own, where that was asked for: only then the minutes compare.
    pub comparable: bool,
}

/// The evaluation's figures; `None` where a part was not asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// Names of faults, degrees taken together.
    pub modes: usize,
    /// Groups of names that need not or cannot be told apart.
    pub groups: usize,
    /// Tests on offer.
    pub tests: usize,
    /// Names that no test on offer can see.
    pub unseen: Vec<String>,
    /// Singles: mean over names of the share that ended on the right cause or one with the same repair.
    pub singles: Option<f64>,
    /// Of these, with the right repair first.
    pub singles_at_once: Option<f64>,
    /// Needless parts per visit to a single.
    pub singles_needless_parts: Option<f64>,
    /// Share of these visits after which nothing was left that anybody would notice.
    pub singles_quiet: Option<f64>,
    /// All visits to singles, with interval.
    pub singles_interval: Option<Share>,
    /// The worst name's share.
    pub singles_worst: Option<f64>,
    /// Mean minutes of singles.
    pub singles_minutes: Option<f64>,
    /// Intermittents: share that ended right, or honestly with the advice to catch it in the act.
    pub intermittent: Option<f64>,
    /// Pairs by prior: both repaired, proving run passed, no unneeded part.
    pub pairs_prior: Option<f64>,
    /// With interval.
    pub pairs_prior_interval: Option<Share>,
    /// Share of pairs by prior after which nothing was left that anybody would notice.
    pub pairs_prior_quiet: Option<f64>,
    /// Pairs drawn evenly: likewise.
    pub pairs_uniform: Option<f64>,
    /// With interval.
    pub pairs_uniform_interval: Option<Share>,
    /// Names left out of the engine: "something not described", or the same repair.
    pub not_described: Option<f64>,
    /// Names left out: a wrong first repair, or an end with the fault left, stated above .8.
    pub confidently_wrong: Option<f64>,
    /// Of these, what the visit ends with: put right or sound, stated above .8, while the fault is still there; or given
    /// up with a wrong repair stated above .8 as its last.
    pub confidently_wrong_at_the_end: Option<f64>,
    /// Largest distance between stated and right, of bins with 200 cases and more.
    pub calibration_worst_bin: Option<f64>,
    /// Minutes of the program.
    pub minutes: Option<f64>,
    /// Minutes of a fixed order for the opening evidence, passing over tests expected to yield little.
    pub minutes_fixed_order: Option<f64>,
    /// Minutes of the same order without passing over.
    pub minutes_fixed_order_blind: Option<f64>,
    /// Minutes of the chart.
    pub minutes_flowchart: Option<f64>,
    /// Minutes of one-step gain per minute.
    pub minutes_one_step: Option<f64>,
    /// Minutes of gain alone.
    pub minutes_gain: Option<f64>,
    /// Minutes of random tests.
    pub minutes_random: Option<f64>,
    /// Seconds per recommendation: measured by the client, who has a clock.
    pub seconds_per_recommendation: Option<f64>,
    /// Recommendations given.
    pub recommendations: usize,
    /// Singles and intermittents, name by name.
    pub by_name: Vec<ByName>,
    /// Names left out, name by name.
    pub not_described_by_name: Vec<ByName>,
    /// Calibration, bin by bin.
    pub calibration: Vec<Bin>,
    /// Policies, one by one.
    pub policies: Vec<PolicyReport>,
    /// The groups.
    pub group_list: Vec<Vec<String>>,
}

/// Counts.
pub fn summarise(common: &Common, results: &[JobResult]) -> Report {
    let part = |p: Part| results.iter().filter(|r| r.part == p).collect::<Vec<&JobResult>>();
    let (singles, intermittent) = (part(Part::Singles), part(Part::Intermittent));
    let (left_out, prior) = (part(Part::NotDescribed), part(Part::Prior));
    let singles_by_name = by_name(&singles, right);
    let both = |r: &&JobResult| r.own().cured && r.own().unneeded_parts == 0;
    let shares = |list: &[ByName]| list.iter().map(|n| n.good as f64 / n.visits as f64).collect::<Vec<f64>>();
    let pairs_prior = Share::of(&part(Part::PairsPrior), both);
    let pairs_uniform = Share::of(&part(Part::PairsUniform), both);
    let calibration = bins(&prior);
    let policies = policies(&part(Part::Minutes));
    let minutes_of = |c: Contender| policies.iter().find(|x| x.policy == c.name()).map(|x| x.minutes);
    let single_shares = shares(&singles_by_name);
    Report {
        modes: common.modes,
        groups: common.groups.groups.len(),
        tests: common.tests,
        unseen: common.groups.unseen.clone(),
        singles: mean(&single_shares),
        singles_at_once: Share::of(&singles, |r| r.own().right_at_once()).map(|s| s.share),
        singles_needless_parts: mean(&singles.iter().map(|r| r.own().unneeded_parts as f64).collect::<Vec<_>>()),
        singles_quiet: Share::of(&singles, |r| r.own().quiet).map(|s| s.share),
        singles_interval: Share::of(&singles, |r| right(r)),
        singles_worst: single_shares.iter().copied().min_by(f64::total_cmp),
        singles_minutes: mean(&singles.iter().map(|r| r.own().minutes).collect::<Vec<_>>()),
        intermittent: mean(&shares(&by_name(&intermittent, caught))),
        pairs_prior_quiet: Share::of(&part(Part::PairsPrior), |r| r.own().quiet).map(|s| s.share),
        pairs_prior: pairs_prior.map(|s| s.share),
        pairs_prior_interval: pairs_prior,
        pairs_uniform: pairs_uniform.map(|s| s.share),
        pairs_uniform_interval: pairs_uniform,
        not_described: Share::of(&left_out, |r| owned_up(r)).map(|s| s.share),
        confidently_wrong: Share::of(&left_out, |r| confidently_wrong(r.own())).map(|s| s.share),
        confidently_wrong_at_the_end: Share::of(&left_out, |r| wrong_at_the_end(r.own())).map(|s| s.share),
        calibration_worst_bin: calibration
            .iter()
            .filter(|b| b.cases >= 200)
            .map(|b| (b.stated - b.right).abs())
            .max_by(f64::total_cmp),
        minutes: minutes_of(Contender::Own),
        minutes_fixed_order: minutes_of(Contender::Fixed),
        minutes_fixed_order_blind: minutes_of(Contender::Blind),
        minutes_flowchart: minutes_of(Contender::Chart),
        minutes_one_step: minutes_of(Contender::OneStep),
        minutes_gain: minutes_of(Contender::Gain),
        minutes_random: minutes_of(Contender::Random),
        seconds_per_recommendation: None,
        recommendations: results.iter().flat_map(|r| &r.runs).map(|(_, run)| run.asked).sum(),
        by_name: singles_by_name.into_iter().chain(by_name(&intermittent, caught)).collect(),
        not_described_by_name: by_name(&left_out, owned_up),
        calibration,
        policies,
        group_list: common.groups.groups.clone(),
    }
}

fn mean(all: &[f64]) -> Option<f64> {
    (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
}

/// A single fault: the visit ended on the right cause, or one with the same repair.
fn right(r: &JobResult) -> bool {
    r.own().ended_right()
}

/// A fault that comes and goes: right, or sent home with the advice to catch it in the act. What is honest is an
/// ending without a needless part.
fn caught(r: &JobResult) -> bool {
    let run = r.own();
    right(r) || (run.unneeded_parts == 0 && matches!(run.ending(), Some(Ending::CannotTell)))
}

/// A fault that the engine does not know: "something not described" leads at the end, or the visit ended on the same
/// repair under another name.
fn owned_up(r: &JobResult) -> bool {
    let run = r.own();
    run.right_at_once() || right(r) || (matches!(run.ending(), Some(Ending::CannotTell)) && run.not_described > 0.5)
}

fn confidently_wrong(run: &Run) -> bool {
    run.repairs().next().is_some_and(|(stated, right)| stated > 0.8 && !right)
        || run.steps.iter().any(|(s, _)| {
            matches!(s, Step::Ended(Ending::NothingBroken | Ending::Repaired, p) if *p > 0.8) && !run.cured
        })
}

/// What the visit leaves the customer with is wrong, and stated above .8.
fn wrong_at_the_end(run: &Run) -> bool {
    match run.steps.last() {
        Some((Step::Ended(Ending::NothingBroken | Ending::Repaired, p), _)) => *p > 0.8 && !run.cured,
        Some((Step::Ended(Ending::CannotTell, _), _)) => false,
        _ => run.repairs().last().is_some_and(|(stated, right)| stated > 0.8 && !right),
    }
}

fn by_name(results: &[&JobResult], good: impl Fn(&JobResult) -> bool) -> Vec<ByName> {
    let mut all: BTreeMap<&str, ByName> = BTreeMap::new();
    for r in results {
        let name = r.hidden.first().map_or("", String::as_str);
        let entry =
            all.entry(name).or_insert_with(|| ByName { name: name.to_owned(), visits: 0, good: 0, minutes: 0.0 });
        entry.visits += 1;
        entry.good += usize::from(good(r));
        entry.minutes += (r.own().minutes - entry.minutes) / entry.visits as f64;
    }
    all.into_values().collect()
}

/// Stated probabilities in tenths, the highest tenth split once more.
const EDGES: [f64; 12] = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0 + 1e-9];

fn bins(prior: &[&JobResult]) -> Vec<Bin> {
    let acts = prior.iter().filter_map(|r| r.own().first_act(r.hidden.is_empty())).collect::<Vec<_>>();
    let leads = prior.iter().map(|r| r.own().first_lead).collect::<Vec<_>>();
    let mut all = Vec::new();
    for (when, points) in [("at the first act", acts), ("after the opening", leads)] {
        for edge in EDGES.windows(2) {
            let here: Vec<&(f64, bool)> = points.iter().filter(|(p, _)| *p >= edge[0] && *p < edge[1]).collect();
            if here.is_empty() {
                continue;
            }
            let n = here.len() as f64;
            all.push(Bin {
                when,
                from: edge[0],
                to: edge[1].min(1.0),
                cases: here.len(),
                stated: here.iter().map(|x| x.0).sum::<f64>() / n,
                right: here.iter().filter(|x| x.1).count() as f64 / n,
            });
        }
    }
    all
}

fn policies(results: &[&JobResult]) -> Vec<PolicyReport> {
    let Some(first) = results.first() else { return Vec::new() };
    let n = results.len() as f64;
    let mut all: Vec<PolicyReport> = (0..first.runs.len())
        .map(|p| {
            let runs = || results.iter().map(|r| (r, &r.runs[p].1));
            PolicyReport {
                policy: first.runs[p].0,
                visits: results.len(),
                minutes: runs().map(|(_, run)| run.minutes).sum::<f64>() / n,
                minutes_to_find: runs().map(|(_, run)| run.minutes - run.needed).sum::<f64>() / n,
                right: runs().filter(|(_, run)| run.quiet).count() as f64 / n,
                right_at_once: runs()
                    .filter(|(r, run)| run.right_at_once() || (r.hidden.is_empty() && run.repairs().next().is_none()))
                    .count() as f64
                    / n,
                unneeded: runs().map(|(_, run)| run.unneeded as f64).sum::<f64>() / n,
                comparable: true,
            }
        })
        .collect();
    // Without the program's own visits there is nothing to compare with.
    let own = all.iter().find(|p| p.policy == Contender::Own.name()).map(|p| p.right);
    let near = |right: f64| own.is_none_or(|own| (right - own).abs() <= 0.01 + 1e-9);
    all.iter_mut().for_each(|p| p.comparable = near(p.right));
    all
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let share = |s: Option<f64>| s.map_or("-".to_owned(), |s| format!("{:.1} %", 100.0 * s));
        let interval = |s: Option<Share>| {
            s.map_or(String::new(), |s| {
                format!("  (95 %: {:.1} to {:.1} %, {} visits)", 100.0 * s.low, 100.0 * s.high, s.of)
            })
        };
        writeln!(f, "{:<44} {}", "names of faults", self.modes)?;
        writeln!(f, "{:<44} {}", "groups", self.groups)?;
        writeln!(f, "{:<44} {}", "tests", self.tests)?;
        writeln!(f, "{:<44} {} {}", "names that no test can see", self.unseen.len(), self.unseen.join(", "))?;
        let singles = share(self.singles);
        writeln!(f, "{:<44} {singles}{}", "singles, mean over names", interval(self.singles_interval))?;
        writeln!(f, "{:<44} {}", "singles, worst name", share(self.singles_worst))?;
        writeln!(f, "{:<44} {}", "singles, the right repair first", share(self.singles_at_once))?;
        writeln!(f, "{:<44} {}", "singles, nothing left that anybody notices", share(self.singles_quiet))?;
        if let Some(n) = self.singles_needless_parts {
            writeln!(f, "{:<44} {n:.2}", "singles, needless parts per visit")?;
        }
        if let Some(m) = self.singles_minutes {
            writeln!(f, "{:<44} {m:.0}", "singles, mean minutes")?;
        }
        writeln!(f, "{:<44} {}", "intermittent, mean over names", share(self.intermittent))?;
        let pairs = share(self.pairs_prior);
        writeln!(f, "{:<44} {pairs}{}", "pairs by prior", interval(self.pairs_prior_interval))?;
        writeln!(f, "{:<44} {}", "pairs by prior, nothing anybody notices left", share(self.pairs_prior_quiet))?;
        let pairs = share(self.pairs_uniform);
        writeln!(f, "{:<44} {pairs}{}", "pairs drawn evenly", interval(self.pairs_uniform_interval))?;
        writeln!(f, "{:<44} {}", "left out: owned up, or the same repair", share(self.not_described))?;
        writeln!(f, "{:<44} {}", "left out: confidently wrong", share(self.confidently_wrong))?;
        writeln!(f, "{:<44} {}", "left out: confidently wrong at the end", share(self.confidently_wrong_at_the_end))?;
        writeln!(f, "{:<44} {}", "calibration, worst bin of 200 and more", share(self.calibration_worst_bin))?;
        if let Some(s) = self.seconds_per_recommendation {
            writeln!(f, "{:<44} {s:.3} ({} given)", "seconds per recommendation", self.recommendations)?;
        }
        for p in &self.policies {
            writeln!(
                f,
                "minutes, {:<35} {:.1}, {:.1} beyond the repairs needed  (right {:.1} %, at once {:.1} %, {:.2} needless repairs, {} visits{})",
                p.policy,
                p.minutes,
                p.minutes_to_find,
                100.0 * p.right,
                100.0 * p.right_at_once,
                p.unneeded,
                p.visits,
                if p.comparable { "" } else { "; not comparable" }
            )?;
        }
        for b in &self.calibration {
            writeln!(
                f,
                "stated {:.2} to {:.2} {:<18} {:5} cases: stated {:.3}, right {:.3}",
                b.from, b.to, b.when, b.cases, b.stated, b.right
            )?;
        }
        for (title, list) in [("", &self.by_name), ("left out: ", &self.not_described_by_name)] {
            for n in list.iter().filter(|n| n.good < n.visits) {
                writeln!(f, "{title}{:<28} {:3} of {:3} {:6.0} min", n.name, n.good, n.visits, n.minutes)?;
            }
        }
        Ok(())
    }
}
