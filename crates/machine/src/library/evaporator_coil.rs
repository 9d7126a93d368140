//! Evaporator coil.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Evaporator coil.
pub static CLASS: PartClass = PartClass {
    name: "evaporator coil",
    purpose: "boils refrigerant and takes heat from the air",
    rate: 35.0,
    ageing: Ageing::WearOut,
    source: "judgement; leaks are counted with the charge",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "dirty", name: "matted with dirt", cause: "a filter left off or clogged", share: 1.0,
        levels: &[
            Level { word: "lightly", share: 0.6, edits: &[set("fouling", 0.35)] },
            Level { word: "heavily", share: 0.4, edits: &[set("fouling", 0.65)] },
        ],
        intermittent: false,
        repair: Repair { what: "clean the coil from the clean side, straighten fins", group: "clean", minutes: 45.0, price: 10.0 },
        upstream: "the filter", promotes: &[], proof: "air leaves the coil 5 to 9 K colder than it enters",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "fouling", cuts: &[0.2, 0.5], words: &["clean", "dirty", "matted"], blur: 0.1, title: "Look at the coil face behind the filter, with a light", level: 1 }, minutes: 2.0, hazards: &[], tells: "the fins can be seen through" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Evaporator { fouling: b.param("fouling", 0.05, Spread::Absolute(0.04)) })
}
