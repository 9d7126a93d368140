//! The water over time, in layers: how far it warms while somebody waits, what a long draw leaves at the tap, how long a
//! full heat-up takes.
//!
//! The phases of an operation take the water as it stands when they begin. Over half an hour that is near enough for the
//! loop (its heat falls by 0.4 % a kelvin) and tells nothing of how the tank fills with warmth, which is worked out here from the
//! heat that the phases give. It is asked for by few tests, so nothing is worked out before it is asked for.

use halfsplit_machine::sheet::{CallsFor, Response, ValveCommand};
use halfsplit_machine::test::{DRAWN, Spot, Test, WARMING};
use halfsplit_machine::{Branch, PartIx, Role};
use halfsplit_refrigeration::tank::{HeatUp, Source, Tank, Weather};

use crate::operate::{CompressorDoes, Operation, Phase, Visit};
use crate::predict::Prediction;
use crate::sensing::{Seen, Water};
use crate::{Plant, predict};

/// Layers of a tank.
const LAYERS: usize = 10;
/// Heights of lower and upper sensor as fractions of the tank's. Judgement.
const SENSORS: (f64, f64) = (0.25, 0.75);
/// The stretch that a condenser is wrapped round. Judgement; the mean of the water along it is what the loop works against
/// (`Plant::between`) to within a twentieth of the difference between top and bottom.
const WRAPPED: (f64, f64) = (0.05, 0.65);
/// Where lower and upper element go in. Judgement.
const ELEMENTS: ((f64, f64), (f64, f64)) = ((0.12, 0.14), (0.70, 0.72));
/// Cold water from the main, K. Judgement.
const COLD: f64 = 288.15;
/// A draw at the tap, m³/s: 8 L/min. Common practice, no source.
const TAP: f64 = 8e-3 / 60.0;
/// The upper element is not left on beyond this, K: the setpoint of somebody who watches the water warm. Judgement.
const TOP_IS_HOT: f64 = 333.15;
/// Longest step through the layers, s: with an element, and with the condenser alone.
const STEP: (f64, f64) = (300.0, 900.0);
/// A full heat-up is given up after this, s.
const LONGEST: f64 = 48.0 * 3600.0;

/// Heat that goes on for a time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Stretch {
    seconds: f64,
    /// W into the water.
    condenser: f64,
    lower: f64,
    upper: f64,
    /// Electricity, W.
    watts: f64,
}

/// What half an hour does.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Warmed {
    /// Rise at the upper and at the lower sensor's height, K.
    pub top: f64,
    pub bottom: f64,
    /// Into the water, J.
    pub heat: f64,
    /// Taken, J.
    pub electricity: f64,
}

/// What a proving run of a sound machine shows, in the conditions of a visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoundRun {
    /// How long it is watched, s.
    pub seconds: f64,
    /// Water at the lower sensor's height when it begins, K.
    pub water: f64,
    /// Rise there, K.
    pub rise: f64,
    /// Electricity meanwhile, J.
    pub electricity: f64,
    /// Heat into the water by electricity.
    pub cop: f64,
    /// Standard deviation of rise and COP, relative.
    pub doubt: f64,
    /// From `heat_up_from` to `heat_up_to` by the compressor alone; `None` where it does not get there.
    pub heat_up: Option<HeatUp>,
    /// K.
    pub heat_up_from: f64,
    /// K.
    pub heat_up_to: f64,
}

impl Plant {
    fn tank(&self, p: &[f64], water: Water) -> Option<Tank> {
        let Role::Tank { litres, loss, .. } = self.role(self.parts.tank?) else { return None };
        let (low, high) = SENSORS;
        // From one sensor to the other the water is warmer the higher; beyond them it is even.
        let at =
            |height: f64| water.bottom + (water.top - water.bottom) * ((height - low) / (high - low)).clamp(0.0, 1.0);
        Some(Tank::layered(p[litres.0], LAYERS, p[loss.0], at))
    }

    fn inlet(&self, p: &[f64]) -> f64 {
        match self.parts.tank.map(|t| self.role(t)) {
            Some(Role::Tank { dip_tube, .. }) if p[dip_tube.0] < 0.5 => 1.0,
            _ => 0.0,
        }
    }

    fn stretch(&self, p: &[f64], phase: &Phase, seconds: f64) -> Stretch {
        let mut out = Stretch { seconds, ..Stretch::default() };
        for e in &self.parts.elements {
            let Role::Element { upper, transfer } = self.role(*e) else { continue };
            let watts: f64 = self.machine.branches_of(*e).map(|(ix, _)| phase.flow.branch_watts[ix.0]).sum();
            *(if *upper { &mut out.upper } else { &mut out.lower }) += watts * p[transfer.0];
        }
        out.condenser = phase.point.heat;
        let loads = self.machine.branches.iter().zip(&phase.flow.branch_watts);
        out.watts = loads
            .filter(|((_, b), _)| !matches!(b, Branch::Mains { .. } | Branch::Windings { .. }))
            .map(|(_, w)| w.max(0.0))
            .sum::<f64>()
            + match (phase.compressor, self.parts.compressor.map(|c| self.role(c))) {
                (CompressorDoes::Runs | CompressorDoes::RunsThenStops(_), _) => phase.point.compressor_power,
                (CompressorDoes::Hums(_), Some(Role::Compressor(c))) => {
                    phase.flow.compressor_amps * phase.flow.compressor_amps * p[c.run_ohms.0]
                }
                _ => 0.0,
            };
        out
    }

    /// What a command does within so many seconds: its phases, the board's further tries where it gives up, and what it does
    /// instead.
    fn stretches(&self, p: &[f64], operation: &Operation, command: usize, seconds: f64) -> Vec<Stretch> {
        let Some(told) = self.told(p, &operation.scene, command) else { return Vec::new() };
        let mut out = Vec::with_capacity(told.phases.len() + 1);
        let mut clock = 0.0;
        for (i, phase) in told.phases.iter().enumerate() {
            let own = phase.starts + phase.lasts;
            let ends = told.phases.get(i + 1).map_or(own, |next| own.min(next.starts)).min(seconds);
            // What stands after the board has given up, or after the last phase, is a machine at rest.
            let last_of_a_try = told.given_up.is_some() && i > 0 && i + 1 == told.phases.len();
            if ends > clock && !last_of_a_try {
                out.push(self.stretch(p, phase, ends - clock));
                clock = ends;
            }
        }
        let Some(g) = told.given_up else { return out };
        let sum = |f: fn(&Stretch) -> f64| out.iter().map(|s| f(s) * s.seconds).sum::<f64>();
        let trying = g.after.max(clock).max(1.0);
        let share = f64::from(g.tries) / trying;
        let mean = Stretch {
            seconds: trying.min(seconds),
            condenser: sum(|s| s.condenser) * share,
            lower: sum(|s| s.lower) * share,
            upper: sum(|s| s.upper) * share,
            watts: sum(|s| s.watts) * share,
        };
        let mut out = vec![mean];
        let left = seconds - trying;
        let instead = self.machine.detections[g.detection].does == Response::ElementsInstead;
        if left > 0.0
            && instead
            && let Some(elements) = self.command_for(CallsFor::Elements).filter(|c| *c != command)
        {
            out.extend(self.stretches(p, operation, elements, left));
        }
        out
    }

    /// What [`WARMING`] seconds of a command do to the water that is there; `None` without a tank.
    fn warmed(&self, p: &[f64], operation: &Operation, command: usize) -> Option<Warmed> {
        let water = operation.rest.as_ref()?.water;
        let mut tank = self.tank(p, water)?;
        let room = operation.scene.visit.conditions.air_or_default();
        let weather = Weather { room, draw: 0.0, cold: COLD, inlet: 0.0 };
        let before = (tank.at(SENSORS.0), tank.at(SENSORS.1));
        let mut out = Warmed::default();
        let all = self.stretches(p, operation, command, WARMING);
        let idle = WARMING - all.iter().map(|s| s.seconds).sum::<f64>();
        for s in all.into_iter().chain((idle > 0.0).then(|| Stretch { seconds: idle, ..Stretch::default() })) {
            let parts = (s.seconds / if s.lower + s.upper > 0.0 { STEP.0 } else { STEP.1 }).ceil().max(1.0);
            let dt = s.seconds / parts;
            for _ in 0..parts as u64 {
                let upper = if tank.at(SENSORS.1) < TOP_IS_HOT { s.upper } else { 0.0 };
                let sources = [
                    Source { heat: s.condenser, span: WRAPPED },
                    Source { heat: s.lower, span: ELEMENTS.0 },
                    Source { heat: upper, span: ELEMENTS.1 },
                ];
                out.heat += tank.step(dt, &sources, &weather).put_in;
                out.electricity += (s.watts - s.upper + upper) * dt;
            }
        }
        (out.bottom, out.top) = (tank.at(SENSORS.0) - before.0, tank.at(SENSORS.1) - before.1);
        Some(out)
    }

    /// How far the heat of a loop is to be doubted, relative: the machine's own tolerance and humidity, and what nobody has said.
    /// Judgement.
    fn heat_doubt(&self, visit: &Visit, water: Water) -> f64 {
        let air = if visit.conditions.air.is_some() { 0.0 } else { 0.1 };
        let warmer = 0.01 * water.doubt;
        libm::sqrt(0.12 * 0.12 + air * air + warmer * warmer)
    }

    pub(crate) fn water_rise(
        &self,
        p: &[f64],
        operation: &Operation,
        test: &Test,
        spot: Spot,
        sensor: Option<PartIx>,
    ) -> Prediction {
        let (Some(c), Some(rest)) = (test.command, operation.rest.as_ref()) else { return predict::doubtful() };
        let Some(warmed) = self.warmed(p, operation, c.0) else { return predict::doubtful() };
        let visit = &operation.scene.visit;
        let begins = self.temperatures_in(rest, &visit.conditions);
        let mut ends = self
            .phase_of(p, operation, test.command, halfsplit_machine::test::Moment::Settled)
            .map_or(begins, |phase| self.temperatures_in(phase, &visit.conditions));
        for (at, rise) in [(Spot::WaterTop, warmed.top), (Spot::WaterBottom, warmed.bottom)] {
            ends.at[at.index()] = begins.at[at.index()] + rise;
        }
        let (rise, elsewhere) = match sensor {
            None => (ends.at[spot.index()] - begins.at[spot.index()], 0.0),
            Some(part) => {
                if !operation.display_lit || !self.heard(part, rest) {
                    return predict::OVER;
                }
                let shown = |t| match self.board_sees(part, p, self.sensor_temperature(part, p, t).0) {
                    Seen::Kelvin(k) => Some(k),
                    Seen::TooCold | Seen::TooHot => None,
                };
                let (Some(from), Some(to)) = (shown(&begins), shown(&ends)) else { return predict::OVER };
                // A sensor that is plugged in elsewhere shows what nobody has worked out so well.
                let Role::Thermistor(s) = self.role(part) else { return predict::doubtful() };
                let own = p[s.spot.0] as usize == spot.index();
                (to - from, if own { 0.0 } else { ends.doubt[(p[s.spot.0] as usize).min(Spot::COUNT - 1)] })
            }
        };
        let by_heat = self.heat_doubt(visit, rest.water) * rise.abs();
        // How the water lies between the sensors nobody knows: a fifth of the rise where it lies in layers, little where it does not.
        // Two readings of a display, 0.3 K each.
        let apart = (rest.water.top - rest.water.bottom).abs() + 0.31 * rest.water.doubt;
        // What an element does to the top depends on when the thermostat hands over to the lower one.
        let handed_over = spot == Spot::WaterTop && self.machine.commands[c.0].calls_for == Some(CallsFor::Elements);
        let most = if handed_over { 0.6 } else { 0.17 };
        let layers = (0.03 + most * (apart / 10.0).min(1.0)) * rise.abs();
        let common = libm::sqrt(by_heat * by_heat + layers * layers + elsewhere * elsewhere + 0.5 * 0.5);
        Prediction::Number { centre: rise, noise: 0.45, common, over: 0.002 }
    }

    pub(crate) fn energy_meanwhile(&self, p: &[f64], operation: &Operation, test: &Test) -> Prediction {
        let Some(warmed) = test.command.and_then(|c| self.warmed(p, operation, c.0)) else {
            return predict::doubtful();
        };
        let e = warmed.electricity;
        // A counting clamp: 2 % and the last digit of 0.01 kWh; motor and conditions as for amps.
        Prediction::Number { centre: e, noise: 0.02 * e + 1.5e4, common: 0.1 * e + 1e4, over: 0.0 }
    }

    /// Whether the tap cools while a fifth of the tank is drawn: with cold water let in at the top, and also where only the
    /// top of the tank is warm.
    pub(crate) fn long_draw(&self, p: &[f64], operation: &Operation) -> Prediction {
        let found = operation.rest.as_ref().and_then(|r| Some((r.water, self.tank(p, r.water)?)));
        let Some((water, mut tank)) = found else { return Prediction::Words(vec![0.5, 0.5]) };
        let hot = tank.at(1.0);
        let seconds = DRAWN * tank.volume / TAP;
        let room = operation.scene.visit.conditions.air_or_default();
        tank.step(seconds, &[], &Weather { room, draw: TAP, cold: COLD, inlet: self.inlet(p) });
        let fall = hot - tank.at(1.0);
        // Three kelvins show at a thermometer under the tap that is watched for minutes. What the layers are like is a matter of
        // the days before.
        let spread = 0.8 + 0.1 * fall.abs() + 0.02 * water.doubt * f64::from(u8::from(water.top > water.bottom + 2.0));
        let cools = 0.03 + 0.94 / (1.0 + libm::exp(-1.7 * (fall - 3.0) / spread));
        Prediction::Words(vec![cools, 1.0 - cools])
    }

    /// From `from` to `to` (K, the whole tank) by the heat pump alone, with these parameters in these conditions; `None` without a
    /// tank or a heat pump that runs. Works out five operating points: not for inner loops.
    pub fn heat_up(&self, p: &[f64], visit: &Visit, from: f64, to: f64) -> Option<HeatUp> {
        const POINTS: usize = 5;
        let even = |t: f64| Water { top: t, bottom: t, doubt: 0.0 };
        let command = self.command_for(CallsFor::HeatPump)?;
        let operation = self.operate(p, visit);
        let phase = self.told(p, &operation.scene, command)?.settled()?;
        if phase.compressor != CompressorDoes::Runs {
            return None;
        }
        let beside = self.stretch(p, phase, 1.0).watts - phase.point.compressor_power;
        let step = (to - from).max(1.0) / (POINTS - 1) as f64;
        let points: Vec<(f64, f64)> = (0..POINTS)
            .map(|i| {
                let water = even(from + step * i as f64);
                let at = self.loop_point(p, &visit.conditions, water, phase.air, 1.0, ValveCommand::HoldSuperheat);
                (at.heat, at.compressor_power + beside)
            })
            .collect();
        let machine = |water: f64| {
            let x = ((water - from) / step).clamp(0.0, (POINTS - 1) as f64);
            let i = (x as usize).min(POINTS - 2);
            let (a, b, share) = (points[i], points[i + 1], x - i as f64);
            (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share)
        };
        let mut tank = self.tank(p, even(from))?;
        let room = visit.conditions.air_or_default();
        let weather = Weather { room, draw: 0.0, cold: COLD, inlet: 0.0 };
        Some(tank.heat_up(to, LONGEST, WRAPPED, &weather, machine))
    }

    /// What a proving run of the sound machine shows on the water that an operation finds; `None` without a tank or a heat pump.
    pub fn sound_run(&self, visit: &Visit) -> Option<SoundRun> {
        let sound = self.machine.sound();
        let command = self.command_for(CallsFor::HeatPump)?;
        self.parts.compressor?;
        let operation = self.operate(&sound, visit);
        let water = operation.rest.as_ref()?.water;
        let warmed = self.warmed(&sound, &operation, command)?;
        let heat_up_to = match self.parts.settings.map(|s| self.role(s)) {
            Some(Role::Settings { setpoint, .. }) => sound[setpoint.0],
            _ => 323.15,
        };
        let heat_up = self.heat_up(&sound, visit, COLD, heat_up_to).filter(|h| h.reached);
        (warmed.electricity > 0.0 && warmed.bottom > 0.0).then(|| SoundRun {
            seconds: WARMING,
            water: water.bottom,
            rise: warmed.bottom,
            electricity: warmed.electricity,
            cop: warmed.heat / warmed.electricity,
            doubt: self.heat_doubt(visit, water),
            heat_up,
            heat_up_from: COLD,
            heat_up_to,
        })
    }
}
