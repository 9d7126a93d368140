//! A complex number: just what phasors need, with the same bits on every target.

use core::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A complex number. As a phasor its magnitude is the RMS value and its angle is in radians
/// against the reference that the caller chose for the supply.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

impl Complex {
    /// Zero.
    pub const ZERO: Self = Self { re: 0.0, im: 0.0 };
    /// One.
    pub const ONE: Self = Self { re: 1.0, im: 0.0 };
    /// The imaginary unit.
    pub const J: Self = Self { re: 0.0, im: 1.0 };

    /// From real and imaginary part.
    #[must_use]
    pub const fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    /// A real number.
    #[must_use]
    pub const fn real(re: f64) -> Self {
        Self { re, im: 0.0 }
    }

    /// From magnitude and angle (radians).
    #[must_use]
    pub fn polar(magnitude: f64, radians: f64) -> Self {
        let (sin, cos) = libm::sincos(radians);
        Self::new(magnitude * cos, magnitude * sin)
    }

    /// From magnitude and angle (degrees).
    #[must_use]
    pub fn polar_degrees(magnitude: f64, degrees: f64) -> Self {
        Self::polar(magnitude, degrees.to_radians())
    }

    /// Magnitude.
    #[must_use]
    pub fn abs(self) -> f64 {
        libm::hypot(self.re, self.im)
    }

    /// Square of the magnitude.
    #[must_use]
    pub fn norm_squared(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    /// Angle in radians, in (-pi, pi].
    #[must_use]
    pub fn angle(self) -> f64 {
        libm::atan2(self.im, self.re)
    }

    /// Complex conjugate.
    #[must_use]
    pub const fn conjugate(self) -> Self {
        Self::new(self.re, -self.im)
    }

    /// The reciprocal. Infinite or NaN parts when `self` is zero.
    #[must_use]
    pub fn reciprocal(self) -> Self {
        Self::ONE / self
    }

    /// Multiplied by the imaginary unit: turned forward by a quarter turn.
    #[must_use]
    pub const fn times_j(self) -> Self {
        Self::new(-self.im, self.re)
    }

    /// Whether both parts are finite.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.re.is_finite() && self.im.is_finite()
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.re + o.re, self.im + o.im)
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.re - o.re, self.im - o.im)
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self::new(
            self.re * o.re - self.im * o.im,
            self.re * o.im + self.im * o.re,
        )
    }
}

impl Mul<f64> for Complex {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.re * k, self.im * k)
    }
}

impl Div for Complex {
    type Output = Self;
    /// Scaled by the larger part of the divisor (R. L. Smith, Algorithm 116, CACM 1962), so that
    /// neither picofarads nor gigohms overflow on the way.
    fn div(self, o: Self) -> Self {
        if o.re.abs() >= o.im.abs() {
            let ratio = o.im / o.re;
            let scale = o.re + o.im * ratio;
            Self::new(
                (self.re + self.im * ratio) / scale,
                (self.im - self.re * ratio) / scale,
            )
        } else {
            let ratio = o.re / o.im;
            let scale = o.re * ratio + o.im;
            Self::new(
                (self.re * ratio + self.im) / scale,
                (self.im * ratio - self.re) / scale,
            )
        }
    }
}

impl Div<f64> for Complex {
    type Output = Self;
    fn div(self, k: f64) -> Self {
        Self::new(self.re / k, self.im / k)
    }
}

impl Neg for Complex {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.re, -self.im)
    }
}

impl AddAssign for Complex {
    fn add_assign(&mut self, o: Self) {
        *self = *self + o;
    }
}

impl SubAssign for Complex {
    fn sub_assign(&mut self, o: Self) {
        *self = *self - o;
    }
}

#[cfg(test)]
mod tests {
    use super::Complex;

    #[test]
    fn division_undoes_multiplication() {
        let a = Complex::new(3.0, -4.0);
        for b in [
            Complex::new(1e-12, 3.8e-8),
            Complex::new(1e12, 1.0),
            Complex::new(-2.0, 0.5),
        ] {
            let back = a * b / b;
            assert!((back - a).abs() < 1e-14, "{back:?}");
        }
        assert_eq!(a.abs(), 5.0);
        assert_eq!(Complex::J * a, a.times_j());
    }
}
