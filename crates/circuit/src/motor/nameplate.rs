//! A plausible motor from what stands on a nameplate.
//!
//! A nameplate gives volts, rated and locked-rotor amperes; a sheet adds ohms and a run capacitor. That is fewer
//! facts than the motor has parameters, so the rest is fixed by rules of design (judgement, each named below), and
//! the stated facts are then met exactly:
//!
//! 1. Turns ratio: the one that brings the two windings nearest to a balanced two-phase load at rated current,
//!    `a = sqrt(I / (w C V) - 1)`, kept to 1.0–1.5; 0.85 for a motor without run capacitor.
//! 2. Locked rotor: power factor of the main winding `0.55 + 0.5 R1/|Z|`, at most 0.95; leakage reactance split
//!    evenly between stator and rotor; `|Z|` solved so that the locked line current is the stated one.
//! 3. Auxiliary leakage reactance: `a²` times that of the main winding.
//! 4. Magnetising reactance: of 64 values from 1.2 to 60 times `|Z|`, the one whose operating point at rated line
//!    current has the most usual power factor and slip ([`Duty`]); the slip is solved so that the line current is
//!    the stated one.
//! 5. Core loss 4 % and friction 3 % of the rated input.

use super::{Motor, MotorSupply, Winding};
use crate::complex::Complex;
use core::f64::consts::TAU;
use core::fmt;

/// What the motor turns; it says which slip and power factor are usual.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duty {
    /// Hermetic compressor: slip about 0.05; locked-rotor current 5 times rated unless stated.
    Compressor,
    /// Small fan: slip about 0.12; locked-rotor current twice rated unless stated.
    Fan,
}

/// The capacitor that stays in series with the auxiliary winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RunCapacitor {
    /// None: the auxiliary winding is for starting only, and the stated currents are those of the main winding.
    None,
    /// Known, in farads.
    Farads(f64),
    /// There is one, of unknown size: taken as `I / (2 w V)`, which balances equal windings.
    Unknown,
}

/// What is known of a motor. Ohms at about 25 °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nameplate {
    /// Rated RMS volts.
    pub volts: f64,
    /// Hertz.
    pub hz: f64,
    /// Rated line amperes (RLA or FLA).
    pub rated_amps: f64,
    /// Line amperes with locked rotor (LRA).
    pub locked_amps: Option<f64>,
    /// Main winding, ohms. Unless stated: 0.22 (fan 0.4) of rated volts over locked amperes.
    pub main_ohms: Option<f64>,
    /// Auxiliary winding, ohms. Unless stated: 2.5 times the main winding (fan 1.5 times).
    pub aux_ohms: Option<f64>,
    /// The run capacitor.
    pub capacitor: RunCapacitor,
    /// Number of poles, even.
    pub poles: u32,
    /// What it turns.
    pub duty: Duty,
}

/// The operating point at rated line current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatedPoint {
    /// Slip.
    pub slip: f64,
    /// Line amperes.
    pub amps: f64,
    /// Input watts.
    pub watts: f64,
    /// Power factor.
    pub power_factor: f64,
    /// Shaft torque after core and friction losses, newton metres.
    pub torque: f64,
}

/// A fitted motor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted {
    /// The motor.
    pub motor: Motor,
    /// Run capacitor, farads.
    pub capacitor: Option<f64>,
    /// Operating point at rated line current.
    pub rated: RatedPoint,
    /// Line amperes with locked rotor.
    pub locked_amps: f64,
    /// Torque with locked rotor at rated volts and good run capacitor, newton metres.
    pub starting_torque: f64,
}

/// Why no motor fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FitError {
    /// A value that must be positive and finite is not.
    NotPositive {
        /// Which value.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Locked-rotor current not above rated current.
    LockedBelowRated {
        /// Rated amperes.
        rated: f64,
        /// Locked amperes.
        locked: f64,
    },
    /// Locked-rotor current times main ohms is more than the rated volts can drive.
    MainOhmsTooHigh {
        /// The stated ohms.
        ohms: f64,
        /// Volts over locked amperes.
        at_most: f64,
    },
    /// No operating point at the stated rated current.
    NoRatedPoint {
        /// Rated amperes.
        rated: f64,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NotPositive { what, value } => {
                write!(f, "{what} is {value}: give a number above zero")
            }
            Self::LockedBelowRated { rated, locked } => write!(
                f,
                "locked-rotor current {locked} A is not above the rated {rated} A: read the nameplate again"
            ),
            Self::MainOhmsTooHigh { ohms, at_most } => write!(
                f,
                "main winding {ohms} ohm cannot draw the locked-rotor current: rated volts over that \
                 current is {at_most} ohm; check which pair of terminals was measured"
            ),
            Self::NoRatedPoint { rated } => write!(
                f,
                "no motor with this locked-rotor current and run capacitor draws {rated} A at load: \
                 check the capacitor and the rated current"
            ),
        }
    }
}

impl core::error::Error for FitError {}

struct Usual {
    slip: f64,
    slip_spread: f64,
    locked_over_rated: f64,
    main_ohms_share: f64,
    aux_over_main: f64,
}

impl Duty {
    const fn usual(self) -> Usual {
        match self {
            Self::Compressor => Usual {
                slip: 0.05,
                slip_spread: 0.02,
                locked_over_rated: 5.0,
                main_ohms_share: 0.22,
                aux_over_main: 2.5,
            },
            Self::Fan => Usual {
                slip: 0.12,
                slip_spread: 0.05,
                locked_over_rated: 2.0,
                main_ohms_share: 0.4,
                aux_over_main: 1.5,
            },
        }
    }
}

/// The stated facts, completed where the nameplate leaves them out.
struct Facts {
    volts: f64,
    hz: f64,
    rated: f64,
    locked: f64,
    main_ohms: f64,
    aux_ohms: f64,
    capacitor: Option<f64>,
    turns_ratio: f64,
    poles: u32,
}

impl Motor {
    /// A plausible motor that draws the stated rated and locked-rotor currents: see this module's rules.
    ///
    /// # Errors
    /// [`FitError`] when the facts contradict each other.
    pub fn from_nameplate(plate: &Nameplate) -> Result<Fitted, FitError> {
        let usual = plate.duty.usual();
        let facts = Facts::complete(plate, &usual)?;
        let supply = MotorSupply::ideal(facts.volts, facts.capacitor, facts.hz);
        let usual_power_factor = if facts.capacitor.is_some() {
            0.95
        } else {
            0.65
        };

        let mut best: Option<(f64, Motor, RatedPoint)> = None;
        for step in 0..64 {
            let ratio = 1.2 * libm::pow(50.0, f64::from(step) / 63.0);
            let Some(motor) = facts.with_locked_current(&supply, ratio) else {
                continue;
            };
            let Some(rated) = facts.rated_point(&motor, &supply) else {
                continue;
            };
            let off_factor = (rated.power_factor - usual_power_factor) / 0.03;
            let off_slip = (rated.slip - usual.slip) / usual.slip_spread;
            let demerit = off_factor * off_factor + off_slip * off_slip;
            if best.is_none_or(|(least, ..)| demerit < least) {
                best = Some((demerit, motor, rated));
            }
        }
        let (_, mut motor, mut rated) =
            best.ok_or(FitError::NoRatedPoint { rated: facts.rated })?;
        motor.core_watts = 0.04 * rated.watts;
        motor.friction_watts = 0.03 * rated.watts;
        rated.torque -= motor.loss_torque(1.0 - rated.slip);
        Ok(Fitted {
            motor,
            capacitor: facts.capacitor,
            rated,
            locked_amps: line_current(&motor, &supply, 1.0).abs(),
            starting_torque: supply.torque(&motor, 1.0),
        })
    }
}

fn line_current(motor: &Motor, supply: &MotorSupply, slip: f64) -> Complex {
    let [main, aux] = supply.currents(&motor.at_slip(slip));
    main + aux
}

fn positive(what: &'static str, value: f64) -> Result<f64, FitError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(FitError::NotPositive { what, value })
    }
}

impl Facts {
    fn complete(plate: &Nameplate, usual: &Usual) -> Result<Self, FitError> {
        let volts = positive("rated volts", plate.volts)?;
        let hz = positive("hertz", plate.hz)?;
        let rated = positive("rated amperes", plate.rated_amps)?;
        let locked = positive(
            "locked-rotor amperes",
            plate.locked_amps.unwrap_or(usual.locked_over_rated * rated),
        )?;
        if plate.poles == 0 || !plate.poles.is_multiple_of(2) {
            return Err(FitError::NotPositive {
                what: "number of poles (even)",
                value: f64::from(plate.poles),
            });
        }
        if locked <= rated {
            return Err(FitError::LockedBelowRated { rated, locked });
        }
        let at_most = volts / locked;
        let main_ohms = positive(
            "main ohms",
            plate.main_ohms.unwrap_or(usual.main_ohms_share * at_most),
        )?;
        if main_ohms > 0.85 * at_most {
            return Err(FitError::MainOhmsTooHigh {
                ohms: main_ohms,
                at_most,
            });
        }
        let aux_ohms = positive(
            "auxiliary ohms",
            plate.aux_ohms.unwrap_or(usual.aux_over_main * main_ohms),
        )?;
        let capacitor = match plate.capacitor {
            RunCapacitor::None => None,
            RunCapacitor::Farads(farads) => Some(positive("run capacitor (farads)", farads)?),
            RunCapacitor::Unknown => Some(rated / (2.0 * TAU * hz * volts)),
        };
        let turns_ratio = capacitor.map_or(0.85, |farads| {
            let balanced = rated / (TAU * hz * farads * volts) - 1.0;
            balanced.max(0.0).sqrt().clamp(1.0, 1.5)
        });
        Ok(Self {
            volts,
            hz,
            rated,
            locked,
            main_ohms,
            aux_ohms,
            capacitor,
            turns_ratio,
            poles: plate.poles,
        })
    }

    /// The motor whose main winding has impedance `locked_ohms` with locked rotor, and a magnetising reactance of
    /// `ratio` times that.
    fn with_impedance(&self, locked_ohms: f64, ratio: f64) -> Option<Motor> {
        let power_factor = (0.55 + 0.5 * self.main_ohms / locked_ohms).min(0.95);
        let reactance = locked_ohms * (1.0 - power_factor * power_factor).sqrt();
        let magnetising = ratio * locked_ohms;
        let seen = Complex::new(power_factor * locked_ohms - self.main_ohms, 0.5 * reactance);
        // The rotor as seen through the magnetising reactance, undone.
        let rotor = (seen.reciprocal() - Complex::new(0.0, magnetising).reciprocal()).reciprocal();
        if !(seen.re > 0.0 && rotor.re > 0.0 && rotor.im > 0.0) {
            return None;
        }
        Some(Motor {
            main: Winding::sound(self.main_ohms, 0.5 * reactance),
            aux: Winding::sound(
                self.aux_ohms,
                0.5 * reactance * self.turns_ratio * self.turns_ratio,
            ),
            turns_ratio: self.turns_ratio,
            rotor_ohms: rotor.re,
            rotor_reactance: rotor.im,
            magnetising_reactance: magnetising,
            poles: self.poles,
            hz: self.hz,
            core_watts: 0.0,
            friction_watts: 0.0,
        })
    }

    /// The motor that draws the stated locked-rotor current.
    fn with_locked_current(&self, supply: &MotorSupply, ratio: f64) -> Option<Motor> {
        let centre = self.volts / self.locked;
        let (mut low, mut high) = (0.4 * centre, 2.5 * centre);
        low = low.max(self.main_ohms * 1.02);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            let motor = self.with_impedance(middle, ratio)?;
            if line_current(&motor, supply, 1.0).abs() > self.locked {
                low = middle;
            } else {
                high = middle;
            }
        }
        let motor = self.with_impedance(0.5 * (low + high), ratio)?;
        let off = line_current(&motor, supply, 1.0).abs() / self.locked - 1.0;
        (off.abs() < 1e-9).then_some(motor)
    }

    /// The operating point at the stated rated current: the first slip, from no load, at which the line current
    /// rises through it.
    fn rated_point(&self, motor: &Motor, supply: &MotorSupply) -> Option<RatedPoint> {
        let amps = |slip: f64| line_current(motor, supply, slip).abs();
        let slip_of = |step: u32| 0.005 * f64::from(step);
        let step = (1..=70).find(|&k| {
            amps(slip_of(k - 1)) < self.rated
                && amps(slip_of(k)) >= self.rated
                && supply.torque(motor, slip_of(k)) > 0.0
        })?;
        let (mut low, mut high) = (slip_of(step - 1), slip_of(step));
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if amps(middle) < self.rated {
                low = middle;
            } else {
                high = middle;
            }
        }
        let slip = 0.5 * (low + high);
        let line = line_current(motor, supply, slip);
        let torque = supply.torque(motor, slip);
        (torque > 0.0).then(|| RatedPoint {
            slip,
            amps: line.abs(),
            watts: self.volts * line.re,
            power_factor: line.re / line.abs(),
            torque,
        })
    }
}
