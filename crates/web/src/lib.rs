//! halfsplit on the phone, without the phone: what needs no browser and can be tested like any other crate.

mod desk;
mod drill;

pub use desk::Desk;
