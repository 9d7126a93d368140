//! Condenser that gives its heat to air.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Condenser, air-cooled.
pub static CLASS: PartClass = PartClass {
    name: "condenser, air-cooled",
    purpose: "gives the heat to the air",
    rate: 50.0,
    ageing: Ageing::WearOut,
    source: "judgement; leaks are counted with the charge",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "dirty", name: "matted with dust", cause: "dust, pet hair, grease; no room to breathe", share: 1.0,
        levels: &[
            Level { word: "lightly", share: 0.6, edits: &[set("fouling", 0.35)] },
            Level { word: "heavily", share: 0.4, edits: &[set("fouling", 0.65)] },
        ],
        intermittent: false,
        repair: Repair { what: "brush and blow out the condenser, give it air", group: "clean", minutes: 30.0, price: 0.0 },
        upstream: "what blocks its air", promotes: &[], proof: "condensing temperature 8 to 17 K above the air",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "fouling", cuts: &[0.2, 0.5], words: &["clean", "dusty", "matted"], blur: 0.1, title: "Look at the condenser with a light", level: 1 }, minutes: 2.0, hazards: &[], tells: "air passes freely" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Condenser { fouling: b.param("fouling", 0.05, Spread::Absolute(0.04)) })
}
