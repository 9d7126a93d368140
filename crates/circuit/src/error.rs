//! What can be wrong with a network.

use crate::network::{ElementId, Node};
use core::fmt;

/// Why a network could not be built, edited or solved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CircuitError {
    /// An element is joined to a node that this network does not have.
    UnknownNode {
        /// The node named.
        node: Node,
    },
    /// An element identifier from another network, or never given out.
    UnknownElement {
        /// The element named.
        element: ElementId,
    },
    /// An edit that this kind of element does not have, such as farads of a resistor.
    WrongKind {
        /// The element named.
        element: ElementId,
        /// What the edit wanted to set.
        wanted: &'static str,
    },
    /// A value outside the range in which the solution is trustworthy.
    BadValue {
        /// The element with the value.
        element: ElementId,
        /// Which value, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
        /// Smallest value allowed.
        least: f64,
        /// Largest value allowed.
        most: f64,
    },
    /// The stray path of a node, or the frequency, is out of range.
    BadSetting {
        /// Which setting, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// No usable pivot at this node: inductances and capacitances cancel exactly.
    Singular {
        /// The node at which the elimination stopped.
        node: Node,
    },
    /// The diodes found no consistent set of conducting and blocking.
    DiodesUnsettled,
}

impl fmt::Display for CircuitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::UnknownNode { node } => write!(
                f,
                "node {} is not in this network: use a node that add_node gave",
                node.index()
            ),
            Self::UnknownElement { element } => write!(
                f,
                "element {} is not in this network: use an identifier that this network gave",
                element.index()
            ),
            Self::WrongKind { element, wanted } => write!(
                f,
                "element {} has no {wanted}: edit an element of the right kind",
                element.index()
            ),
            Self::BadValue {
                element,
                what,
                value,
                least,
                most,
            } => write!(
                f,
                "element {}: {what} is {value}, must be from {least} to {most}",
                element.index()
            ),
            Self::BadSetting { what, value } => {
                write!(f, "{what} is {value}: give a finite value in its range")
            }
            Self::Singular { node } => write!(
                f,
                "no solution at node {}: an inductance and a capacitance without resistance cancel; \
                 give one of them its losses",
                node.index()
            ),
            Self::DiodesUnsettled => write!(
                f,
                "the diodes settle on no set of conducting and blocking: check for a loop of ideal \
                 sources and diodes"
            ),
        }
    }
}

impl core::error::Error for CircuitError {}
