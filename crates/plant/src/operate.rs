//! Operation as a timeline of phases, stepped from event to event.

use std::cell::OnceCell;
use std::rc::Rc;

use halfsplit_circuit::motor::Outcome as MotorOutcome;
use halfsplit_machine::sheet::{CallsFor, Response, Watch};
use halfsplit_machine::test::Spot;
use halfsplit_machine::{Conditions, Detection, PartIx, Role};
use halfsplit_refrigeration::LoopPoint;

use crate::Plant;
use crate::air::Air;
use crate::control::Control;
use crate::drive::{Asked, Driven};
use crate::history::{Latches, Notices, Outcome};
use crate::mains::{Drawing, Flow};
use crate::sensing::{BELIEVABLE, LAG, Seen, Temperatures, Water};

/// Seconds of running after which pressures beyond a switch's limit have opened it. Judgement.
const UNTIL_A_SWITCH_OPENS: f64 = 90.0;

/// What the visit brings with it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Visit {
    /// Conditions of the day.
    pub conditions: Conditions,
    /// Somebody has reset what had tripped and cleared what was stored.
    pub reset: bool,
}

/// What the compressor does in a phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CompressorDoes {
    /// No current.
    Silent,
    /// Locked at high current until its overload opens, after so many seconds.
    Hums(f64),
    /// Runs.
    Runs,
    /// Runs until its overload opens, after so many seconds.
    RunsThenStops(f64),
}

/// One phase of operation, quasi-steady.
#[derive(Debug, Clone)]
pub struct Phase {
    /// Name of the stage that it belongs to.
    pub name: String,
    /// Seconds since the command.
    pub starts: f64,
    /// Seconds that it lasts.
    pub lasts: f64,
    /// What the compressor does.
    pub compressor: CompressorDoes,
    /// Operating point of the loop.
    pub point: LoopPoint,
    /// Amps in the supply conductor.
    pub supply_amps: f64,
    pub(crate) flow: Rc<Flow>,
    pub(crate) air: Air,
    pub(crate) water: Water,
    /// What the inverter does, where there is one.
    pub(crate) drive: Option<Box<Driven>>,
}

/// The board has tried as often as it does, and stores what it detected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GivenUp {
    /// The detection, by index.
    pub detection: usize,
    /// How often it tried.
    pub tries: u32,
    /// Seconds from the command to the last try's detection, waits between the tries included.
    pub after: f64,
}

/// What follows from a command.
#[derive(Debug, Clone)]
pub struct Timeline {
    /// Phases in order.
    pub phases: Vec<Phase>,
    /// Detections that fire, by index, in order.
    pub fired: Vec<usize>,
    /// When the board gives up, if a detection ends the command. The phases show one try.
    pub given_up: Option<GivenUp>,
    /// The phase in which the command's loads have just been switched on.
    pub(crate) start: usize,
    /// Parts that trip on the way.
    pub(crate) trips: Vec<PartIx>,
}

/// Water gets no hotter by the heat pump alone, K. Judgement.
const HOTTEST_BY_HEAT_PUMP: f64 = 338.15;

/// A run of so many seconds is long enough for lines to take their temperatures and for him to read them. Judgement.
const LONG_ENOUGH_TO_READ: f64 = 150.0;

/// Superheat is not judged before the valve has found its place, s. Judgement.
pub(crate) const SUPERHEAT_JUDGED: f64 = 600.0;

/// A detection that fires.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Fired {
    pub(crate) detection: usize,
    /// Seconds into the phase.
    pub(crate) after: f64,
}

/// Limits of a detection, in what it watches.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    above: Option<f64>,
    below: Option<f64>,
}

impl Limits {
    pub(crate) fn of(d: &Detection) -> Limits {
        Limits { above: d.above, below: d.below }
    }

    fn passed(self, value: f64) -> bool {
        self.above.is_some_and(|a| value > a) || self.below.is_some_and(|b| value < b)
    }

    /// By how much a value lies beyond a limit; negative if it does not.
    pub(crate) fn beyond(self, value: f64) -> f64 {
        let above = self.above.map_or(f64::NEG_INFINITY, |a| value - a);
        above.max(self.below.map_or(f64::NEG_INFINITY, |b| b - value))
    }
}

/// Seconds until something on its way from `from` to `to` passes a detection's limit and stays beyond it; `None` if it
/// does not end beyond it.
fn crosses(from: f64, to: f64, lag: f64, limits: Limits) -> Option<f64> {
    if !limits.passed(to) {
        return None;
    }
    if limits.passed(from) {
        return Some(0.0);
    }
    let limit = match (limits.above, limits.below) {
        (Some(a), _) if to > a => a,
        (_, Some(b)) => b,
        _ => return None,
    };
    Some(lag * libm::log((to - from) / (to - limit)))
}

/// All that a set of parameters leads to.
#[derive(Debug, Clone)]
pub struct Operation {
    /// What is tripped and stored when the visit begins.
    pub latches: Latches,
    /// For each detection, the chance that the board stored it (0 to 1); empty if nothing ran that it could store.
    pub(crate) chances: Vec<f64>,
    /// The display is lit.
    pub display_lit: bool,
    /// With nothing commanded.
    pub(crate) rest: Option<Phase>,
    pub(crate) scene: Scene,
    /// Heat by the heat pump before the visit, as a fraction of what it should give.
    pub heat_by_heat_pump: f64,
    /// Heat by the elements before the visit, as a fraction of what they should give.
    pub heat_by_elements: f64,
    /// Heat per electrical energy of the heat pump before the visit, W/W; 0 if it gave none.
    pub efficiency: f64,
    /// Heat that the elements give when they are called for, as a fraction of what they should give.
    pub backup: f64,
    /// What the owner had of it.
    pub outcome: Outcome,
}

/// The machine as it stands, ready to be told something.
#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub visit: Visit,
    pub latches: Latches,
    pub control: Control,
    pub water: Water,
    /// For each command, what follows from it: worked out when first asked for.
    timelines: Vec<OnceCell<Timeline>>,
}

impl Operation {
    /// The water that a visit finds.
    pub fn water(&self) -> Option<Water> {
        self.rest.as_ref().map(|r| r.water)
    }
}

impl Phase {
    pub(crate) fn flow_compressor_amps(&self) -> f64 {
        self.flow.compressor_amps
    }
}

impl Timeline {
    /// The compressor stands and hums at some time.
    pub fn hums(&self) -> bool {
        self.phases.iter().any(|p| matches!(p.compressor, CompressorDoes::Hums(_)))
    }

    /// The phase just after the loads were switched on.
    pub fn at_start(&self) -> Option<&Phase> {
        self.phases.get(self.start)
    }

    /// The settled phase.
    pub fn settled(&self) -> Option<&Phase> {
        self.phases.last()
    }

    /// The phase in which somebody reads who waits for the run to settle. Where the board or a switch ends the run
    /// after minutes, he has read by then; where it ends at once there is nothing left to read but a machine that
    /// stands.
    pub fn read_when_settled(&self) -> Option<&Phase> {
        let running = |p: &&Phase| {
            let runs_for = match p.compressor {
                CompressorDoes::Runs => p.lasts,
                CompressorDoes::RunsThenStops(t) => t.min(p.lasts),
                _ => 0.0,
            };
            runs_for >= LONG_ENOUGH_TO_READ
        };
        self.phases.iter().rev().find(running).or(self.phases.last())
    }
}

impl Plant {
    /// What this set of parameters leads to, before and at the visit.
    ///
    /// Pure: the same arguments give the same bits. `params` must come from this machine.
    pub fn operate(&self, params: &[f64], visit: &Visit) -> Operation {
        self.operate_on(params, visit, None)
    }

    /// As [`Plant::operate`], with water in the tank that was there before: a repair does not heat it.
    pub fn operate_on(&self, params: &[f64], visit: &Visit, water: Option<Water>) -> Operation {
        let mut latches = self.first_latches(params, *visit);
        let nothing = vec![false; self.machine.parts.len()];
        let running_water = self.running_water(params, visit);
        let mut rest = self.rest_phase(params, visit, &nothing, &mut latches, running_water);
        let mut control = self.control_of(params, rest.as_ref());
        if !visit.reset
            && let Some(r) = &rest
        {
            // Heat that nobody asked for goes on until the cut-off opens (above the tank's own loss).
            if self.stray_heat(params, &r.flow) > 150.0 && self.overheat(params, &mut latches, f64::INFINITY) {
                rest = self.rest_phase(params, visit, &nothing, &mut latches, running_water);
                control = self.control_of(params, rest.as_ref());
            }
        }
        let mut scene = self.scene(visit, &latches, control, running_water);
        let mut stored: Vec<usize> = Vec::new();
        let mut chances = Vec::new();
        let (mut heat_pump, mut elements) = self.before_the_visit(params, &scene, &mut stored, &mut chances);
        if !visit.reset && self.runs_hot(params, &stored, (heat_pump, elements), &mut latches) {
            rest = self.rest_phase(params, visit, &nothing, &mut latches, running_water);
            control = self.control_of(params, rest.as_ref());
            scene = self.scene(visit, &latches, control, running_water);
        }
        if !visit.reset && self.trips_in_use(params, &scene, &mut latches) {
            rest = self.rest_phase(params, visit, &nothing, &mut latches, running_water);
            control = self.control_of(params, rest.as_ref());
            scene = self.scene(visit, &latches, control, running_water);
        }
        if !control.alive {
            (heat_pump, elements) = (0.0, 0.0);
        }
        let main = self.season(&visit.conditions);
        let efficiency = match main.and_then(|c| self.told(params, &scene, c)).and_then(Timeline::settled) {
            Some(p) if heat_pump > 0.0 && p.point.compressor_power > 0.0 => {
                self.useful(&p.point, main, p.air) / p.point.compressor_power
            }
            _ => 0.0,
        };
        let backup = if control.alive { self.heat_when_called(params, &scene) } else { 0.0 };
        // What was reset may trip again within a day: a proving run to the setpoint shows it.
        let trips_again = visit.reset && {
            let mut later = latches.clone();
            self.runs_hot(params, &stored, (heat_pump, elements), &mut later)
                || self.trips_in_use(params, &scene, &mut later)
        };
        if visit.reset {
            stored.clear();
            chances.clear();
        }
        latches.stored = stored.clone();
        // The water that the history leaves decides what the sensors show at rest.
        if let Some(r) = &mut rest {
            let water = water.unwrap_or_else(|| self.water_now(visit, params, heat_pump.max(elements)));
            self.rests_on(params, visit, r, water);
        }
        let mut operation = Operation {
            display_lit: control.alive,
            latches,
            chances,
            rest,
            scene,
            heat_by_heat_pump: heat_pump,
            heat_by_elements: elements,
            efficiency,
            backup,
            outcome: Outcome {
                heat_pump,
                elements,
                backup,
                costly: false,
                dark: false,
                breaker: false,
                runs_cold: false,
                wet: false,
                noise: false,
                lukewarm: false,
                too_hot: false,
                call: 0.0,
                noticed: Notices::default(),
            },
        };
        operation.outcome = self.outcome(params, &operation, &stored, trips_again);
        // What is tried at the visit is tried on the water that is there, not on that of an ordinary day's run.
        if self.parts.tank.is_some()
            && let Some(r) = &operation.rest
            && r.water != operation.scene.water
        {
            operation.scene = self.scene(visit, &operation.scene.latches, control, r.water);
        }
        operation
    }

    /// The water that an ordinary run meets: for a tank, what a machine that heats leaves, so that most visits find the
    /// water that the days before were worked out with.
    pub(crate) fn running_water(&self, params: &[f64], visit: &Visit) -> Water {
        if self.parts.tank.is_some() {
            return self.water_now(visit, params, 1.0);
        }
        let set = match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { setpoint, .. }) => params[setpoint.0],
            _ => 323.15,
        };
        let c = &visit.conditions;
        Water {
            top: c.water_top.unwrap_or(set - 5.0),
            bottom: c.water_bottom.unwrap_or(set - 12.0),
            doubt: if c.water_bottom.is_some() { 1.5 } else { 8.0 },
        }
    }

    fn control_of(&self, params: &[f64], rest: Option<&Phase>) -> Control {
        rest.map_or(Control { rails: 0.0, alive: false }, |r| self.control(params, &r.flow))
    }

    fn rest_phase(
        &self,
        params: &[f64],
        visit: &Visit,
        nothing: &[bool],
        latches: &mut Latches,
        water: Water,
    ) -> Option<Phase> {
        if let Some(parts) = &self.drive {
            return self.drive_phase(parts, params, visit, latches, Asked::NOTHING, water).map(|(phase, _)| phase);
        }
        let drawing = Drawing { params, latches, energised: nothing, at_slip: None, overload_open: false, dead: false };
        let mut l = latches.clone();
        let mut flow = self.settle(&drawing, &mut l)?;
        let mut does = CompressorDoes::Silent;
        let mut point = self.loop_point(params, &visit.conditions, water, Air::STILL, 0.0, Default::default());
        let mut air = Air::STILL;
        if flow.compressor_amps > 0.2 {
            // A relay that does not open keeps the compressor running (or humming) at rest.
            air = self.air(params, &flow);
            let on = flow.energised().to_vec();
            if let Some((d, pt, f)) = self.run_compressor(params, visit, &l, &on, air, Default::default(), water) {
                (does, point, flow) = (d, pt, f);
            }
        }
        latches.tripped.clone_from(&l.tripped);
        Some(Phase {
            name: "at rest".into(),
            starts: 0.0,
            lasts: f64::INFINITY,
            compressor: does,
            water,
            air,
            point,
            supply_amps: flow.supply_amps,
            flow,
            drive: None,
        })
    }

    /// Whether the fan gets its current.
    pub(crate) fn fan_runs(&self, params: &[f64], flow: &Flow) -> bool {
        self.parts.fans.iter().any(|fan| self.fan_moves(params, *fan, flow) > 0.0)
    }

    /// Starts and settles the compressor in a given state of the relays.
    #[allow(clippy::too_many_arguments)] // one private step of the timeline; a struct would only rename the arguments
    fn run_compressor(
        &self,
        params: &[f64],
        visit: &Visit,
        latches: &Latches,
        energised: &[bool],
        air: Air,
        valve: halfsplit_machine::sheet::ValveCommand,
        water: Water,
    ) -> Option<(CompressorDoes, LoopPoint, Rc<Flow>)> {
        let fit = self.motor.as_ref()?;
        let Some(Role::Compressor(c)) = self.parts.compressor.map(|x| self.role(x)) else { return None };
        let drawing = Drawing { params, latches, energised, at_slip: None, overload_open: false, dead: false };
        let motor = self.motor_now(fit, params);
        let at_rest = self.loop_point(params, &visit.conditions, water, air, 0.0, valve);
        let running = self.loop_point(params, &visit.conditions, water, air, 1.0, valve);
        let share = fit.torque_share(running.compressor_power).clamp(0.05, 3.0);
        let free = params[c.free.0];
        let (up, energised) = self.start(&drawing, fit, &motor, share, free)?;
        let at_slip = motor.at_slip(up.slip);
        let flow = self.flow(&Drawing { at_slip: Some((up.slip, &at_slip)), energised: &energised, ..drawing })?;
        // The overload's own error acts on the current at which it opens.
        let outside = match self.parts.external_overload.map(|x| self.role(x)) {
            Some(Role::ExternalOverload { trip }) => params[trip.0],
            _ => 1.0,
        };
        let amps = flow.compressor_amps / (params[c.overload_trip.0] * outside).max(0.05);
        let (point, shell) = match up.outcome {
            MotorOutcome::Runs if !up.is_reversed() => (running, running.discharge - 15.0),
            _ => (at_rest, visit.conditions.air_or_default()),
        };
        let cold = visit.conditions.air_or_default().min(380.0);
        let stalled = up.outcome != MotorOutcome::Runs;
        // A motor that stands heats its shell until the overload opens, if the current alone does not open it.
        let trip = if stalled {
            let overload = &fit.overload;
            overload.time_to_trip(amps, shell.min(388.0), cold).or_else(|| overload.time_to_trip(amps, 365.0, cold))
        } else {
            // A shell that gets too hot does so slowly; the current of a running motor adds its share at once.
            let opens = fit.overload.shell_that_opens(amps);
            let warming = LAG[Spot::DischargeLine.index()] * libm::log(((shell - cold) / (shell - opens)).max(1.0));
            fit.overload.time_to_trip(amps, shell, cold).map(|t| t + warming)
        };
        let does = match (up.outcome, trip) {
            _ if flow.compressor_amps < 0.1 => CompressorDoes::Silent,
            (MotorOutcome::Runs, None) => CompressorDoes::Runs,
            (MotorOutcome::Runs, Some(t)) if t > 7200.0 => CompressorDoes::Runs,
            (MotorOutcome::Runs, Some(t)) => CompressorDoes::RunsThenStops(t),
            (_, t) => CompressorDoes::Hums(t.unwrap_or(f64::INFINITY)),
        };
        Some((does, point, flow))
    }

    /// What follows from a command at the visit, by the command's index; `None` if there is no such command.
    pub fn timeline<'o>(&self, params: &[f64], operation: &'o Operation, command: usize) -> Option<&'o Timeline> {
        self.told(params, &operation.scene, command)
    }

    /// What a machine does that has the past of an operation and is in another state just now, which `params` say: what lasts
    /// for minutes has left nothing behind.
    pub fn just_now(&self, params: &[f64], past: &Operation) -> Operation {
        let mut now = past.clone();
        now.scene.timelines = vec![OnceCell::new(); self.machine.commands.len()];
        let visit = now.scene.visit;
        let nothing = vec![false; self.machine.parts.len()];
        let water = now.rest.as_ref().map(|r| r.water);
        let mut latches = now.scene.latches.clone();
        let rest = self.rest_phase(params, &visit, &nothing, &mut latches, water.unwrap_or(now.scene.water));
        now.rest = rest.map(|mut r| {
            let water = water.unwrap_or(r.water);
            self.rests_on(params, &visit, &mut r, water);
            r
        });
        now
    }

    /// Puts a machine at rest on this water.
    fn rests_on(&self, params: &[f64], visit: &Visit, rest: &mut Phase, water: Water) {
        rest.water = water;
        if matches!(rest.compressor, CompressorDoes::Silent) {
            // Pipes near a tank keep some of its warmth: of this tank's, not of one that was running.
            rest.point = self.loop_point(params, &visit.conditions, water, rest.air, 0.0, Default::default());
        }
    }

    fn scene(&self, visit: &Visit, latches: &Latches, control: Control, water: Water) -> Scene {
        let timelines = vec![OnceCell::new(); self.machine.commands.len()];
        Scene { visit: *visit, latches: latches.clone(), control, water, timelines }
    }

    /// What follows from a command, by its index.
    pub(crate) fn told<'s>(&self, params: &[f64], scene: &'s Scene, command: usize) -> Option<&'s Timeline> {
        let cell = scene.timelines.get(command)?;
        Some(cell.get_or_init(|| self.step_through(params, scene, command)))
    }

    /// Steps through the stages of one command.
    fn step_through(&self, params: &[f64], scene: &Scene, command: usize) -> Timeline {
        if let Some(parts) = &self.drive {
            return self.drive_through(parts, params, scene, command);
        }
        let Scene { visit, control, water, .. } = scene;
        let (control, water) = (*control, *water);
        let mut latches = scene.latches.clone();
        let stages = &self.machine.commands[command].stages;
        let most_on = stages.iter().map(|s| s.on.len()).max().unwrap_or(0);
        let mut out = Timeline {
            phases: Vec::with_capacity(stages.len() + 1),
            fired: Vec::new(),
            given_up: None,
            start: 0,
            trips: Vec::new(),
        };
        let mut warmed = self.rest_temperatures(params, scene);
        out.start = stages.iter().position(|s| s.on.len() == most_on).unwrap_or(0);
        let mut clock = 0.0;
        for stage in stages {
            let energised = self.energised(params, control, &stage.on);
            let drawing = Drawing {
                params,
                latches: &latches,
                energised: &energised,
                at_slip: None,
                overload_open: false,
                dead: false,
            };
            let mut next = latches.clone();
            let Some(mut flow) = self.settle(&drawing, &mut next) else { break };
            out.trips.extend(self.parts.over_current.iter().filter(|p| next.tripped[p.0] && !latches.tripped[p.0]));
            latches = next;
            let energised = flow.energised().to_vec();
            let air = self.air(params, &flow);
            let mut does = CompressorDoes::Silent;
            let mut point = None;
            if flow.compressor_amps > 0.1
                && let Some((d, p, f)) =
                    self.run_compressor(params, visit, &latches, &energised, air, stage.valve, water)
            {
                (does, point, flow) = (d, Some(p), f);
            }
            let point =
                point.unwrap_or_else(|| self.loop_point(params, &visit.conditions, water, air, 0.0, stage.valve));
            let phase = Phase {
                name: stage.name.clone(),
                starts: clock,
                lasts: stage.lasts,
                compressor: does,
                water,
                air,
                point,
                supply_amps: flow.supply_amps,
                flow,
                drive: None,
            };
            if matches!(does, CompressorDoes::Runs | CompressorDoes::RunsThenStops(_)) {
                let mut opened = self.pressures_open(params, &phase.point, &latches);
                opened.extend(self.too_much(params, &phase.flow, &latches));
                if !opened.is_empty() {
                    let stopped = self.opened_stop(params, scene, &opened, &stage.on, &mut out, phase);
                    out.phases.extend(stopped);
                    break;
                }
            }
            let before = warmed;
            let settled = self.temperatures_in(&phase, &visit.conditions);
            warmed.approach(&settled, stage.lasts);
            let began = phase.starts;
            clock += stage.lasts;
            let trips_after = match does {
                CompressorDoes::Hums(t) | CompressorDoes::RunsThenStops(t) if t < stage.lasts => Some(t),
                _ => None,
            };
            let mut fired = self.detections_in(params, scene, &phase, &before, &stage.on);
            let stopped_before = |t: f64| fired.iter().any(|f| f.after < t && self.stops(f.detection, command));
            let trips_after = trips_after.filter(|t| !stopped_before(*t));
            // The board goes on commanding what has opened, and looks at it.
            let tripped = trips_after.and_then(|t| {
                let phase = self.overload_open(params, visit, &latches, water, &energised, began + t)?;
                let then = self.temperatures_in(&phase, &visit.conditions);
                let later = self.detections_in(params, scene, &phase, &then, &stage.on);
                let current = |f: &Fired| self.machine.detections[f.detection].watches == Watch::Current;
                fired.retain(|f| f.after <= t || current(f));
                fired.extend(later.iter().map(|f| Fired { after: t + f.after, ..*f }));
                Some(phase)
            });
            fired.sort_by(|a, b| a.after.total_cmp(&b.after));
            out.phases.push(phase);
            if !control.alive || self.machine.commands[command].forced {
                fired.clear();
            }
            let stopping = fired.iter().copied().find(|f| self.stops(f.detection, command));
            if let Some(stop) = stopping {
                // What is stopped in time does not get so hot that its sensor leaves its range.
                let range = |f: &Fired| self.machine.detections[f.detection].watches == Watch::SensorRange;
                fired.retain(|f| f.after <= stop.after || !range(f));
            }
            for f in fired {
                if !out.fired.contains(&f.detection) {
                    out.fired.push(f.detection);
                }
            }
            if let Some(f) = stopping {
                out.given_up = Some(self.give_up(f, began));
            }
            match (tripped, stopping) {
                (Some(opened), _) => {
                    out.phases.push(opened);
                    break;
                }
                (None, Some(f)) => {
                    if let Some(run) = out.phases.last_mut() {
                        run.lasts = run.lasts.min(f.after);
                    }
                    // The board stops what runs; what it does instead is another command.
                    if let Some(stopped) = self.stopped(params, visit, &latches, water, clock) {
                        out.phases.push(stopped);
                    }
                    break;
                }
                (None, None) => {}
            }
        }
        out
    }

    /// The compressor runs until a pressure switch or a breaker opens; then whatever hangs on it falls off.
    fn opened_stop(
        &self,
        params: &[f64],
        scene: &Scene,
        opened: &[PartIx],
        on: &[PartIx],
        out: &mut Timeline,
        mut running: Phase,
    ) -> Option<Phase> {
        let Scene { visit, control, water, .. } = scene;
        running.lasts = running.lasts.min(UNTIL_A_SWITCH_OPENS);
        let starts = running.starts + running.lasts;
        out.phases.push(running);
        let mut latches = scene.latches.clone();
        for part in opened {
            latches.tripped[part.0] = true;
        }
        out.trips.extend(opened.iter().filter(|p| self.stays_open(**p)));
        let energised = self.energised(params, *control, on);
        let drawing = Drawing {
            params,
            latches: &latches.clone(),
            energised: &energised,
            at_slip: None,
            overload_open: false,
            dead: false,
        };
        let flow = self.settle(&drawing, &mut latches)?;
        let air = self.air(params, &flow);
        let point = self.loop_point(params, &visit.conditions, *water, air, 0.0, Default::default());
        Some(Phase {
            name: "a switch or breaker has opened".into(),
            starts,
            lasts: 600.0,
            compressor: CompressorDoes::Silent,
            water: *water,
            air,
            point,
            supply_amps: flow.supply_amps,
            flow,
            drive: None,
        })
    }

    /// Whether a detection ends a command: the elements go on where they are what the board falls back on.
    pub(crate) fn stops(&self, detection: usize, command: usize) -> bool {
        match self.machine.detections[detection].does {
            Response::StopAll => true,
            Response::ElementsInstead => self.machine.commands[command].calls_for != Some(CallsFor::Elements),
            Response::ShowOnly => false,
        }
    }

    /// Every try runs the same course: the board waits for longer than a start takes.
    pub(crate) fn give_up(&self, fired: Fired, phase_began: f64) -> GivenUp {
        let d = &self.machine.detections[fired.detection];
        let tries = f64::from(d.tries);
        GivenUp {
            detection: fired.detection,
            tries: d.tries,
            after: tries * (phase_began + fired.after) + (tries - 1.0) * d.wait,
        }
    }

    /// Temperatures before anything is switched on.
    pub(crate) fn rest_temperatures(&self, params: &[f64], scene: &Scene) -> Temperatures {
        let c = &scene.visit.conditions;
        let point = self.loop_point(params, c, scene.water, Air::STILL, 0.0, Default::default());
        self.temperatures(&point, c, scene.water, Air::STILL)
    }

    pub(crate) fn stopped(
        &self,
        params: &[f64],
        visit: &Visit,
        latches: &Latches,
        water: Water,
        clock: f64,
    ) -> Option<Phase> {
        let nothing = vec![false; self.machine.parts.len()];
        let mut l = latches.clone();
        let mut phase = self.rest_phase(params, visit, &nothing, &mut l, water)?;
        phase.name = "stopped by the board".into();
        phase.starts = clock;
        Some(phase)
    }

    fn overload_open(
        &self,
        params: &[f64],
        visit: &Visit,
        latches: &Latches,
        water: Water,
        energised: &[bool],
        clock: f64,
    ) -> Option<Phase> {
        let drawing = Drawing { params, latches, energised, at_slip: None, overload_open: true, dead: false };
        let flow = self.flow(&drawing)?;
        let air = self.air(params, &flow);
        let point = self.loop_point(params, &visit.conditions, water, air, 0.0, Default::default());
        Some(Phase {
            name: "overload open".into(),
            starts: clock,
            lasts: 1800.0,
            compressor: CompressorDoes::Silent,
            water,
            air,
            point,
            supply_amps: flow.supply_amps,
            flow,
            drive: None,
        })
    }

    /// Which detections fire in a phase, each with its time.
    pub(crate) fn detections_in(
        &self,
        params: &[f64],
        scene: &Scene,
        phase: &Phase,
        before: &Temperatures,
        on: &[PartIx],
    ) -> Vec<Fired> {
        let mut out = Vec::new();
        let now = self.temperatures_in(phase, &scene.visit.conditions);
        for (detection, d) in self.machine.detections.iter().enumerate() {
            if d.while_on.is_some_and(|r| !on.contains(&r)) {
                continue;
            }
            if let Some(begins) = self.begins(params, scene, phase, (before, &now), d)
                && begins + d.holds <= phase.lasts
            {
                out.push(Fired { detection, after: begins + d.holds });
            }
        }
        out
    }

    /// Seconds into a phase from which on a detection finds what it watches for; `None` if it does not.
    fn begins(
        &self,
        params: &[f64],
        scene: &Scene,
        phase: &Phase,
        (before, now): (&Temperatures, &Temperatures),
        d: &Detection,
    ) -> Option<f64> {
        let at_once = |hit: bool| hit.then_some(0.0);
        match d.watches {
            Watch::Current => at_once(Limits::of(d).passed(self.sensed_amps(params, d.part?, phase, d.holds))),
            Watch::Temperature => {
                let part = d.part.filter(|p| self.heard(*p, phase))?;
                let seen = |t: &Temperatures| self.seen_kelvin(part, params, t);
                // A lead that is broken or shorted is no temperature.
                if !matches!(self.board_sees_at(part, params, before), Seen::Kelvin(_)) {
                    return None;
                }
                crosses(seen(before), seen(now), self.lag(part, params), Limits::of(d))
            }
            Watch::SensorRange => self
                .parts
                .thermistors
                .iter()
                .filter(|p| d.part.is_none_or(|q| q == **p) && self.heard(**p, phase))
                .filter_map(|p| {
                    if !matches!(self.board_sees_at(*p, params, before), Seen::Kelvin(_)) {
                        return Some(0.0);
                    }
                    let range = Limits { below: Some(BELIEVABLE.0), above: Some(BELIEVABLE.1) };
                    let seen = |t: &Temperatures| self.seen_kelvin(*p, params, t);
                    crosses(seen(before), seen(now), self.lag(*p, params), range)
                })
                .min_by(f64::total_cmp),
            Watch::Superheat => at_once(
                phase.lasts >= SUPERHEAT_JUDGED
                    && matches!(phase.compressor, CompressorDoes::Runs | CompressorDoes::RunsThenStops(_))
                    && self
                        .believed_superheat(params, &scene.visit.conditions, &phase.point, scene.water)
                        .is_some_and(|s| Limits::of(d).passed(s)),
            ),
            Watch::Input => at_once(self.float_open(params)),
            Watch::Communication | Watch::Bus | Watch::ModuleCurrent | Watch::PhaseLoss | Watch::FanSpeed => {
                at_once(phase.drive.as_ref().is_some_and(|x| self.drive_detects(params, x, d)))
            }
            // Looked at before the compressor starts.
            Watch::Disagreement => at_once(
                matches!(phase.compressor, CompressorDoes::Silent)
                    && phase.starts == 0.0
                    && self.disagreement(params, now).is_some_and(|k| Limits::of(d).passed(k)),
            ),
        }
    }

    /// What the board makes of a thermistor among these temperatures.
    fn board_sees_at(&self, part: PartIx, params: &[f64], t: &Temperatures) -> Seen {
        self.board_sees(part, params, self.sensor_temperature(part, params, t).0)
    }

    /// The same in kelvin; beyond the end of what a board takes for real, the temperature itself.
    pub(crate) fn seen_kelvin(&self, part: PartIx, params: &[f64], t: &Temperatures) -> f64 {
        let (kelvin, _) = self.sensor_temperature(part, params, t);
        match self.board_sees(part, params, kelvin) {
            Seen::Kelvin(k) => k,
            Seen::TooHot => kelvin.max(BELIEVABLE.1 + 1.0),
            Seen::TooCold => kelvin.min(BELIEVABLE.0 - 1.0),
        }
    }

    /// Time in which a sensor's surroundings come to within a third of where they settle, s.
    fn lag(&self, part: PartIx, params: &[f64]) -> f64 {
        let Role::Thermistor(s) = self.role(part) else { return 0.0 };
        LAG[(params[s.spot.0] as usize).min(LAG.len() - 1)]
    }

    /// Largest difference between what the board believes of its air and refrigerant sensors, K, the discharge sensor apart:
    /// it sits where a warm tank reaches. `None` with fewer than two that can be believed.
    fn disagreement(&self, params: &[f64], t: &Temperatures) -> Option<f64> {
        let mut ends: Option<(f64, f64)> = None;
        for spot in [Spot::Air, Spot::EvaporatorCoil, Spot::SuctionLine] {
            if let Some(Seen::Kelvin(k)) = self.believes(spot, params, t) {
                ends = Some(ends.map_or((k, k), |(low, high): (f64, f64)| (low.min(k), high.max(k))));
            }
        }
        ends.map(|(low, high)| high - low)
    }

    /// Current that the board believes a current sensor's load to draw, so many seconds after switching on.
    fn sensed_amps(&self, params: &[f64], sensor: PartIx, phase: &Phase, after: f64) -> f64 {
        let Role::CurrentSensor { relay, gain } = self.role(sensor) else { return 0.0 };
        let input = match self.parts.board.map(|b| self.role(b)) {
            Some(Role::Board { current_input, .. }) => params[current_input.0],
            _ => 1.0,
        };
        let open = match phase.compressor {
            CompressorDoes::Hums(t) | CompressorDoes::RunsThenStops(t) => t <= after,
            _ => false,
        };
        let amps = self
            .machine
            .branches_of(*relay)
            .filter(|(_, b)| matches!(b, halfsplit_machine::Branch::Contact { .. }))
            .map(|(ix, _)| phase.flow.branch_amps[ix.0])
            .fold(0.0, f64::max);
        if open { 0.0 } else { amps * params[gain.0] * input }
    }

    /// Whether the board asks for heat when the tank is cold: it goes by what it believes of the lower sensor.
    fn asks_for_heat(&self, params: &[f64]) -> bool {
        let Some(Role::Settings { setpoint, differential, .. }) = self.parts.settings.map(|s| self.role(s)) else {
            return true;
        };
        let cold = 288.15;
        let point = halfsplit_refrigeration::operating_point(
            &self.machine_loop,
            &halfsplit_refrigeration::Surroundings {
                air: 293.15,
                humidity: 0.5,
                sink: cold,
                air_flow: 0.0,
                speed: 0.0,
                metering: halfsplit_refrigeration::Metering::Fixed(0.5),
            },
            &Default::default(),
        );
        let t = Temperatures::of(&point, &Conditions::default(), Water { top: cold + 10.0, bottom: cold, doubt: 0.0 });
        match self.believes(Spot::WaterBottom, params, &t) {
            Some(Seen::Kelvin(k)) => k < params[setpoint.0] - differential,
            // Out of range: the board goes by its detection, and asks.
            Some(_) | None => true,
        }
    }

    /// Heat before the visit: by the heat pump, by the elements; and what the board stored.
    fn before_the_visit(
        &self,
        params: &[f64],
        scene: &Scene,
        stored: &mut Vec<usize>,
        chances: &mut Vec<f64>,
    ) -> (f64, f64) {
        let mode = self.mode_set(params);
        if !scene.control.alive || mode == 2 || !self.asks_for_heat(params) {
            return (0.0, 0.0);
        }
        let mut heat_pump = 0.0;
        if mode == 0 {
            let main = self.season(&scene.visit.conditions);
            if let Some((c, t)) = main.and_then(|c| Some((c, self.told(params, scene, c)?))) {
                stored.extend(&t.fired);
                *chances = self.chances(params, scene, c, t);
                let stopped = t.fired.iter().any(|d| self.machine.detections[*d].does != Response::ShowOnly);
                if !stopped {
                    heat_pump = t.settled().map_or(0.0, |p| match p.compressor {
                        CompressorDoes::Runs => self.served(&scene.visit, p, main),
                        _ => 0.0,
                    });
                }
            }
            if self.all_stopped(stored) || !self.elements_take_over(stored) {
                return (heat_pump, 0.0);
            }
        }
        if let Some(t) = self.command_for(CallsFor::Elements).and_then(|c| self.told(params, scene, c)) {
            for f in &t.fired {
                if !stored.contains(f) {
                    stored.push(*f);
                    if let Some(chance) = chances.get_mut(*f) {
                        *chance = 1.0;
                    }
                }
            }
        }
        let elements = self.heat_when_called(params, scene);
        (heat_pump, elements)
    }

    /// Heat from the elements when they are called for, as a fraction of what they should give.
    fn heat_when_called(&self, params: &[f64], scene: &Scene) -> f64 {
        let rated = self.rated_element_heat().max(1.0);
        self.command_for(CallsFor::Elements).and_then(|c| self.told(params, scene, c)).map_or(0.0, |t| {
            // Upper and lower heat one after the other; each gives half of the hot water.
            let n = t.phases.len().max(1) as f64;
            t.phases.iter().map(|p| (self.element_heat(params, &p.flow) / rated).min(1.0)).sum::<f64>() / n
        })
    }

    /// Water temperature at which the board believes its setpoint reached, K; `None` if it is blind.
    pub(crate) fn stops_heating_at(&self, params: &[f64]) -> Option<f64> {
        let Role::Settings { setpoint, .. } = self.role(self.parts.settings?) else { return None };
        let lower = self.sensor_at(Spot::WaterBottom)?;
        let target = params[setpoint.0];
        let sound = |part: PartIx| self.params_of[part.0].iter().all(|i| params[*i] == self.machine.params[*i].nominal);
        if sound(lower) && self.parts.board.is_none_or(sound) {
            return Some(target);
        }
        let believed = |k: f64| {
            let mut t =
                Temperatures { at: [293.15; Spot::COUNT], doubt: [0.0; Spot::COUNT], water: [0.0; Spot::COUNT] };
            t.at[Spot::WaterTop.index()] = k;
            t.at[Spot::WaterBottom.index()] = k;
            self.board_sees(lower, params, self.sensor_temperature(lower, params, &t).0)
        };
        let reached = |k: f64| match believed(k) {
            Seen::Kelvin(s) => s >= target,
            Seen::TooHot => true,
            Seen::TooCold => false,
        };
        if believed(target) == Seen::TooCold {
            return None;
        }
        if !reached(375.0) {
            return Some(375.0);
        }
        let (mut low, mut high) = (278.15, 375.0);
        for _ in 0..20 {
            let mid = 0.5 * (low + high);
            if reached(mid) {
                high = mid;
            } else {
                low = mid;
            }
        }
        Some(high)
    }

    /// Whether what the board believes of the tank lets the water overheat until a cut-off acts.
    fn runs_hot(&self, params: &[f64], stored: &[usize], heat: (f64, f64), latches: &mut Latches) -> bool {
        let (heat_pump, elements) = heat;
        if heat_pump.max(elements) < 0.1 || self.all_stopped(stored) {
            return false;
        }
        // A board that knows that it is blind heats by the upper sensor.
        self.stops_heating_at(params).is_some_and(|k| {
            let reached = if elements < 0.1 { k.min(HOTTEST_BY_HEAT_PUMP) } else { k };
            self.overheat(params, latches, reached)
        })
    }

    /// Fuses and breakers that open in use, from the timelines of what the machine does by itself.
    fn trips_in_use(&self, params: &[f64], scene: &Scene, latches: &mut Latches) -> bool {
        let mut opened = false;
        for (c, command) in self.machine.commands.iter().enumerate() {
            if command.calls_for.is_none() {
                continue;
            }
            for part in self.told(params, scene, c).map_or(&[][..], |t| &t.trips) {
                opened |= !latches.tripped[part.0];
                latches.tripped[part.0] = true;
            }
        }
        opened
    }
}
