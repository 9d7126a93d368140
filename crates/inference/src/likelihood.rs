//! How likely readings are under a prediction.
//!
//! A reading is a slip with the kind's probability ε, and then drawn from the kind's broad
//! distribution; otherwise it follows the prediction: `(1−ε)·p + ε·broad`.
//!
//! Readings of one **repeat group** that are predicted alike share their common error: where one thing shows another
//! number than before, because something was put right between them, it is not the same error any more. A number is
//! `centre + common·u + noise`, with `u` standard normal and the same for the whole group, and the
//! noise and the slip drawn afresh for each. Which side of the instrument's range a number lies on,
//! and which category is seen, are kept as well: one uniform `t`, shared by the group, picks the
//! state of each reading by its prediction's cumulative probabilities. The group's likelihood is
//! then the integral over `t` (finitely many pieces) and `u`: in closed form over the subsets of
//! slips when all are plain values, by Gauss–Legendre quadrature between the kinks otherwise.

use crate::normal;
use crate::prediction::{NumberPrediction, Prediction};
use crate::problem::{Broad, Observed, QueryKind};

/// Values in one repeat group up to which the subsets of slips are summed in closed form.
const CLOSED_FORM_LIMIT: usize = 8;

/// No probability of a broad distribution is below this: an observation that a client thought
/// impossible must not make the whole evidence vanish.
const LEAST_BROAD: f64 = 1e-12;

/// Probability (density for a plain value) of an observation in a slip.
pub(crate) fn broad(kind: &QueryKind, observed: Observed) -> f64 {
    match &kind.broad {
        Broad::Categories(p) => {
            let sum: f64 = p.iter().map(|x| x.max(0.0)).sum();
            match observed {
                Observed::Category(i) if i < p.len() && sum > 0.0 => (p[i].max(0.0) / sum).max(LEAST_BROAD),
                _ => LEAST_BROAD,
            }
        }
        Broad::Number { low, high, p_over, p_under } => broad_number(*low, *high, *p_over, *p_under, observed),
    }
}

/// Probability (density for a plain value) of an observation in a slip, times that of a slip.
pub(crate) fn slipped(kind: &QueryKind, observed: Observed) -> f64 {
    let anything = broad(kind, observed);
    kind.slip
        * kind.slips_to.map_or(anything, |to| {
            let there = match observed {
                Observed::Over | Observed::Under | Observed::Category(_) => 0.0,
                _ => number_in_range(kind, to.at, to.sd, observed),
            };
            (1.0 - to.share) * anything + to.share * there
        })
}

fn broad_number(low: f64, high: f64, over: f64, under: f64, observed: Observed) -> f64 {
    let width = (high - low).max(f64::MIN_POSITIVE);
    let middle = 0.5 * (low + high);
    let in_range = (1.0 - over - under).max(0.0);
    let up_to = |x: f64| {
        let even = ((x - low) / width).clamp(0.0, 1.0);
        in_range * (0.98 * even + 0.02 * normal::below((x - middle) / (2.0 * width)))
    };
    let p = match observed {
        Observed::Value(x) => {
            let even = if (low..=high).contains(&x) { 1.0 / width } else { 0.0 };
            return (in_range * (0.98 * even + 0.02 * normal::density(x, middle, 2.0 * width)))
                .max(LEAST_BROAD / width);
        }
        Observed::AtLeast(x) => in_range - up_to(x) + over,
        Observed::AtMost(x) => up_to(x) + under,
        Observed::Between(a, b) => up_to(b) - up_to(a),
        Observed::Over => over,
        Observed::Under => under,
        Observed::Category(_) => 0.0,
    };
    p.max(LEAST_BROAD)
}

/// Probability (density) of an observation given that the number is in range, its error of any
/// origin having standard deviation `sd` about `centre`.
fn number_in_range(kind: &QueryKind, centre: f64, sd: f64, observed: Observed) -> f64 {
    let z = |x: f64| (x - centre) / sd;
    match observed {
        Observed::Value(x) => normal::density(x, centre, sd),
        Observed::AtLeast(x) => normal::below(-z(x)),
        Observed::AtMost(x) => normal::below(z(x)),
        Observed::Between(a, b) => normal::between(z(a), z(b)),
        Observed::Over => kind.high_limit.map_or(0.0, |x| normal::below(-z(x))),
        Observed::Under => kind.low_limit.map_or(0.0, |x| normal::below(z(x))),
        Observed::Category(_) => 0.0,
    }
}

/// Whether an observation fits a number beyond the high end of the range.
fn fits_over(observed: Observed) -> f64 {
    f64::from(matches!(observed, Observed::Over | Observed::AtLeast(_)))
}

/// Whether an observation fits a number beyond the low end of the range.
fn fits_under(observed: Observed) -> f64 {
    f64::from(matches!(observed, Observed::Under | Observed::AtMost(_)))
}

/// Likelihood of one reading that no other shares an error with.
pub(crate) fn single(kind: &QueryKind, prediction: &Prediction, observed: Observed) -> f64 {
    let p = match prediction {
        Prediction::Number(n) => {
            n.in_range() * number_in_range(kind, n.centre, n.total_sd(), observed)
                + n.over * fits_over(observed)
                + n.under * fits_under(observed)
        }
        Prediction::Categories(p) => match observed {
            Observed::Category(i) => p.get(i).copied().unwrap_or(0.0),
            _ => 0.0,
        },
    };
    (1.0 - kind.slip) * p + slipped(kind, observed)
}

/// The largest likelihood that any prediction of this kind can give an observation, conditional on
/// whatever was read before. `repeat`: an earlier reading shares the common error, so only the
/// noise is left to widen it.
pub(crate) fn ceiling(kind: &QueryKind, observed: Observed, repeat: bool) -> f64 {
    let p = match observed {
        Observed::Value(x) => {
            let noise = kind.least_noise_sd.max(f64::MIN_POSITIVE);
            if repeat {
                normal::INV_SQRT_TAU / noise
            } else {
                let floor = (noise * noise + kind.least_common_sd * kind.least_common_sd).sqrt();
                sharpest(x, floor, kind.least_share)
            }
        }
        _ => 1.0,
    };
    (1.0 - kind.slip) * p + slipped(kind, observed)
}

/// The highest density that a normal distribution can have at `x`, its standard deviation being neither below `floor` nor
/// below `share` of its centre.
fn sharpest(x: f64, floor: f64, share: f64) -> f64 {
    // At a standard deviation of exactly a share of the centre c: with q = x/c the density's logarithm is
    // ln(q/(share·|x|)) − (q−1)²/(2·share²), and highest where q·(q−1) = share².
    let q = 0.5 * (1.0 + (1.0 + 4.0 * share * share).sqrt());
    let off = (q - 1.0) / share.max(f64::MIN_POSITIVE);
    let by_share = (share * x.abs() / q).max(f64::MIN_POSITIVE);
    if by_share <= floor {
        return normal::INV_SQRT_TAU / floor;
    }
    let beyond = libm::exp(-0.5 * off * off) / by_share;
    // From here inwards the floor holds; the centre there that is nearest to `x` is the outermost.
    let off = (x.abs() - floor / share).max(0.0) / floor;
    let at_floor = libm::exp(-0.5 * off * off) / floor;
    normal::INV_SQRT_TAU * beyond.max(at_floor)
}

/// One reading of a repeat group, under one hypothesis and sample.
#[derive(Clone, Copy)]
pub(crate) struct Item<'a> {
    pub kind: &'a QueryKind,
    pub prediction: &'a Prediction,
    pub observed: Observed,
}

/// Joint likelihood of readings of a repeat group.
pub(crate) fn group(items: &[Item<'_>]) -> f64 {
    match items {
        [] => 1.0,
        [first, rest @ ..] if rest.iter().all(|x| alike(first.prediction, x.prediction)) => over_alike(items),
        _ => {
            // Linked through others counts too: the order in which they came must not matter.
            let mut left: Vec<Item<'_>> = items.to_vec();
            let mut product = 1.0;
            while let Some(first) = left.pop() {
                let mut linked = vec![first];
                let mut at = 0;
                while at < linked.len() {
                    let from = linked[at].prediction;
                    let (with, others) = left.into_iter().partition(|x| alike(from, x.prediction));
                    linked.extend::<Vec<Item<'_>>>(with);
                    left = others;
                    at += 1;
                }
                product *= over_alike(&linked);
            }
            product
        }
    }
}

fn over_alike(items: &[Item<'_>]) -> f64 {
    match items {
        [only] => single(only.kind, only.prediction, only.observed),
        _ => over_states(items),
    }
}

/// Numbers are predicted alike when they lie within this share of their common error. Judgement.
const ALIKE: f64 = 0.5;

/// Whether two predictions are the same but for details, so that what is off in one is off in the other.
pub(crate) fn alike(a: &Prediction, b: &Prediction) -> bool {
    match (a, b) {
        (Prediction::Number(a), Prediction::Number(b)) => {
            (a.centre - b.centre).abs() <= ALIKE * a.common.max(b.common).max(a.noise.max(b.noise))
                && (a.common - b.common).abs() <= ALIKE * a.common.max(b.common)
                && (a.over - b.over).abs() <= ALIKE
        }
        _ => true,
    }
}

/// Sums over the pieces of `t` on which every reading's state is settled.
fn over_states(items: &[Item<'_>]) -> f64 {
    if let Some(numbers) = items.iter().map(certainly_in_range).collect::<Option<Vec<_>>>() {
        return shared_error(&numbers);
    }
    let mut edges = vec![0.0, 1.0];
    for item in items {
        match item.prediction {
            Prediction::Number(n) => {
                if n.under > 0.0 {
                    edges.push(n.under);
                }
                if n.over > 0.0 {
                    edges.push(1.0 - n.over);
                }
            }
            Prediction::Categories(p) => {
                let mut sum = 0.0;
                for x in p {
                    sum += x;
                    edges.push(sum.min(1.0));
                }
            }
        }
    }
    edges.sort_unstable_by(f64::total_cmp);
    edges.dedup();
    let mut total = 0.0;
    let mut numbers = Vec::with_capacity(items.len());
    for piece in edges.windows(2) {
        let (width, t) = (piece[1] - piece[0], 0.5 * (piece[0] + piece[1]));
        let mut factor = width;
        numbers.clear();
        for item in items {
            let slip = item.kind.slip;
            let slipped = slipped(item.kind, item.observed);
            let fits = match item.prediction {
                Prediction::Number(n) if t < n.under => fits_under(item.observed),
                Prediction::Number(n) if t > 1.0 - n.over => fits_over(item.observed),
                Prediction::Number(n) => {
                    numbers.push(Reading::new(item, n, slipped));
                    continue;
                }
                Prediction::Categories(p) => category_fits(item, p, t),
            };
            factor *= (1.0 - slip) * fits + slipped;
        }
        if factor > 0.0 {
            total += factor * shared_error(&numbers);
        }
    }
    total
}

/// The reading, if it is expected to be a number in range and nothing else.
fn certainly_in_range<'a>(item: &Item<'a>) -> Option<Reading<'a>> {
    match item.prediction {
        Prediction::Number(n) if n.over == 0.0 && n.under == 0.0 => {
            Some(Reading::new(item, n, slipped(item.kind, item.observed)))
        }
        _ => None,
    }
}

fn category_fits(item: &Item<'_>, p: &[f64], t: f64) -> f64 {
    let Observed::Category(seen) = item.observed else {
        return 0.0;
    };
    let mut sum = 0.0;
    let state = p
        .iter()
        .position(|x| {
            sum += x;
            t < sum
        })
        .unwrap_or(p.len().saturating_sub(1));
    let redraw = item.kind.category_redraw;
    (1.0 - redraw) * f64::from(state == seen) + redraw * p.get(seen).copied().unwrap_or(0.0)
}

/// A number in range, on its way to the integral over the shared error.
struct Reading<'a> {
    kind: &'a QueryKind,
    observed: Observed,
    centre: f64,
    noise: f64,
    common: f64,
    /// ε·broad
    slipped: f64,
    /// 1 − ε
    kept: f64,
}

impl<'a> Reading<'a> {
    fn new(item: &Item<'a>, n: &NumberPrediction, slipped: f64) -> Reading<'a> {
        Reading {
            kind: item.kind,
            observed: item.observed,
            centre: n.centre,
            noise: n.noise,
            common: n.common,
            slipped,
            kept: 1.0 - item.kind.slip,
        }
    }

    /// Likelihood when the shared error is `u`.
    fn at(&self, u: f64) -> f64 {
        let centre = self.centre + self.common * u;
        self.kept * number_in_range(self.kind, centre, self.noise, self.observed) + self.slipped
    }
}

/// ∫ φ(u) Π p(reading | u) du
fn shared_error(readings: &[Reading<'_>]) -> f64 {
    if readings.iter().all(|r| r.common == 0.0) {
        return readings.iter().map(|r| r.at(0.0)).product();
    }
    if let [r] = readings {
        let sd = (r.noise * r.noise + r.common * r.common).sqrt();
        return r.kept * number_in_range(r.kind, r.centre, sd, r.observed) + r.slipped;
    }
    let plain = readings.iter().all(|r| matches!(r.observed, Observed::Value(_)));
    if plain && readings.len() <= CLOSED_FORM_LIMIT {
        let mut total = 0.0;
        over_slips(readings, SharedError::PRIOR, &mut |belief| {
            total += belief.weight();
        });
        total
    } else {
        quadrature(readings)
    }
}

/// What a set of readings, taken as good, says about the shared error: a normal with this
/// precision, and the weight of the set.
#[derive(Clone, Copy)]
struct SharedError {
    /// Precision; the prior's is one.
    precision: f64,
    /// Precision times mean.
    pull: f64,
    /// Sum of squared residuals in units of noise.
    squares: f64,
    /// Product of the factors that do not depend on the shared error.
    factor: f64,
}

impl SharedError {
    const PRIOR: SharedError = SharedError { precision: 1.0, pull: 0.0, squares: 0.0, factor: 1.0 };

    fn with(mut self, r: &Reading<'_>, value: f64) -> SharedError {
        let residual = (value - r.centre) / r.noise;
        let lever = r.common / r.noise;
        self.precision += lever * lever;
        self.pull += lever * residual;
        self.squares += residual * residual;
        self.factor *= r.kept * normal::INV_SQRT_TAU / r.noise;
        self
    }

    /// The marginal likelihood of the set.
    fn weight(&self) -> f64 {
        let exponent = -0.5 * (self.squares - self.pull * self.pull / self.precision);
        self.factor * libm::exp(exponent.min(0.0)) / self.precision.sqrt()
    }
}

/// Visits every division of the readings into good ones and slips.
fn over_slips(readings: &[Reading<'_>], belief: SharedError, visit: &mut impl FnMut(&SharedError)) {
    match readings.split_first() {
        None => visit(&belief),
        Some((r, rest)) => {
            if let Observed::Value(x) = r.observed {
                over_slips(rest, belief.with(r, x), visit);
            }
            if r.slipped > 0.0 {
                let mut slipped = belief;
                slipped.factor *= r.slipped;
                over_slips(rest, slipped, visit);
            }
        }
    }
}

/// Nodes and weights of the eight-point Gauss–Legendre rule on −1..1 (positive half).
/// Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.4 (from memory).
const LEGENDRE: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_27),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// The integral over the shared error, piece by piece between the places where it bends.
fn quadrature(readings: &[Reading<'_>]) -> f64 {
    const REACH: f64 = 9.0;
    const SPREAD: [f64; 11] = [-9.0, -6.0, -4.0, -2.5, -1.0, 0.0, 1.0, 2.5, 4.0, 6.0, 9.0];
    let mut edges: Vec<f64> = SPREAD.to_vec();
    for r in readings.iter().filter(|r| r.common > 0.0) {
        let mut bend = |x: f64| {
            let (at, width) = ((x - r.centre) / r.common, r.noise / r.common);
            for step in SPREAD {
                edges.push((at + step * width).clamp(-REACH, REACH));
            }
        };
        match r.observed {
            Observed::Value(x) | Observed::AtLeast(x) | Observed::AtMost(x) => bend(x),
            Observed::Between(a, b) => {
                bend(a);
                bend(b);
            }
            Observed::Over => r.kind.high_limit.iter().for_each(|&x| bend(x)),
            Observed::Under => r.kind.low_limit.iter().for_each(|&x| bend(x)),
            Observed::Category(_) => {}
        }
    }
    edges.sort_unstable_by(f64::total_cmp);
    edges.dedup();
    let mut total = 0.0;
    for piece in edges.windows(2) {
        let (middle, half) = (0.5 * (piece[0] + piece[1]), 0.5 * (piece[1] - piece[0]));
        for (node, weight) in LEGENDRE {
            for u in [middle - half * node, middle + half * node] {
                let product: f64 = readings.iter().map(|r| r.at(u)).product();
                total += half * weight * product * normal::INV_SQRT_TAU * libm::exp(-0.5 * u * u);
            }
        }
    }
    total
}

/// A part of the mixture that the next reading of a group is expected from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Component {
    pub weight: f64,
    pub centre: f64,
    pub sd: f64,
}

/// What the next number in range is expected to be, after earlier plain values of the same group:
/// a mixture of normals (slips of the next reading not included). Earlier bounds are left out:
/// this serves planning only.
pub(crate) fn next_in_group(earlier: &[Item<'_>], next: &NumberPrediction) -> Vec<Component> {
    let readings: Vec<Reading<'_>> = earlier
        .iter()
        .filter(|item| matches!(item.observed, Observed::Value(_)))
        .take(CLOSED_FORM_LIMIT)
        .filter_map(|item| match item.prediction {
            Prediction::Number(n) if !alike(item.prediction, &Prediction::Number(*next)) => None,
            Prediction::Number(n) => Some(Reading::new(item, n, slipped(item.kind, item.observed))),
            Prediction::Categories(_) => None,
        })
        .collect();
    let mut components = Vec::new();
    let mut total = 0.0;
    over_slips(&readings, SharedError::PRIOR, &mut |belief| {
        let weight = belief.weight();
        total += weight;
        components.push(Component {
            weight,
            centre: next.centre + next.common * belief.pull / belief.precision,
            sd: (next.noise * next.noise + next.common * next.common / belief.precision).sqrt(),
        });
    });
    if total > 0.0 {
        for c in &mut components {
            c.weight /= total;
        }
        components.retain(|c| c.weight > 1e-4);
        components
    } else {
        vec![Component { weight: 1.0, centre: next.centre, sd: next.total_sd() }]
    }
}

/// Joint likelihood of readings of **one** query when a fault that nobody has described disturbs
/// it: the broad distribution, with repeats showing the same strange thing again but for noise.
///
/// `noise` is the noise of the sound prediction. Plain values that agree are drawn about a common
/// centre whose density is the broad one at their mean; bounds count as independent draws.
pub(crate) fn disturbed(kind: &QueryKind, noise: f64, observed: &[Observed]) -> f64 {
    if let [only] = observed {
        return broad(kind, *only);
    }
    let slip = kind.slip;
    match &kind.broad {
        Broad::Categories(_) => {
            let prediction = Prediction::Categories(Prediction::broad_categories(kind));
            let items: Vec<Item<'_>> =
                observed.iter().map(|&observed| Item { kind, prediction: &prediction, observed }).collect();
            group(&items)
        }
        Broad::Number { p_over, p_under, .. } => {
            let beyond = |p: f64, fits: fn(Observed) -> f64| -> f64 {
                let product: f64 = observed.iter().map(|&x| (1.0 - slip) * fits(x) + slipped(kind, x)).product();
                p * product
            };
            let in_range = (1.0 - p_over - p_under).max(0.0);
            let values: Vec<f64> = observed
                .iter()
                .filter_map(|x| match x {
                    Observed::Value(v) => Some(*v),
                    _ => None,
                })
                .collect();
            let others: f64 = observed
                .iter()
                .filter(|x| !matches!(x, Observed::Value(_)))
                .map(|&x| if matches!(x, Observed::Over | Observed::Under) { slipped(kind, x) } else { broad(kind, x) })
                .product();
            beyond(*p_over, fits_over)
                + beyond(*p_under, fits_under)
                + others * same_strange_value(kind, noise, in_range, &values)
        }
    }
}

fn same_strange_value(kind: &QueryKind, noise: f64, in_range: f64, values: &[f64]) -> f64 {
    let slip = kind.slip;
    let mut total = 0.0;
    let count = values.len().min(CLOSED_FORM_LIMIT);
    for subset in 0..1_u32 << count {
        let good = |i: usize| i >= count || subset >> i & 1 == 1;
        let mut factor = 1.0;
        let (mut n, mut sum) = (0.0, 0.0);
        for (i, &x) in values.iter().enumerate() {
            if good(i) {
                factor *= 1.0 - slip;
                n += 1.0;
                sum += x;
            } else {
                factor *= slipped(kind, Observed::Value(x));
            }
        }
        if n > 0.0 {
            let mean = sum / n;
            let mut squares = 0.0;
            for (i, &x) in values.iter().enumerate() {
                if good(i) {
                    squares += (x - mean) * (x - mean);
                    factor *= normal::INV_SQRT_TAU / noise;
                }
            }
            // ∫ Π N(x; c, noise) dc over an even prior for the common centre c.
            let even = noise / (normal::INV_SQRT_TAU * n.sqrt()) * libm::exp(-0.5 * squares / (noise * noise));
            factor *= broad(kind, Observed::Value(mean)) * even;
        } else {
            factor *= in_range;
        }
        total += factor;
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::{Predicted, SlipsTo};

    fn number(centre: f64, noise: f64, common: f64, kind: &QueryKind) -> Prediction {
        Prediction::new(Predicted::Number { centre, noise_sd: noise, common_sd: common }, kind)
    }

    /// Plain trapezium over the shared error, dense enough to be an oracle.
    fn trapezium(items: &[(Observed, f64, f64, f64)], kind: &QueryKind) -> f64 {
        let n = 400_000;
        let step = 18.0 / f64::from(n);
        (0..=n)
            .map(|i| {
                let u = -9.0 + step * f64::from(i);
                let product: f64 = items
                    .iter()
                    .map(|&(x, c, noise, common)| {
                        (1.0 - kind.slip) * number_in_range(kind, c + common * u, noise, x) + kind.slip * broad(kind, x)
                    })
                    .product();
                product * normal::density(u, 0.0, 1.0) * step
            })
            .sum()
    }

    fn joint(items: &[(Observed, f64, f64, f64)], kind: &QueryKind) -> f64 {
        let predictions: Vec<Prediction> =
            items.iter().map(|&(_, c, noise, common)| number(c, noise, common, kind)).collect();
        let items: Vec<Item<'_>> = items
            .iter()
            .zip(&predictions)
            .map(|(&(observed, ..), prediction)| Item { kind, prediction, observed })
            .collect();
        group(&items)
    }

    #[test]
    fn closed_form_and_quadrature_agree_with_a_plain_integral() {
        let mut kind = QueryKind::number(-20.0, 20.0, 0.01);
        kind.high_limit = Some(3.0);
        let cases: [&[(Observed, f64, f64, f64)]; 4] = [
            &[(Observed::Value(1.2), 1.0, 0.05, 0.4), (Observed::Value(1.25), 1.0, 0.05, 0.4)],
            &[
                (Observed::Value(1.2), 1.0, 0.02, 0.4),
                (Observed::Value(9.0), 1.0, 0.02, 0.4),
                (Observed::Value(1.21), 1.0, 0.02, 0.4),
            ],
            &[(Observed::AtLeast(1.5), 1.0, 0.1, 0.4), (Observed::Value(1.6), 1.0, 0.1, 0.4)],
            &[
                (Observed::Over, 2.8, 0.05, 0.3),
                (Observed::Between(2.9, 3.0), 2.8, 0.05, 0.3),
                (Observed::AtMost(3.1), 2.8, 0.05, 0.3),
            ],
        ];
        for case in cases {
            let (got, want) = (joint(case, &kind), trapezium(case, &kind));
            assert!((got / want - 1.0).abs() < 1e-7, "{got} {want}");
        }
    }

    #[test]
    fn a_repeat_adds_little_once_the_common_error_dominates() {
        let kind = QueryKind::number(-20.0, 20.0, 0.01);
        let one = |c| joint(&[(Observed::Value(1.0), c, 0.05, 1.0)], &kind);
        let two = |c| joint(&[(Observed::Value(1.0), c, 0.05, 1.0), (Observed::Value(1.0), c, 0.05, 1.0)], &kind);
        let (first, both) = (one(1.0) / one(3.0), two(1.0) / two(3.0));
        assert!(both > first && both < first * 1.2, "{first} {both}");
    }

    #[test]
    fn seeing_the_same_category_again_proves_only_that_it_was_no_slip() {
        let kind = QueryKind::categories(2);
        let p = Prediction::Categories(vec![0.9, 0.1]);
        let look = |n: usize| {
            let items = vec![Item { kind: &kind, prediction: &p, observed: Observed::Category(1) }; n];
            group(&items)
        };
        // One latent category; ε = .02 spread evenly over two.
        let want = 0.1 * (0.98 + 0.01_f64) * 0.99 + 0.9 * 0.01 * 0.01;
        assert!((look(2) - want).abs() < 1e-15);
    }

    #[test]
    fn slips_heap_up_where_the_kind_says_and_their_chances_sum_to_one() {
        let mut kind = QueryKind::number(0.0, 276.0, 0.3);
        kind.slips_to = Some(SlipsTo { at: 0.0, sd: 0.5, share: 0.3 });
        let p = number(230.0, 1.0, 4.0, &kind);
        // A probe that touches nothing, against a reading anywhere.
        let nothing = single(&kind, &p, Observed::Value(0.0));
        let anywhere = single(&kind, &p, Observed::Value(100.0));
        assert!(nothing > 50.0 * anywhere, "{nothing} {anywhere}");
        let step = 0.01;
        let in_range: f64 =
            (-200_000..200_000).map(|i| single(&kind, &p, Observed::Value(f64::from(i) * step)) * step).sum();
        let beyond = single(&kind, &p, Observed::Over) + single(&kind, &p, Observed::Under);
        assert!((in_range + beyond - 1.0).abs() < 1e-4, "{in_range} {beyond}");
        // What is not described goes by the broad distribution alone.
        kind.slip = 0.0;
        let before = disturbed(&kind, 0.3, &[Observed::Value(0.0)]);
        kind.slips_to = None;
        assert_eq!(before, disturbed(&kind, 0.3, &[Observed::Value(0.0)]));
    }

    #[test]
    fn no_prediction_beats_the_ceiling() {
        let mut kind = QueryKind::number(0.0, 10.0, 0.1);
        kind.least_common_sd = 0.2;
        for observed in [Observed::Value(3.0), Observed::Over, Observed::AtLeast(2.0), Observed::Between(1.0, 4.0)] {
            for centre in [2.9, 3.0, 3.05] {
                let p = number(centre, 0.0, 0.0, &kind);
                assert!(single(&kind, &p, observed) <= ceiling(&kind, observed, false) + 1e-15);
            }
        }
    }

    #[test]
    fn the_ceiling_by_share_is_reached_and_not_beaten() {
        for (share, noise) in [(0.02, 0.3), (0.2, 0.3), (0.5, 0.01), (0.02, 50.0)] {
            let mut kind = QueryKind::number(-300.0, 300.0, noise);
            kind.least_share = share;
            for x in [0.0, 0.1, 3.0, 14.9, 15.1, -40.0, 240.0] {
                let best = (-60_000..60_000)
                    .map(|i| single(&kind, &number(f64::from(i) * 0.005, 0.0, 0.0, &kind), Observed::Value(x)))
                    .fold(0.0, f64::max);
                let most = ceiling(&kind, Observed::Value(x), false);
                assert!(best <= most * (1.0 + 1e-12), "{share} {noise} {x}: {best} above {most}");
                assert!(best > 0.99 * most, "{share} {noise} {x}: {best} far below {most}");
            }
        }
    }

    #[test]
    fn a_prediction_narrower_than_its_kind_allows_is_widened() {
        let mut kind = QueryKind::number(0.0, 300.0, 0.3);
        kind.least_share = 0.02;
        let Prediction::Number(n) = number(-200.0, 0.0, 1.0, &kind) else { panic!("a number") };
        assert!((n.total_sd() - 4.0).abs() < 1e-12 && n.noise == 0.3, "{n:?}");
        // A wider one stays what it is.
        let Prediction::Number(n) = number(200.0, 0.5, 7.0, &kind) else { panic!("a number") };
        assert_eq!((n.noise, n.common), (0.5, 7.0));
    }

    #[test]
    fn a_strange_value_seen_again_favours_the_unknown_over_two_slips() {
        let kind = QueryKind::number(0.0, 10.0, 0.05);
        let twice = [Observed::Value(8.0), Observed::Value(8.02)];
        let slips = joint(&[(twice[0], 2.0, 0.05, 0.1), (twice[1], 2.0, 0.05, 0.1)], &kind);
        assert!(disturbed(&kind, 0.05, &twice) > 1000.0 * slips);
    }
}
