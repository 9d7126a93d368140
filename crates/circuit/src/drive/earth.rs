//! A winding that touches the shell while the module switches.

use core::f64::consts::{PI, SQRT_2};

/// A RMS from a motor's winding through `leak_ohms` to protective earth, on mains of `volts` RMS with an earthed neutral.
///
/// The switching module holds the winding's mean at half of the bus, which is half of the mains' peak above minus. A line
/// that rises above it drives current through the upper diode of the bridge, the bus and the leak into earth, and on the
/// other half wave back: (|e| − peak/2)/R while |e| is above half of its peak. The charge of the bus is left out, so this is
/// the current at the first moment, which is when a residual-current device decides.
pub fn earth_amps(volts: f64, leak_ohms: f64) -> f64 {
    // Mean of (|sin| − 1/2)² over the angles where it is positive: [3/4·2π/3 − √3 + √3/4] / π from 30° to 150°.
    let root3 = libm::sqrt(3.0);
    let mean_square = (0.75 * (2.0 * PI / 3.0) + root3 / 4.0 - root3) / PI;
    SQRT_2 * volts / leak_ohms.max(1e-3) * libm::sqrt(mean_square)
}
