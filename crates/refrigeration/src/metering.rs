//! The metering device: flow through a valve or a tube, with a restriction before it.
//!
//! An orifice equation on the density at its inlet. Bubbles at the inlet lower the density at once, which is how a
//! short charge starves a machine. Tubes choke: their flow grows with subcooling rather than with falling
//! suction pressure alone.

use crate::Metering;
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
/// Relative growth of a tube's flow per kelvin of subcooling. After short-tube correlations (Kim and O'Neal 1994, from memory).
const TUBE_PER_KELVIN: f64 = 0.012;

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

    /// Flow, kg/s, through `opening` from an inlet to a pressure (Pa).
    pub fn flow(&self, opening: f64, restriction: f64, inlet: Inlet, low_pressure: f64) -> f64 {
        let own = self.area * opening;
        // A restriction that would let through (1 − r) of the rated opening's flow, in series.
        let passes = (1.0 - restriction).clamp(1e-3, 1.0);
        let rated = self.area * self.rated_opening;
        let resistance = (1.0 / (passes * passes) - 1.0) / (rated * rated) + 1.0 / (own * own);
        let helped =
            if self.kind == MeteringKind::Tube { 1.0 + TUBE_PER_KELVIN * inlet.subcooling.max(0.0) } else { 1.0 };
        let drop = inlet.pressure - low_pressure;
        // Straight near zero, so that the iteration sees a slope and not a cliff.
        let root = if drop > 2e4 { drop.sqrt() } else { drop / 2e4_f64.sqrt() };
        let bubbles = (inlet.volume - inlet.liquid_volume).max(0.0);
        helped * root / ((inlet.liquid_volume + THROAT * bubbles) * resistance).sqrt()
    }

    /// Opening that would pass `flow` (kg/s); above 1 if even wide open it could not.
    pub fn opening_for(&self, flow: f64, restriction: f64, inlet: Inlet, low_pressure: f64) -> f64 {
        let open = self.flow(1.0, 0.0, inlet, low_pressure);
        if open <= 0.0 {
            return 1e3;
        }
        let passes = (1.0 - restriction).clamp(1e-3, 1.0);
        let rated = self.rated_opening;
        let wanted = square(open / flow.max(1e-12)) - (1.0 / (passes * passes) - 1.0) / (rated * rated);
        if wanted <= 1e-6 { 1e3 } else { 1.0 / wanted.sqrt() }
    }
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
    /// Subcooling, K.
    pub subcooling: f64,
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

    const INLET: Inlet = Inlet { pressure: 1.5e6, volume: 1.0 / 1100.0, liquid_volume: 1.0 / 1100.0, subcooling: 5.0 };

    #[test]
    fn opening_and_flow_are_inverse() {
        let m = Meter { kind: MeteringKind::Electronic, area: 1e-6, rated_opening: 0.5, superheat: 6.0 };
        for restriction in [0.0, 0.4, 0.8] {
            let flow = m.flow(0.37, restriction, INLET, 4e5);
            assert!((m.opening_for(flow, restriction, INLET, 4e5) - 0.37).abs() < 1e-9);
        }
        assert!(m.opening_for(1.0, 0.0, INLET, 4e5) > 1.0);
    }

    #[test]
    fn a_restriction_lets_through_its_share() {
        let m = Meter { kind: MeteringKind::Tube, area: 1e-6, rated_opening: 0.5, superheat: 6.0 };
        let share = m.flow(0.5, 0.3, INLET, 4e5) / m.flow(0.5, 0.0, INLET, 4e5);
        assert!((share - 0.7).abs() < 1e-12);
    }

    #[test]
    fn a_thermostatic_valve_opens_with_superheat_between_its_stops() {
        let m = Meter { kind: MeteringKind::Thermostatic, area: 1e-6, rated_opening: 0.5, superheat: 6.0 };
        let at = |sh| m.opening(&Metering::Holds { superheat: 6.0, least: 0.05, most: 1.0 }, sh).unwrap();
        assert!((at(6.0) - 0.5).abs() < 1e-6);
        assert!((at(20.0) - 1.0).abs() < 1e-3 && (at(0.0) - 0.05).abs() < 1e-3);
        assert!(at(5.0) < at(6.0) && at(6.0) < at(7.0));
    }
}
