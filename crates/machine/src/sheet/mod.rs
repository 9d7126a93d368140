//! The machine sheet: a text file (TOML) that describes one model of machine.
//!
//! [`Sheet::parse`] reads the text and keeps what it says, nothing more; [`crate::Machine::build`]
//! joins it with the part library and checks that it can be computed. Both report faults as
//! [`SheetError`]s that point at a line of the text.
//!
//! The doc comment of every field below is its documentation: the JSON Schema
//! ([`json_schema`]) and `docs/machine-sheet.md` are generated from these types.

mod problem;
mod schema;

pub use problem::{Finding, Severity, SheetError, SheetErrors, Span};
pub use schema::{json_schema, reference};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A whole machine sheet, as written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sheet {
    /// Version of the sheet format. This program reads version 1.
    pub sheet: u32,
    /// What the machine is.
    pub machine: About,
    /// What the nameplate says.
    pub nameplate: Nameplate,
    /// Places where terminals can be reached, each with what must be opened to get there.
    #[serde(rename = "place", default)]
    pub places: Vec<Place>,
    /// The parts, with their ratings, where they are and what each terminal is wired to.
    #[serde(rename = "part", default)]
    pub parts: Vec<PartEntry>,
    /// Wires that need saying more about than their name.
    #[serde(rename = "wire", default)]
    pub wires: Vec<Wire>,
    /// The refrigerant loop, if the machine has one.
    #[serde(rename = "loop", default, skip_serializing_if = "Option::is_none")]
    pub refrigerant_loop: Option<LoopEntry>,
    /// What the board (or the thermostat) commands, stage by stage.
    #[serde(rename = "command", default)]
    pub commands: Vec<CommandEntry>,
    /// What the board looks at by itself, and what it does about it.
    #[serde(rename = "detection", default)]
    pub detections: Vec<DetectionEntry>,
    /// How the machine may be built one way or another, where nobody knows which.
    #[serde(rename = "unsure", default, skip_serializing_if = "Vec::is_empty")]
    pub unsure: Vec<UnsureEntry>,
    /// Codes as the technician's own manual gives them.
    #[serde(rename = "code", default, skip_serializing_if = "Vec::is_empty")]
    pub codes: Vec<CodeEntry>,
    /// Columns of a logger's or service display's table (CSV), mapped once for this machine.
    #[serde(rename = "column", default, skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<ColumnEntry>,
}

/// A question of how the machine is built that nobody has answered yet. A job carries every way with its odds, and readings
/// shift them. Ways differ in which wires are joined: give the terminals in question a wire of their own, and join it in
/// each way to where it goes then. What cannot be said so (a part that is there or not) needs a sheet for each way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnsureEntry {
    /// Short name, for example "CUT-OFF-FEED".
    pub id: String,
    /// The question, in trade words, for example "Does the cut-off feed the board?".
    pub question: String,
    /// Where the shares of the ways come from.
    #[serde(default = "judgement")]
    pub source: String,
    /// Place where the answer can be seen by looking. Left out where looking does not tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// Minutes to look there, getting there not included.
    #[serde(default = "three_minutes")]
    pub minutes: f64,
    /// The ways, two to four; the first is what the machine is drawn as. At most four machines may come of all questions
    /// together.
    #[serde(rename = "way", default)]
    pub ways: Vec<WayEntry>,
}

fn judgement() -> String {
    "judgement".to_owned()
}
fn three_minutes() -> f64 {
    3.0
}

/// One way in which a machine may be built.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WayEntry {
    /// The answer, in trade words, for example "it feeds the loads only".
    pub says: String,
    /// How likely it is before anything is read, 0 to 1; the shares of a question's ways add up to 1.
    pub share: f64,
    /// Pairs of wires that are joined in this way, and in no other that does not say so too.
    #[serde(default)]
    pub joins: Vec<[String; 2]>,
}

/// A code of the technician's own manual.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CodeEntry {
    /// The code as the display shows it.
    pub code: String,
    /// What the manual says of it.
    pub says: String,
    /// Page of the manual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub page: Option<String>,
    /// Id of the detection that it stands for; left out where this sheet has none like it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detection: Option<String>,
}

/// A column of a logger's table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ColumnEntry {
    /// Its heading, without or with a unit in brackets.
    pub heading: String,
    /// Id of the test whose reading it is; `halfsplit sheet tests` lists them.
    pub test: String,
    /// Its unit, where the heading has none in brackets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// What the machine is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct About {
    /// Name by which people on the job call it.
    pub name: String,
    /// Kind of machine, in trade words, for example "integrated heat pump water heater".
    pub kind: String,
    /// What it does for its owner.
    #[serde(default)]
    pub serves: Serves,
    /// Anything a reader should know first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// What a machine does for its owner: it decides between which temperatures it works, and what people complain of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Serves {
    /// Heats water in a tank from the air around it.
    #[default]
    HotWater,
    /// Cools a room, or heats it where it has a reversing valve; its other coil is outdoors.
    RoomAir,
    /// Keeps a box cold in a room.
    ColdBox,
    /// Dries the air of a room: the air passes the cold coil, then the warm one.
    DryAir,
}

/// What the nameplate says. Leave out what it does not say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nameplate {
    /// Supply voltage, V RMS, between the two supply conductors.
    pub volts: f64,
    /// Supply frequency, Hz (50 or 60).
    pub hertz: f64,
    /// Refrigerant designation per ASHRAE 34 / ISO 817, for example "R134a".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refrigerant: Option<String>,
    /// Factory charge, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_kg: Option<f64>,
    /// Compressor rated-load current (RLA), A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_load_a: Option<f64>,
    /// Compressor locked-rotor current (LRA), A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub locked_rotor_a: Option<f64>,
    /// Water stored, L.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_litres: Option<f64>,
    /// Heat delivered by the heat pump at the rating point, W; the cooling capacity of a machine that cools.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heat_w: Option<f64>,
    /// Breaker or fuse size asked for, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breaker_a: Option<f64>,
}

/// A place where terminals can be reached.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Short name used by the parts, for example "front".
    pub id: String,
    /// How to say it to a technician, for example "behind the front panel".
    pub name: String,
    /// Minutes to get there and close up again; paid once per visit.
    #[serde(default)]
    pub minutes: f64,
    /// How deep it is: 0 display, 1 cover, 2 panel, 3 sealed-system gauges, 4 disassembly.
    #[serde(default)]
    pub level: u8,
    /// Another place that has to be open first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind: Option<String>,
    /// Whether live voltage measurements may be taken here. Compressor terminal covers: never.
    #[serde(default = "yes")]
    pub live_allowed: bool,
}

fn yes() -> bool {
    true
}

/// One part of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartEntry {
    /// Short name, as on the wiring diagram, for example "K1".
    pub id: String,
    /// Part class from the library, for example "run capacitor". `halfsplit library` lists them.
    pub class: String,
    /// How to say it to a technician; the class name if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Where the part (and its terminals, unless `reach` says otherwise) can be reached.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// What each terminal is wired to: terminal = "wire name". Two terminals with the same wire
    /// name are joined. A wire that only one terminal uses is an error.
    #[serde(default)]
    pub terminals: BTreeMap<String, String>,
    /// Terminals that are reached at another place than the part: terminal = "place id".
    #[serde(default)]
    pub reach: BTreeMap<String, String>,
    /// Terminals where live measuring is not allowed although the place would allow it.
    #[serde(default)]
    pub dead_only: Vec<String>,
    /// Ratings and settings, keyed as the class documents them, units in the key.
    #[serde(default)]
    pub ratings: BTreeMap<String, Rating>,
    /// Keys of `ratings` that are assumed, not read anywhere: their spread is widened.
    #[serde(default)]
    pub assumed: Vec<String>,
}

/// One rating: a number, a word, a list of numbers, or a table of pairs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Rating {
    /// A number in the unit that the key names.
    Number(f64),
    /// A word, such as the id of another part.
    Word(String),
    /// Coefficients, such as Steinhart–Hart A, B, C.
    List(Vec<f64>),
    /// Pairs, such as a thermistor table of [°C, ohm].
    Table(Vec<[f64; 2]>),
}

/// A wire that needs saying more about than its name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// The wire's name, as used by the parts' terminals.
    pub id: String,
    /// Insulation colour or number, as on the diagram.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marking: Option<String>,
    /// True for a wire that is a declared reference: cabinet or protective earth.
    #[serde(default)]
    pub earth: bool,
}

/// The refrigerant loop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoopEntry {
    /// Part ids in the order in which the refrigerant passes them, from the compressor on.
    pub order: Vec<String>,
    /// Whether the loop has ports for gauges. Without ports gauges are never proposed.
    #[serde(default)]
    pub ports: bool,
    /// Superheat that the metering device holds, K.
    #[serde(default = "six_kelvin")]
    pub superheat_k: f64,
    /// Subcooling with the right charge at rating conditions, K.
    #[serde(default = "five_kelvin")]
    pub subcooling_k: f64,
}

fn six_kelvin() -> f64 {
    6.0
}
fn five_kelvin() -> f64 {
    5.0
}

/// Something the machine can be told to do, by itself or by the technician.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CommandEntry {
    /// Short name, for example "heat-pump".
    pub id: String,
    /// How to say it, for example "the heat pump called for".
    pub name: String,
    /// How the technician brings it about.
    pub how: String,
    /// Minutes to bring it about.
    #[serde(default)]
    pub minutes: f64,
    /// True if the service menu forces it whatever the board thinks of its sensors.
    #[serde(default)]
    pub forced: bool,
    /// What makes the board do this by itself; left out for what only a technician does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calls_for: Option<CallsFor>,
    /// The stages in order.
    #[serde(rename = "stage")]
    pub stages: Vec<StageEntry>,
}

/// What a command is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CallsFor {
    /// Heating water (or a room) with the heat pump.
    HeatPump,
    /// Melting the ice off the cold coil, which the machine does by itself from time to time.
    Defrost,
    /// Heating with the elements.
    Elements,
    /// Cooling a room or a cabinet, or drying air, with the compressor.
    Cooling,
}

/// One stage of a command.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageEntry {
    /// Name of the stage.
    pub name: String,
    /// How long it lasts, s.
    pub lasts_s: f64,
    /// Ids of the relays that the board energises in this stage.
    #[serde(default)]
    pub on: Vec<String>,
    /// What the expansion valve does.
    #[serde(default)]
    pub valve: ValveCommand,
}

/// What the board does with the expansion valve in a stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ValveCommand {
    /// Driven shut against its stop.
    #[default]
    Shut,
    /// Driven to the starting position.
    Start,
    /// Trimmed to hold the superheat that the board sees.
    HoldSuperheat,
}

/// Something that the board detects by itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DetectionEntry {
    /// Short name, for example "no-compressor-current".
    pub id: String,
    /// What the board looks at.
    pub watches: Watch,
    /// The part that it looks at: a sensor, a float, a current sensor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// Fires above this value (°C for sensors, A for current).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub above: Option<f64>,
    /// Fires below this value (°C for sensors, A for current, K for superheat).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below: Option<f64>,
    /// How long the condition must hold, s.
    #[serde(default)]
    pub for_s: f64,
    /// Relay that must have been on (for current and running temperatures).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub while_on: Option<String>,
    /// What the board does.
    pub does: Response,
    /// Tries before it gives up (1 = at once).
    #[serde(default = "one")]
    pub tries: u32,
    /// Wait between tries, s.
    #[serde(default)]
    pub wait_s: f64,
    /// What the display then shows, in the machine's own words.
    pub shows: String,
}

fn one() -> u32 {
    1
}

/// What a detection looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Watch {
    /// Current through a current sensor.
    Current,
    /// The temperature that the board believes a sensor to have.
    Temperature,
    /// A sensor whose resistance is outside any believable temperature.
    SensorRange,
    /// Difference suction − evaporator as the board sees it.
    Superheat,
    /// A float or other normally closed input that has opened.
    Input,
    /// Largest difference between the air and refrigerant sensors with the compressor at rest, K: they should agree.
    Disagreement,
    /// The line between two units: nothing understandable comes.
    Communication,
    /// The direct-current bus, V.
    Bus,
    /// The power module's current, beyond what it lets through: at the start or in running.
    ModuleCurrent,
    /// A phase of the compressor without current.
    PhaseLoss,
    /// A fan whose speed signal does not come.
    FanSpeed,
}

/// What the board does when a detection fires.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Response {
    /// Stops the heat pump and heats with the elements.
    ElementsInstead,
    /// Stops everything.
    StopAll,
    /// Shows it and carries on.
    ShowOnly,
}

impl Sheet {
    /// Reads the text of a sheet.
    ///
    /// # Errors
    /// [`SheetErrors`] with the line and column of what could not be read and what to do about it.
    pub fn parse(text: &str) -> Result<Self, SheetErrors> {
        let sheet: Sheet = toml::from_str(text).map_err(|e| SheetErrors::from_toml(text, &e))?;
        if sheet.sheet != 1 {
            return Err(SheetErrors::one(SheetError::at_key(
                text,
                &["sheet"],
                format!("this is sheet format {}, but this program reads format 1", sheet.sheet),
                "write `sheet = 1`, or use a newer halfsplit",
            )));
        }
        Ok(sheet)
    }

    /// The text of a sheet.
    ///
    /// # Errors
    /// Only if a value cannot be written as TOML, which no sheet that was read contains.
    pub fn to_text(&self) -> Result<String, toml::ser::Error> {
        toml::to_string(self)
    }
}
