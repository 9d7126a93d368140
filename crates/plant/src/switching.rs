//! Contacts that no board drives: coils in the circuit itself, and switches that pressures open.

use halfsplit_fluids::refrigerant::Refrigerant;
use halfsplit_machine::{Branch, PartIx, Role};
use halfsplit_refrigeration::LoopPoint;

use crate::Plant;
use crate::history::Latches;
use crate::mains::Flow;

/// A coil pulls in above this share of its rated volts, and holds down to the second. Common practice, no source.
const PULLS_IN: f64 = 0.75;
const HOLDS: f64 = 0.5;
/// Factors on the setting of a pressure switch that opens too early: high, low. Judgement.
const TOO_EARLY: (f64, f64) = (0.60, 3.3);

impl Plant {
    /// Lets coils pull in or fall off as a flow feeds them; whether anything moved.
    pub(crate) fn coils_move(&self, p: &[f64], flow: &Flow, energised: &mut [bool]) -> bool {
        let mut moved = false;
        for &part in &self.parts.coil_driven {
            let Role::CoilDriven { volts } = self.role(part) else { continue };
            let across = self.machine.branches_of(part).find_map(|(ix, b)| match b {
                Branch::Resistor { ohms, reactance: Some(x), .. } => {
                    Some(flow.branch_amps[ix.0] * libm::hypot(p[ohms.0], p[x.0]))
                }
                _ => None,
            });
            let force = self.pull(p, part, across.unwrap_or(0.0)) / volts;
            let on = force > if energised[part.0] { HOLDS } else { PULLS_IN };
            moved |= on != energised[part.0];
            energised[part.0] = on;
        }
        moved
    }

    /// Volts that count for the pull: an open coil has its volts and does not pull.
    fn pull(&self, p: &[f64], part: PartIx, volts: f64) -> f64 {
        let whole = self.machine.branches_of(part).all(|(_, b)| match b {
            Branch::Resistor { ohms, .. } => {
                let nominal = self.machine.params[ohms.0].nominal;
                p[ohms.0] < 20.0 * nominal && p[ohms.0] > 0.2 * nominal
            }
            _ => true,
        });
        if whole { volts } else { 0.0 }
    }

    /// Pressure switches that an operating point opens.
    pub(crate) fn pressures_open(&self, p: &[f64], point: &LoopPoint, latches: &Latches) -> Vec<PartIx> {
        let Some(refrigerant) =
            self.machine.sheet.nameplate.refrigerant.as_deref().and_then(Refrigerant::from_designation)
        else {
            return Vec::new();
        };
        self.machine
            .parts
            .iter()
            .enumerate()
            .filter(|(ix, x)| {
                let Role::PressureSwitch { high, opens, .. } = x.role else { return false };
                if latches.tripped[*ix] {
                    return false;
                }
                let early = self.named(p, PartIx(*ix), "too early") > 0.5;
                let limit = p[opens.0]
                    * match (early, high) {
                        (false, _) => 1.0,
                        (true, true) => TOO_EARLY.0,
                        (true, false) => TOO_EARLY.1,
                    };
                let at = if high { point.condensing } else { point.evaporating };
                // Beyond the tables' end the pressure is beyond any switch's limit.
                match refrigerant.bubble_pressure(at) {
                    Ok(pressure) => (pressure > limit) == high && pressure != limit,
                    Err(_) => high == (at > 300.0),
                }
            })
            .map(|(ix, _)| PartIx(ix))
            .collect()
    }

    /// Those of them that stay open until somebody presses their button.
    pub(crate) fn stays_open(&self, part: PartIx) -> bool {
        matches!(self.role(part), Role::PressureSwitch { by_hand: true, .. } | Role::OverCurrent { .. })
    }
}
