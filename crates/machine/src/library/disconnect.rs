//! Disconnect beside the machine: isolates it, protects nothing.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the disconnect or its burnt jaw; torque the lugs", group: "replace", minutes: 35.0, price: 30.0 };

/// Disconnect.
pub static CLASS: PartClass = PartClass {
    name: "disconnect",
    purpose: "isolates the machine within sight of it",
    rate: 4.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "first pole, supply side", optional: false },
        TerminalSpec { name: "2", meaning: "first pole, load side", optional: false },
        TerminalSpec { name: "3", meaning: "second pole, supply side", optional: true },
        TerminalSpec { name: "4", meaning: "second pole, load side", optional: true },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "pulled", name: "left open", cause: "somebody worked here, or a child", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("handle", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "ask who opened it and why; close it", group: "close", minutes: 3.0, price: 0.0 },
            upstream: "who opened it, and why", promotes: &[], proof: "the machine runs a whole cycle",
        },
        ModeSpec {
            key: "burnt", name: "a pole does not make", cause: "loose lug, burnt jaw", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "overheated lugs", promotes: &[], proof: "less than 0.1 V across each closed pole under load",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["2"],
    tests: &[TestSpec { what: TestWhat::Look { param: "handle", cuts: &[0.5], words: &["in and on", "out or off"], blur: 0.02, title: "Look at the disconnect", level: 1 }, minutes: 0.5, hazards: &[Hazard::Shock], tells: "in, and turned to on" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("handle", 0.0, Spread::None);
    b.contact("1", "2", Drive::Protective, 0.004)?;
    if b.wired("3") && b.wired("4") {
        b.contact("3", "4", Drive::Protective, 0.004)?;
    }
    Ok(Role::Passive)
}
