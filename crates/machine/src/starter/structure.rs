//! What may be built one way or another.

use super::{Given, Kind};
use crate::sheet::{PartEntry, Sheet};

/// A question of structure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Kind that it is asked of.
    pub kind: &'static str,
    /// Key.
    pub key: &'static str,
    /// How to ask.
    pub question: &'static str,
    /// The ways, the usual one first: answer and what it means.
    pub ways: &'static [(&'static str, &'static str)],
    /// When it matters, and how it is seen.
    pub matters: &'static str,
}

const CHOICES: &[Choice] = &[
    Choice {
        kind: "water-heater",
        key: "cut_off_feeds_board",
        question: "Does the cut-off feed the board?",
        ways: &[("yes", "open cut-off, dark display"), ("no", "open cut-off, lit display")],
        matters: "with a dark display, or no heat and a lit one: volts into the board's supply with the cut-off's button out tell",
    },
    Choice {
        kind: "split",
        key: "contactor_poles",
        question: "Poles of the contactor",
        ways: &[("2", "both conductors switched"), ("1", "one conductor always joined")],
        matters: "with the contactor out: a single-pole type leaves both load terminals live to earth through the windings",
    },
    Choice {
        kind: "split",
        key: "hard_start",
        question: "A start capacitor and start relay fitted?",
        ways: &[("no", "none"), ("yes", "fitted")],
        matters: "when the compressor hums: a second can beside the run capacitor, and a relay on the start lead",
    },
    Choice {
        kind: "split",
        key: "valve_energised_in",
        question: "The reversing valve's coil is energised in",
        ways: &[("cooling", "O terminal"), ("heating", "B terminal")],
        matters: "when it heats instead of cooling: volts on the valve's coil in cooling tell",
    },
    Choice {
        kind: "refrigerator",
        key: "earth_leakage_breaker",
        question: "Does its circuit watch for earth leakage?",
        ways: &[("no", "plain breaker"), ("yes", "trips on milliamps to earth")],
        matters: "when a breaker trips: a test button on it",
    },
];

/// What is asked of a kind.
pub(super) fn choices(kind: &Kind) -> impl Iterator<Item = &'static Choice> {
    let key = kind.key;
    CHOICES.iter().filter(move |c| c.kind == key)
}

fn part<'s>(sheet: &'s mut Sheet, id: &str) -> Option<&'s mut PartEntry> {
    sheet.parts.iter_mut().find(|p| p.id == id)
}

/// Builds the sheet the way that was answered, or the usual way.
pub(super) fn apply(kind: &Kind, given: &Given, sheet: &mut Sheet) {
    for choice in choices(kind) {
        let way = given.word(choice.key).unwrap_or(choice.ways[0].0);
        match (choice.key, way) {
            ("cut_off_feeds_board", "no") => {
                if let Some(fuse) = part(sheet, "F1") {
                    fuse.terminals.insert("1".into(), "L1".into());
                }
                if let Some(supply) = part(sheet, "PS") {
                    supply.terminals.insert("N".into(), "L2".into());
                }
            }
            ("contactor_poles", "1") => {
                if let Some(contactor) = part(sheet, "CC") {
                    contactor.terminals.remove("L2");
                    contactor.terminals.remove("T2");
                }
                // What hung on the second pole hangs on the line.
                for p in &mut sheet.parts {
                    for wire in p.terminals.values_mut().filter(|w| *w == "T2") {
                        *wire = "L2".into();
                    }
                }
            }
            ("hard_start", "no") => sheet.parts.retain(|p| !["CST", "PR"].contains(&p.id.as_str())),
            ("valve_energised_in", "heating") => {
                if let Some(valve) = part(sheet, "RV") {
                    valve.ratings.insert("energised_in".into(), crate::sheet::Rating::Word("heating".into()));
                }
                for command in &mut sheet.commands {
                    let cools = command.calls_for == Some(crate::sheet::CallsFor::Cooling);
                    let heats = command.calls_for == Some(crate::sheet::CallsFor::HeatPump);
                    for stage in &mut command.stages {
                        if cools {
                            stage.on.retain(|x| x != "TH-O");
                        } else if heats {
                            stage.on.push("TH-O".into());
                        }
                    }
                }
            }
            ("earth_leakage_breaker", "yes") => {
                if let Some(breaker) = part(sheet, "BRK") {
                    breaker.ratings.insert("earth_leakage_ma".into(), crate::sheet::Rating::Number(5.0));
                }
            }
            _ => {}
        }
    }
}
