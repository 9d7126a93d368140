//! The refrigerant loop's steady state, healthy and with faults.
//!
//! [`operating_point`] answers for one moment: given the machine ([`Machine`], which [`design()`] makes from a
//! nameplate), what surrounds it and what it is told ([`Surroundings`]) and what is wrong ([`LoopFaults`]), it returns
//! temperatures, pressures, heat and power ([`LoopPoint`]). [`LoopPoint::doubt`] says how far its temperatures are to be
//! trusted. What it is worth, measured against published figures, stands in the crate's README.
//!
//! This crate knows no machine sheet, no board and no probability.

pub mod charge;
pub mod compressor;
pub mod condenser;
pub mod design;
pub mod evaporator;
pub mod machine;
pub mod metering;
pub mod solve;
pub mod tank;
pub mod working;

pub use design::{DesignError, Duty, Nameplate, Rating, design};
pub use machine::Machine;
pub use metering::MeteringKind;
pub use solve::operating_point;

/// What the metering device does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Metering {
    /// Stands at this fraction of full opening.
    Fixed(f64),
    /// Trimmed between two openings to hold a superheat (K).
    Holds {
        /// The superheat, K.
        superheat: f64,
        /// Least opening it can reach.
        least: f64,
        /// Largest opening it can reach.
        most: f64,
    },
}

/// What surrounds the loop and what it is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Air entering the evaporator, K.
    pub air: f64,
    /// Relative humidity of that air, 0 to 1.
    pub humidity: f64,
    /// Water (or air) that the condenser heats, K.
    pub sink: f64,
    /// Airflow as a fraction of sound; 0 with the fan still.
    pub air_flow: f64,
    /// Compressor speed as a fraction of rated; 0 at rest.
    pub speed: f64,
    /// The metering device.
    pub metering: Metering,
}

/// What is wrong with the loop. [`LoopFaults::default`] is nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopFaults {
    /// Charge as a fraction of the right one.
    pub charge: f64,
    /// Air in the circuit as a fraction of the condensing pressure.
    pub air_in_circuit: f64,
    /// Restriction of the liquid line: 0 none, 1 closed.
    pub restriction: f64,
    /// Pumping of the compressor as a fraction of sound.
    pub pumping: f64,
    /// Conductance lost by the evaporator, 0 to 1.
    pub evaporator_fouling: f64,
    /// Conductance lost by the condenser, 0 to 1.
    pub condenser_fouling: f64,
    /// Air or water over the condenser as a fraction of sound.
    pub sink_flow: f64,
    /// Share of the discharge gas that a reversing valve lets through to the suction, 0 to 1.
    pub reversing_leak: f64,
}

impl Default for LoopFaults {
    fn default() -> Self {
        Self {
            charge: 1.0,
            air_in_circuit: 0.0,
            restriction: 0.0,
            pumping: 1.0,
            evaporator_fouling: 0.0,
            condenser_fouling: 0.0,
            sink_flow: 1.0,
            reversing_leak: 0.0,
        }
    }
}

/// A steady operating point. Temperatures in K, powers in W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopPoint {
    /// Evaporating saturation temperature.
    pub evaporating: f64,
    /// Condensing saturation temperature.
    pub condensing: f64,
    /// Suction line at the compressor.
    pub suction: f64,
    /// Discharge line, some kelvin below the discharge port.
    pub discharge: f64,
    /// Liquid line after the condenser.
    pub liquid: f64,
    /// Air leaving the evaporator.
    pub leaving_air: f64,
    /// Superheat at the compressor, K; 0 when liquid comes back.
    pub superheat: f64,
    /// Subcooling at the condenser's outlet, K.
    pub subcooling: f64,
    /// Electrical power of the compressor.
    pub compressor_power: f64,
    /// Heat given to the sink.
    pub heat: f64,
    /// Opening of the metering device.
    pub opening: f64,
    /// Standard deviation by which the temperatures are to be doubted, K.
    pub doubt: f64,
    /// Whether a balance was found.
    pub converged: bool,
    /// Absolute pressure at the suction port, Pa.
    pub suction_pressure: f64,
    /// Absolute pressure at the discharge port, Pa: with air in the circuit above the saturation pressure of
    /// [`LoopPoint::condensing`].
    pub discharge_pressure: f64,
    /// Refrigerant through the circuit, kg/s.
    pub flow: f64,
    /// Heat taken up by the evaporator, W.
    pub cooling: f64,
    /// Water taken out of the evaporator's air, kg/s.
    pub condensate: f64,
    /// Whether that water freezes on the coil: the point then holds only until the frost has grown.
    pub frosting: bool,
    /// Share of the evaporator that boils, 0 to 1.
    pub boiling_share: f64,
}
