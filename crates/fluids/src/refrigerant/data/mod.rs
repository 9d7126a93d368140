//! Equations and saturation tables, one generated file per refrigerant.

use super::Refrigerant;
use super::equation::Equation;
use super::tables::SaturationTable;

mod r1234yf;
mod r1234ze_e;
mod r134a;
mod r22;
mod r290;
mod r32;
mod r404a;
mod r407c;
mod r410a;
mod r454b;
mod r513a;
mod r600a;
mod r744;

/// Everything that is computed from, in SI units.
pub(crate) struct FluidData {
    /// kg/mol
    pub molar_mass: f64,
    pub acentric_factor: f64,
    /// K
    pub t_critical: f64,
    /// Pa
    pub p_critical: f64,
    /// kg/m3
    pub rho_critical: f64,
    /// Highest temperature served, K.
    pub t_max: f64,
    /// Highest pressure served, Pa.
    pub p_max: f64,
    pub equation: Equation,
    pub saturation: SaturationTable,
}

impl Refrigerant {
    pub(crate) fn data(self) -> &'static FluidData {
        match self {
            Refrigerant::R134a => &r134a::DATA,
            Refrigerant::R32 => &r32::DATA,
            Refrigerant::R410A => &r410a::DATA,
            Refrigerant::R407C => &r407c::DATA,
            Refrigerant::R404A => &r404a::DATA,
            Refrigerant::R22 => &r22::DATA,
            Refrigerant::R290 => &r290::DATA,
            Refrigerant::R600a => &r600a::DATA,
            Refrigerant::R744 => &r744::DATA,
            Refrigerant::R1234yf => &r1234yf::DATA,
            Refrigerant::R1234zeE => &r1234ze_e::DATA,
            Refrigerant::R454B => &r454b::DATA,
            Refrigerant::R513A => &r513a::DATA,
        }
    }
}
