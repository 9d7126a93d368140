//! Density at given pressure and temperature: Newton's method inside a bracket.

use super::data::FluidData;
use super::equation::Isotherm;

/// Where to look for the root, as densities divided by rho_r.
pub(crate) struct Search {
    pub low: f64,
    pub high: f64,
    pub guess: f64,
}

/// No fluid here is denser than this many times its reducing density inside its range.
pub(crate) const DENSEST: f64 = 3.6;
const MAX_STEPS: usize = 60;

impl Search {
    /// In vapour at or above its dew temperature at `p`; `rho_dew` and `t_dew` belong to that pressure.
    pub fn vapour(fluid: &FluidData, p: f64, t: f64, t_dew: f64, rho_dew: f64) -> Self {
        let r = fluid.equation.gas_constant;
        let z_dew = p / (rho_dew * r * t_dew);
        // The departure from the ideal gas fades with about the cube of temperature.
        let ratio = t_dew / t;
        let z = 1.0 - (1.0 - z_dew) * ratio * ratio * ratio;
        let scale = fluid.equation.rho_reducing;
        Search { low: 0.0, high: rho_dew / scale * (1.0 + 1e-5), guess: p / (z * r * t) / scale }
    }

    /// In gas so thin that the ideal gas is a good start.
    pub fn thin_gas(fluid: &FluidData, p: f64, t: f64) -> Self {
        let guess = p / (fluid.equation.gas_constant * t * fluid.equation.rho_reducing);
        Search { low: 0.0, high: 2.0 * guess, guess }
    }

    /// In liquid; `rho_bubble` is the saturated liquid's density at the same temperature.
    pub fn liquid(fluid: &FluidData, rho_bubble: f64) -> Self {
        let guess = rho_bubble / fluid.equation.rho_reducing;
        Search { low: guess * (1.0 - 1e-5), high: DENSEST, guess }
    }

    /// Where neither applies: from the largest root of the cubic equation of D. Y. Peng and D. B. Robinson, Ind. Eng. Chem. Fundam.
    /// 15 (1976) 59, which is good to some per cent.
    pub fn dense(fluid: &FluidData, p: f64, t: f64) -> Self {
        let omega = fluid.acentric_factor;
        let kappa = 0.37464 + 1.54226 * omega - 0.26992 * omega * omega;
        let t_ratio = t / fluid.t_critical;
        let alpha = 1.0 + kappa * (1.0 - t_ratio.sqrt());
        let p_over_t = p / fluid.p_critical / t_ratio;
        let a = 0.45724 * alpha * alpha * p_over_t / t_ratio;
        let b = 0.07780 * p_over_t;
        // A liquid-like state has its root near b, a gas-like one near 1.
        let mut z = if t_ratio < 1.0 { 1.3 * b } else { 1.0 };
        for _ in 0..8 {
            let c1 = a - 3.0 * b * b - 2.0 * b;
            let f = ((z - (1.0 - b)) * z + c1) * z - b * (a - b - b * b);
            let slope = (3.0 * z - 2.0 * (1.0 - b)) * z + c1;
            let step = if slope.abs() > 1e-3 { f / slope } else { 0.05 };
            z = (z - step).clamp(1.05 * b, 2.0);
        }
        let guess = p / (z * fluid.equation.gas_constant * t * fluid.equation.rho_reducing);
        Search { low: 0.0, high: DENSEST, guess: guess.min(0.9 * DENSEST) }
    }
}

/// Reduced density on `isotherm` at pressure `p` (Pa); None if the bracket holds no root.
///
/// In vapour the pressure is concave and in liquid convex in density, so the steps settle from one side; where the start was so poor
/// that a step leaves the bracket, the bracket is halved instead.
pub(crate) fn solve(fluid: &FluidData, isotherm: &Isotherm, p: f64, search: Search) -> Option<f64> {
    let target = p / (fluid.equation.rho_reducing * fluid.equation.gas_constant * isotherm.t);
    let Search { mut low, mut high, guess: mut delta } = search;
    for _ in 0..MAX_STEPS {
        let (value, slope) = isotherm.reduced_pressure(delta);
        let excess = value - target;
        if excess > 0.0 {
            high = high.min(delta);
        } else {
            low = low.max(delta);
        }
        let next = delta - excess / slope;
        let step = if slope > 0.0 && next > low * (1.0 - 1e-9) && next < high * (1.0 + 1e-9) {
            next - delta
        } else {
            0.5 * (low + high) - delta
        };
        delta += step;
        // Newton doubles the figures at each step: after one of relative size 1e-8, rounding is what is left.
        if step.abs() <= 1e-8 * delta {
            return Some(delta);
        }
    }
    None
}
