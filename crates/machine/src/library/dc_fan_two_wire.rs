//! Small fan with electronics of its own on two wires: supply only.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the fan", group: "replace", minutes: 30.0, price: 25.0 };

/// Fan, two wires: cools the heat sink of a power module.
pub static CLASS: PartClass = PartClass {
    name: "heat sink fan, DC two-wire",
    purpose: "blows air over the power module's heat sink",
    rate: 8.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "+", meaning: "supply", optional: false },
        TerminalSpec { name: "-", meaning: "ground", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "dead", name: "electronics dead", cause: "water, surge", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[set("runs", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water", promotes: &[], proof: "runs, and the heat sink stays below 80 °C",
        },
        ModeSpec {
            key: "bearing", name: "bearing seized", cause: "dust, age", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("free", 0.0), set("flow", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "runs, and the heat sink stays below 80 °C",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Behaviour, minutes: 1.0, hazards: &[Hazard::Moving], tells: "runs; rated volts at its plug and no spin is the fan, no volts the board" },
        TestSpec { what: TestWhat::Look { param: "free", cuts: &[0.5], words: &["does not turn", "turns freely"], blur: 0.05, title: "Turn the small fan by hand, power off", level: 2 }, minutes: 1.0, hazards: &[Hazard::Moving], tells: "turns freely" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let ohms = b.param("input ohms", 1_500.0, Spread::Relative(0.3));
    let (plus, minus) = (b.terminal("+")?, b.terminal("-")?);
    b.branch(Branch::Resistor { a: plus, b: minus, ohms, reactance: None });
    Ok(Role::DcFan {
        side: None,
        flow: b.param("flow", 1.0, Spread::Relative(0.05)),
        free: b.param("free", 1.0, Spread::None),
        runs: b.param("runs", 1.0, Spread::None),
        feedback: b.param("feedback", 1.0, Spread::None),
        logic: None,
    })
}
