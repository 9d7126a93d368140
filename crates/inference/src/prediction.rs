//! Predictions as the engine keeps them: checked, widened to their floors, normalised.

use crate::problem::{Broad, Observed, Predicted, QueryKind};

/// A [`Predicted`] after checking.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Prediction {
    Number(NumberPrediction),
    /// Probabilities that sum to one.
    Categories(Vec<f64>),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct NumberPrediction {
    pub centre: f64,
    pub noise: f64,
    pub common: f64,
    pub over: f64,
    pub under: f64,
}

impl NumberPrediction {
    /// Standard deviation of a first reading.
    pub(crate) fn total_sd(&self) -> f64 {
        (self.noise * self.noise + self.common * self.common).sqrt()
    }

    /// Probability of lying within the instrument's range, as far as the atoms go.
    pub(crate) fn in_range(&self) -> f64 {
        (1.0 - self.over - self.under).max(0.0)
    }
}

impl Prediction {
    pub(crate) fn new(predicted: Predicted, kind: &QueryKind) -> Prediction {
        match predicted {
            Predicted::Number { centre, noise_sd, common_sd } => {
                Prediction::Number(number(kind, centre, noise_sd, common_sd, 0.0, 0.0))
            }
            Predicted::NumberOrOver { centre, noise_sd, common_sd, p_over, p_under } => {
                Prediction::Number(number(kind, centre, noise_sd, common_sd, p_over, p_under))
            }
            Predicted::Categories(p) => Prediction::Categories(normalised(&p)),
        }
    }

    /// What a slip or an unknown fault may show, as categories; empty for numbers.
    pub(crate) fn broad_categories(kind: &QueryKind) -> Vec<f64> {
        match &kind.broad {
            Broad::Categories(p) => normalised(p),
            Broad::Number { .. } => Vec::new(),
        }
    }

    /// The bits that tell two predictions apart, for interning.
    pub(crate) fn key(&self) -> Vec<u64> {
        match self {
            Prediction::Number(n) => {
                [n.centre, n.noise, n.common, n.over, n.under].iter().map(|x| x.to_bits()).collect()
            }
            // One more word than a number ever has, so that the two cannot collide.
            Prediction::Categories(p) => [6, 6, 6, 6, 6, 6].into_iter().chain(p.iter().map(|x| x.to_bits())).collect(),
        }
    }
}

fn number(kind: &QueryKind, centre: f64, noise: f64, common: f64, over: f64, under: f64) -> NumberPrediction {
    let over = over.clamp(0.0, 1.0);
    let noise = noise.max(kind.least_noise_sd).max(f64::MIN_POSITIVE);
    let least = kind.least_share * centre.abs();
    NumberPrediction {
        centre,
        noise,
        common: common.max(kind.least_common_sd).max((least * least - noise * noise).max(0.0).sqrt()),
        over,
        under: under.clamp(0.0, 1.0 - over),
    }
}

fn normalised(p: &[f64]) -> Vec<f64> {
    let sum: f64 = p.iter().map(|x| x.max(0.0)).sum();
    if sum > 0.0 { p.iter().map(|x| x.max(0.0) / sum).collect() } else { vec![1.0 / p.len().max(1) as f64; p.len()] }
}

/// Why an observation cannot belong to a query.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ObservationError {
    /// The query's kind has categories and a number came, or the other way round.
    WrongSort,
    /// The category's index is not below the number of categories.
    NoSuchCategory {
        /// What was given.
        given: usize,
        /// How many the kind has.
        count: usize,
    },
    /// A bound or value is not a finite number, or a range has its ends exchanged.
    NotANumber,
}

impl std::fmt::Display for ObservationError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ObservationError::WrongSort => write!(
                f,
                "the query's kind and the observation disagree: give a category to a kind with \
                 categories and a number, bound or limit to a kind with numbers"
            ),
            ObservationError::NoSuchCategory { given, count } => {
                write!(f, "category {given} does not exist: the kind has {count}, counted from 0")
            }
            ObservationError::NotANumber => write!(
                f,
                "the observed value is not a finite number, or a range has its ends exchanged: \
                 give finite values, the lower end first"
            ),
        }
    }
}

impl std::error::Error for ObservationError {}

/// Checks that an observation can be one of this kind.
pub(crate) fn check(kind: &QueryKind, observed: Observed) -> Result<(), ObservationError> {
    match (&kind.broad, observed) {
        (Broad::Categories(p), Observed::Category(given)) if given >= p.len() => {
            Err(ObservationError::NoSuchCategory { given, count: p.len() })
        }
        (Broad::Categories(_), Observed::Category(_)) => Ok(()),
        (Broad::Categories(_), _) | (Broad::Number { .. }, Observed::Category(_)) => Err(ObservationError::WrongSort),
        (Broad::Number { .. }, observed) => {
            let fine = match observed {
                Observed::Value(x) | Observed::AtLeast(x) | Observed::AtMost(x) => x.is_finite(),
                Observed::Between(low, high) => low.is_finite() && high.is_finite() && low <= high,
                _ => true,
            };
            if fine { Ok(()) } else { Err(ObservationError::NotANumber) }
        }
    }
}
