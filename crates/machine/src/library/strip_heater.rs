//! Electric heater in the air stream: second stage, and warmth during a defrost.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, set};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the heater element or its link", group: "replace", minutes: 45.0, price: 70.0 };

/// Strip heater.
pub static CLASS: PartClass = PartClass {
    name: "strip heater",
    purpose: "heats the air where the heat pump does not suffice, and during a defrost",
    rate: 8.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one end", optional: false },
        TerminalSpec { name: "2", meaning: "other end", optional: false },
    ],
    ratings: &[RatingSpec { key: "watts", meaning: "rated power, W", need: Need::Required, min: 100.0, max: 30_000.0 }],
    modes: &[
        ModeSpec {
            key: "open", name: "element or its thermal link open", cause: "low airflow, age", share: 0.8,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "too little air: filter, blower", promotes: &[], proof: "draws watts over volts, air warms",
        },
        ModeSpec {
            key: "earthed", name: "element touches its frame", cause: "a sagging coil", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.3)] }],
            intermittent: false, repair: REPLACE, upstream: "too little air", promotes: &[], proof: "above 1 Mohm to the cabinet",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "volts squared over watts ±5 %; OL is open" },
        TestSpec { what: TestWhat::Insulation("1"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "above 1 Mohm" },
        TestSpec { what: TestWhat::LeadAmps("1"), minutes: 2.0, hazards: &[Hazard::Shock], tells: "watts over volts" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.heater("watts", "1", "2")?;
    b.earth_leak("1")?;
    Ok(Role::Heater)
}
