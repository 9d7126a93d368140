//! What a thermostat, cold control or humidistat is set to.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TestSpec, TestWhat, add, set};
use crate::model::Spread;

const SET: Repair = Repair { what: "set it as the customer wants it, and show him", group: "set", minutes: 6.0, price: 0.0 };

/// Thermostat setting.
pub static CLASS: PartClass = PartClass {
    name: "thermostat setting",
    purpose: "what the machine is asked to do: on or off, how cold, how warm, how dry",
    rate: 60.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[RatingSpec { key: "setpoint_c", meaning: "temperature that it should hold, °C", need: Need::Default(22.0), min: -40.0, max: 60.0 }],
    modes: &[
        ModeSpec {
            key: "off", name: "switched off, or to fan only", cause: "by hand, by a schedule, by utility control", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[set("mode", 2.0)] }],
            intermittent: false, repair: SET, upstream: "who set it, and why", promotes: &[], proof: "it starts by itself and reaches its setting",
        },
        ModeSpec {
            key: "too-little", name: "set to too little", cause: "set to save money, or knocked", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[add("setpoint", 5.0), set("setting shown", 1.0)] }],
            intermittent: false, repair: SET, upstream: "", promotes: &[], proof: "it reaches what the customer wants",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Look { param: "mode", cuts: &[1.5], words: &["on", "off or fan only"], blur: 0.01, title: "Read what it is set to as it is used, not as you set it for a test: on or off", level: 0 }, minutes: 0.5, hazards: &[], tells: "as the customer wants it" },
        TestSpec { what: TestWhat::Look { param: "setting shown", cuts: &[0.5], words: &["where the customer wants it", "too little"], blur: 0.01, title: "Read the setting as it is used, not as you set it for a test", level: 0 }, minutes: 0.5, hazards: &[], tells: "as the customer wants it" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let mode = b.param("mode", 0.0, Spread::None);
    let to = b.number("setpoint_c")? + 273.15;
    let setpoint = b.param("setpoint", to, Spread::None);
    b.param("setting shown", 0.0, Spread::None);
    Ok(Role::Settings { mode, setpoint, differential: 1.0 })
}
