//! Quantities at the edges of halfsplit: temperatures against differences, gauge against absolute.
//!
//! Inside the engine every number is SI in an `f64`. This crate is where numbers come in and go
//! out: it reads what a technician types ([`parse_entry`]), writes a value in the units he chose
//! ([`show`]), and gives types to the two pairs that are confused most often, temperature against
//! temperature difference and absolute against gauge pressure.
//!
//! It knows no clock, no locale and no machine: the same text gives the same value everywhere.

mod dimension;
mod entry;
mod error;
mod magnitude;
mod number;
mod pressure;
mod reader;
mod show;
mod table;
mod temperature;
mod unit;

pub use dimension::{Dimension, ParseDimensionError};
pub use entry::{Entry, Quantity, parse_entry};
pub use error::{EntryError, EntryProblem};
pub use magnitude::{MagnitudeQuery, magnitude_query};
pub use pressure::{AbsolutePressure, GaugePressure, STANDARD_ATMOSPHERE};
pub use show::{
    DecimalMark, MeasureSystem, Preferences, PressureUnit, Shown, TemperatureUnit, VacuumUnit, show, shown,
};
pub use temperature::{Temperature, TemperatureDifference};
pub use unit::{Unit, UnitLookup, Waveform};
