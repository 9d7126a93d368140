//! Netlists, their AC and DC solution, single-phase motors, and what a meter would show.
//!
//! A [`Network`] of nodes and elements is solved by nodal analysis, for phasors at one frequency or for
//! direct current. Every node has a stray path to earth, so a floating node has a solution like any other and a
//! meter of high impedance shows the ghost voltage that a real one would show. A fault is an edit of an element.
//!
//! ```
//! use halfsplit_circuit::{Complex, Network, Node};
//!
//! let mut network = Network::new();
//! let line = network.add_node();
//! let load = network.add_node();
//! network.ac_source(line, Node::EARTH, Complex::real(240.0), 0.05);
//! let relay = network.switch(line, load, true, 0.01);
//! let element = network.resistor(load, Node::EARTH, 12.8);
//! let healthy = network.solve_ac(60.0)?.current(element).abs();
//! network.set_closed(relay, false)?;
//! let open = network.solve_ac(60.0)?.current(element).abs();
//! assert!((healthy - 240.0 / 12.86).abs() < 1e-6);
//! assert!(open < 1e-6);
//! # Ok::<(), halfsplit_circuit::CircuitError>(())
//! ```
//!
//! What this crate leaves out on purpose: transients other than a capacitor's discharge, harmonics, the switching of
//! inverters. Rectifiers, their bus and permanent-magnet motors are solved in their steady state ([`drive`]). It knows no part of any machine and no fault by name.

mod assemble;
mod complex;
pub mod drive;
mod error;
mod linear;
pub mod meter;
pub mod motor;
mod network;
pub mod overload;
mod solution;

pub use complex::Complex;
pub use error::CircuitError;
pub use linear::Field;
pub use network::{CoupledPair, ElementId, Kind, Network, Node, OPEN_OHMS, PairId, Stray};
pub use solution::{Factored, FactoredAc, FactoredDc, Solution, Thevenin, TwoPort};
