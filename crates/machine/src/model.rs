//! A machine ready to be computed: parts, wires, parameters, modes.

mod build;
mod degrees;
mod how_built;
mod probes;
mod tests_of;
mod wiring;

use crate::library::{Op, PartClass, Repair};
use crate::sheet::{CallsFor, Finding, Response, Sheet, ValveCommand, Watch};
use crate::test::Test;
use crate::thermistor::Law;

macro_rules! index {
    ($(#[$doc:meta] $name:ident)*) => {$(
        #[$doc]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub usize);
    )*};
}

index! {
    /// Index of a parameter.
    ParamIx
    /// Index of a part.
    PartIx
    /// Index of a place.
    PlaceIx
    /// Index of a wire.
    Net
    /// Index of a mode.
    ModeIx
    /// Index of a branch.
    BranchIx
    /// Index of a command.
    CommandIx
}

/// How far the true value of a parameter may lie from its nominal one (one standard deviation).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Exactly the nominal value.
    None,
    /// A fraction of the nominal value.
    Relative(f64),
    /// In the parameter's own unit.
    Absolute(f64),
}

/// A number that the physics uses and a fault may edit.
#[derive(Debug, Clone, PartialEq)]
pub struct Param {
    /// The part that it belongs to.
    pub part: PartIx,
    /// Name within the part.
    pub name: String,
    /// Value on a sound machine, SI.
    pub nominal: f64,
    /// Spread between sound machines.
    pub spread: Spread,
}

/// A place where terminals can be reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Id in the sheet.
    pub id: String,
    /// How to say it.
    pub name: String,
    /// Minutes to open and close it.
    pub minutes: f64,
    /// How deep it is, 0 to 4.
    pub level: u8,
    /// Place that has to be open first.
    pub behind: Option<PlaceIx>,
    /// Whether live measuring is allowed.
    pub live_allowed: bool,
}

/// A terminal of a part on this machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Terminal {
    /// Its name.
    pub name: String,
    /// The wire that it is on; `None` if the sheet leaves it out.
    pub net: Option<Net>,
    /// Where it is reached.
    pub place: PlaceIx,
    /// Whether live measuring is allowed there.
    pub live_allowed: bool,
    /// Resistance of its joint with the wire, ohm.
    pub joint: ParamIx,
}

/// A terminal, by part and position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TerminalRef {
    /// The part.
    pub part: PartIx,
    /// Index among the part's terminals.
    pub terminal: usize,
}

/// What closes a contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drive {
    /// Closed unless something is wrong: breaker, fuse, cut-off, plug. Latches open when tripped.
    Protective,
    /// Closed while the relay (the part itself) is energised.
    Relay,
    /// Closed unless the relay (the part itself) is energised.
    Released,
    /// In series with the compressor; opens when its current or its shell has been too hot for too long.
    Overload,
    /// Normally closed, opened by a raised float.
    Float,
    /// A conductor that is there in some ways of building the machine: there while `stuck` is 1, else not.
    Link,
}

/// An electrical branch between terminals of one part. Parameters hold SI values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Branch {
    /// A resistance, ohm.
    Resistor {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Ohm.
        ohms: ParamIx,
        /// Reactance at supply frequency, ohm; 0 for a pure resistance.
        reactance: Option<ParamIx>,
    },
    /// A motor's winding that turns something: to direct current its ohms, to alternating current also what its work adds.
    Working {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Ohm.
        ohms: ParamIx,
        /// What its work adds, ohm.
        work: ParamIx,
        /// Reactance at supply frequency, ohm.
        reactance: ParamIx,
    },
    /// A thermistor whose law and spot are in the part's [`Role`].
    Thermistor {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
    },
    /// A capacitance, farad, with leakage in parallel.
    Capacitor {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Farad.
        farads: ParamIx,
        /// Parallel leakage, siemens.
        leak: ParamIx,
    },
    /// A contact.
    Contact {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// What closes it.
        drive: Drive,
        /// 0: works; 1: stuck closed; −1: stuck open.
        stuck: ParamIx,
        /// Closed resistance, ohm.
        ohms: ParamIx,
    },
    /// The windings of a motor with an internal line-break overload in the common lead.
    Windings {
        /// Common, run and start terminals.
        c: usize,
        /// Run.
        r: usize,
        /// Start.
        s: usize,
    },
    /// Leakage from a terminal to the cabinet, siemens.
    EarthLeak {
        /// The terminal.
        a: usize,
        /// Siemens.
        siemens: ParamIx,
    },
    /// A mains source between two terminals, earthed in between.
    Mains {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Protective earth.
        earth: usize,
        /// Share of the voltage that stands between `a` and earth: 0.5 split phase, 1 with a neutral.
        share: f64,
        /// Volts RMS.
        volts: ParamIx,
        /// Source resistance, ohm.
        ohms: ParamIx,
    },
    /// Two windings on one core: what the second gives follows from what the first gets and what hangs on the second.
    Transformer {
        /// Ends of the first winding.
        first: (usize, usize),
        /// Ends of the second winding.
        second: (usize, usize),
        /// Rated volts of the windings.
        volts: [f64; 2],
        /// Resistance of the first winding, ohm.
        first_ohms: ParamIx,
        /// Resistance of the second winding, ohm.
        second_ohms: ParamIx,
    },
    /// A resistance that current heats until it hardly conducts: cold while its part is not energised, else hot.
    HeatsUp {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Ohm, cold.
        cold: ParamIx,
        /// Ohm, hot.
        hot: f64,
    },
    /// A diode, or what a switch with a diode across it is to a meter.
    Diode {
        /// Anode.
        anode: usize,
        /// Cathode.
        cathode: usize,
        /// 0: sound; 1: shorted; −1: open.
        state: ParamIx,
    },
    /// Three windings to a star point of their own.
    Star {
        /// The three terminals.
        ends: [usize; 3],
        /// Ohm of each leg.
        ohms: [ParamIx; 3],
    },
    /// What a rectifier or a switch-mode supply draws from the mains; the physics fills it in. To a meter it is nothing.
    Draw {
        /// One terminal.
        a: usize,
        /// Other terminal.
        b: usize,
        /// Ohm.
        ohms: ParamIx,
    },
    /// A DC rail that the power supply makes when it is fed.
    Rail {
        /// Positive terminal.
        plus: usize,
        /// Ground terminal.
        ground: usize,
        /// Volts when fed.
        volts: f64,
        /// Health of the supply: 1 works, 0 dead, in between sags.
        works: ParamIx,
    },
}

/// What a part does beyond its branches; the physics dispatches on this.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    /// Mains supply.
    Supply {
        /// Volts RMS between the legs.
        volts: ParamIx,
    },
    /// Over-current protection that latches: breaker or fuse.
    OverCurrent {
        /// Trip current, A.
        amps: ParamIx,
        /// What it still carries, in times of the machine's greatest current, and that current, A: where it can be worn.
        carries: Option<(ParamIx, f64)>,
        /// Trips above this current to earth, A, where it watches for one.
        earth_amps: Option<f64>,
        /// Word for what it is when open.
        resettable: bool,
        /// Tripped at the visit without a cause that is still there.
        tripped: ParamIx,
        /// Where its handle stands, 0 on, 1 tripped, where it has one: filled in by the physics.
        handle: Option<ParamIx>,
    },
    /// Thermal cut-off, both poles together.
    CutOff {
        /// Opens above, K.
        opens: ParamIx,
        /// Can be reset below, K.
        resets: f64,
        /// Where it senses.
        spot: crate::test::Spot,
        /// Tripped at the visit without a cause that is still there.
        tripped: ParamIx,
        /// Where its button stands, 0 flush, 1 popped: filled in by the physics.
        position: ParamIx,
    },
    /// Power supply of the board.
    PowerSupply {
        /// 1 works, 0 dead.
        works: ParamIx,
        /// Least mains voltage, V, at which it works.
        needs: f64,
    },
    /// Control board.
    Board {
        /// 1 runs its program, 0 does not.
        alive: ParamIx,
        /// Error of its analogue inputs, K at 25 °C.
        input_error: ParamIx,
        /// Pull-up resistor of the thermistor inputs, ohm.
        pull_up: f64,
        /// Current sensor input works.
        current_input: ParamIx,
        /// Solder under the relays holds: 1.
        drivers: ParamIx,
    },
    /// Relay on the board.
    Relay {
        /// 1: the driver and coil work.
        driver: ParamIx,
    },
    /// Compressor with run and start windings and internal overload.
    Compressor(Compressor),
    /// Run capacitor.
    RunCapacitor,
    /// Fan.
    Fan {
        /// Airflow as a fraction of sound.
        flow: ParamIx,
        /// 1 free, 0 seized.
        free: ParamIx,
        /// Rated current, A.
        amps: f64,
        /// The air that it moves.
        side: AirSide,
        /// Amps in its start winding with a good capacitor; `None` without one.
        start_amps: Option<f64>,
    },
    /// Immersion element.
    Element {
        /// True for the upper, false for the lower.
        upper: bool,
        /// Heat that reaches the water as a fraction of the electrical power.
        transfer: ParamIx,
    },
    /// Electronic expansion valve, coil and body.
    ExpansionValve {
        /// Coil drives the rotor: 1 yes, 0 no.
        coil_drives: ParamIx,
        /// −1 free; else stuck at this fraction of full opening.
        stuck_at: ParamIx,
        /// Least opening that it can close to.
        leak_by: ParamIx,
        /// Largest opening as a fraction of sound (debris).
        reach: ParamIx,
    },
    /// Reversing valve: which of the two coils is the warm one.
    ReversingValve {
        /// Whether the coil is energised to heat (rather than to cool).
        energised_heats: bool,
        /// 0: the slide follows the coil; 1: stuck where it heats; −1: stuck where it cools.
        stuck: ParamIx,
        /// Share of the discharge gas that leaks to the suction, 0 to 1.
        leak: ParamIx,
        /// Winding of the coil, ohm.
        coil: ParamIx,
    },
    /// Coil of a machine with an indoor and an outdoor part: either may evaporate or condense.
    Coil {
        /// Outdoors rather than indoors.
        outdoor: bool,
        /// 0 clean to 1.
        fouling: ParamIx,
    },
    /// Thermistor.
    Thermistor(Thermistor),
    /// Current sensor feeding the board.
    CurrentSensor {
        /// Relay whose lead it watches.
        relay: PartIx,
        /// Output as a fraction of sound.
        gain: ParamIx,
    },
    /// Condensate drain with float.
    Drain {
        /// 1 blocked.
        blocked: ParamIx,
        /// Float stuck raised: 1.
        float_stuck: ParamIx,
        /// Whether a float switch is wired.
        has_float: bool,
    },
    /// Air filter, on the inside.
    Filter {
        /// 0 clean to 1 closed.
        blockage: ParamIx,
    },
    /// Evaporator coil.
    Evaporator {
        /// 0 clean to 1.
        fouling: ParamIx,
    },
    /// Condenser.
    Condenser {
        /// 0 clean to 1.
        fouling: ParamIx,
    },
    /// Refrigerant charge.
    Charge {
        /// Fraction of the right charge.
        ratio: ParamIx,
        /// Air in the circuit, fraction of condensing pressure.
        air: ParamIx,
        /// Restriction of the liquid line, 0 none to 1 closed.
        restriction: ParamIx,
    },
    /// Settings.
    Settings {
        /// 0 heat pump, 1 elements only, 2 off/away.
        mode: ParamIx,
        /// Setpoint, K.
        setpoint: ParamIx,
        /// Restart differential, K.
        differential: f64,
    },
    /// Water tank.
    Tank {
        /// Litres.
        litres: ParamIx,
        /// Loss, W/K.
        loss: ParamIx,
        /// 1 if the dip tube is whole.
        dip_tube: ParamIx,
    },
    /// Contacts that a coil of its own pulls in, in whatever circuit the sheet puts that coil: contactor, control relay.
    CoilDriven {
        /// Rated volts of the coil.
        volts: f64,
    },
    /// Pressure switch, normally closed. Its latch is that of what trips.
    PressureSwitch {
        /// Opens above (true) or below (false).
        high: bool,
        /// Opens at, Pa absolute.
        opens: ParamIx,
        /// Stays open until somebody presses its button.
        by_hand: bool,
    },
    /// Overload in the compressor's lead, outside its shell.
    ExternalOverload {
        /// Trip current as a fraction of sound.
        trip: ParamIx,
    },
    /// What feeds the start winding for the start only.
    StartDevice {
        /// Lets go when the motor has come up to speed (a relay), rather than after a second whatever the motor does.
        at_speed: bool,
    },
    /// Valve that holds superheat by its own bulb.
    ThermostaticValve {
        /// −1 free; else stuck at this fraction of full opening.
        stuck_at: ParamIx,
        /// Largest opening as a fraction of sound.
        reach: ParamIx,
        /// 1: the bulb feels the line; 0: it feels the air.
        bulb_seated: ParamIx,
    },
    /// Capillary tube.
    Capillary {
        /// What it passes as a fraction of sound.
        passes: ParamIx,
    },
    /// Something in the liquid line that may close it.
    Restriction {
        /// 0 none to 1 closed.
        share: ParamIx,
    },
    /// Something on the circuit that may have lost charge.
    Vessel {
        /// Share of the charge that it has let stay.
        tightness: ParamIx,
    },
    /// Defrost control without a say of its own in the wiring's ohms: when it fails to act, the coil ices.
    DefrostControl {
        /// 1: defrosts when it should.
        acts: ParamIx,
        /// 1: there is ice on the coil, and it melts just now.
        melting: ParamIx,
    },
    /// Heater that keeps a coil free of ice; what it gives in the defrost command decides.
    DefrostHeater,
    /// Heater in a stream of air or round a shell.
    Heater,
    /// Bridge rectifier in front of a direct-current bus: upper diodes of the two sides, then the lower ones.
    Rectifier {
        /// States of the four diodes.
        diodes: [ParamIx; 4],
        /// What it draws, ohm.
        draws: ParamIx,
    },
    /// Inrush resistor with its bypass relay.
    Inrush {
        /// The resistor, ohm.
        resistor: ParamIx,
        /// 1: the relay closes when the bus stands; 0: it does not.
        bypasses: ParamIx,
        /// What stands between its terminals, ohm.
        path: ParamIx,
    },
    /// Power-factor stage, which lifts the bus under load.
    PowerFactorStage {
        /// 1 works, 0 passes the current on.
        works: ParamIx,
        /// 1: its switch is shorted.
        shorted: ParamIx,
        /// Bus volts that it holds.
        holds: f64,
    },
    /// Bus capacitor with its bleeder.
    BusCapacitor {
        /// Farad.
        farads: ParamIx,
        /// Series resistance, ohm.
        series_ohms: ParamIx,
        /// Leakage and bleeder, siemens.
        leak: ParamIx,
        /// Bleeder, ohm.
        bleeder: ParamIx,
    },
    /// Power module: upper switches of U, V, W, then the lower ones.
    PowerModule {
        /// What the meter finds of the six.
        diodes: [ParamIx; 6],
        /// Whether each of the six is driven.
        driven: [ParamIx; 6],
        /// What its current sensing adds, as a fraction of its limit.
        sensing: ParamIx,
        /// How far its heat gets into its sink, 1 sound.
        cooling: ParamIx,
        /// Trips above, A peak.
        trips: f64,
    },
    /// Compressor with a permanent-magnet motor.
    PmCompressor(PmCompressor),
    /// Fan that electronics of its own commutate.
    DcFan {
        /// The air that it moves; `None` for a fan that cools the heat sink.
        side: Option<AirSide>,
        /// Airflow as a fraction of sound.
        flow: ParamIx,
        /// 1 free, 0 seized.
        free: ParamIx,
        /// Its electronics work.
        runs: ParamIx,
        /// Its speed signal comes back.
        feedback: ParamIx,
        /// Between its logic supply and ground, ohm.
        logic: Option<ParamIx>,
    },
    /// Board of the outdoor unit, on the bus's ground.
    OutdoorBoard {
        /// 1 runs its program.
        alive: ParamIx,
        /// Its end of the line between the units works.
        port: ParamIx,
    },
    /// Supply of the outdoor board from the bus.
    BusSupply {
        /// 1 works, 0 dead.
        works: ParamIx,
        /// Least bus volts at which it works.
        needs: f64,
        /// Amps that its logic rail gives before it gives in.
        gives: f64,
    },
    /// The cable between two units.
    InterunitLine {
        /// Signal core, ohm.
        core: ParamIx,
        /// Signal core to neutral, ohm.
        fault: ParamIx,
    },
    /// A question of how the machine is built; its branches are the conductors in question.
    HowBuilt {
        /// The ways, as drawn first.
        ways: Vec<Way>,
        /// Which of them it is, by index.
        way: ParamIx,
    },
    /// Anode of a tank: wears away in silence.
    Anode {
        /// Whether it is consumed (0 or 1).
        consumed: ParamIx,
    },
    /// Nothing beyond its branches: plugs, harnesses, transformers, door switches.
    Passive,
}

impl Role {
    /// The parameter that shows where its button or handle stands, 0 as it should, 1 tripped. The physics fills it in from the
    /// latch; no fault sets it.
    pub fn stands(&self) -> Option<ParamIx> {
        match self {
            Role::CutOff { position, .. } => Some(*position),
            Role::OverCurrent { handle, .. } => *handle,
            _ => None,
        }
    }
}

/// A way in which a machine may be built.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// In trade words.
    pub says: String,
    /// How likely before anything is read, 0 to 1; those of a question add up to one.
    pub share: f64,
    /// The mode that stands for it; `None` for the way as drawn.
    pub mode: Option<ModeIx>,
}

/// Which stream of air a coil, a fan or a filter belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AirSide {
    /// Room, cold box, or the only air that the machine draws in.
    Inside,
    /// Outdoors, or the room that a cold box gives its heat to.
    Outside,
    /// One stream through both coils, the cold one first.
    Both,
}

impl AirSide {
    /// All, with their words in a sheet.
    pub const WORDS: [(AirSide, &'static str); 3] =
        [(AirSide::Inside, "inside"), (AirSide::Outside, "outside"), (AirSide::Both, "both")];
}

/// What the physics needs of a compressor. Resistances in ohm at 25 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Compressor {
    /// Run winding, ohm.
    pub run_ohms: ParamIx,
    /// Start winding, ohm.
    pub start_ohms: ParamIx,
    /// Turns that work in the run winding, 1 sound.
    pub run_turns: ParamIx,
    /// Rated current, A.
    pub rated_a: f64,
    /// Locked-rotor current, A.
    pub locked_a: f64,
    /// Run capacitor that it is meant for, F.
    pub capacitor: f64,
    /// Number of poles.
    pub poles: u32,
    /// 1 free, 0 seized.
    pub free: ParamIx,
    /// Pumping efficiency against sound, 1 sound.
    pub pumping: ParamIx,
    /// Overload: 0 works; −1 stuck open; trip level scale.
    pub overload_stuck: ParamIx,
    /// Overload trip current as a fraction of sound.
    pub overload_trip: ParamIx,
    /// Internal joint of the common pin, ohm.
    pub common_joint: ParamIx,
    /// 1: the leads to run and start are on each other's pins.
    pub leads_exchanged: ParamIx,
}

/// What the physics needs of a compressor with a permanent-magnet motor. Resistances in ohm at 25 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct PmCompressor {
    /// Legs U, V, W.
    pub legs: [ParamIx; 3],
    /// Magnets, 1 sound.
    pub magnets: ParamIx,
    /// 1 free, 0 seized.
    pub free: ParamIx,
    /// Pumping efficiency against sound, 1 sound.
    pub pumping: ParamIx,
    /// Siemens from a winding to the shell.
    pub earth: ParamIx,
    /// Pairs of poles.
    pub pole_pairs: f64,
    /// Speed at which it gives its rated capacity, 1/min.
    pub rated_rpm: f64,
    /// Back-EMF between two terminals, V RMS per 1000/min.
    pub emf: f64,
}

/// What the physics needs of a thermistor.
#[derive(Debug, Clone, PartialEq)]
pub struct Thermistor {
    /// Law of a sound one.
    pub law: Law,
    /// Index of the spot where it sits, in [`crate::test::Spot::ALL`].
    pub spot: ParamIx,
    /// Factor on its resistance.
    pub factor: ParamIx,
    /// Resistance in its plug, ohm (in series, between sensor and board).
    pub plug: ParamIx,
    /// Leakage across it, siemens.
    pub leak: ParamIx,
    /// 1 seated; 0 hanging in the air.
    pub seated: ParamIx,
}

/// A part on this machine.
#[derive(Debug, Clone)]
pub struct Part {
    /// Id in the sheet.
    pub id: String,
    /// How to say it.
    pub name: String,
    /// Its class.
    pub class: &'static PartClass,
    /// Where it is.
    pub place: PlaceIx,
    /// Terminals.
    pub terminals: Vec<Terminal>,
    /// What it does.
    pub role: Role,
    /// Position in the sheet, for error messages.
    pub entry: usize,
}

/// A resolved edit: parameter and operation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResolvedEdit {
    /// The parameter.
    pub param: ParamIx,
    /// What happens to it.
    pub op: Op,
}

/// The days on which a part is in a state that it is designed for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Any.
    Always,
    /// When ice grows on the coil that takes up heat.
    IceGrows,
}

impl When {
    /// In words, to stand behind "on".
    pub fn words(self) -> &'static str {
        match self {
            When::Always => "any day",
            When::IceGrows => "days on which ice grows on the cold coil",
        }
    }
}

/// What being in a mode means to whoever has to put things right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nature {
    /// A failure: it has to be put right.
    Fault,
    /// What the part is designed to do for some minutes now and then. Nothing has to be put right.
    ByDesign {
        /// On what days.
        when: When,
        /// Odds of finding it so against not (≥ 0), on a day that brings it about.
        odds: f64,
        /// Minutes after which it is over.
        minutes: f64,
    },
    /// The machine is built in another of the ways that machines of its kind are built in. It lasts, and nothing has to be
    /// put right.
    AsBuilt {
        /// Odds of its being built so against as the sheet says (≥ 0).
        odds: f64,
    },
}

impl Nature {
    /// Whether nothing has to be put right.
    pub fn harmless(self) -> bool {
        self != Nature::Fault
    }

    /// Of what is no failure: odds of finding the machine so against not. 0 for a failure, whose odds follow from its rate.
    pub fn odds(self) -> f64 {
        match self {
            Nature::Fault => 0.0,
            Nature::ByDesign { odds, .. } | Nature::AsBuilt { odds } => odds,
        }
    }
}

/// A way in which one part of this machine can be wrong, at one severity, or other than it mostly is.
#[derive(Debug, Clone)]
pub struct Mode {
    /// Stable id: part, mode key and level, for example `CRUN:weak/half`.
    pub id: String,
    /// Id without the level: what people call the fault.
    pub name_id: String,
    /// The part.
    pub part: PartIx,
    /// What to call it, for example "run capacitor CRUN: capacitance low".
    pub name: String,
    /// Word for the level; empty if there is only one.
    pub level: &'static str,
    /// What brings it about.
    pub cause: &'static str,
    /// What to look for upstream.
    pub upstream: &'static str,
    /// What shows afterwards that it is right.
    pub proof: &'static str,
    /// Whether it is a failure at all.
    pub nature: Nature,
    /// Effect.
    pub edits: Vec<ResolvedEdit>,
    /// Failures per unit-year at the given age are `rate * ageing.factor(age)`.
    pub rate: f64,
    /// How the rate changes with age.
    pub ageing: crate::library::Ageing,
    /// Present only some of the time.
    pub intermittent: bool,
    /// True for modes that people bring about: wrong part, wrong wiring, exchanged plugs.
    pub workmanship: bool,
    /// What puts it right; of what is no failure, what to do instead of a repair.
    pub repair: Repair,
    /// Modes with the same group need not be told apart: `part/group`.
    pub repair_group: String,
    /// Modes that this one makes more likely, with the factor.
    pub promotes: Vec<(ModeIx, f64)>,
}

/// One stage of a command.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Its name.
    pub name: String,
    /// How long it lasts, s.
    pub lasts: f64,
    /// Relays energised.
    pub on: Vec<PartIx>,
    /// What the expansion valve does.
    pub valve: ValveCommand,
}

/// Something that the machine can be told to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Command {
    /// Id in the sheet.
    pub id: String,
    /// How to say it.
    pub name: String,
    /// How to bring it about.
    pub how: String,
    /// Minutes to bring it about.
    pub minutes: f64,
    /// Forced from the service menu.
    pub forced: bool,
    /// What it is for.
    pub calls_for: Option<CallsFor>,
    /// Stages.
    pub stages: Vec<Stage>,
}

/// Something that the board detects.
#[derive(Debug, Clone, PartialEq)]
pub struct Detection {
    /// Id in the sheet.
    pub id: String,
    /// What it looks at.
    pub watches: Watch,
    /// The part it looks at; for [`Watch::SensorRange`] without a part, every thermistor.
    pub part: Option<PartIx>,
    /// Fires above (K, A).
    pub above: Option<f64>,
    /// Fires below (K, A; K difference for superheat).
    pub below: Option<f64>,
    /// For how long, s.
    pub holds: f64,
    /// Relay that must be on.
    pub while_on: Option<PartIx>,
    /// What the board does.
    pub does: Response,
    /// Tries before it gives up.
    pub tries: u32,
    /// Wait between tries, s.
    pub wait: f64,
    /// What the display shows.
    pub shows: String,
}

/// A machine ready to be computed.
#[derive(Debug, Clone)]
pub struct Machine {
    /// The sheet it was built from.
    pub sheet: Sheet,
    /// Places; index 0 is "in front of the machine", needing nothing to be opened.
    pub places: Vec<Place>,
    /// Wires, by name.
    pub nets: Vec<String>,
    /// The wire that is the cabinet and protective earth.
    pub earth: Net,
    /// Parts in the order of the sheet.
    pub parts: Vec<Part>,
    /// Parameters.
    pub params: Vec<Param>,
    /// Branches, each with the part it belongs to.
    pub branches: Vec<(PartIx, Branch)>,
    /// Modes.
    pub modes: Vec<Mode>,
    /// Commands.
    pub commands: Vec<Command>,
    /// Detections.
    pub detections: Vec<Detection>,
    /// Tests that the part library offers on this machine.
    pub tests: Vec<Test>,
    /// What is odd about the sheet.
    pub findings: Vec<Finding>,
}

impl Machine {
    /// Nominal parameter vector of a sound machine.
    pub fn sound(&self) -> Vec<f64> {
        self.params.iter().map(|p| p.nominal).collect()
    }

    /// Applies the edits of a mode to a parameter vector.
    pub fn apply(&self, mode: ModeIx, params: &mut [f64]) {
        for e in &self.modes[mode.0].edits {
            let p = &mut params[e.param.0];
            *p = match e.op {
                Op::Set(v) => v,
                Op::Scale(f) => *p * f,
                Op::Add(d) => *p + d,
            };
        }
    }

    /// What a repair is meant for: the failures of its group. Empty if there is no such repair.
    pub fn meant_for<'m>(&'m self, group: &'m str) -> impl Iterator<Item = ModeIx> + 'm {
        self.failures().filter(move |i| self.modes[i.0].repair_group == group)
    }

    /// What a repair puts right: what it is meant for; where a part is fitted its joints besides, which are made anew
    /// with it; and where the circuit is evacuated and charged anew, what was wrong with its charge.
    pub fn puts_right<'m>(&'m self, group: &'m str) -> impl Iterator<Item = ModeIx> + 'm {
        let of_part = group.strip_suffix("/replace");
        // Whoever evacuates a circuit weighs its charge in anew; one who only adds what is missing does not.
        let charged_anew = self.meant_for(group).any(|i| self.modes[i.0].repair.what.contains("evacuate"));
        self.failures().filter(move |i| {
            let own = &self.modes[i.0].repair_group;
            let with_part = || own.strip_suffix("/connection").is_some_and(|part| Some(part) == of_part);
            own == group || with_part() || charged_anew && own.ends_with("/weigh-in")
        })
    }

    /// Whether nothing is wrong with a mode's part but that it has tripped. Whoever sets it again has put it right; that
    /// somebody repaired something else does not say that he has.
    pub fn is_a_trip(&self, mode: ModeIx) -> bool {
        self.modes[mode.0].repair_group.ends_with("/reset")
    }

    fn failures(&self) -> impl Iterator<Item = ModeIx> + '_ {
        self.modes.iter().enumerate().filter(|(_, x)| !x.nature.harmless()).map(|(i, _)| ModeIx(i))
    }

    /// Finds a part by its id.
    pub fn part(&self, id: &str) -> Option<PartIx> {
        self.parts.iter().position(|p| p.id == id).map(PartIx)
    }

    /// The first part whose role satisfies a predicate.
    pub fn find(&self, f: impl Fn(&Role) -> bool) -> Option<PartIx> {
        self.parts.iter().position(|p| f(&p.role)).map(PartIx)
    }

    /// The odds of a mode that is a way of building the machine, against the way as drawn; `None` for a fault.
    pub fn built_odds(&self, mode: ModeIx) -> Option<f64> {
        let Role::HowBuilt { ways, .. } = &self.parts[self.modes[mode.0].part.0].role else { return None };
        ways.iter().find(|w| w.mode == Some(mode)).map(|w| w.share / ways[0].share)
    }

    /// The questions of how the machine is built, as parts with a [`Role::HowBuilt`].
    pub fn unsure(&self) -> impl Iterator<Item = (PartIx, &[Way])> {
        self.parts.iter().enumerate().filter_map(|(i, p)| match &p.role {
            Role::HowBuilt { ways, .. } => Some((PartIx(i), ways.as_slice())),
            _ => None,
        })
    }

    /// The net of a terminal.
    pub fn net(&self, t: TerminalRef) -> Option<Net> {
        self.parts[t.part.0].terminals[t.terminal].net
    }

    /// Places that must be open to reach a place, outermost first, the place itself last.
    pub fn way_to(&self, place: PlaceIx) -> Vec<PlaceIx> {
        let mut way = vec![place];
        while let Some(b) = self.places[way[0].0].behind {
            if way.contains(&b) {
                break;
            }
            way.insert(0, b);
        }
        way
    }
}
