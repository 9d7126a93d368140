//! A hidden machine: like the sheet's, and never its twin.

use std::collections::BTreeMap;

use halfsplit_diagnosis::Observed;
use halfsplit_machine::library::Op;
use halfsplit_machine::test::{Answer, Measure, Moment, Spot, Test};
use halfsplit_machine::{Conditions, Machine, ModeIx, ParamIx, ResolvedEdit, Spread};
use halfsplit_plant::{Axis, BELIEVABLE, Operation, Plant, Prediction, THERMOMETER, Visit, axis_of};
use halfsplit_units::Dimension;

use crate::draw::Draw;

/// How far hidden machines and their readings stray from what the engine assumes. All judgement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stray {
    /// Share of readings that are slips (0 to 1).
    pub slips: f64,
    /// Share of (test, mode) predictions that are altered: the model is wrong there (0 to 1).
    pub altered: f64,
    /// Standard deviation of the stated air temperature's error, K.
    pub air: f64,
    /// Standard deviation of the water temperatures about what the history leaves, K.
    pub water: f64,
    /// Share of a prediction's common error that is drawn once per test: the rest of it stands for part tolerance,
    /// which is drawn with the parameters (0 to 1).
    pub common: f64,
    /// How far an edit of a mode without degrees may lie from the library's, as a fraction.
    pub severity: f64,
}

impl Default for Stray {
    fn default() -> Self {
        Self { slips: 0.02, altered: 0.03, air: 1.0, water: 5.0, common: 0.7, severity: 0.2 }
    }
}

/// Water comes in no colder, K. Judgement.
const COLDEST_WATER: f64 = 279.15;

/// A fault that is hidden: edits off the library's grid.
#[derive(Debug, Clone, PartialEq)]
struct Fault {
    /// A mode of its name, for what the library says of it.
    mode: ModeIx,
    edits: Vec<ResolvedEdit>,
    /// Fraction of episodes in which it is there; `None`: always.
    duty: Option<f64>,
    mended: bool,
}

/// A machine with its own values, its own faults and its own day.
#[derive(Debug, Clone)]
pub struct Hidden {
    seed: u64,
    stray: Stray,
    stated: Conditions,
    conditions: Conditions,
    sound: Vec<f64>,
    faults: Vec<Fault>,
    reset: bool,
    epoch: u64,
    asked: BTreeMap<(u64, usize), u64>,
    /// By faults present and reset: parameters and operation.
    worked: BTreeMap<(u64, bool), (Vec<f64>, Operation)>,
}

impl Hidden {
    /// Hides the faults of these names (ids without level, as in [`halfsplit_machine::Mode::name_id`]) on a day that
    /// is told as `stated`. Everything else follows from the seed.
    ///
    /// Names that the machine does not know hide nothing.
    pub fn new(plant: &Plant, stated: Conditions, names: &[&str], stray: Stray, seed: u64) -> Hidden {
        let m = &plant.machine;
        let mut draw = Draw::keyed(seed, &[1]);
        let sound = m.params.iter().map(|p| drawn(p.nominal, p.spread, &mut draw)).collect();
        let mut draw = Draw::keyed(seed, &[2]);
        let faults = names.iter().filter_map(|name| fault(m, name, &stray, &mut draw)).collect();
        let mut draw = Draw::keyed(seed, &[3]);
        let outdoors = Draw::keyed(seed, &[9]).normal();
        let conditions = Conditions {
            outdoor: stated.outdoor.map(|t| t + stray.air * outdoors),
            air: Some(stated.air_or_default() + stray.air * draw.normal()),
            humidity: Some((stated.humidity.unwrap_or(0.55) + 0.12 * draw.normal()).clamp(0.15, 0.95)),
            ..stated
        };
        let mut hidden = Hidden {
            seed,
            stray,
            stated,
            conditions,
            sound,
            faults,
            reset: false,
            epoch: 0,
            asked: BTreeMap::new(),
            worked: BTreeMap::new(),
        };
        hidden.settle_water(plant, &mut draw);
        hidden
    }

    /// The water is as the history leaves it, give or take: nobody has measured it.
    fn settle_water(&mut self, plant: &Plant, draw: &mut Draw) {
        let all = self.all_left();
        let there = |(_, f): &(usize, &Fault)| f.duty.is_none() && !f.mended;
        let steady = self.faults.iter().enumerate().filter(there).fold(0, |bits, (i, _)| bits | 1 << i);
        let share = self.faults.iter().filter_map(|f| f.duty).fold(0.0, f64::max);
        let kelvin = |hidden: &mut Hidden, spot: Spot| {
            let test = plant
                .machine
                .tests
                .iter()
                .position(|t| t.measure == Measure::Thermometer(spot) && t.command.is_none())?;
            let mut centre = |present: u64| match hidden.prediction_of(plant, test, present) {
                Prediction::Number { centre, .. } => Some(centre),
                Prediction::Words(_) => None,
            };
            // What comes and goes has left its mark in so far as it was there.
            let (always, never) = (centre(all)?, centre(steady)?);
            Some(never + share * (always - never))
        };
        let (top, bottom) = (kelvin(self, Spot::WaterTop), kelvin(self, Spot::WaterBottom));
        let (both, one) = (draw.normal(), draw.normal());
        // Water from the mains is not ice.
        let off = |x: f64| (x + self.stray.water * both).max(COLDEST_WATER);
        let top = self.stated.water_top.map_or(top.map(off), |t| Some(t + self.stray.air * one));
        let bottom = self.stated.water_bottom.or(bottom.map(off));
        self.conditions.water_top = top;
        self.conditions.water_bottom = match (bottom, top) {
            (Some(b), Some(t)) => Some(b.min(t)),
            (b, _) => b,
        };
        self.worked.clear();
    }

    /// The conditions as they are told.
    pub fn stated(&self) -> Conditions {
        self.stated
    }

    /// The conditions as they are.
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }

    /// This machine's own parameters without its faults.
    pub fn sound(&self) -> &[f64] {
        &self.sound
    }

    /// The modes that are hidden here and not mended yet: one of each name, whatever its degree.
    pub fn faults(&self) -> impl Iterator<Item = ModeIx> + '_ {
        self.faults.iter().filter(|f| !f.mended).map(|f| f.mode)
    }

    /// Parameters with the faults that are there now.
    fn params(&self, present: u64) -> Vec<f64> {
        let mut p = self.sound.clone();
        for (i, f) in self.faults.iter().enumerate() {
            if present & (1 << i) != 0 {
                for e in &f.edits {
                    edit(&mut p[e.param.0], e.op);
                }
            }
        }
        p
    }

    /// Which faults are there in an episode, as bits.
    fn present(&self, episode: u64) -> u64 {
        self.faults
            .iter()
            .enumerate()
            .filter(|(i, f)| {
                !f.mended && f.duty.is_none_or(|d| Draw::keyed(self.seed, &[4, *i as u64, episode]).chance(d))
            })
            .fold(0, |bits, (i, _)| bits | 1 << i)
    }

    fn all_left(&self) -> u64 {
        self.faults.iter().enumerate().filter(|(_, f)| !f.mended).fold(0, |bits, (i, _)| bits | 1 << i)
    }

    fn operation(&mut self, plant: &Plant, present: u64) -> &(Vec<f64>, Operation) {
        let key = (present, self.reset);
        let visit = Visit { conditions: self.conditions, reset: self.reset };
        if !self.worked.contains_key(&key) {
            let params = self.params(present);
            let operation = plant.operate(&params, &visit);
            self.worked.insert(key, (params, operation));
        }
        &self.worked[&key]
    }

    /// What this machine's own values lead to for a test, with these faults there (bits).
    fn prediction_of(&mut self, plant: &Plant, test: usize, present: u64) -> Prediction {
        let present = self.altered(plant, test, present);
        let test = &plant.machine.tests[test];
        let (params, operation) = self.operation(plant, present);
        plant.predict(params, operation, test)
    }

    /// Where the engine's model is wrong, a fault does not show in a test as it should.
    fn altered(&self, plant: &Plant, test: usize, present: u64) -> u64 {
        let opening = matches!(plant.machine.tests[test].measure, Measure::Complaint | Measure::DisplayLit);
        (0..self.faults.len() as u64).fold(present, |bits, i| {
            let wrong = !opening && Draw::keyed(self.seed, &[5, i, test as u64]).chance(self.stray.altered);
            if wrong { bits & !(1 << i) } else { bits }
        })
    }

    /// Answers a test, in an episode of the visit: what the technician reads or is told.
    pub fn answer(&mut self, plant: &Plant, test: usize, episode: u64) -> Observed {
        let t = &plant.machine.tests[test];
        // What the customer tells and the board stored is from when the faults were there.
        let history = matches!(t.measure, Measure::Complaint | Measure::ShownCode) && !self.reset;
        // How a part is worn is seen also while it happens to work.
        let lasting = t.measure.shows_wear(&plant.machine);
        let present = if history || lasting { self.all_left() } else { self.present(episode) };
        let prediction = self.prediction_of(plant, test, present);
        let count = self.asked.entry((self.epoch, test)).or_insert(0);
        *count += 1;
        let mut draw = Draw::keyed(self.seed, &[6, self.epoch, test as u64, *count]);
        if draw.chance(self.stray.slips) {
            return shown(t, slip(t, &prediction, &mut draw));
        }
        match prediction {
            Prediction::Words(p) => {
                // What was once seen is seen again, but for what a machine does: that may turn out otherwise.
                let afresh = t.moment != Moment::AtRest && draw.chance(0.2);
                let mut once = Draw::keyed(self.seed, &[8, self.epoch, test as u64]);
                Observed::Category(if afresh { draw.pick(&p) } else { once.pick(&p) })
            }
            Prediction::Number { centre, noise, common, over } => {
                // The same at every reading of this test on this machine.
                let mut once = Draw::keyed(self.seed, &[7, test as u64]);
                let (out_of_range, placed) = (once.chance(over), once.normal());
                if out_of_range {
                    return Observed::Over;
                }
                let value = centre + self.stray.common * common * placed + noise * draw.normal();
                shown(t, Observed::Value(value.max(least(t))))
            }
        }
    }

    /// Mends: every fault of this repair group goes, and what is made anew with it. Returns whether there was one of the group itself.
    pub fn mend(&mut self, plant: &Plant, group: &str) -> bool {
        let m = &plant.machine;
        let right = self.faults().any(|f| m.modes[f.0].repair_group == group);
        for f in &mut self.faults {
            f.mended |= m.puts_right(group).any(|i| i == f.mode);
        }
        self.reset(plant);
        right
    }

    /// Resets everything that had tripped.
    pub fn reset(&mut self, plant: &Plant) {
        // What had only tripped is right by that.
        for f in &mut self.faults {
            f.mended |= plant.machine.is_a_trip(f.mode);
        }
        self.reset = true;
        self.epoch += 1;
        self.worked.clear();
    }

    /// Whether a fault is left that anybody would notice: `chance` is the least chance of a call (0 to 1) that counts.
    pub fn is_right(&mut self, plant: &Plant, chance: f64) -> bool {
        let left = self.all_left();
        left == 0 || self.operation(plant, left).1.outcome.call <= chance
    }
}

/// A value drawn within its spread, cut off at three standard deviations; what cannot be negative stays so.
fn drawn(nominal: f64, spread: Spread, draw: &mut Draw) -> f64 {
    let n = draw.normal();
    match spread {
        Spread::None => nominal,
        // What may be half or double is not spread evenly to both sides.
        Spread::Relative(r) => nominal * libm::exp(r * n),
        // A fouling of nothing has only one side.
        Spread::Absolute(a) if nominal >= 0.0 && nominal < 3.0 * a && nominal != 0.0 => (nominal + a * n).max(0.0),
        Spread::Absolute(a) => nominal + a * n,
    }
}

fn edit(p: &mut f64, op: Op) {
    *p = match op {
        Op::Set(v) => v,
        Op::Scale(f) => *p * f,
        Op::Add(d) => *p + d,
    };
}

/// The fault of a name, at a degree between those of the library.
fn fault(m: &Machine, name: &str, stray: &Stray, draw: &mut Draw) -> Option<Fault> {
    let levels: Vec<usize> = (0..m.modes.len()).filter(|i| m.modes[*i].name_id == name).collect();
    let at = draw.between(0.0, (levels.len().max(1) - 1) as f64);
    let low = *levels.get(at as usize)?;
    let high = *levels.get(at as usize + 1).unwrap_or(&low);
    let part = at - libm::floor(at);
    let (a, b) = (&m.modes[low].edits, &m.modes[high].edits);
    let nearest = if part < 0.5 { low } else { high };
    let edits = match between(a, b, part) {
        Some(edits) if low != high => edits,
        _ => m.modes[nearest].edits.iter().map(|e| jitter(m, *e, stray.severity, draw)).collect(),
    };
    let duty = m.modes[low].intermittent.then(|| draw.between(0.2, 0.8));
    Some(Fault { mode: ModeIx(nearest), edits, duty, mended: false })
}

/// Edits between two degrees; `None` if they do different things.
fn between(a: &[ResolvedEdit], b: &[ResolvedEdit], part: f64) -> Option<Vec<ResolvedEdit>> {
    let blend = |x: f64, y: f64| {
        if x > 0.0 && y > 0.0 {
            libm::exp(libm::log(x) * (1.0 - part) + libm::log(y) * part)
        } else {
            x * (1.0 - part) + y * part
        }
    };
    (a.len() == b.len()).then_some(())?;
    a.iter()
        .zip(b)
        .map(|(x, y)| {
            let op = match (x.op, y.op) {
                _ if x.param != y.param => return None,
                (x, y) if x == y => x,
                (Op::Set(x), Op::Set(y)) => Op::Set(blend(x, y)),
                (Op::Scale(x), Op::Scale(y)) => Op::Scale(blend(x, y)),
                (Op::Add(x), Op::Add(y)) => Op::Add(x * (1.0 - part) + y * part),
                _ => return None,
            };
            Some(ResolvedEdit { param: x.param, op })
        })
        .collect()
}

/// An edit a little stronger or weaker than the library's; what is a state rather than a size stays.
fn jitter(m: &Machine, e: ResolvedEdit, by: f64, draw: &mut Draw) -> ResolvedEdit {
    let f = 1.0 + by * draw.between(-1.0, 1.0);
    let op = match e.op {
        Op::Set(v) if is_state(m, e.param, v) => e.op,
        Op::Set(v) => Op::Set(v * f),
        // What is nearly gone stays nearly gone.
        Op::Scale(s) if s < 1.0 => Op::Scale(libm::pow(s.max(0.0), f)),
        Op::Scale(s) => Op::Scale(1.0 + (s - 1.0) * f),
        Op::Add(d) => Op::Add(d * f),
    };
    ResolvedEdit { param: e.param, op }
}

fn is_state(m: &Machine, param: ParamIx, value: f64) -> bool {
    m.params[param.0].spread == Spread::None && value.abs() <= 40.0 && value == libm::floor(value)
}

/// The least that can be read, on the test's axis.
fn least(t: &Test) -> f64 {
    match (axis_of(t), &t.answer) {
        (Some(axis @ (Axis::Ohms | Axis::Farads)), _) => axis.to(0.0),
        (_, Answer::Number(Dimension::Voltage | Dimension::Current | Dimension::Energy)) => 0.0,
        // Nothing is emptier than empty.
        (_, Answer::Number(Dimension::PressureGauge)) => -101_325.0,
        _ => f64::NEG_INFINITY,
    }
}

/// What an instrument makes of a reading: beyond its range it shows no figures.
fn shown(t: &Test, observed: Observed) -> Observed {
    let (low, high) = match (&t.measure, &t.answer) {
        (Measure::ShownTemperature(_), _) => BELIEVABLE,
        (_, Answer::Number(Dimension::Temperature)) => THERMOMETER,
        _ => return observed,
    };
    match observed {
        Observed::Value(x) if !(low..=high).contains(&x) => Observed::Over,
        other => other,
    }
}

/// A mistaken reading: the wrong word, the wrong decade, the wrong place.
fn slip(t: &Test, prediction: &Prediction, draw: &mut Draw) -> Observed {
    match (prediction, axis_of(t)) {
        (Prediction::Words(p), _) => Observed::Category(draw.below(p.len())),
        (Prediction::Number { centre, .. }, Some(Axis::Ohms | Axis::Farads)) => match draw.below(4) {
            0 => Observed::Over,
            1 => Observed::Value((centre + 1.0).max(least(t))),
            2 => Observed::Value((centre - 1.0).max(least(t))),
            _ => Observed::Value(least(t)),
        },
        (Prediction::Number { centre, .. }, _) => match &t.answer {
            Answer::Number(Dimension::Voltage | Dimension::Current | Dimension::Energy) => {
                Observed::Value(centre * [0.0, 0.5, 0.1][draw.below(3)])
            }
            _ => Observed::Value(centre + if draw.chance(0.5) { 9.0 } else { -9.0 }),
        },
    }
}
