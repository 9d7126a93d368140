//! Filter-drier: catches water, acid and dirt.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Filter-drier.
pub static CLASS: PartClass = PartClass {
    name: "filter-drier",
    purpose: "catches water, acid and dirt in the liquid line",
    rate: 2.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "restricted", name: "restricted", cause: "acid, debris", share: 1.0,
        levels: &[
            Level { word: "half closed", share: 0.5, edits: &[set("restriction", 0.5), set("cold spot", 0.6)] },
            Level { word: "nearly closed", share: 0.5, edits: &[set("restriction", 0.85), set("cold spot", 1.0)] },
        ],
        intermittent: false,
        repair: Repair { what: "recover, replace the drier, evacuate, weigh in the charge", group: "replace", minutes: 90.0, price: 45.0 },
        upstream: "acid and debris: test the oil", promotes: &[], proof: "less than 1 K across the drier",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "cold spot", cuts: &[0.5], words: &["alike on both sides", "colder behind it"], blur: 0.12, title: "Feel the liquid line before and behind the drier, running", level: 2 }, minutes: 2.0, hazards: &[], tells: "alike within 1 K; more than 2 K is restricted" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("cold spot", 0.0, Spread::None);
    Ok(Role::Restriction { share: b.param("restriction", 0.0, Spread::None) })
}
