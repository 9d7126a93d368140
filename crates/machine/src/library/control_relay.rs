//! Control relay: a coil of its own, in whatever circuit it is wired, switches one load.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, set};
use crate::model::Drive;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the relay: same coil volts and contact rating", group: "replace", minutes: 20.0, price: 25.0 };

/// Control relay.
pub static CLASS: PartClass = PartClass {
    name: "control relay",
    purpose: "switches one load when its coil gets control voltage",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "COM", meaning: "contact, feed side", optional: false },
        TerminalSpec { name: "NO", meaning: "contact, load side", optional: false },
        TerminalSpec { name: "A1", meaning: "coil", optional: false },
        TerminalSpec { name: "A2", meaning: "coil", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "coil_volts", meaning: "rated volts of the coil", need: Need::Default(24.0), min: 5.0, max: 500.0 },
        RatingSpec { key: "coil_ohm", meaning: "coil resistance (direct current), ohm", need: Need::Default(15.0), min: 0.5, max: 20_000.0 },
        RatingSpec { key: "coil_va", meaning: "what the coil draws pulled in, VA", need: Need::Default(5.0), min: 0.5, max: 200.0 },
        RatingSpec { key: "rated_a", meaning: "contact rating, A", need: Need::Default(16.0), min: 0.1, max: 100.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "contact does not close", cause: "burnt by inrush", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a load that draws too much", promotes: &[], proof: "less than 0.2 V across the closed contact under load",
        },
        ModeSpec {
            key: "welded", name: "contact welded shut", cause: "inrush, short cycling", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a load that draws too much", promotes: &[], proof: "the load stops when the call ends",
        },
        ModeSpec {
            key: "coil-open", name: "coil open", cause: "heat, overvoltage", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("coil ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "pulls in at the call",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["A1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("A1", "A2"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "the rated ohms; OL is open" },
        TestSpec { what: TestWhat::Ohms("COM", "NO"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "OL with nothing called; near 0 is welded" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("rated_a")?;
    b.contact("COM", "NO", Drive::Relay, 0.02)?;
    b.coil("A1", "A2")
}
