//! Capillary tube: a fixed restriction.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "recover, replace capillary and drier together, evacuate, weigh in the charge", group: "replace", minutes: 150.0, price: 30.0 };

/// Capillary tube.
pub static CLASS: PartClass = PartClass {
    name: "capillary tube",
    purpose: "meters liquid by its length and bore; lets the pressures equalise at rest",
    rate: 1.5,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "plugged", name: "plugged or kinked", cause: "wax, moisture, debris, a bend", share: 1.0,
        levels: &[
            Level { word: "half", share: 0.4, edits: &[set("passes", 0.5), set("short frost", 1.0)] },
            Level { word: "nearly", share: 0.6, edits: &[set("passes", 0.08), set("short frost", 1.0)] },
        ],
        intermittent: false, repair: REPLACE, upstream: "moisture, an earlier repair without a new drier", promotes: &[], proof: "frost along the whole coil; equalises in 3 to 10 minutes",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "short frost", cuts: &[0.5], words: &["frost along the coil", "frost on the first part only"], blur: 0.25, title: "Look how far the frost reaches along the cold coil", level: 2 }, minutes: 3.0, hazards: &[Hazard::Pressure], tells: "frost all along; low charge shows short frost too" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("short frost", 0.0, Spread::None);
    Ok(Role::Capillary { passes: b.param("passes", 1.0, Spread::Relative(0.03)) })
}
