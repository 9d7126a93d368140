//! What may be built one way or another.

use super::{Given, Kind};
use crate::sheet::{CallsFor, PartEntry, Rating, Sheet, UnsureEntry, WayEntry};

/// A question of structure.
#[derive(Debug, Clone, Copy, PartialEq)]
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
    /// How one sheet carries both ways until something tells; `None` where parts or commands differ, which no joined wires
    /// express: then there is a sheet for each way.
    pub carried: Option<Carried>,
}

/// A question as one sheet carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// Its id in the sheet.
    pub id: &'static str,
    /// Shares of the ways, in their order. Judgement.
    pub shares: &'static [f64],
    /// Place where it can be seen, and minutes to look.
    pub seen: (&'static str, f64),
    /// Terminals that get a wire of their own: part, terminal, wire.
    rewired: &'static [(&'static str, &'static str, &'static str)],
    /// Wires that each way joins.
    joins: &'static [&'static [[&'static str; 2]]],
}

const CHOICES: &[Choice] = &[
    Choice {
        kind: "water-heater",
        key: "cut_off_feeds_board",
        question: "Does the cut-off feed the board?",
        ways: &[("yes", "open cut-off, dark display"), ("no", "open cut-off, lit display")],
        matters: "with a dark display, or no heat and a lit one: volts into the board's supply with the cut-off's button out tell",
        carried: Some(Carried {
            id: "CUT-OFF-FEED",
            shares: &[0.7, 0.3],
            seen: ("front", 4.0),
            rewired: &[("F1", "1", "BFEED"), ("PS", "N", "BRET")],
            joins: &[&[["L1E", "BFEED"], ["L2E", "BRET"]], &[["L1", "BFEED"], ["L2", "BRET"]]],
        }),
    },
    Choice {
        kind: "split",
        key: "contactor_poles",
        question: "Poles of the contactor",
        ways: &[("2", "both conductors switched"), ("1", "one conductor always joined")],
        matters: "with the contactor out: a single-pole type leaves both load terminals live to earth through the windings",
        carried: Some(Carried {
            id: "POLES",
            shares: &[0.5, 0.5],
            seen: ("outdoor", 1.0),
            rewired: &[],
            joins: &[&[], &[["L2", "T2"]]],
        }),
    },
    Choice {
        kind: "split",
        key: "hard_start",
        question: "A start capacitor and start relay fitted?",
        ways: &[("no", "none"), ("yes", "fitted")],
        matters: "when the compressor hums: a second can beside the run capacitor, and a relay on the start lead",
        carried: None,
    },
    Choice {
        kind: "split",
        key: "valve_energised_in",
        question: "The reversing valve's coil is energised in",
        ways: &[("cooling", "O terminal"), ("heating", "B terminal")],
        matters: "when it heats instead of cooling: volts on the valve's coil in cooling tell",
        carried: None,
    },
    Choice {
        kind: "mini-split",
        key: "valve_energised_in",
        question: "The reversing valve's coil is energised in",
        ways: &[("heating", "usual"), ("cooling", "the other way round")],
        matters: "when it heats instead of cooling: volts on the valve's coil in cooling tell",
        carried: None,
    },
    Choice {
        kind: "mini-split",
        key: "earth_leakage_breaker",
        question: "Does its circuit watch for earth leakage?",
        ways: &[("yes", "trips on milliamps to earth"), ("no", "plain breaker")],
        matters: "when a breaker trips: a test button on it",
        carried: None,
    },
    Choice {
        kind: "refrigerator",
        key: "earth_leakage_breaker",
        question: "Does its circuit watch for earth leakage?",
        ways: &[("no", "plain breaker"), ("yes", "trips on milliamps to earth")],
        matters: "when a breaker trips: a test button on it",
        carried: None,
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

/// Puts a question without an answer into the sheet, to be weighed in every job.
fn carry(choice: &Choice, how: &Carried, sheet: &mut Sheet) {
    for (id, terminal, wire) in how.rewired {
        if let Some(p) = part(sheet, id) {
            p.terminals.insert((*terminal).into(), (*wire).into());
        }
    }
    let way = |((answer, means), share, joins): (&(&str, &str), &f64, &&[[&str; 2]])| WayEntry {
        says: format!("{answer}: {means}"),
        share: *share,
        joins: joins.iter().map(|pair| pair.map(str::to_owned)).collect(),
    };
    let ways = choice.ways.iter().zip(how.shares).zip(how.joins).map(|((w, s), j)| way((w, s, j))).collect();
    sheet.unsure.push(UnsureEntry {
        id: how.id.to_owned(),
        question: choice.question.to_owned(),
        source: "judgement".to_owned(),
        place: Some(how.seen.0.to_owned()),
        minutes: how.seen.1,
        ways,
    });
}

/// Has the reversing valve's coil energised in the one season and not in the other, by the contact that switches it.
fn energise(sheet: &mut Sheet, season: &str, called_for: CallsFor, contact: &str) {
    if let Some(valve) = part(sheet, "RV") {
        valve.ratings.insert("energised_in".into(), Rating::Word(season.into()));
    }
    for command in &mut sheet.commands {
        for stage in &mut command.stages {
            match command.calls_for {
                Some(calls) if calls == called_for => stage.on.push(contact.into()),
                Some(CallsFor::Cooling | CallsFor::HeatPump) => stage.on.retain(|x| x != contact),
                _ => {}
            }
        }
    }
}

/// Builds the sheet the way that was answered; without an answer it carries all ways where it can, else the usual one.
pub(super) fn apply(kind: &Kind, given: &Given, sheet: &mut Sheet) {
    for choice in choices(kind) {
        if let (None, Some(how)) = (given.word(choice.key), &choice.carried) {
            carry(choice, how, sheet);
            continue;
        }
        let way = given.word(choice.key).unwrap_or(choice.ways[0].0);
        match (choice.key, way) {
            // The examples are drawn the usual way.
            ("valve_energised_in" | "earth_leakage_breaker", way) if way == choice.ways[0].0 => {}
            ("valve_energised_in", "cooling") => energise(sheet, "cooling", CallsFor::Cooling, "KRV"),
            ("valve_energised_in", _) => energise(sheet, "heating", CallsFor::HeatPump, "TH-O"),
            ("earth_leakage_breaker", "no") => {
                if let Some(breaker) = part(sheet, "BRK") {
                    breaker.ratings.remove("earth_leakage_ma");
                }
            }
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
            ("earth_leakage_breaker", "yes") => {
                if let Some(breaker) = part(sheet, "BRK") {
                    breaker.ratings.insert("earth_leakage_ma".into(), Rating::Number(5.0));
                }
            }
            _ => {}
        }
    }
}
