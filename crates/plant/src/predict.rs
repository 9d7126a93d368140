//! From an operation to what a test would read.
//!
//! Spreads: the meter's own accuracy is noise, redrawn at each reading; part tolerance, probe placement and the
//! model's doubt stay the same for repeats. Figures without a source are judgement.

use halfsplit_circuit::meter::{MeterError, Reading, Shown, UnderTest};
use halfsplit_circuit::{Network, Node, OPEN_OHMS};
use halfsplit_machine::test::{Answer, GaugeSide, Measure, Moment, Spot, Test};
use halfsplit_machine::{Branch, CommandIx, Drive, Net, PartIx, Role, Spread};
use halfsplit_refrigeration::LoopPoint;
use halfsplit_units::{AbsolutePressure, Dimension, STANDARD_ATMOSPHERE};
use libm::log10;

use crate::Plant;
use crate::drive::{Turn, junction};
use crate::history::{Latches, kettles};
use crate::mains::Drawing;
use crate::operate::{CompressorDoes, Operation, Phase};
use crate::sensing::{BELIEVABLE, Seen};

/// The distribution of a reading. Numbers are on the test's [`Axis`].
#[derive(Debug, Clone, PartialEq)]
pub enum Prediction {
    /// A number.
    Number {
        /// Expected value on the axis.
        centre: f64,
        /// Redrawn at each reading.
        noise: f64,
        /// The same at each reading.
        common: f64,
        /// Probability that the meter shows OL, or the display that it is out of range.
        over: f64,
    },
    /// A probability for each word.
    Words(Vec<f64>),
}

/// The axis on which a quantity's errors are even.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// As it is, SI.
    Linear,
    /// log10(ohm + 0.3): relative errors, with the test leads' few tenths of an ohm as floor.
    Ohms,
    /// log10(farad + 0.05 µF).
    Farads,
}

/// What leads and the last digit of a meter alone may show, F. Judgement.
const FARADS_FLOOR: f64 = 5e-8;

impl Axis {
    /// From SI to the axis.
    pub fn to(self, si: f64) -> f64 {
        match self {
            Axis::Linear => si,
            Axis::Ohms => log10(si.max(0.0) + 0.3),
            Axis::Farads => log10(si.max(0.0) + FARADS_FLOOR),
        }
    }

    /// From the axis to SI.
    pub fn from(self, x: f64) -> f64 {
        match self {
            Axis::Linear => x,
            Axis::Ohms => (libm::exp10(x) - 0.3).max(0.0),
            Axis::Farads => (libm::exp10(x) - FARADS_FLOOR).max(0.0),
        }
    }

    /// A standard deviation in SI at a value, on the axis.
    fn spread(self, si: f64, sd: f64) -> f64 {
        const LOG10_E: f64 = std::f64::consts::LOG10_E;
        match self {
            Axis::Linear => sd,
            Axis::Ohms => LOG10_E * sd / (si.max(0.0) + 0.3),
            Axis::Farads => LOG10_E * sd / (si.max(0.0) + FARADS_FLOOR),
        }
    }
}

/// The axis of a test; `None` for words.
pub fn axis_of(test: &Test) -> Option<Axis> {
    match &test.answer {
        Answer::Words(_) => None,
        Answer::Number(Dimension::Resistance) => Some(Axis::Ohms),
        Answer::Number(Dimension::Capacitance) => Some(Axis::Farads),
        Answer::Number(_) => Some(Axis::Linear),
    }
}

/// By how much a thermistor's resistance falls per kelvin, relative: B = 3435 to 3950 K at 25 °C. Common practice, no source.
const NTC_SLOPE: f64 = 0.045;

pub(crate) const OVER: Prediction = Prediction::Number { centre: 0.0, noise: 0.01, common: 0.01, over: 0.9995 };

impl Plant {
    /// What a test would read of an operation.
    ///
    /// `params` are the parameters that the operation was worked out from. Never fails: what cannot be worked
    /// out comes back as a wide distribution.
    pub fn predict(&self, params: &[f64], operation: &Operation, test: &Test) -> Prediction {
        let prediction = match &test.measure {
            Measure::Volts(a, b) => {
                self.phase(params, operation, test).map_or_else(doubtful, |p| self.volts(params, p, *a, *b))
            }
            Measure::SupplyAmps => self
                .phase(params, operation, test)
                .map_or_else(doubtful, |p| amps(p.supply_amps, self.supply_doubt(params, p))),
            Measure::LeadAmps(part, terminal) => self.phase(params, operation, test).map_or_else(doubtful, |p| {
                let value = self.lead_amps(p, *part, *terminal);
                let own = libm::hypot(self.start_doubt(p), self.load_tolerance(params, *part));
                amps(value, own * value)
            }),
            Measure::ControlVolts(plus, ground) => self.control_volts(params, operation, *plus, *ground),
            Measure::BusVolts(_) => self.phase(params, operation, test).map_or_else(doubtful, bus_volts),
            Measure::Diode(part, a, b) => self.diode(params, operation, *part, *a, *b),
            Measure::Signal(_) => match operation.rest.as_ref().and_then(|r| r.drive.as_deref()) {
                Some(driven) => sure(driven.line as usize, 3, 0.04),
                None => doubtful(),
            },
            Measure::PartOhms(part, a, b) => self.part_ohms(params, operation, *part, *a, *b, false),
            Measure::PlugOhms(part, a, b) => self.part_ohms(params, operation, *part, *a, *b, true),
            Measure::WireOhms(a, b) => self.wire_ohms(params, operation, *a, *b),
            Measure::PartFarads(part, a, b) => self.part_farads(params, *part, *a, *b),
            Measure::Insulation(part, _) => self.insulation(params, *part),
            Measure::ShownTemperature(part) => self.shown_temperature(params, operation, test, *part),
            Measure::Thermometer(spot) => self.phase(params, operation, test).map_or_else(doubtful, |p| {
                let t = self.temperatures_in(p, &operation.scene.visit.conditions);
                let doubt = t.doubt[spot.index()];
                // A clamp thermometer on bare metal: 0.5 K of its own, 1 K of placement.
                let common = libm::sqrt(doubt * doubt + 1.0);
                between(t.at[spot.index()], (0.5, common), 0.0, THERMOMETER)
            }),
            Measure::WaterRise(spot, sensor) => self.water_rise(params, operation, test, *spot, *sensor),
            Measure::EnergyMeanwhile => self.energy_meanwhile(params, operation, test),
            Measure::LongDraw(_) => self.long_draw(params, operation),
            Measure::SuctionRise(part) => self.suction_rise(params, operation, test, *part),
            Measure::OddSensor(parts) => self.odd_sensor(params, operation, parts),
            Measure::WarmedInHand(part) => self.warmed_in_hand(params, operation, *part),
            Measure::Gauge(side) => {
                self.phase(params, operation, test).map_or_else(doubtful, |p| gauge(&p.point, *side))
            }
            Measure::ShownLessThermometer(part) => self.shown_less_thermometer(params, operation, test, *part),
            Measure::ShownCode => self.shown_code(operation),
            Measure::DisplayLit => sure(usize::from(operation.display_lit), 2, 0.01),
            Measure::Behaviour(part) => self.behaviour(params, operation, test, *part),
            Measure::Look { param, cuts, blur, .. } => {
                let value = self.looked_at(params, operation, *param);
                let words = cuts.len() + 1;
                let seen = cuts.iter().filter(|c| value > **c).count();
                neighbours(seen, words, *blur)
            }
            Measure::Complaint => self.complaint(operation),
        };
        // Nothing that is not a number leaves this crate.
        match prediction {
            Prediction::Number { centre, noise, common, .. }
                if !(centre.is_finite() && noise.is_finite() && common.is_finite()) =>
            {
                doubtful()
            }
            sound => sound,
        }
    }

    /// How far a reading lies off, on its axis, for one standard deviation by which the water's temperature lies off
    /// what the history leaves: one unknown that every reading near the tank shares, beside its own common error.
    /// `centre` is what is expected of it otherwise.
    pub fn shares_water(&self, params: &[f64], operation: &Operation, test: &Test, centre: f64) -> f64 {
        if !self.near_water(test) {
            return 0.0;
        }
        let Some(phase) = self.phase(params, operation, test) else { return 0.0 };
        let t = self.temperatures_in(phase, &operation.scene.visit.conditions);
        match &test.measure {
            Measure::Thermometer(spot) => t.water[spot.index()],
            Measure::ShownTemperature(part) => self.sensor_shares(*part, params, &t),
            Measure::ShownLessThermometer(part) => match self.role(*part) {
                Role::Thermistor(s) if !self.in_its_place(*part, params) => {
                    let belongs = self.machine.params[s.spot.0].nominal as usize;
                    self.sensor_shares(*part, params, &t) - t.water[belongs]
                }
                _ => 0.0,
            },
            Measure::PartOhms(part, ..) | Measure::PlugOhms(part, ..) => {
                // On the axis of ohms, at 4.5 % per kelvin.
                -NTC_SLOPE * std::f64::consts::LOG10_E * self.sensor_shares(*part, params, &t)
            }
            Measure::ControlVolts(plus, _) => self.sensor_on(*plus).map_or(0.0, |part| {
                // A divider between the board's 5 V and ground, the sensor below.
                let share = (1.0 - centre / 5.0).clamp(0.0, 1.0);
                -NTC_SLOPE * centre * share * self.sensor_shares(part, params, &t)
            }),
            // The warmer the water, the harder the compressor works.
            _ if !matches!(phase.compressor, CompressorDoes::Runs | CompressorDoes::RunsThenStops(_)) => 0.0,
            Measure::LeadAmps(..) => AMPS_PER_KELVIN * t.water[Spot::LiquidLine.index()] * centre,
            Measure::SupplyAmps => {
                let others: f64 = self.loads(params, phase).map(|(through, _)| through).sum();
                AMPS_PER_KELVIN * t.water[Spot::LiquidLine.index()] * (phase.supply_amps - others).max(0.0)
            }
            Measure::Gauge(GaugeSide::High) => {
                PRESSURE_PER_KELVIN * t.water[Spot::LiquidLine.index()] * phase.point.discharge_pressure
            }
            _ => 0.0,
        }
    }

    /// What each load but the compressor draws, A, with its tolerance as a fraction.
    fn loads<'a>(&'a self, params: &'a [f64], phase: &'a Phase) -> impl Iterator<Item = (f64, f64)> + 'a {
        (0..self.machine.parts.len()).map(PartIx).filter_map(move |part| {
            let tolerance = self.load_tolerance(params, part);
            let branches = self.machine.branches_of(part);
            let through = || branches.map(|(ix, _)| phase.flow.branch_amps[ix.0]).fold(0.0, f64::max);
            (tolerance > 0.0).then(|| (through(), tolerance))
        })
    }

    /// The thermistor whose lead this wire is.
    fn sensor_on(&self, plus: Net) -> Option<PartIx> {
        self.machine.branches.iter().find_map(|(part, branch)| match *branch {
            Branch::Thermistor { a, .. } if self.net_of(*part, a) == Some(plus.0) => Some(*part),
            _ => None,
        })
    }

    /// Whether the machine has a tank of water.
    pub fn has_tank(&self) -> bool {
        self.parts.tank.is_some()
    }

    /// Whether [`Plant::shares_water`] can be other than nothing for a test.
    pub fn near_water(&self, test: &Test) -> bool {
        if self.parts.tank.is_none() {
            return false;
        }
        match &test.measure {
            Measure::Thermometer(spot) => !matches!(spot, Spot::Air | Spot::LeavingAir),
            Measure::ShownTemperature(part)
            | Measure::ShownLessThermometer(part)
            | Measure::PartOhms(part, ..)
            | Measure::PlugOhms(part, ..) => {
                matches!(self.role(*part), Role::Thermistor(_))
            }
            Measure::ControlVolts(plus, _) => self.sensor_on(*plus).is_some(),
            Measure::LeadAmps(part, _) => self.parts.compressor == Some(*part),
            Measure::SupplyAmps | Measure::Gauge(GaugeSide::High) => {
                self.parts.compressor.is_some() && test.command.is_some()
            }
            _ => false,
        }
    }

    /// Volts between the two wires of a test with nothing joined: cheap, for telling which tests are the same.
    /// `None` if the test is of another kind.
    pub fn open_circuit_volts(&self, params: &[f64], operation: &Operation, test: &Test) -> Option<f64> {
        let Measure::Volts(a, b) = test.measure else { return None };
        self.phase(params, operation, test).map(|p| p.flow.open_volts(a, b))
    }

    /// The phase that a test falls into.
    fn phase<'o>(&self, params: &[f64], operation: &'o Operation, test: &Test) -> Option<&'o Phase> {
        self.phase_of(params, operation, test.command, test.moment)
    }

    /// The phase at a moment of a command, or at rest.
    pub(crate) fn phase_of<'o>(
        &self,
        params: &[f64],
        operation: &'o Operation,
        command: Option<CommandIx>,
        moment: Moment,
    ) -> Option<&'o Phase> {
        match (command, moment) {
            (None, _) | (_, Moment::AtRest) => operation.rest.as_ref(),
            (Some(c), Moment::AtStart) => {
                self.told(params, &operation.scene, c.0)?.at_start().or(operation.rest.as_ref())
            }
            (Some(c), Moment::Settled) => {
                self.told(params, &operation.scene, c.0)?.read_when_settled().or(operation.rest.as_ref())
            }
        }
    }

    fn volts(&self, params: &[f64], phase: &Phase, a: Net, b: Net) -> Prediction {
        let drawn = phase.drive.as_ref().map(|d| self.drawn(params, d));
        let params = drawn.as_deref().unwrap_or(params);
        let Some((shown, ghost)) = self.metered_volts(params, &phase.flow, a, b) else { return doubtful() };
        let meter = self.meter.volts_ac.read(shown).standard_uncertainty;
        // The supply moves by a per cent or two; a ghost depends on where the wires lie.
        // Volts about the start winding hang on capacitor and windings, each good to a few per cent; in a small motor they are
        // nearer to resonance, and what lies between two windings moves with both.
        let starts = |part: PartIx| [a, b].iter().any(|n| self.at_start_winding(part, *n));
        let turning = self.parts.compressor.filter(|_| !matches!(phase.compressor, CompressorDoes::Silent));
        let relative = if turning.is_some_and(starts) { 0.05 } else { 0.015 };
        let with_capacitor = |f: &PartIx| matches!(self.role(*f), Role::Fan { start_amps: Some(_), .. });
        let at_fan = self.parts.fans.iter().any(|f| with_capacitor(f) && starts(*f));
        let fan = if at_fan { 0.09 * shown + 8.0 } else { 0.0 };
        let common = libm::hypot(relative * shown, fan) + 0.3 + 25.0 * ghost * ghost;
        Prediction::Number { centre: shown, noise: meter.max(0.3), common, over: 0.0 }
    }

    /// Whether a wire goes to a motor's start terminal.
    fn at_start_winding(&self, motor: PartIx, net: Net) -> bool {
        self.machine.parts[motor.0].terminals.iter().any(|t| t.name == "S" && t.net == Some(net))
    }

    fn start_doubt(&self, phase: &Phase) -> f64 {
        match phase.compressor {
            CompressorDoes::Silent => 0.01,
            // Load and charge make running amps vary; locked rotor varies with the rotor's place.
            CompressorDoes::Runs | CompressorDoes::RunsThenStops(_) => 0.10,
            CompressorDoes::Hums(_) => 0.12,
        }
    }

    /// Doubt of the amps drawn from the supply, A: each load's own tolerance, and of the rest what the compressor makes
    /// uncertain.
    fn supply_doubt(&self, params: &[f64], phase: &Phase) -> f64 {
        let (mut loads, mut variance) = (0.0, 0.0);
        for (through, tolerance) in self.loads(params, phase) {
            loads += through;
            variance += (through * tolerance) * (through * tolerance);
        }
        let rest = (phase.supply_amps - loads).max(0.0) * self.start_doubt(phase) + 0.01 * loads;
        libm::sqrt(variance + rest * rest)
    }

    /// Tolerance of what a load draws, as a fraction of it; 0 for what is no load, and for the compressor.
    fn load_tolerance(&self, params: &[f64], part: PartIx) -> f64 {
        match self.role(part) {
            Role::Fan { .. } | Role::DcFan { .. } => return FAN_AMPS,
            Role::Element { .. } | Role::Heater | Role::DefrostHeater => {}
            _ => return 0.0,
        }
        let ohms = self.machine.branches_of(part).find_map(|(_, b)| match b {
            Branch::Resistor { ohms, .. } => Some(*ohms),
            _ => None,
        });
        ohms.map_or(0.0, |ohms| self.tolerance(ohms, params[ohms.0]) / params[ohms.0])
    }

    fn lead_amps(&self, phase: &Phase, part: PartIx, terminal: usize) -> f64 {
        if let (Role::PowerModule { .. }, Some(driven)) = (self.role(part), &phase.drive) {
            return driven.phase_amps;
        }
        if let (Role::Compressor(_), Some(name)) =
            (self.role(part), self.machine.parts[part.0].terminals.get(terminal).map(|t| t.name.as_str()))
            && name == "C"
        {
            return phase.flow.compressor_amps;
        }
        self.machine.branches_of(part).map(|(ix, _)| phase.flow.branch_amps[ix.0]).fold(0.0, f64::max)
    }

    /// Standard deviation of a parameter between sound machines, in its own unit.
    fn tolerance(&self, ix: halfsplit_machine::ParamIx, value: f64) -> f64 {
        match self.machine.params[ix.0].spread {
            Spread::None => 0.0,
            Spread::Relative(r) => r * value,
            Spread::Absolute(a) => a,
        }
    }

    /// A part alone on the bench: its own branches between its own terminals.
    fn part_network(
        &self,
        params: &[f64],
        latches: &Latches,
        part: PartIx,
        kelvin: f64,
        plug: bool,
    ) -> (Network, Vec<Node>, f64) {
        let m = &self.machine;
        let mut network = Network::new();
        let nodes: Vec<Node> = m.parts[part.0].terminals.iter().map(|_| network.add_node()).collect();
        let mut relative: f64 = 0.0;
        let energised = vec![false; m.parts.len()];
        let drawing =
            Drawing { params, latches, energised: &energised, at_slip: None, overload_open: false, dead: true };
        for (_, branch) in m.branches_of(part) {
            match *branch {
                Branch::Resistor { a, b, ohms, .. } | Branch::Working { a, b, ohms, .. } => {
                    network.resistor(nodes[a], nodes[b], params[ohms.0].max(1e-3));
                    relative = relative.max(self.tolerance(ohms, params[ohms.0]) / params[ohms.0].max(1e-9));
                }
                Branch::Thermistor { a, b } => {
                    let (own, through) = self.sensor_ohms(part, params, kelvin);
                    network.resistor(nodes[a], nodes[b], if plug { through } else { own }.clamp(1e-3, OPEN_OHMS));
                    relative = relative.max(0.015);
                }
                Branch::Capacitor { a, b, farads, leak } => {
                    network.capacitor(nodes[a], nodes[b], params[farads.0].max(1e-12));
                    if params[leak.0] > 1e-8 {
                        network.resistor(nodes[a], nodes[b], 1.0 / params[leak.0]);
                    }
                    relative = relative.max(self.tolerance(farads, params[farads.0]) / params[farads.0].max(1e-15));
                }
                Branch::Contact { a, b, drive, stuck, ohms } => {
                    // On the bench nothing is isolated: a breaker is measured as it stands.
                    let closed = self.contact_closed(part, drive, params[stuck.0], &Drawing { dead: false, ..drawing });
                    network.switch(nodes[a], nodes[b], closed, params[ohms.0].max(1e-3));
                }
                Branch::Windings { c, r, s } => {
                    let Role::Compressor(role) = self.role(part) else { continue };
                    let inner = network.add_node();
                    let closed = params[role.overload_stuck.0] > -0.5;
                    network.switch(nodes[c], inner, closed, 0.05 + params[role.common_joint.0]);
                    network.resistor(inner, nodes[r], params[role.run_ohms.0]);
                    network.resistor(inner, nodes[s], params[role.start_ohms.0]);
                    // Tolerance of the windings and their temperature on the day (±10 K of copper).
                    relative = relative.max(libm::sqrt(0.03 * 0.03 + 0.04 * 0.04));
                }
                Branch::EarthLeak { a, siemens } => {
                    network.leak_to_earth(nodes[a], 1.0 / params[siemens.0].max(1e-12));
                }
                Branch::Transformer { first, second, first_ohms, second_ohms, .. } => {
                    for (ends, ohms) in [(first, first_ohms), (second, second_ohms)] {
                        network.resistor(nodes[ends.0], nodes[ends.1], params[ohms.0].max(1e-3));
                        relative = relative.max(self.tolerance(ohms, params[ohms.0]) / params[ohms.0].max(1e-9));
                    }
                }
                Branch::HeatsUp { a, b, cold, .. } => {
                    network.resistor(nodes[a], nodes[b], params[cold.0].max(1e-3));
                    relative = relative.max(self.tolerance(cold, params[cold.0]) / params[cold.0].max(1e-9));
                }
                Branch::Diode { anode, cathode, state } => {
                    junction(params[state.0]).draw(&mut network, nodes[anode], nodes[cathode]);
                }
                Branch::Star { ends, ohms } => {
                    let star = network.add_node();
                    for (end, leg) in ends.into_iter().zip(ohms) {
                        network.resistor(nodes[end], star, params[leg.0].max(1e-3));
                    }
                    // The windings are as alike as they were wound; their temperature moves them together.
                    relative = relative.max(0.03);
                }
                Branch::Mains { .. } | Branch::Rail { .. } | Branch::Draw { .. } => {}
            }
        }
        (network, nodes, relative)
    }

    fn part_ohms(
        &self,
        params: &[f64],
        operation: &Operation,
        part: PartIx,
        a: usize,
        b: usize,
        plug: bool,
    ) -> Prediction {
        let (kelvin, doubt) = match (&operation.rest, self.role(part)) {
            (Some(rest), Role::Thermistor(_)) => {
                let t = self.temperatures_in(rest, &operation.scene.visit.conditions);
                self.sensor_temperature(part, params, &t)
            }
            _ => (298.15, 0.0),
        };
        let (network, nodes, relative) = self.part_network(params, &operation.latches, part, kelvin, plug);
        self.ohms_reading(&network, nodes[a], nodes[b], relative + NTC_SLOPE * doubt)
    }

    fn wire_ohms(&self, params: &[f64], operation: &Operation, a: Net, b: Net) -> Prediction {
        let energised = vec![false; self.machine.parts.len()];
        let grid = self.grid(&Drawing {
            params,
            latches: &operation.latches,
            energised: &energised,
            at_slip: None,
            overload_open: false,
            dead: true,
        });
        let (na, nb) = (grid.node(a), grid.node(b));
        self.ohms_reading(&grid.network, na, nb, 0.05)
    }

    fn ohms_reading(&self, network: &Network, a: Node, b: Node, relative: f64) -> Prediction {
        let reading = self.meter.ohms(&UnderTest::new(network, self.machine.sheet.nameplate.hertz), a, b);
        near_the_end(to_prediction(reading, Axis::Ohms, relative, 0.15), Axis::Ohms.to(self.meter.ohms.full_scale()))
    }

    /// Share of its volts that a rail has.
    fn rails_of(&self, part: PartIx, operation: &Operation) -> f64 {
        match (self.role(part), operation.rest.as_ref().and_then(|r| r.drive.as_deref())) {
            (Role::BusSupply { .. }, Some(driven)) => driven.rails,
            _ => operation.scene.control.rails,
        }
    }

    fn diode(&self, params: &[f64], operation: &Operation, part: PartIx, red: usize, black: usize) -> Prediction {
        let (network, nodes, _) = self.part_network(params, &operation.latches, part, 298.15, false);
        match self.meter.diode(&UnderTest::new(&network, self.machine.sheet.nameplate.hertz), nodes[red], nodes[black])
        {
            // A sound junction shows 0.3 to 0.7 V by its make, a shorted one next to nothing.
            Ok(Reading { shown: Shown::Value(v), .. }) => {
                Prediction::Number { centre: v, noise: 0.005, common: if v > 0.1 { 0.08 } else { 0.01 }, over: 0.003 }
            }
            Ok(_) => OVER,
            Err(_) => doubtful(),
        }
    }

    fn part_farads(&self, params: &[f64], part: PartIx, a: usize, b: usize) -> Prediction {
        let latches = Latches { tripped: vec![false; self.machine.parts.len()], stored: Vec::new() };
        let (network, nodes, relative) = self.part_network(params, &latches, part, 298.15, false);
        let reading =
            self.meter.farads(&UnderTest::new(&network, self.machine.sheet.nameplate.hertz), nodes[a], nodes[b]);
        to_prediction(reading, Axis::Farads, relative, 2e-8)
    }

    fn insulation(&self, params: &[f64], part: PartIx) -> Prediction {
        let Some(siemens) = self.machine.branches_of(part).find_map(|(_, b)| match b {
            Branch::EarthLeak { siemens, .. } => Some(params[siemens.0]),
            _ => None,
        }) else {
            return OVER;
        };
        let ohms = 1.0 / siemens.max(1e-13);
        let over = if ohms > 1e9 {
            0.95
        } else if ohms > 1e8 {
            0.4
        } else {
            0.0
        };
        // Moisture and temperature move good insulation by a decade; a fault is far below, and anywhere there: carbon,
        // a wet path, bare copper, under 500 V. Common practice, no source.
        let common = if ohms > 1e7 { 0.35 } else { 1.0 };
        Prediction::Number { centre: Axis::Ohms.to(ohms), noise: 0.03, common, over }
    }

    fn control_volts(&self, params: &[f64], operation: &Operation, plus: Net, ground: Net) -> Prediction {
        let (circuit, doubt) = self.control_circuit(params, operation, plus);
        let read = self.memo.control(plus.0, ground.0, circuit, |circuit| {
            let mut network = Network::new();
            let nodes: Vec<Node> = self.machine.nets.iter().map(|_| network.add_node()).collect();
            for element in circuit {
                element.draw(&mut network, &nodes);
            }
            self.meter.volts_dc(
                &UnderTest::new(&network, self.machine.sheet.nameplate.hertz),
                nodes[plus.0],
                nodes[ground.0],
                halfsplit_circuit::meter::Input::High,
            )
        });
        match read {
            Ok(Reading { shown: Shown::Value(v), standard_uncertainty, .. }) => Prediction::Number {
                centre: v,
                noise: standard_uncertainty.max(0.01),
                common: doubt * v.abs().max(1.0) + 0.02,
                over: 0.0,
            },
            Ok(_) => OVER,
            Err(_) => doubtful(),
        }
    }

    /// The low-voltage circuits as they are at rest, and how far a reading at `plus` is to be doubted.
    fn control_circuit(&self, params: &[f64], operation: &Operation, plus: Net) -> (Vec<ControlElement>, f64) {
        let m = &self.machine;
        let mut circuit = Vec::with_capacity(m.branches.len());
        let pull_up = match self.parts.board.map(|b| self.role(b)) {
            Some(Role::Board { pull_up, .. }) => *pull_up,
            _ => 10_000.0,
        };
        let mut five = None;
        for (part, branch) in &m.branches {
            if let Branch::Rail { plus: p, ground: g, volts, .. } = *branch {
                let (Some(np), Some(ng)) = (self.net_of(*part, p), self.net_of(*part, g)) else { continue };
                circuit.push(ControlElement::rail(np, ng, volts * self.rails_of(*part, operation)));
                if volts < 6.0 {
                    five = Some(np);
                }
            }
        }
        let mut doubt: f64 = 0.02;
        let at_rest = operation.rest.as_ref().map(|rest| self.temperatures_in(rest, &operation.scene.visit.conditions));
        for (part, branch) in &m.branches {
            let net = |t: usize| self.net_of(*part, t).filter(|n| !self.mains[*n]);
            match *branch {
                Branch::Thermistor { a, b } => {
                    let (Some(na), Some(nb), Some(t)) = (net(a), net(b), &at_rest) else { continue };
                    let (kelvin, sd) = self.sensor_temperature(*part, params, t);
                    let (_, ohms) = self.sensor_ohms(*part, params, kelvin);
                    circuit.push(ControlElement::resistor(na, nb, ohms.clamp(1e-3, OPEN_OHMS)));
                    if na == plus.0 {
                        doubt = doubt.max(0.5 * NTC_SLOPE * sd);
                    }
                    circuit.extend(five.map(|five| ControlElement::resistor(five, na, pull_up)));
                }
                Branch::Contact { a, b, drive: Drive::Float, .. } => {
                    let (Some(na), Some(nb)) = (net(a), net(b)) else { continue };
                    circuit.push(ControlElement::contact(na, nb, !self.float_open(params)));
                    circuit.extend(five.map(|five| ControlElement::resistor(five, na, pull_up)));
                }
                Branch::Resistor { a, b, ohms, .. } => {
                    let (Some(na), Some(nb)) = (net(a), net(b)) else { continue };
                    circuit.push(ControlElement::resistor(na, nb, params[ohms.0].max(1e-3)));
                }
                _ => {}
            }
        }
        (circuit, doubt)
    }

    fn shown_temperature(&self, params: &[f64], operation: &Operation, test: &Test, part: PartIx) -> Prediction {
        let Some(phase) = self.phase(params, operation, test) else { return doubtful() };
        if !operation.display_lit || !self.heard(part, phase) {
            // Nothing can be read on a dark display.
            return OVER;
        }
        let t = self.temperatures_in(phase, &operation.scene.visit.conditions);
        let (kelvin, doubt) = self.sensor_temperature(part, params, &t);
        let common = libm::sqrt(doubt * doubt + 0.5 * 0.5);
        // What the board makes of a broken lead is far from any range; of a place as cold or hot as its range ends, nobody knows.
        let Some(kelvin) = self.board_reckons(part, params, kelvin) else { return OVER };
        between(kelvin, (0.3, common), 0.002, BELIEVABLE)
    }

    /// Which of some sensors stands apart from the others at rest; at the end that none does.
    fn odd_sensor(&self, params: &[f64], operation: &Operation, parts: &[PartIx]) -> Prediction {
        let none = parts.len();
        let Some(rest) = operation.rest.as_ref().filter(|_| operation.display_lit) else { return even(none + 1) };
        let t = self.temperatures_in(rest, &operation.scene.visit.conditions);
        let shown: Vec<Option<f64>> = parts
            .iter()
            .map(|p| {
                let (kelvin, _) = self.sensor_temperature(*p, params, &t);
                match self.board_sees(*p, params, kelvin) {
                    Seen::Kelvin(k) => Some(k),
                    Seen::TooCold | Seen::TooHot => None,
                }
            })
            .collect();
        let mut sound: Vec<f64> = shown.iter().flatten().copied().collect();
        sound.sort_by(f64::total_cmp);
        let Some(middle) = sound.get(sound.len() / 2).copied() else { return even(none + 1) };
        // Two kelvin are seen by everybody, one by nobody; a sensor out of range stands apart by itself.
        let apart = |k: Option<f64>| k.map_or(1.0, |k| (((k - middle).abs() - 1.0) / 2.0).clamp(0.0, 1.0));
        let mut p: Vec<f64> = shown.iter().map(|k| apart(*k)).collect();
        let agree: f64 = p.iter().map(|x| 1.0 - x).product();
        p.push(agree);
        for x in &mut p {
            *x += 0.01;
        }
        Prediction::Words(normalised(p))
    }

    /// Which number moves when the sensor that belongs at a part's place is warmed: its own, another, none.
    fn warmed_in_hand(&self, params: &[f64], operation: &Operation, part: PartIx) -> Prediction {
        let Role::Thermistor(s) = self.role(part) else { return doubtful() };
        if !operation.display_lit {
            return sure(2, 3, 0.02);
        }
        let here = self.machine.params[s.spot.0].nominal;
        // The board's input whose wires lead to this place.
        let leads_here = self.parts.thermistors.iter().find(|p| match self.role(**p) {
            Role::Thermistor(t) => params[t.spot.0] == here,
            _ => false,
        });
        let Some(input) = leads_here else { return sure(2, 3, 0.05) };
        let moves = matches!(self.board_sees(*input, params, 300.0), Seen::Kelvin(_));
        sure(if !moves { 2 } else { usize::from(*input != part) }, 3, 0.03)
    }

    fn shown_less_thermometer(&self, params: &[f64], operation: &Operation, test: &Test, part: PartIx) -> Prediction {
        let (Some(phase), Role::Thermistor(s)) = (self.phase(params, operation, test), self.role(part)) else {
            return doubtful();
        };
        if !operation.display_lit || !self.heard(part, phase) {
            return OVER;
        }
        let belongs = self.machine.params[s.spot.0].nominal as usize;
        let t = self.temperatures_in(phase, &operation.scene.visit.conditions);
        let (kelvin, doubt) = self.sensor_temperature(part, params, &t);
        // The thermometer goes where the sensor belongs: what surrounds both drops out, unless the sensor is elsewhere. One that
        // hangs beside its place in the air hangs in the same air.
        let together = self.in_its_place(part, params)
            || belongs == Spot::Air.index() && params[s.spot.0] as usize == Spot::Air.index();
        let apart = if together { 0.0 } else { libm::hypot(doubt, t.doubt[belongs]) };
        match self.board_sees(part, params, kelvin) {
            Seen::Kelvin(shown) => Prediction::Number {
                centre: shown - t.at[belongs],
                noise: 0.6,
                common: libm::hypot(1.0, apart),
                over: 0.002,
            },
            Seen::TooCold | Seen::TooHot => OVER,
        }
    }

    fn shown_code(&self, operation: &Operation) -> Prediction {
        let n = self.machine.detections.len();
        let mut p = vec![0.004; n + 1];
        let stored = &operation.latches.stored;
        if !operation.display_lit {
            p[n] = 1.0;
            return Prediction::Words(normalised(p));
        }
        // The first that fired is mostly what is shown; what only may have fired stands behind what did.
        let chance = |d: usize| operation.chances.get(d).copied().unwrap_or(f64::from(stored.contains(&d)));
        let share = |d: usize| match stored.first() {
            None => 1.0,
            Some(first) if *first == d => 3.0,
            Some(_) => 1.0,
        };
        let weights: Vec<f64> = (0..n).map(|d| chance(d) * share(d)).collect();
        let (none, all) = ((0..n).map(|d| 1.0 - chance(d)).product::<f64>(), weights.iter().sum::<f64>());
        // Now and then somebody has cleared it already.
        p[n] = 0.96 * none + 0.10 * (1.0 - none);
        if all > 0.0 {
            for (p, weight) in p.iter_mut().zip(&weights) {
                *p += (1.0 - none) * 0.85 * weight / all;
            }
        }
        Prediction::Words(normalised(p))
    }

    fn behaviour(&self, params: &[f64], operation: &Operation, test: &Test, part: PartIx) -> Prediction {
        let Some(phase) = self.phase(params, operation, test) else { return doubtful() };
        match self.role(part) {
            Role::DcFan { free, .. } => {
                let moves = self.dc_fan_seen(params, phase, part, test);
                sure(
                    if !moves {
                        0
                    } else if params[free.0] < 0.75 {
                        1
                    } else {
                        2
                    },
                    3,
                    0.05,
                )
            }
            Role::Compressor(_) | Role::PmCompressor(_) => {
                let seen = match phase.compressor {
                    CompressorDoes::Silent => 0,
                    CompressorDoes::Hums(_) => 1,
                    CompressorDoes::Runs => 2,
                    CompressorDoes::RunsThenStops(_) => 3,
                };
                sure(seen, 4, 0.04)
            }
            Role::Fan { free, .. } => {
                let driven = self.fan_driven(part, &phase.flow);
                let seen = if self.fan_moves(params, part, &phase.flow) <= 0.0 {
                    0
                } else if params[free.0] < 0.75 || driven < 0.75 {
                    1
                } else {
                    2
                };
                sure(seen, 3, 0.05)
            }
            Role::ExpansionValve { coil_drives, stuck_at, leak_by, reach } => {
                let moves = params[coil_drives.0] > 0.5
                    && !self.valve_unplugged(params)
                    && params[stuck_at.0] < 0.0
                    && params[reach.0] - params[leak_by.0] > 0.5;
                let runs = matches!(phase.compressor, CompressorDoes::Runs);
                if runs { sure(usize::from(moves), 2, 0.08) } else { Prediction::Words(vec![0.9, 0.1]) }
            }
            Role::CoilDriven { .. } => {
                // A jammed or pitted one may be seen to pull and yet not make.
                let moves = phase.flow.energised()[part.0] && self.named(params, part, "jammed") < 0.5;
                sure(usize::from(moves), 2, 0.05)
            }
            Role::ReversingValve { stuck, .. } => {
                let fed =
                    self.machine.branches_of(part).map(|(ix, _)| phase.flow.branch_amps[ix.0]).fold(0.0, f64::max);
                sure(usize::from(fed > 1e-3 && params[stuck.0].abs() < 0.5), 2, 0.06)
            }
            Role::Element { transfer, .. } => {
                let watts: f64 = self.machine.branches_of(part).map(|(ix, _)| phase.flow.branch_watts[ix.0]).sum();
                // Through the jacket a soft hiss is easily missed, and a hundred watts are not heard.
                Prediction::Words(if watts < 100.0 {
                    vec![0.9, 0.08, 0.02]
                } else if kettles(params[transfer.0]) {
                    vec![0.04, 0.14, 0.82]
                } else {
                    vec![0.2, 0.74, 0.06]
                })
            }
            _ => doubtful(),
        }
    }

    /// What leaks past the slide is discharge gas in the suction: by its share, since it is the same gas.
    fn suction_rise(&self, params: &[f64], operation: &Operation, test: &Test, part: PartIx) -> Prediction {
        let (Some(phase), Role::ReversingValve { leak, .. }) = (self.phase(params, operation, test), self.role(part))
        else {
            return doubtful();
        };
        let runs = matches!(phase.compressor, CompressorDoes::Runs);
        let between = if runs { phase.point.discharge - phase.point.suction } else { 0.0 };
        // The sound body lets 1 to 3 K through its metal (common practice, no source).
        let metal = if runs { 2.0 } else { 0.0 };
        let rise = metal + params[leak.0] * between;
        Prediction::Number { centre: rise, noise: 0.6, common: 0.8 + 0.2 * rise, over: 0.0 }
    }

    fn looked_at(&self, params: &[f64], operation: &Operation, param: halfsplit_machine::ParamIx) -> f64 {
        let p = &self.machine.params[param.0];
        if self.role(p.part).stands() == Some(param) {
            return f64::from(u8::from(operation.latches.tripped[p.part.0]));
        }
        params[param.0]
    }

    /// The customer's words, through a confusion table. All weights are judgement.
    fn complaint(&self, operation: &Operation) -> Prediction {
        let o = &operation.outcome;
        let mut p = [0.01; 9];
        let total = o.heat_pump.max(o.elements);
        if o.dark {
            p[3] += 0.55;
            p[0] += 0.45;
        }
        if o.breaker {
            p[4] += 0.6;
            p[0] += 0.25;
        }
        if !o.dark && total < 0.3 {
            p[0] += 0.7;
            p[1] += 0.15;
        } else if !o.dark && total < 0.75 {
            p[1] += 0.5;
            p[2] += 0.2;
        }
        if o.costly {
            p[2] += 0.5;
        }
        if !o.dark && total >= 0.75 && o.backup < 0.6 {
            p[1] += 0.5;
            p[2] += 0.1;
        }
        if !o.dark && o.heat_pump < 0.85 && total >= 0.3 {
            p[2] += 0.45;
        }
        if !operation.latches.stored.is_empty() && !o.dark {
            p[5] += 0.6;
        }
        if o.runs_cold || o.lukewarm {
            p[1] += 0.7;
            p[0] += 0.1;
        }
        if o.too_hot {
            p[8] += 0.6;
        }
        if o.wet {
            p[6] += 0.7;
        }
        if o.noise {
            p[7] += 0.35;
        }
        Prediction::Words(normalised(p.to_vec()))
    }
}

/// An element of the low-voltage circuits between two wires. Its number is kept as bits: elements are what is looked up by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct ControlElement {
    kind: ControlKind,
    a: usize,
    b: usize,
    bits: u64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum ControlKind {
    Rail,
    Resistor,
    Contact,
}

impl ControlElement {
    fn rail(plus: usize, ground: usize, volts: f64) -> ControlElement {
        ControlElement { kind: ControlKind::Rail, a: plus, b: ground, bits: volts.to_bits() }
    }

    fn resistor(a: usize, b: usize, ohms: f64) -> ControlElement {
        ControlElement { kind: ControlKind::Resistor, a, b, bits: ohms.to_bits() }
    }

    fn contact(a: usize, b: usize, closed: bool) -> ControlElement {
        ControlElement { kind: ControlKind::Contact, a, b, bits: f64::from(u8::from(closed)).to_bits() }
    }

    fn draw(self, network: &mut Network, nodes: &[Node]) {
        let (a, b, value) = (nodes[self.a], nodes[self.b], f64::from_bits(self.bits));
        match self.kind {
            ControlKind::Rail => {
                network.dc_source(a, b, value, 0.5);
                network.leak_to_earth(b, 1e6);
            }
            ControlKind::Resistor => {
                network.resistor(a, b, value);
            }
            ControlKind::Contact => {
                network.switch(a, b, value > 0.5, 0.1);
            }
        }
    }
}

impl crate::mains::Grid {
    /// The node of a wire.
    pub(crate) fn node(&self, n: Net) -> Node {
        self.nodes[n.0]
    }
}

/// Temperatures for which a clamp or contact thermometer shows figures, K. Common practice, no source.
pub const THERMOMETER: (f64, f64) = (223.15, 573.15);

/// A number that shows within a range only: how likely it lies beyond, and where it is expected if not. `noise` is redrawn at every
/// reading, `common` stays the same, `over` is the chance of no figures for other reasons.
fn between(centre: f64, (noise, common): (f64, f64), over: f64, (low, high): (f64, f64)) -> Prediction {
    let end = if centre - low < high - centre { low } else { high };
    // How far inside, in standard deviations; beyond four of them the end is not felt.
    let inside = (if end == low { centre - low } else { high - centre }) / common;
    if inside > 4.0 {
        return Prediction::Number { centre, noise, common, over };
    }
    let shows = 0.5 * libm::erfc(-inside / std::f64::consts::SQRT_2);
    if shows < LEAST_SHOWN {
        return OVER;
    }
    // Mean and spread of what is left of a normal distribution that is cut off (Johnson, Kotz and Balakrishnan, Continuous
    // Univariate Distributions 1, section 13.10; from memory).
    let pull = libm::exp(-0.5 * inside * inside) / (std::f64::consts::TAU.sqrt() * shows);
    let moved = pull * common * if end == low { 1.0 } else { -1.0 };
    let narrowed = common * (1.0 - pull * (pull + inside)).max(0.01).sqrt();
    Prediction::Number { centre: centre + moved, noise, common: narrowed, over: over.max(1.0 - shows) }
}

/// A chance below this that a number shows is none.
const LEAST_SHOWN: f64 = 1e-3;

/// Beyond the end of a meter's range it shows no figures: how likely that is for what lies near the end, on either side.
fn near_the_end(prediction: Prediction, end: f64) -> Prediction {
    match prediction {
        Prediction::Number { centre, noise, common, over } if over < 0.5 => {
            let beyond = 0.5 * libm::erfc((end - centre) / (common * std::f64::consts::SQRT_2));
            Prediction::Number { centre, noise, common, over: over.max(beyond) }
        }
        other => other,
    }
}

fn to_prediction(reading: Result<Reading, MeterError>, axis: Axis, relative: f64, floor: f64) -> Prediction {
    match reading {
        Ok(Reading { shown: Shown::Value(v), standard_uncertainty, .. }) => Prediction::Number {
            centre: axis.to(v),
            noise: axis.spread(v, standard_uncertainty + floor),
            common: axis.spread(v, relative * v) + 0.002,
            over: 0.003,
        },
        Ok(Reading { shown: Shown::OverLimit, .. }) => OVER,
        Err(_) => doubtful(),
    }
}

/// What a fan draws, by windings, capacitor and air, as a fraction. Common practice, no source.
const FAN_AMPS: f64 = 0.08;

/// How much more a compressor that heats water draws for each kelvin by which the water is warmer, as a fraction: what the loop gives for
/// the garage water heater between 20 and 50 °C.
const AMPS_PER_KELVIN: f64 = 0.013;

/// And how much higher the high side stands, as a fraction: the slope of the saturation line of the usual refrigerants at 40 to 60 °C
/// (from memory).
const PRESSURE_PER_KELVIN: f64 = 0.025;

/// Amps by a clamp: 2 % and a digit or two, and `doubt` amperes that stay the same at every reading.
fn amps(value: f64, doubt: f64) -> Prediction {
    Prediction::Number { centre: value, noise: 0.02 * value + 0.02, common: doubt + 0.01, over: 0.0 }
}

/// The bus as a meter on direct volts shows it. Supply, diodes and the board's own regulation move it by a few volts.
fn bus_volts(phase: &Phase) -> Prediction {
    let Some(driven) = &phase.drive else { return doubtful() };
    let falls = matches!(driven.turn, Turn::BusFalls);
    let (centre, common) = if falls { (0.6 * driven.bus, 60.0) } else { (driven.bus, 0.02 * driven.bus + 1.0) };
    Prediction::Number { centre, noise: 1.0, common, over: 0.0 }
}

/// When nothing can be worked out: anything may be read.
pub(crate) fn doubtful() -> Prediction {
    Prediction::Number { centre: 0.0, noise: 1.0, common: 1e3, over: 0.3 }
}

fn even(of: usize) -> Prediction {
    Prediction::Words(vec![1.0 / of as f64; of])
}

/// A gauge's reading, Pa above the air around: 1 % of what it shows and its zero; the loop's doubt of some kelvin of saturation
/// temperature is about 3 % of the pressure for each.
fn gauge(point: &LoopPoint, side: GaugeSide) -> Prediction {
    let absolute = match side {
        GaugeSide::Low => point.suction_pressure,
        GaugeSide::High => point.discharge_pressure,
    };
    let noise = 0.01 * absolute + 3e3;
    Prediction::Number {
        centre: AbsolutePressure::from_pascal(absolute).to_gauge(STANDARD_ATMOSPHERE).pascal(),
        noise,
        common: 0.03 * point.doubt * absolute,
        over: 0.0,
    }
}

fn sure(which: usize, of: usize, error: f64) -> Prediction {
    let mut p = vec![error / (of - 1).max(1) as f64; of];
    p[which.min(of - 1)] = 1.0 - error;
    Prediction::Words(p)
}

/// A category that neighbours may be taken for.
fn neighbours(which: usize, of: usize, blur: f64) -> Prediction {
    let mut p = vec![0.005; of];
    p[which] += 1.0 - blur;
    if which > 0 {
        p[which - 1] += blur / 2.0;
    }
    if which + 1 < of {
        p[which + 1] += blur / 2.0;
    }
    Prediction::Words(normalised(p))
}

fn normalised(mut p: Vec<f64>) -> Vec<f64> {
    let sum: f64 = p.iter().sum();
    for x in &mut p {
        *x /= sum;
    }
    p
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_the_end_of_a_display_figures_and_none_are_both_possible_and_far_beyond_it_none_are() {
        let at = |centre: f64| match between(centre, (0.3, 4.0), 0.002, (233.15, 418.15)) {
            Prediction::Number { centre, common, over, .. } => (centre, common, over),
            Prediction::Words(_) => panic!("a number"),
        };
        // Far from both ends nothing changes.
        assert_eq!(at(293.15), (293.15, 4.0, 0.002));
        // At the end itself one machine in two shows figures: half a normal distribution, its mean sqrt(2/pi) and its spread
        // sqrt(1 - 2/pi) standard deviations (Johnson, Kotz and Balakrishnan; from memory). Both ends alike.
        for (end, sign) in [(233.15, 1.0), (418.15, -1.0)] {
            let (centre, common, over) = at(end);
            let tau = std::f64::consts::FRAC_2_PI;
            assert!((over - 0.5).abs() < 1e-9, "{over}");
            assert!((centre - end - sign * 4.0 * tau.sqrt()).abs() < 1e-9, "{centre}");
            assert!((common - 4.0 * (1.0 - tau).sqrt()).abs() < 1e-9, "{common}");
        }
        assert!(at(200.0).2 > 0.999 && at(600.0).2 > 0.999);
    }
}
