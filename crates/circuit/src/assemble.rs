//! From elements to admittances: where every value is checked, and where each kind of element has its law.

use crate::complex::Complex;
use crate::error::CircuitError;
use crate::linear::Branch;
use crate::network::{Element, ElementId, Kind, Network, Node, OPEN_OHMS};
use core::f64::consts::TAU;

const OHMS: (f64, f64) = (1e-6, 1e15);
/// A charged capacitor without stated series resistance still has its leads.
const LEAD_OHMS: f64 = 1e-3;

/// How an impedance known at the supply frequency counts in this analysis.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum FixedImpedance {
    /// As stated: the analysis is at the supply frequency.
    AsStated,
    /// As its direct-current resistance: the analysis is at a meter's low test frequency.
    AsDirect,
}

fn check(
    element: ElementId,
    what: &'static str,
    value: f64,
    (least, most): (f64, f64),
) -> Result<f64, CircuitError> {
    if (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(CircuitError::BadValue {
            element,
            what,
            value,
            least,
            most,
        })
    }
}

fn conductance(element: ElementId, what: &'static str, ohms: f64) -> Result<f64, CircuitError> {
    Ok(1.0 / check(element, what, ohms, OHMS)?)
}

fn finite(element: ElementId, what: &'static str, value: Complex) -> Result<Complex, CircuitError> {
    check(element, what, value.re, (-1e9, 1e9))?;
    check(element, what, value.im, (-1e9, 1e9))?;
    Ok(value)
}

fn check_nodes(network: &Network, element: &Element) -> Result<(), CircuitError> {
    for node in [element.from, element.to] {
        if node.index() > network.node_count() {
            return Err(CircuitError::UnknownNode { node });
        }
    }
    Ok(())
}

/// The stray admittance of every node at angular frequency `omega` (0 for direct current).
fn strays(network: &Network, omega: f64) -> Result<Vec<Complex>, CircuitError> {
    network
        .strays
        .iter()
        .map(|s| {
            if !(1e-15..=1.0).contains(&s.siemens) {
                return Err(CircuitError::BadSetting {
                    what: "stray leakage (siemens, 1e-15 to 1)",
                    value: s.siemens,
                });
            }
            if !(0.0..=1e-3).contains(&s.farads) {
                return Err(CircuitError::BadSetting {
                    what: "stray capacitance (farads, 0 to 1e-3)",
                    value: s.farads,
                });
            }
            Ok(Complex::new(s.siemens, omega * s.farads))
        })
        .collect()
}

/// Branches and stray admittances for alternating current.
pub(crate) fn alternating(
    network: &Network,
    hz: f64,
    fixed: FixedImpedance,
) -> Result<(Vec<Branch<Complex>>, Vec<Complex>), CircuitError> {
    if !(1e-3..=1e6).contains(&hz) {
        return Err(CircuitError::BadSetting {
            what: "frequency (hertz, 0.001 to 1e6)",
            value: hz,
        });
    }
    let omega = TAU * hz;
    let mut branches = Vec::with_capacity(network.elements.len());
    for (element, id) in network.elements.iter().zip(network.elements()) {
        check_nodes(network, element)?;
        branches.push(alternating_branch(network, element, id, omega, fixed)?);
    }
    Ok((branches, strays(network, omega)?))
}

fn alternating_branch(
    network: &Network,
    element: &Element,
    id: ElementId,
    omega: f64,
    fixed: FixedImpedance,
) -> Result<Branch<Complex>, CircuitError> {
    let mut mutual = None;
    let mut norton = Complex::ZERO;
    let admittance = match element.kind {
        Kind::Resistor { ohms } => Complex::real(conductance(id, "ohms", ohms)?),
        Kind::Capacitor {
            farads,
            series_ohms,
            leakage_siemens,
            ..
        } => {
            check(id, "farads", farads, (0.0, 1.0))?;
            check(id, "series ohms", series_ohms, (0.0, 1e9))?;
            check(id, "leakage siemens", leakage_siemens, (0.0, 1e6))?;
            let susceptance = omega * farads;
            let plates = if series_ohms == 0.0 {
                Complex::new(0.0, susceptance)
            } else {
                Complex::new(0.0, susceptance) / Complex::new(1.0, susceptance * series_ohms)
            };
            plates + Complex::real(leakage_siemens)
        }
        Kind::Inductor { henries, ohms } => {
            check(id, "henries", henries, (0.0, 1e4))?;
            check(id, "ohms of the wire", ohms, OHMS)?;
            Complex::new(ohms, omega * henries).reciprocal()
        }
        Kind::Impedance { ohms, dc_ohms } => match fixed {
            FixedImpedance::AsStated => {
                finite(id, "impedance (ohms)", ohms)?;
                check(id, "magnitude of the impedance (ohms)", ohms.abs(), OHMS)?;
                ohms.reciprocal()
            }
            FixedImpedance::AsDirect => {
                Complex::real(conductance(id, "direct-current ohms", dc_ohms)?)
            }
        },
        Kind::VoltageSource { ac_volts, ohms, .. } => {
            let siemens = conductance(id, "series ohms", ohms)?;
            norton = -finite(id, "volts", ac_volts)? * siemens;
            Complex::real(siemens)
        }
        Kind::CurrentSource { ac_amps, .. } => {
            norton = finite(id, "amperes", ac_amps)?;
            Complex::ZERO
        }
        Kind::Switch { closed: true, ohms } => {
            Complex::real(conductance(id, "contact ohms", ohms)?)
        }
        Kind::Switch { closed: false, .. } | Kind::Diode { .. } => Complex::real(1.0 / OPEN_OHMS),
        Kind::Winding { pair, side } => {
            let pair = &network.pairs[usize::from(pair)];
            let (own, other, partner) = if side == 0 {
                (0, 1, pair.elements.second)
            } else {
                (1, 0, pair.elements.first)
            };
            match fixed {
                FixedImpedance::AsStated => {
                    let row = pair.coupling.siemens[own];
                    let partner = &network.elements[partner.index()];
                    finite(id, "mutual admittance (siemens)", row[other])?;
                    mutual = Some((partner.from.0, partner.to.0, row[other]));
                    finite(id, "admittance (siemens)", row[own])?
                }
                FixedImpedance::AsDirect => Complex::real(conductance(
                    id,
                    "direct-current ohms",
                    pair.coupling.dc_ohms[own],
                )?),
            }
        }
    };
    Ok(Branch {
        from: element.from.0,
        to: element.to.0,
        admittance,
        norton,
        mutual,
    })
}

/// Branches and stray conductances for direct current, with each diode in the state that `conducting` gives it
/// (in order of the diodes).
pub(crate) fn direct(
    network: &Network,
    conducting: &[bool],
) -> Result<(Vec<Branch<f64>>, Vec<f64>), CircuitError> {
    let mut diodes = conducting.iter();
    let mut branches = Vec::with_capacity(network.elements.len());
    for (element, id) in network.elements.iter().zip(network.elements()) {
        check_nodes(network, element)?;
        let (admittance, norton) = match element.kind {
            Kind::Diode {
                forward_volts,
                ohms,
            } => {
                check(id, "forward volts", forward_volts, (0.0, 100.0))?;
                let siemens = conductance(id, "ohms", ohms)?;
                if diodes.next().copied().unwrap_or(false) {
                    (siemens, -forward_volts * siemens)
                } else {
                    (1.0 / OPEN_OHMS, 0.0)
                }
            }
            kind => direct_branch(network, kind, id)?,
        };
        branches.push(Branch {
            from: element.from.0,
            to: element.to.0,
            admittance,
            norton,
            mutual: None,
        });
    }
    let strays = strays(network, 0.0)?;
    Ok((branches, strays.iter().map(|s| s.re).collect()))
}

/// Conductance and Norton current of an element that has no state.
fn direct_branch(network: &Network, kind: Kind, id: ElementId) -> Result<(f64, f64), CircuitError> {
    Ok(match kind {
        Kind::Resistor { ohms } => (conductance(id, "ohms", ohms)?, 0.0),
        Kind::Capacitor {
            series_ohms,
            leakage_siemens,
            charge_volts,
            ..
        } => {
            check(id, "series ohms", series_ohms, (0.0, 1e9))?;
            check(id, "leakage siemens", leakage_siemens, (0.0, 1e6))?;
            check(id, "charge (volts)", charge_volts, (-1e6, 1e6))?;
            if charge_volts == 0.0 {
                (leakage_siemens, 0.0)
            } else {
                let siemens = 1.0 / series_ohms.max(LEAD_OHMS);
                (siemens + leakage_siemens, -charge_volts * siemens)
            }
        }
        Kind::Inductor { ohms, .. } => (conductance(id, "ohms of the wire", ohms)?, 0.0),
        Kind::Impedance { dc_ohms, .. } => (conductance(id, "direct-current ohms", dc_ohms)?, 0.0),
        Kind::VoltageSource { dc_volts, ohms, .. } => {
            check(id, "volts", dc_volts, (-1e9, 1e9))?;
            let siemens = conductance(id, "series ohms", ohms)?;
            (siemens, -dc_volts * siemens)
        }
        Kind::CurrentSource { dc_amps, .. } => (0.0, check(id, "amperes", dc_amps, (-1e9, 1e9))?),
        Kind::Switch { closed: true, ohms } => (conductance(id, "contact ohms", ohms)?, 0.0),
        Kind::Switch { closed: false, .. } | Kind::Diode { .. } => (1.0 / OPEN_OHMS, 0.0),
        Kind::Winding { pair, side } => {
            let ohms = network.pairs[usize::from(pair)].coupling.dc_ohms[usize::from(side)];
            (conductance(id, "direct-current ohms", ohms)?, 0.0)
        }
    })
}

/// The node that a failed factorisation stopped at.
pub(crate) fn singular(index: usize) -> CircuitError {
    CircuitError::Singular {
        node: Node(u16::try_from(index + 1).unwrap_or(u16::MAX)),
    }
}
