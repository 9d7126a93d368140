//! Coil of the indoor unit of a split machine: either evaporates or condenses.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Coil of the indoor unit.
pub static CLASS: PartClass = PartClass {
    name: "indoor coil",
    purpose: "gives or takes the room's heat: evaporator when cooling, condenser when heating",
    rate: 25.0,
    ageing: Ageing::WearOut,
    source: "judgement; leaks are counted with the charge",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "dirty", name: "matted with dirt", cause: "a filter left out or clogged, cooking fat", share: 1.0,
        levels: &[
            Level { word: "lightly", share: 0.6, edits: &[set("fouling", 0.35)] },
            Level { word: "heavily", share: 0.4, edits: &[set("fouling", 0.65)] },
        ],
        intermittent: false,
        repair: Repair { what: "clean the coil from the clean side, straighten fins, keep water off the electronics", group: "clean", minutes: 45.0, price: 10.0 },
        upstream: "the filter", promotes: &[], proof: "the air leaves 8 to 14 K colder (cooling) or 15 to 25 K warmer (heating) than it enters",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "fouling", cuts: &[0.2, 0.5], words: &["clean", "dirty", "matted"], blur: 0.1, title: "Look at the indoor coil's face behind the filter, with a light", level: 1 }, minutes: 2.0, hazards: &[], tells: "the fins can be seen through" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Coil { outdoor: false, fouling: b.param("fouling", 0.05, Spread::Absolute(0.04)) })
}
