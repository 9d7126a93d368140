//! Operation as a timeline, checked against the trade: what a healthy machine shows, and what follows from faults
//! whose course every technician knows.

mod bench;
mod charge_and_air;
mod electrical;
mod healthy;
mod history;
mod joints;
mod kinds;
mod protection;
mod sensors;
mod warming;
