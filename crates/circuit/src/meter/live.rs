//! Readings under power: volts and clamp amperes.

use super::{Meter, MeterError, Reading, UnderTest};
use crate::complex::Complex;
use crate::network::{ElementId, Node};
use crate::solution::Solution;
use core::f64::consts::TAU;

/// What the meter puts between its probes when it reads volts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Input {
    /// The ordinary input of some megohms: shows ghost voltages.
    High,
    /// The low-impedance input: loads ghost voltages away. Not for signal lines.
    Low,
}

impl Meter {
    fn input(&self, input: Input, hz: f64) -> Complex {
        match input {
            Input::High => {
                Complex::new(1.0 / self.input_ohms, TAU * hz * self.input_farads).reciprocal()
            }
            Input::Low => Complex::real(self.low_input_ohms),
        }
    }

    /// RMS volts between the probes.
    ///
    /// # Errors
    /// [`MeterError::Circuit`].
    pub fn volts_ac(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
        input: Input,
    ) -> Result<Reading, MeterError> {
        under_test.check([red, black])?;
        let seen = under_test.ac()?.thevenin(red, black);
        let load = self.input(input, under_test.hz);
        let volts = seen.volts * (load / (seen.ohms + load));
        Ok(self.volts_ac.read(volts.abs()))
    }

    /// Direct volts of the red probe over the black one. A charged capacitor counts as holding its charge.
    ///
    /// # Errors
    /// [`MeterError::Circuit`].
    pub fn volts_dc(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
        input: Input,
    ) -> Result<Reading, MeterError> {
        under_test.check([red, black])?;
        let seen = under_test.dc()?.thevenin(red, black);
        let load = match input {
            Input::High => self.input_ohms,
            Input::Low => self.low_input_ohms,
        };
        Ok(self.volts_dc.read(seen.volts * load / (seen.ohms + load)))
    }

    /// Amperes in the jaw: the sum over the conductors through it, each an element with its number of turns
    /// (negative when it passes the other way). A whole cable shows nearly nothing; ten turns show ten times.
    ///
    /// # Panics
    /// When an element is not of the solved network.
    #[must_use]
    pub fn clamp_amps(
        &self,
        solution: &Solution<Complex>,
        conductors: &[(ElementId, f64)],
    ) -> Reading {
        let mut sum = Complex::ZERO;
        for &(element, turns) in conductors {
            sum += solution.current(element) * turns;
        }
        self.clamp.read(sum.abs())
    }

    /// Volts between the probes that stand under a light load, RMS or direct, whichever is more.
    pub(super) fn standing_volts(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<f64, MeterError> {
        if under_test.network.is_dead() {
            return Ok(0.0);
        }
        let load = self.live_load_ohms;
        let ac = under_test.ac()?.thevenin(red, black);
        let ac_volts = (ac.volts * (Complex::real(load) / (ac.ohms + Complex::real(load)))).abs();
        let dc = under_test.dc()?.thevenin(red, black);
        let dc_volts = (dc.volts * load / (dc.ohms + load)).abs();
        Ok(ac_volts.max(dc_volts))
    }
}
