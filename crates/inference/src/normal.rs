//! The normal distribution, from `libm` where it must be exact and from a table where planning
//! needs it a hundred thousand times.

use std::f64::consts::SQRT_2;

/// 1/√(2π)
pub(crate) const INV_SQRT_TAU: f64 = 0.398_942_280_401_432_7;

/// Density at `x` of a normal with this centre and standard deviation (> 0).
pub(crate) fn density(x: f64, centre: f64, sd: f64) -> f64 {
    let z = (x - centre) / sd;
    INV_SQRT_TAU / sd * libm::exp(-0.5 * z * z)
}

/// Probability that a standard normal lies below `z`.
pub(crate) fn below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// Probability that a standard normal lies between two values, `low ≤ high`, without the
/// cancellation that a plain difference suffers in the upper tail.
pub(crate) fn between(low: f64, high: f64) -> f64 {
    let p = if low > 0.0 { below(-low) - below(-high) } else { below(high) - below(low) };
    p.max(0.0)
}

/// A table of the normal distribution function with straight lines between its knots; absolute
/// error below 3e-7, which is far finer than the bins that planning sorts outcomes into.
pub(crate) struct Table {
    knots: Vec<f64>,
}

impl Table {
    const REACH: f64 = 6.0;
    const STEPS: usize = 4096;

    pub(crate) fn new() -> Table {
        let knots = (0..=Self::STEPS)
            .map(|i| below(-Self::REACH + 2.0 * Self::REACH * i as f64 / Self::STEPS as f64))
            .collect();
        Table { knots }
    }

    pub(crate) fn below(&self, z: f64) -> f64 {
        if z <= -Self::REACH {
            return 0.0;
        }
        if z >= Self::REACH {
            return 1.0;
        }
        let x = (z + Self::REACH) * (Self::STEPS as f64 / (2.0 * Self::REACH));
        let i = (x as usize).min(Self::STEPS - 1);
        let rest = x - i as f64;
        self.knots[i] + (self.knots[i + 1] - self.knots[i]) * rest
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.1 (from memory).
    #[test]
    fn distribution_function_matches_the_handbook_table() {
        for (z, p) in
            [(0.0, 0.5), (1.0, 0.841_344_746_068_543), (2.0, 0.977_249_868_051_821), (3.0, 0.998_650_101_968_370)]
        {
            assert!((below(z) - p).abs() < 1e-14, "{z}");
        }
    }

    #[test]
    fn the_table_stays_within_its_stated_error() {
        let table = Table::new();
        for i in -7000..=7000 {
            let z = f64::from(i) * 1.000_37e-3;
            assert!((table.below(z) - below(z)).abs() < 3e-7, "{z}");
        }
    }

    #[test]
    fn far_tails_do_not_cancel_to_nothing() {
        assert!(between(9.0, 10.0) > 1e-20);
        assert!((between(9.0, 10.0) - between(-10.0, -9.0)).abs() < 1e-30);
    }
}
