//! Which test to begin with where the search sees no further than one step: the one with which information comes fastest,
//! what would follow it counted in.
//!
//! One step ahead, a test pays alone for the cover that it needs open and the state that it needs the machine in, though what
//! follows will use both. So tests are weighed with one that follows, chosen by what the first shows, or with none: most
//! information for the minutes of both. (Panels as access clusters: Ottosen and Jensen, UAI 2010.) The ratio is found
//! as Dinkelbach (Management Science 13, 1967) does: at the best rate so far a minute has a price, the plan that is
//! worth most at that price has a better rate or is the best.

use crate::plan::act::Ground;
use crate::plan::search::{Look, Node, Search, rate, uncertainty};

/// Tests that are weighed as the first of two.
const FIRST: usize = 10;

/// Tests that may follow, beside those that need no more than what the first has opened.
const FOLLOWING: usize = 16;

/// Of those that need no more than what the first has opened, so many.
const BESIDE: usize = 8;

/// Rounds of the ratio's search. The first one or two do nearly everything.
const ROUNDS: usize = 2;

/// What may follow an outcome: minutes there, weighted by the chance of it, and what it would tell.
struct Following {
    minutes: f64,
    gain: f64,
}

/// A first test with what may follow each of its outcomes.
struct Opening {
    chart: usize,
    minutes: f64,
    gain: f64,
    after: Vec<Vec<Following>>,
}

impl Opening {
    /// Gain and minutes if after each outcome the test follows that is worth most at this price of a minute, if any is.
    fn at(&self, price: f64) -> (f64, f64) {
        let (mut gain, mut minutes) = (self.gain, self.minutes);
        for outcome in &self.after {
            let best = outcome
                .iter()
                .map(|f| (f.gain - price * f.minutes, f))
                .filter(|(worth, _)| *worth > 0.0)
                .max_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((_, f)) = best {
                gain += f.gain;
                minutes += f.minutes;
            }
        }
        (gain, minutes)
    }
}

impl Search<'_> {
    /// The test to begin with, out of `looks`; `None` if there is none.
    pub(super) fn fastest(&self, root: &Node, looks: &[Look]) -> Option<usize> {
        let mass: f64 = root.weights.iter().sum();
        let mut by_rate: Vec<&Look> = looks.iter().filter(|l| l.gain > 0.0).collect();
        by_rate.sort_by(|a, b| b.rate().total_cmp(&a.rate()).then(a.chart.cmp(&b.chart)));
        let leader = by_rate.first()?;
        let openings: Vec<Opening> =
            by_rate.iter().take(FIRST).map(|look| self.opening(root, look, &by_rate)).collect();
        let mut best = leader.chart;
        let mut price = leader.rate() / mass;
        for _ in 0..ROUNDS {
            let found = openings
                .iter()
                .map(|o| {
                    let (gain, minutes) = o.at(price);
                    (gain - price * minutes, rate(gain, minutes), o.chart)
                })
                .max_by(|a, b| a.0.total_cmp(&b.0).then(b.2.cmp(&a.2)));
            let Some((worth, pace, chart)) = found else { break };
            if worth <= 1e-12 {
                break;
            }
            best = chart;
            price = pace;
        }
        Some(best)
    }

    fn opening(&self, root: &Node, look: &Look, by_rate: &[&Look]) -> Opening {
        let mass: f64 = root.weights.iter().sum();
        let ground = self.ground_after(root, look.chart, look.minutes);
        let following = self.following(look, &ground, by_rate);
        let (mut weights, mut masses) = (Vec::new(), vec![0.0; self.outlook.needs.len()]);
        let mut unsure_of = |weights: &[f64], row: Option<&[f64]>| {
            masses.fill(0.0);
            for ((&class, &n), weight) in root.classes.iter().zip(&root.particles).zip(weights) {
                masses[class] += row.map_or(*weight, |row| weight * row[n]);
            }
            uncertainty(&masses)
        };
        let after = self.outlook.charts[look.chart]
            .rows()
            .map(|row| {
                weights.clear();
                weights.extend(root.particles.iter().zip(&root.weights).map(|(&n, w)| w * row[n]));
                let reached: f64 = weights.iter().sum();
                let unsure = unsure_of(&weights, None);
                let follow = |&(chart, minutes): &(usize, f64)| {
                    let rows = self.outlook.charts[chart].rows();
                    let left: f64 = rows.map(|row| unsure_of(&weights, Some(row))).sum();
                    Following { minutes: reached * minutes, gain: unsure - left }
                };
                following.iter().map(follow).collect()
            })
            .collect();
        Opening { chart: look.chart, minutes: mass * look.minutes, gain: look.gain, after }
    }

    /// What may follow: the most informative per minute now, and those that become cheap with the first; with their minutes then.
    fn following(&self, first: &Look, ground: &Ground, by_rate: &[&Look]) -> Vec<(usize, f64)> {
        let others: Vec<(&Look, f64)> = by_rate
            .iter()
            .filter(|look| look.chart != first.chart)
            .map(|look| (*look, self.minutes_on(ground, look.chart)))
            .filter(|(_, minutes)| *minutes <= ground.minutes_left)
            .collect();
        let (best, rest) = others.split_at(others.len().min(FOLLOWING));
        let pace = |(look, minutes): &(&Look, f64)| rate(look.gain, *minutes);
        let mut cheap: Vec<(&Look, f64)> = rest.iter().filter(|(look, then)| *then < look.minutes).copied().collect();
        cheap.sort_by(|a, b| pace(b).total_cmp(&pace(a)).then(a.0.chart.cmp(&b.0.chart)));
        best.iter().chain(cheap.iter().take(BESIDE)).map(|(look, minutes)| (look.chart, *minutes)).collect()
    }
}
