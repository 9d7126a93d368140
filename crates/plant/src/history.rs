//! What happened before the visit: what tripped, what the board stored, how warm the water is, and what the
//! customer had of it.

use halfsplit_machine::Role;
use halfsplit_machine::sheet::{CallsFor, Response, Serves};
use halfsplit_refrigeration::LoopPoint;

use crate::operate::{CompressorDoes, Operation, Phase, Timeline, Visit};
use crate::sensing::Water;
use crate::{Plant, mains::Flow};

/// What stays as it is until somebody resets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Latches {
    /// For each part: tripped open (fuses, breakers, cut-offs).
    pub tripped: Vec<bool>,
    /// For each detection: stored by the board, in the order in which they fired.
    pub stored: Vec<usize>,
}

/// What the machine did for its owner before the visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Heat that came by the heat pump, as a fraction of what it should give.
    pub heat_pump: f64,
    /// Heat that came by the elements, as a fraction of what they should give.
    pub elements: f64,
    /// Heat that the elements give when many people shower, as a fraction of what they should give.
    pub backup: f64,
    /// The heat pump heats, but at well above its usual cost.
    pub costly: bool,
    /// The display is dark.
    pub dark: bool,
    /// A breaker of the machine has tripped.
    pub breaker: bool,
    /// Hot water runs cold early although it is heated.
    pub runs_cold: bool,
    /// Water stands or runs where it should not.
    pub wet: bool,
    /// Something hums, labours, or never stops.
    pub noise: bool,
    /// The water is kept less warm than the customer wants.
    pub lukewarm: bool,
    /// The water is kept hotter than the customer wants.
    pub too_hot: bool,
    /// Chance that the owner calls somebody (0 to 1). Judgement.
    pub call: f64,
    /// What anybody notices on a machine whose own values differ a little from these.
    pub noticed: Notices,
}

/// Chances that somebody notices, thing by thing, on a machine whose own values differ a little from those foreseen (0 to 1 each):
/// what lies near a limit of what people notice lies on either side of it. Judgement.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Notices([f64; 13]);

impl Notices {
    /// Chance that somebody notices anything (0 to 1).
    pub fn anything(&self) -> f64 {
        self.beyond(&Notices::default())
    }

    /// Chance that somebody notices anything beyond what a sound machine shows too (0 to 1): what it shows more often than not, on
    /// such a day, nobody holds against any machine.
    pub fn beyond(&self, sound: &Notices) -> f64 {
        let unnoticed: f64 = self
            .0
            .iter()
            .zip(&sound.0)
            .map(|(here, sound)| if *sound > 0.5 { 1.0 } else { ((1.0 - here) / (1.0 - sound)).min(1.0) })
            .product();
        1.0 - unnoticed
    }
}

impl Outcome {
    /// Chance of a call (0 to 1) to a machine that does nothing wrong: it is looked at now and then. Judgement.
    pub const SELDOM: f64 = 0.05;
}

/// Standard deviation of a machine's own heat, as a share of what it should give. Judgement.
const HEAT_OFF: f64 = 0.04;
/// Standard deviation of its efficiency, as a share of a sound one's. Judgement.
const EFFICIENCY_OFF: f64 = 0.03;
/// Standard deviation of the water at which it stops, K. Judgement.
const STOP_OFF: f64 = 1.0;
/// Standard deviation of a fan's flow, as a share of what it should give. Judgement.
const FLOW_OFF: f64 = 0.03;

/// Chance that a value that is foreseen at `value`, with this standard deviation, lies below `limit`.
fn below(value: f64, limit: f64, sd: f64) -> f64 {
    0.5 * libm::erfc((value - limit) / (sd * core::f64::consts::SQRT_2))
}

/// Something that people notice.
#[derive(Clone, Copy)]
struct Sign {
    /// With the values that are foreseen.
    here: bool,
    /// Chance of it on a machine whose own values differ a little.
    chance: f64,
}

impl Sign {
    /// It hangs on a value that may lie on either side of its limit.
    fn near(here: bool, chance: f64) -> Sign {
        Sign { here, chance }
    }

    fn surely(here: bool) -> Sign {
        Sign { here, chance: f64::from(u8::from(here)) }
    }

    /// This, or something else for certain.
    fn or(self, here: bool) -> Sign {
        if here { Sign::surely(true) } else { self }
    }
}

/// Whether an element boils the water in its scale, so that it is heard: by the share of its heat that the water takes up (0 to 1).
/// Judgement.
pub(crate) fn kettles(transfer: f64) -> bool {
    transfer < 0.95
}

impl Plant {
    /// Latches that the hypothesis itself sets before anything is run.
    pub(crate) fn first_latches(&self, p: &[f64], visit: Visit) -> Latches {
        let mut tripped = vec![false; self.machine.parts.len()];
        if !visit.reset {
            for (i, part) in self.machine.parts.iter().enumerate() {
                if let Role::OverCurrent { tripped: t, .. } | Role::CutOff { tripped: t, .. } = &part.role {
                    tripped[i] = p[t.0] > 0.5;
                }
            }
        }
        Latches { tripped, stored: Vec::new() }
    }

    /// Heat that the elements make with nothing commanded: a welded relay, an earthed element.
    pub(crate) fn stray_heat(&self, p: &[f64], rest: &Flow) -> f64 {
        self.element_heat(p, rest)
    }

    /// Heat from the elements into the water, W.
    pub(crate) fn element_heat(&self, p: &[f64], flow: &Flow) -> f64 {
        self.parts
            .elements
            .iter()
            .map(|e| {
                let transfer = match self.role(*e) {
                    Role::Element { transfer, .. } => p[transfer.0],
                    _ => 0.0,
                };
                self.machine.branches_of(*e).map(|(ix, _)| flow.branch_watts[ix.0]).sum::<f64>() * transfer
            })
            .sum()
    }

    /// Heat that one sound element makes, W.
    pub(crate) fn rated_element_heat(&self) -> f64 {
        let v = self.machine.sheet.nameplate.volts;
        let ohms = self.parts.elements.iter().find_map(|e| {
            self.machine.branches_of(*e).find_map(|(_, b)| match b {
                halfsplit_machine::Branch::Resistor { ohms, .. } => Some(self.machine.params[ohms.0].nominal),
                _ => None,
            })
        });
        ohms.map_or(0.0, |o| v * v / o)
    }

    /// Opens the cut-offs that this water temperature reaches. Returns whether one opened.
    pub(crate) fn overheat(&self, p: &[f64], latches: &mut Latches, kelvin: f64) -> bool {
        let mut opened = false;
        for &c in &self.parts.cut_offs {
            if let Role::CutOff { opens, .. } = self.role(c)
                && kelvin >= p[opens.0]
                && !latches.tripped[c.0]
            {
                latches.tripped[c.0] = true;
                opened = true;
            }
        }
        opened
    }

    /// The water as the visit finds it: as measured, or as the history leaves it.
    pub(crate) fn water_now(&self, visit: &Visit, p: &[f64], heated: f64) -> Water {
        let set = match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { setpoint, .. }) => p[setpoint.0],
            _ => 323.15,
        };
        let setpoint = self.stops_heating_at(p).unwrap_or(set).min(348.15);
        // Cold water comes in at about 15 °C; a tank without heat has been drawn down.
        let cold = 293.15;
        // To five kelvins: nobody knows it better, and faults that leave the same water share what follows from it.
        let rounded = |kelvin: f64| 5.0 * libm::round((kelvin - 273.15) / 5.0) + 273.15;
        let heated = heated.clamp(0.0, 1.0);
        let top =
            visit.conditions.water_top.unwrap_or_else(|| rounded(cold + (setpoint - cold) * (0.35 + 0.65 * heated)));
        let bottom = visit.conditions.water_bottom.unwrap_or_else(|| rounded(cold - 5.0 + (top - cold) * 0.6 * heated));
        let doubt = if visit.conditions.water_top.is_some() { 1.5 } else { 8.0 };
        Water { top, bottom, doubt }
    }

    /// What the owner had of it. The weights of the call chance are judgement.
    pub(crate) fn outcome(&self, p: &[f64], o: &Operation, stored: &[usize], trips_again: bool) -> Outcome {
        let dip_tube = match self.parts.tank.map(|t| self.role(t)) {
            Some(Role::Tank { dip_tube, .. }) => p[dip_tube.0] < 0.5,
            _ => false,
        };
        // What shows outside the circuits: a valve that drips, one that mixes too cold.
        let any = |list: &[usize]| list.iter().any(|i| p[*i] > 0.5);
        let wet_tank = any(&self.wet);
        let drain_full = self.float_up(p)
            && match self.parts.drain.map(|d| self.role(d)) {
                Some(Role::Drain { blocked, .. }) => p[blocked.0] > 0.5,
                _ => false,
            };
        let wanted = match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { setpoint, .. }) => self.machine.params[setpoint.0].nominal,
            _ => 323.15,
        };
        let kept_at = self.stops_heating_at(p).unwrap_or(wanted);
        // People notice four kelvin too little sooner than six too much.
        let stops_below = |limit: f64| below(kept_at, limit, STOP_OFF);
        let (lukewarm, too_hot) = match (self.machine.sheet.machine.serves, self.parts.settings.map(|s| self.role(s))) {
            (Serves::HotWater, _) => (
                Sign::near(kept_at < wanted - 4.0, stops_below(wanted - 4.0)).or(any(&self.tepid)),
                Sign::near(kept_at > wanted + 6.0, 1.0 - stops_below(wanted + 6.0)),
            ),
            (_, Some(Role::Settings { setpoint, .. })) => (
                Sign::surely(p[setpoint.0] > wanted + 2.0),
                Sign::surely(p[setpoint.0] < wanted - 2.0 || self.wrong_way(p, o)),
            ),
            _ => (Sign::surely(false), Sign::surely(self.wrong_way(p, o))),
        };
        let lukewarm = lukewarm.or(self.room_misread(p, &o.scene.visit.conditions));
        let breaker = self
            .parts
            .over_current
            .iter()
            .any(|b| o.latches.tripped[b.0] && matches!(self.role(*b), Role::OverCurrent { resettable: true, .. }));
        let dark = !o.display_lit;
        let (heat_pump, elements) = (o.heat_by_heat_pump, o.heat_by_elements);
        let hums =
            self.season(&o.scene.visit.conditions).and_then(|c| self.told(p, &o.scene, c)).is_some_and(Timeline::hums);
        let sound = self.sound_efficiency(&o.scene.visit);
        let runs = o.efficiency > 0.0;
        let costly = Sign::near(
            runs && o.efficiency < 0.92 * sound,
            if runs { below(o.efficiency, 0.92 * sound, EFFICIENCY_OFF * sound) } else { 0.0 },
        );
        let fan_runs_on = o.rest.as_ref().is_some_and(|r| self.fan_runs(p, &r.flow));
        let kettles = self
            .parts
            .elements
            .iter()
            .any(|e| matches!(self.role(*e), Role::Element { transfer, .. } if kettles(p[transfer.0])));
        let never_stops = o.rest.as_ref().is_some_and(|r| r.flow_compressor_amps() > 0.3);
        let runs_on = fan_runs_on || kettles || never_stops;
        let fan_flow = self.parts.fans.iter().fold(1.0, |least: f64, f| match self.role(*f) {
            Role::Fan { free, .. } => least.min(p[free.0]),
            _ => least,
        });
        let fan_flow = self.drive.iter().flat_map(|d| &d.fans).fold(fan_flow, |least, f| match self.role(*f) {
            Role::DcFan { side: Some(_), free, .. } => least.min(p[free.0]),
            _ => least,
        });
        // What comes without a command goes on too long.
        let too_hot = too_hot.or(self.machine.sheet.machine.serves != Serves::HotWater && never_stops);
        // Only a machine with elements can miss them.
        let backup = if self.parts.elements.is_empty() { 1.0 } else { o.backup };
        let total = heat_pump.max(elements);
        let short_of = |share: f64, limit: f64| below(share, limit, HEAT_OFF);
        let signs = [
            (Sign::surely(dark || breaker), 0.97),
            (Sign::surely(trips_again), 0.9),
            (Sign::surely(total < 0.3), 0.95),
            (Sign::near((0.3..0.75).contains(&total), short_of(total, 0.75)), 0.35),
            (Sign::near(heat_pump < 0.85 && total >= 0.75, short_of(heat_pump, 0.85)), 0.25),
            (Sign::near(backup < 0.6, short_of(backup, 0.6)), 0.30),
            (costly, 0.2),
            (Sign::surely(!stored.is_empty()), 0.6),
            (Sign::surely(wet_tank || drain_full), 0.7),
            (lukewarm.or(dip_tube), 0.6),
            (too_hot, 0.35),
            (Sign::surely(hums || runs_on), 0.35),
            (Sign::near(fan_flow < 0.9, below(fan_flow, 0.9, FLOW_OFF)), 0.2),
        ];
        let silence: f64 = signs.iter().filter(|(sign, _)| sign.here).map(|(_, call)| 1.0 - call).product();
        Outcome {
            heat_pump,
            elements,
            backup,
            costly: costly.here,
            dark,
            breaker,
            runs_cold: dip_tube,
            wet: wet_tank || drain_full,
            noise: hums || runs_on || fan_flow < 0.9,
            lukewarm: lukewarm.here,
            too_hot: too_hot.here,
            call: (1.0 - silence).max(Outcome::SELDOM),
            noticed: Notices(signs.map(|(sign, _)| sign.chance)),
        }
    }

    /// Whether the room's sensor is off by so much that people feel it. Judgement: 2.5 K.
    fn room_misread(&self, p: &[f64], c: &halfsplit_machine::Conditions) -> bool {
        let Some(sensor) = self.sensor_at(halfsplit_machine::test::Spot::RoomAir) else { return false };
        let room = c.air.unwrap_or(297.15);
        let mut t = crate::sensing::Temperatures {
            at: [room; halfsplit_machine::test::Spot::COUNT],
            doubt: [0.0; halfsplit_machine::test::Spot::COUNT],
            water: [0.0; halfsplit_machine::test::Spot::COUNT],
        };
        // The unit's own air is a little off the room's where a sensor hangs loose.
        t.at[halfsplit_machine::test::Spot::RoomAir.index()] = room;
        (self.seen_kelvin(sensor, p, &t) - room).abs() > 2.5
    }

    /// Whether a room is heated that should be cooled, or the other way round.
    fn wrong_way(&self, p: &[f64], o: &Operation) -> bool {
        let main = self.season(&o.scene.visit.conditions);
        self.two_sided()
            && main.and_then(|c| self.told(p, &o.scene, c)).and_then(Timeline::at_start).is_some_and(|phase| {
                phase.compressor == CompressorDoes::Runs && phase.air.heats != self.sound_air(main).heats
            })
    }

    /// Heat per electrical energy of a sound machine in these conditions, W/W.
    fn sound_efficiency(&self, visit: &Visit) -> f64 {
        let main = self.season(&visit.conditions);
        let air = self.sound_air(main);
        let point = self.sound_point(visit);
        self.useful(&point, main, air) / point.compressor_power.max(1.0)
    }

    /// Where a sound machine settles in these conditions.
    fn sound_point(&self, visit: &Visit) -> LoopPoint {
        let sound: Vec<f64> = self.machine.params.iter().map(|q| q.nominal).collect();
        let water = self.running_water(&sound, visit);
        let air = self.sound_air(self.season(&visit.conditions));
        let valve = halfsplit_machine::sheet::ValveCommand::HoldSuperheat;
        self.loop_point(&sound, &visit.conditions, water, air, 1.0, valve)
    }

    /// What the owner gets in a phase, as a fraction of what he should.
    pub(crate) fn served(&self, visit: &Visit, phase: &Phase, command: Option<usize>) -> f64 {
        let gets = self.useful(&phase.point, command, phase.air);
        if self.machine.sheet.machine.serves == Serves::HotWater && !self.two_sided() {
            return gets / self.machine_loop.usual.heat;
        }
        let should = self.useful(&self.sound_point(visit), command, self.sound_air(command));
        gets / should.max(1.0)
    }

    /// A parameter of a part by name; its nominal 0 if there is none.
    pub(crate) fn named(&self, p: &[f64], part: halfsplit_machine::PartIx, name: &str) -> f64 {
        self.params_of[part.0].iter().find(|i| self.machine.params[**i].name == name).map_or(0.0, |i| p[*i])
    }

    /// The mode that is set: 0 heat pump, 1 elements only, 2 off or away.
    pub(crate) fn mode_set(&self, p: &[f64]) -> usize {
        match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { mode, .. }) => p[mode.0].max(0.0) as usize,
            _ => 0,
        }
    }

    /// Index of the command that serves a purpose.
    pub(crate) fn command_for(&self, what: CallsFor) -> Option<usize> {
        self.machine.commands.iter().position(|c| c.calls_for == Some(what))
    }

    /// Whether a stored detection leaves only the elements.
    pub(crate) fn elements_take_over(&self, stored: &[usize]) -> bool {
        stored.iter().any(|&d| self.machine.detections[d].does == Response::ElementsInstead)
    }

    /// Whether a stored detection stops everything.
    pub(crate) fn all_stopped(&self, stored: &[usize]) -> bool {
        stored.iter().any(|&d| self.machine.detections[d].does == Response::StopAll)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: on a day on which a sound machine hardly heats, that it hardly heats is held against none.
    #[test]
    fn what_a_sound_machine_mostly_shows_too_is_held_against_none() {
        let with = |first: f64, second: f64| {
            let mut chances = [0.0; 13];
            (chances[0], chances[1]) = (first, second);
            Notices(chances)
        };
        let frost = with(0.9, 0.0);
        assert_eq!(with(0.999, 0.0).beyond(&frost), 0.0);
        assert!((with(0.999, 0.4).beyond(&frost) - 0.4).abs() < 1e-12);
        // What it shows now and then counts in so far as it is shown more often.
        assert!((with(0.6, 0.0).beyond(&with(0.2, 0.0)) - 0.5).abs() < 1e-12);
        assert_eq!(with(0.1, 0.0).beyond(&with(0.2, 0.0)), 0.0);
    }
}
