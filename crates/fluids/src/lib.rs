//! Refrigerants, moist air and water: working values with their range of validity.

pub mod air;
pub mod refrigerant;
pub mod water;
