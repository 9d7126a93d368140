//! The condenser: desuperheating, condensing and subcooling, each on the share of the exchanger that it needs.
//!
//! What it heats counts at the temperature at which it comes in: air in cross flow, a tank's water, or a flow of
//! water past a jacket. A flowing sink gives each stretch the share of the stream that passes it.

use crate::charge::two_phase_density;
use crate::working::Working;
use halfsplit_fluids::refrigerant::Saturation;
use libm::{exp, log, pow};

/// What the condenser heats.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sink {
    /// Air; rated flow in kg/s.
    Air(f64),
    /// Water that flows past; rated flow in kg/s.
    WaterFlow(f64),
    /// Standing water around or beside the condenser: natural convection, which grows with the water's warmth.
    Tank,
}

/// A condenser. Conductances in W/K belong to rated flows and, in a tank, to water of 50 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condenser {
    /// What it heats.
    pub sink: Sink,
    /// Outer side.
    pub outside: f64,
    /// Refrigerant side if all of it is hot gas.
    pub vapour: f64,
    /// Refrigerant side if all of it condenses.
    pub condensing: f64,
    /// Refrigerant side if all of it is liquid.
    pub liquid: f64,
    /// Refrigerant flow to which they belong, kg/s.
    pub rated_flow: f64,
}

/// What the condenser does with a flow of hot gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condensation {
    /// Enthalpy at the outlet, J/kg.
    pub outlet: f64,
    /// Temperature at the outlet, K.
    pub t: f64,
    /// Below the bubble temperature by so much, K.
    pub subcooling: f64,
    /// Density at the outlet, kg/m³.
    pub outlet_density: f64,
    /// Refrigerant in it, kg per m³ of its volume.
    pub density: f64,
}

/// The outer side for one operating point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// Temperature at which the sink comes in, K.
    pub t: f64,
    /// Heat capacity of the stream, W/K; infinite for standing water.
    pub stream: f64,
    /// Conductance, W/K.
    pub conductance: f64,
    /// Conductance lost to fouling or scale, 0 to 1.
    pub fouling: f64,
}

/// Mean over an exponential approach of `n` transfer units: how much of the way from the end back to the start. One
/// half for a short one, next to nothing for a long one.
fn remaining(n: f64) -> f64 {
    if n < 1e-4 { 0.5 } else { 1.0 / n - 1.0 / libm::expm1(n) }
}

impl Outside {
    /// Heat per kelvin between refrigerant and entering sink over the whole exchanger, W/K.
    fn reach(&self, inside: f64) -> f64 {
        let overall = (1.0 - self.fouling) / (1.0 / self.conductance + 1.0 / inside);
        if self.stream.is_finite() { self.stream * (1.0 - exp(-overall / self.stream)) } else { overall }
    }
}

impl Condenser {
    /// The outer side with the sink at `t` (K), a fraction of sound flow and some conductance lost.
    pub fn outside(&self, t: f64, flow: f64, fouling: f64) -> Outside {
        let flow = flow.max(0.03);
        let fouling = fouling.clamp(0.0, 0.98);
        match self.sink {
            Sink::Air(rated) => {
                Outside { t, stream: 1006.0 * rated * flow, conductance: self.outside * pow(flow, 0.67), fouling }
            }
            Sink::WaterFlow(rated) => {
                Outside { t, stream: 4186.0 * rated * flow, conductance: self.outside * pow(flow, 0.8), fouling }
            }
            Sink::Tank => {
                // (gβ/να)^¼ of water against 50 °C; 20 to 60 °C give a factor 1.48 by the handbook's properties.
                let warmth = exp(0.0098 * (t.clamp(273.15, 363.15) - 323.15));
                Outside { t, stream: f64::INFINITY, conductance: self.outside * warmth, fouling }
            }
        }
    }

    /// Condensation of `flow` (kg/s) of gas with enthalpy `inlet` (J/kg).
    ///
    /// With a condensing temperature below the sink's nothing condenses, as in a machine whose charge has gone.
    pub fn condense(&self, w: &Working, outside: &Outside, sat: &Saturation, flow: f64, inlet: f64) -> Condensation {
        let (b, d) = (&sat.bubble, &sat.dew);
        let relative = (flow / self.rated_flow).clamp(0.02, 3.0);
        let brisk = pow(relative, 0.8);
        let condensing = outside.reach(self.condensing * brisk.sqrt());
        let mut left = 1.0;
        let mut density = 0.0;
        let mut start = inlet.min(d.h);
        if inlet > d.h {
            let gas = w.gas(sat, inlet);
            let capacity = (inlet - d.h) / (gas.t - d.t).max(1e-9);
            let reach = outside.reach(self.vapour * brisk);
            // Gas cannot condense above a sink warmer than itself: then it only takes the sink's temperature.
            let share = if d.t > outside.t {
                flow * capacity / reach * log(((gas.t - outside.t) / (d.t - outside.t)).max(1.0))
            } else {
                f64::INFINITY
            };
            if share >= 1.0 {
                let t = outside.t + (gas.t - outside.t) * exp(-reach / (flow * capacity));
                let v = w.gas(sat, d.h + capacity * (t - d.t)).v;
                return Condensation {
                    outlet: d.h + capacity * (t - d.t),
                    t,
                    subcooling: 0.0,
                    outlet_density: 1.0 / v,
                    density: 1.0 / v + remaining(reach / (flow * capacity)) * (1.0 / gas.v - 1.0 / v),
                };
            }
            left -= share;
            let steps = share * reach / (flow * capacity);
            density += share * (d.rho + remaining(steps) * (1.0 / gas.v - d.rho));
            start = d.h;
        }
        let quality = ((start - b.h) / (d.h - b.h)).clamp(0.0, 1.0);
        let t_mean = d.t - 0.5 * sat.glide();
        let offered = condensing * (t_mean - outside.t);
        let share = if offered > 0.0 { flow * (start - b.h) / offered } else { f64::INFINITY };
        if share >= left {
            // Boiling against a warmer sink ends when all is vapour.
            let outlet = (start - left * offered / flow).min(d.h.max(start));
            let end = (outlet - b.h) / (d.h - b.h);
            let v = 1.0 / b.rho + end * (1.0 / d.rho - 1.0 / b.rho);
            return Condensation {
                outlet,
                t: b.t + end * sat.glide(),
                subcooling: 0.0,
                outlet_density: 1.0 / v,
                density: density + left * two_phase_density(sat, quality, end),
            };
        }
        left -= share;
        density += share * two_phase_density(sat, quality, 0.0);
        // Heat capacity of the liquid from its saturation line, which is straight enough over the subcooling.
        let below = w.liquid(b.t - 4.0);
        let capacity = (b.h - below.h) / (b.t - below.t);
        let reach = outside.reach(self.liquid * brisk);
        let t = outside.t + (b.t - outside.t) * exp(-reach * left / (flow * capacity));
        let rho = b.rho + (below.rho - b.rho) * (b.t - t) / (b.t - below.t);
        Condensation {
            outlet: b.h - capacity * (b.t - t),
            t,
            subcooling: b.t - t,
            outlet_density: rho,
            density: density + left * 0.5 * (b.rho + rho),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfsplit_fluids::refrigerant::Refrigerant;

    fn tank() -> Condenser {
        Condenser {
            sink: Sink::Tank,
            outside: 500.0,
            vapour: 150.0,
            condensing: 900.0,
            liquid: 200.0,
            rated_flow: 0.008,
        }
    }

    #[test]
    fn more_lift_over_the_water_gives_more_subcooling_and_more_charge() {
        let w = Working::new(Refrigerant::R134a).unwrap();
        let c = tank();
        let outside = c.outside(323.15, 1.0, 0.0);
        let mut last: Option<Condensation> = None;
        for step in 0..60 {
            let sat = w.at_dew(323.65 + 0.25 * f64::from(step));
            let now = c.condense(&w, &outside, &sat, 0.008, w.superheated(&sat, 25.0));
            if let Some(before) = last {
                assert!(now.density >= before.density - 1e-6, "step {step}");
                assert!(now.subcooling >= before.subcooling);
                // No jumps where a zone appears or vanishes.
                assert!((now.outlet - before.outlet).abs() < 15e3, "step {step}");
            }
            last = Some(now);
        }
        assert!(last.unwrap().subcooling > 3.0);
    }
}
