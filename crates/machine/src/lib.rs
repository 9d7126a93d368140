//! What halfsplit knows about machines before any physics: the machine sheet, the part library,
//! the conditions of the day, and the vocabulary of tests and readings.
//!
//! A [`sheet::Sheet`] is text. [`Machine::build`] joins it with the [`library`] into a [`Machine`]:
//! a list of parts, a list of wires, a vector of *parameters* (capacitance, winding resistance,
//! airflow, what a relay's contact does …) and a list of *modes*. **A fault is an edit of the
//! parameter vector** and nothing else; the physics in `halfsplit-plant` only ever sees parameters,
//! so it cannot know which fault it is computing.
//!
//! This crate must not know physics, probability or files.

pub mod codes;
pub mod conditions;
pub mod examples;
pub mod library;
mod model;
pub mod refrigerant;
pub mod sheet;
pub mod starter;
pub mod test;
pub mod thermistor;

pub use conditions::Conditions;
pub use model::{
    AirSide, Branch, BranchIx, CommandIx, Detection, Drive, Machine, Mode, ModeIx, Nature, Net, Param, ParamIx, Part,
    PartIx, Place, PlaceIx, PmCompressor, ResolvedEdit, Role, Spread, Stage, Terminal, TerminalRef, Thermistor, Way,
    When,
};
