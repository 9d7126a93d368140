//! Relay on the board: a 12 V coil switches one load.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, set};
use crate::model::{Branch, Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the relay or the board that carries it", group: "replace", minutes: 40.0, price: 180.0 };

/// Board relay.
pub static CLASS: PartClass = PartClass {
    name: "board relay",
    purpose: "switches one load at the board's command",
    rate: 5.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "COM", meaning: "contact, feed side", optional: false },
        TerminalSpec { name: "NO", meaning: "contact, load side", optional: false },
        TerminalSpec { name: "A1", meaning: "coil, supply side", optional: true },
        TerminalSpec { name: "A2", meaning: "coil, driver side", optional: true },
    ],
    ratings: &[
        RatingSpec { key: "rated_a", meaning: "contact rating, A", need: Need::Default(16.0), min: 0.1, max: 100.0 },
        RatingSpec { key: "coil_ohm", meaning: "coil resistance, ohm", need: Need::Default(360.0), min: 5.0, max: 20_000.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "contact does not close", cause: "burnt by inrush, moisture", share: 0.45,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "short cycling, an overloaded contact", promotes: &[], proof: "less than 0.2 V across the closed contact under load",
        },
        ModeSpec {
            key: "welded", name: "contact welded shut", cause: "inrush, short cycling", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a load that draws too much, short cycling", promotes: &[], proof: "the load stops when it is not commanded",
        },
        ModeSpec {
            key: "driver", name: "coil or its driver dead", cause: "driver transistor, open coil", share: 0.20,
            levels: &[
                Level { word: "the driver", share: 0.6, edits: &[set("driver", 0.0)] },
                Level { word: "the coil", share: 0.4, edits: &[set("driver", 0.0), broken("coil ohms")] },
            ],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "12 V on the coil when commanded, and a click",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["NO"],
    tests: &[TestSpec { what: TestWhat::Ohms("COM", "NO"), minutes: 5.0, hazards: &[Hazard::Shock], tells: "OL at rest; near 0 is welded" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("rated_a")?;
    b.contact("COM", "NO", Drive::Relay, 0.02)?;
    let driver = b.param("driver", 1.0, Spread::None);
    let coil = b.number("coil_ohm")?;
    let ohms = b.param("coil ohms", coil, b.spread("coil_ohm", 0.05));
    if b.wired("A1") && b.wired("A2") {
        b.branch(Branch::Resistor { a: b.terminal("A1")?, b: b.terminal("A2")?, ohms, reactance: None });
    }
    Ok(Role::Relay { driver })
}
