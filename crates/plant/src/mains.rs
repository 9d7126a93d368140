//! The mains circuit as a network, for a set of parameters, latches and energised relays.

use std::rc::Rc;

use halfsplit_circuit::motor::{AtSlip, Load, LoadShape, Motor, MotorSupply, WindingState};

use halfsplit_circuit::{Complex, CoupledPair, ElementId, FactoredAc, Network, Node, PairId};
use halfsplit_machine::{Branch, Drive, Net, PartIx, Role};

use crate::history::Latches;
use crate::memo::FlowKey;
use crate::sizing::is_split;
use crate::{MotorFit, Plant};

/// Joints better than this are no element of their own, ohm.
const GOOD_JOINT: f64 = 1e-3;

/// The network, and where to find things in it.
pub(crate) struct Grid {
    pub network: Network,
    pub(crate) nodes: Vec<Node>,
    /// Element of each branch, in the machine's order; the first of those that a branch makes.
    elements: Vec<Option<ElementId>>,
    motor: Option<PairId>,
    overload: Option<ElementId>,
    supply: Option<ElementId>,
    /// The other side of the supply.
    supply_return: Option<ElementId>,
}

/// How the mains circuit is to be drawn.
#[derive(Clone, Copy)]
pub(crate) struct Drawing<'a> {
    pub params: &'a [f64],
    pub latches: &'a Latches,
    /// For each part, whether its coil is energised (relays).
    pub energised: &'a [bool],
    /// Slip of the motor and what it is then; `None`: standing.
    pub at_slip: Option<(f64, &'a AtSlip)>,
    pub overload_open: bool,
    /// Isolated: no source, breaker open.
    pub dead: bool,
}

/// A solved mains circuit. Kept small, because thousands of them are kept: what a meter would do to it is worked out
/// again when asked for, from how it was drawn.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    /// Open-circuit RMS volts of each wire to earth; zero outside the mains.
    volts: Vec<Complex>,
    /// RMS amps in the supply conductor.
    pub supply_amps: f64,
    /// RMS amps that go out and do not come back: to earth.
    pub residual_amps: f64,
    /// RMS amps through each branch, in the machine's order; 0 for branches outside the mains.
    pub branch_amps: Vec<f64>,
    /// Watts in each branch.
    pub branch_watts: Vec<f64>,
    /// RMS amps in the compressor's common lead.
    pub compressor_amps: f64,
    key: FlowKey,
    drawn: Drawn,
}

/// How a flow was drawn, parameters apart.
#[derive(Debug, Clone)]
struct Drawn {
    latches: Latches,
    energised: Vec<bool>,
    at_slip: Option<(f64, AtSlip)>,
    overload_open: bool,
}

/// The network factored, for putting meters to it.
#[derive(Debug, Clone)]
pub(crate) struct Metered {
    factored: FactoredAc,
    nodes: Vec<Node>,
}

impl Plant {
    /// Draws the mains circuit.
    pub(crate) fn grid(&self, d: &Drawing<'_>) -> Grid {
        let m = &self.machine;
        let p = d.params;
        let mut network = Network::new();
        let mut nodes = vec![Node::EARTH; m.nets.len()];
        for (i, node) in nodes.iter_mut().enumerate() {
            if self.mains[i] && i != m.earth.0 {
                *node = network.add_node();
            }
        }
        let mut grid = Grid {
            network,
            nodes,
            elements: vec![None; m.branches.len()],
            motor: None,
            overload: None,
            supply: None,
            supply_return: None,
        };
        // A joint that has gone bad puts a node of its own between terminal and wire.
        let mut joints: Vec<((usize, usize), Node)> = Vec::new();
        for (i, (part, branch)) in m.branches.iter().enumerate() {
            let mut at = |g: &mut Grid, t: usize| -> Option<Node> {
                let net = self.net_of(*part, t)?;
                if !(self.mains[net] || net == m.earth.0) {
                    return None;
                }
                let joint = p[m.parts[part.0].terminals[t].joint.0];
                if joint <= GOOD_JOINT {
                    return Some(g.nodes[net]);
                }
                if let Some((_, n)) = joints.iter().find(|(key, _)| *key == (part.0, t)) {
                    return Some(*n);
                }
                let inner = g.network.add_node();
                g.network.resistor(inner, g.nodes[net], joint);
                joints.push(((part.0, t), inner));
                Some(inner)
            };
            match *branch {
                Branch::Resistor { a, b, ohms, reactance } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    // An open coil is open enough there.
                    let r = p[ohms.0].min(5e8);
                    let e = match reactance {
                        Some(x) => grid.network.impedance(na, nb, Complex::new(r, p[x.0]), r),
                        None => grid.network.resistor(na, nb, r),
                    };
                    grid.elements[i] = Some(e);
                }
                Branch::Working { a, b, ohms, work, reactance } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    let (r, own) = (p[ohms.0], Complex::new(p[ohms.0] + p[work.0], p[reactance.0]));
                    grid.elements[i] = Some(grid.network.impedance(na, nb, own, r));
                }
                Branch::Capacitor { a, b, farads, leak } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    grid.elements[i] = Some(grid.network.capacitor(na, nb, p[farads.0].max(1e-12)));
                    if p[leak.0] > 1e-8 {
                        grid.network.resistor(na, nb, 1.0 / p[leak.0]);
                    }
                }
                Branch::Contact { a, b, drive, stuck, ohms } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    let closed = self.contact_closed(*part, drive, p[stuck.0], d);
                    grid.elements[i] = Some(grid.network.switch(na, nb, closed, p[ohms.0].max(1e-4)));
                }
                Branch::Windings { c, r, s } => {
                    let (Some(nc), Some(mut nr), Some(mut ns)) = (at(&mut grid, c), at(&mut grid, r), at(&mut grid, s))
                    else {
                        continue;
                    };
                    let Some(fit) = &self.motor else { continue };
                    let Role::Compressor(role) = self.role(*part) else { continue };
                    if p[role.leads_exchanged.0] > 0.5 {
                        std::mem::swap(&mut nr, &mut ns);
                    }
                    let inner = grid.network.add_node();
                    let inside = self.parts.external_overload.is_none();
                    let open = inside && d.overload_open || p[role.overload_stuck.0] < -0.5;
                    let closed_ohms = 0.05 + p[role.common_joint.0];
                    grid.overload = Some(grid.network.switch(nc, inner, !open, closed_ohms));
                    let standing;
                    let coupling = match d.at_slip {
                        Some((_, s)) => s.coupled_pair(),
                        None => {
                            standing = self.motor_now(fit, p).at_slip(1.0);
                            standing.coupled_pair()
                        }
                    };
                    grid.motor = Some(grid.network.two_winding_motor(nr, ns, inner, coupling));
                }
                Branch::EarthLeak { a, siemens } => {
                    if let Some(na) = at(&mut grid, a) {
                        grid.network.leak_to_earth(na, 1.0 / p[siemens.0].max(1e-12));
                    }
                }
                Branch::Mains { a, b, share, volts, ohms, .. } => {
                    if d.dead {
                        continue;
                    }
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    let (v, r) = (p[volts.0], p[ohms.0].max(1e-4) / 2.0);
                    grid.supply = Some(grid.network.ac_source(na, Node::EARTH, Complex::real(v * share), r));
                    grid.supply_return =
                        Some(grid.network.ac_source(Node::EARTH, nb, Complex::real(v * (1.0 - share)), r));
                }
                Branch::Transformer { first, second, volts, first_ohms, second_ohms } => {
                    let ends = [first.0, first.1, second.0, second.1].map(|t| at(&mut grid, t));
                    let [Some(a), Some(b), Some(x), Some(y)] = ends else { continue };
                    let ohms = [p[first_ohms.0], p[second_ohms.0]];
                    // Leakage as much as the resistances, a magnetising current of a few per cent. Judgement.
                    let sound = [m.params[first_ohms.0].nominal, m.params[second_ohms.0].nominal];
                    let coupling = CoupledPair::transformer(volts, ohms, sound, 150.0 * sound[0]);
                    grid.network.coupled_pair((a, b), (x, y), coupling);
                }
                Branch::HeatsUp { a, b, cold, hot } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    let ohms = if d.energised[part.0] { p[cold.0].max(hot) } else { p[cold.0] };
                    grid.elements[i] = Some(grid.network.resistor(na, nb, ohms));
                }
                Branch::Draw { a, b, ohms } => {
                    let (Some(na), Some(nb)) = (at(&mut grid, a), at(&mut grid, b)) else { continue };
                    grid.elements[i] = Some(grid.network.resistor(na, nb, p[ohms.0].max(1e-3)));
                }
                Branch::Rail { .. } | Branch::Thermistor { .. } | Branch::Diode { .. } | Branch::Star { .. } => {}
            }
        }
        grid
    }

    /// Whether a contact is closed.
    pub(crate) fn contact_closed(&self, part: PartIx, drive: Drive, stuck: f64, d: &Drawing<'_>) -> bool {
        if stuck > 0.5 {
            return true;
        }
        if stuck < -0.5 {
            return false;
        }
        match drive {
            Drive::Protective => {
                let isolated = d.dead && matches!(self.role(part), Role::OverCurrent { resettable: true, .. });
                !d.latches.tripped[part.0] && !isolated
            }
            Drive::Relay => d.energised[part.0],
            Drive::Released => !d.energised[part.0],
            Drive::Overload => !d.overload_open,
            Drive::Float => !self.float_up(d.params),
            // There only while its parameter says so.
            Drive::Link => false,
        }
    }

    /// The compressor's motor with the windings that the parameters describe.
    pub(crate) fn motor_now(&self, fit: &MotorFit, p: &[f64]) -> Motor {
        let mut motor = fit.fitted.motor;
        let Some(Role::Compressor(c)) = self.parts.compressor.map(|x| self.role(x)) else { return motor };
        let turns = p[c.run_turns.0];
        // The ohms parameter already contains what shorted turns take away.
        motor.main.ohms = p[c.run_ohms.0] / turns.max(0.05);
        motor.aux.ohms = p[c.start_ohms.0];
        if motor.main.ohms > 1e5 {
            motor.main.state = WindingState::Open;
        } else if turns < 0.999 {
            motor.main.state = WindingState::ShortedTurns { fraction: 1.0 - turns };
        }
        if motor.aux.ohms > 1e5 {
            motor.aux.state = WindingState::Open;
        }
        motor
    }

    /// All that the flow of a drawing depends on.
    pub(crate) fn flow_key(&self, d: &Drawing<'_>) -> FlowKey {
        let bits =
            |list: &[bool]| list.iter().enumerate().fold(0_u64, |b, (i, on)| if *on { b | 1 << (i % 64) } else { b });
        FlowKey {
            circuit: self.memo.circuit(d.params, &self.electrical),
            energised: bits(d.energised),
            tripped: bits(&d.latches.tripped),
            slip: d.at_slip.map(|(slip, _)| slip.to_bits()),
            overload_open: d.overload_open,
        }
    }

    /// Draws and solves. `None` only if the network has no solution, which positive stray leakage excludes.
    pub(crate) fn flow(&self, d: &Drawing<'_>) -> Option<Rc<Flow>> {
        let key = self.flow_key(d);
        self.memo.flow(key, || self.solve(d, key).map(Rc::new))
    }

    fn solve(&self, d: &Drawing<'_>, key: FlowKey) -> Option<Flow> {
        let grid = self.grid(d);
        let factored = grid.network.factor_ac(self.machine.sheet.nameplate.hertz).ok()?;
        let s = factored.solution();
        let amps = |e: Option<ElementId>| e.map_or(0.0, |e| s.current(e).abs());
        Some(Flow {
            volts: grid.nodes.iter().map(|n| factored.voltage(*n, Node::EARTH)).collect(),
            supply_amps: amps(grid.supply),
            residual_amps: match (grid.supply, grid.supply_return) {
                (Some(a), Some(b)) => (s.current(a) - s.current(b)).abs(),
                _ => 0.0,
            },
            branch_amps: grid.elements.iter().map(|e| amps(*e)).collect(),
            branch_watts: grid.elements.iter().map(|e| e.map_or(0.0, |e| s.power(e).re)).collect(),
            compressor_amps: amps(grid.overload),
            key,
            drawn: Drawn {
                latches: d.latches.clone(),
                energised: d.energised.to_vec(),
                at_slip: d.at_slip.map(|(slip, at)| (slip, *at)),
                overload_open: d.overload_open,
            },
        })
    }

    /// What a voltmeter of 10 megohm shows between two wires of a flow, V RMS, and how far that is a ghost (0 to 1).
    /// `None` if the network has no solution.
    pub(crate) fn metered_volts(&self, params: &[f64], flow: &Flow, a: Net, b: Net) -> Option<(f64, f64)> {
        let hz = self.machine.sheet.nameplate.hertz;
        let m = self.memo.metered(flow.key, || {
            let d = &flow.drawn;
            let grid = self.grid(&Drawing {
                params,
                latches: &d.latches,
                energised: &d.energised,
                at_slip: d.at_slip.as_ref().map(|(slip, at)| (*slip, at)),
                overload_open: d.overload_open,
                dead: false,
            });
            let factored = grid.network.factor_ac(hz).ok()?;
            Some(Rc::new(Metered { factored, nodes: grid.nodes }))
        })?;
        let seen = m.factored.thevenin(m.nodes[a.0], m.nodes[b.0]);
        let load = Complex::new(1.0 / self.meter.input_ohms, std::f64::consts::TAU * hz * self.meter.input_farads)
            .reciprocal();
        let shown = (seen.volts * (load / (seen.ohms + load))).abs();
        let ghost = (seen.ohms.abs() / (seen.ohms.abs() + 100e3)).min(1.0);
        Some((shown, ghost))
    }

    /// Load torques of the compressor: `share` is its running torque against the rated one; `free` is 0 when seized.
    pub(crate) fn compressor_load(&self, fit: &MotorFit, share: f64, free: f64) -> Load {
        let rated = fit.fitted.rated.torque;
        // Judgement: a scroll comes up to speed before it compresses, and needs no start aid where none is fitted. Where one is,
        // somebody had a reason.
        let eased = self.parts.start_devices.is_empty() && is_split(&self.machine);
        Load {
            // Judgement: an equalised compressor breaks away at half of what a good start can give.
            breakaway: if free < 0.5 { f64::INFINITY } else { 0.5 * fit.fitted.starting_torque / free },
            running_up: if eased { 0.15 } else { 0.3 } * rated / free.max(0.5),
            running: share * rated,
            shape: LoadShape::Constant,
        }
    }
}

impl MotorFit {
    /// Torque against the rated one at which the motor draws so many watts on its rated supply.
    pub(crate) fn torque_share(&self, watts: f64) -> f64 {
        (watts - self.idle_watts) / (self.fitted.rated.watts - self.idle_watts)
    }
}

impl Grid {
    /// What the network is to the compressor's windings; `None` if there are none.
    pub(crate) fn motor_supply(&self, hertz: f64) -> Option<MotorSupply> {
        MotorSupply::of_network(&self.network, self.motor?, hertz).ok()
    }
}

impl Flow {
    /// Open-circuit RMS volts of a wire to earth, real and imaginary.
    pub(crate) fn volts_of(&self, net: usize) -> (f64, f64) {
        (self.volts[net].re, self.volts[net].im)
    }

    /// What was tripped.
    pub(crate) fn latches(&self) -> &Latches {
        &self.drawn.latches
    }

    /// For each part, whether its coil or start device was energised.
    pub(crate) fn energised(&self) -> &[bool] {
        &self.drawn.energised
    }

    /// Open-circuit RMS volts between two wires.
    pub(crate) fn open_volts(&self, a: Net, b: Net) -> f64 {
        (self.volts[a.0] - self.volts[b.0]).abs()
    }
}
