//! The single-phase induction motor with a main and an auxiliary winding, by the revolving-field method.
//!
//! Each winding's pulsating field is two fields of half its size that revolve against each other; to the forward
//! one the rotor has slip s, to the backward one 2 - s (Fitzgerald, Kingsley & Umans, Electric Machinery, 6th ed.,
//! sections 9.3 and 9.4; W. J. Morrill, The revolving field theory of the capacitor motor, Trans. AIEE 48, 1929).
//! With `Zf` and `Zb` the impedances that the two fields see, and `a` the ratio of effective auxiliary to main turns:
//!
//! ```text
//! Zf = 1/2 · jXm (R2/s + jX2) / (R2/s + j(X2 + Xm))         Zb: the same with 2 - s for s
//! Vm = (R1m + jX1m + Zf + Zb) Im        - j a (Zf - Zb) Ia
//! Va = + j a (Zf - Zb) Im               + (R1a + jX1a + a² (Zf + Zb)) Ia
//! T  = ( |Im - j a Ia|² Re Zf - |Im + j a Ia|² Re Zb ) / ω_sync
//! ```
//!
//! Forward is the way the motor turns when the auxiliary current leads the main current, both counted from the
//! terminal that is not common. Core and friction losses are taken from the shaft, as in the textbook's example.
//! Left out: saturation, skin effect in the rotor bars, harmonics of the winding, a skewed auxiliary winding.

mod nameplate;
mod run_up;
mod windings;

pub use nameplate::{Duty, FitError, Fitted, Nameplate, RatedPoint, RunCapacitor};
pub use run_up::{Load, LoadShape, MotorSupply, Outcome, RunUp};
pub use windings::{ALUMINIUM_KELVIN, COPPER_KELVIN, quadrature_capacitor, resistance_ratio};

use crate::complex::Complex;
use crate::network::{CoupledPair, OPEN_OHMS};
use core::f64::consts::TAU;

/// One stator winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Winding {
    /// Resistance in ohms, at the temperature that it has now.
    pub ohms: f64,
    /// Leakage reactance in ohms at the motor's frequency.
    pub reactance: f64,
    /// What is wrong with it.
    pub state: WindingState,
}

impl Winding {
    /// A sound winding.
    #[must_use]
    pub const fn sound(ohms: f64, reactance: f64) -> Self {
        Self {
            ohms,
            reactance,
            state: WindingState::Sound,
        }
    }

    /// What an ohmmeter sees at its ends.
    #[must_use]
    pub fn dc_ohms(&self) -> f64 {
        match self.state {
            WindingState::Sound => self.ohms,
            WindingState::Open => OPEN_OHMS,
            WindingState::ShortedTurns { fraction } => self.ohms * (1.0 - fraction),
        }
    }
}

/// The condition of a winding. (A leak from a winding to the shell is an element of the network.)
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WindingState {
    /// As made.
    Sound,
    /// Broken.
    Open,
    /// A part of the turns is closed on itself: it leaves the winding and becomes a short-circuited winding of its
    /// own on the same axis, with its share of resistance and leakage.
    ShortedTurns {
        /// Share of the turns, above 0 and below 1.
        fraction: f64,
    },
}

/// A single-phase induction motor; every rotor quantity is referred to the main winding, full (not halved).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Main (run) winding.
    pub main: Winding,
    /// Auxiliary (start) winding.
    pub aux: Winding,
    /// Effective turns of the auxiliary over those of the main winding.
    pub turns_ratio: f64,
    /// Rotor resistance R2, ohms. Above 0.
    pub rotor_ohms: f64,
    /// Rotor leakage reactance X2, ohms.
    pub rotor_reactance: f64,
    /// Magnetising reactance Xm, ohms. Above 0.
    pub magnetising_reactance: f64,
    /// Number of poles, even.
    pub poles: u32,
    /// Supply frequency in hertz, for which all reactances hold.
    pub hz: f64,
    /// Core loss, watts.
    pub core_watts: f64,
    /// Friction and windage, watts.
    pub friction_watts: f64,
}

/// A circuit on the stator: a winding, or turns of it that are shorted.
#[derive(Clone, Copy)]
struct Circuit {
    /// Effective turns over those of the sound main winding.
    turns: f64,
    auxiliary_axis: bool,
    own: Complex,
}

/// The motor at one slip: what its windings present to the network, and the torque that their currents make.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtSlip {
    /// Impedance matrix of (main, auxiliary) in ohms.
    pub ohms: [[Complex; 2]; 2],
    dc_ohms: [f64; 2],
    /// What each winding's current adds to the effective ampere-turns on the (main, auxiliary) axis.
    turns: [[Complex; 2]; 2],
    forward_ohms: f64,
    backward_ohms: f64,
    synchronous: f64,
}

impl Motor {
    /// Synchronous speed, radians per second.
    #[must_use]
    pub fn synchronous_speed(&self) -> f64 {
        2.0 * TAU * self.hz / f64::from(self.poles)
    }

    /// The impedance that one of the two revolving fields sees, at the rotor's slip against it.
    fn field_impedance(&self, slip: f64) -> Complex {
        let magnetising = Complex::new(0.0, self.magnetising_reactance);
        // Admittances, so that slip zero (no rotor current) needs no exception.
        let rotor =
            Complex::real(slip) / Complex::new(self.rotor_ohms, slip * self.rotor_reactance);
        (magnetising.reciprocal() + rotor).reciprocal() * 0.5
    }

    /// The motor at `slip` = 1 - speed / synchronous speed: 1 at standstill, from 1 to 2 when it turns backwards.
    #[must_use]
    pub fn at_slip(&self, slip: f64) -> AtSlip {
        let forward = self.field_impedance(slip);
        let backward = self.field_impedance(2.0 - slip);
        let (circuits, count) = self.circuits();
        let sum = forward + backward;
        let cross = (forward - backward).times_j();
        let mut z = [[Complex::ZERO; 4]; 4];
        for i in 0..count {
            for j in 0..count {
                let (a, b) = (circuits[i], circuits[j]);
                let coupling = match (a.auxiliary_axis, b.auxiliary_axis) {
                    (false, true) => -cross,
                    (true, false) => cross,
                    _ => sum,
                };
                z[i][j] = coupling * (a.turns * b.turns);
            }
            z[i][i] += circuits[i].own;
        }

        // Shorted turns have no terminals: eliminate them, last first, but keep their ampere-turns.
        let mut turns = [[Complex::ZERO; 4]; 2];
        for (i, circuit) in circuits[..count].iter().enumerate() {
            turns[usize::from(circuit.auxiliary_axis)][i] = Complex::real(circuit.turns);
        }
        for s in (2..count).rev() {
            let inverse = z[s][s].reciprocal();
            for j in 0..s {
                let per_current = -(z[s][j] * inverse);
                for row in &mut z[..s] {
                    let through = row[s] * per_current;
                    row[j] += through;
                }
                for axis in &mut turns {
                    let through = axis[s] * per_current;
                    axis[j] += through;
                }
            }
        }
        AtSlip {
            ohms: [[z[0][0], z[0][1]], [z[1][0], z[1][1]]],
            dc_ohms: [self.main.dc_ohms(), self.aux.dc_ohms()],
            turns: turns.map(|axis| [axis[0], axis[1]]),
            forward_ohms: forward.re,
            backward_ohms: backward.re,
            synchronous: self.synchronous_speed(),
        }
    }

    /// Main, auxiliary, then any shorted turns; and how many.
    fn circuits(&self) -> ([Circuit; 4], usize) {
        let none = Circuit {
            turns: 0.0,
            auxiliary_axis: false,
            own: Complex::ZERO,
        };
        let mut circuits = [none; 4];
        let mut count = 2;
        for (i, (winding, full)) in [(self.main, 1.0), (self.aux, self.turns_ratio)]
            .into_iter()
            .enumerate()
        {
            let whole = Complex::new(winding.ohms, winding.reactance);
            circuits[i] = Circuit {
                turns: full,
                auxiliary_axis: i == 1,
                own: whole,
            };
            match winding.state {
                WindingState::Sound => {}
                WindingState::Open => circuits[i].own += Complex::real(OPEN_OHMS),
                WindingState::ShortedTurns { fraction } => {
                    circuits[i].turns = full * (1.0 - fraction);
                    circuits[i].own = whole * (1.0 - fraction);
                    circuits[count] = Circuit {
                        turns: full * fraction,
                        auxiliary_axis: i == 1,
                        own: whole * fraction,
                    };
                    count += 1;
                }
            }
        }
        (circuits, count)
    }

    /// Torque that core and friction take from the shaft at `speed` (share of synchronous speed), newton metres.
    ///
    /// The losses count as constant power above half speed, as in the textbook's example; below, their torque
    /// falls in proportion to speed, and what holds a resting rotor is the load's breakaway torque.
    #[must_use]
    pub fn loss_torque(&self, speed: f64) -> f64 {
        let speed = speed.abs();
        let share = if speed < 0.5 {
            4.0 * speed
        } else {
            1.0 / speed
        };
        (self.core_watts + self.friction_watts) / self.synchronous_speed() * share
    }
}

impl AtSlip {
    /// As windings of a [`crate::Network`], main first.
    #[must_use]
    pub fn coupled_pair(&self) -> CoupledPair {
        CoupledPair::from_impedance(self.ohms, self.dc_ohms)
    }

    /// Electromagnetic torque in newton metres from the currents of (main, auxiliary) in RMS amperes, each counted
    /// into the terminal that is not common. Positive drives forward.
    #[must_use]
    pub fn torque(&self, amps: [Complex; 2]) -> f64 {
        let [forward, backward] = self.field_torques(amps);
        forward - backward
    }

    /// Torques of the two fields added, newton metres: the scale of the hum, against which a small net torque is nothing.
    #[must_use]
    pub fn pulsation(&self, amps: [Complex; 2]) -> f64 {
        let [forward, backward] = self.field_torques(amps);
        forward + backward
    }

    /// Torque of the forward and of the backward field.
    fn field_torques(&self, amps: [Complex; 2]) -> [f64; 2] {
        let [main, aux] = self.turns.map(|axis| axis[0] * amps[0] + axis[1] * amps[1]);
        [
            (main - aux.times_j()).norm_squared() * self.forward_ohms / self.synchronous,
            (main + aux.times_j()).norm_squared() * self.backward_ohms / self.synchronous,
        ]
    }
}
