//! Temperature and pressure relief valve: never to be plugged.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

/// Relief valve.
pub static CLASS: PartClass = PartClass {
    name: "relief valve",
    purpose: "lets water off when pressure or temperature gets dangerous; never to be plugged",
    rate: 5.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "weeps", name: "weeps", cause: "thermal expansion in a closed system, age, scale on its seat", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("wet", 1.0)] }],
        intermittent: false,
        repair: Repair { what: "find out about the pressure first; replace the relief valve with the same rating", group: "replace", minutes: 35.0, price: 30.0 },
        upstream: "no expansion vessel, high inlet pressure", promotes: &[], proof: "dry through a whole heat-up",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "wet", cuts: &[0.5], words: &["dry", "drips"], blur: 0.04, title: "Look at the relief valve's discharge pipe", level: 1 }, minutes: 1.0, hazards: &[Hazard::Heat], tells: "dry" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("wet", 0.0, Spread::None);
    Ok(Role::Passive)
}
