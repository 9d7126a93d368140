//! The refrigerant loop's steady state, healthy and with faults.
