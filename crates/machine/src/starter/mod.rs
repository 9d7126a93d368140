//! From a nameplate to a sheet: the kind of machine and what somebody could read, everything else by size.
//!
//! [`start`] is a pure function of a [`Form`]: it takes the example machine of the kind, scales what depends on size, volts
//! and frequency, puts in what was given, and marks every other rating assumed, so that its spread is wide until it gets
//! measured. Nothing that was read on a plate is refused for contradicting something else: it is taken and said in a note, and
//! what follows from it (a winding's ohms, an element's) is spread as an assumed value is. Locked-rotor amps that do not exceed
//! the rated ones, which no motor has, are reckoned just above them. What is not known of the structure becomes an
//! [`Alternative`]. Where the ways differ in how wires are joined, the one sheet carries them all (`[[unsure]]`) and every job
//! weighs them; where parts or commands differ (a start relay that is there or not, a valve's coil energised in cooling or in heating, a breaker that
//! watches for earth leakage), there is a sheet for each way.

mod doubts;
mod questions;
mod size;
mod structure;

pub use questions::{KINDS, Kind, Question, kind, questions};
pub use structure::Choice;

use std::collections::BTreeMap;

use halfsplit_units::{Entry, parse_entry};
use serde::Serialize;

use crate::Machine;
use crate::sheet::Sheet;

/// Mains on which a bus is rectified as it comes, V. Common practice, no source.
const LEAST_ON_ONE_BUS: f64 = 190.0;

/// What somebody could say of a machine. Values as typed ("16.7 A", "3.2 kg", "R410A"); units may be left out.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Form {
    /// Kind of machine, one of [`KINDS`].
    pub kind: String,
    /// What people on the job call it; the kind's name if empty.
    pub name: String,
    /// Answers by the key of their [`Question`]. An empty answer, or "?", is not known.
    pub answers: BTreeMap<String, String>,
}

/// A sheet made from a form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Started {
    /// The sheet's text.
    pub sheet: String,
    /// What is odd, doubted or worth knowing.
    pub notes: Vec<String>,
    /// Ratings that nobody has read, `part.key`, in the order of the sheet.
    pub assumed: Vec<String>,
    /// What is not known of the structure.
    pub alternatives: Vec<Alternative>,
}

/// A question of structure without an answer. The other ways stand here, each as a sheet; where the sheet itself carries
/// the question, they are needed for nothing but to compare.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alternative {
    /// The question's key.
    pub key: String,
    /// The question.
    pub question: String,
    /// The way that the sheet takes; if it carries the question, the way as drawn.
    pub taken: String,
    /// The question's id in the sheet's `[[unsure]]`, where the sheet carries all ways and a job weighs them.
    pub carried: Option<String>,
    /// The other ways, each with its whole sheet.
    pub others: Vec<Other>,
    /// When it matters, and how it is seen.
    pub matters: String,
}

/// Another way in which the machine may be built.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Other {
    /// The answer that would lead to it.
    pub answer: String,
    /// Its sheet.
    pub sheet: String,
}

/// Why a form gives no sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StartError {
    /// The question whose answer it is; empty for the kind.
    pub key: String,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: String,
}

impl std::fmt::Display for StartError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}\n  {}", self.what, self.hint)
    }
}

impl std::error::Error for StartError {}

/// The answers, understood: numbers in the unit of their question, words as they are.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Given {
    pub numbers: BTreeMap<&'static str, f64>,
    pub words: BTreeMap<&'static str, String>,
}

impl Given {
    pub(crate) fn number(&self, key: &str) -> Option<f64> {
        self.numbers.get(key).copied()
    }

    pub(crate) fn word(&self, key: &str) -> Option<&str> {
        self.words.get(key).map(String::as_str)
    }
}

/// Makes a sheet.
///
/// # Errors
/// If the kind is not known, an answer cannot be understood, or its value makes no machine.
pub fn start(form: &Form) -> Result<Started, StartError> {
    let kind = kind(&form.kind).ok_or_else(|| StartError {
        key: String::new(),
        what: format!("there is no kind \"{}\"", form.kind),
        hint: format!("kinds: {}", KINDS.iter().map(|k| k.key).collect::<Vec<_>>().join(", ")),
    })?;
    let given = understood(kind, form)?;
    if let Some(volts) = given.number("volts").filter(|v| kind.key == "mini-split" && *v < LEAST_ON_ONE_BUS) {
        return Err(StartError {
            key: "volts".to_owned(),
            what: format!("an inverter on {volts} V doubles its bus, and no machine here shows how"),
            hint: "describe it in a sheet of its own; one for 200 to 240 V can be started".to_owned(),
        });
    }
    let (sheet, mut notes, assumed) = written(kind, form, &given)?;
    let mut alternatives = Vec::new();
    for choice in structure::choices(kind).filter(|c| given.word(c.key).is_none()) {
        let mut others = Vec::new();
        for way in choice.ways.iter().skip(1) {
            let mut other = given.clone();
            other.words.insert(choice.key, way.0.to_owned());
            others.push(Other { answer: way.0.to_owned(), sheet: written(kind, form, &other)?.0 });
        }
        alternatives.push(Alternative {
            key: choice.key.to_owned(),
            question: choice.question.to_owned(),
            taken: choice.ways[0].0.to_owned(),
            carried: choice.carried.map(|c| c.id.to_owned()),
            others,
            matters: choice.matters.to_owned(),
        });
    }
    let terminals = match kind.key {
        "mini-split" => {
            "Terminals of an unknown inverter compressor: with the machine proved dead, the bus below 10 V and the leads off, the three \
             readings between its pins are alike. Mark which lead was where: two exchanged turn it backwards."
        }
        _ => {
            "Terminals of an unknown compressor: with the machine proved dead, the capacitor bled and the leads off, three ohm readings find \
             them. The largest is between run and start; the pin that is left is common; from common the smaller is run."
        }
    };
    notes.push(terminals.to_owned());
    Ok(Started { sheet, notes, assumed, alternatives })
}

fn understood(kind: &Kind, form: &Form) -> Result<Given, StartError> {
    let mut given = Given::default();
    let asked = questions(kind);
    for (key, typed) in &form.answers {
        let typed = typed.trim();
        let Some(q) = asked.iter().find(|q| q.key == key) else {
            return Err(StartError {
                key: key.clone(),
                what: format!("\"{key}\" is not asked of this kind"),
                hint: format!("asked: {}", asked.iter().map(|q| q.key).collect::<Vec<_>>().join(", ")),
            });
        };
        if typed.is_empty() || typed == "?" {
            continue;
        }
        if let Some(ways) = q.ways {
            let Some(way) = ways.iter().find(|w| w.0.eq_ignore_ascii_case(typed)) else {
                let known: Vec<&str> = ways.iter().map(|w| w.0).collect();
                return Err(StartError {
                    key: key.clone(),
                    what: format!("\"{typed}\" answers no \"{}\"", q.ask),
                    hint: format!("answer one of: {}, or ? if you do not know", known.join(", ")),
                });
            };
            given.words.insert(q.key, way.0.to_owned());
            continue;
        }
        let Some(dimension) = q.dimension else {
            given.words.insert(q.key, typed.to_owned());
            continue;
        };
        let refused = |why: String| StartError {
            key: key.clone(),
            what: format!("{}: \"{typed}\": {why}", q.ask),
            hint: format!("type it as it stands on the plate, like {}", q.example),
        };
        // A figure without a unit is in the unit that the plate would use.
        if let Ok(plain) = typed.parse::<f64>() {
            if !(q.range.0..=q.range.1).contains(&plain) {
                return Err(refused(format!("no such machine has that; usual are {} to {}", q.range.0, q.range.1)));
            }
            given.numbers.insert(q.key, plain);
            continue;
        }
        let si = match parse_entry(typed, Some(dimension)) {
            Ok(Entry::Value(v)) => v.si,
            Ok(_) => return Err(refused("is no single value".to_owned())),
            Err(e) => return Err(refused(e.to_string())),
        };
        let value = size::figures(si / q.unit, 6);
        if !(q.range.0..=q.range.1).contains(&value) {
            return Err(refused(format!("no such machine has that; usual are {} to {}", q.range.0, q.range.1)));
        }
        given.numbers.insert(q.key, value);
    }
    Ok(given)
}

/// The sheet's text, notes, and what is assumed in it.
fn written(kind: &Kind, form: &Form, given: &Given) -> Result<(String, Vec<String>, Vec<String>), StartError> {
    let fault = |what: String| StartError {
        key: String::new(),
        what,
        hint: "leave out what you are not sure of, one answer after the other".to_owned(),
    };
    let mut sheet = Sheet::parse(kind.example).map_err(|e| fault(e.to_string()))?;
    let name = form.name.trim();
    sheet.machine.name = if name.is_empty() { capital(kind.name) } else { name.to_owned() };
    sheet.machine.kind = kind.name.to_owned();
    sheet.machine.note = Some("Made from a nameplate: what is marked assumed was read nowhere.".to_owned());
    structure::apply(kind, given, &mut sheet);
    size::apply(given, &mut sheet);
    let notes = doubts::weigh(given, &mut sheet);
    let text = toml::to_string(&sheet).map_err(|e| fault(e.to_string()))?;
    Machine::build(&text).map_err(|e| fault(format!("these answers give no machine that can be computed: {e}")))?;
    let assumed = sheet.parts.iter().flat_map(|p| p.assumed.iter().map(move |k| format!("{}.{k}", p.id))).collect();
    Ok((text, notes, assumed))
}

fn capital(s: &str) -> String {
    let mut c = s.chars();
    c.next().map(|f| f.to_uppercase().collect::<String>() + c.as_str()).unwrap_or_default()
}
