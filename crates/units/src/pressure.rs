//! Pressure from zero, and pressure above the air around.

use serde::{Deserialize, Serialize};

/// The standard atmosphere, 101 325 Pa exactly (source: NIST SP 811, B.8). A stand-in for the air
/// pressure at sea level when nobody measured it; say so where it is used.
pub const STANDARD_ATMOSPHERE: AbsolutePressure = AbsolutePressure::from_pascal(101_325.0);

/// A pressure measured from a perfect vacuum, in pascals.
///
/// Turning it into a [`GaugePressure`] needs the pressure of the air on the day and at the
/// altitude: there is no conversion without it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct AbsolutePressure(f64);

impl AbsolutePressure {
    /// From pascals. Not checked: see [`AbsolutePressure::is_physical`].
    #[must_use]
    pub const fn from_pascal(pascal: f64) -> Self {
        Self(pascal)
    }

    /// In pascals.
    #[must_use]
    pub const fn pascal(self) -> f64 {
        self.0
    }

    /// What a gauge would show in air of this pressure.
    #[must_use]
    pub const fn to_gauge(self, atmosphere: AbsolutePressure) -> GaugePressure {
        GaugePressure(self.0 - atmosphere.0)
    }

    /// Whether this is finite and not below a perfect vacuum.
    #[must_use]
    pub const fn is_physical(self) -> bool {
        self.0.is_finite() && self.0 >= 0.0
    }
}

/// A pressure above (or below) that of the surrounding air, in pascals: what a manifold gauge shows.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct GaugePressure(f64);

impl GaugePressure {
    /// From pascals above the surrounding air.
    #[must_use]
    pub const fn from_pascal(pascal: f64) -> Self {
        Self(pascal)
    }

    /// In pascals above the surrounding air.
    #[must_use]
    pub const fn pascal(self) -> f64 {
        self.0
    }

    /// The pressure from zero, in air of this pressure.
    #[must_use]
    pub const fn to_absolute(self, atmosphere: AbsolutePressure) -> AbsolutePressure {
        AbsolutePressure(self.0 + atmosphere.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_gauge_reads_zero_at_any_altitude() {
        // Air pressure at 2000 m is 79.495 kPa (source: ICAO Standard Atmosphere, Doc 7488, from memory).
        for air in [STANDARD_ATMOSPHERE, AbsolutePressure::from_pascal(79_495.0)] {
            assert_eq!(air.to_gauge(air).pascal(), 0.0);
        }
    }

    #[test]
    fn the_same_gauge_reading_is_less_at_altitude() {
        let gauge = GaugePressure::from_pascal(200_000.0);
        let sea = gauge.to_absolute(STANDARD_ATMOSPHERE);
        let hill = gauge.to_absolute(AbsolutePressure::from_pascal(79_495.0));
        assert_eq!(sea.pascal(), 301_325.0);
        assert_eq!(sea.pascal() - hill.pascal(), 21_830.0);
        assert_eq!(sea.to_gauge(STANDARD_ATMOSPHERE), gauge);
    }
}
