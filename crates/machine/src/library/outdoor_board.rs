//! Board of an outdoor unit: runs compressor, valve and fan, and feeds the line between the units. Its ground is the bus.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, set};
use crate::model::Spread;

const REPLACE: Repair = Repair { what: "replace the outdoor board, the bus proved empty; set it up as the old one was set", group: "replace", minutes: 50.0, price: 260.0 };

/// Outdoor board.
pub static CLASS: PartClass = PartClass {
    name: "outdoor board",
    purpose: "runs compressor, expansion valve, reversing valve and fan as the indoor unit asks",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement; power stage and supply are classes of their own",
    terminals: &[],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "dead", name: "does not run its program", cause: "surge, water, insects", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[set("alive", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water or insects getting in, surges", promotes: &[], proof: "both units talk and the compressor runs",
        },
        ModeSpec {
            key: "port", name: "its end of the line dead", cause: "surge, mains on the signal terminal", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("port", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "cores on the wrong terminals, a surge", promotes: &[], proof: "the signal wobbles and the units talk",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::OutdoorBoard { alive: b.param("alive", 1.0, Spread::None), port: b.param("port", 1.0, Spread::None) })
}
