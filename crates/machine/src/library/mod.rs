//! The part library: how each class of part works, fails and is tested. One file per class.
//!
//! A class file says everything about its parts in one place: terminals, ratings, what the part
//! does ([`Role`]), and its *modes*: cause, effect as an edit of the model's parameters, rate with
//! its source, decisive test, repair. To add a fault, add a [`ModeSpec`] to one file.
//!
//! Rates are failures per 1000 unit-years. Unless a class says otherwise they are **judgement**,
//! meant to be tuned by closed jobs, and so are the shares of the modes, the minutes and the
//! severity levels.

mod builder;
mod generic;
pub mod how_built;
pub mod manual;

pub use builder::{BuildError, PartBuilder};
pub(crate) use generic::generic_modes;

use crate::model::{Role, When};
use crate::test::Hazard;

/// How the failure rate of a class changes with age.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ageing {
    /// Wears out: the rate grows in proportion to age (Weibull shape 2), equal to the stated rate at 8 years.
    WearOut,
    /// Random: the same at any age.
    Random,
    /// Mostly in the first year or after work on the machine.
    Infant,
}

impl Ageing {
    /// Factor on the stated rate at an age in years. The shapes are judgement.
    pub fn factor(self, age_years: f64) -> f64 {
        let age = age_years.clamp(0.0, 40.0);
        match self {
            Ageing::WearOut => (age / 8.0).clamp(0.1, 2.5),
            Ageing::Random => 1.0,
            Ageing::Infant => {
                if age < 1.0 {
                    3.0
                } else {
                    0.7
                }
            }
        }
    }
}

/// A terminal of a class.
#[derive(Debug, Clone, Copy)]
pub struct TerminalSpec {
    /// Its name in the sheet.
    pub name: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Whether a sheet may leave it out.
    pub optional: bool,
}

/// Whether a sheet has to give a rating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// Must be given.
    Required,
    /// Taken as this, marked assumed, if left out.
    Default(f64),
    /// May be left out; the class does without.
    Optional,
}

/// A rating that a class understands.
#[derive(Debug, Clone, Copy)]
pub struct RatingSpec {
    /// Key in the sheet, its unit at the end.
    pub key: &'static str,
    /// What it is.
    pub meaning: &'static str,
    /// Whether it must be given.
    pub need: Need,
    /// Values below this make no sense.
    pub min: f64,
    /// Values above this make no sense.
    pub max: f64,
}

/// What an edit does to a parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Op {
    /// Sets it.
    Set(f64),
    /// Multiplies it.
    Scale(f64),
    /// Adds to it.
    Add(f64),
}

/// One edit of a named parameter of the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edit {
    /// The parameter's name within the part.
    pub param: &'static str,
    /// What happens to it.
    pub op: Op,
}

/// Shorthand for an [`Edit`] that sets a parameter.
pub const fn set(param: &'static str, to: f64) -> Edit {
    Edit { param, op: Op::Set(to) }
}
/// Shorthand for an [`Edit`] that multiplies a parameter.
pub const fn scale(param: &'static str, by: f64) -> Edit {
    Edit { param, op: Op::Scale(by) }
}
/// Shorthand for an [`Edit`] that adds to a parameter.
pub const fn add(param: &'static str, what: f64) -> Edit {
    Edit { param, op: Op::Add(what) }
}

/// Resistance of what has burnt through or torn off, ohm: beyond an ohmmeter's range (40 to 60 Mohm). Judgement.
pub const BROKEN_OHMS: f64 = 1e8;

/// Shorthand for an [`Edit`] that opens a circuit: a resistance that no meter shows any more.
pub const fn broken(param: &'static str) -> Edit {
    set(param, BROKEN_OHMS)
}

/// One degree of severity of a mode.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    /// Word for it; empty where a mode has only one degree.
    pub word: &'static str,
    /// Its share of the mode.
    pub share: f64,
    /// Its effect on the model.
    pub edits: &'static [Edit],
}

/// What puts a mode right.
#[derive(Debug, Clone, Copy)]
pub struct Repair {
    /// What to do, in one line.
    pub what: &'static str,
    /// Modes of one part with the same group need not be told apart.
    pub group: &'static str,
    /// Minutes to do it, access included.
    pub minutes: f64,
    /// Price of the part, in the currency of the hourly rate.
    pub price: f64,
}

/// A way in which parts of a class go wrong.
#[derive(Debug, Clone, Copy)]
pub struct ModeSpec {
    /// Short key, unique within the class.
    pub key: &'static str,
    /// Name, in trade words: "open", "capacitance low".
    pub name: &'static str,
    /// What brings it about.
    pub cause: &'static str,
    /// Share of the class's rate.
    pub share: f64,
    /// Degrees of severity; at least one.
    pub levels: &'static [Level],
    /// Present only some of the time.
    pub intermittent: bool,
    /// What puts it right.
    pub repair: Repair,
    /// The upstream cause to look for before closing the job; empty if none.
    pub upstream: &'static str,
    /// Classes and mode keys that this mode makes more likely on the same machine, with the factor.
    pub promotes: &'static [(&'static str, &'static str, f64)],
    /// What shows after the repair that it was right.
    pub proof: &'static str,
}

/// What parts of a class are designed to do for some minutes now and then, and what looks like a failure to whoever does
/// not know. It is none: nothing is put right, and after a wait it is over.
#[derive(Debug, Clone, Copy)]
pub struct StateSpec {
    /// Short key, unique within the class, its modes among them.
    pub key: &'static str,
    /// Name, in trade words.
    pub name: &'static str,
    /// What brings it about.
    pub cause: &'static str,
    /// Its effect on the model.
    pub edits: &'static [Edit],
    /// On what days.
    pub when: When,
    /// Odds of finding the machine so against not (> 0), on such a day.
    pub odds: f64,
    /// Where the odds come from.
    pub source: &'static str,
    /// Minutes after which it is over.
    pub minutes: f64,
    /// What to do instead of a repair, in one line.
    pub wait: &'static str,
    /// What shows that it is over.
    pub over: &'static str,
}

/// What a class offers to be tested, before the wiring is looked at.
#[derive(Debug, Clone, Copy)]
pub struct TestSpec {
    /// What is measured.
    pub what: TestWhat,
    /// Minutes, access not included.
    pub minutes: f64,
    /// What can hurt.
    pub hazards: &'static [Hazard],
    /// What tells healthy from faulty, in one line, for the manual.
    pub tells: &'static str,
}

/// The kinds of tests that a class can declare.
#[derive(Debug, Clone, Copy)]
pub enum TestWhat {
    /// Ohms between two terminals, leads off.
    Ohms(&'static str, &'static str),
    /// Ohms through the plug, from the wire side.
    PlugOhms(&'static str, &'static str),
    /// Capacitance between two terminals, leads off.
    Farads(&'static str, &'static str),
    /// Insulation to the cabinet at 500 V, leads off.
    Insulation(&'static str),
    /// Clamp amps in the lead of a terminal, under each command that should drive the part.
    LeadAmps(&'static str),
    /// What the part does under each command that should drive it.
    Behaviour,
    /// What the display gives for a sensor.
    ShownTemperature,
    /// What the display gives for a sensor, less a thermometer beside it.
    ShownLessThermometer,
    /// What moves on the display when the sensor is warmed in the hand.
    WarmedInHand,
    /// Volts on the bus, at rest and under each command that runs the compressor.
    BusVolts,
    /// The diode test on two terminals, leads off, discharged: red, black.
    Diode(&'static str, &'static str),
    /// What a meter shows of the line between two units.
    Signal,
    /// Rise of the suction gas through a reversing valve, settled, under each command that drives the compressor.
    SuctionRise,
    /// Whether the tap cools in a long draw: the part is the tank.
    LongDraw,
    /// Something looked at: parameter, thresholds, words from least to most, blur, how to ask.
    Look {
        /// Parameter that decides what is seen.
        param: &'static str,
        /// Thresholds between the words, rising.
        cuts: &'static [f64],
        /// The words, one more than thresholds.
        words: &'static [&'static str],
        /// Chance that a neighbouring word is reported.
        blur: f64,
        /// One line: what to look at.
        title: &'static str,
        /// 0 if it can be seen without opening anything; 3 if hands go to bare terminals, so that it is made dead.
        level: u8,
    },
}

/// How [`TestWhat::LongDraw`] is asked for.
pub(crate) const DRAW_TITLE: &str = "Draw hot water for some minutes, thermometer under the tap";
/// What it shows.
pub(crate) const DRAW_SHOWS: [&str; 2] = ["cools early in a long draw", "stays hot"];

/// Everything known about a class of parts.
#[derive(Debug)]
pub struct PartClass {
    /// Name, as used in sheets.
    pub name: &'static str,
    /// What it is for.
    pub purpose: &'static str,
    /// Failures per 1000 unit-years.
    pub rate: f64,
    /// How the rate changes with age.
    pub ageing: Ageing,
    /// Where the rate and shares come from.
    pub source: &'static str,
    /// Terminals. An empty list means that the sheet names them freely.
    pub terminals: &'static [TerminalSpec],
    /// Ratings.
    pub ratings: &'static [RatingSpec],
    /// Ways to go wrong.
    pub modes: &'static [ModeSpec],
    /// What they are designed to do and what looks like a failure.
    pub states: &'static [StateSpec],
    /// Edits that stand for "the wrong part was fitted"; empty if that cannot be told by measuring.
    pub wrong_part: &'static [Edit],
    /// Terminals whose loose connection is worth its own suspicion.
    pub loose: &'static [&'static str],
    /// Tests that it offers.
    pub tests: &'static [TestSpec],
    /// Declares the parameters and electrical behaviour of one part of this class.
    pub build: fn(&mut PartBuilder<'_>) -> Result<Role, BuildError>,
}

macro_rules! classes {
    ($($module:ident),* $(,)?) => {
        $(pub mod $module;)*
        /// All classes, in order of their file names.
        pub static CLASSES: &[&PartClass] = &[$(&$module::CLASS),*];
    };
}

classes! {
    accumulator,
    air_filter,
    board_relay,
    breaker,
    bridge_rectifier,
    bus_capacitor,
    bus_supply,
    capacitor_fan,
    capillary,
    charge,
    condensate_drain,
    condenser_coil,
    contactor,
    control_board,
    control_relay,
    control_transformer,
    crankcase_heater,
    current_sensor,
    dc_fan,
    dc_fan_two_wire,
    defrost_board,
    defrost_heater,
    defrost_thermostat,
    defrost_timer,
    delay_timer,
    disconnect,
    door_switch,
    dual_capacitor,
    evaporator_coil,
    expansion_valve,
    external_overload,
    fan_motor,
    filter_drier,
    fuse,
    heating_element,
    indoor_board,
    indoor_coil,
    inrush_limiter,
    interunit_line,
    mixing_valve,
    noise_filter,
    outdoor_board,
    outdoor_coil,
    plug_connector,
    pm_compressor,
    potential_relay,
    power_factor_stage,
    power_module,
    power_supply,
    pressure_switch,
    psc_compressor,
    ptc_starter,
    relief_valve,
    reversing_valve,
    run_capacitor,
    sacrificial_anode,
    service_valve,
    settings,
    start_capacitor,
    start_winding_compressor,
    strip_heater,
    supply,
    surge_part,
    thermal_cutoff,
    thermal_link,
    thermistor,
    thermostat_contact,
    thermostat_setting,
    thermostatic_valve,
    water_tank,
    wrapped_condenser,
}

/// Finds a class by name.
pub fn class(name: &str) -> Option<&'static PartClass> {
    CLASSES.iter().copied().find(|c| c.name == name)
}

/// The class whose name is nearest to a misspelt one.
pub fn nearest(name: &str) -> &'static PartClass {
    CLASSES.iter().copied().min_by_key(|c| distance(name, c.name)).unwrap_or(CLASSES[0])
}

/// Levenshtein distance in characters.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let cost = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = cost.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
