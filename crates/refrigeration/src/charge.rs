//! How much refrigerant stands where.

use halfsplit_fluids::refrigerant::Saturation;
use libm::{cbrt, log};

/// Internal volumes, m³.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volumes {
    /// Condenser tubes.
    pub condenser: f64,
    /// Liquid line, drier and whatever else stands full of liquid.
    pub liquid: f64,
    /// Evaporator tubes.
    pub evaporator: f64,
    /// Suction line and compressor shell.
    pub suction: f64,
}

impl Volumes {
    /// All multiplied by a factor.
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            condenser: self.condenser * factor,
            liquid: self.liquid * factor,
            evaporator: self.evaporator * factor,
            suction: self.suction * factor,
        }
    }
}

/// Mean density (kg/m³) of a stretch of tube in which the quality runs from `x0` to `x1` with even heat flux.
///
/// Void fraction by Zivi (Journal of Heat Transfer 86, 1964): slip is the cube root of the density ratio.
pub fn two_phase_density(sat: &Saturation, x0: f64, x1: f64) -> f64 {
    let (x0, x1) = (x0.clamp(0.0, 1.0), x1.clamp(0.0, 1.0));
    let slip = cbrt(sat.dew.rho / sat.bubble.rho);
    let c = slip * slip;
    let void = if (x1 - x0).abs() < 1e-6 {
        let x = 0.5 * (x0 + x1);
        x / (c + (1.0 - c) * x)
    } else {
        let span = x1 - x0;
        1.0 / (1.0 - c) - c / ((1.0 - c) * (1.0 - c)) * log((c + (1.0 - c) * x1) / (c + (1.0 - c) * x0)) / span
    };
    sat.bubble.rho + void * (sat.dew.rho - sat.bubble.rho)
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfsplit_fluids::refrigerant::Refrigerant;

    /// Source: Zivi's formula summed up in small steps.
    #[test]
    fn the_closed_form_is_the_sum_of_small_steps() {
        let sat = Refrigerant::R410A.saturation(1.0e6).unwrap();
        for (x0, x1) in [(0.0, 1.0), (0.2, 0.9), (0.5, 0.5000001)] {
            let n = 20_000;
            let ratio = sat.dew.rho / sat.bubble.rho;
            let mean: f64 = (0..n)
                .map(|i| {
                    let x: f64 = x0 + (x1 - x0) * (f64::from(i) + 0.5) / f64::from(n);
                    let void = 1.0 / (1.0 + (1.0 - x) / x * libm::pow(ratio, 2.0 / 3.0));
                    void * sat.dew.rho + (1.0 - void) * sat.bubble.rho
                })
                .sum::<f64>()
                / f64::from(n);
            assert!((two_phase_density(&sat, x0, x1) / mean - 1.0).abs() < 1e-4, "{x0} {x1}");
        }
    }
}
