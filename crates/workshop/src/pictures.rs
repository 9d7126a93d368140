//! What is in the pictures of a job, as data: the circuit with what stands on it, the loop with what is expected and
//! measured, the cycle as expected. How it looks is the business of `halfsplit-drawing`.

use halfsplit_machine::test::{Measure, Moment, PowerState, Spot, Test};
use halfsplit_machine::{Branch, CommandIx, Drive, Machine, Role, TerminalRef};

use halfsplit_bench::chart::{Trace, pressure_enthalpy};
use halfsplit_bench::refrigerant::{Readings, named};
use halfsplit_units::{Dimension, Entry, parse_entry, show};

use crate::engine::Engine;
use crate::error::{JobError, What};
use crate::power::PowerView;
use crate::view::ReadingView;

/// Whether a wire is to be taken for live.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Live {
    /// Live as far as anybody has reported, or nobody has reported anything.
    Live,
    /// On the supply's side of the isolator: live whatever was reported about the machine.
    Always,
    /// Not live in the state drawn: nothing commanded feeds it, or it was reported isolated and proved dead.
    Not,
    /// Reported isolated and not yet proved dead: to be taken for live.
    NotProved,
}

/// The circuit of a machine in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct WiringView {
    /// What is drawn, in words: "sound machine, the heat pump called for".
    pub state: String,
    /// The power as reported, in words.
    pub power: String,
    /// For each wire, V RMS to earth as (real, imaginary), or V DC to its rail's ground; `None` where nothing is worked
    /// out.
    pub volts: Vec<Option<(f64, f64)>>,
    /// For each wire, whether it is to be taken for live.
    pub live: Vec<Live>,
    /// For each branch, A RMS.
    pub amps: Vec<f64>,
    /// For each branch, whether it is a closed contact; `None` for what is no contact.
    pub closed: Vec<Option<bool>>,
    /// Where the probes go, in order.
    pub probes: Vec<TerminalRef>,
    /// The test that the probes belong to, in one line.
    pub test: Option<String>,
}

/// The refrigerant loop with what is expected of it and what was measured.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LoopView {
    /// Parts in the order in which the refrigerant passes them: id, name, and what each is to the loop.
    pub parts: Vec<LoopPart>,
    /// Places with a value.
    pub marks: Vec<LoopMark>,
    /// The refrigerant, as the sheet names it.
    pub refrigerant: Option<String>,
}

/// A part of the loop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoopPart {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// What it does to the refrigerant.
    pub does: LoopDoes,
}

/// What a part does to the refrigerant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoopDoes {
    /// Raises the pressure.
    Compresses,
    /// Gives heat off.
    Condenses,
    /// Lowers the pressure.
    Meters,
    /// Takes heat up.
    Evaporates,
    /// Something else on the way.
    Passes,
}

/// A place on or beside the loop that has a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoopMark {
    /// What it is called, for example "suction line".
    pub place: String,
    /// Where along the loop.
    pub at: LoopPlace,
    /// One for each way to see it.
    pub seen: Vec<LoopSeen>,
}

/// Where along the loop a value belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LoopPlace {
    /// After the compressor.
    Discharge,
    /// What the condenser heats.
    Sink,
    /// After the condenser.
    Liquid,
    /// In the evaporator.
    Evaporator,
    /// What the evaporator cools.
    Source,
    /// Before the compressor.
    Suction,
}

/// A value, expected and measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoopSeen {
    /// With what: "thermometer", "T3 on the display".
    pub with: String,
    /// The test by which it is read.
    pub test: String,
    /// What a sound machine shows.
    pub expected: Option<String>,
    /// What was read, if anything.
    pub measured: Option<String>,
    /// The reading lies outside of what a sound machine shows.
    pub off: bool,
}

/// The loop's cycle in the pressure–enthalpy picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CycleView {
    /// The picture, as SVG.
    pub svg: String,
    /// The same in words.
    pub words: String,
}

/// The circuit as the sheet has it, with nothing known about power and nothing commanded.
#[must_use]
pub fn wiring_of(machine: &Machine) -> WiringView {
    let closed = machine
        .branches
        .iter()
        .map(|(_, b)| match b {
            Branch::Contact { drive: Drive::Link, stuck, .. } => Some(machine.params[stuck.0].nominal > 0.5),
            Branch::Contact { drive, .. } => Some(*drive != Drive::Relay),
            _ => None,
        })
        .collect();
    WiringView {
        state: "nothing commanded".to_owned(),
        power: String::new(),
        volts: vec![None; machine.nets.len()],
        live: vec![Live::Not; machine.nets.len()],
        amps: vec![0.0; machine.branches.len()],
        closed,
        probes: Vec::new(),
        test: None,
    }
}

/// The loop as the sheet has it, with nothing worked out and nothing measured.
#[must_use]
pub fn loop_of(machine: &Machine) -> LoopView {
    let Some(entry) = &machine.sheet.refrigerant_loop else { return LoopView::default() };
    let parts = entry
        .order
        .iter()
        .filter_map(|id| machine.part(id))
        .map(|ix| {
            let p = &machine.parts[ix.0];
            let does = match p.role {
                Role::Compressor(_) => LoopDoes::Compresses,
                Role::Condenser { .. } => LoopDoes::Condenses,
                Role::ExpansionValve { .. } => LoopDoes::Meters,
                Role::Evaporator { .. } => LoopDoes::Evaporates,
                _ => LoopDoes::Passes,
            };
            LoopPart { id: p.id.clone(), name: p.name.clone(), does }
        })
        .collect();
    let mut marks: Vec<LoopMark> = Vec::new();
    for spot in Spot::ALL {
        let seen = ways_to_see(machine, spot)
            .into_iter()
            .map(|(with, tests)| LoopSeen {
                with,
                test: machine.tests[tests[0]].id.clone(),
                expected: None,
                measured: None,
                off: false,
            })
            .collect::<Vec<_>>();
        if !seen.is_empty() {
            marks.push(LoopMark { place: spot.key().to_owned(), at: place_of(spot), seen });
        }
    }
    marks.sort_by_key(|m| m.at);
    LoopView { parts, marks, refrigerant: machine.sheet.nameplate.refrigerant.clone() }
}

/// Where along the loop a spot is.
fn place_of(spot: Spot) -> LoopPlace {
    match spot {
        Spot::DischargeLine => LoopPlace::Discharge,
        Spot::WaterTop | Spot::WaterBottom => LoopPlace::Sink,
        Spot::LiquidLine => LoopPlace::Liquid,
        Spot::EvaporatorCoil => LoopPlace::Evaporator,
        Spot::SuctionLine => LoopPlace::Suction,
        _ => LoopPlace::Source,
    }
}

/// The instruments that see a spot, each with its tests, the settled one first.
fn ways_to_see(machine: &Machine, spot: Spot) -> Vec<(String, Vec<usize>)> {
    let mut ways: Vec<(String, Vec<usize>)> = Vec::new();
    for (i, t) in machine.tests.iter().enumerate() {
        let with = match t.measure {
            Measure::Thermometer(s) if s == spot => "thermometer".to_owned(),
            Measure::ShownTemperature(part) => match &machine.parts[part.0].role {
                Role::Thermistor(x) if machine.params[x.spot.0].nominal as usize == spot.index() => {
                    format!("{} on the display", machine.parts[part.0].id)
                }
                _ => continue,
            },
            _ => continue,
        };
        match ways.iter_mut().find(|(w, _)| *w == with) {
            Some((_, tests)) if t.moment == Moment::Settled => tests.insert(0, i),
            Some((_, tests)) => tests.push(i),
            None => ways.push((with, vec![i])),
        }
    }
    ways
}

/// Wires on the supply's side of whatever isolates the machine.
fn before_the_isolator(machine: &Machine) -> Vec<bool> {
    let mut before = vec![false; machine.nets.len()];
    for (part, branch) in &machine.branches {
        let Branch::Mains { a, b, .. } = *branch else { continue };
        for t in [a, b] {
            if let Some(n) = machine.parts[part.0].terminals[t].net {
                before[n.0] = true;
            }
        }
    }
    let isolator = |part: halfsplit_machine::PartIx| {
        matches!(machine.parts[part.0].role, Role::OverCurrent { resettable: true, .. })
    };
    // Without an isolator on the sheet everything would count as fed: then the machine is isolated at its source.
    if !machine.parts.iter().any(|p| matches!(p.role, Role::OverCurrent { resettable: true, .. })) {
        return vec![false; machine.nets.len()];
    }
    let mut more = true;
    while more {
        more = false;
        for (part, branch) in &machine.branches {
            let (Branch::Contact { a, b, .. } | Branch::Resistor { a, b, .. }) = *branch else { continue };
            if isolator(*part) {
                continue;
            }
            let t = &machine.parts[part.0].terminals;
            let (Some(x), Some(y)) = (t[a].net, t[b].net) else { continue };
            if before[x.0] != before[y.0] && x != machine.earth && y != machine.earth {
                (before[x.0], before[y.0]) = (true, true);
                more = true;
            }
        }
    }
    before
}

/// Volts above which a wire is drawn live: no smaller ones are to be met on mains, and no ghost is left out.
const LIVE_VOLTS: f64 = 5.0;

impl Engine {
    /// The circuit with what stands on it in the state of a test, or at rest without one.
    pub(crate) fn wiring(&self, test: Option<usize>, power: &PowerView) -> WiringView {
        let m = self.machine();
        let t: Option<&Test> = test.map(|t| &self.tests()[t]);
        let command = t.and_then(|t| t.command);
        let moment = t.map_or(Moment::AtRest, |t| t.moment);
        let mut view = wiring_of(m);
        view.power = power.in_words();
        view.probes = t.map(|t| m.probes(t)).unwrap_or_default();
        view.test = t.map(|t| t.title.clone());
        let to_be_dead = t.is_some_and(|t| t.power == PowerState::Dead);
        let isolated = power.isolated.is_some();
        view.state = match command {
            _ if isolated => "isolated".to_owned(),
            Some(CommandIx(c)) => format!("sound machine, {}", m.commands[c].name),
            None => "sound machine, nothing commanded".to_owned(),
        };
        if to_be_dead && !isolated {
            view.state.push_str(" (this test wants it dead)");
        }
        let mut ways = self.electrical(command, moment);
        if ways.is_empty() {
            return view;
        }
        // What bites in any way in which the machine may be built is to be taken for live; the rest is drawn as is likeliest.
        let bites: Vec<bool> =
            (0..m.nets.len()).map(|i| ways.iter().any(|e| e.volts[i].is_some_and(|v| hypot(v) > LIVE_VOLTS))).collect();
        let e = ways.swap_remove(0);
        // The rails of the control circuit bite nobody, where they are isolated from the mains.
        let mains = m.mains_nets();
        if isolated {
            let fed = before_the_isolator(m);
            for (i, volts) in e.volts.iter().enumerate() {
                let earth = i == m.earth.0;
                let proved = power.proved_dead.is_some();
                (view.volts[i], view.live[i]) = match volts {
                    Some(v) if fed[i] => (Some(*v), Live::Always),
                    Some(_) if proved || earth => (Some((0.0, 0.0)), Live::Not),
                    Some(_) if mains[i] && bites[i] => (None, Live::NotProved),
                    _ => (None, Live::Not),
                };
            }
            for ((part, branch), closed) in m.branches.iter().zip(&mut view.closed) {
                if matches!(branch, Branch::Contact { .. })
                    && matches!(m.parts[part.0].role, Role::OverCurrent { resettable: true, .. })
                {
                    *closed = Some(false);
                }
            }
            return view;
        }
        for (i, volts) in e.volts.iter().enumerate() {
            view.live[i] = match volts {
                Some(_) if mains[i] && bites[i] => Live::Live,
                _ => Live::Not,
            };
        }
        view.volts = e.volts;
        view.amps = e.amps;
        view.closed = e.closed;
        view
    }

    /// The loop with what is expected, and what was read last.
    pub(crate) fn refrigerant_loop(&mut self, readings: &[ReadingView]) -> LoopView {
        let mut view = loop_of(self.machine());
        for spot in Spot::ALL {
            let ways = ways_to_see(self.machine(), spot);
            let Some(mark) = view.marks.iter_mut().find(|m| m.place == spot.key()) else { continue };
            for (seen, (_, tests)) in mark.seen.iter_mut().zip(ways) {
                let is_one = |r: &&ReadingView| tests.iter().any(|t| self.tests()[*t].id == r.test);
                match readings.iter().rev().find(is_one) {
                    Some(r) => {
                        seen.test.clone_from(&r.test);
                        seen.expected.clone_from(&r.if_healthy);
                        seen.measured = Some(r.understood.clone());
                        seen.off = r.outside_healthy == Some(true);
                    }
                    None => {
                        let test = tests[0];
                        seen.expected = self.band(test).map(|b| self.band_in_words(test, b));
                    }
                }
            }
        }
        view
    }
}

impl Engine {
    /// The cycle as expected of a sound machine, and as measured: with thermometer readings in the places where there are
    /// some, and what is expected in the others.
    pub(crate) fn cycle(&mut self, readings: &[ReadingView]) -> Result<CycleView, JobError> {
        let refuse = |what: String, hint: &str| JobError::new(What::Sheet, what, hint);
        let name = self.machine().sheet.nameplate.refrigerant.clone().ok_or_else(|| {
            refuse(
                "the sheet names no refrigerant".into(),
                "write it on the sheet's nameplate: refrigerant = \"R134a\"",
            )
        })?;
        let fluid = named(&name).map_err(|e| refuse(e.to_string(), "write it as the nameplate does"))?;
        let point = self.settled_point().ok_or_else(|| {
            refuse("no command of this sheet runs the loop".into(), "give the sheet a command that runs the compressor")
        })?;
        let expected = Readings {
            suction: (point.suction_pressure, point.suction),
            discharge: (point.discharge_pressure, point.discharge),
            liquid: (point.discharge_pressure, point.liquid),
        };
        let mut measured = expected;
        let mut read = Vec::new();
        for (spot, at) in [
            (Spot::SuctionLine, &mut measured.suction),
            (Spot::DischargeLine, &mut measured.discharge),
            (Spot::LiquidLine, &mut measured.liquid),
        ] {
            let id = format!("thermometer {} settled", spot.key());
            if let Some(r) = readings.iter().rev().find(|r| r.test == id)
                && let Ok(Entry::Value(q)) = parse_entry(&r.typed, Some(Dimension::Temperature))
            {
                at.1 = q.si;
                read.push(format!("{} {}", spot.key(), r.understood));
            }
        }
        let units = self.units();
        let say = |at: (f64, f64)| {
            format!(
                "{} and {}",
                show(at.0, Dimension::PressureAbsolute, &units, None),
                show(at.1, Dimension::Temperature, &units, None)
            )
        };
        let mut words = format!(
            "{name}, expected of a sound machine: suction {}, discharge {}, liquid line {}.\n",
            say(expected.suction),
            say(expected.discharge),
            say(expected.liquid)
        );
        let mut traces = vec![Trace { label: "expected", readings: expected, dashed: true }];
        if !read.is_empty() {
            words.push_str(&format!(
                "Measured: {}; pressures, and places without a reading, as expected.\n",
                read.join(", ")
            ));
            traces.push(Trace { label: "with the temperatures measured", readings: measured, dashed: false });
        }
        let svg = pressure_enthalpy(fluid, &traces)
            .map_err(|e| refuse(e.to_string(), "the readings lie where this refrigerant has no such state"))?;
        Ok(CycleView { svg, words })
    }
}

/// Magnitude of a phasor.
pub(crate) fn hypot(v: (f64, f64)) -> f64 {
    libm::hypot(v.0, v.1)
}
