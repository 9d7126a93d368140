//! From standstill to wherever the motor ends: running, crawling, or humming at its locked-rotor current.

use super::{AtSlip, Motor};
use crate::complex::Complex;
use crate::error::CircuitError;
use crate::network::{CoupledPair, Network, OPEN_OHMS, PairId, invert};
use crate::solution::TwoPort;
use core::f64::consts::TAU;

/// A motor that settles at more slip than this neither runs nor stands: it crawls at a current near that of a
/// locked rotor. Judgement: breakdown slip of small motors is below it.
const CRAWL_SLIP: f64 = 0.3;
/// A starting torque below this share of the torque that pulsates at standstill moves nothing: bearings hold it.
/// Judgement; it only matters for a motor whose auxiliary winding is as good as open.
const STICTION: f64 = 1e-3;
const SPEED_STEPS: u32 = 200;
/// Halvings of one speed step: down to 1e-15 of synchronous speed.
const HALVINGS: u32 = 42;

/// What the rest of the network is to the two windings: its open-circuit voltages and impedances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotorSupply {
    port: TwoPort,
}

impl MotorSupply {
    /// What `network` is to the pair of windings `motor` that stands in it, with the windings lifted out. Wiring
    /// faults, run capacitor, contacts and overload all come from the network.
    ///
    /// # Errors
    /// As [`Network::factor_ac`], or a pair that is not of this network.
    pub fn of_network(network: &Network, motor: PairId, hz: f64) -> Result<Self, CircuitError> {
        let mut without = network.clone();
        without.set_pair(motor, CoupledPair::ABSENT)?;
        let ends = (
            without.terminals(motor.first)?,
            without.terminals(motor.second)?,
        );
        Ok(Self {
            port: without.factor_ac(hz)?.two_port(ends.0, ends.1),
        })
    }

    /// An ideal supply of `volts` across the main winding and, through a capacitor of `farads`, across the
    /// auxiliary. Without capacitor the auxiliary winding is not connected.
    #[must_use]
    pub fn ideal(volts: f64, capacitor_farads: Option<f64>, hz: f64) -> Self {
        let series = match capacitor_farads {
            Some(farads) => Complex::new(0.0, -1.0 / (TAU * hz * farads)),
            None => Complex::real(OPEN_OHMS),
        };
        Self {
            port: TwoPort {
                volts: [Complex::real(volts); 2],
                ohms: [[Complex::ZERO, Complex::ZERO], [Complex::ZERO, series]],
            },
        }
    }

    /// Currents of (main, auxiliary) in RMS amperes.
    #[must_use]
    pub fn currents(&self, motor: &AtSlip) -> [Complex; 2] {
        let mut z = self.port.ohms;
        for (row, own) in z.iter_mut().zip(motor.ohms) {
            for (entry, ohms) in row.iter_mut().zip(own) {
                *entry += ohms;
            }
        }
        let y = invert(z);
        let v = self.port.volts;
        [0, 1].map(|i| y[i][0] * v[0] + y[i][1] * v[1])
    }

    /// Electromagnetic torque at a slip, newton metres; positive drives forward.
    #[must_use]
    pub fn torque(&self, motor: &Motor, slip: f64) -> f64 {
        let at = motor.at_slip(slip);
        at.torque(self.currents(&at))
    }
}

/// How a load's torque depends on speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadShape {
    /// The same at every speed: a compressor.
    Constant,
    /// With the square of speed: a fan or a pump for water.
    Square,
}

/// What the shaft has to turn. Torques in newton metres, not negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Torque to break away from rest: pressure difference, stiction. Infinite when seized.
    pub breakaway: f64,
    /// Torque at synchronous speed while it runs up: a compressor whose pressures have not built yet turns lightly.
    pub running_up: f64,
    /// Torque at synchronous speed afterwards.
    pub running: f64,
    /// How it depends on speed.
    pub shape: LoadShape,
}

impl LoadShape {
    /// Torque at `speed` (share of synchronous speed) of a load that takes `full` at synchronous speed.
    #[must_use]
    pub fn torque(self, full: f64, speed: f64) -> f64 {
        match self {
            Self::Constant => full,
            Self::Square => full * speed * speed,
        }
    }
}

/// How a start ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Stands and hums at locked-rotor current; silent when there is no current.
    Stalled,
    /// Turns, but far too slowly, at a current near that of a locked rotor.
    Crawls,
    /// Runs.
    Runs,
}

/// A start, or a change while running, and where it ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunUp {
    /// How it ends.
    pub outcome: Outcome,
    /// Slip at the end: 1 when stalled, above 1 when it runs backwards. Stamp the motor with it.
    pub slip: f64,
    /// Currents of (main, auxiliary) at the end, RMS amperes.
    pub amps: [Complex; 2],
    /// Electromagnetic torque at standstill, newton metres; negative drives backwards.
    pub starting_torque: f64,
}

impl RunUp {
    /// Whether it turns against its forward direction.
    #[must_use]
    pub fn is_reversed(&self) -> bool {
        self.slip > 1.0
    }
}

impl Motor {
    /// From rest. Starts in the direction of its torque when that exceeds the load's breakaway torque.
    ///
    /// A start device (positive-temperature-coefficient starter, potential relay) is two calls: this with the
    /// supply as it is at the start, then [`Motor::settle`] with the supply as the device leaves it.
    #[must_use]
    pub fn run_up(&self, supply: &MotorSupply, load: &Load) -> RunUp {
        let locked = self.at_slip(1.0);
        let amps = supply.currents(&locked);
        let starting = locked.torque(amps);
        let held = load.breakaway.max(STICTION * locked.pulsation(amps));
        if starting.abs() <= held {
            return self.end(supply, 1.0);
        }
        let way = starting.signum();
        let light = |speed: f64| load.shape.torque(load.running_up, speed);
        let up = self.settle_towards(supply, light, 0.0, way);
        if up.outcome == Outcome::Runs {
            self.settle(supply, load, up.slip)
        } else {
            up
        }
    }

    /// From a speed that it already has, `slip` = 1 - speed / synchronous: to where it settles on this supply.
    #[must_use]
    pub fn settle(&self, supply: &MotorSupply, load: &Load, slip: f64) -> RunUp {
        let speed = 1.0 - slip;
        if speed == 0.0 {
            return self.run_up(supply, load);
        }
        let full = |speed: f64| load.shape.torque(load.running, speed);
        self.settle_towards(supply, full, speed.abs(), speed.signum())
    }

    /// `speed` and all speeds below count in the direction `way` (1 or -1).
    fn settle_towards(
        &self,
        supply: &MotorSupply,
        load_torque: impl Fn(f64) -> f64,
        speed: f64,
        way: f64,
    ) -> RunUp {
        let surplus = |speed: f64| {
            way * supply.torque(self, 1.0 - way * speed)
                - load_torque(speed)
                - self.loss_torque(speed)
        };
        let rising = surplus(speed) > 0.0;
        let step = if rising { 1.0 } else { -1.0 } / f64::from(SPEED_STEPS);
        let mut near = speed;
        let mut far = near + step;
        while (0.0..=1.0).contains(&far) && (surplus(far) > 0.0) == rising {
            near = far;
            far += step;
        }
        if far < 0.0 {
            return self.end(supply, 1.0);
        }
        let mut far = far.min(1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (near + far);
            if (surplus(middle) > 0.0) == rising {
                near = middle;
            } else {
                far = middle;
            }
        }
        self.end(supply, 1.0 - way * near)
    }

    fn end(&self, supply: &MotorSupply, slip: f64) -> RunUp {
        let speed = (1.0 - slip).abs();
        RunUp {
            outcome: if speed == 0.0 {
                Outcome::Stalled
            } else if 1.0 - speed > CRAWL_SLIP {
                Outcome::Crawls
            } else {
                Outcome::Runs
            },
            slip,
            amps: supply.currents(&self.at_slip(slip)),
            starting_torque: supply.torque(self, 1.0),
        }
    }
}
