//! The diodes of a bridge and of a power module, as elements for the meter's diode test.
//!
//! A module's switches block in both states of the meter; what it finds are the diodes across them. A shorted switch
//! shorts its diode.

use crate::network::{Network, Node};

/// Forward drop of a power diode on a meter's milliampere, V: 0.3 to 0.7 is common practice (no source), taken in the middle.
pub const JUNCTION_VOLTS: f64 = 0.5;
/// Its series resistance, ohm. Judgement.
pub const JUNCTION_OHMS: f64 = 0.05;
/// Ohms of a junction that has broken down.
const BROKEN_DOWN: f64 = 0.05;

/// One diode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Junction {
    /// Conducts one way.
    Sound,
    /// Conducts neither way.
    Open,
    /// Conducts both ways.
    Shorted,
}

impl Junction {
    /// Draws it, anode first.
    pub fn draw(self, network: &mut Network, anode: Node, cathode: Node) {
        match self {
            Junction::Sound => {
                network.diode(anode, cathode, JUNCTION_VOLTS, JUNCTION_OHMS);
            }
            Junction::Open => {}
            Junction::Shorted => {
                network.resistor(anode, cathode, BROKEN_DOWN);
            }
        }
    }
}

/// Draws a rectifier: upper diodes of the two sides first, then the lower ones.
pub fn bridge(network: &mut Network, sides: [Node; 2], plus: Node, minus: Node, diodes: [Junction; 4]) {
    for (k, side) in sides.into_iter().enumerate() {
        diodes[k].draw(network, side, plus);
        diodes[2 + k].draw(network, minus, side);
    }
}

/// Draws a module's six diodes: the upper three of U, V, W first, then the lower ones.
pub fn module(network: &mut Network, phases: [Node; 3], plus: Node, minus: Node, diodes: [Junction; 6]) {
    for (k, phase) in phases.into_iter().enumerate() {
        diodes[k].draw(network, phase, plus);
        diodes[3 + k].draw(network, minus, phase);
    }
}
