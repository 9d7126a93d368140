//! The compressor: what it moves, what it draws, and how hot the gas leaves.
//!
//! Without a map the flow follows from displacement and a volumetric efficiency that falls with the pressure
//! ratio (re-expansion and internal leakage), the power from isentropic work and an overall efficiency with a
//! best ratio. The defaults by class are judgement, within what maps of small hermetic machines show. With a
//! map, the ten-coefficient polynomials of AHRI 540 replace both.

use crate::working::{Working, smooth_max};
use halfsplit_fluids::refrigerant::Saturation;
use libm::{log, pow};

/// How the compressor is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CompressorClass {
    /// Rolling piston or sliding vane.
    Rotary,
    /// Orbiting scroll.
    Scroll,
    /// Piston.
    Reciprocating,
}

/// Ten-coefficient polynomials of AHRI 540 for one refrigerant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Map {
    /// Mass flow, kg/s, from dew temperatures in °C.
    pub flow: [f64; 10],
    /// Power, W, from dew temperatures in °C.
    pub power: [f64; 10],
    /// Superheat at which the map was measured, K.
    pub superheat: f64,
}

/// X = c1 + c2 S + c3 D + c4 S² + c5 S D + c6 D² + c7 S³ + c8 D S² + c9 S D² + c10 D³, with S the suction and D
/// the discharge dew temperature. Source: AHRI 540, equation for published ratings.
pub fn ten_coefficients(c: &[f64; 10], s: f64, d: f64) -> f64 {
    c[0] + c[1] * s
        + c[2] * d
        + c[3] * s * s
        + c[4] * s * d
        + c[5] * d * d
        + c[6] * s * s * s
        + c[7] * d * s * s
        + c[8] * s * d * d
        + c[9] * d * d * d
}

/// A compressor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compressor {
    /// Swept volume per second at rated speed, m³/s.
    pub displacement: f64,
    /// Volumetric efficiency at pressure ratio 1.
    pub fill: f64,
    /// Loss of volumetric efficiency per unit of pressure ratio.
    pub fill_loss: f64,
    /// Best overall efficiency, isentropic work over electrical power.
    pub best_efficiency: f64,
    /// Pressure ratio at which it is reached, or nearly: what slips back grows with the ratio.
    pub best_ratio: f64,
    /// Pockets of a scroll; `None` where a valve opens at the discharge pressure.
    pub pockets: Option<Pockets>,
    /// Work spent on gas that leaks back, as a share of the whole compression: all of it where a discharge valve leaks, less where
    /// gas slips past clearances while it is being compressed. Judgement.
    pub leak_work: f64,
    /// Share of the power that the shell gives to its surroundings.
    pub shell_loss: f64,
    /// Measured polynomials that replace the efficiencies.
    pub map: Option<Map>,
}

/// Exponent of the gas in a scroll's pockets: R410A and R22 between evaporating and discharge. Judgement.
const EXPONENT: f64 = 1.18;
/// Friction, as a share of discharge pressure times displacement: a tenth of the power. Judgement.
const FRICTION: f64 = 0.05;

/// Pockets that close and open by geometry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pockets {
    volume_ratio: f64,
    own_ratio: f64,
    own_work: f64,
    best: f64,
}

impl Pockets {
    /// Pockets that are so many times smaller when they open than when they close, with the ratio of pressures at which they do best.
    pub fn new(volume_ratio: f64, best_ratio: f64) -> Self {
        let own_ratio = pow(volume_ratio, EXPONENT);
        let unscaled = Self { volume_ratio, own_ratio, own_work: isentropic(own_ratio), best: 1.0 };
        Self { best: unscaled.efficiency(best_ratio), ..unscaled }
    }

    /// Isentropic work over work done, with friction, as a share of the best. Off the pressure ratio that belongs to the volume ratio the gas is compressed too far
    /// or, when the pocket opens, suddenly the rest of the way.
    ///
    /// Source: first law on an ideal gas, as in any text on screw and scroll compressors.
    pub fn efficiency(&self, ratio: f64) -> f64 {
        let done = self.own_work + (ratio - self.own_ratio) / self.volume_ratio;
        isentropic(ratio) / (done + FRICTION * ratio) / self.best
    }
}

/// Isentropic work of an ideal gas, per suction pressure and volume.
fn isentropic(ratio: f64) -> f64 {
    const RISE: f64 = (EXPONENT - 1.0) / EXPONENT;
    (pow(ratio, RISE) - 1.0) / RISE
}

/// Width of the bend between wet and dry suction, J/kg.
const BEND: f64 = 4e3;
/// Distance over which the swelling of gas near its dew line is taken, J/kg.
const NEARBY: f64 = 5e3;

/// What the compressor does at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// Flow through the circuit, kg/s.
    pub flow: f64,
    /// Electrical power, W.
    pub power: f64,
    /// Enthalpy at its suction port, J/kg.
    pub suction: f64,
    /// Enthalpy at its discharge port, J/kg.
    pub discharge: f64,
}

/// What is wrong with it and how fast it turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Running {
    /// Speed as a fraction of rated.
    pub speed: f64,
    /// Pumping as a fraction of sound: leaking valves.
    pub pumping: f64,
    /// Share of the discharge that a reversing valve lets through to the suction.
    pub bypass: f64,
}

impl Compressor {
    /// Defaults of a class; displacement 1 m³/s, for a designer to scale.
    pub fn of_class(class: CompressorClass) -> Self {
        let rotary = Self {
            displacement: 1.0,
            fill: 0.99,
            fill_loss: 0.036,
            best_efficiency: 0.57,
            best_ratio: 4.2,
            pockets: None,
            leak_work: 0.8,
            shell_loss: 0.07,
            map: None,
        };
        match class {
            CompressorClass::Rotary => rotary,
            // No dead space: only leakage costs filling.
            CompressorClass::Scroll => {
                let best_ratio = 2.7;
                let pockets = Some(Pockets::new(2.3, best_ratio));
                Self { fill: 0.98, fill_loss: 0.020, best_efficiency: 0.66, best_ratio, pockets, ..rotary }
            }
            CompressorClass::Reciprocating => {
                Self { fill: 0.92, fill_loss: 0.042, best_efficiency: 0.60, best_ratio: 3.6, leak_work: 1.0, ..rotary }
            }
        }
    }

    /// Volumetric efficiency at a pressure ratio; stays a little above zero for the sake of the iteration.
    pub fn volumetric(&self, ratio: f64) -> f64 {
        let straight = self.fill - self.fill_loss * (ratio - 1.0);
        if straight > 0.05 { straight.min(1.05) } else { 0.05 * libm::exp((straight - 0.05) / 0.05) }
    }

    /// Overall efficiency at a pressure ratio.
    pub fn efficiency(&self, ratio: f64) -> f64 {
        let ratio = ratio.max(1.0);
        let share = match self.pockets {
            None => {
                let x = log(ratio / self.best_ratio);
                let fall = if x < 0.0 { 0.37 } else { 0.16 };
                1.0 - fall * x * x
            }
            // What a scroll does not move has slipped back past its seams, and been worked on.
            Some(pockets) => pockets.efficiency(ratio) * self.slipped_work(self.best_ratio) / self.slipped_work(ratio),
        };
        (self.best_efficiency * share).max(0.12)
    }

    /// Work at a pressure ratio with what slips back while it is compressed, as a multiple of the work on what is moved.
    fn slipped_work(&self, ratio: f64) -> f64 {
        let moved = self.volumetric(ratio);
        1.0 + self.leak_work * (self.fill - moved) / moved
    }

    /// Compression from the suction state (`low`, `h` at the coil's outlet) to the pressure of `high`, which
    /// holds whatever air is in the circuit as well.
    ///
    /// Droplets that come back boil off on walls which the hot gas keeps warm, before the chamber is closed: it fills with dry gas, and
    /// the flow does not grow with what comes in liquid. The balance stays exact, because what dries them leaves the gas that goes
    /// out so much cooler. Droplets that one compression leaves in the discharge have not boiled in the chamber either.
    pub fn compress(&self, w: &Working, low: &Saturation, high: &Saturation, h: f64, run: &Running) -> Compression {
        let pumping = run.pumping.clamp(0.02, 1.0);
        let bypass = run.bypass.clamp(0.0, 0.9);
        // Leaked gas comes back to the chamber and is compressed again.
        let again = self.leak_work * (1.0 - pumping) / pumping;
        let rounds = 1.0 + again;
        let kept = 1.0 - self.shell_loss;
        let dry = smooth_max(h, low.dew.h, BEND);
        let mut drawn = dry;
        let (mut moved, mut work) = self.pumped(w, low, high, drawn, run.speed);
        let lacking = high.dew.h - h - work * kept;
        if dry > h && lacking > -BEND {
            drawn = (dry - smooth_max(lacking, 0.0, BEND)).max(h);
            (moved, work) = self.pumped(w, low, high, drawn, run.speed);
        }
        // A bypass returns hot gas to the suction: it takes room and adds its heat.
        let returned = |gained: f64| h + gained * bypass / (1.0 - bypass);
        let mut filling = 1.0;
        if bypass > 0.0 {
            let mixed = smooth_max(returned(work * rounds * kept), low.dew.h, BEND);
            filling = w.gas(low, drawn).v / w.gas(low, mixed).v;
        }
        // Leaked gas is hot and in the chamber already. Droplets that it boils make it shrink, which leaves room for more.
        let to_dry = drawn - returned(work * rounds * kept);
        let hot = work * again * kept;
        if to_dry > 0.0 && hot > 0.0 {
            let swelling = (w.gas(low, low.dew.h + NEARBY).v * low.dew.rho - 1.0) / NEARBY;
            let denser = 1.0 + swelling / (1.0 + swelling * hot) * (to_dry + hot - smooth_max(to_dry, hot, 0.3 * hot));
            filling *= denser;
            // The chamber works the same, whatever mass is in it.
            work /= denser;
        }
        let pumped = moved * pumping * filling;
        let gained = work * rounds * kept;
        let suction = returned(gained);
        Compression {
            flow: pumped * (1.0 - bypass),
            power: pumped * work * rounds,
            suction,
            discharge: suction + gained,
        }
    }

    /// Flow (kg/s) of sound valves and work (J/kg) on gas with the enthalpy `drawn`.
    fn pumped(&self, w: &Working, low: &Saturation, high: &Saturation, drawn: f64, speed: f64) -> (f64, f64) {
        let at = w.gas(low, drawn);
        let ratio = high.p / low.p;
        match &self.map {
            None => {
                let ideal = (w.isentrope(high, at.s) - drawn).max(0.0);
                (self.displacement * speed * self.volumetric(ratio) / at.v, ideal / self.efficiency(ratio))
            }
            Some(map) => {
                let (s, d) = (low.dew.t - 273.15, high.dew.t - 273.15);
                let measured = w.gas(low, w.superheated(low, map.superheat));
                let rated = ten_coefficients(&map.flow, s, d).max(1e-7);
                // Same volume at another superheat; three quarters of the change in density arrive in the flow.
                // Source: Dabiri and Rice 1981, from memory.
                let moved = rated * (1.0 + 0.75 * (measured.v / at.v - 1.0));
                (moved * speed, ten_coefficients(&map.power, s, d).max(0.0) / rated)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfsplit_fluids::refrigerant::Refrigerant;

    /// Source: written out term by term from the equation of AHRI 540.
    #[test]
    fn the_polynomial_has_the_standards_order_of_terms() {
        let c = [100.0, 2.5, -0.8, 0.03, 0.01, 0.004, 0.0001, -5e-5, 2e-5, -1e-5];
        assert!((ten_coefficients(&c, 0.0, 100.0) - 50.0).abs() < 1e-9);
        let (s, d) = (-10.0_f64, 40.0_f64);
        let by_hand = 100.0 - 25.0 - 32.0 + 3.0 - 4.0 + 6.4 - 0.1 - 0.2 - 0.32 - 0.64;
        assert!((ten_coefficients(&c, s, d) - by_hand).abs() < 1e-9);
    }

    /// Energy balance: what the gas gains and the shell loses is the electrical power.
    #[test]
    fn power_is_accounted_for() {
        let w = Working::new(Refrigerant::R134a).unwrap();
        let c = Compressor { displacement: 4.4e-4, ..Compressor::of_class(CompressorClass::Rotary) };
        let (low, high) = (w.at_dew(280.15), w.at_dew(329.15));
        let h = w.superheated(&low, 6.0);
        for (pumping, bypass) in [(1.0, 0.0), (0.6, 0.0), (1.0, 0.2)] {
            let out = c.compress(&w, &low, &high, h, &Running { speed: 1.0, pumping, bypass });
            assert!((out.flow * (out.discharge - h) / (out.power * (1.0 - c.shell_loss)) - 1.0).abs() < 1e-9);
        }
    }

    /// Droplets make neither flow nor power grow, and what dries them is missing in the discharge.
    #[test]
    fn wet_suction_is_pumped_as_dry_gas() {
        let w = Working::new(Refrigerant::R410A).unwrap();
        let c = Compressor { displacement: 2e-3, ..Compressor::of_class(CompressorClass::Scroll) };
        let (low, high) = (w.at_dew(280.15), w.at_dew(320.15));
        let run = |pumping| Running { speed: 1.0, pumping, bypass: 0.0 };
        let at = |below: f64, pumping| c.compress(&w, &low, &high, low.dew.h - below, &run(pumping));
        let (a, b) = (at(6e3, 1.0), at(20e3, 1.0));
        assert!((a.flow / b.flow - 1.0).abs() < 1e-12 && (a.power / b.power - 1.0).abs() < 1e-12);
        assert!((a.discharge - b.discharge - 14e3).abs() < 1e-6);
        // So wet that drops come out again: they went in as well.
        assert!(at(80e3, 1.0).flow > 1.05 * a.flow);
        // Leaked gas shrinks as it boils drops.
        assert!(at(20e3, 0.6).flow > 1.02 * 0.6 * a.flow);
        for below in [-10e3, 0.0, 3e3, 20e3, 50e3, 90e3] {
            for pumping in [1.0, 0.6, 0.3] {
                let out = at(below, pumping);
                let h = low.dew.h - below;
                assert!((out.flow * (out.discharge - h) / (out.power * (1.0 - c.shell_loss)) - 1.0).abs() < 1e-9);
                let near = at(below + 1.0, pumping);
                assert!((near.flow / out.flow - 1.0).abs() < 1e-4, "{below} {pumping}");
            }
        }
    }

    /// Source: the ideal cycle of a compressor without valves: nothing is lost where the pockets open at the pressure outside. Maps of
    /// scrolls show a power that hardly follows the evaporating temperature (common practice, no source).
    #[test]
    fn a_scroll_is_best_near_its_own_pressure_ratio() {
        let pockets = Pockets::new(2.3, 2.7);
        let own = pow(2.3, 1.18);
        let work = (pow(own, 0.18 / 1.18) - 1.0) * 1.18 / 0.18;
        assert!((pockets.efficiency(own) * pockets.best - work / (work + FRICTION * own)).abs() < 1e-12);
        assert!((pockets.efficiency(2.7) - 1.0).abs() < 1e-12);
        let c = Compressor::of_class(CompressorClass::Scroll);
        assert!(c.efficiency(2.7) > c.efficiency(1.8) && c.efficiency(2.7) > c.efficiency(5.0));
        let w = Working::new(Refrigerant::R410A).unwrap();
        let high = w.at_dew(319.15);
        let power = |evaporating: f64| {
            let low = w.at_dew(evaporating);
            let run = Running { speed: 1.0, pumping: 1.0, bypass: 0.0 };
            c.compress(&w, &low, &high, w.superheated(&low, 6.0), &run).power
        };
        assert!((power(268.15) / power(280.15) - 1.0).abs() < 0.06, "{}", power(268.15) / power(280.15));
    }

    /// A map generated from the efficiencies gives back the same point.
    #[test]
    fn a_map_replaces_the_efficiencies() {
        let w = Working::new(Refrigerant::R134a).unwrap();
        let mut c = Compressor::of_class(CompressorClass::Scroll);
        let mut map = Map { flow: [0.0; 10], power: [0.0; 10], superheat: 6.0 };
        map.flow[0] = 0.01;
        map.power[0] = 500.0;
        c.map = Some(map);
        let (low, high) = (w.at_dew(280.15), w.at_dew(329.15));
        let run = Running { speed: 1.0, pumping: 1.0, bypass: 0.0 };
        let out = c.compress(&w, &low, &high, w.superheated(&low, 6.0), &run);
        assert!((out.flow - 0.01).abs() < 1e-12 && (out.power - 500.0).abs() < 1e-9);
        let warmer = c.compress(&w, &low, &high, w.superheated(&low, 20.0), &run);
        assert!(warmer.flow < out.flow);
    }
}
