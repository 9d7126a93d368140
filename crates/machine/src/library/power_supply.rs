//! Power supply of the board: mains in, isolated 12 V and 5 V out.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the power supply (with the board, where they are one)", group: "replace", minutes: 35.0, price: 120.0 };

/// Power supply.
pub static CLASS: PartClass = PartClass {
    name: "power supply",
    purpose: "makes the low voltages of the control circuit from the mains",
    rate: 3.0,
    ageing: Ageing::WearOut,
    source: "judgement; share of the control board's rate in the trade's experience",
    terminals: &[
        TerminalSpec { name: "L", meaning: "mains in", optional: false },
        TerminalSpec { name: "N", meaning: "mains return", optional: false },
        TerminalSpec { name: "12V", meaning: "12 V DC out", optional: false },
        TerminalSpec { name: "5V", meaning: "5 V DC out", optional: false },
        TerminalSpec { name: "GND", meaning: "ground of the low voltages", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "draws_w", meaning: "power drawn from the mains, W", need: Need::Default(6.0), min: 0.1, max: 100.0 },
        RatingSpec { key: "needs_v", meaning: "least mains voltage at which it works, V", need: Need::Default(85.0), min: 10.0, max: 400.0 },
    ],
    modes: &[
        ModeSpec {
            key: "dead", name: "gives nothing", cause: "surge, dried-out capacitor", share: 0.7,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "surges on the supply", promotes: &[("control board", "relay-solder", 2.0)], proof: "12 V and 5 V within 5 % with every relay energised",
        },
        ModeSpec {
            key: "sags", name: "voltage sags under load", cause: "dried-out capacitor", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.62)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "12 V and 5 V within 5 % with every relay energised",
        },
        ModeSpec {
            key: "shorted", name: "shorted on the mains side", cause: "surge", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.0), set("input ohms", 0.8)] }],
            intermittent: false, repair: REPLACE, upstream: "surges on the supply", promotes: &[], proof: "the fuse holds",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("L", "N"), minutes: 5.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "many kilohm; near zero is shorted" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (l, n) = (b.terminal("L")?, b.terminal("N")?);
    let (v12, v5, ground) = (b.terminal("12V")?, b.terminal("5V")?, b.terminal("GND")?);
    let draws = b.number("draws_w")?;
    let volts = b.nameplate_volts();
    let ohms = b.param("input ohms", volts * volts / draws, Spread::Relative(0.3));
    b.branch(Branch::Resistor { a: l, b: n, ohms, reactance: None });
    let works = b.param("works", 1.0, Spread::None);
    b.branch(Branch::Rail { plus: v12, ground, volts: 12.0, works });
    b.branch(Branch::Rail { plus: v5, ground, volts: 5.0, works });
    let needs = b.number("needs_v")?;
    Ok(Role::PowerSupply { works, needs })
}
