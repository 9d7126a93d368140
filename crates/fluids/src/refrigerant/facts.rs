//! Safety, flammability and climate figures, each with the source that it was taken from.
//!
//! "From memory" in a source means that the document was recalled and not read: check it before relying on it.

use std::fmt;

use super::Refrigerant;

/// A figure and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sourced<T> {
    /// The figure.
    pub value: T,
    /// Document, edition and, where it applies, how sure we are.
    pub source: &'static str,
}

/// Safety class of ASHRAE 34: lower toxicity (A), and how it burns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SafetyClass {
    /// No flame propagation.
    A1,
    /// Lower flammability, slow flame.
    A2L,
    /// Higher flammability.
    A3,
}

impl SafetyClass {
    /// Whether a leak can burn.
    pub fn is_flammable(self) -> bool {
        self != SafetyClass::A1
    }
}

impl fmt::Display for SafetyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            SafetyClass::A1 => "A1",
            SafetyClass::A2L => "A2L",
            SafetyClass::A3 => "A3",
        })
    }
}

/// A substance of a blend, by its share of the mass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// ASHRAE 34 designation.
    pub designation: &'static str,
    /// kg/kg
    pub mass_fraction: f64,
}

/// Assessment report of the IPCC that a global warming potential (100 years) is taken from. Always show it with the figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GwpReport {
    /// Fourth assessment report, 2007: the basis of most regulation.
    Ar4,
    /// Fifth assessment report, 2013, without climate-carbon feedback.
    Ar5,
}

impl fmt::Display for GwpReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            GwpReport::Ar4 => "IPCC AR4, 100 years",
            GwpReport::Ar5 => "IPCC AR5, 100 years",
        })
    }
}

/// Refrigerant concentration limit for an occupied space.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConcentrationLimit {
    /// kg/m3, as printed; None where the source gives no figure in this unit.
    pub kg_per_m3: Option<f64>,
    /// lb per 1000 ft3, as printed.
    pub lb_per_1000_ft3: f64,
    /// Parts per million by volume, as printed.
    pub ppm: f64,
}

const ASHRAE_34: &str = "ASHRAE 34, from memory";
const TABLE_A1: &str = "40 CFR 98 Table A-1, edition before the 2025 amendment (IPCC AR4)";
const TABLE_A1_BLEND: &str = "mass-weighted from 40 CFR 98 Table A-1, edition before the 2025 amendment (IPCC AR4)";
const AR4_RECALLED: &str = "IPCC AR4, from memory";
const AR4_BLEND_RECALLED: &str = "mass-weighted: 40 CFR 98 Table A-1 (IPCC AR4) and R1234yf = 4 from memory";
const AR5_RECALLED: &str = "IPCC AR5 WG1 Table 8.A.1, from memory";
const IMC: &str = "International Mechanical Code Table 1103.1 (values from ASHRAE 34)";

/// Molar volume of the ideal gas at 25 degC and 101.325 kPa, m3/mol.
const MOLAR_VOLUME_25C: f64 = 24.465e-3;

impl Refrigerant {
    /// Safety class.
    pub fn safety_class(self) -> Sourced<SafetyClass> {
        let value = match self {
            Refrigerant::R134a
            | Refrigerant::R410A
            | Refrigerant::R407C
            | Refrigerant::R404A
            | Refrigerant::R22
            | Refrigerant::R744
            | Refrigerant::R513A => SafetyClass::A1,
            Refrigerant::R32 | Refrigerant::R1234yf | Refrigerant::R1234zeE | Refrigerant::R454B => SafetyClass::A2L,
            Refrigerant::R290 | Refrigerant::R600a => SafetyClass::A3,
        };
        Sourced { value, source: ASHRAE_34 }
    }

    /// Nominal composition by mass (ASHRAE 34); a single entry for a pure fluid.
    pub fn composition(self) -> &'static [Component] {
        const fn part(designation: &'static str, mass_fraction: f64) -> Component {
            Component { designation, mass_fraction }
        }
        match self {
            Refrigerant::R134a => const { &[part("R134a", 1.0)] },
            Refrigerant::R32 => const { &[part("R32", 1.0)] },
            Refrigerant::R22 => const { &[part("R22", 1.0)] },
            Refrigerant::R290 => const { &[part("R290", 1.0)] },
            Refrigerant::R600a => const { &[part("R600a", 1.0)] },
            Refrigerant::R744 => const { &[part("R744", 1.0)] },
            Refrigerant::R1234yf => const { &[part("R1234yf", 1.0)] },
            Refrigerant::R1234zeE => const { &[part("R1234ze(E)", 1.0)] },
            Refrigerant::R410A => const { &[part("R32", 0.50), part("R125", 0.50)] },
            Refrigerant::R407C => const { &[part("R32", 0.23), part("R125", 0.25), part("R134a", 0.52)] },
            Refrigerant::R404A => const { &[part("R125", 0.44), part("R143a", 0.52), part("R134a", 0.04)] },
            Refrigerant::R454B => const { &[part("R32", 0.689), part("R1234yf", 0.311)] },
            Refrigerant::R513A => const { &[part("R1234yf", 0.56), part("R134a", 0.44)] },
        }
    }

    /// Global warming potential over 100 years, of a blend weighted by mass. None where we hold no figure from that report.
    pub fn gwp(self, report: GwpReport) -> Option<Sourced<f64>> {
        let parts = self.composition();
        let mut value = 0.0;
        let mut recalled = false;
        for part in parts {
            let component = component_gwp(part.designation, report)?;
            recalled |= component.source != TABLE_A1;
            value += part.mass_fraction * component.value;
        }
        let source = match (report, parts.len() > 1, recalled) {
            (GwpReport::Ar5, _, _) => AR5_RECALLED,
            (GwpReport::Ar4, false, false) => TABLE_A1,
            (GwpReport::Ar4, true, false) => TABLE_A1_BLEND,
            (GwpReport::Ar4, false, true) => AR4_RECALLED,
            (GwpReport::Ar4, true, true) => AR4_BLEND_RECALLED,
        };
        Some(Sourced { value, source })
    }

    /// Lower flammability limit at 25 degC and 101.325 kPa, kg/m3; None where the refrigerant does not burn.
    pub fn lower_flammability_limit(self) -> Option<Sourced<f64>> {
        const BY_VOLUME: &str = "ASHRAE 34 limit by volume, from memory, with the ideal-gas molar volume 24.465 L/mol";
        let ppm = match self {
            Refrigerant::R32 => 144_000.0,
            Refrigerant::R290 => 21_000.0,
            Refrigerant::R600a => 16_000.0,
            Refrigerant::R1234yf => 62_000.0,
            Refrigerant::R1234zeE => 65_000.0,
            Refrigerant::R454B => {
                return Some(Sourced {
                    value: 0.297,
                    source: "ASHRAE 34, from memory; sources differ for the worst-case composition",
                });
            }
            _ => return None,
        };
        let value = limit_by_mass(ppm, self.molar_mass());
        Some(Sourced { value, source: BY_VOLUME })
    }

    /// Refrigerant concentration limit for an occupied space; None where we hold no figure.
    pub fn concentration_limit(self) -> Option<Sourced<ConcentrationLimit>> {
        let (kg_per_m3, lb_per_1000_ft3, ppm, source) = match self {
            Refrigerant::R22 => (Some(0.210), 13.0, 59_000.0, IMC),
            Refrigerant::R32 => (Some(0.077), 4.8, 36_000.0, IMC),
            Refrigerant::R134a => (Some(0.210), 13.0, 50_000.0, IMC),
            Refrigerant::R410A => (None, 26.0, 140_000.0, "ASHRAE 34 as restated in a trade article"),
            _ => return None,
        };
        let value = ConcentrationLimit { kg_per_m3, lb_per_1000_ft3, ppm };
        Some(Sourced { value, source })
    }
}

/// kg/m3 at 25 degC and 101.325 kPa of a limit in parts per million by volume, for a gas of `molar_mass` (kg/mol).
pub fn limit_by_mass(ppm: f64, molar_mass: f64) -> f64 {
    ppm * 1e-6 * molar_mass / MOLAR_VOLUME_25C
}

fn component_gwp(designation: &str, report: GwpReport) -> Option<Sourced<f64>> {
    let (ar4, ar4_source, ar5) = match designation {
        "R32" => (675.0, TABLE_A1, Some(677.0)),
        "R125" => (3500.0, TABLE_A1, Some(3170.0)),
        "R134a" => (1430.0, TABLE_A1, Some(1300.0)),
        "R143a" => (4470.0, TABLE_A1, Some(4800.0)),
        "R22" => (1810.0, AR4_RECALLED, Some(1760.0)),
        "R744" => (1.0, AR4_RECALLED, Some(1.0)),
        // The fifth report prints "< 1" for it: no figure to weigh with.
        "R1234yf" => (4.0, AR4_RECALLED, None),
        _ => return None,
    };
    match report {
        GwpReport::Ar4 => Some(Sourced { value: ar4, source: ar4_source }),
        GwpReport::Ar5 => ar5.map(|value| Sourced { value, source: AR5_RECALLED }),
    }
}
