//! Equations of state explicit in the Helmholtz energy.
//!
//! a(T, rho) / (R T) = ideal(tau, delta) + residual(tau, delta), tau = T_r/T, delta = rho/rho_r. Every property is a
//! combination of the derivatives of these two sums; see R. Span, *Multiparameter Equations of State* (2000), table 3.10.
//!
//! The evaluator works by isotherm: whatever depends on tau alone is computed once ([`Isotherm::new`]), so that the search for a
//! density at given pressure repeats only short polynomials in delta.

use super::elementary::exp;

/// Coefficients of one refrigerant; SI units, per kilogram.
pub(crate) struct Equation {
    /// Specific gas constant, J/(kg K).
    pub gas_constant: f64,
    /// K
    pub t_reducing: f64,
    /// kg/m3
    pub rho_reducing: f64,
    /// Terms n tau^t delta^d exp(-delta^l), gathered by l and d; no exponential where l = 0.
    pub power: &'static [ExponentialBlock],
    /// Terms n tau^t delta^d exp(-eta (delta - epsilon)^2 - beta (tau - gamma)^2).
    pub gaussian: &'static [GaussianTerm],
    /// The critical-region terms of Span and Wagner (R744).
    pub non_analytic: &'static [NonAnalyticTerm],
    pub ideal: IdealPart,
}

pub(crate) struct ExponentialBlock {
    pub l: usize,
    pub rows: &'static [PowerRow],
}

pub(crate) struct PowerRow {
    pub d: usize,
    /// Pairs (n, t).
    pub terms: &'static [(f64, f64)],
}

pub(crate) struct GaussianTerm {
    pub n: f64,
    pub t: f64,
    pub d: usize,
    pub eta: f64,
    pub epsilon: f64,
    pub beta: f64,
    pub gamma: f64,
}

pub(crate) struct NonAnalyticTerm {
    pub n: f64,
    pub a: f64,
    pub b: f64,
    pub beta: f64,
    pub big_a: f64,
    pub big_b: f64,
    pub big_c: f64,
    pub big_d: f64,
}

/// ln delta + a1 + a2 tau + log_tau ln tau + sum n tau^t + sum n ln(1 - exp(-theta tau)).
pub(crate) struct IdealPart {
    pub a1: f64,
    pub a2: f64,
    pub log_tau: f64,
    pub power: &'static [(f64, f64)],
    pub planck_einstein: &'static [(f64, f64)],
}

/// Room for the rows (distinct pairs of l and d), the Gaussian terms and the powers of delta of the largest equation.
const MAX_ROWS: usize = 32;
const MAX_GAUSSIAN: usize = 8;
const MAX_POWER: usize = 12;

/// A function of tau, with its first and second derivative multiplied by tau and tau squared.
#[derive(Clone, Copy, Default)]
struct InTau {
    value: f64,
    first: f64,
    second: f64,
}

/// The residual part at one temperature.
pub(crate) struct Isotherm {
    equation: &'static Equation,
    /// K
    pub t: f64,
    pub tau: f64,
    ln_tau: f64,
    rows: [InTau; MAX_ROWS],
    gaussian: [InTau; MAX_GAUSSIAN],
}

/// First and second derivative of the residual part by delta, multiplied by delta and delta squared.
#[derive(Clone, Copy, Default)]
pub(crate) struct DensityDerivatives {
    pub d: f64,
    pub dd: f64,
}

/// The residual part and its derivatives; each multiplied by the powers of delta and tau that it is a derivative by.
#[derive(Clone, Copy, Default)]
pub(crate) struct Residual {
    pub value: f64,
    pub d: f64,
    pub dd: f64,
    pub t: f64,
    pub tt: f64,
    pub dt: f64,
}

impl Isotherm {
    pub fn new(equation: &'static Equation, t: f64) -> Self {
        let tau = equation.t_reducing / t;
        let ln_tau = libm::log(tau);
        let mut isotherm = Isotherm {
            equation,
            t,
            tau,
            ln_tau,
            rows: [InTau::default(); MAX_ROWS],
            gaussian: [InTau::default(); MAX_GAUSSIAN],
        };
        let all_rows = equation.power.iter().flat_map(|block| block.rows);
        for (slot, row) in isotherm.rows.iter_mut().zip(all_rows) {
            for &(n, t) in row.terms {
                let term = n * power(tau, ln_tau, t);
                slot.value += term;
                slot.first += term * t;
                slot.second += term * (t * (t - 1.0));
            }
        }
        for (slot, term) in isotherm.gaussian.iter_mut().zip(equation.gaussian) {
            let off = tau - term.gamma;
            let value = term.n * exp(term.t * ln_tau - term.beta * off * off);
            let slope = term.t - 2.0 * term.beta * tau * off;
            slot.value = value;
            slot.first = value * slope;
            slot.second = value * (slope * slope - term.t - 2.0 * term.beta * tau * tau);
        }
        isotherm
    }

    /// Pressure divided by rho_r R T, and its derivative by delta.
    pub fn reduced_pressure(&self, delta: f64) -> (f64, f64) {
        let a = self.density_derivatives(delta);
        (delta * (1.0 + a.d), 1.0 + 2.0 * a.d + a.dd)
    }

    pub fn density_derivatives(&self, delta: f64) -> DensityDerivatives {
        let powers = powers_of(delta);
        let mut sum = DensityDerivatives::default();
        let mut next = 0;
        for block in self.equation.power {
            let (mut s0, mut s1, mut s2) = (0.0, 0.0, 0.0);
            for row in block.rows {
                let d = row.d as f64;
                let term = self.rows[next].value * powers[row.d];
                next += 1;
                s0 += term;
                s1 += term * d;
                s2 += term * (d * (d - 1.0));
            }
            if block.l == 0 {
                sum.d += s1;
                sum.dd += s2;
            } else {
                let l = block.l as f64;
                let dl = powers[block.l];
                let e = exp(-dl);
                let ldl = l * dl;
                sum.d += e * (s1 - ldl * s0);
                sum.dd += e * (s2 - 2.0 * ldl * s1 + (ldl * ldl - (l - 1.0) * ldl) * s0);
            }
        }
        for (term, coefficient) in self.equation.gaussian.iter().zip(&self.gaussian) {
            let bell = Bell::new(term, delta);
            let value = coefficient.value * powers[term.d] * bell.value;
            sum.d += value * bell.first;
            sum.dd += value * bell.second;
        }
        if !self.equation.non_analytic.is_empty() {
            let near = NearCritical::new(delta);
            for term in self.equation.non_analytic {
                let a = near.term(term, self.tau);
                sum.d += a.d;
                sum.dd += a.dd;
            }
        }
        sum
    }

    pub fn residual(&self, delta: f64) -> Residual {
        let powers = powers_of(delta);
        let mut sum = Residual::default();
        let mut next = 0;
        for block in self.equation.power {
            // Sums over the block without its exponential: [value, tau, tau tau] by [1, d, d(d-1)].
            let mut s = [[0.0; 3]; 3];
            for row in block.rows {
                let c = &self.rows[next];
                next += 1;
                let d = row.d as f64;
                let dp = powers[row.d];
                let by_tau = [c.value * dp, c.first * dp, c.second * dp];
                for (into, term) in s.iter_mut().zip(by_tau) {
                    into[0] += term;
                    into[1] += term * d;
                    into[2] += term * (d * (d - 1.0));
                }
            }
            if block.l == 0 {
                sum.value += s[0][0];
                sum.d += s[0][1];
                sum.dd += s[0][2];
                sum.t += s[1][0];
                sum.dt += s[1][1];
                sum.tt += s[2][0];
            } else {
                let l = block.l as f64;
                let dl = powers[block.l];
                let e = exp(-dl);
                let ldl = l * dl;
                sum.value += e * s[0][0];
                sum.d += e * (s[0][1] - ldl * s[0][0]);
                sum.dd += e * (s[0][2] - 2.0 * ldl * s[0][1] + (ldl * ldl - (l - 1.0) * ldl) * s[0][0]);
                sum.t += e * s[1][0];
                sum.dt += e * (s[1][1] - ldl * s[1][0]);
                sum.tt += e * s[2][0];
            }
        }
        for (term, c) in self.equation.gaussian.iter().zip(&self.gaussian) {
            let bell = Bell::new(term, delta);
            let shape = powers[term.d] * bell.value;
            sum.value += c.value * shape;
            sum.d += c.value * shape * bell.first;
            sum.dd += c.value * shape * bell.second;
            sum.t += c.first * shape;
            sum.tt += c.second * shape;
            sum.dt += c.first * shape * bell.first;
        }
        if !self.equation.non_analytic.is_empty() {
            let near = NearCritical::new(delta);
            for term in self.equation.non_analytic {
                let a = near.term(term, self.tau);
                sum.value += a.value;
                sum.d += a.d;
                sum.dd += a.dd;
                sum.t += a.t;
                sum.tt += a.tt;
                sum.dt += a.dt;
            }
        }
        sum
    }

    /// The ideal part without ln delta, with its derivatives multiplied by tau and tau squared.
    fn ideal(&self) -> InTau {
        let ideal = &self.equation.ideal;
        let tau = self.tau;
        let mut sum = InTau {
            value: ideal.a1 + ideal.a2 * tau + ideal.log_tau * self.ln_tau,
            first: ideal.a2 * tau + ideal.log_tau,
            second: -ideal.log_tau,
        };
        for &(n, t) in ideal.power {
            let term = n * power(tau, self.ln_tau, t);
            sum.value += term;
            sum.first += term * t;
            sum.second += term * (t * (t - 1.0));
        }
        for &(n, theta) in ideal.planck_einstein {
            let x = theta * tau;
            let e = exp(-x);
            let occupied = e / (1.0 - e);
            sum.value += n * libm::log1p(-e);
            sum.first += n * x * occupied;
            sum.second -= n * x * x * occupied * (1.0 + occupied);
        }
        sum
    }

    /// All properties at the reduced density `delta`.
    pub fn properties(&self, delta: f64) -> Properties {
        let r = self.equation.gas_constant;
        let t = self.t;
        let ideal = self.ideal();
        let a = self.residual(delta);
        let energy = ideal.first + a.t;
        let cv = -r * (ideal.second + a.tt);
        // Derivatives of pressure: by rho at constant T over R T; by T at constant rho over rho R.
        let by_density = 1.0 + 2.0 * a.d + a.dd;
        let by_temperature = 1.0 + a.d - a.dt;
        let rho = delta * self.equation.rho_reducing;
        let cp = cv + r * by_temperature * by_temperature / by_density;
        Properties {
            rho,
            p: rho * r * t * (1.0 + a.d),
            h: r * t * (1.0 + a.d + energy),
            u: r * t * energy,
            s: r * (energy - libm::log(delta) - ideal.value - a.value),
            cv,
            cp,
            speed_of_sound: (r * t * by_density * cp / cv).max(0.0).sqrt(),
            dp_drho: r * t * by_density,
            dp_dt: rho * r * by_temperature,
        }
    }
}

/// What the equation says of one state; SI units per kilogram.
#[derive(Clone, Copy)]
pub(crate) struct Properties {
    pub rho: f64,
    pub p: f64,
    pub h: f64,
    pub u: f64,
    pub s: f64,
    pub cv: f64,
    pub cp: f64,
    pub speed_of_sound: f64,
    /// (dp/drho) at constant temperature, J/kg.
    pub dp_drho: f64,
    /// (dp/dT) at constant density, Pa/K.
    pub dp_dt: f64,
}

/// x to the power `t`, given ln x; the common small exponents without an exponential.
fn power(x: f64, ln_x: f64, t: f64) -> f64 {
    if t == 0.0 {
        1.0
    } else if t == 1.0 {
        x
    } else if t == 2.0 {
        x * x
    } else if t == 3.0 {
        x * x * x
    } else {
        exp(t * ln_x)
    }
}

fn powers_of(delta: f64) -> [f64; MAX_POWER] {
    let mut powers = [1.0; MAX_POWER];
    powers[1] = delta;
    // Each from its halves: short chains, so that the processor can overlap them.
    for i in 2..MAX_POWER {
        powers[i] = powers[i / 2] * powers[i - i / 2];
    }
    powers
}

/// exp(-eta (delta - epsilon)^2), and the factors that turn delta^d times it into its derivatives.
struct Bell {
    value: f64,
    first: f64,
    second: f64,
}

impl Bell {
    fn new(term: &GaussianTerm, delta: f64) -> Self {
        let d = term.d as f64;
        let off = delta - term.epsilon;
        let first = d - 2.0 * term.eta * delta * off;
        Bell { value: exp(-term.eta * off * off), first, second: first * first - d - 2.0 * term.eta * delta * delta }
    }
}

/// The part of the non-analytic terms that depends on delta alone.
struct NearCritical {
    delta: f64,
    /// (delta - 1), its square kept off zero, and the logarithm of the square.
    off: f64,
    square: f64,
    ln_square: f64,
}

impl NearCritical {
    fn new(delta: f64) -> Self {
        let off = delta - 1.0;
        // At delta = 1 the derivatives exist as limits only: stop at a distance of 1e-12.
        let square = (off * off).max(1e-24);
        NearCritical { delta, off, square, ln_square: libm::log(square) }
    }

    /// One term with its derivatives, after W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, table 6.5.
    fn term(&self, c: &NonAnalyticTerm, tau: f64) -> Residual {
        let NearCritical { delta, off, square, ln_square } = *self;
        let off_tau = tau - 1.0;
        let exponent = c.big_c * square + c.big_d * off_tau * off_tau;
        if exponent > 60.0 {
            // Below 1e-26: nothing is left of it in an f64.
            return Residual::default();
        }
        let psi = exp(-exponent);
        let inverse_beta = 1.0 / c.beta;
        // square^(1/(2 beta)) and square^a, and the same divided by the square.
        let root = exp(0.5 * inverse_beta * ln_square);
        let root_less = root / square;
        let wide = exp(c.a * ln_square);
        let wide_less = wide / square;

        let theta = -off_tau + c.big_a * root;
        let big_delta = (theta * theta + c.big_b * wide).max(1e-60);
        let to_b = exp(c.b * libm::log(big_delta));
        let to_b1 = to_b / big_delta;
        let to_b2 = to_b1 / big_delta;

        // big_delta's first derivative is off * slope.
        let slope = 2.0 * c.big_a * theta * inverse_beta * root_less + 2.0 * c.big_b * c.a * wide_less;
        let first = off * slope;
        let second = slope
            + 4.0 * c.big_b * c.a * (c.a - 1.0) * wide_less
            + 2.0 * c.big_a * c.big_a * inverse_beta * inverse_beta * root_less * root
            + 4.0 * c.big_a * theta * inverse_beta * (0.5 * inverse_beta - 1.0) * root_less;

        let b_d = c.b * to_b1 * first;
        let b_dd = c.b * (to_b1 * second + (c.b - 1.0) * to_b2 * first * first);
        let b_t = -2.0 * theta * c.b * to_b1;
        let b_tt = 2.0 * c.b * to_b1 + 4.0 * theta * theta * c.b * (c.b - 1.0) * to_b2;
        let b_dt = -2.0 * c.big_a * c.b * inverse_beta * to_b1 * off * root_less
            - 2.0 * theta * c.b * (c.b - 1.0) * to_b2 * first;

        // Derivatives of psi, over psi.
        let psi_d = -2.0 * c.big_c * off;
        let psi_dd = 2.0 * c.big_c * (2.0 * c.big_c * square - 1.0);
        let psi_t = -2.0 * c.big_d * off_tau;
        let psi_tt = 2.0 * c.big_d * (2.0 * c.big_d * off_tau * off_tau - 1.0);
        let psi_dt = psi_d * psi_t;

        let n = c.n * psi;
        let edge = 1.0 + delta * psi_d;
        Residual {
            value: n * delta * to_b,
            d: n * delta * (to_b * edge + b_d * delta),
            dd: n * delta * delta * (to_b * (2.0 * psi_d + delta * psi_dd) + 2.0 * b_d * edge + b_dd * delta),
            t: n * delta * tau * (b_t + to_b * psi_t),
            tt: n * delta * tau * tau * (b_tt + 2.0 * b_t * psi_t + to_b * psi_tt),
            dt: n * delta * tau * (to_b * (psi_t + delta * psi_dt) + delta * b_d * psi_t + b_t * edge + b_dt * delta),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Refrigerant;
    use super::*;

    #[test]
    fn every_equation_fits_the_evaluators_arrays() {
        for refrigerant in Refrigerant::ALL {
            let equation = &refrigerant.data().equation;
            let rows: Vec<_> = equation.power.iter().flat_map(|b| b.rows).collect();
            assert!(rows.len() <= MAX_ROWS, "{refrigerant}: {} rows", rows.len());
            assert!(rows.iter().all(|row| row.d < MAX_POWER));
            assert!(equation.power.iter().all(|block| block.l < MAX_POWER));
            assert!(equation.gaussian.len() <= MAX_GAUSSIAN);
            assert!(equation.gaussian.iter().all(|term| term.d < MAX_POWER));
        }
    }

    /// The analytic derivatives against central differences of the sums they come from.
    #[test]
    fn derivatives_agree_with_differences() {
        for refrigerant in Refrigerant::ALL {
            let equation = &refrigerant.data().equation;
            for (tau, delta) in [(1.3, 0.01), (1.2, 2.7), (0.95, 0.4), (1.01, 1.02), (0.9, 1.6)] {
                let at = |tau: f64, delta: f64| Isotherm::new(equation, equation.t_reducing / tau).residual(delta);
                let (ht, hd) = (1e-5 * tau, 1e-5 * delta);
                let here = at(tau, delta);
                let (up, down) = (at(tau + ht, delta), at(tau - ht, delta));
                let (right, left) = (at(tau, delta + hd), at(tau, delta - hd));
                let close = |what: &str, analytic: f64, difference: f64| {
                    let scale = analytic.abs().max(here.value.abs()).max(1e-3);
                    assert!(
                        (analytic - difference).abs() < 2e-6 * scale,
                        "{refrigerant} {what} at tau {tau}, delta {delta}: {analytic} against {difference}"
                    );
                };
                close("t", here.t, (up.value - down.value) / (2.0 * ht) * tau);
                close("tt", here.tt + here.t, (up.t - down.t) / (2.0 * ht) * tau);
                close("d", here.d, (right.value - left.value) / (2.0 * hd) * delta);
                close("dd", here.dd + here.d, (right.d - left.d) / (2.0 * hd) * delta);
                close("dt", here.dt, (right.t - left.t) / (2.0 * hd) * delta);
                let short = Isotherm::new(equation, equation.t_reducing / tau).density_derivatives(delta);
                close("d, short form", short.d, here.d);
                close("dd, short form", short.dd, here.dd);
            }
        }
    }
}
