//! What a meter shows between two probes on a network, with the standard uncertainty of the reading.
//!
//! ```
//! use halfsplit_circuit::meter::{Input, Meter, Shown, UnderTest};
//! use halfsplit_circuit::{Complex, Network, Node};
//!
//! // A dead wire beside a live one: 300 pF between them, 100 pF from the dead one to earth.
//! let mut network = Network::new();
//! let live = network.add_node();
//! let dead = network.add_node();
//! network.ac_source(live, Node::EARTH, Complex::real(120.0), 0.1);
//! network.stray_coupling(live, dead, 300e-12);
//! let meter = Meter::common_practice();
//! let under_test = UnderTest::new(&network, 60.0);
//! let ghost = meter.volts_ac(&under_test, dead, Node::EARTH, Input::High)?;
//! let truth = meter.volts_ac(&under_test, dead, Node::EARTH, Input::Low)?;
//! assert!(matches!(ghost.shown, Shown::Value(volts) if volts > 50.0));
//! assert!(matches!(truth.shown, Shown::Value(volts) if volts < 0.1));
//! # Ok::<(), halfsplit_circuit::meter::MeterError>(())
//! ```

mod dead;
mod live;
mod scale;

pub use dead::Continuity;
pub use live::Input;
pub use scale::{Range, Scale};

use crate::error::CircuitError;
use crate::network::{Network, Node};
use crate::solution::{FactoredAc, FactoredDc};
use core::cell::OnceCell;
use core::fmt;

/// What the display shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown {
    /// A value in SI units, before rounding to the display's resolution.
    Value(f64),
    /// Beyond the highest range: the display shows OL.
    OverLimit,
}

/// A reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What the display shows.
    pub shown: Shown,
    /// The last digit of the range used, in the unit of the value.
    pub resolution: f64,
    /// Standard uncertainty from the meter's accuracy, in the unit of the value: the accuracy limits taken as a
    /// uniform distribution (JCGM 100:2008, 4.3.7). Zero for an over-limit.
    pub standard_uncertainty: f64,
}

impl Reading {
    /// The value as the display rounds it; `None` for an over-limit.
    #[must_use]
    pub fn displayed(&self) -> Option<f64> {
        match self.shown {
            Shown::Value(v) => Some((v / self.resolution).round() * self.resolution),
            Shown::OverLimit => None,
        }
    }
}

/// Why there is no reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MeterError {
    /// The function is for dead parts, and there is voltage between the probes, or left on a capacitor.
    LivePart {
        /// RMS or direct volts between the probes under a light load, whichever is more.
        volts: f64,
    },
    /// The network has no solution.
    Circuit(CircuitError),
}

impl fmt::Display for MeterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::LivePart { volts } => write!(
                f,
                "{volts:.1} V between the probes: isolate, discharge and prove dead before this test"
            ),
            Self::Circuit(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for MeterError {}

impl From<CircuitError> for MeterError {
    fn from(error: CircuitError) -> Self {
        Self::Circuit(error)
    }
}

/// A network under the meter. It is factored when first needed, and then any number of probe pairs is cheap.
#[derive(Debug)]
pub struct UnderTest<'n> {
    network: &'n Network,
    hz: f64,
    ac: OnceCell<FactoredAc>,
    dc: OnceCell<FactoredDc>,
    capacitance: OnceCell<FactoredAc>,
}

impl<'n> UnderTest<'n> {
    /// Prepares a network whose supply has `hz` hertz.
    #[must_use]
    pub fn new(network: &'n Network, hz: f64) -> Self {
        Self {
            network,
            hz,
            ac: OnceCell::new(),
            dc: OnceCell::new(),
            capacitance: OnceCell::new(),
        }
    }

    /// The network factored at the supply frequency.
    ///
    /// # Errors
    /// As [`Network::factor_ac`].
    pub fn ac(&self) -> Result<&FactoredAc, CircuitError> {
        cached(&self.ac, || self.network.factor_ac(self.hz))
    }

    /// The network factored for direct current.
    ///
    /// # Errors
    /// As [`Network::factor_dc`].
    pub fn dc(&self) -> Result<&FactoredDc, CircuitError> {
        cached(&self.dc, || self.network.factor_dc())
    }

    fn at_test_frequency(&self, hz: f64) -> Result<&FactoredAc, CircuitError> {
        cached(&self.capacitance, || self.network.factor_test_frequency(hz))
    }

    fn check(&self, probes: [Node; 2]) -> Result<(), CircuitError> {
        match probes
            .into_iter()
            .find(|p| p.index() > self.network.node_count())
        {
            Some(node) => Err(CircuitError::UnknownNode { node }),
            None => Ok(()),
        }
    }
}

fn cached<T>(
    cell: &OnceCell<T>,
    make: impl FnOnce() -> Result<T, CircuitError>,
) -> Result<&T, CircuitError> {
    match cell.get() {
        Some(value) => Ok(value),
        None => {
            let value = make()?;
            Ok(cell.get_or_init(|| value))
        }
    }
}

/// A hand-held meter with clamp and insulation tester, as data.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// Where its figures come from.
    pub source: &'static str,
    /// Alternating volts.
    pub volts_ac: Scale,
    /// Direct volts.
    pub volts_dc: Scale,
    /// Resistance between the probes in the ordinary volts mode, ohms.
    pub input_ohms: f64,
    /// Capacitance between the probes in the ordinary volts mode, farads.
    pub input_farads: f64,
    /// Resistance between the probes in low-impedance mode, ohms.
    pub low_input_ohms: f64,
    /// Resistance; its highest range is where OL begins.
    pub ohms: Scale,
    /// Open-circuit volts of the resistance test.
    pub ohms_test_volts: f64,
    /// Short-circuit amperes of the resistance test, one for each range of `ohms`.
    pub ohms_test_amps: Vec<f64>,
    /// Beeps below this, ohms.
    pub beeps_below: f64,
    /// Capacitance.
    pub farads: Scale,
    /// Frequency of the capacitance test, hertz.
    pub farads_test_hz: f64,
    /// Forward volts of a diode; its highest range is where OL begins.
    pub diode: Scale,
    /// Open-circuit volts of the diode test.
    pub diode_test_volts: f64,
    /// Short-circuit amperes of the diode test.
    pub diode_test_amps: f64,
    /// Amperes round a conductor.
    pub clamp: Scale,
    /// Insulation resistance; its highest range is where OL begins.
    pub insulation: Scale,
    /// Volts of the insulation test.
    pub insulation_test_volts: f64,
    /// Short-circuit amperes of the insulation test.
    pub insulation_test_amps: f64,
    /// A part counts as live above these volts, RMS or direct.
    pub live_above_volts: f64,
    /// The load under which that voltage must stand, ohms: a ghost voltage does not make a part live.
    pub live_load_ohms: f64,
}

impl Meter {
    /// A 6000-count service meter with a clamp, and a 500 V insulation tester: common practice, no source.
    #[must_use]
    pub fn common_practice() -> Self {
        Self {
            source: "common practice, no source",
            volts_ac: Scale::decades(6.0, 3, 6000.0, 1.0, 3.0).up_to(1000.0),
            volts_dc: Scale::decades(0.6, 4, 6000.0, 0.5, 2.0).up_to(1000.0),
            input_ohms: 10e6,
            input_farads: 100e-12,
            low_input_ohms: 3e3,
            ohms: Scale::decades(600.0, 5, 6000.0, 0.9, 2.0).up_to(50e6),
            ohms_test_volts: 2.0,
            ohms_test_amps: vec![1e-3, 300e-6, 50e-6, 5e-6, 1e-6, 0.5e-6],
            beeps_below: 30.0,
            farads: Scale::decades(60e-9, 6, 6000.0, 1.9, 2.0),
            farads_test_hz: 10.0,
            diode: Scale::decades(2.5, 1, 2500.0, 1.0, 2.0),
            diode_test_volts: 3.0,
            diode_test_amps: 1e-3,
            clamp: Scale::decades(60.0, 2, 6000.0, 2.0, 5.0),
            insulation: Scale::decades(4e6, 4, 4000.0, 3.0, 5.0),
            insulation_test_volts: 500.0,
            insulation_test_amps: 1e-3,
            live_above_volts: 1.0,
            live_load_ohms: 10e3,
        }
    }
}
