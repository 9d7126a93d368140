//! Air filter in front of the coil.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;

/// Air filter.
pub static CLASS: PartClass = PartClass {
    name: "air filter",
    purpose: "keeps dust off the coil",
    rate: 150.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "clogged", name: "clogged", cause: "neglect", share: 1.0,
        levels: &[
            Level { word: "a third of the air lost", share: 0.6, edits: &[set("blockage", 0.35)] },
            Level { word: "two thirds of the air lost", share: 0.4, edits: &[set("blockage", 0.66)] },
        ],
        intermittent: false,
        repair: Repair { what: "wash or replace the filter", group: "clean", minutes: 5.0, price: 10.0 },
        upstream: "", promotes: &[("evaporator coil", "dirty", 2.0)], proof: "air leaves the coil 5 to 9 K colder than it enters",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "blockage", cuts: &[0.2, 0.5], words: &["clean", "dusty", "matted"], blur: 0.08, title: "Pull the air filter and look through it", level: 0 }, minutes: 1.5, hazards: &[], tells: "light comes through a clean one" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Filter { blockage: b.param("blockage", 0.05, Spread::Absolute(0.04)) })
}
