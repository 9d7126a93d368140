//! The trade's single computations, each as a *working value*.
//!
//! A working value has a name, inputs with units and ranges, results, a formula, a source and a range of validity, all as
//! data ([`WorkingValue`]), and a pure function behind it. [`catalogue`] lists them, [`explain`] shows formula, source and
//! range with a worked example, [`work_out`] computes one from named inputs typed as a technician types them, and carries
//! the ± of the readings through to the results:
//!
//! ```
//! use halfsplit_bench::{Inputs, work_out};
//!
//! let inputs = Inputs::default().text("r25", "10 kΩ").text("beta", "3950 K").text("resistance", "5 kΩ ± 1 %");
//! let worked = work_out("thermistor.temperature", &inputs).expect("a temperature");
//! let temperature = worked.number("temperature").expect("a number");
//! assert_eq!(format!("{:.2} {}", temperature.value, temperature.unit), "41.46 °C");
//! assert_eq!(format!("{:.2}", temperature.plus_minus.expect("from the ± of the ohms")), "0.25");
//! ```
//!
//! The functions themselves are public too, by subject, in SI throughout: for callers that have numbers already.

mod facts;
mod given;
mod known;
mod refusal;
mod value;
mod work;

pub mod air;
pub mod capacitor;
pub mod charge;
pub mod chart;
pub mod compressor;
pub mod elements;
pub mod heat;
pub mod leaktest;
pub mod life;
pub mod money;
pub mod motor;
pub mod nitrogen;
pub mod refrigerant;
pub mod supply;
pub mod thermistor;
pub mod windings;

pub use facts::{Figure, Mark, figure_named, figures};
pub use given::{Given, Inputs};
pub use refusal::Refusal;
pub use value::{Input, Kind, Need, Output, Range, Spread, WorkingValue};
pub use work::{
    Content, Explanation, Number, Outcome, Part, Taken, WorkError, Worked, catalogue, explain, find, work_out,
};

/// The working values of every subject, in the order in which they are listed.
const SUBJECTS: &[&[WorkingValue]] = &[
    thermistor::VALUES,
    capacitor::VALUES,
    windings::VALUES,
    motor::VALUES,
    elements::VALUES,
    supply::VALUES,
    refrigerant::VALUES,
    air::VALUES,
    heat::VALUES,
    leaktest::VALUES,
    charge::VALUES,
    compressor::VALUES,
    life::VALUES,
    money::VALUES,
];
