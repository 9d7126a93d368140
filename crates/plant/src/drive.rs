//! An inverter machine: bus, boards on both sides of a line, module and permanent-magnet compressor, phase by phase.
//!
//! The mains circuit is solved as for every machine; what the power stage draws from it is put in as a resistance, and
//! what the bus does behind the rectifier comes from [`halfsplit_circuit::drive`]. Figures without a source are judgement.

use halfsplit_circuit::drive::{
    Bridge, BusCapacitor, Fed, Junction, Line, PmMotor, Rectifier, Seen, earth_amps, imbalance,
};
use halfsplit_machine::sheet::{ValveCommand, Watch};
use halfsplit_machine::test::{Spot, Test};
use halfsplit_machine::{AirSide, Branch, Conditions, Detection, Machine, PartIx, PmCompressor, Role};
use halfsplit_refrigeration::LoopPoint;

use crate::Plant;
use crate::air::Air;
use crate::control::Control;
use crate::history::Latches;
use crate::mains::Drawing;
use crate::operate::{CompressorDoes, Fired, Phase, Scene, Timeline, Visit};
use crate::sensing::{Temperatures, Water};

/// Power that the outdoor unit takes with nothing running, W.
const IDLE_WATTS: f64 = 20.0;
/// Ohms that a power stage with a short in it is to the mains.
const SHORT_OHMS: f64 = 0.15;
/// Mains, filter and rectifier in series with the bus's charging current, ohm.
const SERIES_OHMS: f64 = 0.4;
/// Share of the electrical power that the module passes on.
const MODULE_EFFICIENCY: f64 = 0.95;
/// Share of the motor's power that its shaft gives.
const SHAFT: f64 = 0.90;
/// Power factor with the power-factor stage at work.
const POWER_FACTOR: f64 = 0.98;
/// Speeds that the board tries from the top, as fractions of the rated one.
const SPEEDS: [f64; 5] = [1.0, 0.8, 0.6, 0.45, 0.3];
/// Speed at which a start is held.
const START_SPEED: f64 = 0.45;
/// Windings this uneven are more than the module's current sensing lets through.
const UNEVEN: f64 = 0.12;
/// The board slows down when current is this much above the rated point's.
const SLOWS_ABOVE: f64 = 1.6;
/// Time for which the capacitor alone carries a step of the load, s.
const STEP_SECONDS: f64 = 0.010;
/// The board slows down so many kelvin before a limit of discharge or heat sink.
const SOFT_KELVIN: f64 = 6.0;
/// Heat sink above outdoor air at rated power, K.
const SINK_RISE: f64 = 28.0;
/// Boards and relays work above this share of their rated low voltage.
const RAIL_WORKS: f64 = 0.75;
/// A supply that gives in tries again and again: share of the time that it is on.
const HICCUP: f64 = 0.3;
/// Joints worse than this are no connection, ohm.
const LOOSE_JOINT: f64 = 1e3;

/// Where to find the parts of an inverter.
#[derive(Debug, Clone)]
pub(crate) struct DriveParts {
    pub rectifier: PartIx,
    pub bus: PartIx,
    pub module: PartIx,
    pub compressor: PartIx,
    pub supply: PartIx,
    pub board: PartIx,
    pub inrush: Option<PartIx>,
    pub lift: Option<PartIx>,
    pub line: Option<PartIx>,
    pub fans: Vec<PartIx>,
}

/// What a phase is asked for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Asked<'a> {
    pub name: &'a str,
    pub on: &'a [PartIx],
    pub valve: ValveCommand,
    pub starts: f64,
    pub lasts: f64,
}

impl Asked<'_> {
    /// Nothing commanded.
    pub(crate) const NOTHING: Asked<'static> =
        Asked { name: "at rest", on: &[], valve: ValveCommand::Shut, starts: 0.0, lasts: f64::INFINITY };
}

/// What the compressor does for the module.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Turn {
    /// Not asked for.
    Rests,
    /// Runs at a share of its rated speed.
    Runs(f64),
    /// The module shuts itself off for too much current.
    TooMuch,
    /// A phase carries nothing.
    PhaseLost,
    /// The bus falls away under it.
    BusFalls,
}

/// What the inverter does in a phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Driven {
    /// Bus, mean volts.
    pub bus: f64,
    /// Lowest bus voltage that the board meets, V.
    pub least: f64,
    /// Share of the outdoor low voltages that is there.
    pub rails: f64,
    /// The indoor board runs.
    pub indoor: bool,
    /// Its fan gets its supply.
    pub indoor_fed: bool,
    /// What the line between the units shows.
    pub line: Seen,
    /// The units understand each other.
    pub talks: bool,
    /// The compressor.
    pub turn: Turn,
    /// Phase current, A RMS.
    pub phase_amps: f64,
    /// Heat sink, K.
    pub sink: f64,
    /// What the rectifier is to the mains, ohm.
    draws: f64,
    /// What bypasses the inrush resistor, ohm.
    path: f64,
}

impl DriveParts {
    /// The parts, if the machine has an inverter.
    pub(crate) fn of(m: &Machine) -> Option<DriveParts> {
        Some(DriveParts {
            rectifier: m.find(|r| matches!(r, Role::Rectifier { .. }))?,
            bus: m.find(|r| matches!(r, Role::BusCapacitor { .. }))?,
            module: m.find(|r| matches!(r, Role::PowerModule { .. }))?,
            compressor: m.find(|r| matches!(r, Role::PmCompressor(_)))?,
            supply: m.find(|r| matches!(r, Role::BusSupply { .. }))?,
            board: m.find(|r| matches!(r, Role::OutdoorBoard { .. }))?,
            inrush: m.find(|r| matches!(r, Role::Inrush { .. })),
            lift: m.find(|r| matches!(r, Role::PowerFactorStage { .. })),
            line: m.find(|r| matches!(r, Role::InterunitLine { .. })),
            fans: (0..m.parts.len()).map(PartIx).filter(|p| matches!(m.parts[p.0].role, Role::DcFan { .. })).collect(),
        })
    }
}

/// A junction as its parameter describes it.
pub(crate) fn junction(state: f64) -> Junction {
    match state {
        s if s > 0.5 => Junction::Shorted,
        s if s < -0.5 => Junction::Open,
        _ => Junction::Sound,
    }
}

impl Plant {
    /// The parameters with what the power stage draws put in.
    pub(crate) fn drawn(&self, params: &[f64], driven: &Driven) -> Vec<f64> {
        let mut p = params.to_vec();
        let Some(parts) = &self.drive else { return p };
        if let Role::Rectifier { draws, .. } = self.role(parts.rectifier) {
            p[draws.0] = driven.draws;
        }
        if let Some(Role::Inrush { path, .. }) = parts.inrush.map(|x| self.role(x)) {
            p[path.0] = driven.path;
        }
        p
    }

    /// Whether all joints of a part hold.
    fn joined(&self, p: &[f64], part: PartIx) -> bool {
        self.machine.parts[part.0].terminals.iter().all(|t| p[t.joint.0] < LOOSE_JOINT)
    }

    /// Whether something joins the two sides of the bus, or of the rectifier.
    fn power_stage_shorted(&self, parts: &DriveParts, p: &[f64]) -> bool {
        let bridge = match self.role(parts.rectifier) {
            Role::Rectifier { diodes, .. } => diodes.iter().any(|d| p[d.0] > 0.5),
            _ => false,
        };
        let capacitor = matches!(self.role(parts.bus), Role::BusCapacitor { leak, .. } if p[leak.0] > 1.0);
        let through = match self.role(parts.module) {
            Role::PowerModule { diodes, .. } => (0..3).any(|k| p[diodes[k].0] > 0.5 && p[diodes[k + 3].0] > 0.5),
            _ => false,
        };
        let lift = matches!(
            parts.lift.map(|x| self.role(x)),
            Some(Role::PowerFactorStage { shorted, .. }) if p[shorted.0] > 0.5
        );
        bridge || capacitor || through || lift
    }

    fn rectifier(&self, parts: &DriveParts, p: &[f64], volts: f64, path: f64) -> Rectifier {
        let (diodes, farads, series_ohms) = match (self.role(parts.rectifier), self.role(parts.bus)) {
            (Role::Rectifier { diodes, .. }, Role::BusCapacitor { farads, series_ohms, .. }) => {
                (diodes.map(|d| junction(p[d.0])), p[farads.0], p[series_ohms.0])
            }
            _ => ([Junction::Sound; 4], 1e-3, 0.05),
        };
        Rectifier {
            volts,
            hertz: self.machine.sheet.nameplate.hertz,
            ohms: SERIES_OHMS + path,
            bridge: Bridge {
                upper_first: diodes[0],
                upper_second: diodes[1],
                lower_first: diodes[2],
                lower_second: diodes[3],
            },
            capacitor: BusCapacitor { farads, series_ohms },
        }
    }

    /// Share of the outdoor low voltages on a bus.
    fn outdoor_rails(&self, parts: &DriveParts, p: &[f64], bus: f64) -> f64 {
        let Role::BusSupply { works, needs, gives } = self.role(parts.supply) else { return 0.0 };
        if bus < *needs { 0.0 } else { p[works.0] * self.rail_share(p, parts.supply, *gives) }
    }

    /// What a supply that gives so many amps keeps of its volts under what fans take from it: all, or next to nothing.
    pub(crate) fn rail_share(&self, p: &[f64], supply: PartIx, gives: f64) -> f64 {
        let Some(parts) = &self.drive else { return 1.0 };
        let rails = self.machine.branches_of(supply).filter_map(|(_, b)| match *b {
            Branch::Rail { plus, volts, .. } => self.net_of(supply, plus).map(|n| (n, volts)),
            _ => None,
        });
        let keeps = |(net, volts): (usize, f64)| {
            let siemens: f64 = parts
                .fans
                .iter()
                .filter(|f| self.joined(p, **f))
                .flat_map(|f| self.machine.branches_of(*f).map(move |(_, b)| (*f, b)))
                .filter_map(|(f, b)| match *b {
                    Branch::Resistor { a, ohms, .. } if self.net_of(f, a) == Some(net) => {
                        Some(1.0 / p[ohms.0].max(1e-3))
                    }
                    _ => None,
                })
                .sum();
            let most = gives / siemens.max(1e-9);
            if most < 0.9 * volts { HICCUP * most / volts } else { 1.0 }
        };
        rails.map(keeps).fold(1.0, f64::min)
    }

    /// The line between the units.
    fn line(&self, parts: &DriveParts, p: &[f64], outdoor: bool, rails: f64, indoor: bool) -> (Seen, bool) {
        let Some((part, Role::InterunitLine { core, fault })) = parts.line.map(|x| (x, self.role(x))) else {
            return (Seen::Wobbles, outdoor && indoor);
        };
        let port = match self.role(parts.board) {
            Role::OutdoorBoard { port, .. } => p[port.0] > 0.5,
            _ => true,
        };
        let far = self.parts.board.is_none_or(|b| {
            self.machine.params.iter().position(|q| q.part == b && q.name == "port").is_none_or(|i| p[i] > 0.5)
        });
        let joints: f64 =
            self.machine.parts[part.0].terminals.iter().filter(|t| t.name.starts_with('S')).map(|t| p[t.joint.0]).sum();
        let line = Line {
            volts: if rails >= RAIL_WORKS && port { 48.0 } else { 0.0 },
            feed_ohms: 2_000.0,
            core_ohms: p[core.0] + joints,
            fault_ohms: p[fault.0],
            near_talks: outdoor && port,
            far_answers: indoor && far,
        };
        (line.seen(), line.works())
    }

    /// What a fan moves of what it should, if it is told to and has its supplies.
    fn dc_fan_moves(&self, p: &[f64], fan: PartIx, told: bool) -> f64 {
        let Role::DcFan { flow, free, runs, .. } = self.role(fan) else { return 0.0 };
        if told && p[runs.0] > 0.5 && p[free.0] > 0.1 && self.joined(p, fan) { p[flow.0].max(0.0) } else { 0.0 }
    }

    /// One phase: `None` only if the mains circuit has no solution. Opens in `latches` what trips.
    pub(crate) fn drive_phase(
        &self,
        parts: &DriveParts,
        params: &[f64],
        visit: &Visit,
        latches: &mut Latches,
        asked: Asked<'_>,
        water: Water,
    ) -> Option<(Phase, Control)> {
        let c = &visit.conditions;
        let shorted = self.power_stage_shorted(parts, params);
        let bypassed = match parts.inrush.map(|x| self.role(x)) {
            Some(Role::Inrush { bypasses, .. }) => params[bypasses.0] > 0.5,
            _ => true,
        };
        let volts = self.machine.sheet.nameplate.volts;
        let mut driven = Driven {
            bus: 0.0,
            least: 0.0,
            rails: 0.0,
            indoor: false,
            indoor_fed: false,
            line: Seen::Silent,
            talks: false,
            turn: Turn::Rests,
            phase_amps: 0.0,
            sink: c.outdoor.unwrap_or(293.15),
            draws: if shorted { SHORT_OHMS } else { volts * volts / IDLE_WATTS },
            // What shorts does so in running, the relay closed.
            path: if bypassed { 0.02 } else { 1e9 },
        };
        let mut energised = vec![false; self.machine.parts.len()];
        let p = self.drawn(params, &driven);
        let mut flow = self.settle(&still(&p, &latches.clone(), &energised), latches)?;
        let control = self.control(params, &flow);
        driven.indoor = control.alive;
        driven.indoor_fed = control.alive && control.rails >= RAIL_WORKS;
        let fed = self.rectifier_volts(parts, &flow);
        let resistor = match parts.inrush.map(|x| self.role(x)) {
            Some(Role::Inrush { resistor, .. }) => params[resistor.0],
            _ => 0.0,
        };
        let through = parts.lift.is_none_or(|x| self.joined(params, x)) && self.joined(params, parts.rectifier);
        // A bus comes up through the resistor; only then does the relay bypass it.
        let comes_up = through && !shorted && resistor < 1e4;
        let path = if bypassed { 0.0 } else { resistor };
        let idle = match self.memo.bus(&self.rectifier(parts, params, fed, path), IDLE_WATTS) {
            Fed::Settles(bus) if comes_up => bus,
            _ => halfsplit_circuit::drive::Bus::DEAD,
        };
        (driven.bus, driven.least) = (idle.mean, idle.least);
        driven.rails = self.outdoor_rails(parts, params, driven.bus);
        let alive = matches!(self.role(parts.board), Role::OutdoorBoard { alive, .. } if params[alive.0] > 0.5);
        let outdoor = alive && driven.rails >= RAIL_WORKS;
        (driven.line, driven.talks) = self.line(parts, params, outdoor, driven.rails, control.alive);
        let commands_outdoor = driven.talks && outdoor;
        for &part in asked.on {
            if let Role::Relay { driver } = self.role(part) {
                energised[part.0] = commands_outdoor && params[driver.0] > 0.5;
            }
        }
        let told = |side: Option<AirSide>| match side {
            Some(AirSide::Inside) => driven.indoor_fed,
            _ => commands_outdoor && driven.bus > 200.0,
        };
        let moved = |wanted: Option<AirSide>| {
            parts
                .fans
                .iter()
                .filter(|f| matches!(self.role(**f), Role::DcFan { side, .. } if *side == wanted))
                .map(|f| self.dc_fan_moves(params, *f, asked.on.contains(f) && told(wanted)))
                .fold(0.0, f64::max)
        };
        let has_sink_fan = parts.fans.iter().any(|f| matches!(self.role(*f), Role::DcFan { side: None, .. }));
        let sink_air = if has_sink_fan { moved(None) } else { 1.0 };
        let (inside, outside) = (moved(Some(AirSide::Inside)), moved(Some(AirSide::Outside)));
        if energised.iter().any(|e| *e) {
            flow = self.settle(&still(&p, &latches.clone(), &energised), latches)?;
        }
        let heats = self.heats(params, &flow);
        let (cold, warm) = if heats { (outside, inside) } else { (inside, outside) };
        let air = Air { cold, warm, heats, melts: false };
        let rest_point = self.loop_point(params, c, water, air, 0.0, asked.valve);
        let mut point = rest_point;
        let mut does = CompressorDoes::Silent;
        if asked.on.contains(&parts.compressor) && commands_outdoor {
            let job = Job { parts, params, conditions: c, water, air, valve: asked.valve, fed, path, sink_air };
            let ran = self.run_drive(&job, latches);
            driven.turn = ran.turn;
            driven.phase_amps = ran.phase_amps;
            driven.sink = ran.sink;
            match ran.turn {
                Turn::Runs(_) => {
                    (driven.bus, driven.least) = (ran.bus, ran.least);
                    driven.draws = fed / ran.mains_amps.max(1e-3);
                    point = ran.point;
                    does = CompressorDoes::Runs;
                }
                Turn::TooMuch | Turn::PhaseLost => does = CompressorDoes::Hums(1.0),
                Turn::BusFalls => {
                    driven.least = 0.0;
                    does = CompressorDoes::RunsThenStops(3.0);
                }
                Turn::Rests => {}
            }
            let p = self.drawn(params, &driven);
            flow = self.settle(&still(&p, &latches.clone(), &energised), latches)?;
            if ran.tripped {
                does = CompressorDoes::RunsThenStops(0.2);
            }
        }
        let phase = Phase {
            name: asked.name.into(),
            starts: asked.starts,
            lasts: asked.lasts,
            compressor: does,
            point,
            supply_amps: flow.supply_amps,
            flow,
            air,
            water,
            drive: Some(Box::new(driven)),
        };
        Some((phase, control))
    }

    /// Mains volts at the rectifier.
    fn rectifier_volts(&self, parts: &DriveParts, flow: &crate::mains::Flow) -> f64 {
        self.machine
            .branches_of(parts.rectifier)
            .find_map(|(_, b)| match *b {
                Branch::Draw { a, b, .. } => {
                    let net = |t: usize| self.machine.parts[parts.rectifier.0].terminals[t].net;
                    Some(flow.open_volts(net(a)?, net(b)?))
                }
                _ => None,
            })
            .unwrap_or(0.0)
    }

    /// Starts the compressor and finds the speed that the board lets it have.
    fn run_drive(&self, job: &Job<'_>, latches: &mut Latches) -> Ran {
        let Job { parts, params, conditions, fed, path, .. } = *job;
        let nothing = Ran {
            turn: Turn::Rests,
            point: self.loop_point(params, conditions, job.water, job.air, 0.0, job.valve),
            bus: 0.0,
            least: 0.0,
            mains_amps: 0.0,
            phase_amps: 0.0,
            sink: conditions.outdoor.unwrap_or(293.15),
            tripped: false,
        };
        let (Role::PmCompressor(motor), Role::PowerModule { diodes, driven, sensing, cooling, trips }) =
            (self.role(parts.compressor), self.role(parts.module))
        else {
            return nothing;
        };
        let stopped = |turn: Turn| Ran { turn, ..nothing.clone() };
        // To earth: the breaker sees it before the module does.
        let leak = earth_amps(fed, 1.0 / params[motor.earth.0].max(1e-12));
        let mut tripped = false;
        for &part in &self.parts.over_current {
            if let Role::OverCurrent { earth_amps: Some(limit), .. } = self.role(part)
                && leak > *limit
                && !latches.tripped[part.0]
            {
                latches.tripped[part.0] = true;
                tripped = true;
            }
        }
        if tripped || leak > *trips {
            return Ran { tripped, ..stopped(Turn::TooMuch) };
        }
        let whole = |part: PartIx, name: &str| {
            let lead = self.machine.parts[part.0].terminals.iter().find(|t| t.name == name);
            lead.is_none_or(|t| params[t.joint.0] < LOOSE_JOINT)
        };
        let connected = [0, 1, 2].map(|k| {
            let name = ["U", "V", "W"][k];
            params[motor.legs[k].0] < 1e4
                && params[driven[k].0] > 0.5
                && params[driven[k + 3].0] > 0.5
                && whole(parts.compressor, name)
                && whole(parts.module, name)
        });
        let legs = motor.legs.map(|l| params[l.0]);
        let currents = PmMotor::phase_currents(connected);
        let fitted = self.pm_motor(motor, params);
        let shorted = diodes.iter().any(|d| params[d.0] > 0.5);
        if shorted || params[sensing.0] >= 1.0 {
            return stopped(Turn::TooMuch);
        }
        if currents.lost_phase() || currents.none() {
            return stopped(Turn::PhaseLost);
        }
        if imbalance(&PmMotor { leg_ohms: legs, ..fitted }.pair_ohms()) > UNEVEN || params[motor.free.0] < 0.5 {
            return stopped(Turn::TooMuch);
        }
        let sound: Vec<f64> = self.machine.params.iter().map(|q| q.nominal).collect();
        let rated = self.machine_loop.usual.heat / 4.0;
        let usual_amps = self.pm_motor(motor, &sound).at(SHAFT * rated / speed_of(motor, 1.0), motor.rated_rpm).amps;
        // With half of the waves missing the stage has nothing to hold on to.
        let half_wave = matches!(self.role(parts.rectifier), Role::Rectifier { diodes, .. } if diodes.iter().any(|d| params[d.0] < -0.5));
        let lifts = !half_wave
            && matches!(
                parts.lift.map(|x| self.role(x)),
                Some(Role::PowerFactorStage { works, .. }) if params[works.0] > 0.5
            );
        let holds = match parts.lift.map(|x| self.role(x)) {
            Some(Role::PowerFactorStage { holds, .. }) => *holds,
            _ => 0.0,
        };
        let speeds: &[f64] = if job.valve == ValveCommand::HoldSuperheat { &SPEEDS } else { &[START_SPEED] };
        let mut last = stopped(Turn::TooMuch);
        for &speed in speeds {
            let point = self.loop_point(params, conditions, job.water, job.air, speed, job.valve);
            let torque = SHAFT * point.compressor_power / speed_of(motor, speed);
            let at = fitted.at(torque, speed * motor.rated_rpm);
            // Copper heat beyond the sound motor's is on top of what the loop reckons with.
            let watts = (point.compressor_power + at.copper_watts) / MODULE_EFFICIENCY + IDLE_WATTS;
            let Fed::Settles(bus) = self.memo.bus(&self.rectifier(parts, params, fed, path), watts) else {
                last = stopped(Turn::BusFalls);
                continue;
            };
            let (mean, least, mains_amps) = if lifts {
                let farads = match self.role(parts.bus) {
                    Role::BusCapacitor { farads, .. } => params[farads.0],
                    _ => 1e-3,
                };
                let mean = holds.max(bus.mean);
                (mean, mean - watts * STEP_SECONDS / (farads * mean), watts / (POWER_FACTOR * fed.max(1.0)))
            } else {
                (bus.mean, bus.least, bus.amps)
            };
            if at.line_volts > PmMotor::most_volts(mean) {
                continue;
            }
            let outdoor = conditions.outdoor.unwrap_or(if job.air.heats { 280.15 } else { 305.15 });
            let outside = if job.air.heats { job.air.cold } else { job.air.warm };
            let carried = params[cooling.0] * (0.4 + 0.6 * job.sink_air) * (0.3 + 0.7 * outside);
            let sink = outdoor + SINK_RISE * (point.compressor_power / rated) / carried.max(0.05);
            last = Ran {
                turn: Turn::Runs(speed),
                point,
                bus: mean,
                least,
                mains_amps,
                phase_amps: at.amps,
                sink,
                tripped: false,
            };
            if at.amps > SLOWS_ABOVE * usual_amps {
                last.turn = Turn::TooMuch;
                continue;
            }
            if !self.near_a_limit(params, conditions, job, &last) {
                return last;
            }
        }
        last
    }

    /// Whether discharge or heat sink, as the board sees them, are close below a limit at which it would stop.
    fn near_a_limit(&self, params: &[f64], c: &Conditions, job: &Job<'_>, ran: &Ran) -> bool {
        let mut t: Temperatures = self.temperatures(&ran.point, c, job.water, job.air);
        t.set(Spot::HeatSink, ran.sink, 5.0);
        self.machine.detections.iter().filter(|d| d.watches == Watch::Temperature && d.while_on.is_some()).any(|d| {
            let (Some(part), Some(above)) = (d.part, d.above) else { return false };
            self.seen_kelvin(part, params, &t) > above - SOFT_KELVIN
        })
    }

    fn pm_motor(&self, motor: &PmCompressor, p: &[f64]) -> PmMotor {
        let per_second = motor.pole_pairs * speed_of(motor, 1000.0 / motor.rated_rpm);
        PmMotor {
            leg_ohms: motor.legs.map(|l| p[l.0]),
            henries: 8e-3,
            flux: p[motor.magnets.0] * motor.emf / (libm::sqrt(1.5) * per_second),
            pole_pairs: motor.pole_pairs,
        }
    }

    /// Whether a detection of the boards about the drive finds what it watches for.
    pub(crate) fn drive_detects(&self, params: &[f64], driven: &Driven, d: &Detection) -> bool {
        let passed = |v: f64| d.above.is_some_and(|a| v > a) || d.below.is_some_and(|b| v < b);
        match d.watches {
            Watch::Communication => driven.indoor && !driven.talks,
            Watch::Bus => driven.turn != Turn::Rests && driven.talks && passed(driven.least),
            Watch::ModuleCurrent => driven.turn == Turn::TooMuch,
            Watch::PhaseLoss => driven.turn == Turn::PhaseLost,
            Watch::FanSpeed => d.part.is_some_and(|fan| {
                let Role::DcFan { side, feedback, .. } = self.role(fan) else { return false };
                let (watched, fed) = match side {
                    Some(AirSide::Inside) => (driven.indoor, driven.indoor_fed),
                    _ => (driven.talks, driven.bus > 200.0),
                };
                watched && (params[feedback.0] < 0.5 || self.dc_fan_moves(params, fan, fed) <= 0.0)
            }),
            _ => false,
        }
    }

    /// Whether a fan is seen to turn in a phase of a test.
    pub(crate) fn dc_fan_seen(&self, params: &[f64], phase: &Phase, fan: PartIx, test: &Test) -> bool {
        let (Some(driven), Role::DcFan { side, .. }) = (&phase.drive, self.role(fan)) else { return false };
        let asked = test.command.is_some_and(|c| self.machine.commands[c.0].stages.iter().any(|s| s.on.contains(&fan)));
        let told = match side {
            Some(AirSide::Inside) => driven.indoor_fed,
            _ => driven.talks && driven.bus > 200.0,
        };
        self.dc_fan_moves(params, fan, asked && told) > 0.0
    }

    /// Whether what a sensor says gets to the display: outdoor ones come over the line.
    pub(crate) fn heard(&self, part: PartIx, phase: &Phase) -> bool {
        let Some(driven) = &phase.drive else { return true };
        let Role::Thermistor(s) = self.role(part) else { return true };
        let spot = Spot::ALL[(self.machine.params[s.spot.0].nominal as usize).min(Spot::COUNT - 1)];
        driven.talks || matches!(spot, Spot::RoomAir | Spot::IndoorCoil | Spot::SupplyAir)
    }

    /// Steps through the stages of a command.
    pub(crate) fn drive_through(&self, parts: &DriveParts, params: &[f64], scene: &Scene, command: usize) -> Timeline {
        let Scene { visit, water, .. } = scene;
        let mut latches = scene.latches.clone();
        let told = &self.machine.commands[command];
        let most_on = told.stages.iter().map(|s| s.on.len()).max().unwrap_or(0);
        let mut out = Timeline {
            phases: Vec::with_capacity(told.stages.len() + 1),
            fired: Vec::new(),
            given_up: None,
            start: told.stages.iter().position(|s| s.on.len() == most_on).unwrap_or(0),
            trips: Vec::new(),
        };
        let mut warmed = self.rest_temperatures(params, scene);
        let mut clock = 0.0;
        for stage in &told.stages {
            let before_trips = latches.tripped.clone();
            let asked =
                Asked { name: &stage.name, on: &stage.on, valve: stage.valve, starts: clock, lasts: stage.lasts };
            let Some((phase, control)) = self.drive_phase(parts, params, visit, &mut latches, asked, *water) else {
                break;
            };
            let opened: Vec<PartIx> = self
                .parts
                .over_current
                .iter()
                .copied()
                .filter(|x| latches.tripped[x.0] && !before_trips[x.0])
                .collect();
            let before = warmed;
            let settled = self.temperatures_in(&phase, &visit.conditions);
            warmed.approach(&settled, stage.lasts);
            let began = clock;
            clock += stage.lasts;
            let mut fired = if control.alive && !told.forced {
                self.detections_in(params, scene, &phase, &before, &stage.on)
            } else {
                Vec::new()
            };
            fired.sort_by(|a: &Fired, b: &Fired| a.after.total_cmp(&b.after));
            out.phases.push(phase);
            if !opened.is_empty() {
                out.trips.extend(opened);
                out.phases.extend(self.stopped(params, visit, &latches, *water, clock));
                break;
            }
            let stopping = fired.iter().copied().find(|f| self.stops(f.detection, command));
            if let Some(stop) = stopping {
                fired.retain(|f| f.after <= stop.after);
            }
            for f in fired {
                if !out.fired.contains(&f.detection) {
                    out.fired.push(f.detection);
                }
            }
            if let Some(f) = stopping {
                out.given_up = Some(self.give_up(f, began));
                out.phases.extend(self.stopped(params, visit, &latches, *water, clock));
                break;
            }
        }
        out
    }
}

/// Radians per second at a share of the rated speed.
fn speed_of(motor: &PmCompressor, share: f64) -> f64 {
    share * motor.rated_rpm * std::f64::consts::PI / 30.0
}

fn still<'a>(params: &'a [f64], latches: &'a Latches, energised: &'a [bool]) -> Drawing<'a> {
    Drawing { params, latches, energised, at_slip: None, overload_open: false, dead: false }
}

/// What a run of the drive needs to know.
#[derive(Clone, Copy)]
struct Job<'a> {
    parts: &'a DriveParts,
    params: &'a [f64],
    conditions: &'a Conditions,
    water: Water,
    air: Air,
    valve: ValveCommand,
    /// Mains volts at the rectifier.
    fed: f64,
    /// Inrush resistor still in the way, ohm.
    path: f64,
    sink_air: f64,
}

/// What a run of the drive came to.
#[derive(Clone)]
struct Ran {
    turn: Turn,
    point: LoopPoint,
    bus: f64,
    least: f64,
    mains_amps: f64,
    phase_amps: f64,
    sink: f64,
    tripped: bool,
}
