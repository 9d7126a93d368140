//! Accumulator: keeps liquid out of the suction.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, scale, set};
use crate::model::Spread;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "recover, replace the accumulator under nitrogen, evacuate, weigh in the charge", group: "replace", minutes: 150.0, price: 110.0 };

/// Accumulator.
pub static CLASS: PartClass = PartClass {
    name: "accumulator",
    purpose: "keeps liquid out of the suction, lets the oil back",
    rate: 0.5,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "rusted", name: "rusted through", cause: "condensate on bare steel", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("tightness", 0.4), set("rust", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "insulation that holds water", promotes: &[], proof: "holds nitrogen; superheat and subcooling as expected",
        },
        ModeSpec {
            key: "oil-hole", name: "oil hole plugged", cause: "debris, wax", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[set("noisy", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "debris in the circuit", promotes: &[("compressor, permanent split capacitor", "worn", 4.0), ("compressor, permanent split capacitor", "seized", 4.0)], proof: "quiet; the compressor keeps its oil",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Look { param: "rust", cuts: &[0.5], words: &["sound", "rusted, oily"], blur: 0.1, title: "Look round the accumulator for rust and oil", level: 2 }, minutes: 3.0, hazards: &[Hazard::Pressure], tells: "no rust, no oil" },
        TestSpec { what: TestWhat::Look { param: "noisy", cuts: &[0.5], words: &["sounds as usual", "knocks or rattles"], blur: 0.2, title: "Listen at the compressor's shell", level: 1 }, minutes: 1.0, hazards: &[], tells: "an even hum" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("rust", 0.0, Spread::None);
    b.param("noisy", 0.0, Spread::None);
    Ok(Role::Vessel { tightness: b.param("tightness", 1.0, Spread::None) })
}
