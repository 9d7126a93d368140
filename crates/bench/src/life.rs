//! How long parts last: fits with units still running, survival, replacement by age.

use halfsplit_units::Dimension::{Ratio, Time};

use crate::known::Found;
use crate::refusal::{Refusal, contradiction, positive, within};
use crate::value::{Input, Output, Range, WorkingValue};

/// A two-parameter Weibull life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weibull {
    /// Scale, in the unit of the times.
    pub scale: f64,
    /// Shape.
    pub shape: f64,
}

/// A Weibull life fitted to failures and withdrawals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The life.
    pub life: Weibull,
    /// Natural logarithm of the likelihood at the fit, with times in the unit given.
    pub log_likelihood: f64,
}

impl Weibull {
    /// From scale and shape, both above zero.
    ///
    /// # Errors
    /// [`Refusal::NotPositive`].
    pub fn new(scale: f64, shape: f64) -> Result<Self, Refusal> {
        Ok(Self { scale: positive("scale", scale, "")?, shape: positive("shape", shape, "")? })
    }

    /// Maximum likelihood from times at which units failed and times at which others were still good.
    ///
    /// # Errors
    /// Refuses no failures, times not above zero, and data without spread (all at one time).
    pub fn fit(failed: &[f64], running: &[f64]) -> Result<Fit, Refusal> {
        if failed.is_empty() {
            return Err(contradiction(
                "a life cannot be fitted without a failure; with none, only a lower bound is known",
            ));
        }
        for &time in failed.iter().chain(running) {
            positive("time", time, "")?;
        }
        // Times as shares of the longest keep the powers from overflowing.
        let longest = failed.iter().chain(running).fold(0.0_f64, |most, &time| most.max(time));
        let logs: Vec<f64> = failed.iter().chain(running).map(|time| libm::log(time / longest)).collect();
        let count = failed.len() as f64;
        let mean_log = logs[..failed.len()].iter().sum::<f64>() / count;
        // The profile equation: falls from +∞ as the shape grows, and crosses zero once.
        let profile = |shape: f64| {
            let (mut sum, mut weighted) = (0.0, 0.0);
            for &log in &logs {
                let power = libm::exp(shape * log);
                sum += power;
                weighted += power * log;
            }
            1.0 / shape + mean_log - weighted / sum
        };
        let (mut low, mut high) = (1e-3, 1e3);
        if profile(low) < 0.0 || profile(high) > 0.0 {
            return Err(contradiction(
                "the times have too little spread to fit a shape; all failures at one time say nothing about it",
            ));
        }
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if profile(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let shape = 0.5 * (low + high);
        let sum: f64 = logs.iter().map(|log| libm::exp(shape * log)).sum();
        let scale = longest * libm::pow(sum / count, 1.0 / shape);
        let life = Self { scale, shape };
        let log_likelihood = failed.iter().map(|&time| life.log_density(time)).sum::<f64>()
            - running.iter().map(|&time| life.cumulative_hazard(time)).sum::<f64>();
        Ok(Fit { life, log_likelihood })
    }

    fn cumulative_hazard(self, time: f64) -> f64 {
        libm::pow(time / self.scale, self.shape)
    }

    fn log_density(self, time: f64) -> f64 {
        libm::log(self.shape / self.scale) + (self.shape - 1.0) * libm::log(time / self.scale)
            - self.cumulative_hazard(time)
    }

    /// Share still good at a time.
    ///
    /// # Errors
    /// Refuses negative times.
    pub fn survival(self, time: f64) -> Result<f64, Refusal> {
        within("time", time, (0.0, f64::MAX), "")?;
        Ok(libm::exp(-self.cumulative_hazard(time)))
    }

    /// Time by which a share (between 0 and 1) has failed.
    ///
    /// # Errors
    /// Refuses shares outside.
    pub fn quantile(self, share: f64) -> Result<f64, Refusal> {
        if share > 0.0 && share < 1.0 {
            Ok(self.scale * libm::pow(-libm::log1p(-share), 1.0 / self.shape))
        } else {
            Err(Refusal::OutOfRange { what: "share failed", value: share, low: 0.0, high: 1.0, unit: "" })
        }
    }

    /// Failures per unit of time among those still good.
    pub fn hazard(self, time: f64) -> f64 {
        self.shape / self.scale * libm::pow(time / self.scale, self.shape - 1.0)
    }

    /// Mean life.
    pub fn mean(self) -> f64 {
        self.scale * libm::tgamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of life.
    pub fn deviation(self) -> f64 {
        let first = libm::tgamma(1.0 + 1.0 / self.shape);
        self.scale * (libm::tgamma(1.0 + 2.0 / self.shape) - first * first).max(0.0).sqrt()
    }

    /// ∫₀ᵗ of the survival: mean time in service up to a planned replacement.
    pub fn mean_up_to(self, time: f64) -> f64 {
        // = scale/shape · γ(1/shape, (t/scale)^shape), the lower incomplete gamma function by its series.
        let (s, z) = (1.0 / self.shape, self.cumulative_hazard(time));
        if z > 40.0 {
            return self.mean();
        }
        let (mut term, mut sum, mut n) = (1.0 / s, 1.0 / s, s);
        while term > 1e-17 * sum {
            n += 1.0;
            term *= z / n;
            sum += term;
        }
        self.scale / self.shape * libm::exp(s * libm::log(z) - z) * sum
    }
}

/// The age at which planned replacement costs least, and the cost per unit of time then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replacement {
    /// Age, in the unit of the scale.
    pub age: f64,
    /// Cost per unit of time.
    pub cost_rate: f64,
}

/// Best age for planned replacement; none where running to failure is cheapest (shape at or below 1, or a failure no dearer).
///
/// # Errors
/// Refuses costs not above zero.
pub fn replacement_age(life: Weibull, planned: f64, failure: f64) -> Result<Option<Replacement>, Refusal> {
    positive("cost of planned replacement", planned, "")?;
    positive("cost of a failure", failure, "")?;
    if life.shape <= 1.0 || failure <= planned {
        return Ok(None);
    }
    let target = planned / (failure - planned);
    // h(T) ∫R − F(T) rises from 0 without bound for a shape above 1.
    let excess =
        |age: f64| life.hazard(age) * life.mean_up_to(age) + libm::expm1(-life.cumulative_hazard(age)) - target;
    let (mut low, mut high) = (0.0, life.scale);
    while excess(high) < 0.0 {
        high *= 2.0;
        if !high.is_finite() {
            return Ok(None);
        }
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if excess(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    let age = 0.5 * (low + high);
    Ok(Some(Replacement { age, cost_rate: (failure - planned) * life.hazard(age) }))
}

/// A point of a survival curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Survival {
    /// Share still good.
    pub share: f64,
    /// Its standard error by Greenwood's formula.
    pub error: f64,
}

/// Kaplan–Meier estimate at a time: units that failed, and units withdrawn while still good. At equal times failures come first.
///
/// # Errors
/// Refuses an empty set and negative times.
pub fn kaplan_meier(failed: &[f64], withdrawn: &[f64], at: f64) -> Result<Survival, Refusal> {
    if failed.is_empty() && withdrawn.is_empty() {
        return Err(contradiction("no unit was watched; give failures or withdrawals"));
    }
    for &time in failed.iter().chain(withdrawn).chain([&at]) {
        within("time", time, (0.0, f64::MAX), "")?;
    }
    let mut times: Vec<f64> = failed.iter().copied().filter(|&time| time <= at).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let (mut share, mut greenwood) = (1.0, 0.0);
    for time in times {
        let deaths = failed.iter().filter(|&&other| other == time).count() as f64;
        let at_risk = failed.iter().chain(withdrawn).filter(|&&other| other >= time).count() as f64;
        share *= 1.0 - deaths / at_risk;
        if at_risk > deaths {
            greenwood += deaths / (at_risk * (at_risk - deaths));
        }
    }
    Ok(Survival { share, error: share * greenwood.sqrt() })
}

const TIMES: Range = Range::above_zero(1e7);
const SHAPE: Input =
    Input::plain("shape", "shape (below 1 early failures, 1 random, above 1 wear)", "1", Range::above_zero(100.0));
const SCALE: Input = Input::quantity("scale", "scale: time by which 63 % have failed", Time, "h", TIMES);
const FAILED: Input = Input::quantities("failed", "times at which units failed", Time, "h", TIMES);
const RUNNING: Input =
    Input::quantities("running", "times at which others were last seen good", Time, "h", TIMES).optional();

pub(crate) const VALUES: &[WorkingValue] = &[
    WorkingValue {
        id: "life.fit",
        title: "Life of a part from failures and units still good",
        inputs: &[FAILED, RUNNING],
        outputs: &[
            Output::quantity("scale", "time by which 63 % have failed", Time, "h"),
            Output::plain("shape", "shape", "1"),
            Output::quantity("mean", "mean life", Time, "h"),
            Output::quantity("deviation", "standard deviation of life", Time, "h"),
            Output::plain("log_likelihood", "log-likelihood, times in hours", "1"),
            Output::plain("aic", "Akaike's criterion, times in hours", "1"),
        ],
        formula: "Weibull, maximum likelihood with withdrawals",
        source: "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3",
        validity: "ten failures or more for a shape to lean on; units must fail by one mode",
        example: &[
            ("failed", "54 h, 187 h, 216 h, 240 h, 244 h, 335 h, 361 h, 373 h, 375 h, 386 h"),
            ("running", "500 h, 500 h, 500 h, 500 h, 500 h, 500 h, 500 h, 500 h, 500 h, 500 h"),
        ],
        compute: |k| {
            let hours = |name| k.numbers(name).iter().map(|seconds| seconds / 3600.0).collect::<Vec<f64>>();
            let fit = Weibull::fit(&hours("failed"), &hours("running"))?;
            Ok(Found::number("scale", fit.life.scale * 3600.0)
                .and("shape", fit.life.shape)
                .and("mean", fit.life.mean() * 3600.0)
                .and("deviation", fit.life.deviation() * 3600.0)
                .and("log_likelihood", fit.log_likelihood)
                .and("aic", 4.0 - 2.0 * fit.log_likelihood))
        },
    },
    WorkingValue {
        id: "life.weibull",
        title: "Share still good at an age, or age by which a share has failed",
        inputs: &[
            SCALE,
            SHAPE,
            Input::quantity("time", "age", Time, "h", Range::from_to(0.0, 1e7)).optional(),
            Input::quantity("failed", "share failed", Ratio, "%", Range::from_to(0.0, 100.0)).optional(),
        ],
        outputs: &[
            Output::quantity("good", "share still good at that age", Ratio, "%"),
            Output::quantity("age", "age by which that share has failed", Time, "h"),
        ],
        formula: "R(t) = exp(−(t/scale)^shape); t = scale · (−ln(1 − F))^(1/shape)",
        source: "definition of the Weibull distribution",
        validity: "one mode of failure",
        example: &[("scale", "606.5 h"), ("shape", "1.72"), ("time", "500 h"), ("failed", "10 %")],
        compute: |k| {
            let life = Weibull::new(k.number("scale")?, k.number("shape")?)?;
            let (time, share) = (k.maybe("time"), k.maybe("failed"));
            if time.is_none() && share.is_none() {
                return Err(contradiction("give an age or a share failed"));
            }
            Ok(Found::default()
                .and_maybe("good", time.map(|time| life.survival(time)).transpose()?)
                .and_maybe("age", share.map(|share| life.quantile(share)).transpose()?))
        },
    },
    WorkingValue {
        id: "life.survival",
        title: "Share still good, straight from the records",
        inputs: &[FAILED, RUNNING, Input::quantity("time", "age asked for", Time, "h", Range::from_to(0.0, 1e7))],
        outputs: &[
            Output::quantity("good", "share still good", Ratio, "%"),
            Output::quantity("error", "its standard error", Ratio, "%"),
        ],
        formula: "S = Π (1 − d/n); standard error by Greenwood",
        source: "Kaplan and Meier, Journal of the American Statistical Association 53 (1958) 457",
        validity: "withdrawals that have nothing to do with the part's health; at equal times failures come first",
        example: &[("failed", "200 h, 350 h, 350 h"), ("running", "400 h, 400 h, 500 h"), ("time", "400 h")],
        compute: |k| {
            let point = kaplan_meier(k.numbers("failed"), k.numbers("running"), k.number("time")?)?;
            Ok(Found::number("good", point.share).and("error", point.error))
        },
    },
    WorkingValue {
        id: "life.replacement_age",
        title: "Age at which planned replacement costs least",
        inputs: &[
            SCALE,
            SHAPE,
            Input::plain("planned", "cost of a planned replacement", "money", Range::above_zero(1e9)),
            Input::plain("failure", "cost of a failure in service", "money", Range::above_zero(1e9)),
        ],
        outputs: &[
            Output::word("verdict", "whether replacing by age pays"),
            Output::quantity("age", "best age", Time, "h"),
            Output::plain("cost_rate", "cost per hour then", "money/h"),
        ],
        formula: "h(T)·∫₀ᵀR dt − F(T) = cp/(cf − cp); cost per time = (cf − cp)·h(T)",
        source: "Barlow and Proschan, Mathematical Theory of Reliability (1965), from memory",
        validity: "wear only: with a shape at or below 1, or a failure no dearer than a planned job, run to failure",
        example: &[("scale", "20000 h"), ("shape", "2.5"), ("planned", "180"), ("failure", "900")],
        compute: |k| {
            let life = Weibull::new(k.number("scale")?, k.number("shape")?)?;
            Ok(match replacement_age(life, k.number("planned")?, k.number("failure")?)? {
                Some(best) => Found::number("age", best.age)
                    .and("cost_rate", best.cost_rate * 3600.0)
                    .and_word("verdict", "replace by age"),
                None => Found::default().and_word("verdict", "none: run to failure"),
            })
        },
    },
];
