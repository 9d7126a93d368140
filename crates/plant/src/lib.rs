//! What a machine does, and what every meter and eye would see of it.
//!
//! [`Plant::operate`] is a pure function of the machine's parameters, the conditions and the state of the
//! visit. It returns an [`Operation`]: the state in which the visit finds the machine (a tripped cut-off is a
//! consequence of what went before, never an independent guess), and for each command a timeline of
//! phases. [`Plant::predict`] turns an operation into the distribution of one test's reading.
//!
//! Within a phase, in this order: electrical circuit → which loads run and how → refrigerant loop, water
//! and air → protections → sensors → what the board sees → which of its detections fire.
//!
//! The physics sees parameters only; it cannot know which fault it is computing. This crate knows no
//! probability of faults, no journal and no screen.

mod air;
mod control;
mod drive;
mod electrical;
mod history;
mod mains;
mod memo;
mod nearly;
mod operate;
mod predict;
mod sensing;
mod sizing;
mod starting;
mod switching;
mod thermal;
mod warming;

pub use electrical::Electrical;
pub use halfsplit_refrigeration::LoopPoint;
pub use halfsplit_refrigeration::tank::HeatUp;
pub use history::{Latches, Notices, Outcome};
pub use operate::{CompressorDoes, GivenUp, Operation, Phase, Timeline, Visit};
pub use predict::{Axis, Prediction, THERMOMETER, axis_of};
pub use sensing::{BELIEVABLE, Water};
pub use warming::SoundRun;

use halfsplit_circuit::meter::Meter;
use halfsplit_circuit::motor::{Duty, Fitted, Load, LoadShape, Motor, MotorSupply, Nameplate, RunCapacitor};
use halfsplit_circuit::overload::{Overload, OverloadRating};
use halfsplit_machine::{AirSide, Branch, Machine, PartIx, Role, TerminalRef};
use halfsplit_refrigeration::Machine as Loop;

/// A machine prepared for computing: what does not change with faults is worked out once.
#[derive(Debug, Clone)]
pub struct Plant {
    /// The machine.
    pub machine: Machine,
    pub(crate) meter: Meter,
    pub(crate) parts: Roles,
    pub(crate) motor: Option<MotorFit>,
    pub(crate) machine_loop: Loop,
    /// The loop in the direction in which it heats a room, where that is another than the other.
    pub(crate) heating_loop: Option<Loop>,
    /// Which wires belong to the mains circuit.
    pub(crate) mains: Vec<bool>,
    /// Parameters that the mains circuit depends on.
    pub(crate) electrical: Vec<usize>,
    /// For each part, its parameters.
    pub(crate) params_of: Vec<Vec<usize>>,
    /// Parameters that say of something outside the circuits: it drips; it mixes too cold.
    pub(crate) wet: Vec<usize>,
    pub(crate) tepid: Vec<usize>,
    pub(crate) memo: memo::Memo,
    /// The parts of an inverter, where the machine has one.
    pub(crate) drive: Option<drive::DriveParts>,
}

/// Where to find the parts that play a role.
#[derive(Debug, Clone, Default)]
pub(crate) struct Roles {
    pub compressor: Option<PartIx>,
    /// A compressor on a power module.
    pub drive_compressor: Option<PartIx>,
    /// The fan that moves the inside air.
    pub fan: Option<PartIx>,
    pub fans: Vec<PartIx>,
    pub coils: Vec<PartIx>,
    pub coil_driven: Vec<PartIx>,
    pub start_devices: Vec<PartIx>,
    pub external_overload: Option<PartIx>,
    pub valve: Option<PartIx>,
    pub reversing_valve: Option<PartIx>,
    pub board: Option<PartIx>,
    pub power_supply: Option<PartIx>,
    pub charge: Option<PartIx>,
    pub filter: Option<PartIx>,
    pub evaporator: Option<PartIx>,
    pub condenser: Option<PartIx>,
    pub settings: Option<PartIx>,
    pub tank: Option<PartIx>,
    pub drain: Option<PartIx>,
    pub elements: Vec<PartIx>,
    pub thermistors: Vec<PartIx>,
    pub over_current: Vec<PartIx>,
    pub cut_offs: Vec<PartIx>,
}

/// The compressor's motor as fitted to its nameplate, with its overload.
#[derive(Debug, Clone)]
pub(crate) struct MotorFit {
    pub fitted: Fitted,
    /// Watts that it would draw without load, by the straight line through half and full load. A motor's losses do not
    /// shrink with its load, so its torque is not in proportion to its watts.
    pub idle_watts: f64,
    pub overload: Overload,
}

/// Why a machine cannot be prepared for computing.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantError {
    /// What is wrong and what to do.
    pub message: String,
}

impl std::fmt::Display for PlantError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for PlantError {}

impl Plant {
    /// Prepares a machine.
    ///
    /// # Errors
    /// If the compressor's ratings fit no motor, saying which contradict each other.
    pub fn new(machine: Machine) -> Result<Plant, PlantError> {
        let mut parts = Roles::default();
        for (i, p) in machine.parts.iter().enumerate() {
            let ix = PartIx(i);
            match &p.role {
                Role::Compressor(_) => parts.compressor = Some(ix),
                Role::PmCompressor(_) => parts.drive_compressor = Some(ix),
                Role::Fan { side, .. } => {
                    parts.fans.push(ix);
                    if *side != AirSide::Outside {
                        parts.fan = Some(ix);
                    }
                }
                Role::Coil { .. } => parts.coils.push(ix),
                Role::CoilDriven { .. } => parts.coil_driven.push(ix),
                Role::StartDevice { .. } => parts.start_devices.push(ix),
                Role::ExternalOverload { .. } => parts.external_overload = Some(ix),
                Role::ExpansionValve { .. } => parts.valve = Some(ix),
                Role::ReversingValve { .. } => parts.reversing_valve = Some(ix),
                Role::Board { .. } => parts.board = Some(ix),
                Role::PowerSupply { .. } => parts.power_supply = Some(ix),
                Role::Charge { .. } => parts.charge = Some(ix),
                Role::Filter { .. } => parts.filter = Some(ix),
                Role::Evaporator { .. } => parts.evaporator = Some(ix),
                Role::Condenser { .. } => parts.condenser = Some(ix),
                Role::Settings { .. } => parts.settings = Some(ix),
                Role::Tank { .. } => parts.tank = Some(ix),
                Role::Drain { .. } => parts.drain = Some(ix),
                Role::Element { .. } => parts.elements.push(ix),
                Role::Thermistor(_) => parts.thermistors.push(ix),
                Role::OverCurrent { .. } => parts.over_current.push(ix),
                Role::CutOff { .. } => parts.cut_offs.push(ix),
                _ => {}
            }
        }
        let motor = parts.compressor.map(|c| fit_motor(&machine, c)).transpose()?;
        let machine_loop = sizing::size_loop(&machine, false)?;
        let heating_loop = parts.reversing_valve.map(|_| sizing::size_loop(&machine, true)).transpose()?;
        let mains = machine.mains_nets();
        Ok(Plant {
            meter: Meter::common_practice(),
            parts,
            motor,
            machine_loop,
            heating_loop,
            mains,
            electrical: electrical_params(&machine),
            params_of: (0..machine.parts.len())
                .map(|part| (0..machine.params.len()).filter(|i| machine.params[*i].part.0 == part).collect())
                .collect(),
            wet: named(&machine, "wet"),
            tepid: named(&machine, "tepid"),
            memo: memo::Memo::default(),
            drive: drive::DriveParts::of(&machine),
            machine,
        })
    }

    pub(crate) fn role(&self, part: PartIx) -> &Role {
        &self.machine.parts[part.0].role
    }

    /// The net of a terminal, as an index.
    pub(crate) fn net_of(&self, part: PartIx, terminal: usize) -> Option<usize> {
        self.machine.net(TerminalRef { part, terminal }).map(|n| n.0)
    }
}

/// Parameters of this name, of whatever part.
fn named(machine: &Machine, name: &str) -> Vec<usize> {
    (0..machine.params.len()).filter(|i| machine.params[*i].name == name).collect()
}

/// Parameters that [`Plant::grid`] reads: everything of a part that has a branch other than a thermistor or a rail.
fn electrical_params(machine: &Machine) -> Vec<usize> {
    let in_mains = |part: PartIx| {
        machine.branches_of(part).any(|(_, b)| !matches!(b, Branch::Thermistor { .. } | Branch::Rail { .. }))
    };
    (0..machine.params.len()).filter(|i| in_mains(machine.params[*i].part)).collect()
}

/// Overload settings that a sheet does not give. Judgement: opens at 120 °C, closes at 70 °C, carries 1.35
/// times rated current on a shell of 90 °C, opens after 7 s at locked-rotor current from cold.
fn fit_motor(machine: &Machine, part: PartIx) -> Result<MotorFit, PlantError> {
    let p = &machine.parts[part.0];
    let Role::Compressor(c) = &p.role else {
        return Err(PlantError { message: format!("part {} is no compressor", p.id) });
    };
    let nominal = |ix: halfsplit_machine::ParamIx| machine.params[ix.0].nominal;
    let fitted = Motor::from_nameplate(&Nameplate {
        volts: machine.sheet.nameplate.volts,
        hz: machine.sheet.nameplate.hertz,
        rated_amps: c.rated_a,
        locked_amps: Some(c.locked_a),
        main_ohms: Some(nominal(c.run_ohms)),
        aux_ohms: Some(nominal(c.start_ohms)),
        capacitor: if c.capacitor > 0.0 { RunCapacitor::Farads(c.capacitor) } else { RunCapacitor::None },
        poles: c.poles,
        duty: Duty::Compressor,
    })
    .map_err(|e| PlantError { message: format!("part {}: no motor fits its ratings: {e}", p.id) })?;
    let (volts, hertz) = (machine.sheet.nameplate.volts, machine.sheet.nameplate.hertz);
    let supply = MotorSupply::ideal(volts, fitted.capacitor, hertz);
    let half = 0.5 * fitted.rated.torque;
    let load = Load { breakaway: 0.0, running_up: half, running: half, shape: LoadShape::Constant };
    let settled = fitted.motor.settle(&supply, &load, fitted.rated.slip);
    let [main, aux] = supply.currents(&fitted.motor.at_slip(settled.slip));
    let idle_watts = 2.0 * volts * (main + aux).re - fitted.rated.watts;
    let overload = Overload::calibrated(&OverloadRating {
        opens_at: 393.15,
        closes_at: 343.15,
        carries: (1.35 * c.rated_a, 363.15),
        trips: (c.locked_a, 298.15, 7.0),
        cooling: 600.0,
    })
    .map_err(|e| PlantError { message: format!("part {}: {e}", p.id) })?;
    Ok(MotorFit { fitted, idle_watts, overload })
}
