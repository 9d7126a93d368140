//! The capacitor of a direct-current bus: what it stores, and how long that takes to go.

use libm::{exp, log};

/// A bus capacitor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BusCapacitor {
    /// Farads.
    pub farads: f64,
    /// Equivalent series resistance, ohm.
    pub series_ohms: f64,
}

impl BusCapacitor {
    /// Seconds in which a bleeder of `ohms` brings it from one voltage to a lower one; infinite for a voltage that is not
    /// between 0 and the first. t = RC ln(V0/V).
    pub fn bleeds_in(&self, ohms: f64, from: f64, to: f64) -> f64 {
        if from <= to {
            return 0.0;
        }
        if to > 0.0 { ohms * self.farads * log(from / to) } else { f64::INFINITY }
    }

    /// Volts left after `seconds` of bleeding through `ohms`.
    pub fn left_after(&self, ohms: f64, from: f64, seconds: f64) -> f64 {
        from * exp(-seconds / (ohms * self.farads))
    }

    /// Seconds for which it carries a constant load of `watts` from one voltage down to another, without mains.
    pub fn carries(&self, watts: f64, from: f64, to: f64) -> f64 {
        (energy(self.farads, from) - energy(self.farads, to)).max(0.0) / watts
    }
}

/// Energy in a capacitor, J.
pub fn energy(farads: f64, volts: f64) -> f64 {
    0.5 * farads * volts * volts
}
