//! Refrigerants, moist air and water: working values with their range of validity.

pub mod refrigerant;
