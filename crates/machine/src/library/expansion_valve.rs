//! Electronic expansion valve: a stepper coil on a body with a needle.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const COIL: Repair = Repair { what: "replace the valve coil, power off, and seat it to its mark", group: "coil", minutes: 15.0, price: 45.0 };
const BODY: Repair = Repair { what: "recover, replace the valve body and the drier under nitrogen, evacuate, weigh in", group: "body", minutes: 150.0, price: 160.0 };

/// Electronic expansion valve.
pub static CLASS: PartClass = PartClass {
    name: "electronic expansion valve",
    purpose: "meters liquid into the evaporator at the board's command",
    rate: 4.0,
    ageing: Ageing::Random,
    source: "judgement; coil 2 and body 2 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "COM", meaning: "common of the coils", optional: false },
        TerminalSpec { name: "A", meaning: "phase A", optional: false },
        TerminalSpec { name: "B", meaning: "phase B", optional: false },
        TerminalSpec { name: "A'", meaning: "phase A'", optional: false },
        TerminalSpec { name: "B'", meaning: "phase B'", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "phase_ohm", meaning: "resistance of each phase to common, ohm", need: Need::Required, min: 1.0, max: 1000.0 },
        RatingSpec { key: "steps", meaning: "steps from shut to full open", need: Need::Default(480.0), min: 20.0, max: 5000.0 },
    ],
    modes: &[
        ModeSpec {
            key: "coil-open", name: "a coil phase open", cause: "water, a broken lead", share: 0.28,
            levels: &[
                Level { word: "stopped nearly shut", share: 0.15, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 0.12)] },
                Level { word: "stopped a fifth open", share: 0.10, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 0.19)] },
                Level { word: "stopped a third open", share: 0.10, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 0.30)] },
                Level { word: "stopped half open", share: 0.15, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 0.46)] },
                Level { word: "stopped two thirds open", share: 0.15, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 0.66)] },
                Level { word: "stopped wide open", share: 0.35, edits: &[broken("phase A ohms"), set("coil drives", 0.0), set("stuck at", 1.0)] },
            ],
            intermittent: false, repair: COIL, upstream: "water running down the leads", promotes: &[], proof: "four equal phases; the superheat follows a forced move",
        },
        ModeSpec {
            key: "coil-off", name: "coil not seated on the body", cause: "clip left off at a repair", share: 0.12,
            levels: &[
                Level { word: "stopped nearly shut", share: 0.15, edits: &[set("coil drives", 0.0), set("stuck at", 0.12), set("coil seated", 0.0)] },
                Level { word: "stopped a fifth open", share: 0.10, edits: &[set("coil drives", 0.0), set("stuck at", 0.19), set("coil seated", 0.0)] },
                Level { word: "stopped a third open", share: 0.10, edits: &[set("coil drives", 0.0), set("stuck at", 0.30), set("coil seated", 0.0)] },
                Level { word: "stopped half open", share: 0.15, edits: &[set("coil drives", 0.0), set("stuck at", 0.46), set("coil seated", 0.0)] },
                Level { word: "stopped two thirds open", share: 0.15, edits: &[set("coil drives", 0.0), set("stuck at", 0.66), set("coil seated", 0.0)] },
                Level { word: "stopped wide open", share: 0.35, edits: &[set("coil drives", 0.0), set("stuck at", 1.0), set("coil seated", 0.0)] },
            ],
            intermittent: false, repair: Repair { what: "seat the coil to its mark, power off", group: "coil-seat", minutes: 8.0, price: 0.0 }, upstream: "", promotes: &[], proof: "the superheat follows a forced move",
        },
        ModeSpec {
            key: "stuck", name: "body stuck", cause: "oxide from brazing without nitrogen, moisture", share: 0.34,
            levels: &[
                Level { word: "nearly shut", share: 0.15, edits: &[set("stuck at", 0.12)] },
                Level { word: "a fifth open", share: 0.10, edits: &[set("stuck at", 0.19)] },
                Level { word: "a third open", share: 0.10, edits: &[set("stuck at", 0.30)] },
                Level { word: "half open", share: 0.15, edits: &[set("stuck at", 0.46)] },
                Level { word: "two thirds open", share: 0.15, edits: &[set("stuck at", 0.66)] },
                Level { word: "wide open", share: 0.35, edits: &[set("stuck at", 1.0)] },
            ],
            intermittent: false, repair: BODY, upstream: "oxide and moisture from an earlier repair", promotes: &[], proof: "superheat settles at its target; closing click at the stop",
        },
        ModeSpec {
            key: "leak-by", name: "does not shut", cause: "debris on the seat", share: 0.13,
            levels: &[
                Level { word: "a little", share: 0.34, edits: &[set("leak-by", 0.58)] },
                Level { word: "much", share: 0.33, edits: &[set("leak-by", 0.72)] },
                Level { word: "as if open", share: 0.33, edits: &[set("leak-by", 0.9)] },
            ],
            intermittent: false, repair: BODY, upstream: "debris, no drier", promotes: &[], proof: "superheat settles at its target",
        },
        ModeSpec {
            key: "debris", name: "partly blocked by debris", cause: "oxide, drier beads", share: 0.13,
            levels: &[
                Level { word: "nearly", share: 0.33, edits: &[scale("reach", 0.22)] },
                Level { word: "two thirds", share: 0.34, edits: &[scale("reach", 0.3)] },
                Level { word: "more than half", share: 0.33, edits: &[scale("reach", 0.4)] },
            ],
            intermittent: false, repair: BODY, upstream: "debris, no drier", promotes: &[], proof: "superheat settles at its target with the valve in mid travel",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["COM"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("COM", "A"), minutes: 2.0, hazards: &[], tells: "all four phases equal within 10 %" },
        TestSpec { what: TestWhat::Ohms("COM", "B"), minutes: 1.0, hazards: &[], tells: "all four phases equal within 10 %" },
        TestSpec { what: TestWhat::Look { param: "coil seated", cuts: &[0.5], words: &["loose or off", "seated to its mark"], blur: 0.04, title: "See whether the valve coil sits on its body, clipped, at its mark", level: 2 }, minutes: 1.0, hazards: &[], tells: "clipped, at its mark" },
        TestSpec { what: TestWhat::Behaviour, minutes: 12.0, hazards: &[Hazard::Pressure], tells: "forced shut, then full: the suction line follows within a minute, the stop clicks" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let phase = b.number("phase_ohm")?;
    b.number("steps")?;
    let common = b.terminal("COM")?;
    for name in ["A", "B", "A'", "B'"] {
        let t = b.terminal(name)?;
        let ohms = b.param(&format!("phase {name} ohms"), phase, b.spread("phase_ohm", 0.04));
        b.branch(Branch::Resistor { a: common, b: t, ohms, reactance: None });
    }
    b.param("coil seated", 1.0, Spread::None);
    Ok(Role::ExpansionValve {
        coil_drives: b.param("coil drives", 1.0, Spread::None),
        stuck_at: b.param("stuck at", -1.0, Spread::None),
        leak_by: b.param("leak-by", 0.0, Spread::None),
        reach: b.param("reach", 1.0, Spread::Relative(0.05)),
    })
}
