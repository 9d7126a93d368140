//! The two factorisations, both small, dense and of fixed order so that every target gives the same bits.
//!
//! Alternating current uses LU with partial pivoting ([`ComplexLu`]): capacitances and inductances may
//! nearly cancel, so pivots must be chosen. Direct current uses the star-mesh transformation ([`StarMesh`]),
//! which adds, multiplies and divides positive numbers only: a floating node that hangs on 1e-12 S beside
//! contacts of 1000 S keeps its leakage to the last digits, where LU would lose it in rounding.

mod complex_lu;
mod star_mesh;

pub use complex_lu::ComplexLu;
pub use star_mesh::StarMesh;

use crate::complex::Complex;
use core::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// The numbers that a network can be solved in: [`Complex`] for alternating, `f64` for direct current.
pub trait Field:
    Copy
    + Default
    + PartialEq
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
    + sealed::Sealed
{
    /// The factorisation that belongs to it.
    type Factors: Factors<Self>;
}

impl Field for Complex {
    type Factors = ComplexLu;
}

impl Field for f64 {
    type Factors = StarMesh;
}

mod sealed {
    pub trait Sealed {}
    impl Sealed for super::Complex {}
    impl Sealed for f64 {}
}

/// An admittance between two nodes (index 0 is earth), and what the voltage elsewhere adds to its current.
#[derive(Clone, Copy, Debug)]
pub struct Branch<F> {
    pub(crate) from: u16,
    pub(crate) to: u16,
    /// Siemens.
    pub(crate) admittance: F,
    /// Amperes that flow from `from` to `to` when both are at the same potential.
    pub(crate) norton: F,
    /// The other winding of a pair: its nodes and the mutual siemens.
    pub(crate) mutual: Option<(u16, u16, F)>,
}

impl<F: Field> Branch<F> {
    pub(crate) fn current(&self, volts: &[F]) -> F {
        let across = |a: u16, b: u16| volts[usize::from(a)] - volts[usize::from(b)];
        let own = self.admittance * across(self.from, self.to) + self.norton;
        match self.mutual {
            Some((c, d, mutual)) => own + mutual * across(c, d),
            None => own,
        }
    }
}

/// A factored nodal matrix.
pub trait Factors<F>: Sized {
    /// Factors the nodal matrix of `branches` and of the stray path of each node. On failure gives the index of
    /// the node without a pivot.
    fn factor(branches: &[Branch<F>], strays: &[F]) -> Result<Self, usize>;

    /// Turns currents into the nodes (A, without earth) into node voltages (V).
    fn solve(&self, currents: &mut [F]);
}
