//! The trade's single computations: thermistors, capacitors, windings, saturation and the rest.
