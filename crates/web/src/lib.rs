//! halfsplit on the phone, without the phone: what needs no browser and can be tested like any other crate.

mod desk;
mod drawings;
mod drill;
mod opening;
mod sheets;

pub use desk::Desk;
