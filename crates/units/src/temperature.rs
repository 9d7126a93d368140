//! A point on the temperature scale, and the distance between two points.

use core::ops::{Add, Neg, Sub};

use serde::{Deserialize, Serialize};

/// 0 °C in kelvins, exact (source: SI Brochure, 9th edition, 2.3.1).
const ICE_POINT_KELVIN: f64 = 273.15;
/// 0 K in degrees Fahrenheit, negated; exact (source: NIST SP 811, B.8, T/K = (t/°F + 459.67)/1.8).
const FAHRENHEIT_SHIFT: f64 = 459.67;
/// Fahrenheit degrees in one kelvin, exact (source: NIST SP 811, B.8).
const FAHRENHEIT_PER_KELVIN: f64 = 1.8;

/// A temperature: a point on the thermodynamic scale, in kelvins inside.
///
/// Two temperatures subtract to a [`TemperatureDifference`]; they cannot be added.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Temperature(f64);

impl Temperature {
    /// From kelvins. Not checked: see [`Temperature::is_physical`].
    #[must_use]
    pub const fn from_kelvin(kelvin: f64) -> Self {
        Self(kelvin)
    }

    /// From degrees Celsius.
    #[must_use]
    pub const fn from_celsius(celsius: f64) -> Self {
        Self(celsius + ICE_POINT_KELVIN)
    }

    /// From degrees Fahrenheit.
    #[must_use]
    pub const fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self((fahrenheit + FAHRENHEIT_SHIFT) / FAHRENHEIT_PER_KELVIN)
    }

    /// In kelvins.
    #[must_use]
    pub const fn kelvin(self) -> f64 {
        self.0
    }

    /// In degrees Celsius.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.0 - ICE_POINT_KELVIN
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub const fn fahrenheit(self) -> f64 {
        self.0 * FAHRENHEIT_PER_KELVIN - FAHRENHEIT_SHIFT
    }

    /// Whether this is a finite temperature at or above absolute zero.
    #[must_use]
    pub const fn is_physical(self) -> bool {
        self.0.is_finite() && self.0 >= 0.0
    }
}

/// The distance between two temperatures, in kelvins: superheat, subcooling, the drop across a
/// coil. A difference of 1 K is one of 1 °C and of 1.8 °F; no offset ever applies.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct TemperatureDifference(f64);

impl TemperatureDifference {
    /// From kelvins, which are Celsius degrees here.
    #[must_use]
    pub const fn from_kelvin(kelvin: f64) -> Self {
        Self(kelvin)
    }

    /// From Fahrenheit degrees.
    #[must_use]
    pub const fn from_fahrenheit_degrees(degrees: f64) -> Self {
        Self(degrees / FAHRENHEIT_PER_KELVIN)
    }

    /// In kelvins.
    #[must_use]
    pub const fn kelvin(self) -> f64 {
        self.0
    }

    /// In Fahrenheit degrees.
    #[must_use]
    pub const fn fahrenheit_degrees(self) -> f64 {
        self.0 * FAHRENHEIT_PER_KELVIN
    }
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Self) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Self;
    fn add(self, difference: TemperatureDifference) -> Self {
        Self(self.0 + difference.0)
    }
}

impl Sub<TemperatureDifference> for Temperature {
    type Output = Self;
    fn sub(self, difference: TemperatureDifference) -> Self {
        Self(self.0 - difference.0)
    }
}

impl Add for TemperatureDifference {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for TemperatureDifference {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for TemperatureDifference {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fixed_points_agree_on_all_scales() {
        // Source: NIST SP 811 (2008), B.8 and B.9, temperature: 0 °C = 32 °F, 100 °C = 212 °F,
        // and −40 is the same point on both.
        for (celsius, fahrenheit) in [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0)] {
            let from_c = Temperature::from_celsius(celsius);
            let from_f = Temperature::from_fahrenheit(fahrenheit);
            assert!((from_c - from_f).kelvin().abs() < 1e-12);
            assert!((from_c.fahrenheit() - fahrenheit).abs() < 1e-9);
        }
    }

    #[test]
    fn a_difference_has_no_offset() {
        let split = Temperature::from_fahrenheit(75.0) - Temperature::from_fahrenheit(57.0);
        assert!((split.kelvin() - 10.0).abs() < 1e-12);
        assert!((split.fahrenheit_degrees() - 18.0).abs() < 1e-12);
        let back = Temperature::from_fahrenheit(57.0) + split;
        assert!((back.fahrenheit() - 75.0).abs() < 1e-9);
    }

    #[test]
    fn below_absolute_zero_is_not_physical() {
        assert!(!Temperature::from_celsius(-273.16).is_physical());
        assert!(!Temperature::from_kelvin(f64::NAN).is_physical());
        assert!(Temperature::from_celsius(-273.15).is_physical());
    }
}
