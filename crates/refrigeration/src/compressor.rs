//! The compressor: what it moves, what it draws, and how hot the gas leaves.
//!
//! Without a map the flow follows from displacement and a volumetric efficiency that falls with the pressure
//! ratio (re-expansion and internal leakage), the power from isentropic work and an overall efficiency with a
//! best ratio. The defaults by class are judgement, within what maps of small hermetic machines show. With a
//! map, the ten-coefficient polynomials of AHRI 540 replace both.

use crate::working::Working;
use halfsplit_fluids::refrigerant::Saturation;
use libm::log;

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
    /// Pressure ratio at which it is reached.
    pub best_ratio: f64,
    /// Share of the power that the shell gives to its surroundings.
    pub shell_loss: f64,
    /// Measured polynomials that replace the efficiencies.
    pub map: Option<Map>,
}

/// Power that leaking valves cost, for each share of the flow that is pumped twice. Judgement, after the losses of
/// capacity and efficiency that Breuker and Braun (1998, from memory) measured with 35 % leakage.
const WORK_OF_LEAKAGE: f64 = 0.8;

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
        let (fill, fill_loss, best_efficiency, best_ratio) = match class {
            CompressorClass::Rotary => (0.99, 0.036, 0.57, 4.2),
            CompressorClass::Scroll => (0.98, 0.028, 0.66, 3.2),
            CompressorClass::Reciprocating => (0.92, 0.042, 0.60, 3.6),
        };
        Self { displacement: 1.0, fill, fill_loss, best_efficiency, best_ratio, shell_loss: 0.07, map: None }
    }

    /// Volumetric efficiency at a pressure ratio; stays a little above zero for the sake of the iteration.
    pub fn volumetric(&self, ratio: f64) -> f64 {
        let straight = self.fill - self.fill_loss * (ratio - 1.0);
        if straight > 0.05 { straight.min(1.05) } else { 0.05 * libm::exp((straight - 0.05) / 0.05) }
    }

    /// Overall efficiency at a pressure ratio.
    pub fn efficiency(&self, ratio: f64) -> f64 {
        let x = log(ratio.max(1.0) / self.best_ratio);
        let fall = if x < 0.0 { 0.37 } else { 0.16 };
        (self.best_efficiency * (1.0 - fall * x * x)).max(0.12)
    }

    /// Compression from the suction state (`low`, `h` at the coil's outlet) to the pressure of `high`, which
    /// holds whatever air is in the circuit as well.
    pub fn compress(&self, w: &Working, low: &Saturation, high: &Saturation, h: f64, run: &Running) -> Compression {
        let at = w.gas(low, h);
        let ratio = high.p / low.p;
        let ideal = (w.isentrope(high, at.s) - h).max(0.0);
        let (moved, work) = match &self.map {
            None => {
                let moved = self.displacement * run.speed * self.volumetric(ratio) / at.v;
                (moved, ideal / self.efficiency(ratio))
            }
            Some(map) => {
                let (s, d) = (low.dew.t - 273.15, high.dew.t - 273.15);
                let measured = w.gas(low, w.superheated(low, map.superheat));
                let rated = ten_coefficients(&map.flow, s, d).max(1e-7);
                // Same volume at another superheat; three quarters of the change in density arrive in the flow.
                // Source: Dabiri and Rice 1981, from memory.
                let moved = rated * (1.0 + 0.75 * (measured.v / at.v - 1.0));
                (moved * run.speed, ten_coefficients(&map.power, s, d).max(0.0) / rated)
            }
        };
        let pumping = run.pumping.clamp(0.02, 1.0);
        // A bypass returns hot gas to the suction: it takes room and adds its heat.
        let bypass = run.bypass.clamp(0.0, 0.9);
        let twice = WORK_OF_LEAKAGE * (1.0 - pumping) / pumping;
        let gained = work * (1.0 + twice) * (1.0 - self.shell_loss);
        let suction = h + gained * bypass / (1.0 - bypass);
        let thinner = if bypass > 0.0 { at.v / w.gas(low, suction).v } else { 1.0 };
        let pumped = moved * pumping * thinner;
        Compression {
            flow: pumped * (1.0 - bypass),
            power: pumped * work * (1.0 + twice),
            suction,
            discharge: suction + gained,
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
