//! Condensate drain with its float switch.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};

/// Condensate drain.
pub static CLASS: PartClass = PartClass {
    name: "condensate drain",
    purpose: "carries condensate away; its float stops the machine when the pan fills",
    rate: 30.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "float switch", optional: true },
        TerminalSpec { name: "2", meaning: "float switch, ground side", optional: true },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "clogged", name: "clogged", cause: "slime, dust, insects", share: 0.8,
            levels: &[Level { word: "", share: 1.0, edits: &[set("blocked", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "clear the drain, flush it and pour a litre through", group: "clean", minutes: 20.0, price: 0.0 },
            upstream: "a filter left off, a trap without fall", promotes: &[], proof: "a litre poured in runs off, and the switch is closed",
        },
        ModeSpec {
            key: "float-stuck", name: "float stuck up", cause: "slime", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("float stuck", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "free or replace the float switch", group: "float", minutes: 15.0, price: 20.0 },
            upstream: "", promotes: &[], proof: "closed when down, open when lifted",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Look { param: "blocked", cuts: &[0.5], words: &["dry or running off", "standing water"], blur: 0.04, title: "Look into the condensate pan", level: 1 }, minutes: 2.0, hazards: &[], tells: "standing water is a blocked drain" },
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[], tells: "closed with the float down" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let blocked = b.param("blocked", 0.0, Spread::None);
    let float_stuck = b.param("float stuck", 0.0, Spread::None);
    let has_float = b.wired("1") && b.wired("2");
    if has_float {
        b.contact("1", "2", Drive::Float, 0.1)?;
    }
    Ok(Role::Drain { blocked, float_stuck, has_float })
}
