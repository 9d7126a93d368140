//! The circuit of a phase as a whole: what stands on every wire and flows in every branch, for pictures.

use halfsplit_machine::test::Moment;
use halfsplit_machine::{Branch, CommandIx};

use crate::Plant;
use crate::mains::Drawing;
use crate::operate::Operation;

/// What stands on every wire and flows in every branch in one phase.
#[derive(Debug, Clone, PartialEq)]
pub struct Electrical {
    /// For each wire, V RMS to earth as (real, imaginary); for the plus side of a control rail, V DC to its ground.
    /// `None` where nothing is worked out.
    pub volts: Vec<Option<(f64, f64)>>,
    /// For each branch, A RMS; 0 outside the mains circuit.
    pub amps: Vec<f64>,
    /// For each branch, whether it is a closed contact; `None` for what is no contact.
    pub closed: Vec<Option<bool>>,
}

impl Plant {
    /// The circuit while something is commanded, or at rest. `None` where no such phase comes about.
    ///
    /// `params` are the parameters that the operation was worked out from.
    pub fn electrical(
        &self,
        params: &[f64],
        operation: &Operation,
        command: Option<CommandIx>,
        moment: Moment,
    ) -> Option<Electrical> {
        let m = &self.machine;
        let phase = self.phase_of(params, operation, command, moment)?;
        let flow = &phase.flow;
        let mut volts: Vec<Option<(f64, f64)>> =
            self.mains.iter().enumerate().map(|(i, mains)| mains.then(|| flow.volts_of(i))).collect();
        volts[m.earth.0] = Some((0.0, 0.0));
        for (part, branch) in &m.branches {
            let Branch::Rail { plus, ground, volts: rail, .. } = *branch else { continue };
            if let (Some(p), Some(g)) = (self.net_of(*part, plus), self.net_of(*part, ground)) {
                volts[p] = Some((rail * operation.scene.control.rails, 0.0));
                volts[g] = Some((0.0, 0.0));
            }
        }
        let drawing = Drawing {
            params,
            latches: flow.latches(),
            energised: flow.energised(),
            at_slip: None,
            overload_open: false,
            dead: false,
        };
        let closed = m
            .branches
            .iter()
            .map(|(part, branch)| match *branch {
                Branch::Contact { drive, stuck, .. } => {
                    Some(self.contact_closed(*part, drive, params[stuck.0], &drawing))
                }
                _ => None,
            })
            .collect();
        Some(Electrical { volts, amps: flow.branch_amps.clone(), closed })
    }
}
