//! Coil of the outdoor unit of a split machine: either evaporates or condenses.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Coil of the outdoor unit.
pub static CLASS: PartClass = PartClass {
    name: "outdoor coil",
    purpose: "gives or takes heat outdoors: condenser when cooling, evaporator when heating",
    rate: 30.0,
    ageing: Ageing::WearOut,
    source: "judgement; leaks are counted with the charge",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "dirty", name: "matted with dirt", cause: "fluff, leaves, dust, a wall too close", share: 1.0,
        levels: &[
            Level { word: "lightly", share: 0.6, edits: &[set("fouling", 0.35)] },
            Level { word: "heavily", share: 0.4, edits: &[set("fouling", 0.65)] },
        ],
        intermittent: false,
        repair: Repair { what: "clean the coil from the clean side, straighten fins, keep water off the electronics", group: "clean", minutes: 45.0, price: 10.0 },
        upstream: "what blows at it: fluff, leaves, a dryer's exhaust", promotes: &[], proof: "liquid line and outdoor air within 10 K of each other when cooling",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "fouling", cuts: &[0.2, 0.5], words: &["clean", "dirty", "matted"], blur: 0.1, title: "Look through the outdoor coil's fins against the light", level: 1 }, minutes: 2.0, hazards: &[], tells: "the fins can be seen through" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Coil { outdoor: true, fouling: b.param("fouling", 0.05, Spread::Absolute(0.04)) })
}
