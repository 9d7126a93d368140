//! Gauge and absolute pressure, and the atmosphere between them.

/// Pressure of the standard atmosphere (Pa) at `altitude` (m above sea level, -5000 to 11 000).
///
/// Source: ASHRAE Handbook - Fundamentals 2017, ch. 1, eq. 3: 101 325 (1 - 2.25577e-5 Z)^5.2559. The weather moves the
/// true value by some 3 %. Outside the stated altitudes the formula is evaluated at the nearer limit.
pub fn standard_atmosphere(altitude: f64) -> f64 {
    101_325.0 * libm::pow(1.0 - 2.25577e-5 * altitude.clamp(-5000.0, 11_000.0), 5.2559)
}

/// Absolute pressure from a gauge reading and the atmosphere around the gauge, all in Pa.
pub fn absolute_from_gauge(gauge: f64, atmosphere: f64) -> f64 {
    gauge + atmosphere
}

/// What a gauge reads at an absolute pressure in the atmosphere around it, all in Pa.
pub fn gauge_from_absolute(absolute: f64, atmosphere: f64) -> f64 {
    absolute - atmosphere
}
