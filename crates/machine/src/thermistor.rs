//! Resistance–temperature laws of NTC thermistors, both ways.

use libm::{cbrt, exp, log, sqrt};

/// A resistance–temperature law. Resistances in ohm, temperatures in K.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// R = R25 · exp(B (1/T − 1/298.15)). Source: B-value definition of IEC 60539-1.
    Beta {
        /// Resistance at 25 °C, ohm.
        r25: f64,
        /// B value, K.
        beta: f64,
    },
    /// 1/T = A + B ln R + C (ln R)³. Source: Steinhart and Hart, Deep-Sea Research 15 (1968).
    SteinhartHart {
        /// A, 1/K.
        a: f64,
        /// B, 1/K.
        b: f64,
        /// C, 1/K.
        c: f64,
    },
    /// Points (T in K rising, R in ohm falling); between them ln R is linear in 1/T.
    Table(Vec<(f64, f64)>),
}

impl Law {
    /// Resistance at temperature `t` (K), ohm.
    pub fn ohms(&self, t: f64) -> f64 {
        match self {
            Law::Beta { r25, beta } => r25 * exp(beta * (1.0 / t - 1.0 / 298.15)),
            Law::SteinhartHart { a, b, c } => {
                let x = (a - 1.0 / t) / (2.0 * c);
                let k = b / (3.0 * c);
                let y = sqrt(k * k * k + x * x);
                exp(cbrt(y - x) - cbrt(y + x))
            }
            Law::Table(points) => {
                let (p, q) = bracket(points, |&(pt, _)| pt <= t);
                let f = (1.0 / t - 1.0 / p.0) / (1.0 / q.0 - 1.0 / p.0);
                exp(log(p.1) + f * (log(q.1) - log(p.1)))
            }
        }
    }

    /// Temperature (K) at which the resistance is `ohms` (> 0).
    pub fn temperature(&self, ohms: f64) -> f64 {
        match self {
            Law::Beta { r25, beta } => 1.0 / (1.0 / 298.15 + log(ohms / r25) / beta),
            Law::SteinhartHart { a, b, c } => {
                let l = log(ohms);
                1.0 / (a + b * l + c * l * l * l)
            }
            Law::Table(points) => {
                let (p, q) = bracket(points, |&(_, pr)| pr >= ohms);
                let f = (log(ohms) - log(p.1)) / (log(q.1) - log(p.1));
                1.0 / (1.0 / p.0 + f * (1.0 / q.0 - 1.0 / p.0))
            }
        }
    }

    /// Checks that the law is usable.
    ///
    /// # Errors
    /// Says what is wrong: values not positive, a table with fewer than two points or not falling.
    pub fn check(&self) -> Result<(), String> {
        match self {
            Law::Beta { r25, beta } if *r25 > 0.0 && *beta > 0.0 => Ok(()),
            Law::Beta { .. } => Err("R25 and B must both be greater than zero".into()),
            Law::SteinhartHart { b, c, .. } if *b > 0.0 && *c > 0.0 => Ok(()),
            Law::SteinhartHart { .. } => Err("Steinhart–Hart B and C must both be greater than zero".into()),
            Law::Table(p) if p.len() < 2 => Err("a table needs at least two points".into()),
            Law::Table(p) if p.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 > w[1].1 && w[1].1 > 0.0) => Ok(()),
            Law::Table(_) => {
                Err("a table must rise in temperature while its resistance falls and stays above zero".into())
            }
        }
    }
}

/// The two neighbouring points between which (or from which outwards) to interpolate.
fn bracket(points: &[(f64, f64)], before: impl Fn(&(f64, f64)) -> bool) -> ((f64, f64), (f64, f64)) {
    let n = points.iter().take_while(|p| before(p)).count().clamp(1, points.len() - 1);
    (points[n - 1], points[n])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64, rel: f64) {
        assert!((got - want).abs() <= rel * want.abs(), "got {got}, want {want}");
    }

    /// Source: arithmetic on the B-value definition of IEC 60539-1.
    #[test]
    fn beta_law() {
        let law = Law::Beta { r25: 10_000.0, beta: 3950.0 };
        for (c, r) in [(-20.0, 105_384.7), (0.0, 33_620.60), (25.0, 10_000.0), (50.0, 3_588.183), (85.0, 1_086.671)] {
            close(law.ohms(c + 273.15), r, 1e-5);
            close(law.temperature(law.ohms(c + 273.15)), c + 273.15, 1e-12);
        }
        close(law.temperature(5_000.0), 41.46023 + 273.15, 1e-6);
    }

    /// Coefficient set from memory (a generic 10 kohm part); arithmetic redone.
    #[test]
    fn steinhart_hart() {
        let law = Law::SteinhartHart { a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8 };
        for (c, r) in [(-20.0, 97_005.2), (0.0, 32_650.4), (25.0, 9_999.85), (50.0, 3_601.04), (100.0, 678.42)] {
            close(law.ohms(c + 273.15), r, 1e-5);
            close(law.temperature(law.ohms(c + 273.15)), c + 273.15, 1e-10);
        }
    }

    #[test]
    fn a_table_of_the_beta_law_is_the_beta_law() {
        let law = Law::Beta { r25: 10_000.0, beta: 3950.0 };
        let points = (0..8).map(|i| 253.15 + 15.0 * f64::from(i)).map(|t| (t, law.ohms(t))).collect();
        let table = Law::Table(points);
        assert_eq!(table.check(), Ok(()));
        for c in [-25.0, -3.0, 25.0, 61.0, 95.0] {
            close(table.ohms(c + 273.15), law.ohms(c + 273.15), 1e-9);
            close(table.temperature(law.ohms(c + 273.15)), c + 273.15, 1e-9);
        }
        assert!(Law::Table(vec![(300.0, 5.0), (310.0, 6.0)]).check().is_err());
    }
}
