//! A three-phase motor with permanent magnets, wound in star, driven by a module that follows its rotor.
//!
//! Surface magnets, currents in phase with the back-EMF, steady: the textbook machine. Angles and transients are left out.

use core::f64::consts::SQRT_2;
use libm::{hypot, sqrt};

/// A permanent-magnet motor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PmMotor {
    /// Resistance of the legs U, V, W to the star point, ohm.
    pub leg_ohms: [f64; 3],
    /// Inductance of a leg, H.
    pub henries: f64,
    /// Flux of the magnets linked with a leg, peak, Wb; demagnetised magnets give less.
    pub flux: f64,
    /// Pairs of poles.
    pub pole_pairs: f64,
}

/// A steady point of operation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Phase current, A RMS.
    pub amps: f64,
    /// Voltage that the module must make from line to line, V RMS.
    pub line_volts: f64,
    /// Heat in the windings, W.
    pub copper_watts: f64,
    /// Power at the motor's terminals, W.
    pub watts: f64,
}

/// What the module's current sensing finds when it starts the rotor: amps of U, V, W, relative to what it drives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhaseCurrents(pub [f64; 3]);

impl PmMotor {
    /// Ohms that a meter finds between U–V, V–W and W–U.
    pub fn pair_ohms(&self) -> [f64; 3] {
        let [u, v, w] = self.leg_ohms;
        [u + v, v + w, w + u]
    }

    /// Back-EMF from line to line at a speed, V RMS.
    pub fn back_emf(&self, rpm: f64) -> f64 {
        sqrt(1.5) * self.flux * self.pole_pairs * rad_per_second(rpm)
    }

    /// The point at which the motor gives a torque (N·m) at a speed.
    pub fn at(&self, torque: f64, rpm: f64) -> Point {
        let electrical = self.pole_pairs * rad_per_second(rpm);
        // Torque is 3/2 · pole pairs · flux · peak current.
        let peak = torque / (1.5 * self.pole_pairs * self.flux.max(1e-9));
        let ohms = self.leg_ohms.iter().sum::<f64>() / 3.0;
        let in_phase = ohms * peak + electrical * self.flux;
        let across = electrical * self.henries * peak;
        let copper_watts = 1.5 * ohms * peak * peak;
        Point {
            amps: peak / SQRT_2,
            line_volts: sqrt(1.5) * hypot(in_phase, across),
            copper_watts,
            watts: copper_watts + torque * rad_per_second(rpm),
        }
    }

    /// Highest line-to-line voltage, V RMS, that a module makes from a bus: its peak is the bus itself.
    pub fn most_volts(bus: f64) -> f64 {
        bus / SQRT_2
    }

    /// Amps (peak) that a rotor which does not turn draws while the module pushes with `volts` from line to line: only the
    /// windings' resistance is in the way.
    pub fn stalled_amps(&self, volts: f64) -> f64 {
        volts / self.pair_ohms().into_iter().fold(f64::INFINITY, f64::min).max(1e-3)
    }

    /// Currents in the three legs with some of them open (`connected` false): a star point needs two, and two legs carry
    /// the same current there and back.
    pub fn phase_currents(connected: [bool; 3]) -> PhaseCurrents {
        let n = connected.iter().filter(|c| **c).count();
        let each = if n >= 2 { 1.0 } else { 0.0 };
        PhaseCurrents(connected.map(|c| if c { each } else { 0.0 }))
    }
}

impl PhaseCurrents {
    /// Whether a phase is missing while others carry current.
    pub fn lost_phase(&self) -> bool {
        let most = self.0.into_iter().fold(0.0, f64::max);
        most > 0.0 && self.0.into_iter().any(|a| a < 0.2 * most)
    }

    /// Whether no phase carries current.
    pub fn none(&self) -> bool {
        self.0.into_iter().all(|a| a <= 0.0)
    }
}

fn rad_per_second(rpm: f64) -> f64 {
    rpm * core::f64::consts::PI / 30.0
}

/// Unbalance of readings: the largest deviation from their mean, as a fraction of it.
pub fn imbalance(readings: &[f64]) -> f64 {
    let mean = readings.iter().sum::<f64>() / readings.len().max(1) as f64;
    readings.iter().map(|r| (r - mean).abs()).fold(0.0, f64::max) / mean
}
