//! The control side: whether the board runs, which relays pull in, what the float says.

use std::rc::Rc;

use halfsplit_machine::{Branch, PartIx, Role};

use crate::Plant;
use crate::history::Latches;
use crate::mains::{Drawing, Flow};

/// State of the control circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Control {
    /// Share of the rated low voltages that is there.
    pub rails: f64,
    /// The board runs its program and its display is lit.
    pub alive: bool,
}

/// Relays pull in above this share of their rated voltage; common practice, no source.
const PULL_IN: f64 = 0.75;
/// A board starts its program above this share of its rated voltage; judgement.
const BOARD_STARTS: f64 = 0.5;

/// What a board's supply gives before it gives in, A. Judgement.
const SUPPLY_GIVES: f64 = 1.0;

impl Plant {
    /// Whether the board runs, from the mains flow at rest.
    pub(crate) fn control(&self, params: &[f64], rest: &Flow) -> Control {
        let Some(ps) = self.parts.power_supply else {
            return Control { rails: 1.0, alive: self.board_alive(params) };
        };
        let Role::PowerSupply { works, needs } = self.role(ps) else { return Control { rails: 0.0, alive: false } };
        let fed = self.machine.branches_of(ps).find_map(|(ix, b)| match b {
            Branch::Resistor { ohms, .. } => Some(rest.branch_amps[ix.0] * params[ohms.0]),
            _ => None,
        });
        let rails = if fed.unwrap_or(0.0) >= *needs {
            params[works.0] * self.rail_share(params, ps, SUPPLY_GIVES)
        } else {
            0.0
        };
        Control { rails, alive: rails > BOARD_STARTS && self.board_alive(params) }
    }

    fn board_alive(&self, params: &[f64]) -> bool {
        match self.parts.board.map(|b| self.role(b)) {
            Some(Role::Board { alive, .. }) => params[alive.0] > 0.5,
            _ => true,
        }
    }

    /// Which relays are energised when the board commands these.
    pub(crate) fn energised(&self, params: &[f64], control: Control, commanded: &[PartIx]) -> Vec<bool> {
        let drivers = match self.parts.board.map(|b| self.role(b)) {
            Some(Role::Board { drivers, .. }) => params[drivers.0] > 0.5,
            _ => true,
        };
        let able = control.alive && control.rails >= PULL_IN && drivers;
        let mut on = vec![false; self.machine.parts.len()];
        for &part in commanded {
            on[part.0] = match self.role(part) {
                Role::Relay { driver } => able && params[driver.0] > 0.5,
                _ => able,
            };
        }
        on
    }

    /// Whether the float stands up.
    pub(crate) fn float_up(&self, params: &[f64]) -> bool {
        match self.parts.drain.map(|d| self.role(d)) {
            Some(Role::Drain { blocked, float_stuck, .. }) => params[blocked.0] > 0.5 || params[float_stuck.0] > 0.5,
            _ => false,
        }
    }

    /// Whether the board finds the float's circuit open: float up, or its wire loose.
    pub(crate) fn float_open(&self, params: &[f64]) -> bool {
        let Some(drain) = self.parts.drain else { return false };
        let Role::Drain { has_float, .. } = self.role(drain) else { return false };
        let loose = self.machine.parts[drain.0].terminals.iter().any(|t| params[t.joint.0] > 1e4);
        *has_float && (self.float_up(params) || loose)
    }

    /// Solves the mains circuit and lets fuses and breakers open until nothing more trips.
    pub(crate) fn settle(&self, d: &Drawing<'_>, latches: &mut Latches) -> Option<Rc<Flow>> {
        let mut energised = d.energised.to_vec();
        let mut flow = self.flow(&Drawing { latches, ..*d })?;
        // A chain of relays takes as many steps as it has links; one that chatters is left where it stands.
        for _ in 0..8 {
            let mut tripped = self.coils_move(d.params, &flow, &mut energised);
            // A breaker holds the second of a start: what a standing motor draws is left out.
            let standing = d.at_slip.is_none() && !d.overload_open && flow.compressor_amps > 0.1;
            let judged = if standing {
                self.flow(&Drawing { latches, energised: &energised, overload_open: true, ..*d })?
            } else {
                flow.clone()
            };
            for part in self.too_much(d.params, &judged, latches) {
                latches.tripped[part.0] = true;
                tripped = true;
            }
            if !tripped {
                break;
            }
            flow = self.flow(&Drawing { latches, energised: &energised, ..*d })?;
        }
        Some(flow)
    }

    /// Fuses and breakers through which a flow sends more than they hold.
    pub(crate) fn too_much(&self, params: &[f64], flow: &Flow, latches: &Latches) -> Vec<PartIx> {
        let over = |part: &PartIx| {
            let Role::OverCurrent { amps, carries, earth_amps, .. } = self.role(*part) else { return false };
            let most = self.machine.branches_of(*part).map(|(ix, _)| flow.branch_amps[ix.0]).fold(0.0, f64::max);
            // Twenty per cent over its rating opens it within the hour.
            let to_earth = earth_amps.is_some_and(|limit| flow.residual_amps > limit);
            let worn = carries.is_some_and(|(times, load)| most > params[times.0] * load);
            !latches.tripped[part.0] && (to_earth || worn || most > 1.2 * params[amps.0])
        };
        let open: Vec<PartIx> = self.parts.over_current.iter().copied().filter(over).collect();
        // On a short a fuse is through before a breaker has moved.
        let fuse = |p: &PartIx| matches!(self.role(*p), Role::OverCurrent { resettable: false, .. });
        if open.iter().any(fuse) { open.into_iter().filter(fuse).collect() } else { open }
    }
}
