//! Sacrificial anode: corrodes instead of the tank.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

/// Sacrificial anode.
pub static CLASS: PartClass = PartClass {
    name: "sacrificial anode",
    purpose: "corrodes instead of the tank",
    rate: 60.0,
    ageing: Ageing::WearOut,
    source: "judgement; wear within 2 to 5 years",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "consumed", name: "consumed", cause: "its work; soft, hard or softened water hastens it", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("consumed", 1.0)] }],
        intermittent: false,
        repair: Repair { what: "shut off and cool, replace the anode", group: "replace", minutes: 40.0, price: 40.0 },
        upstream: "softened water; nobody looked for years", promotes: &[("water tank", "leak", 5.0)], proof: "more than half of its diameter is there; no core wire shows",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "consumed", cuts: &[0.5], words: &["most of it there", "core wire shows"], blur: 0.05, title: "Pull the anode, water shut off and cooled, power off", level: 4 }, minutes: 20.0, hazards: &[Hazard::Heat], tells: "more than half of its diameter; no core wire" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Anode { consumed: b.param("consumed", 0.0, Spread::None) })
}
