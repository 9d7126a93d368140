//! The cable between an indoor and an outdoor unit: mains through, and the signal of the two boards.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const JOINT: Repair = Repair { what: "open the splice or run a new cable in one length, terminals tightened and numbered alike at both ends", group: "cable", minutes: 40.0, price: 35.0 };

/// Line between the units.
pub static CLASS: PartClass = PartClass {
    name: "line between the units",
    purpose: "brings the mains to the other unit and carries what the boards tell each other",
    rate: 4.5,
    ageing: Ageing::Infant,
    source: "judgement: miswired 35, splice or wet 35 of 6 per 1000 unit-years; ports are the boards'",
    terminals: &[
        TerminalSpec { name: "L1", meaning: "line, outdoor end", optional: false },
        TerminalSpec { name: "N1", meaning: "neutral, outdoor end", optional: false },
        TerminalSpec { name: "S1", meaning: "signal, outdoor end", optional: false },
        TerminalSpec { name: "L2", meaning: "line, indoor end", optional: false },
        TerminalSpec { name: "N2", meaning: "neutral, indoor end", optional: false },
        TerminalSpec { name: "S2", meaning: "signal, indoor end", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "signal-open", name: "signal core open or corroded", cause: "a splice in the wall, rodents, a loose terminal", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("core ohms", 5.0e5)] }],
            intermittent: false, repair: JOINT, upstream: "splices that should not be there", promotes: &[], proof: "the signal wobbles; less than 1 ohm per 30 m of core",
        },
        ModeSpec {
            key: "signal-shorted", name: "signal joined to neutral", cause: "a wet splice, a nail, cores on the wrong terminals", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("fault ohms", 3.0)] }],
            intermittent: false, repair: JOINT, upstream: "water in the conduit; numbers at both ends", promotes: &[], proof: "the signal wobbles; core to core OL",
        },
        ModeSpec {
            key: "line-open", name: "line core open", cause: "a splice in the wall, rodents, a loose terminal", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[set("line ohms", 1.0e7)] }],
            intermittent: false, repair: JOINT, upstream: "splices that should not be there", promotes: &[], proof: "rated volts at the indoor terminals under load",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["S1"],
    tests: &[
        TestSpec { what: TestWhat::Signal, minutes: 2.0, hazards: &[Hazard::Shock], tells: "wobbling with the traffic; steady: the other end does not answer; silent: this end does not feed it, or it is shorted" },
        TestSpec { what: TestWhat::Ohms("S1", "S2"), minutes: 8.0, hazards: &[Hazard::Shock], tells: "less than 1 ohm per 30 m (far ends joined by a known wire)" },
        TestSpec { what: TestWhat::Ohms("S1", "N1"), minutes: 5.0, hazards: &[Hazard::Shock], tells: "OL with both ends off" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    for (name, one, two) in [("line ohms", "L1", "L2"), ("neutral ohms", "N1", "N2")] {
        let ohms = b.param(name, 0.1, Spread::Relative(0.3));
        let (a, c) = (b.terminal(one)?, b.terminal(two)?);
        b.branch(Branch::Resistor { a, b: c, ohms, reactance: None });
    }
    let core = b.param("core ohms", 0.3, Spread::Relative(0.3));
    let fault = b.param("fault ohms", 5.0e7, Spread::Relative(0.5));
    let [s1, s2, n1] = [b.terminal("S1")?, b.terminal("S2")?, b.terminal("N1")?];
    b.branch(Branch::Resistor { a: s1, b: s2, ohms: core, reactance: None });
    b.branch(Branch::Resistor { a: s1, b: n1, ohms: fault, reactance: None });
    Ok(Role::InterunitLine { core, fault })
}
