//! What the user or an installer has set.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TestSpec, TestWhat, add, set};
use crate::model::Spread;

const SET: Repair = Repair { what: "set it as the customer wants it, and show him", group: "set", minutes: 6.0, price: 0.0 };

/// Settings.
pub static CLASS: PartClass = PartClass {
    name: "settings",
    purpose: "mode, setpoint, schedule: what the machine is asked to do",
    rate: 60.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[
        RatingSpec { key: "setpoint_c", meaning: "water setpoint, °C", need: Need::Default(50.0), min: 5.0, max: 95.0 },
        RatingSpec { key: "differential_k", meaning: "restarts this far below the setpoint, K", need: Need::Default(5.0), min: 0.5, max: 30.0 },
    ],
    modes: &[
        ModeSpec {
            key: "elements-only", name: "mode left on elements only", cause: "set for guests or a cold spell and forgotten", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[set("mode", 1.0)] }],
            intermittent: false, repair: SET, upstream: "who set it, and why", promotes: &[], proof: "the heat pump starts and runs healthy",
        },
        ModeSpec {
            key: "away", name: "mode left on away", cause: "set for a journey and forgotten, or by a schedule", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[set("mode", 2.0)] }],
            intermittent: false, repair: SET, upstream: "who set it, and why", promotes: &[], proof: "it starts by itself and reaches the setpoint",
        },
        ModeSpec {
            key: "setpoint-low", name: "setpoint turned down", cause: "set to save money, or by a child", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[add("setpoint", -12.0), set("setpoint shown", 1.0)] }],
            intermittent: false, repair: SET, upstream: "", promotes: &[], proof: "it reaches the setpoint that the customer wants",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        // Whoever calls the machine for a test sets it: what counts is how it was found, and how it is left.
        TestSpec { what: TestWhat::Look { param: "mode", cuts: &[0.5, 1.5], words: &["heat pump", "elements only", "off or away"], blur: 0.01, title: "Read the mode in the menu as it is used, not as you set it for a test", level: 0 }, minutes: 1.0, hazards: &[], tells: "as the customer wants it" },
        TestSpec { what: TestWhat::Look { param: "setpoint shown", cuts: &[0.5], words: &["where the customer wants it", "turned down"], blur: 0.01, title: "Read the setpoint as it is used, not as you set it for a test", level: 0 }, minutes: 1.0, hazards: &[], tells: "as the customer wants it" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let mode = b.param("mode", 0.0, Spread::None);
    let to = b.number("setpoint_c")? + 273.15;
    let setpoint = b.param("setpoint", to, Spread::None);
    b.param("setpoint shown", 0.0, Spread::None);
    Ok(Role::Settings { mode, setpoint, differential: b.number("differential_k")? })
}
