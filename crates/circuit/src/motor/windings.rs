//! Small facts about windings.

use crate::complex::Complex;
use core::f64::consts::TAU;

/// Minus the temperature in °C at which copper's resistance, extended in a straight line, would vanish: 234.5
/// (IEEE and UL resistance method). IEC 60034-1 is remembered to print 235.
pub const COPPER_KELVIN: f64 = 234.5;
/// The same for electrical-conductor aluminium: 225.
pub const ALUMINIUM_KELVIN: f64 = 225.0;

/// Resistance at `now` over resistance at `then` (both °C): `(k + now) / (k + then)`, with `k` one of
/// [`COPPER_KELVIN`], [`ALUMINIUM_KELVIN`] or another standard's constant. For -50 °C to 200 °C.
#[must_use]
pub fn resistance_ratio(k: f64, then_celsius: f64, now_celsius: f64) -> f64 {
    (k + now_celsius) / (k + then_celsius)
}

/// The capacitor in series with the auxiliary winding that puts the standstill currents of the two windings in
/// quadrature, in farads: `Xc = Xaux + Raux Rmain / Xmain` (Fitzgerald, Kingsley & Umans, example 9.1).
///
/// `main` and `aux` are the standstill impedances in ohms; `main` must be inductive.
#[must_use]
pub fn quadrature_capacitor(main: Complex, aux: Complex, hz: f64) -> f64 {
    let reactance = aux.im + aux.re * main.re / main.im;
    1.0 / (TAU * hz * reactance)
}
