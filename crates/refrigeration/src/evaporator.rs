//! The evaporator in air: a boiling zone and a zone of superheated vapour, each with the share of the air that
//! crosses its tubes.
//!
//! Tubes in cross flow: every stretch sees air as it enters, so boiling takes up heat in proportion to its
//! share of the coil and vapour approaches the air's temperature exponentially. A coil below the air's dew point
//! is wet; its heat is then driven by enthalpy, and the larger of the dry and the wet answer holds (Braun, Klein and
//! Mitchell, ASHRAE Transactions 95, 1989; the choice as in the ASHRAE HVAC 2 Toolkit).
//!
//! A coil of several circuits is never fed evenly: while the gas that collects behind them is still superheated on the whole, the
//! richest circuits already carry liquid over. Two halves stand for the many.

use crate::charge::two_phase_density;
use crate::working::Working;
use halfsplit_fluids::air::{MoistAir, STANDARD_PRESSURE, saturated_humidity_ratio};
use halfsplit_fluids::refrigerant::Saturation;
use libm::{exp, pow};

/// Air before the coil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Dry bulb, K.
    pub t: f64,
    /// Humidity ratio, kg/kg.
    pub humidity: f64,
    /// Enthalpy, J/kg of dry air.
    pub enthalpy: f64,
    /// Dew point, K; very low if there is next to no water in it.
    pub dew: f64,
    /// Heat capacity, J/(kg K).
    pub capacity: f64,
    /// Enthalpy of saturated air at the dew point, J/kg.
    at_dew: f64,
}

impl Air {
    /// Air of a dry bulb (K) and relative humidity (0 to 1) at sea level, both held inside the range of the formulas.
    pub fn new(t: f64, humidity: f64) -> Self {
        let t = t.clamp(223.15, 343.15);
        let moist = MoistAir::from_relative_humidity(t, humidity.clamp(0.01, 1.0), STANDARD_PRESSURE)
            .unwrap_or_else(|_| unreachable!("temperature and humidity were held inside the range"));
        let dew = moist.dew_point().unwrap_or(200.0).min(t);
        Self {
            t,
            humidity: moist.humidity_ratio(),
            enthalpy: moist.enthalpy(),
            dew,
            capacity: moist.heat_capacity(),
            at_dew: saturated_enthalpy(dew),
        }
    }
}

/// Enthalpy of saturated air at sea level, J/kg of dry air.
fn saturated_enthalpy(t: f64) -> f64 {
    let t = t.clamp(200.0, 350.0);
    let w = saturated_humidity_ratio(t, STANDARD_PRESSURE).unwrap_or(0.0);
    let c = t - 273.15;
    1006.0 * c + w * (2_501_000.0 + 1860.0 * c)
}

/// An evaporator. Conductances in W/K belong to rated flows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evaporator {
    /// Dry air, kg/s, with a sound fan.
    pub air_flow: f64,
    /// Air side.
    pub air_side: f64,
    /// Refrigerant side if all of it boils.
    pub boiling: f64,
    /// Refrigerant side if all of it is vapour.
    pub vapour: f64,
    /// Refrigerant flow to which they belong, kg/s.
    pub rated_flow: f64,
    /// One half of the circuits is fed by this share more than the mean, the other by as much less; 0 for a single circuit.
    pub uneven: f64,
}

/// State of the air's side for one operating point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coil {
    /// Dry air, kg/s.
    pub air_flow: f64,
    /// Conductance of the air side, W/K.
    pub air_side: f64,
    /// Conductance lost to fouling, 0 to 1.
    pub fouling: f64,
}

/// What the evaporator does with a flow of refrigerant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evaporation {
    /// Enthalpy at the outlet, J/kg.
    pub outlet: f64,
    /// Share of the coil that boils.
    pub boiling_share: f64,
    /// Refrigerant in it, kg per m³ of its volume.
    pub density: f64,
}

/// A little air moves by itself even with the fan still. Judgement.
const DRAUGHT: f64 = 0.03;

impl Evaporator {
    /// The air's side with a fraction of sound airflow and some conductance lost.
    pub fn coil(&self, flow: f64, fouling: f64) -> Coil {
        let flow = flow.max(DRAUGHT);
        Coil {
            air_flow: self.air_flow * flow,
            air_side: self.air_side * pow(flow, 0.67),
            fouling: fouling.clamp(0.0, 0.98),
        }
    }

    /// Heat (W) that the coil would take up if all of it boiled.
    pub fn boiling_heat(&self, coil: &Coil, air: &Air, t_boiling: f64, flow: f64) -> f64 {
        let inside = self.boiling * pow((flow / self.rated_flow).clamp(0.05, 3.0), 0.4);
        let clean = 1.0 - coil.fouling;
        let capacity = coil.air_flow * air.capacity;
        let overall = clean / (1.0 / coil.air_side + 1.0 / inside);
        let dry = capacity * (1.0 - exp(-overall / capacity)) * (air.t - t_boiling);
        if t_boiling >= air.dew {
            return dry;
        }
        let at_coil = saturated_enthalpy(t_boiling);
        // Slope of the saturation line stands for a heat capacity between surface and refrigerant.
        let slope = ((air.at_dew - at_coil) / (air.dew - t_boiling).max(1e-6)).max(air.capacity);
        let overall_wet = clean / (air.capacity / coil.air_side + slope / inside);
        let wet = coil.air_flow * (1.0 - exp(-overall_wet / coil.air_flow)) * (air.enthalpy - at_coil);
        dry.max(wet)
    }

    /// Evaporation of `flow` (kg/s) that enters with enthalpy `inlet` (J/kg).
    pub fn evaporate(
        &self,
        w: &Working,
        coil: &Coil,
        air: &Air,
        sat: &Saturation,
        flow: f64,
        inlet: f64,
    ) -> Evaporation {
        if self.uneven == 0.0 {
            return self.circuits(w, coil, air, sat, flow, inlet);
        }
        let (more, less) = (1.0 + self.uneven, 1.0 - self.uneven);
        let rich = self.circuits(w, coil, air, sat, flow * more, inlet);
        let poor = self.circuits(w, coil, air, sat, flow * less, inlet);
        Evaporation {
            outlet: 0.5 * (more * rich.outlet + less * poor.outlet),
            boiling_share: 0.5 * (rich.boiling_share + poor.boiling_share),
            density: 0.5 * (rich.density + poor.density),
        }
    }

    /// Evaporation if every circuit is fed alike; `flow` is that of a whole coil of such circuits.
    fn circuits(&self, w: &Working, coil: &Coil, air: &Air, sat: &Saturation, flow: f64, inlet: f64) -> Evaporation {
        let quality = ((inlet - sat.bubble.h) / (sat.dew.h - sat.bubble.h)).max(0.0);
        let t_boiling = sat.dew.t - 0.5 * sat.glide() * (1.0 - quality.min(1.0));
        let whole = self.boiling_heat(coil, air, t_boiling, flow);
        let needed = flow * (sat.dew.h - inlet).max(0.0);
        // A loop that hardly pumps can be warmer inside than the air: then nothing boils.
        let share = match needed {
            0.0 => 0.0,
            _ if whole > 0.0 => needed / whole,
            _ => f64::INFINITY,
        };
        if share >= 1.0 {
            let outlet = (inlet + whole / flow).max(sat.bubble.h);
            let left = (outlet - sat.bubble.h) / (sat.dew.h - sat.bubble.h);
            return Evaporation { outlet, boiling_share: 1.0, density: two_phase_density(sat, quality, left) };
        }
        let capacity = coil.air_flow * air.capacity;
        let inside = self.vapour * pow((flow / self.rated_flow).clamp(0.02, 3.0), 0.8);
        let overall = (1.0 - coil.fouling) / (1.0 / coil.air_side + 1.0 / inside);
        let reach = capacity * (1.0 - exp(-overall / capacity));
        let ntu = reach * (1.0 - share) / (flow * w.vapour_capacity(sat));
        let inlet_superheat = if inlet > sat.dew.h { w.gas(sat, inlet).t - sat.dew.t } else { 0.0 };
        let gap = air.t - sat.dew.t;
        let superheat = gap - (gap - inlet_superheat) * exp(-ntu);
        let outlet = if superheat > 0.0 { w.superheated(sat, superheat) } else { sat.dew.h };
        let leaving = sat.dew.rho * sat.dew.t / (sat.dew.t + superheat.max(0.0));
        let density = share * two_phase_density(sat, quality, 1.0) + (1.0 - share) * 0.5 * (sat.dew.rho + leaving);
        Evaporation { outlet, boiling_share: share, density }
    }

    /// Air after the coil: dry bulb (K) and water taken out of it (kg/s), for a heat (W) taken up.
    ///
    /// The coil acts as one surface at the temperature whose saturated air explains the heat.
    pub fn leaving_air(&self, coil: &Coil, air: &Air, heat: f64) -> (f64, f64) {
        let reach = 1.0 - exp(-coil.air_side * (1.0 - coil.fouling) / (coil.air_flow * air.capacity));
        let surface_enthalpy = air.enthalpy - heat / (coil.air_flow * reach);
        let dry = air.t - heat / (coil.air_flow * air.capacity);
        let dry_surface = air.t - heat / (coil.air_flow * air.capacity * reach);
        if dry_surface >= air.dew || surface_enthalpy >= air.at_dew {
            return (dry, 0.0);
        }
        let (mut low, mut high) = (200.0, air.dew);
        for _ in 0..40 {
            let mid = 0.5 * (low + high);
            if saturated_enthalpy(mid) < surface_enthalpy {
                low = mid;
            } else {
                high = mid;
            }
        }
        let surface = 0.5 * (low + high);
        let humid = saturated_humidity_ratio(surface, STANDARD_PRESSURE).unwrap_or(0.0);
        let water = (coil.air_flow * reach * (air.humidity - humid)).max(0.0);
        (air.t - reach * (air.t - surface), water)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COIL: Evaporator =
        Evaporator { air_flow: 0.5, air_side: 500.0, boiling: 2000.0, vapour: 300.0, rated_flow: 0.05, uneven: 0.0 };

    /// Source: effectiveness of an exchanger with one side at constant temperature, 1 − e^(−NTU) (ASHRAE Handbook —
    /// Fundamentals, heat transfer).
    #[test]
    fn a_dry_coil_is_an_exchanger_with_one_constant_side() {
        let air = Air::new(300.0, 0.05);
        let coil = COIL.coil(1.0, 0.0);
        let capacity = 0.5 * air.capacity;
        let by_hand = capacity * (1.0 - exp(-400.0 / capacity)) * 10.0;
        assert!((COIL.boiling_heat(&coil, &air, 290.0, 0.05) / by_hand - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_wet_coil_takes_more_and_cools_the_air_less() {
        let coil = COIL.coil(1.0, 0.0);
        let (dry, wet) = (Air::new(300.0, 0.05), Air::new(300.0, 0.6));
        let (q_dry, q_wet) = (COIL.boiling_heat(&coil, &dry, 280.0, 0.05), COIL.boiling_heat(&coil, &wet, 280.0, 0.05));
        assert!(q_wet > 1.15 * q_dry);
        let (t_dry, none) = COIL.leaving_air(&coil, &dry, q_dry);
        let (t_wet, water) = COIL.leaving_air(&coil, &wet, q_wet);
        assert!(none == 0.0 && water > 0.0 && t_wet > t_dry);
        // What the water gave up and what the air gave up make the heat, but for the water's own enthalpy.
        let sensible = 0.5 * wet.capacity * (wet.t - t_wet);
        assert!(((sensible + 2.5e6 * water) / q_wet - 1.0).abs() < 0.02);
    }
}
