//! Noise filter in the mains feed of an inverter.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the filter, or resolder its choke", group: "replace", minutes: 40.0, price: 45.0 };

/// Noise filter.
pub static CLASS: PartClass = PartClass {
    name: "noise filter",
    purpose: "keeps the switching of the inverter out of the mains",
    rate: 1.0,
    ageing: Ageing::Random,
    source: "judgement; half of filter and surge part together, 2 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "L", meaning: "line in", optional: false },
        TerminalSpec { name: "N", meaning: "neutral in", optional: false },
        TerminalSpec { name: "L'", meaning: "line out", optional: false },
        TerminalSpec { name: "N'", meaning: "neutral out", optional: false },
    ],
    ratings: &[],
    modes: &[ModeSpec {
        key: "open", name: "a choke's joint open", cause: "vibration, a heavy choke on a thin board", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("line ohms", 1.0e7)] }],
        intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "below 0.5 ohm from in to out, and the bus stands",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("L", "L'"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::BusCharge], tells: "below 0.5 ohm" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    for (name, one, two) in [("line ohms", "L", "L'"), ("neutral ohms", "N", "N'")] {
        let ohms = b.param(name, 0.08, Spread::Relative(0.3));
        let (a, c) = (b.terminal(one)?, b.terminal(two)?);
        b.branch(Branch::Resistor { a, b: c, ohms, reactance: None });
    }
    Ok(Role::Passive)
}
