//! The vocabulary of tests and readings: what can be measured or observed, where, in which power
//! state, and what comes out.

use crate::model::{CommandIx, Machine, Net, ParamIx, PartIx, PlaceIx};
use halfsplit_units::Dimension;

/// What the machine must be like, electrically, for a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PowerState {
    /// Powered or not, it does not matter: looking, asking, thermometers at rest.
    Any,
    /// Powered and in operation.
    Live,
    /// Isolated, proved dead, stored charge let off.
    Dead,
}

/// When, within a command, something is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Moment {
    /// With nothing commanded, the machine having stood for hours.
    AtRest,
    /// Within seconds of the load being switched on.
    AtStart,
    /// Settled: twenty minutes or more into the command.
    Settled,
}

/// A temperature that somebody can put a thermometer to, or a sensor sits at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// Air drawn in.
    Air,
    /// Evaporator coil, where the refrigerant boils.
    EvaporatorCoil,
    /// Suction line at the compressor.
    SuctionLine,
    /// Discharge line at the compressor.
    DischargeLine,
    /// Liquid line after the condenser.
    LiquidLine,
    /// Air leaving the evaporator.
    LeavingAir,
    /// Water, upper part of the tank.
    WaterTop,
    /// Water, lower part of the tank.
    WaterBottom,
    /// Room air where the indoor unit draws it in.
    RoomAir,
    /// Air that the indoor unit blows out.
    SupplyAir,
    /// Outdoor air where the outdoor unit draws it in.
    OutdoorAir,
    /// Indoor coil, at mid circuit.
    IndoorCoil,
    /// Outdoor coil, at mid circuit.
    OutdoorCoil,
    /// Heat sink of a power module.
    HeatSink,
}

impl Spot {
    /// All spots, in order of their index.
    pub const ALL: [Spot; Spot::COUNT] = [
        Spot::Air,
        Spot::EvaporatorCoil,
        Spot::SuctionLine,
        Spot::DischargeLine,
        Spot::LiquidLine,
        Spot::LeavingAir,
        Spot::WaterTop,
        Spot::WaterBottom,
        Spot::RoomAir,
        Spot::SupplyAir,
        Spot::OutdoorAir,
        Spot::IndoorCoil,
        Spot::OutdoorCoil,
        Spot::HeatSink,
    ];

    /// How many there are.
    pub const COUNT: usize = 14;

    /// Key in the sheet (`senses = "…"`).
    pub fn key(self) -> &'static str {
        match self {
            Spot::Air => "air",
            Spot::EvaporatorCoil => "evaporator coil",
            Spot::SuctionLine => "suction line",
            Spot::DischargeLine => "discharge line",
            Spot::LiquidLine => "liquid line",
            Spot::LeavingAir => "leaving air",
            Spot::WaterTop => "water top",
            Spot::WaterBottom => "water bottom",
            Spot::RoomAir => "room air",
            Spot::SupplyAir => "supply air",
            Spot::OutdoorAir => "outdoor air",
            Spot::IndoorCoil => "indoor coil",
            Spot::OutdoorCoil => "outdoor coil",
            Spot::HeatSink => "heat sink",
        }
    }

    /// Index in [`Spot::ALL`].
    pub fn index(self) -> usize {
        self as usize
    }
}

/// How long somebody watches the water warm, s: in half an hour a tank moves by several times what a display resolves. Common
/// practice, no source.
pub const WARMING: f64 = 1800.0;

/// Share of the tank that a long draw takes: some minutes under a tap. Judgement.
pub const DRAWN: f64 = 0.2;

/// What is measured or observed.
#[derive(Debug, Clone, PartialEq)]
pub enum Measure {
    /// Volts between two wires, at the meter's high input resistance (10 MΩ).
    Volts(Net, Net),
    /// DC volts between two wires of the control circuit.
    ControlVolts(Net, Net),
    /// Volts on the direct-current bus that a part holds.
    BusVolts(PartIx),
    /// The diode test on two terminals of a part, its leads off: red, black.
    Diode(PartIx, usize, usize),
    /// What a meter shows of the line between two units: silent, steady, wobbling.
    Signal(PartIx),
    /// Clamp amps in the supply conductor.
    SupplyAmps,
    /// Clamp amps in the lead to one terminal of a part (part, index of the terminal).
    LeadAmps(PartIx, usize),
    /// Ohms between two terminals of a part with its leads off.
    PartOhms(PartIx, usize, usize),
    /// Ohms through a plug: the part measured from the wire side.
    PlugOhms(PartIx, usize, usize),
    /// Ohms between two wires with the machine dead and everything connected.
    WireOhms(Net, Net),
    /// Microfarads between two terminals of a part with its leads off, discharged.
    PartFarads(PartIx, usize, usize),
    /// Insulation at 500 V between a terminal of a part, leads off, and the cabinet.
    Insulation(PartIx, usize),
    /// The temperature that the display gives for a sensor.
    ShownTemperature(PartIx),
    /// What the display gives for a sensor, less a thermometer of one's own beside it.
    ShownLessThermometer(PartIx),
    /// A thermometer of one's own at a spot.
    Thermometer(Spot),
    /// Which of these sensors stands apart from the others on the display, at rest; the last category is "all agree".
    OddSensor(Vec<PartIx>),
    /// What moves on the display when the sensor that belongs at a part's place is warmed in the hand.
    WarmedInHand(PartIx),
    /// Gauge pressure at a port.
    Gauge(GaugeSide),
    /// How far the water at a spot warms in [`WARMING`] seconds of a command: on the display, by the sensor that belongs there, or
    /// with a thermometer of one's own.
    WaterRise(Spot, Option<PartIx>),
    /// The electricity that the machine takes in [`WARMING`] seconds of a command.
    EnergyMeanwhile,
    /// Whether the water at the tap cools while a fifth of the tank ([`DRAWN`]) is drawn.
    LongDraw(PartIx),
    /// Rise of the suction gas through a reversing valve, its body between two thermometers.
    SuctionRise(PartIx),
    /// Which of the sheet's detections the display reports (index into the machine's detections,
    /// the last category being "nothing").
    ShownCode,
    /// Whether the display is lit.
    DisplayLit,
    /// What a driven part does: silent, hums, runs.
    Behaviour(PartIx),
    /// Something looked at on a part: a parameter cut at thresholds.
    Look {
        /// The part.
        part: PartIx,
        /// Parameter that decides what is seen.
        param: ParamIx,
        /// Thresholds between the categories, rising.
        cuts: &'static [f64],
        /// Chance that a neighbouring category is reported.
        blur: f64,
    },
    /// What the customer complains of.
    Complaint,
}

impl Measure {
    /// Whether it shows how a part is worn, which stays while a fault of it happens to be away: a look or a tug, but none that
    /// shows whether something has tripped.
    pub fn shows_wear(&self, machine: &Machine) -> bool {
        let Measure::Look { part, param, .. } = self else { return false };
        machine.parts[part.0].role.stands() != Some(*param)
    }
}

/// The side of the circuit that a gauge is put to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GaugeSide {
    /// Suction.
    Low,
    /// Discharge or liquid.
    High,
}

/// What kind of answer a test gives.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A number with a unit.
    Number(Dimension),
    /// One of some words.
    Words(Vec<String>),
}

/// Tools a technician may or may not have with him.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tool {
    /// Multimeter: volts, ohms, microfarads.
    Meter,
    /// Clamp ammeter.
    Clamp,
    /// Insulation tester, 500 V.
    InsulationTester,
    /// Clamp or contact thermometer.
    Thermometer,
    /// Pressure gauges.
    Gauges,
}

impl Tool {
    /// All tools.
    pub const ALL: [Tool; 5] = [Tool::Meter, Tool::Clamp, Tool::InsulationTester, Tool::Thermometer, Tool::Gauges];

    /// Trade word.
    pub fn name(self) -> &'static str {
        match self {
            Tool::Meter => "multimeter",
            Tool::Clamp => "clamp ammeter",
            Tool::InsulationTester => "insulation tester",
            Tool::Thermometer => "clamp thermometer",
            Tool::Gauges => "gauges",
        }
    }
}

/// What can hurt in a step. The order is that of the cautions shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Hazard {
    /// Electric shock.
    Shock,
    /// Charge stored in a capacitor.
    StoredCharge,
    /// Charge on a direct-current bus, hundreds of volts.
    BusCharge,
    /// Pressure, refrigerant.
    Pressure,
    /// Flammable refrigerant.
    Flammable,
    /// Heat, scalding water.
    Heat,
    /// Moving parts that start unannounced.
    Moving,
}

impl Hazard {
    /// What to call it, in a list.
    pub fn word(self) -> &'static str {
        match self {
            Hazard::Shock => "shock",
            Hazard::StoredCharge => "stored charge",
            Hazard::BusCharge => "bus charge",
            Hazard::Pressure => "pressure",
            Hazard::Flammable => "flammable",
            Hazard::Heat => "heat",
            Hazard::Moving => "moving parts",
        }
    }

    /// The caution to show where the step is.
    pub fn caution(self) -> &'static str {
        match self {
            Hazard::Shock => {
                "Mains: insulated probes, one hand, dry footing. Live work only to diagnose, by qualified people."
            }
            Hazard::StoredCharge => {
                "A capacitor may be charged: bleed it through 10 to 20 kohm, 5 W, and prove below 10 V before touching."
            }
            Hazard::BusCharge => {
                "A direct-current bus keeps up to 400 V after switching off, for good if its bleeder has failed: wait 5 to 10 minutes, measure plus to minus, bleed through about 2 kohm 50 W, prove below 10 V before a hand goes in."
            }
            Hazard::Pressure => {
                "Refrigerant under pressure: goggles and gloves; handling it needs certification in most places."
            }
            Hazard::Flammable => "Flammable refrigerant: ventilate, no ignition source, detector on.",
            Hazard::Heat => "Hot metal and scalding water: 60 °C water burns in seconds.",
            Hazard::Moving => "Fans start unannounced: keep fingers and sleeves clear.",
        }
    }
}

/// A test: something to measure or observe, with where, when, what it costs and how to say it.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Stable id, for example `ohms K3.COM-K3.NO off` — used in journals and by programs.
    pub id: String,
    /// One line: what to do.
    pub title: String,
    /// How to do it: meter setting and probe places.
    pub how: String,
    /// What is measured.
    pub measure: Measure,
    /// What kind of answer it gives.
    pub answer: Answer,
    /// Where.
    pub place: PlaceIx,
    /// Power state.
    pub power: PowerState,
    /// What is commanded, if anything.
    pub command: Option<CommandIx>,
    /// When within the command.
    pub moment: Moment,
    /// Minutes for the test itself, access and set-up not included.
    pub minutes: f64,
    /// Tool needed.
    pub tool: Option<Tool>,
    /// What can hurt.
    pub hazards: Vec<Hazard>,
    /// True if worked out from the wiring, false if from the part library.
    pub from_wiring: bool,
}
