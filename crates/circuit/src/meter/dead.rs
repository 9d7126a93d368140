//! Readings on dead parts: ohms, continuity, capacitance, insulation, diode. All refuse a live part.

use super::{Meter, MeterError, Reading, UnderTest};
use crate::network::Node;
use core::f64::consts::TAU;

/// What the continuity test gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Continuity {
    /// Whether it beeps.
    pub beeps: bool,
    /// What it shows, ohms.
    pub reading: Reading,
}

/// The meter's test source on the part: what it finds.
struct Tested {
    volts: f64,
    amps: f64,
}

impl Meter {
    fn refuse_live(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<(), MeterError> {
        under_test.check([red, black])?;
        let volts = self.standing_volts(under_test, red, black)?;
        if volts > self.live_above_volts {
            return Err(MeterError::LivePart { volts });
        }
        Ok(())
    }

    /// Puts a source of `open_volts` and `short_amps` on the probes, red positive.
    fn apply(
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
        open_volts: f64,
        short_amps: f64,
    ) -> Result<Tested, MeterError> {
        let internal = open_volts / short_amps;
        if under_test.network.has_diodes() {
            // Diodes answer to the test source itself, so it must be part of the network.
            let mut with_meter = under_test.network.clone();
            with_meter.dc_source(red, black, open_volts, internal);
            let volts = with_meter.factor_dc()?.voltage(red, black);
            return Ok(Tested {
                volts,
                amps: (open_volts - volts) / internal,
            });
        }
        let seen = under_test.dc()?.thevenin(red, black);
        let amps = (open_volts - seen.volts) / (internal + seen.ohms);
        Ok(Tested {
            volts: seen.volts + amps * seen.ohms,
            amps,
        })
    }

    /// Ohms between the probes.
    ///
    /// # Errors
    /// [`MeterError::LivePart`], [`MeterError::Circuit`].
    pub fn ohms(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<Reading, MeterError> {
        self.refuse_live(under_test, red, black)?;
        for (range, &amps) in self.ohms.ranges.iter().zip(&self.ohms_test_amps) {
            let tested = Self::apply(under_test, red, black, self.ohms_test_volts, amps)?;
            let ohms = tested.volts / tested.amps;
            // A foreign voltage can drive the meter the other way: no range holds that.
            if tested.amps > 0.0 && ohms.abs() <= range.full_scale {
                return Ok(self.ohms.read_on(*range, ohms));
            }
        }
        Ok(self.ohms.over_limit())
    }

    /// Continuity between the probes, on the lowest range of the ohms.
    ///
    /// # Errors
    /// [`MeterError::LivePart`], [`MeterError::Circuit`].
    pub fn continuity(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<Continuity, MeterError> {
        self.refuse_live(under_test, red, black)?;
        let (Some(&range), Some(&amps)) = (self.ohms.ranges.first(), self.ohms_test_amps.first())
        else {
            return Ok(Continuity {
                beeps: false,
                reading: self.ohms.over_limit(),
            });
        };
        let tested = Self::apply(under_test, red, black, self.ohms_test_volts, amps)?;
        let ohms = tested.volts / tested.amps;
        Ok(Continuity {
            beeps: tested.amps > 0.0 && ohms < self.beeps_below,
            reading: self.ohms.read_on(range, ohms),
        })
    }

    /// Farads between the probes, as a slow alternating test sees them.
    ///
    /// An open capacitor shows next to nothing. A resistance in parallel makes the reading too high, and one that
    /// carries more of the test current than the capacitance does (a short, a winding) makes it OL.
    ///
    /// # Errors
    /// [`MeterError::LivePart`], [`MeterError::Circuit`].
    pub fn farads(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<Reading, MeterError> {
        self.refuse_live(under_test, red, black)?;
        let hz = self.farads_test_hz;
        let seen = under_test
            .at_test_frequency(hz)?
            .thevenin(red, black)
            .ohms
            .reciprocal();
        Ok(if seen.re > seen.im {
            self.farads.over_limit()
        } else {
            self.farads.read(seen.abs() / (TAU * hz))
        })
    }

    /// Insulation resistance between the probes, ohms.
    ///
    /// # Errors
    /// [`MeterError::LivePart`], [`MeterError::Circuit`].
    pub fn insulation(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<Reading, MeterError> {
        self.refuse_live(under_test, red, black)?;
        let tested = Self::apply(
            under_test,
            red,
            black,
            self.insulation_test_volts,
            self.insulation_test_amps,
        )?;
        Ok(self.insulation.read(tested.volts / tested.amps))
    }

    /// The diode test, red on the anode: forward volts; OL when it blocks; 0.00 when shorted.
    ///
    /// # Errors
    /// [`MeterError::LivePart`], [`MeterError::Circuit`].
    pub fn diode(
        &self,
        under_test: &UnderTest<'_>,
        red: Node,
        black: Node,
    ) -> Result<Reading, MeterError> {
        self.refuse_live(under_test, red, black)?;
        let tested = Self::apply(
            under_test,
            red,
            black,
            self.diode_test_volts,
            self.diode_test_amps,
        )?;
        Ok(self.diode.read(tested.volts))
    }
}
