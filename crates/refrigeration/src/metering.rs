//! The metering device: flow through a valve or a tube, with a restriction before it.
//!
//! An orifice equation on the density at its inlet. Bubbles at the inlet lower the density at once, which is how a
//! short charge starves a machine. Tubes choke: their flow grows with subcooling rather than with falling
//! suction pressure alone.

use crate::Metering;
use crate::working::{Working, smooth_max};
use libm::exp;

/// Kind of metering device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MeteringKind {
    /// Driven by the board, which holds a superheat or orders an opening.
    Electronic,
    /// Opens with superheat by itself, in proportion.
    Thermostatic,
    /// Capillary or piston: does not move.
    Tube,
}

/// A metering device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// Kind.
    pub kind: MeteringKind,
    /// Flow area with its coefficient, wide open, m².
    pub area: f64,
    /// Opening at the rating point.
    pub rated_opening: f64,
    /// Superheat held at the rating point, K.
    pub superheat: f64,
}

/// Superheat at which a thermostatic valve begins to open, as a share of its setting. Common practice: static
/// superheat is somewhat more than half of the working superheat.
const STATIC_SHARE: f64 = 0.6;
/// A tube chokes: its flow follows from the pressure at which the liquid in it breaks into foam, this share of its boiling pressure,
/// and not from the pressure behind it. Flow then grows by about a third from no subcooling to 14 K of it, as short tubes were
/// measured to do (Aaron and Domanski 1990; Kim and O'Neal 1994, from memory).
const CHOKES: f64 = 0.7;

/// Growth of the bubbles' volume from the inlet to the throat: at the critical pressure ratio of some 0.6 they fill
/// 1.7 times the room, and some liquid flashes on the way. Judgement.
const THROAT: f64 = 2.0;

impl Meter {
    /// Opening as commanded, at a superheat (K; negative with liquid coming back). `None` where a board holds the
    /// superheat and the opening follows from the flow.
    pub fn opening(&self, command: &Metering, superheat: f64) -> Option<f64> {
        match (self.kind, *command) {
            (MeteringKind::Tube, Metering::Holds { .. }) => Some(self.rated_opening),
            (_, Metering::Fixed(o)) => Some(o.clamp(LEAST, 1.0)),
            (MeteringKind::Electronic, Metering::Holds { .. }) => None,
            (MeteringKind::Thermostatic, Metering::Holds { superheat: setting, least, most }) => {
                let begins = STATIC_SHARE * setting;
                let wanted = self.rated_opening * (superheat - begins) / (setting - begins).max(0.1);
                let least = least.max(LEAST);
                Some(soft_limits(wanted, least, most.max(least).min(1.0)))
            }
        }
    }

    /// Flow, kg/s, through `opening` behind a restriction, to a pressure (Pa).
    ///
    /// The restriction lets through (1 − r) of the rated opening's flow as long as nothing boils behind it. Where the pressure that
    /// it leaves lies below the liquid's boiling pressure, bubbles reach the device, which then takes much less.
    pub fn flow(&self, opening: f64, restriction: f64, supply: &Supply<'_>, low_pressure: f64) -> f64 {
        let before = supply.inlet;
        let resistance = self.restriction_drop(restriction, before.volume, 1.0);
        let full = self.alone(opening, &before, low_pressure);
        if resistance == 0.0 || full <= 0.0 {
            return full;
        }
        // Without bubbles the two act in series on one density.
        let both = full / (1.0 + resistance * full * full / self.head(&before, low_pressure)).sqrt();
        let left = before.pressure - resistance * both * both;
        if left >= before.boiling {
            return both;
        }
        // Pressure between the two at which one lets through what the other takes.
        let excess = |p: f64| {
            let taken = self.alone(opening, &supply.throttled(p), low_pressure);
            resistance * taken * taken - (before.pressure - p)
        };
        let p = false_position(low_pressure.min(before.boiling), before.boiling, excess);
        ((before.pressure - p).max(0.0) / resistance).sqrt()
    }

    /// Opening that would pass `flow` (kg/s); far above 1 if even wide open it could not.
    pub fn opening_for(&self, flow: f64, restriction: f64, supply: &Supply<'_>, low_pressure: f64) -> f64 {
        let before = supply.inlet;
        let left = before.pressure - self.restriction_drop(restriction, before.volume, flow);
        if left <= low_pressure {
            return NEVER;
        }
        let open = self.alone(1.0, &supply.throttled(left), low_pressure);
        if open <= 0.0 { NEVER } else { (flow / open).min(NEVER) }
    }

    /// Pressure difference (Pa) that a restriction takes from a flow (kg/s) with a specific volume (m³/kg).
    pub fn restriction_drop(&self, restriction: f64, volume: f64, flow: f64) -> f64 {
        let passes = (1.0 - restriction).clamp(1e-3, 1.0);
        (1.0 / (passes * passes) - 1.0) * volume * square(flow / (self.area * self.rated_opening))
    }

    /// Pressure difference (Pa) that drives the flow.
    fn head(&self, inlet: &Inlet, low_pressure: f64) -> f64 {
        let end = match self.kind {
            MeteringKind::Tube => smooth_max(low_pressure, CHOKES * inlet.boiling.min(inlet.pressure), 3e4),
            MeteringKind::Electronic | MeteringKind::Thermostatic => low_pressure,
        };
        inlet.pressure - end
    }

    /// Specific volume that counts in the device, m³/kg.
    fn throat_volume(&self, inlet: &Inlet) -> f64 {
        let growth = match self.kind {
            MeteringKind::Tube => 1.0,
            MeteringKind::Electronic | MeteringKind::Thermostatic => THROAT,
        };
        inlet.liquid_volume + growth * (inlet.volume - inlet.liquid_volume).max(0.0)
    }

    /// Flow through the device itself, kg/s.
    fn alone(&self, opening: f64, inlet: &Inlet, low_pressure: f64) -> f64 {
        let drop = self.head(inlet, low_pressure);
        // Straight near zero, so that the iteration sees a slope and not a cliff.
        let root = if drop > 2e4 { drop.sqrt() } else { drop / 2e4_f64.sqrt() };
        self.area * opening * root / self.throat_volume(inlet).sqrt()
    }
}

/// Opening that stands for a flow which no opening passes.
const NEVER: f64 = 1e3;

/// Root of a function that rises from `low` to `high`, by false position with the Illinois halving.
fn false_position(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    if at_low >= 0.0 {
        return low;
    }
    if at_high <= 0.0 {
        return high;
    }
    let mut last = 0;
    for _ in 0..60 {
        let x = high - at_high * (high - low) / (at_high - at_low);
        let y = f(x);
        if y.abs() < 1e-6 || high - low < 1e-9 * high {
            return x;
        }
        if y > 0.0 {
            (high, at_high) = (x, y);
            if last == 1 {
                at_low *= 0.5;
            }
            last = 1;
        } else {
            (low, at_low) = (x, y);
            if last == -1 {
                at_high *= 0.5;
            }
            last = -1;
        }
    }
    0.5 * (low + high)
}

/// Least opening computed: a closed valve passes a trace, and a loop without flow has no steady state.
pub const LEAST: f64 = 0.004;

/// What stands before the metering device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inlet {
    /// Absolute pressure, Pa.
    pub pressure: f64,
    /// Specific volume, m³/kg, bubbles and all.
    pub volume: f64,
    /// Specific volume of the liquid alone, m³/kg.
    pub liquid_volume: f64,
    /// Pressure at which it boils, Pa; with bubbles in it already, its own or, under air, less.
    pub boiling: f64,
}

/// What comes down the liquid line, and what becomes of it where it is throttled on the way.
#[derive(Clone, Copy)]
pub struct Supply<'a> {
    /// The refrigerant's properties.
    pub working: &'a Working,
    /// As it leaves the condenser.
    pub inlet: Inlet,
    /// Enthalpy, J/kg.
    pub enthalpy: f64,
}

impl Supply<'_> {
    /// Inlet at a lower pressure (Pa) and the same enthalpy.
    fn throttled(&self, pressure: f64) -> Inlet {
        if pressure >= self.inlet.boiling {
            return Inlet { pressure, ..self.inlet };
        }
        let sat = self.working.at_pressure(pressure);
        let quality = ((self.enthalpy - sat.bubble.h) / (sat.dew.h - sat.bubble.h)).max(0.0);
        let liquid_volume = 1.0 / sat.bubble.rho;
        let volume = liquid_volume + quality * (1.0 / sat.dew.rho - liquid_volume);
        Inlet { pressure, volume, liquid_volume, boiling: pressure }
    }
}

fn square(x: f64) -> f64 {
    x * x
}

/// Held between two limits with rounded corners.
fn soft_limits(x: f64, low: f64, high: f64) -> f64 {
    let width = 0.01;
    let soft = |d: f64| {
        if d > 20.0 * width {
            d
        } else if d < -20.0 * width {
            0.0
        } else {
            width * libm::log1p(exp(d / width))
        }
    };
    high - soft(high - (low + soft(x - low)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfsplit_fluids::refrigerant::Refrigerant;

    /// Liquid of R410A at 2.8 MPa, so many kelvin below boiling.
    fn supply(w: &Working, subcooling: f64) -> Supply<'_> {
        let sat = w.at_pressure(2.8e6);
        let liquid = w.liquid(sat.bubble.t - subcooling);
        let volume = 1.0 / liquid.rho;
        let boiling = w.bubble_pressure(liquid.t);
        Supply {
            working: w,
            inlet: Inlet { pressure: 2.8e6, volume, liquid_volume: volume, boiling },
            enthalpy: liquid.h,
        }
    }

    fn meter(kind: MeteringKind) -> Meter {
        Meter { kind, area: 1e-6, rated_opening: 0.5, superheat: 6.0 }
    }

    const KINDS: [MeteringKind; 3] = [MeteringKind::Electronic, MeteringKind::Thermostatic, MeteringKind::Tube];

    #[test]
    fn opening_and_flow_are_inverse_with_and_without_bubbles() {
        let w = Working::new(Refrigerant::R410A).unwrap();
        for m in KINDS.map(meter) {
            for restriction in [0.0, 0.1, 0.4, 0.8] {
                let supply = supply(&w, 5.0);
                let flow = m.flow(0.37, restriction, &supply, 9e5);
                let back = m.opening_for(flow, restriction, &supply, 9e5);
                assert!((back - 0.37).abs() < 1e-6, "{m:?} {restriction}: {back}");
            }
            assert!(m.opening_for(1.0, 0.0, &supply(&w, 5.0), 9e5) > 1.0);
        }
    }

    #[test]
    fn a_restriction_lets_through_its_share_until_bubbles_reach_the_device() {
        let w = Working::new(Refrigerant::R410A).unwrap();
        for m in KINDS.map(meter) {
            let share = |subcooling, restriction| {
                let supply = supply(&w, subcooling);
                m.flow(0.5, restriction, &supply, 9e5) / m.flow(0.5, 0.0, &supply, 9e5)
            };
            assert!((share(40.0, 0.3) - 0.7).abs() < 1e-12, "{m:?}: {}", share(40.0, 0.3));
            assert!(share(3.0, 0.3) < 0.699, "{m:?}: {}", share(3.0, 0.3));
        }
    }

    /// Source: short tubes, Kim and O'Neal 1994, from memory: flow grows by some 36 % up to 14 K of subcooling, and the pressure behind
    /// the tube does not matter.
    #[test]
    fn a_tube_chokes_and_wants_subcooling() {
        let w = Working::new(Refrigerant::R22).unwrap();
        let m = meter(MeteringKind::Tube);
        let flow = |subcooling: f64, low: f64| {
            let sat = w.at_pressure(1.724e6);
            let liquid = w.liquid(sat.bubble.t - subcooling);
            let volume = 1.0 / liquid.rho;
            let boiling = w.bubble_pressure(liquid.t);
            let inlet = Inlet { pressure: 1.724e6, volume, liquid_volume: volume, boiling };
            m.flow(0.5, 0.0, &Supply { working: &w, inlet, enthalpy: liquid.h }, low)
        };
        let growth = flow(13.9, 6e5) / flow(0.0, 6e5);
        assert!((1.25..1.45).contains(&growth), "{growth}");
        assert!((flow(5.0, 4e5) / flow(5.0, 7e5) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_thermostatic_valve_opens_with_superheat_between_its_stops() {
        let m = meter(MeteringKind::Thermostatic);
        let at = |sh| m.opening(&Metering::Holds { superheat: 6.0, least: 0.05, most: 1.0 }, sh).unwrap();
        assert!((at(6.0) - 0.5).abs() < 1e-6);
        assert!((at(20.0) - 1.0).abs() < 1e-3 && (at(0.0) - 0.05).abs() < 1e-3);
        assert!(at(5.0) < at(6.0) && at(6.0) < at(7.0));
    }
}
