//! Where enthalpy and entropy are counted from.

use super::{Refrigerant, RefrigerantError};

/// Zero points in use. Figures of two tables can be compared only in the same one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReferenceState {
    /// International Institute of Refrigeration: 200 kJ/kg and 1 kJ/(kg K) in saturated liquid at 0 degC. Used throughout this module.
    Iir,
    /// ASHRAE: zero in saturated liquid at -40 degC; common in North American textbooks.
    Ashrae,
    /// Zero in saturated liquid at the normal boiling point (bubble, 101.325 kPa); not defined for R744.
    NormalBoilingPoint,
}

impl Refrigerant {
    /// What to add to this module's enthalpy (J/kg) and entropy (J/(kg K)) to count from `reference` instead.
    ///
    /// Fails for R744 at the normal boiling point, which it does not have as a liquid.
    pub fn reference_offset(self, reference: ReferenceState) -> Result<(f64, f64), RefrigerantError> {
        let p = match reference {
            ReferenceState::Iir => return Ok((0.0, 0.0)),
            ReferenceState::Ashrae => self.bubble_pressure(233.15)?,
            ReferenceState::NormalBoilingPoint => 101_325.0,
        };
        let bubble = self.saturation(p)?.bubble;
        Ok((-bubble.h, -bubble.s))
    }
}
