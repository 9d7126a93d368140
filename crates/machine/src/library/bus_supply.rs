//! Supply of the outdoor board from the direct-current bus: not isolated, its ground is bus minus and live.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, set};
use crate::model::{Branch, Spread};

const REPLACE: Repair = Repair { what: "replace the supply (with the outdoor board, where they are one), the bus proved empty", group: "replace", minutes: 50.0, price: 160.0 };

/// Supply from the bus.
pub static CLASS: PartClass = PartClass {
    name: "supply from the bus",
    purpose: "makes 15, 12 and 5 V for the outdoor unit from the direct-current bus",
    rate: 3.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "+", meaning: "bus plus", optional: false },
        TerminalSpec { name: "GND", meaning: "bus minus, the ground of the low voltages", optional: false },
        TerminalSpec { name: "15V", meaning: "15 V out: gates, fan logic", optional: false },
        TerminalSpec { name: "12V", meaning: "12 V out: valve, relays", optional: false },
        TerminalSpec { name: "5V", meaning: "5 V out: processor, sensors", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "needs_v", meaning: "least bus voltage at which it works, V", need: Need::Default(90.0), min: 20.0, max: 400.0 },
        RatingSpec { key: "gives_a", meaning: "what its 15 V rail gives before it gives in, A", need: Need::Default(1.0), min: 0.05, max: 20.0 },
    ],
    modes: &[
        ModeSpec {
            key: "dead", name: "gives nothing", cause: "surge, a start resistor open", share: 0.75,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "surges; a shorted load that it had to feed", promotes: &[], proof: "15, 12 and 5 V within 5 % with everything running",
        },
        ModeSpec {
            key: "sags", name: "voltage sags", cause: "dried-out capacitor", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.55)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "15, 12 and 5 V within 5 % with everything running",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let works = b.param("works", 1.0, Spread::None);
    let ground = b.terminal("GND")?;
    b.terminal("+")?;
    for (name, volts) in [("15V", 15.0), ("12V", 12.0), ("5V", 5.0)] {
        let plus = b.terminal(name)?;
        b.branch(Branch::Rail { plus, ground, volts, works });
    }
    Ok(Role::BusSupply { works, needs: b.number("needs_v")?, gives: b.number("gives_a")? })
}
