//! Heater that melts the ice off a cold coil.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, set};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the defrost heater, the coil thawed first", group: "replace", minutes: 60.0, price: 40.0 };

/// Defrost heater.
pub static CLASS: PartClass = PartClass {
    name: "defrost heater",
    purpose: "melts the ice off the cold coil",
    rate: 10.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one end", optional: false },
        TerminalSpec { name: "2", meaning: "other end", optional: false },
    ],
    ratings: &[RatingSpec { key: "watts", meaning: "rated power, W", need: Need::Required, min: 20.0, max: 5000.0 }],
    modes: &[
        ModeSpec {
            key: "open", name: "open", cause: "burnt through, a broken joint", share: 0.85,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "draws its watts in a forced defrost; the coil is clear after it",
        },
        ModeSpec {
            key: "earthed", name: "leaks to its sheath", cause: "water in the sheath", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.02)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "above 1 Mohm to the cabinet",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "volts squared over watts ±5 %; OL is open" },
        TestSpec { what: TestWhat::Insulation("1"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "above 1 Mohm" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.heater("watts", "1", "2")?;
    b.earth_leak("1")?;
    Ok(Role::DefrostHeater)
}
