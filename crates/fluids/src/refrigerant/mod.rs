//! Refrigerants: saturation, single-phase and two-phase states, safety and climate figures.
//!
//! Temperatures are kelvin, pressures absolute pascal, enthalpies J/kg, entropies J/(kg K), densities kg/m3. Enthalpy and entropy count
//! from the saturated liquid at 0 degC (200 kJ/kg, 1 kJ/(kg K)) for every refrigerant; see [`ReferenceState`] for the others in use.
//!
//! Bubble and dew are never mixed: superheat counts from [`Refrigerant::dew_temperature`], subcooling from
//! [`Refrigerant::bubble_temperature`]. Gauge readings become absolute pressures by [`absolute_from_gauge`].
//!
//! Transport properties (viscosity, conductivity, surface tension) are not served.

use std::fmt;

mod data;
mod density;
mod elementary;
mod equation;
mod error;
mod facts;
mod flash;
mod ph_diagram;
mod pressure;
mod reference;
mod state;
mod tables;

pub use error::{Quantity, RefrigerantError};
pub use facts::{Component, ConcentrationLimit, GwpReport, SafetyClass, Sourced, limit_by_mass};
pub use ph_diagram::{CycleKind, PhCycle, PhOptions, PhPoint, Theme, ph_svg};
pub use pressure::{absolute_from_gauge, gauge_from_absolute, standard_atmosphere};
pub use reference::ReferenceState;
pub use state::{CriticalPoint, Phase, Range, Response, Saturation, SaturationEnd, State};

use tables::Column;

/// The refrigerants served, by their ASHRAE 34 designations.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // The names say it.
pub enum Refrigerant {
    R134a,
    R32,
    R410A,
    R407C,
    R404A,
    R22,
    R290,
    R600a,
    R744,
    R1234yf,
    R1234zeE,
    R454B,
    R513A,
}

/// Lowest pressure of a state, Pa absolute: a deep vacuum for a refrigerant circuit.
const P_LOW: f64 = 100.0;

impl Refrigerant {
    /// All of them, in the order of declaration.
    pub const ALL: [Refrigerant; 13] = [
        Refrigerant::R134a,
        Refrigerant::R32,
        Refrigerant::R410A,
        Refrigerant::R407C,
        Refrigerant::R404A,
        Refrigerant::R22,
        Refrigerant::R290,
        Refrigerant::R600a,
        Refrigerant::R744,
        Refrigerant::R1234yf,
        Refrigerant::R1234zeE,
        Refrigerant::R454B,
        Refrigerant::R513A,
    ];

    /// The designation, for instance `R1234ze(E)`.
    pub fn name(self) -> &'static str {
        match self {
            Refrigerant::R134a => "R134a",
            Refrigerant::R32 => "R32",
            Refrigerant::R410A => "R410A",
            Refrigerant::R407C => "R407C",
            Refrigerant::R404A => "R404A",
            Refrigerant::R22 => "R22",
            Refrigerant::R290 => "R290",
            Refrigerant::R600a => "R600a",
            Refrigerant::R744 => "R744",
            Refrigerant::R1234yf => "R1234yf",
            Refrigerant::R1234zeE => "R1234ze(E)",
            Refrigerant::R454B => "R454B",
            Refrigerant::R513A => "R513A",
        }
    }

    /// The refrigerant of a designation as printed on a nameplate: case, spaces, hyphens, brackets and the leading R do not matter, so that
    /// `R-410A`, `r410a` and `410A` are the same. None if it is not served.
    pub fn from_designation(text: &str) -> Option<Refrigerant> {
        fn plain(text: &str) -> String {
            let kept = text.chars().filter(char::is_ascii_alphanumeric);
            let lower: String = kept.map(|c| c.to_ascii_lowercase()).collect();
            lower.strip_prefix('r').map_or(lower.clone(), str::to_owned)
        }
        let wanted = plain(text);
        Refrigerant::ALL.into_iter().find(|r| plain(r.name()) == wanted)
    }

    /// kg/mol
    pub fn molar_mass(self) -> f64 {
        self.data().molar_mass
    }

    /// The critical point of the equation; for a blend, of the blend as it is charged.
    pub fn critical_point(self) -> CriticalPoint {
        let data = self.data();
        CriticalPoint { t: data.t_critical, p: data.p_critical, rho: data.rho_critical }
    }

    /// The limits that the other functions enforce.
    pub fn range(self) -> Range {
        let data = self.data();
        let table = &data.saturation;
        Range {
            t_low: table.t_low,
            t_high: data.t_max,
            t_saturation_high: table.t_high,
            p_saturation_low: table.p_low,
            p_saturation_high: table.p_high,
            p_low: P_LOW,
            p_high: data.p_max,
        }
    }

    /// Temperature (K) at which the last drop evaporates at `p` (Pa absolute, within [`Range`]'s saturation pressures).
    pub fn dew_temperature(self, p: f64) -> Result<f64, RefrigerantError> {
        self.check_saturation_pressure(p)?;
        Ok(self.data().saturation.column_at_pressure(Column::DewT, p))
    }

    /// Temperature (K) at which the last bubble condenses at `p` (Pa absolute, within [`Range`]'s saturation pressures).
    pub fn bubble_temperature(self, p: f64) -> Result<f64, RefrigerantError> {
        self.check_saturation_pressure(p)?;
        Ok(self.data().saturation.column_at_pressure(Column::BubbleT, p))
    }

    /// Pressure (Pa absolute) at which vapour of temperature `t` (K, up to [`Range::t_saturation_high`]) is saturated.
    pub fn dew_pressure(self, t: f64) -> Result<f64, RefrigerantError> {
        self.check_saturation_temperature(t)?;
        Ok(self.data().saturation.pressures_at_temperature(t)[1])
    }

    /// Pressure (Pa absolute) at which liquid of temperature `t` (K, up to [`Range::t_saturation_high`]) is saturated.
    pub fn bubble_pressure(self, t: f64) -> Result<f64, RefrigerantError> {
        self.check_saturation_temperature(t)?;
        Ok(self.data().saturation.pressures_at_temperature(t)[0])
    }

    /// Both ends of the dome at `p` (Pa absolute, within [`Range`]'s saturation pressures).
    pub fn saturation(self, p: f64) -> Result<Saturation, RefrigerantError> {
        self.check_saturation_pressure(p)?;
        Ok(self.saturation_unchecked(p))
    }

    fn saturation_unchecked(self, p: f64) -> Saturation {
        let c = self.data().saturation.all_at_pressure(p);
        Saturation {
            p,
            bubble: SaturationEnd { t: c[0], rho: c[2], h: c[4], s: c[6] },
            dew: SaturationEnd { t: c[1], rho: c[3], h: c[5], s: c[7] },
        }
    }

    /// Dew less bubble temperature at `p` (Pa absolute), K.
    pub fn glide(self, p: f64) -> Result<f64, RefrigerantError> {
        self.saturation(p).map(|saturation| saturation.glide())
    }

    /// Line temperature less *dew* temperature at `p` (Pa absolute), K. Negative means that the line reads colder than the vapour can be.
    pub fn superheat(self, p: f64, t_line: f64) -> Result<f64, RefrigerantError> {
        Ok(t_line - self.dew_temperature(p)?)
    }

    /// *Bubble* temperature at `p` (Pa absolute) less line temperature, K. Negative means that the line holds bubbles or the reading is off.
    pub fn subcooling(self, p: f64, t_line: f64) -> Result<f64, RefrigerantError> {
        Ok(self.bubble_temperature(p)? - t_line)
    }

    fn check_saturation_pressure(self, p: f64) -> Result<(), RefrigerantError> {
        let data = self.data();
        let table = &data.saturation;
        if table.holds_pressure(p) {
            return Ok(());
        }
        Err(if p > table.p_high {
            RefrigerantError::AboveSaturation {
                refrigerant: self,
                p,
                p_high: table.p_high,
                p_critical: data.p_critical,
            }
        } else {
            self.out_of_range(Quantity::Pressure, p, table.p_low, table.p_high)
        })
    }

    fn check_saturation_temperature(self, t: f64) -> Result<(), RefrigerantError> {
        let table = &self.data().saturation;
        if table.holds_temperature(t) {
            return Ok(());
        }
        Err(self.out_of_range(Quantity::Temperature, t, table.t_low, table.t_high))
    }

    fn out_of_range(self, quantity: Quantity, value: f64, low: f64, high: f64) -> RefrigerantError {
        RefrigerantError::OutOfRange { refrigerant: self, quantity, value, low, high }
    }
}

impl fmt::Display for Refrigerant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// The example of the README is compiled and run.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;
