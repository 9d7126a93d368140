//! The demo machine on the test bench: faults put in by their ids, readings taken by name.

use halfsplit_machine::test::{Answer, Measure, Moment, PowerState, Spot, Test};
use halfsplit_machine::{CommandIx, Conditions, Machine, ModeIx, Net, PartIx, PlaceIx};
use halfsplit_plant::{HeatUp, Operation, Phase, Plant, Prediction, Timeline, Visit};
use halfsplit_units::Dimension;

const DEMO: &str = include_str!("../../../../machines/garage-water-heater.toml");

/// Kelvin of a Celsius temperature.
pub fn c(celsius: f64) -> f64 {
    celsius + 273.15
}

/// The demo machine, prepared.
pub fn plant() -> Plant {
    plant_of(DEMO)
}

/// The demo machine with one piece of its sheet exchanged.
pub fn plant_with(from: &str, to: &str) -> Plant {
    assert!(DEMO.contains(from), "`{from}` is not in the demo sheet");
    plant_of(&DEMO.replace(from, to))
}

fn plant_of(sheet: &str) -> Plant {
    Plant::new(Machine::build(sheet).unwrap_or_else(|e| panic!("{e}"))).unwrap_or_else(|e| panic!("{e}"))
}

/// Air at 20 °C and a tank of one temperature.
pub fn tank_at(celsius: f64) -> Visit {
    let water = Some(c(celsius));
    Visit {
        conditions: Conditions { air: Some(c(20.0)), water_top: water, water_bottom: water, ..Conditions::default() },
        reset: false,
    }
}

/// The machine with its faults, as a visit finds it.
pub struct Found<'p> {
    plant: &'p Plant,
    params: Vec<f64>,
    visit: Visit,
    pub operation: Operation,
}

/// The machine with these modes, in these conditions.
pub fn found<'p>(plant: &'p Plant, modes: &[&str], visit: &Visit) -> Found<'p> {
    let mut params = plant.machine.sound();
    for id in modes {
        let all = &plant.machine.modes;
        // Of a fault that has degrees only because its size is not known, the stronger one.
        let ix = all.iter().rposition(|m| m.id == *id || m.name_id == *id).unwrap_or_else(|| panic!("no mode {id}"));
        plant.machine.apply(ModeIx(ix), &mut params);
    }
    let operation = plant.operate(&params, visit);
    Found { plant, params, visit: *visit, operation }
}

impl Found<'_> {
    fn command(&self, id: &str) -> CommandIx {
        CommandIx(
            self.plant.machine.commands.iter().position(|x| x.id == id).unwrap_or_else(|| panic!("no command {id}")),
        )
    }

    fn part(&self, id: &str) -> PartIx {
        self.plant.machine.part(id).unwrap_or_else(|| panic!("no part {id}"))
    }

    fn net(&self, name: &str) -> Net {
        Net(self.plant.machine.nets.iter().position(|n| n == name).unwrap_or_else(|| panic!("no wire {name}")))
    }

    /// What follows from a command.
    pub fn timeline(&self, command: &str) -> &Timeline {
        self.plant.timeline(&self.params, &self.operation, self.command(command).0).expect("a timeline")
    }

    /// The last phase of a command.
    pub fn settled(&self, command: &str) -> &Phase {
        self.timeline(command).settled().expect("a phase")
    }

    /// Ids of the parts that have tripped before the visit.
    pub fn tripped(&self) -> Vec<&str> {
        let latched = self.operation.latches.tripped.iter().zip(&self.plant.machine.parts);
        latched.filter(|(t, _)| **t).map(|(_, p)| p.id.as_str()).collect()
    }

    /// Ids of the detections that the board has stored.
    pub fn stored(&self) -> Vec<&str> {
        self.operation.latches.stored.iter().map(|d| self.plant.machine.detections[*d].id.as_str()).collect()
    }

    fn read(&self, measure: Measure, answer: Answer, command: Option<&str>, moment: Moment) -> Prediction {
        let test = Test {
            id: "bench".into(),
            title: String::new(),
            how: String::new(),
            measure,
            answer,
            place: PlaceIx(0),
            power: PowerState::Live,
            command: command.map(|id| self.command(id)),
            moment,
            minutes: 1.0,
            tool: None,
            hazards: Vec::new(),
            from_wiring: false,
        };
        self.plant.predict(&self.params, &self.operation, &test)
    }

    fn number(&self, measure: Measure, dimension: Dimension, command: Option<&str>, moment: Moment) -> Option<f64> {
        match self.read(measure, Answer::Number(dimension), command, moment) {
            Prediction::Number { over, .. } if over > 0.5 => None,
            Prediction::Number { centre, .. } => Some(centre),
            Prediction::Words(p) => panic!("words where a number was asked for: {p:?}"),
        }
    }

    /// Which word is likeliest for what a part is heard or seen to do.
    pub fn does(&self, part: &str, command: &str) -> String {
        let id = format!("watch {part} while {command}");
        let test = self.plant.machine.tests.iter().find(|t| t.id == id).unwrap_or_else(|| panic!("no test {id}"));
        match (self.plant.predict(&self.params, &self.operation, test), &test.answer) {
            (Prediction::Words(p), Answer::Words(words)) => {
                let likeliest = (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b]));
                words[likeliest.expect("a word")].clone()
            }
            other => panic!("{other:?}"),
        }
    }

    /// How many of a part's ohm tests show OL.
    pub fn over(&self, part: &str) -> usize {
        let m = &self.plant.machine;
        let of = |p: &PartIx| m.parts[p.0].id == part;
        m.tests
            .iter()
            .filter(|t| matches!(&t.measure, Measure::PartOhms(p, ..) if of(p)))
            .filter(|t| {
                let shown = self.plant.predict(&self.params, &self.operation, t);
                matches!(shown, Prediction::Number { over, .. } if over > 0.9)
            })
            .count()
    }

    /// Volts between two wires with nothing commanded, at a voltmeter of 10 megohm.
    pub fn volts_at_rest(&self, a: &str, b: &str) -> f64 {
        let between = Measure::Volts(self.net(a), self.net(b));
        self.number(between, Dimension::Voltage, None, Moment::AtRest).expect("volts")
    }

    /// The same, just after a command.
    pub fn volts_while(&self, a: &str, b: &str, command: &str) -> f64 {
        let between = Measure::Volts(self.net(a), self.net(b));
        self.number(between, Dimension::Voltage, Some(command), Moment::AtStart).expect("volts")
    }

    /// Clamp amps in the lead of a part's first terminal, just after a command.
    pub fn amps_at_start(&self, part: &str, command: &str) -> f64 {
        let lead = Measure::LeadAmps(self.part(part), 0);
        self.number(lead, Dimension::Current, Some(command), Moment::AtStart).expect("amps")
    }

    /// Clamp amps in the lead of a part's first terminal, settled.
    pub fn amps_settled(&self, part: &str, command: &str) -> f64 {
        let lead = Measure::LeadAmps(self.part(part), 0);
        self.number(lead, Dimension::Current, Some(command), Moment::Settled).expect("amps")
    }

    /// °C that the display gives for a sensor, settled in a command; `None`: out of range.
    pub fn shown(&self, sensor: &str, command: &str) -> Option<f64> {
        let shown = Measure::ShownTemperature(self.part(sensor));
        self.number(shown, Dimension::Temperature, Some(command), Moment::Settled).map(|k| k - 273.15)
    }

    /// °C that the display gives for a sensor at rest; `None`: out of range.
    pub fn shown_at_rest(&self, sensor: &str) -> Option<f64> {
        let shown = Measure::ShownTemperature(self.part(sensor));
        self.number(shown, Dimension::Temperature, None, Moment::AtRest).map(|k| k - 273.15)
    }

    /// The word that a test most probably gives, by its index.
    pub fn word(&self, measure: Measure) -> usize {
        match self.read(measure, Answer::Words(Vec::new()), None, Moment::AtRest) {
            Prediction::Words(p) => (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b])).expect("words"),
            Prediction::Number { .. } => panic!("a number where words were asked for"),
        }
    }

    /// Warmed in the hand: 0 its own number moves, 1 another, 2 none.
    pub fn warmed(&self, sensor: &str) -> usize {
        self.word(Measure::WarmedInHand(self.part(sensor)))
    }

    /// Which of these sensors stands apart at rest; `None`: all agree.
    pub fn stands_apart<'s>(&self, sensors: &[&'s str]) -> Option<&'s str> {
        let parts = sensors.iter().map(|s| self.part(s)).collect();
        sensors.get(self.word(Measure::OddSensor(parts))).copied()
    }

    /// What one of the machine's own tests would give.
    pub fn predicted(&self, id: &str) -> Prediction {
        let test = self.plant.machine.tests.iter().find(|t| t.id == id).unwrap_or_else(|| panic!("no test {id}"));
        self.plant.predict(&self.params, &self.operation, test)
    }

    /// The number that one of the machine's own tests would most probably give, SI; `None`: out of range.
    pub fn reads(&self, id: &str) -> Option<f64> {
        match self.predicted(id) {
            Prediction::Number { over, .. } if over > 0.5 => None,
            Prediction::Number { centre, .. } => Some(centre),
            Prediction::Words(p) => panic!("words where a number was asked for: {p:?}"),
        }
    }

    /// A full heat-up by the heat pump, °C.
    pub fn heat_up(&self, from: f64, to: f64) -> Option<HeatUp> {
        self.plant.heat_up(&self.params, &self.visit, c(from), c(to))
    }

    /// °C on a thermometer of one's own, settled in a command.
    pub fn thermometer(&self, spot: Spot, command: &str) -> f64 {
        self.number(Measure::Thermometer(spot), Dimension::Temperature, Some(command), Moment::Settled).expect("°C")
            - 273.15
    }
}
