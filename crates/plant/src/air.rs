//! Which way the heat goes, what air passes the two coils, and between which temperatures the loop works.

use halfsplit_machine::sheet::{CallsFor, Serves};
use halfsplit_machine::test::Spot;
use halfsplit_machine::{AirSide, Branch, Conditions, PartIx, Role};
use halfsplit_refrigeration::{LoopPoint, Machine as Loop, Metering};

use crate::Plant;
use crate::history::Latches;
use crate::mains::{Drawing, Flow};
use crate::operate::{Phase, Visit};
use crate::sensing::{Temperatures, Water};

/// Share of a coil's conductance that ice on it takes. Judgement.
const ICED: f64 = 0.75;
/// Outdoors a coil ices below this air temperature, K; common practice, no source.
const ICES_BELOW: f64 = 278.15;
/// What a coil full of melting ice gives its heat to, K.
const MELTING_ICE: f64 = 273.15;
/// Fall of a dehumidifier's air through its cold coil, K: what the warm coil gets. Judgement.
const DRIER_FALL: f64 = 8.0;

/// The air over the two coils as fractions of sound, and the way of the refrigerant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Air {
    /// Moved over the cold coil by its fan, before filter and dirt.
    pub cold: f64,
    /// Moved over the warm coil by its fan.
    pub warm: f64,
    /// The refrigerant goes the way in which the room is heated.
    pub heats: bool,
    /// The warm coil is outdoors and full of ice, which takes its heat instead of air.
    pub melts: bool,
}

impl Air {
    /// Nothing moves.
    pub(crate) const STILL: Air = Air { cold: 0.0, warm: 0.0, heats: false, melts: false };
}

impl Plant {
    /// How fast a fan's motor drives it for what it is fed with: 0 not at all, 1 as it should.
    pub(crate) fn fan_driven(&self, fan: PartIx, flow: &Flow) -> f64 {
        let Role::Fan { amps, start_amps, .. } = self.role(fan) else { return 0.0 };
        let mut windings = self
            .machine
            .branches_of(fan)
            .filter(|(_, b)| matches!(b, Branch::Resistor { .. } | Branch::Working { .. }))
            .map(|(ix, _)| flow.branch_amps[ix.0]);
        let run = windings.next().unwrap_or(0.0);
        if run <= 0.4 * amps {
            return 0.0;
        }
        // A capacitor motor without its capacitor stands and hums; with half of it, it turns slowly. Judgement.
        match (start_amps, windings.next()) {
            (Some(sound), Some(now)) if now < 0.3 * sound => 0.0,
            (Some(sound), Some(now)) if now < 0.75 * sound => 0.6,
            _ => 1.0,
        }
    }

    /// What a fan moves of what it should.
    pub(crate) fn fan_moves(&self, p: &[f64], fan: PartIx, flow: &Flow) -> f64 {
        let Role::Fan { flow: air, .. } = self.role(fan) else { return 0.0 };
        self.fan_driven(fan, flow) * p[air.0].max(0.0)
    }

    /// The air as the fans move it, and where the reversing valve stands.
    pub(crate) fn air(&self, p: &[f64], flow: &Flow) -> Air {
        let heats = self.heats(p, flow);
        // Water heaters and cold boxes have their cold coil on the inside; only a split that heats has it outdoors.
        let (cold, warm) = if heats && self.two_sided() {
            (AirSide::Outside, AirSide::Inside)
        } else {
            (AirSide::Inside, AirSide::Outside)
        };
        let on = |side: AirSide| {
            let moved: Vec<f64> = self
                .parts
                .fans
                .iter()
                .filter(|f| matches!(self.role(**f), Role::Fan { side: s, .. } if *s == side || *s == AirSide::Both))
                .map(|f| self.fan_moves(p, *f, flow))
                .collect();
            // A coil without a fan has the air that moves by itself, and was made for it.
            if moved.is_empty() { 1.0 } else { moved.into_iter().fold(0.0, f64::max) }
        };
        let melts = !heats && self.two_sided() && self.ice_melts(p);
        Air { cold: on(cold), warm: if melts { 1.0 } else { on(warm) }, heats, melts }
    }

    /// Whether a defrost is at work on ice.
    fn ice_melts(&self, p: &[f64]) -> bool {
        self.machine.parts.iter().any(|x| matches!(x.role, Role::DefrostControl { melting, .. } if p[melting.0] > 0.5))
    }

    /// The air of a machine in which everything is as it should be, told to do `command`.
    pub(crate) fn sound_air(&self, command: Option<usize>) -> Air {
        let heats =
            self.two_sided() && command.is_some_and(|c| self.machine.commands[c].calls_for == Some(CallsFor::HeatPump));
        Air { cold: 1.0, warm: 1.0, heats, melts: false }
    }

    /// The command for what the machine does in this season: the first in the sheet, or heating where it is cold outdoors.
    pub fn season(&self, c: &Conditions) -> Option<usize> {
        let cold = self.two_sided() && c.outdoor.is_some_and(|t| t < 288.15);
        let heating = || self.machine.commands.iter().position(|x| x.calls_for == Some(CallsFor::HeatPump));
        if cold { heating() } else { None }.or_else(|| self.machine.run_command().map(|c| c.0))
    }

    /// A machine with a coil indoors and one outdoors.
    pub(crate) fn two_sided(&self) -> bool {
        self.machine.sheet.machine.serves == Serves::RoomAir || !self.parts.coils.is_empty()
    }

    /// Whether the refrigerant goes the way in which a room is heated.
    pub(crate) fn heats(&self, p: &[f64], flow: &Flow) -> bool {
        let Some(valve) = self.parts.reversing_valve else { return !self.two_sided() };
        let Role::ReversingValve { energised_heats, stuck, .. } = self.role(valve) else { return false };
        match p[stuck.0] {
            s if s > 0.5 => true,
            s if s < -0.5 => false,
            _ => {
                let fed = self.machine.branches_of(valve).map(|(ix, _)| flow.branch_amps[ix.0]).fold(0.0, f64::max);
                (fed > 1e-3) == *energised_heats
            }
        }
    }

    /// The loop as it works in this direction.
    pub(crate) fn loop_of(&self, air: Air) -> &Loop {
        match &self.heating_loop {
            Some(heating) if air.heats => heating,
            _ => &self.machine_loop,
        }
    }

    /// Air entering the cold coil, K; its relative humidity; what the warm coil heats, K.
    pub(crate) fn between(&self, c: &Conditions, water: Water, air: Air) -> (f64, f64, f64) {
        let humidity = c.humidity.unwrap_or(0.5);
        match self.machine.sheet.machine.serves {
            _ if self.two_sided() && air.heats => (c.outdoor.unwrap_or(280.15), 0.8, c.air.unwrap_or(293.15)),
            _ if air.melts => (c.air.unwrap_or(293.15), humidity, MELTING_ICE),
            _ if self.two_sided() => (c.air.unwrap_or(299.15), humidity, c.outdoor.unwrap_or(305.15)),
            Serves::ColdBox => (self.box_air(), 0.7, c.air_or_default() + 2.0),
            Serves::DryAir => {
                // Without a fan nothing has passed the cold coil.
                let fall = if air.cold > 0.0 { DRIER_FALL } else { 0.0 };
                (c.air_or_default(), c.humidity.unwrap_or(0.6), c.air_or_default() - fall)
            }
            _ => (c.air_or_default(), humidity, water.bottom + 0.3 * (water.top - water.bottom)),
        }
    }

    /// Air in a cold box that is kept as it is set, K.
    fn box_air(&self) -> f64 {
        match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { setpoint, .. }) => self.machine.params[setpoint.0].nominal,
            _ => 255.15,
        }
    }

    /// Whether ice grows on the coil that takes up heat, while it does, in these conditions.
    pub fn ice_grows(&self, c: &Conditions) -> bool {
        match self.machine.sheet.machine.serves {
            Serves::ColdBox => true,
            Serves::DryAir => c.air_or_default() < 288.15,
            _ => self.two_sided() && c.outdoor.unwrap_or(280.15) < ICES_BELOW,
        }
    }

    /// Dirt on the coils: (cold, warm), 0 to 1, ice included.
    pub(crate) fn fouling(&self, p: &[f64], c: &Conditions, air: Air) -> (f64, f64) {
        let of = |part: Option<PartIx>| match part.map(|x| self.role(x)) {
            Some(Role::Evaporator { fouling } | Role::Condenser { fouling }) => p[fouling.0],
            _ => 0.0,
        };
        let coil = |outside: bool| {
            self.parts.coils.iter().find_map(|x| match self.role(*x) {
                Role::Coil { outdoor, fouling } if *outdoor == outside => Some(p[fouling.0]),
                _ => None,
            })
        };
        let cold_outside = air.heats && self.two_sided();
        let mut cold = coil(cold_outside).unwrap_or_else(|| of(self.parts.evaporator));
        let warm = coil(!cold_outside).unwrap_or_else(|| of(self.parts.condenser));
        let one_way = matches!(self.machine.sheet.machine.serves, Serves::ColdBox | Serves::DryAir);
        if (one_way || cold_outside) && self.ice_grows(c) && !self.defrosts(p) {
            cold = cold.max(ICED);
        }
        (cold.clamp(0.0, 0.98), warm.clamp(0.0, 0.98))
    }

    /// Whether the ice is melted when it should be: the control acts, and where there is a heater it gets its current.
    fn defrosts(&self, p: &[f64]) -> bool {
        let acts = self.machine.parts.iter().all(|x| match x.role {
            Role::DefrostControl { acts, .. } => p[acts.0] > 0.5,
            _ => true,
        });
        let Some(heater) = self.machine.find(|r| *r == Role::DefrostHeater) else { return acts };
        let Some(command) = self.machine.commands.iter().find(|x| x.calls_for == Some(CallsFor::Defrost)) else {
            return acts;
        };
        let mut latches: Latches = self.first_latches(p, Visit::default());
        let mut energised = vec![false; self.machine.parts.len()];
        for stage in command.stages.iter().take(1) {
            for x in &stage.on {
                energised[x.0] = true;
            }
        }
        let drawing = Drawing {
            params: p,
            latches: &latches.clone(),
            energised: &energised,
            at_slip: None,
            overload_open: false,
            dead: false,
        };
        let Some(flow) = self.settle(&drawing, &mut latches) else { return acts };
        let watts: f64 = self.machine.branches_of(heater).map(|(ix, _)| flow.branch_watts[ix.0]).sum();
        let volts = self.machine.sheet.nameplate.volts;
        let rated = self.machine.branches_of(heater).find_map(|(_, b)| match b {
            Branch::Resistor { ohms, .. } => Some(volts * volts / self.machine.params[ohms.0].nominal),
            _ => None,
        });
        acts && watts > 0.5 * rated.unwrap_or(0.0)
    }

    /// What a device does that no board drives: a thermostatic valve, a tube. `None` if there is none.
    pub(crate) fn own_metering(&self, p: &[f64], the_loop: &Loop) -> Option<Metering> {
        self.machine.parts.iter().find_map(|x| match x.role {
            Role::ThermostaticValve { stuck_at, .. } if p[stuck_at.0] >= 0.0 => Some(Metering::Fixed(p[stuck_at.0])),
            Role::ThermostaticValve { reach, .. } => {
                Some(Metering::Holds { superheat: the_loop.meter.superheat, least: 0.02, most: p[reach.0].min(1.0) })
            }
            Role::Capillary { passes } => Some(Metering::Fixed(the_loop.meter.rated_opening * p[passes.0])),
            _ => None,
        })
    }

    /// Charge left and restriction of the liquid line by parts other than the charge itself.
    pub(crate) fn circuit_parts(&self, p: &[f64]) -> (f64, f64) {
        self.machine.parts.iter().fold((1.0, 0.0), |(left, restriction), x| match x.role {
            Role::Vessel { tightness } => (left * p[tightness.0], restriction),
            Role::Restriction { share } => (left, f64::max(restriction, p[share.0])),
            _ => (left, restriction),
        })
    }

    /// What is where in a phase, and how far that is to be doubted.
    pub(crate) fn temperatures_in(&self, phase: &Phase, c: &Conditions) -> Temperatures {
        let mut t = self.temperatures(&phase.point, c, phase.water, phase.air);
        if let Some(driven) = &phase.drive {
            let doubt = t.doubt[Spot::OutdoorAir.index()] + 5.0;
            t.set(Spot::HeatSink, driven.sink, doubt);
        }
        t
    }

    /// Temperatures of the loop, the tank, and of the air on both sides.
    pub(crate) fn temperatures(&self, point: &LoopPoint, c: &Conditions, water: Water, air: Air) -> Temperatures {
        let mut t = Temperatures::of(point, c, water);
        let (cold, _, warm) = self.between(c, water, air);
        let loop_doubt = t.doubt[Spot::EvaporatorCoil.index()];
        if self.machine.sheet.machine.serves == Serves::ColdBox {
            // How cold the box still is depends on how long it has been failing.
            t.set(Spot::Air, cold, 15.0);
        }
        if self.two_sided() {
            let known = |x: Option<f64>| if x.is_some() { 0.7 } else { 4.0 };
            let (room, outdoor) = match (air.heats, air.melts) {
                (true, _) => (warm, cold),
                (false, true) => (cold, c.outdoor.unwrap_or(MELTING_ICE)),
                (false, false) => (cold, warm),
            };
            t.set(Spot::RoomAir, room, known(c.air));
            t.set(Spot::OutdoorAir, outdoor, known(c.outdoor));
            // The air takes on most of the way from the room to the coil. Judgement.
            let blown = if air.heats { room + 0.6 * (point.condensing - room) } else { point.leaving_air };
            let running = point.heat > 0.0;
            t.set(Spot::SupplyAir, if running { blown } else { room }, loop_doubt + 1.0);
            let (indoor, outside) = match (running, air.heats) {
                (false, _) => (room, outdoor),
                (true, true) => (point.condensing, point.evaporating),
                (true, false) => (point.evaporating, point.condensing),
            };
            t.set(Spot::IndoorCoil, indoor, loop_doubt);
            t.set(Spot::OutdoorCoil, outside, loop_doubt);
        }
        t
    }

    /// What the owner gets of a running loop, W: warm air, cold air, or a cold box; nothing if the air of the room does
    /// not pass its coil or goes the wrong way.
    pub(crate) fn useful(&self, point: &LoopPoint, command: Option<usize>, air: Air) -> f64 {
        if self.machine.sheet.machine.serves == Serves::HotWater && !self.two_sided() {
            return point.heat;
        }
        if !self.two_sided() {
            return point.cooling;
        }
        let wants_heat = command.is_some_and(|c| self.machine.commands[c].calls_for == Some(CallsFor::HeatPump));
        let room_air = if air.heats { air.warm } else { air.cold };
        match (wants_heat, air.heats) {
            (true, true) if room_air > 0.1 => point.heat,
            (false, false) if room_air > 0.1 => point.cooling,
            _ => 0.0,
        }
    }
}
