//! Surge part (varistor) across the mains behind a fuse: nothing until a surge comes, then it gives itself up.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

/// Surge part.
pub static CLASS: PartClass = PartClass {
    name: "surge part",
    purpose: "short-circuits surges before they reach the electronics",
    rate: 1.0,
    ageing: Ageing::Random,
    source: "judgement; half of filter and surge part together, 2 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "1", meaning: "line, behind the fuse", optional: false },
        TerminalSpec { name: "2", meaning: "neutral", optional: false },
    ],
    ratings: &[],
    modes: &[ModeSpec {
        key: "shorted", name: "shorted by a surge", cause: "lightning, a lost neutral", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("ohms", 0.3), set("burnt", 1.0)] }],
        intermittent: false,
        repair: Repair { what: "replace surge part and fuse, having measured what lies behind them", group: "replace", minutes: 35.0, price: 10.0 },
        upstream: "the surge: ask for others in the street, measure the supply", promotes: &[("bridge rectifier", "diode-shorted", 3.0), ("fuse", "blown", 10.0)],
        proof: "the fuse holds, the bus stands",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::BusCharge], tells: "OL; near 0 it has given itself up" },
        TestSpec { what: TestWhat::Look { param: "burnt", cuts: &[0.5], words: &["whole", "burst or burnt"], blur: 0.12, title: "Look at the surge part beside the fuse", level: 2 }, minutes: 1.0, hazards: &[Hazard::Shock, Hazard::BusCharge], tells: "whole, no soot" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let ohms = b.param("ohms", 5.0e7, Spread::Relative(0.5));
    b.param("burnt", 0.0, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Resistor { a: one, b: two, ohms, reactance: None });
    Ok(Role::Passive)
}
