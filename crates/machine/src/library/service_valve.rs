//! Service valves and their cores: where gauges go on.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, scale, set};
use crate::model::Spread;
use crate::test::Hazard;

/// Service valve.
pub static CLASS: PartClass = PartClass {
    name: "service valve",
    purpose: "gives gauges access to the circuit",
    rate: 6.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "core-leaks", name: "core leaks", cause: "dirt on the core, no seal cap", share: 1.0,
        levels: &[
            Level { word: "slowly", share: 0.5, edits: &[scale("tightness", 0.75), set("bubbles", 1.0)] },
            Level { word: "long since", share: 0.5, edits: &[scale("tightness", 0.5), set("bubbles", 1.0)] },
        ],
        intermittent: false,
        repair: Repair { what: "replace the core under pressure with the core tool, seal cap on; weigh in what is missing", group: "core", minutes: 60.0, price: 40.0 },
        upstream: "caps left off at an earlier visit", promotes: &[], proof: "no bubbles at the port; superheat and subcooling as expected",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "bubbles", cuts: &[0.5], words: &["none", "bubbles"], blur: 0.05, title: "Soap the service ports, caps off", level: 1 }, minutes: 3.0, hazards: &[Hazard::Pressure], tells: "no bubbles within a minute" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("bubbles", 0.0, Spread::None);
    Ok(Role::Vessel { tightness: b.param("tightness", 1.0, Spread::None) })
}
