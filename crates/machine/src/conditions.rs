//! The conditions of the day, kept with each reading rather than once per job.

use serde::{Deserialize, Serialize};

/// Conditions under which something was read. SI units; `None` where nobody has said.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// Supply voltage as measured, V RMS.
    pub supply_volts: Option<f64>,
    /// Temperature of the air that the machine draws in, K.
    pub air: Option<f64>,
    /// Outdoor air, K, where the machine has a part outdoors; `air` is then the room's.
    pub outdoor: Option<f64>,
    /// Relative humidity of that air, 0 to 1.
    pub humidity: Option<f64>,
    /// Water temperature in the upper half of the tank, K.
    pub water_top: Option<f64>,
    /// Water temperature in the lower half of the tank, K.
    pub water_bottom: Option<f64>,
    /// Age of the machine, years.
    pub age_years: f64,
    /// Whether somebody has worked on the machine recently: then wrong parts, wrong wiring and
    /// exchanged plugs become likely.
    pub recent_work: bool,
}

impl Default for Conditions {
    fn default() -> Self {
        Self {
            supply_volts: None,
            air: None,
            outdoor: None,
            humidity: None,
            water_top: None,
            water_bottom: None,
            age_years: 6.0,
            recent_work: false,
        }
    }
}

impl Conditions {
    /// Air temperature, K; 20 °C if nobody has said.
    pub fn air_or_default(&self) -> f64 {
        self.air.unwrap_or(293.15)
    }
}
