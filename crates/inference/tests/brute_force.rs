//! The posterior against enumeration written apart: every hypothesis, every sample, every duty,
//! every division into who is present when, the shared error by a plain sum over a dense grid.

mod support;

use std::sync::OnceLock;

use halfsplit_inference::{
    Broad, ComponentId, EpisodeId, Hypothesis, ModeId, Observed, Predicted, Problem, QueryId, QueryKind, Reading,
    Reasoner, Settings, Suspect,
};
use proptest::prelude::*;
use support::{AWAY, Draw, LASTING, Tables, duty};

/// A random problem: modes (some intermittent, two in one component), samples, numbers with limits
/// and categories, promotion, and readings in up to three episodes with repeats.
fn random(seed: u64) -> (Tables, Vec<Reading>) {
    let mut draw = Draw(seed);
    let modes = 3 + draw.below(2);
    let odds: Vec<f64> = (0..modes).map(|_| draw.between(0.02, 0.6)).collect();
    let mut number = QueryKind::number(-5.0, 15.0, 0.1);
    number.slip = draw.between(0.0, 0.1);
    number.unshown = if draw.unit() < 0.5 { 0.0 } else { draw.between(0.0, 0.2) };
    let mut limited = number.clone();
    limited.high_limit = Some(6.0);
    let mut looks = QueryKind::categories(3);
    looks.broad = Broad::Categories(vec![0.5, 0.3, 0.2]);
    looks.category_redraw = 0.3;
    looks.unshown = number.unshown;
    looks.lasting = draw.unit() < 0.5;
    let mut grouped = number.clone();
    grouped.repeat_group = Some(7);
    let kinds = vec![number, looks, limited, grouped.clone(), grouped];
    let salt = draw.next();
    let mut tables = Tables::new(&odds, kinds, move |present, sample, query| {
        let code = present.iter().fold(salt, |code, m| Draw(code ^ u64::from(m.0 + 1)).next());
        let mut draw = Draw(code ^ (u64::from(query.0) << 32));
        let shift = 0.3 * sample as f64;
        match query.0 {
            1 => Predicted::Categories((0..3).map(|_| draw.between(0.05, 1.0)).collect()),
            2 => Predicted::NumberOrOver {
                centre: draw.between(2.0, 7.0) + shift,
                noise_sd: draw.between(0.2, 0.6),
                common_sd: draw.between(0.0, 0.8),
                p_over: draw.between(0.0, 0.4),
                p_under: draw.between(0.0, 0.2),
            },
            _ => Predicted::Number {
                centre: draw.between(0.0, 8.0) + shift,
                noise_sd: draw.between(0.2, 0.8),
                common_sd: draw.between(0.0, 1.0),
            },
        }
    });
    tables.modes[1].component = ComponentId(0);
    tables.modes[0].intermittent = duty(&[(0.3, 1.0), (0.7, 2.0)]);
    if draw.unit() < 0.5 {
        tables.modes[2].intermittent = duty(&[(0.5, 1.0)]);
    }
    if draw.unit() < 0.5 {
        tables.leaves = vec![0];
    }
    tables.promotion.insert((0, 2), 4.0);
    tables.samples = vec![1.0, 2.0, 0.5];
    tables.sound = draw.between(0.3, 1.0);
    tables.not_described = draw.between(0.0, 0.1);
    tables.likeness = draw.unit();
    tables.mended = vec![(1, 2), (1, 3), (2, 0)];
    tables.own = vec![(1, 0), (2, 1), (2, 4)];
    tables.settling.insert(1, Predicted::Categories(vec![0.1, 0.2, 0.7]));
    for mode in &mut tables.modes {
        mode.harmless = draw.unit() < 0.3;
    }
    let count = 3 + draw.below(4);
    let readings = (0..count)
        .map(|_| {
            let query = draw.below(5) as u32;
            let observed = match query {
                1 => Observed::Category(draw.below(3)),
                2 => [Observed::Over, Observed::Under, Observed::Value(draw.between(1.0, 6.0)), Observed::AtLeast(4.0)]
                    [draw.below(4)],
                _ => [
                    Observed::Value(draw.between(0.0, 8.0)),
                    Observed::Value(draw.between(0.0, 8.0)),
                    Observed::Between(2.0, 5.0),
                    Observed::AtMost(4.0),
                ][draw.below(4)],
            };
            Reading { query: QueryId(query), observed, episode: EpisodeId(draw.below(3) as u32) }
        })
        .collect();
    (tables, readings)
}

/// The normal distribution function by integrating the density: Simpson's rule on a fine grid,
/// summed once, and one more step from the nearest knot.
fn below(z: f64) -> f64 {
    const STEP: f64 = 2e-3;
    const REACH: f64 = 12.0;
    static SUMS: OnceLock<Vec<f64>> = OnceLock::new();
    let simpson = |from: f64, to: f64| {
        let density = |x: f64| normal(x, 0.0, 1.0);
        (to - from) / 6.0 * (density(from) + 4.0 * density(0.5 * (from + to)) + density(to))
    };
    let sums = SUMS.get_or_init(|| {
        let mut sum = 0.0;
        (0..12_000)
            .map(|i| {
                let from = -REACH + STEP * f64::from(i);
                let here = sum;
                sum += simpson(from, from + STEP);
                here
            })
            .collect()
    });
    if z <= -REACH {
        return 0.0;
    }
    let i = (((z + REACH) / STEP) as usize).min(sums.len() - 1);
    let knot = -REACH + STEP * i as f64;
    (sums[i] + simpson(knot, z.min(REACH))).min(1.0)
}

#[allow(clippy::disallowed_methods, reason = "an oracle on one machine; bits do not matter")]
fn libm_exp(x: f64) -> f64 {
    x.exp()
}

#[allow(clippy::disallowed_methods, reason = "an oracle on one machine; bits do not matter")]
fn log(x: f64) -> f64 {
    x.ln()
}

fn normal(x: f64, centre: f64, sd: f64) -> f64 {
    let z = (x - centre) / sd;
    libm_exp(-0.5 * z * z) / (sd * (2.0 * std::f64::consts::PI).sqrt())
}

fn broad(kind: &QueryKind, observed: Observed) -> f64 {
    match &kind.broad {
        Broad::Categories(p) => match observed {
            Observed::Category(i) => p[i] / p.iter().sum::<f64>(),
            _ => unreachable!("the instances ask for categories"),
        },
        Broad::Number { low, high, p_over, p_under } => {
            let (width, middle) = (high - low, 0.5 * (low + high));
            let inside = 1.0 - p_over - p_under;
            let cdf = |x: f64| {
                inside * (0.98 * ((x - low) / width).clamp(0.0, 1.0) + 0.02 * below((x - middle) / (2.0 * width)))
            };
            match observed {
                Observed::Value(x) => {
                    inside * (0.98 * f64::from(x >= *low && x <= *high) / width + 0.02 * normal(x, middle, 2.0 * width))
                }
                Observed::AtLeast(x) => inside - cdf(x) + p_over,
                Observed::AtMost(x) => cdf(x) + p_under,
                Observed::Between(a, b) => cdf(b) - cdf(a),
                Observed::Over => *p_over,
                Observed::Under => *p_under,
                Observed::Category(_) => unreachable!("the instances ask for numbers"),
            }
        }
    }
}

/// The probability of an observation when the shared error `u` and the shared state `t` are known.
fn given(kind: &QueryKind, predicted: &Predicted, observed: Observed, u: f64, t: f64) -> f64 {
    let (centre, noise, common, over, under) = match predicted {
        Predicted::Categories(p) => {
            let total: f64 = p.iter().sum();
            let Observed::Category(seen) = observed else { unreachable!("the instances ask for categories") };
            let mut sum = 0.0;
            let state = p
                .iter()
                .position(|x| {
                    sum += x / total;
                    t < sum
                })
                .unwrap_or(p.len() - 1);
            let kept = (1.0 - kind.category_redraw) * f64::from(state == seen) + kind.category_redraw * p[seen] / total;
            return (1.0 - kind.slip) * kept + kind.slip * broad(kind, observed);
        }
        Predicted::Number { centre, noise_sd, common_sd } => (*centre, *noise_sd, *common_sd, 0.0, 0.0),
        Predicted::NumberOrOver { centre, noise_sd, common_sd, p_over, p_under } => {
            (*centre, *noise_sd, *common_sd, *p_over, *p_under)
        }
    };
    let centre = centre + common * u;
    let z = |x: f64| (x - centre) / noise;
    let p = if t < under {
        f64::from(matches!(observed, Observed::Under | Observed::AtMost(_)))
    } else if t > 1.0 - over {
        f64::from(matches!(observed, Observed::Over | Observed::AtLeast(_)))
    } else {
        match observed {
            Observed::Value(x) => normal(x, centre, noise),
            Observed::AtLeast(x) => 1.0 - below(z(x)),
            Observed::AtMost(x) => below(z(x)),
            Observed::Between(a, b) => below(z(b)) - below(z(a)),
            Observed::Over => kind.high_limit.map_or(0.0, |x| 1.0 - below(z(x))),
            Observed::Under => kind.low_limit.map_or(0.0, |x| below(z(x))),
            Observed::Category(_) => unreachable!("the instances ask for numbers"),
        }
    };
    (1.0 - kind.slip) * p + kind.slip * broad(kind, observed)
}

/// A reading with what it is predicted to be.
type Paired<'a> = (&'a QueryKind, Predicted, Observed);

/// Joint probability of a group: what is predicted alike shares its error, the rest has its own.
fn group(items: &[Paired<'_>]) -> f64 {
    // Linked to one another, perhaps through others: by the lowest index that each is linked to.
    let mut set: Vec<usize> = (0..items.len()).collect();
    for _ in items {
        for i in 0..items.len() {
            for j in 0..items.len() {
                if alike(&items[i].1, &items[j].1) {
                    set[i] = set[i].min(set[j]);
                }
            }
        }
    }
    (0..items.len())
        .map(|k| sharing(&items.iter().zip(&set).filter(|(_, s)| **s == k).map(|(x, _)| x.clone()).collect::<Vec<_>>()))
        .product()
}

/// Within half of the larger common error, that itself within half, and so the chance of a number beyond the range.
fn alike(a: &Predicted, b: &Predicted) -> bool {
    let parts = |p: &Predicted| match *p {
        Predicted::Number { centre, noise_sd, common_sd } => Some((centre, noise_sd, common_sd, 0.0)),
        Predicted::NumberOrOver { centre, noise_sd, common_sd, p_over, .. } => {
            Some((centre, noise_sd, common_sd, p_over))
        }
        Predicted::Categories(_) => None,
    };
    match (parts(a), parts(b)) {
        (Some(a), Some(b)) => {
            let common = a.2.max(b.2);
            (a.0 - b.0).abs() <= 0.5 * common.max(a.1.max(b.1))
                && (a.2 - b.2).abs() <= 0.5 * common
                && (a.3 - b.3).abs() <= 0.5
        }
        _ => true,
    }
}

/// The shared error on a dense grid, the shared state piece by piece.
fn sharing(items: &[Paired<'_>]) -> f64 {
    let mut edges = vec![0.0, 1.0];
    for (_, predicted, _) in items {
        match predicted {
            Predicted::Categories(p) => {
                let total: f64 = p.iter().sum();
                let mut sum = 0.0;
                edges.extend(p.iter().map(|x| {
                    sum += x / total;
                    sum.min(1.0)
                }));
            }
            Predicted::NumberOrOver { p_over, p_under, .. } => edges.extend([*p_under, 1.0 - p_over]),
            Predicted::Number { .. } => {}
        }
    }
    edges.sort_by(f64::total_cmp);
    let numbers = items.iter().any(|(_, p, _)| !matches!(p, Predicted::Categories(_)));
    let grid = if numbers { 320 } else { 1 };
    let mut total = 0.0;
    for i in 0..grid {
        let (u, weight) = if numbers {
            let step = 14.0 / f64::from(grid);
            let u = -7.0 + step * (f64::from(i) + 0.5);
            (u, normal(u, 0.0, 1.0) * step)
        } else {
            (0.0, 1.0)
        };
        for piece in edges.windows(2) {
            let (width, t) = (piece[1] - piece[0], 0.5 * (piece[0] + piece[1]));
            if width > 0.0 {
                let product: f64 =
                    items.iter().map(|(kind, predicted, observed)| given(kind, predicted, *observed, u, t)).product();
                total += weight * width * product;
            }
        }
    }
    total
}

fn key(kind: &QueryKind, query: QueryId) -> (bool, u32) {
    match kind.repeat_group {
        Some(g) => (true, g),
        None => (false, query.0),
    }
}

/// Evidence of one hypothesis by enumeration.
fn evidence(tables: &Tables, readings: &[Reading], hypothesis: &Hypothesis) -> f64 {
    let comes: Vec<ModeId> =
        hypothesis.modes().iter().copied().filter(|m| tables.modes[m.0 as usize].intermittent.is_some()).collect();
    let mut episodes: Vec<EpisodeId> = readings.iter().map(|r| r.episode).collect();
    episodes.sort_unstable();
    episodes.dedup();
    let mut keys: Vec<(bool, u32)> = readings.iter().map(|r| key(tables.kind(r.query), r.query)).collect();
    keys.sort_unstable();
    keys.dedup();
    let samples: f64 = tables.samples.iter().sum();
    let bits = comes.len() * episodes.len();
    let mut total = 0.0;
    for (sample, weight) in tables.samples.iter().enumerate() {
        for presence in 0..1_usize << bits {
            let present = |mode: ModeId, episode: EpisodeId| {
                let m = comes.iter().position(|c| *c == mode);
                let e = episodes.iter().position(|x| *x == episode).unwrap_or(0);
                m.is_none_or(|m| presence >> (m * episodes.len() + e) & 1 == 1)
            };
            let mut likelihood = 1.0;
            for k in &keys {
                let items = |shown: bool| -> Vec<Paired<'_>> {
                    readings
                        .iter()
                        .filter(|r| key(tables.kind(r.query), r.query) == *k)
                        .map(|r| {
                            let lasting = tables.kind(r.query).lasting;
                            let mut left: Vec<ModeId> = hypothesis
                                .modes()
                                .iter()
                                .filter(|_| shown)
                                .filter_map(|&m| match lasting || present(m, r.episode) {
                                    true => Some(m),
                                    false => tables.leaves.contains(&m.0).then(|| ModeId(m.0 + AWAY)),
                                })
                                .collect();
                            left.sort_unstable();
                            (tables.kind(r.query), tables.predict(&left, sample, r.query), r.observed)
                        })
                        .collect()
                };
                let unshown = items(true)[0].0.unshown;
                likelihood *= (1.0 - unshown) * group(&items(true)) + unshown * group(&items(false));
            }
            let mut chance = 1.0;
            for (m, mode) in comes.iter().enumerate() {
                let there =
                    (0..episodes.len()).filter(|e| presence >> (m * episodes.len() + e) & 1 == 1).count() as i32;
                let away = episodes.len() as i32 - there;
                let info = &tables.modes[mode.0 as usize];
                let values = &info.intermittent.as_ref().expect("intermittent").values;
                let all: f64 = values.iter().map(|v| v.1).sum();
                chance *= values.iter().map(|(d, w)| w / all * power(*d, there) * power(1.0 - d, away)).sum::<f64>();
            }
            total += weight / samples * chance * likelihood;
        }
    }
    total
}

/// Weight of "not described" by enumeration of what it may be like, sample and share; no two readings may share an error.
fn undescribed(tables: &Tables, readings: &[Reading]) -> f64 {
    let info = |m: &u32| &tables.modes[*m as usize];
    let steady: Vec<u32> =
        (0..tables.modes.len() as u32).filter(|m| info(m).intermittent.is_none() && !info(m).harmless).collect();
    let odds = |m: &u32| tables.modes[*m as usize].prior_odds;
    let known: f64 = steady.iter().map(odds).sum();
    let likeness = if steady.is_empty() { 0.0 } else { tables.likeness };
    let mut like: Vec<(Option<u32>, bool, f64)> = vec![(None, false, 1.0 - likeness)];
    for m in &steady {
        for elsewhere in [false, true] {
            like.push((Some(*m), elsewhere, 0.5 * tables.likeness * odds(m) / known));
        }
    }
    let shares = Settings::default().disturbed;
    let (samples, all): (f64, f64) = (tables.samples.iter().sum(), shares.iter().map(|s| s.1).sum());
    let mut total = 0.0;
    for (mode, elsewhere, weight) in like {
        for (sample, sample_weight) in tables.samples.iter().enumerate() {
            for (share, share_weight) in &shares {
                let product: f64 = readings
                    .iter()
                    .map(|r| {
                        let kind = tables.kind(r.query);
                        let shown =
                            |present: &[ModeId]| group(&[(kind, tables.predict(present, sample, r.query), r.observed)]);
                        let (own, disturbed) = match mode {
                            None => match tables.settling.get(&r.query.0) {
                                Some(whatever) => (group(&[(kind, whatever.clone(), r.observed)]), 0.0),
                                None => (shown(&[]), broad(kind, r.observed)),
                            },
                            Some(m) => {
                                let its_own = elsewhere && tables.own.contains(&(m, r.query.0));
                                let lasts = if tables.mended.contains(&(m, r.query.0)) { LASTING } else { 0 };
                                let own = if its_own { shown(&[]) } else { shown(&[ModeId(m + lasts)]) };
                                (own, 0.5 * shown(&[]) + 0.5 * broad(kind, r.observed))
                            }
                        };
                        let share = if tables.settling.contains_key(&r.query.0) { 0.0 } else { *share };
                        (1.0 - share) * own + share * disturbed
                    })
                    .product();
                total += weight * sample_weight / samples * share_weight / all * product;
            }
        }
    }
    tables.not_described * total
}

fn power(x: f64, n: i32) -> f64 {
    (0..n).map(|_| x).product()
}

/// Prior times evidence of every hypothesis with at most two modes.
fn enumerate(tables: &Tables, readings: &[Reading]) -> Vec<(Hypothesis, f64)> {
    let n = tables.modes.len() as u32;
    let mut all = vec![(Hypothesis::NONE, tables.sound)];
    for a in 0..n {
        all.push((Hypothesis::single(ModeId(a)), tables.modes[a as usize].prior_odds));
        for b in a + 1..n {
            if tables.modes[a as usize].component != tables.modes[b as usize].component {
                let pair = Hypothesis::pair(ModeId(a), ModeId(b)).expect("two modes");
                all.push((pair, tables.pair_prior(ModeId(a), ModeId(b))));
            }
        }
    }
    all.iter().map(|(h, prior)| (*h, prior * evidence(tables, readings, h))).collect()
}

fn reasoner(tables: &Tables, readings: &[Reading], neglect: f64) -> Reasoner {
    let mut reasoner = Reasoner::new(tables, Settings { neglect, widen_at: 2.0, ..Settings::default() });
    for reading in readings {
        reasoner.observe(tables, *reading).expect("fits its kind");
    }
    reasoner
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn posterior_equals_enumeration(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let reasoner = reasoner(&tables, &readings, 0.0);
        let all = enumerate(&tables, &readings);
        let known: f64 = all.iter().map(|a| a.1).sum();
        let described = 1.0 - reasoner.posterior().not_described;
        let mut sound = 0.0;
        for (hypothesis, weight) in all {
            let p = reasoner.posterior().probability_of(&hypothesis) / described;
            let want = weight / known;
            prop_assert!((p - want).abs() < 2e-6 * (1.0 + want), "{hypothesis:?}: {p} {want}");
            if hypothesis.modes().iter().all(|m| tables.modes[m.0 as usize].harmless) {
                sound += want;
            }
        }
        let p = reasoner.posterior().sound() / described;
        prop_assert!((p - sound).abs() < 2e-6 * (1.0 + sound), "nothing wrong: {p} {sound}");
    }

    #[test]
    fn what_is_not_described_weighs_what_enumeration_says(seed in any::<u64>()) {
        let (tables, mut readings) = random(seed);
        let mut keys = Vec::new();
        readings.retain(|r| {
            let key = key(tables.kind(r.query), r.query);
            !keys.contains(&key) && { keys.push(key); true }
        });
        let reasoner = reasoner(&tables, &readings, 0.0);
        let known: f64 = enumerate(&tables, &readings).iter().map(|a| a.1).sum();
        let unknown = undescribed(&tables, &readings);
        let (p, want) = (reasoner.posterior().not_described, unknown / (unknown + known));
        prop_assert!((p - want).abs() < 2e-6 * (1.0 + want), "{p} {want}");
    }

    #[test]
    fn order_of_readings_does_not_matter(seed in any::<u64>()) {
        let (tables, mut readings) = random(seed);
        let one = reasoner(&tables, &readings, 0.0);
        let mut draw = Draw(seed ^ 0x5eed);
        for i in (1..readings.len()).rev() {
            readings.swap(i, draw.below(i + 1));
        }
        let other = reasoner(&tables, &readings, 0.0);
        prop_assert!((one.posterior().not_described - other.posterior().not_described).abs() < 1e-10);
        for w in &one.posterior().hypotheses {
            let p = other.posterior().probability_of(&w.hypothesis);
            prop_assert!((p - w.probability).abs() < 1e-9, "{:?}", w);
        }
    }

    #[test]
    fn the_bound_holds_what_was_not_worked_out(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let lazy = reasoner(&tables, &readings, 0.05);
        let full = reasoner(&tables, &readings, 0.0);
        let open = lazy.posterior().unexpanded;
        prop_assert!(open <= 0.05 + 1e-12, "{open}");
        let mut missing = 0.0;
        for w in &full.posterior().hypotheses {
            let p = lazy.posterior().probability_of(&w.hypothesis);
            if p == 0.0 {
                missing += w.probability;
            } else {
                prop_assert!(w.probability <= p + 1e-12);
                prop_assert!(w.probability >= p / (1.0 + open) - 1e-12);
            }
        }
        prop_assert!(missing <= open / (1.0 + open) + 1e-12, "{missing} {open}");
    }

    #[test]
    fn undo_restores_the_very_bits(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let (last, before) = readings.split_last().expect("some readings");
        let mut reasoner = reasoner(&tables, before, 1e-3);
        let held = reasoner.posterior().clone();
        let supposed = reasoner.suppose(&tables, *last).expect("fits its kind");
        prop_assert_eq!(reasoner.posterior(), &held);
        reasoner.observe(&tables, *last).expect("fits its kind");
        prop_assert_eq!(reasoner.posterior(), &supposed);
        prop_assert_eq!(reasoner.undo(), Some(*last));
        prop_assert_eq!(reasoner.posterior(), &held);
    }

    #[test]
    fn thinking_ahead_changes_no_bit(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let (last, before) = readings.split_last().expect("some readings");
        let mut thoughtful = reasoner(&tables, before, 1e-3);
        let mut other = reasoner(&tables, before, 1e-3);
        let all: Vec<QueryId> = readings.iter().map(|r| r.query).collect();
        thoughtful.think_ahead(&tables, last.query, &all);
        prop_assert_eq!(thoughtful.posterior(), other.posterior());
        thoughtful.observe(&tables, *last).expect("fits its kind");
        other.observe(&tables, *last).expect("fits its kind");
        prop_assert_eq!(thoughtful.posterior(), other.posterior());
        thoughtful.undo();
        other.undo();
        prop_assert_eq!(thoughtful.posterior(), other.posterior());
    }

    #[test]
    fn a_reading_set_aside_is_taken_up_to_the_bit(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let (last, before) = readings.split_last().expect("some readings");
        let mut supposing = reasoner(&tables, before, 1e-3);
        let mut other = reasoner(&tables, before, 1e-3);
        let held = supposing.posterior().clone();
        supposing.observe(&tables, *last).expect("fits its kind");
        let aside = supposing.set_aside().expect("a reading");
        prop_assert_eq!(aside.reading(), *last);
        prop_assert_eq!(supposing.posterior(), &held);
        // What is looked at meanwhile is taken back, and leaves what was set aside as it was.
        supposing.suppose(&tables, readings[0]).expect("fits its kind");
        prop_assert!(supposing.take_up(&tables, aside));
        other.observe(&tables, *last).expect("fits its kind");
        prop_assert_eq!(supposing.posterior(), other.posterior());
        prop_assert_eq!(supposing.readings(), other.readings());
        // It is a reading like any other: more can follow, and it can be taken back.
        let more = readings[0];
        supposing.observe(&tables, more).expect("fits its kind");
        other.observe(&tables, more).expect("fits its kind");
        prop_assert_eq!(supposing.posterior(), other.posterior());
        let late = supposing.set_aside().expect("a reading");
        prop_assert_eq!(supposing.undo(), Some(*last));
        prop_assert_eq!(supposing.posterior(), &held);
        prop_assert!(!supposing.take_up(&tables, late), "set aside from somewhere else");
        prop_assert_eq!(supposing.posterior(), &held);
    }

    #[test]
    fn removing_a_reading_is_as_if_it_had_not_been(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let mut with = reasoner(&tables, &readings, 0.0);
        with.remove(&tables, 1);
        let mut fewer = readings;
        fewer.remove(1);
        let without = reasoner(&tables, &fewer, 0.0);
        for w in &without.posterior().hypotheses {
            let p = with.posterior().probability_of(&w.hypothesis);
            prop_assert!((p - w.probability).abs() < 1e-12);
        }
    }

    #[test]
    fn voices_add_up_to_the_odds(seed in any::<u64>()) {
        let (tables, readings) = random(seed);
        let mut reasoner = reasoner(&tables, &readings, 0.0);
        for suspect in [
            Suspect::Sound,
            Suspect::Name(halfsplit_inference::NameId(0)),
            Suspect::Exactly(support::set(&[0, 2])),
        ] {
            let p = match suspect {
                Suspect::Sound => reasoner.posterior().sound(),
                Suspect::Name(n) => reasoner.posterior().names().iter().find(|x| x.0 == n).expect("listed").1,
                _ => reasoner.posterior().probability_of(&support::set(&[0, 2])),
            };
            let voices = reasoner.voices(&tables, suspect);
            prop_assert!((voices.total() - log(p / (1.0 - p))).abs() < 1e-8);
        }
    }
}
