//! Fan with electronics of its own on five wires: motor supply, ground, logic supply, command, speed signal.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the fan motor, power off and the bus proved empty: a plug pulled live destroys it; drip loop in the leads", group: "replace", minutes: 40.0, price: 120.0 };

/// Fan, five wires.
pub static CLASS: PartClass = PartClass {
    name: "fan, DC five-wire",
    purpose: "moves air at the speed that the board asks for, and tells its speed",
    rate: 10.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "VM", meaning: "motor supply, the bus or near it", optional: false },
        TerminalSpec { name: "GND", meaning: "ground", optional: false },
        TerminalSpec { name: "VCC", meaning: "logic supply, 15 V", optional: false },
        TerminalSpec { name: "VSP", meaning: "command, 1.5 to 6.5 V (common practice, no source)", optional: true },
        TerminalSpec { name: "FG", meaning: "speed signal", optional: true },
    ],
    ratings: &[RatingSpec { key: "air", meaning: "\"inside\" or \"outside\": the air that it moves", need: Need::Optional, min: 0.0, max: 0.0 }],
    modes: &[
        ModeSpec {
            key: "dead", name: "electronics dead", cause: "water, surge", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("runs", 0.0), set("feedback", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water running down the leads", promotes: &[], proof: "runs at every speed, and its speed signal comes",
        },
        ModeSpec {
            key: "logic-shorted", name: "logic supply shorted inside", cause: "water entry", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("logic ohms", 2.8), set("runs", 0.0), set("feedback", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water entry: the drip shield", promotes: &[], proof: "15 V on the logic rail, and both units talk",
        },
        ModeSpec {
            key: "bearing", name: "bearing worn", cause: "age, dust, salt", share: 0.25,
            levels: &[
                Level { word: "slow", share: 0.6, edits: &[set("flow", 0.6), set("free", 0.5)] },
                Level { word: "seized", share: 0.4, edits: &[set("flow", 0.0), set("free", 0.0), set("feedback", 0.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "turns freely by hand and runs at every speed",
        },
        ModeSpec {
            key: "feedback", name: "speed signal missing", cause: "its pick-up, a pin of the plug", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("feedback", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "the speed signal toggles as the wheel is turned by hand",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["VM"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("VCC", "GND"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "kilohm; near 0 the logic is shorted inside" },
        TestSpec { what: TestWhat::Behaviour, minutes: 1.0, hazards: &[Hazard::Moving], tells: "runs at the speed asked for" },
        TestSpec { what: TestWhat::Look { param: "free", cuts: &[0.25, 0.75], words: &["does not turn", "rough", "turns freely"], blur: 0.06, title: "Turn the wheel by hand, power off", level: 2 }, minutes: 1.5, hazards: &[Hazard::Moving], tells: "turns freely, no play" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let side = b.air_side("air")?;
    let logic = b.param("logic ohms", 12_000.0, Spread::Relative(0.4));
    let (vcc, ground) = (b.terminal("VCC")?, b.terminal("GND")?);
    b.branch(Branch::Resistor { a: vcc, b: ground, ohms: logic, reactance: None });
    Ok(Role::DcFan {
        side: Some(side),
        flow: b.param("flow", 1.0, Spread::Relative(0.05)),
        free: b.param("free", 1.0, Spread::None),
        runs: b.param("runs", 1.0, Spread::None),
        feedback: b.param("feedback", 1.0, Spread::None),
        logic: Some(logic),
    })
}
