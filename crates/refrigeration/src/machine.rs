//! The parts of one loop, sized.

use crate::charge::Volumes;
use crate::compressor::Compressor;
use crate::condenser::Condenser;
use crate::evaporator::Evaporator;
use crate::metering::Meter;
use crate::working::Working;

/// A loop with all its sizes, healthy. Made by [`crate::design()`], or put together by hand.
#[derive(Debug, Clone)]
pub struct Machine {
    /// The refrigerant's properties.
    pub working: Working,
    /// The compressor.
    pub compressor: Compressor,
    /// The coil that takes up heat from air.
    pub evaporator: Evaporator,
    /// The exchanger that gives heat away.
    pub condenser: Condenser,
    /// The metering device.
    pub meter: Meter,
    /// Internal volumes.
    pub volumes: Volumes,
    /// The right charge, kg.
    pub charge: f64,
    /// Where the search for a balance begins.
    pub usual: Usual,
}

/// The rating point's distances between refrigerant and surroundings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual {
    /// Entering air less evaporating temperature, K.
    pub below_air: f64,
    /// Condensing temperature less entering sink, K.
    pub above_sink: f64,
    /// Refrigerant flow, kg/s.
    pub flow: f64,
    /// Heat given to the sink, W.
    pub heat: f64,
}
