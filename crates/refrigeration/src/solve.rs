//! The balance of the loop.
//!
//! Three unknowns: the two saturation temperatures and the enthalpy that leaves the evaporator. Each compressor,
//! condenser and evaporator answers explicitly; three things must agree: what the evaporator makes of the flow, what the metering
//! device passes, and the refrigerant that stands in the pipes. Newton's method with a fixed order of steps
//! and a fixed list of starts: the answer is a function of its arguments alone.

use crate::charge::two_phase_density;
use crate::compressor::{Compression, Running};
use crate::condenser::{Condensation, Condenser, Outside};
use crate::evaporator::{Air, Coil, Evaporation};
use crate::machine::Machine;
use crate::metering::{Inlet, Supply};
use crate::{LoopFaults, LoopPoint, Metering, Surroundings};
use halfsplit_fluids::refrigerant::Saturation;

/// Residual at which a balance counts as found: relative flow, charge and heat.
const AGREED: f64 = 1e-10;
/// Kelvin of superheat seen that count as much as a residual of one.
const SEEN_SCALE: f64 = 20.0;
/// How far the search may go below the property tables, K: a closed valve draws a vacuum.
const DEEPEST: f64 = 40.0;
/// A step that leaves less than this share of the residual speaks for its slopes.
const SERVES: f64 = 0.2;
/// Steps from one start.
const STEPS: usize = 40;
/// Hot gas cools by so much on the way to the discharge line's sensor, K. Common practice: 2 to 5 K below the port.
const DISCHARGE_LINE: f64 = 3.0;

/// Air gathers where the gas condenses and slows it: resistance of the condensing film grows by this many times the air's
/// share of the pressure. Judgement; a few per cent of air are known to cost tens of per cent of the film's coefficient.
const AIR_BLANKET: f64 = 10.0;

/// Everything that one evaluation of the loop is made of.
struct Task<'a> {
    machine: &'a Machine,
    around: &'a Surroundings,
    condenser: Condenser,
    air: Air,
    coil: Coil,
    outside: Outside,
    run: Running,
    restriction: f64,
    /// Air's share of the high-side pressure.
    air_share: f64,
    /// Charge in kg.
    charge: f64,
    rule: Rule<'a>,
}

/// What closes the metering side.
#[derive(Clone, Copy)]
enum Rule<'a> {
    /// The board holds this superheat, K.
    Superheat(f64),
    /// The board holds this superheat (K) as it sees it, whatever the true one is.
    Seen(f64, &'a dyn Fn(&LoopPoint) -> f64),
    /// The device stands or moves by itself.
    Device(Metering),
}

/// Unknowns: evaporating and condensing dew temperature (K), outlet quality above or below the dew line.
type Guess = [f64; 3];

/// Slope of each residual along each unknown.
type Slopes = [[f64; 3]; 3];

/// How a start is worked. With little charge gas just begins to condense a thousandth of a kelvin above the sink's
/// temperature; a search that slips below it finds no slope. The second round stays above and takes finer slopes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Round {
    Coarse,
    Fine,
}

#[derive(Clone, Copy)]
struct Evaluation {
    residual: [f64; 3],
    low: Saturation,
    condensing: Saturation,
    high_pressure: f64,
    outlet: f64,
    compression: Compression,
    condensation: Condensation,
    evaporation: Evaporation,
    inlet: Inlet,
    opening: f64,
}

impl<'a> Task<'a> {
    fn new(machine: &'a Machine, around: &'a Surroundings, faults: &LoopFaults, rule: Rule<'a>) -> Self {
        let air_share = faults.air_in_circuit.clamp(0.0, 0.6);
        let blanketed = machine.condenser.condensing / (1.0 + AIR_BLANKET * air_share);
        Task {
            machine,
            around,
            condenser: Condenser { condensing: blanketed, ..machine.condenser },
            air: Air::new(around.air, around.humidity),
            coil: machine.evaporator.coil(around.air_flow, faults.evaporator_fouling),
            outside: machine.condenser.outside(around.sink, faults.sink_flow, faults.condenser_fouling),
            run: Running { speed: around.speed, pumping: faults.pumping, bypass: faults.reversing_leak },
            restriction: faults.restriction.clamp(0.0, 0.999),
            air_share,
            charge: machine.charge * faults.charge.max(0.02),
            rule,
        }
    }

    fn unknowns(&self) -> usize {
        match self.rule {
            Rule::Superheat(_) => 2,
            Rule::Seen(..) | Rule::Device(_) => 3,
        }
    }

    fn evaluate(&self, y: &Guess) -> Evaluation {
        let m = self.machine;
        let w = &m.working;
        let low = w.at_dew(y[0]);
        let condensing = w.at_dew(y[1]);
        let high = if self.air_share > 0.0 { w.at_pressure(condensing.p / (1.0 - self.air_share)) } else { condensing };
        let outlet = match self.rule {
            Rule::Superheat(k) => w.superheated(&low, k),
            Rule::Seen(..) | Rule::Device(_) => low.dew.h + y[2] * (low.dew.h - low.bubble.h),
        };
        // Below the property tables the suction gas goes on thinning: flow falls, the state stays.
        let thinned = libm::exp((y[0] - w.t_low).min(0.0) / 8.0);
        let run = Running { speed: self.run.speed * thinned, ..self.run };
        let compression = m.compressor.compress(w, &low, &high, outlet, &run);
        let flow = compression.flow;
        let condensation = self.condenser.condense(w, &self.outside, &condensing, flow, compression.discharge);
        let evaporation = m.evaporator.evaporate(w, &self.coil, &self.air, &low, flow, condensation.outlet);
        let inlet = Inlet {
            pressure: high.p,
            volume: 1.0 / condensation.outlet_density,
            liquid_volume: (1.0 / condensing.bubble.rho).min(1.0 / condensation.outlet_density),
            boiling: if condensation.subcooling > 0.0 { w.bubble_pressure(condensation.t) } else { condensing.p },
        };
        let supply = Supply { working: w, inlet, enthalpy: condensation.outlet };
        let latent = low.dew.h - low.bubble.h;
        let (opening, metering) = match self.rule {
            Rule::Superheat(_) | Rule::Seen(..) => (0.0, 0.0),
            Rule::Device(command) => {
                let at = w.gas(&low, outlet);
                let superheat =
                    if outlet > low.dew.h { at.t - low.dew.t } else { (outlet - low.dew.h) / w.vapour_capacity(&low) };
                let opening = m.meter.opening(&command, superheat).unwrap_or(m.meter.rated_opening);
                let passes = m.meter.flow(opening, self.restriction, &supply, low.p);
                (opening, (passes - flow) / (passes.abs() + flow))
            }
        };
        let v = &m.volumes;
        let liquid = if condensation.subcooling > 0.0 || condensation.outlet <= condensing.bubble.h {
            condensation.outlet_density
        } else {
            // The liquid line carries what leaves the condenser, with the slip of a two-phase flow.
            let x = (condensation.outlet - condensing.bubble.h) / (condensing.dew.h - condensing.bubble.h);
            if x < 1.0 { two_phase_density(&condensing, x, x) } else { condensation.outlet_density }
        };
        let suction = w.gas(&low, compression.suction);
        let standing = v.condenser * condensation.density
            + v.liquid * liquid
            + v.evaporator * evaporation.density
            + v.suction / suction.v;
        let evaporator = (evaporation.outlet - outlet) / latent;
        let mass = (standing - self.charge) / m.charge;
        let mut out = Evaluation {
            residual: [evaporator, mass, metering],
            low,
            condensing,
            high_pressure: high.p,
            outlet,
            compression,
            condensation,
            evaporation,
            inlet,
            opening,
        };
        if let Rule::Seen(wanted, seen) = self.rule {
            out.residual[2] = (seen(&point(self, &out, 0.0, true)) - wanted) / SEEN_SCALE;
        }
        out
    }

    fn supply(&self, at: &Evaluation) -> Supply<'_> {
        Supply { working: &self.machine.working, inlet: at.inlet, enthalpy: at.condensation.outlet }
    }

    /// Range of an unknown.
    fn limits(&self, k: usize, round: Round) -> (f64, f64) {
        let w = &self.machine.working;
        match k {
            0 => (w.t_low - DEEPEST, (self.air.t + 30.0).min(w.t_high)),
            1 if round == Round::Fine => (self.outside.t + 1e-4, w.t_high),
            1 => (w.t_low + 5.0, w.t_high),
            _ => (-0.98, 0.9),
        }
    }

    fn held(&self, y: Guess, round: Round) -> Guess {
        std::array::from_fn(|k| {
            let (low, high) = self.limits(k, round);
            y[k].clamp(low, high)
        })
    }

    /// Slopes of the residuals by small differences.
    fn slopes(&self, y: &Guess, now: &Evaluation, round: Round) -> Slopes {
        let fineness = if round == Round::Fine { 1e-3 } else { 1.0 };
        let nudges = [1e-4 * fineness, 1e-4 * fineness, 1e-6 * fineness];
        let n = self.unknowns();
        let mut slopes = [[0.0; 3]; 3];
        for k in 0..n {
            let mut moved = *y;
            let (_, high) = self.limits(k, round);
            // Away from the limit, so that the slope is one inside the range.
            let nudge = if y[k] + nudges[k] > high { -nudges[k] } else { nudges[k] };
            moved[k] += nudge;
            let there = self.evaluate(&moved);
            for (row, slot) in slopes.iter_mut().enumerate().take(n) {
                slot[k] = (there.residual[row] - now.residual[row]) / nudge;
            }
        }
        slopes
    }

    /// Newton's method from one start; the last guess and whether it settled. Slopes that served well are kept for the next step,
    /// corrected by what that step showed (Broyden, Mathematics of Computation 19, 1965), and worked out anew as soon as they do not.
    fn settle(&self, start: Guess, round: Round) -> (Guess, Evaluation, bool) {
        let n = self.unknowns();
        let mut y = self.held(start, round);
        let mut now = self.evaluate(&y);
        let mut kept: Option<Slopes> = None;
        for _ in 0..STEPS {
            let merit = size(&now.residual);
            if merit < AGREED {
                return (y, now, true);
            }
            if let Some(slopes) = kept.take()
                && let Some(step) = eliminate(slopes, now.residual, n)
                && too_far(&step) <= 1.0
            {
                let (next, there) = self.stepped(&y, &step, 1.0, round);
                if size(&there.residual) < SERVES * merit {
                    kept = Some(corrected(slopes, &y, &next, &now.residual, &there.residual));
                    (y, now) = (next, there);
                    continue;
                }
            }
            let slopes = self.slopes(&y, &now, round);
            let Some(step) = eliminate(slopes, now.residual, n) else { return (y, now, false) };
            let mut share = 1.0 / too_far(&step).max(1.0);
            let mut taken = None;
            for _ in 0..8 {
                let (next, there) = self.stepped(&y, &step, share, round);
                if size(&there.residual) < merit * (1.0 - 1e-4 * share) {
                    taken = Some((next, there));
                    break;
                }
                share *= 0.4;
            }
            let Some((next, there)) = taken else { return (y, now, merit < 1e-7) };
            if size(&there.residual) < SERVES * merit {
                kept = Some(corrected(slopes, &y, &next, &now.residual, &there.residual));
            }
            (y, now) = (next, there);
        }
        let settled = size(&now.residual) < 1e-7;
        (y, now, settled)
    }

    /// A share of a step downhill, held inside the range.
    fn stepped(&self, y: &Guess, step: &Guess, share: f64, round: Round) -> (Guess, Evaluation) {
        let next = self.held(std::array::from_fn(|k| y[k] - share * step[k]), round);
        (next, self.evaluate(&next))
    }

    /// Settles from the first of several starts that works.
    fn solve(&self, first: Option<Guess>) -> (Guess, Evaluation, bool) {
        let u = &self.machine.usual;
        let (air, sink) = (self.air.t, self.outside.t);
        let starts = [
            [air - u.below_air, sink + u.above_sink, 0.02],
            [air - 2.0 * u.below_air, sink + 0.6 * u.above_sink, 0.08],
            [air - 0.6 * u.below_air, sink + 1.5 * u.above_sink, -0.05],
            [air - 35.0, sink + 2.0, 0.15],
            [air - 0.3 * u.below_air, sink + 3.0 * u.above_sink, -0.3],
            [air - 1.4 * u.below_air, sink + 4.0, -0.1],
        ];
        let mut best: Option<(Guess, Evaluation)> = None;
        let rounds = [Round::Coarse, Round::Fine]
            .into_iter()
            .flat_map(|round| first.into_iter().chain(starts).map(move |start| (start, round)));
        for (start, round) in rounds {
            let (y, at, settled) = self.settle(start, round);
            if settled {
                return (y, at, true);
            }
            if best.as_ref().is_none_or(|(_, b)| size(&at.residual) < size(&b.residual)) {
                best = Some((y, at));
            }
        }
        let (y, at) = best.unwrap_or_else(|| unreachable!("the list of starts is not empty"));
        (y, at, false)
    }
}

/// Largest of a step's parts, each against the most that is taken at once.
fn too_far(step: &Guess) -> f64 {
    const LARGEST: Guess = [8.0, 8.0, 0.08];
    step.iter().zip(LARGEST).map(|(s, most)| s.abs() / most).fold(0.0, f64::max)
}

/// Slopes changed as little as explains what a step from `y` to `next` did to the residuals.
fn corrected(mut slopes: Slopes, y: &Guess, next: &Guess, before: &[f64; 3], after: &[f64; 3]) -> Slopes {
    // A kelvin weighs as much as a hundredth of the latent heat.
    const WEIGHTS: Guess = [1.0, 1.0, 1e4];
    let step: Guess = std::array::from_fn(|k| next[k] - y[k]);
    let length: f64 = (0..3).map(|k| WEIGHTS[k] * step[k] * step[k]).sum();
    if length > 0.0 {
        for (row, slopes) in slopes.iter_mut().enumerate() {
            let told: f64 = (0..3).map(|k| slopes[k] * step[k]).sum();
            let missed = (after[row] - before[row] - told) / length;
            for k in 0..3 {
                slopes[k] += missed * WEIGHTS[k] * step[k];
            }
        }
    }
    slopes
}

/// Length of the residual.
fn size(r: &[f64; 3]) -> f64 {
    (r[0] * r[0] + r[1] * r[1] + r[2] * r[2]).sqrt()
}

/// Solves the leading `n` equations by elimination with row pivots.
fn eliminate(mut a: [[f64; 3]; 3], mut b: [f64; 3], n: usize) -> Option<[f64; 3]> {
    for c in 0..n {
        let pivot = (c..n).max_by(|i, j| a[*i][c].abs().total_cmp(&a[*j][c].abs()))?;
        if a[pivot][c].is_nan() || a[pivot][c].abs() <= 1e-14 {
            return None;
        }
        a.swap(c, pivot);
        b.swap(c, pivot);
        for r in c + 1..n {
            let f = a[r][c] / a[c][c];
            let above = a[c];
            for (below, above) in a[r].iter_mut().zip(above).take(n).skip(c) {
                *below -= f * above;
            }
            b[r] -= f * b[c];
        }
    }
    let mut x = [0.0; 3];
    for c in (0..n).rev() {
        let known: f64 = (c + 1..n).map(|k| a[c][k] * x[k]).sum();
        x[c] = (b[c] - known) / a[c][c];
    }
    Some(x)
}

/// Steady operating point of a machine.
///
/// Temperatures of `around` are trusted between −15 and 70 °C; outside, [`LoopPoint::doubt`] grows. With the
/// compressor at rest everything takes the temperature of what surrounds it and the pressures are equal.
/// [`LoopPoint::converged`] is false if no balance was found; the point is then the nearest that was met.
pub fn operating_point(machine: &Machine, around: &Surroundings, faults: &LoopFaults) -> LoopPoint {
    if around.speed <= 0.0 {
        return at_rest(machine, around, faults);
    }
    let task = |rule| Task::new(machine, around, faults, rule);
    let board = match (machine.meter.kind, around.metering) {
        (crate::MeteringKind::Electronic, Metering::Holds { superheat, least, most }) => Some((superheat, least, most)),
        _ => None,
    };
    let stands = |opening: f64, first: Option<Guess>| {
        let (task, at, found) = approach(|o| task(Rule::Device(Metering::Fixed(o))), machine, opening, first);
        point(&task, &at, at.opening, found)
    };
    let Some((superheat, least, most)) = board else {
        if let Metering::Fixed(opening) = around.metering {
            return stands(opening.clamp(crate::metering::LEAST, 1.0), None);
        }
        let task = task(Rule::Device(around.metering));
        let (_, at, settled) = task.solve(None);
        return point(&task, &at, at.opening, settled);
    };
    let held = task(Rule::Superheat(superheat.clamp(0.0, 40.0).min((around.air - machine.working.t_low).max(1.0))));
    let (y, at, settled) = held.solve(None);
    let wanted = machine.meter.opening_for(at.compression.flow, held.restriction, &held.supply(&at), at.low.p);
    let (least, most) = (least.max(crate::metering::LEAST), most.clamp(crate::metering::LEAST, 1.0));
    if settled && wanted >= least && wanted <= most {
        return point(&held, &at, wanted, true);
    }
    let stop = if wanted < least { least } else { most.max(least) };
    stands(stop, settled.then_some([y[0], y[1], 0.03]))
}

/// Settles at a fixed opening. Where no start leads there, it is approached in steps from the rated opening.
fn approach<'a>(
    task: impl Fn(f64) -> Task<'a>,
    machine: &Machine,
    opening: f64,
    first: Option<Guess>,
) -> (Task<'a>, Evaluation, bool) {
    const STEPS: i32 = 12;
    let last = task(opening);
    let (_, at, found) = last.solve(first);
    if found {
        return (last, at, true);
    }
    let rated = machine.meter.rated_opening;
    let (mut y, _, mut found) = task(rated).solve(None);
    for step in 1..=STEPS {
        if !found {
            break;
        }
        let now = task(rated * libm::pow(opening / rated, f64::from(step) / f64::from(STEPS)));
        let (next, there, settled) = now.settle(y, Round::Fine);
        (y, found) = (next, settled);
        if step == STEPS && settled {
            return (last, there, true);
        }
    }
    (last, at, false)
}

/// The balance at which a board sees the superheat that it wants (K), although what it sees of a point is not the truth:
/// a sensor drifts, or hangs in the air. `near` is a point not far away, such as the one that holds the true superheat.
///
/// `None` if there is none that the search finds, or the valve would have to stand beyond `least` or `most`: then the
/// valve goes to one of its stops, and [`operating_point`] with [`Metering::Fixed`] gives what follows.
pub fn held_as_seen(
    machine: &Machine,
    around: &Surroundings,
    faults: &LoopFaults,
    near: &LoopPoint,
    limits: (f64, f64),
    wanted: f64,
    seen: &dyn Fn(&LoopPoint) -> f64,
) -> Option<LoopPoint> {
    let task = Task::new(machine, around, faults, Rule::Seen(wanted, seen));
    let w = &machine.working;
    let low = w.at_dew(near.evaporating);
    let outlet = w.superheated(&low, near.superheat.max(0.5));
    let start = [near.evaporating, near.condensing, (outlet - low.dew.h) / (low.dew.h - low.bubble.h)];
    let (_, at, settled) = task.settle(start, Round::Coarse);
    let opening = machine.meter.opening_for(at.compression.flow, task.restriction, &task.supply(&at), at.low.p);
    (settled && opening >= limits.0 && opening <= limits.1).then(|| point(&task, &at, opening, true))
}

fn point(task: &Task<'_>, at: &Evaluation, opening: f64, converged: bool) -> LoopPoint {
    let (w, around) = (&task.machine.working, task.around);
    let flow = at.compression.flow;
    let suction = w.gas(&at.low, at.compression.suction);
    let hot = w.gas(&at.condensing, at.compression.discharge);
    let cooling = flow * (at.outlet - at.condensation.outlet);
    let (leaving_air, condensate) = task.machine.evaporator.leaving_air(&task.coil, &task.air, cooling);
    let outside = |t: f64| (258.15 - t).max(t - 343.15).max(0.0);
    LoopPoint {
        evaporating: at.low.dew.t,
        condensing: at.condensing.dew.t,
        suction: suction.t,
        discharge: (hot.t - DISCHARGE_LINE).max(at.condensing.dew.t.min(hot.t)),
        liquid: at.condensation.t,
        leaving_air,
        superheat: (suction.t - at.low.dew.t).max(0.0),
        subcooling: at.condensation.subcooling,
        compressor_power: at.compression.power,
        heat: flow * (at.compression.discharge - at.condensation.outlet),
        opening,
        doubt: 1.5 + 0.1 * (outside(around.air) + outside(around.sink)) + if converged { 0.0 } else { 10.0 },
        converged,
        suction_pressure: at.low.p,
        discharge_pressure: at.high_pressure,
        flow,
        cooling,
        condensate,
        frosting: condensate > 0.0 && at.low.dew.t < 271.15,
        boiling_share: at.evaporation.boiling_share,
    }
}

fn at_rest(machine: &Machine, around: &Surroundings, faults: &LoopFaults) -> LoopPoint {
    let w = &machine.working;
    let v = &machine.volumes;
    let coldest = around.air.min(around.sink);
    let sat = w.at_dew(coldest);
    let mean = machine.charge * faults.charge.max(0.02) / (v.condenser + v.liquid + v.evaporator + v.suction);
    // So little left that all of it is vapour.
    let pressure = sat.p * (mean / sat.dew.rho).min(1.0) / (1.0 - faults.air_in_circuit.clamp(0.0, 0.6));
    let pipes = around.air + 0.3 * (around.sink - around.air);
    LoopPoint {
        evaporating: around.air,
        condensing: around.sink,
        suction: around.air,
        // Lagged pipes near a tank keep some of its warmth.
        discharge: pipes,
        liquid: pipes,
        leaving_air: around.air,
        superheat: 0.0,
        subcooling: 0.0,
        compressor_power: 0.0,
        heat: 0.0,
        opening: 0.0,
        doubt: 0.7,
        converged: true,
        suction_pressure: pressure,
        discharge_pressure: pressure,
        flow: 0.0,
        cooling: 0.0,
        condensate: 0.0,
        frosting: false,
        boiling_share: 0.0,
    }
}
