//! Control transformer: 24 V from the mains.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken};
use crate::model::Branch;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the transformer: same volts, VA at least; fuse its secondary", group: "replace", minutes: 25.0, price: 35.0 };

/// Control transformer.
pub static CLASS: PartClass = PartClass {
    name: "control transformer",
    purpose: "makes the control voltage from the mains",
    rate: 5.0,
    ageing: Ageing::Random,
    source: "judgement; the transformer's part of 12 for transformer, supply and fuse",
    terminals: &[
        TerminalSpec { name: "L", meaning: "primary", optional: false },
        TerminalSpec { name: "N", meaning: "primary", optional: false },
        TerminalSpec { name: "R", meaning: "secondary, the side that is switched", optional: false },
        TerminalSpec { name: "C", meaning: "secondary, common", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "secondary_volts", meaning: "rated secondary volts", need: Need::Default(24.0), min: 5.0, max: 250.0 },
        RatingSpec { key: "va", meaning: "rated power, VA", need: Need::Default(40.0), min: 3.0, max: 1000.0 },
        RatingSpec { key: "primary_ohm", meaning: "primary resistance, ohm", need: Need::Default(45.0), min: 0.5, max: 5000.0 },
        RatingSpec { key: "secondary_ohm", meaning: "secondary resistance, ohm", need: Need::Default(0.8), min: 0.01, max: 100.0 },
    ],
    modes: &[
        ModeSpec {
            key: "primary-open", name: "primary open", cause: "overload by a shorted field wire, surge", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("primary ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "a shorted coil or chafed field wire: measure before fitting the new one", promotes: &[], proof: "24 to 28 V with every coil pulled in",
        },
        ModeSpec {
            key: "secondary-open", name: "secondary open", cause: "overload by a shorted field wire", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("secondary ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "a shorted coil or chafed field wire: measure before fitting the new one", promotes: &[], proof: "24 to 28 V with every coil pulled in",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["L"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("L", "N"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "20 to 150 ohm; OL is open" },
        TestSpec { what: TestWhat::Ohms("R", "C"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "0.3 to 3 ohm; OL is open" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (l, n, r, c) = (b.terminal("L")?, b.terminal("N")?, b.terminal("R")?, b.terminal("C")?);
    let (first, second) = (b.number("primary_ohm")?, b.number("secondary_ohm")?);
    let first_ohms = b.param("primary ohms", first, b.spread("primary_ohm", 0.2));
    let second_ohms = b.param("secondary ohms", second, b.spread("secondary_ohm", 0.2));
    b.number("va")?;
    // Wound for its rated volts under load: a tenth more without.
    let volts = [b.nameplate_volts(), 1.1 * b.number("secondary_volts")?];
    b.branch(Branch::Transformer { first: (l, n), second: (r, c), volts, first_ohms, second_ohms });
    Ok(Role::Passive)
}
