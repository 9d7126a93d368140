//! States from pairs of given quantities.

use super::data::FluidData;
use super::density::{DENSEST, Search, solve};
use super::equation::{Isotherm, Properties};
use super::tables::Column;
use super::{P_LOW, Phase, Quantity, Refrigerant, RefrigerantError, Response, Saturation, State};

/// How far a temperature may miss its range, K: rounding of the tables, so that the ends of the range are served.
const T_SLACK: f64 = 1e-3;

/// Which branch of the equation a single-phase state belongs to.
#[derive(Clone, Copy, PartialEq)]
enum Branch {
    Liquid,
    Vapour,
    /// Vapour below the pressures of the saturation table.
    ThinGas,
    /// No saturation at this pressure, or none needed: one root on the whole isotherm.
    Dense,
}

impl Refrigerant {
    /// The state at `p` (Pa absolute) and `t` (K), liquid, vapour or supercritical.
    ///
    /// At the dew temperature itself the state is saturated vapour. Between bubble and dew the answer is an error
    /// ([`RefrigerantError::TwoPhase`]): give quality or enthalpy there.
    pub fn state_pt(self, p: f64, t: f64) -> Result<State, RefrigerantError> {
        self.check_pt(p, t)?;
        let fluid = self.data();
        let table = &fluid.saturation;
        let (branch, search) = if table.holds_pressure(p) {
            let saturation = self.saturation_unchecked(p);
            if t >= saturation.dew.t {
                let dew = &saturation.dew;
                (Branch::Vapour, Search::vapour(fluid, p, t, dew.t, dew.rho))
            } else if t < saturation.bubble.t {
                (Branch::Liquid, liquid_search(fluid, t))
            } else {
                return Err(self.two_phase(p, t, &saturation));
            }
        } else if p < table.p_low {
            // The dew temperature here is below the lowest temperature served.
            (Branch::ThinGas, Search::thin_gas(fluid, p, t))
        } else {
            self.check_not_near_critical(p, t)?;
            (Branch::Dense, dense_search(fluid, p, t))
        };
        let isotherm = Isotherm::new(&fluid.equation, t);
        let delta =
            solve(fluid, &isotherm, p, search).ok_or_else(|| self.not_converged(p, Quantity::Temperature, t))?;
        Ok(single_phase(fluid, p, t, branch, &isotherm.properties(delta)))
    }

    /// The state at `p` (Pa absolute) and enthalpy `h` (J/kg, counted as in this module).
    pub fn state_ph(self, p: f64, h: f64) -> Result<State, RefrigerantError> {
        self.state_from(p, Given { quantity: Quantity::Enthalpy, value: h })
    }

    /// The state at `p` (Pa absolute) and entropy `s` (J/(kg K), counted as in this module).
    pub fn state_ps(self, p: f64, s: f64) -> Result<State, RefrigerantError> {
        self.state_from(p, Given { quantity: Quantity::Entropy, value: s })
    }

    /// The two-phase state at `p` (Pa absolute) with the vapour's share `quality` (0 to 1); see [`Saturation::mix`].
    pub fn state_px(self, p: f64, quality: f64) -> Result<State, RefrigerantError> {
        if !(0.0..=1.0).contains(&quality) {
            return Err(self.out_of_range(Quantity::Quality, quality, 0.0, 1.0));
        }
        Ok(self.saturation(p)?.mix(quality))
    }

    /// The vapour's share of the mass at `p` (Pa absolute) and enthalpy `h` (J/kg): below 0 in subcooled liquid, above 1 in superheated vapour.
    pub fn quality(self, p: f64, h: f64) -> Result<f64, RefrigerantError> {
        let saturation = self.saturation(p)?;
        Ok((h - saturation.bubble.h) / (saturation.dew.h - saturation.bubble.h))
    }

    fn check_pt(self, p: f64, t: f64) -> Result<(), RefrigerantError> {
        let fluid = self.data();
        self.check_pressure(p)?;
        let (low, high) = (fluid.saturation.t_low, fluid.t_max);
        if (low - T_SLACK..=high + T_SLACK).contains(&t) {
            Ok(())
        } else {
            Err(self.out_of_range(Quantity::Temperature, t, low, high))
        }
    }

    pub(super) fn check_pressure(self, p: f64) -> Result<(), RefrigerantError> {
        let high = self.data().p_max;
        if (P_LOW..=high).contains(&p) { Ok(()) } else { Err(self.out_of_range(Quantity::Pressure, p, P_LOW, high)) }
    }

    /// Above the table's highest pressure: refuse what may lie under the untabulated tip of the dome.
    fn check_not_near_critical(self, p: f64, t: f64) -> Result<(), RefrigerantError> {
        let fluid = self.data();
        let under_tip = p < fluid.p_critical && t > fluid.saturation.t_high && t < fluid.t_critical;
        if under_tip { Err(RefrigerantError::NearCritical { refrigerant: self, p }) } else { Ok(()) }
    }

    fn two_phase(self, p: f64, t: f64, saturation: &Saturation) -> RefrigerantError {
        RefrigerantError::TwoPhase { refrigerant: self, p, t, t_bubble: saturation.bubble.t, t_dew: saturation.dew.t }
    }

    fn not_converged(self, p: f64, quantity: Quantity, value: f64) -> RefrigerantError {
        RefrigerantError::NotConverged { refrigerant: self, p, quantity, value }
    }

    fn state_from(self, p: f64, given: Given) -> Result<State, RefrigerantError> {
        self.check_pressure(p)?;
        let fluid = self.data();
        let table = &fluid.saturation;
        let (t_low, t_high) = (table.t_low - T_SLACK, fluid.t_max + T_SLACK);
        if table.holds_pressure(p) {
            let saturation = self.saturation_unchecked(p);
            let bubble = given.of(saturation.bubble.h, saturation.bubble.s);
            let dew = given.of(saturation.dew.h, saturation.dew.s);
            if given.value > dew {
                let start = Start { t: saturation.dew.t, rho: saturation.dew.rho };
                self.search_temperature(p, given, Branch::Vapour, (start.t, t_high), start)
            } else if given.value < bubble {
                let start = Start { t: saturation.bubble.t, rho: saturation.bubble.rho };
                self.search_temperature(p, given, Branch::Liquid, (t_low, start.t), start)
            } else if given.value.is_nan() {
                Err(self.out_of_range(given.quantity, given.value, bubble, dew))
            } else {
                Ok(saturation.mix((given.value - bubble) / (dew - bubble)))
            }
        } else if p < table.p_low {
            let dew = table.column_at_pressure(Column::DewT, table.p_low);
            let rho = p / (fluid.equation.gas_constant * dew);
            let start = Start { t: dew, rho };
            self.search_temperature(p, given, Branch::ThinGas, (t_low, t_high), start)
        } else {
            self.dense_state_from(p, given)
        }
    }

    /// Above the top of the saturation table.
    fn dense_state_from(self, p: f64, given: Given) -> Result<State, RefrigerantError> {
        let fluid = self.data();
        let table = &fluid.saturation;
        let top = self.saturation_unchecked(table.p_high);
        let (bubble, dew) = (given.of(top.bubble.h, top.bubble.s), given.of(top.dew.h, top.dew.s));
        // Between the table and the critical pressure the tip of the dome is in the way.
        let (low, high) = if p >= fluid.p_critical {
            (table.t_low - T_SLACK, fluid.t_max + T_SLACK)
        } else if given.value <= bubble {
            (table.t_low - T_SLACK, table.t_high)
        } else if given.value >= dew {
            (fluid.t_critical, fluid.t_max + T_SLACK)
        } else {
            return Err(RefrigerantError::NearCritical { refrigerant: self, p });
        };
        let (t, rho) = if given.value <= bubble {
            (top.bubble.t, top.bubble.rho)
        } else {
            (fluid.t_critical.max(top.dew.t), fluid.rho_critical)
        };
        self.search_temperature(p, given, Branch::Dense, (low, high), Start { t, rho })
    }

    /// The single-phase state in which the given quantity is met at `p`, at a temperature within `bounds`.
    fn search_temperature(
        self,
        p: f64,
        given: Given,
        branch: Branch,
        bounds: (f64, f64),
        start: Start,
    ) -> Result<State, RefrigerantError> {
        match self.fast_search(p, given, branch, bounds, start) {
            Some(state) => Ok(state),
            None => self.safe_search(p, given, branch, bounds, start),
        }
    }

    /// Newton's method in temperature and density at once. None if it does not settle quickly on the right branch.
    fn fast_search(self, p: f64, given: Given, branch: Branch, (low, high): (f64, f64), start: Start) -> Option<State> {
        let fluid = self.data();
        let Start { mut t, mut rho } = start;
        for _ in 0..10 {
            let isotherm = Isotherm::new(&fluid.equation, t);
            let mut now = isotherm.properties(rho / fluid.equation.rho_reducing);
            if now.dp_drho.is_nan() || now.dp_drho <= 0.0 {
                return None;
            }
            let missing = given.value - given.of(now.h, now.s);
            let dp = p - now.p;
            // T beta, beta the coefficient of thermal expansion.
            let expansion = t * now.dp_dt / (rho * now.dp_drho);
            let dt = match given.quantity {
                Quantity::Entropy => (t * missing + expansion / rho * dp) / now.cp,
                _ => (missing - (1.0 - expansion) / rho * dp) / now.cp,
            };
            let drho = (dp - now.dp_dt * dt) / now.dp_drho;
            let (wide_t, wide_rho) = (dt.abs() / t, drho.abs() / rho);
            t += dt.clamp(-0.2 * t, 0.3 * t);
            rho += drho.clamp(-0.6 * rho, 0.6 * rho);
            if wide_t < 1e-6 && wide_rho < 1e-6 {
                let on_branch = match branch {
                    Branch::Vapour => rho <= start.rho * (1.0 + 1e-5),
                    Branch::Liquid => rho >= start.rho * (1.0 - 1e-5),
                    Branch::ThinGas => rho < 0.5 * fluid.rho_critical,
                    Branch::Dense => t >= fluid.t_critical || rho > fluid.rho_critical,
                };
                let inside = t >= low * (1.0 - 1e-9) && t <= high * (1.0 + 1e-9);
                if !(on_branch && inside) {
                    return None;
                }
                // What is left of the step is taken along the tangent: the next step would be of its square.
                match given.quantity {
                    Quantity::Entropy => {
                        now.h += t * missing + dp / rho;
                        now.s = given.value;
                    }
                    _ => {
                        now.s += (missing - dp / rho) / t;
                        now.h = given.value;
                    }
                }
                now.rho = rho;
                now.u = now.h - p / rho;
                return Some(single_phase(fluid, p, t, branch, &now));
            }
        }
        None
    }

    /// Newton's method in temperature with the heat capacity as slope, inside a bracket that shrinks; the density is solved for at
    /// each temperature. Slower, and certain.
    fn safe_search(
        self,
        p: f64,
        given: Given,
        branch: Branch,
        (mut low, mut high): (f64, f64),
        start: Start,
    ) -> Result<State, RefrigerantError> {
        let fluid = self.data();
        let scale = fluid.equation.rho_reducing;
        let (bottom, top) = (low, high);
        let mut t = start.t.clamp(low, high);
        let mut guess = start.rho;
        let (thinnest, densest) = match branch {
            Branch::Vapour => (0.0, start.rho / scale * (1.0 + 1e-5)),
            Branch::Liquid => (start.rho / scale * (1.0 - 1e-5), DENSEST),
            Branch::ThinGas => (0.0, 0.5),
            Branch::Dense => (0.0, DENSEST),
        };
        for _ in 0..80 {
            let isotherm = Isotherm::new(&fluid.equation, t);
            let guess_delta = (guess / scale).clamp(thinnest + 1e-12, densest);
            let search = Search { low: thinnest, high: densest, guess: guess_delta };
            let delta =
                solve(fluid, &isotherm, p, search).ok_or_else(|| self.not_converged(p, given.quantity, given.value))?;
            let now = isotherm.properties(delta);
            let missing = given.value - given.of(now.h, now.s);
            if missing > 0.0 {
                low = t;
            } else {
                high = t;
            }
            let step = match given.quantity {
                Quantity::Entropy => t * missing / now.cp,
                _ => missing / now.cp,
            };
            if step.abs() < 1e-9 * t {
                return Ok(single_phase(fluid, p, t, branch, &now));
            }
            let mut next = t + step;
            if !(next > low && next < high) {
                if high - low < 1e-9 * t {
                    // Pressed against an end of the range: there is no such state.
                    let at = |t| self.state_pt(p, t).map_or(f64::NAN, |s| given.of(s.h, s.s));
                    return Err(self.out_of_range(given.quantity, given.value, at(bottom), at(top)));
                }
                next = 0.5 * (low + high);
            }
            let drho_dt = -now.dp_dt / now.dp_drho;
            guess = (now.rho + drho_dt * (next - t)).max(0.2 * now.rho);
            t = next;
        }
        Err(self.not_converged(p, given.quantity, given.value))
    }
}

/// The quantity given beside the pressure.
#[derive(Clone, Copy)]
struct Given {
    quantity: Quantity,
    value: f64,
}

impl Given {
    /// The one of enthalpy and entropy that was given.
    fn of(&self, h: f64, s: f64) -> f64 {
        if self.quantity == Quantity::Entropy { s } else { h }
    }
}

/// Where a search for temperature begins.
#[derive(Clone, Copy)]
struct Start {
    t: f64,
    rho: f64,
}

/// Search in liquid below the table's highest temperature.
fn liquid_search(fluid: &FluidData, t: f64) -> Search {
    let table = &fluid.saturation;
    let [bubble, _] = table.pressures_at_temperature(t);
    Search::liquid(fluid, table.column_at_pressure(Column::BubbleRho, bubble))
}

fn dense_search(fluid: &FluidData, p: f64, t: f64) -> Search {
    if fluid.saturation.holds_temperature(t) { liquid_search(fluid, t) } else { Search::dense(fluid, p, t) }
}

fn single_phase(fluid: &FluidData, p: f64, t: f64, branch: Branch, found: &Properties) -> State {
    let phase = match branch {
        Branch::Liquid => Phase::Liquid,
        Branch::Vapour | Branch::ThinGas => Phase::Vapour,
        Branch::Dense if p >= fluid.p_critical => Phase::Supercritical,
        Branch::Dense if t < fluid.t_critical => Phase::Liquid,
        Branch::Dense => Phase::Vapour,
    };
    State {
        t,
        p,
        rho: found.rho,
        h: found.h,
        s: found.s,
        u: found.u,
        phase,
        response: Some(Response { cp: found.cp, cv: found.cv, speed_of_sound: found.speed_of_sound }),
    }
}
