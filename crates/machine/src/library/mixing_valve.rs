//! Mixing valve behind the tank: tempers what leaves it.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

/// Mixing valve.
pub static CLASS: PartClass = PartClass {
    name: "mixing valve",
    purpose: "mixes cold water into what leaves the tank",
    rate: 10.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "stuck", name: "scaled or stuck, mixes too cold", cause: "scale, a check valve that leaks", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("tepid", 1.0)] }],
        intermittent: false,
        repair: Repair { what: "descale or replace the mixing valve's insert", group: "replace", minutes: 45.0, price: 60.0 },
        upstream: "hard water", promotes: &[], proof: "the mixed pipe is as warm as it is set",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "tepid", cuts: &[0.5], words: &["as it is set", "far colder than the tank's outlet"], blur: 0.05, title: "Feel the pipes before and behind the mixing valve while water runs", level: 1 }, minutes: 4.0, hazards: &[Hazard::Heat], tells: "the mixed pipe is as warm as the valve is set" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("tepid", 0.0, Spread::None);
    Ok(Role::Passive)
}
