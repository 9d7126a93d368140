//! What an inverter's power stage needs: the direct-current bus behind its rectifier, the diodes of bridge and power
//! module as a meter finds them, the permanent-magnet motor, an earthed winding, the signal line between two units.
//!
//! Quasi-steady: a bus is solved over its periodic state, not over a start. Switching ripple, control loops and the shape of
//! the motor's currents are left out on purpose.

mod bus;
mod diodes;
mod earth;
mod motor;
mod rectifier;
mod signal;

pub use bus::{BusCapacitor, energy};
pub use diodes::{JUNCTION_OHMS, JUNCTION_VOLTS, Junction, bridge, module};
pub use earth::earth_amps;
pub use motor::{PhaseCurrents, PmMotor, Point, imbalance};
pub use rectifier::{Bridge, Bus, Fed, Rectifier};
pub use signal::{Line, Seen};
