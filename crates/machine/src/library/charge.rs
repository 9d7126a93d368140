//! The refrigerant charge as a state of the whole loop: too little, too much, air, a restriction.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, scale, set};
use crate::model::Spread;
use crate::test::Hazard;

const LEAK: Repair = Repair { what: "find the leak, recover, repair, new drier, evacuate, weigh in the charge", group: "recharge", minutes: 180.0, price: 120.0 };

const WEIGH_IN: Repair = Repair { what: "recover and weigh it, through a clamp-on valve where there is no port; new drier, evacuate until it holds, weigh in fresh refrigerant by the nameplate", group: "weigh-in", minutes: 110.0, price: 60.0 };

/// Refrigerant charge.
pub static CLASS: PartClass = PartClass {
    name: "refrigerant charge",
    purpose: "carries the heat",
    rate: 17.0,
    ageing: Ageing::WearOut,
    source: "judgement; charge 15 and drier 2 per 1000 unit-years",
    terminals: &[],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "low", name: "low from a leak", cause: "chafed or corroded joint, valve core", share: 0.70,
            levels: &[
                Level { word: "a quarter lost", share: 0.25, edits: &[scale("ratio", 0.75), set("oil stain", 1.0)] },
                Level { word: "two fifths lost", share: 0.35, edits: &[scale("ratio", 0.60), set("oil stain", 1.0)] },
                Level { word: "nearly empty", share: 0.40, edits: &[scale("ratio", 0.2), set("oil stain", 1.0)] },
            ],
            intermittent: false, repair: LEAK, upstream: "where it leaks, and why: chafing, corrosion, vibration", promotes: &[("compressor, permanent split capacitor", "worn", 2.0)], proof: "holds nitrogen, holds vacuum, then superheat and subcooling as expected",
        },
        ModeSpec {
            key: "over", name: "overcharged", cause: "topped up by guess", share: 0.10,
            levels: &[
                Level { word: "by a sixth", share: 0.5, edits: &[scale("ratio", 1.17)] },
                Level { word: "by a third", share: 0.5, edits: &[scale("ratio", 1.33)] },
            ],
            intermittent: false, repair: WEIGH_IN, upstream: "an earlier repair without a scale", promotes: &[], proof: "charge weighed in; subcooling as expected",
        },
        ModeSpec {
            key: "air", name: "air in the circuit", cause: "poor evacuation", share: 0.10,
            levels: &[
                Level { word: "some", share: 0.5, edits: &[set("air", 0.08)] },
                Level { word: "much", share: 0.5, edits: &[set("air", 0.20)] },
            ],
            intermittent: false, repair: WEIGH_IN, upstream: "an earlier repair without a vacuum gauge", promotes: &[], proof: "at rest, pressure agrees with the saturation pressure of the surroundings",
        },
        ModeSpec {
            key: "restricted", name: "drier or liquid line restricted", cause: "debris, acid, a kink", share: 0.10,
            levels: &[
                Level { word: "half closed", share: 0.5, edits: &[set("restriction", 0.5)] },
                Level { word: "nearly closed", share: 0.5, edits: &[set("restriction", 0.85)] },
            ],
            intermittent: false, repair: Repair { what: "recover, replace the drier, evacuate, weigh in the charge", group: "drier", minutes: 150.0, price: 60.0 }, upstream: "acid and debris", promotes: &[], proof: "less than 1 K across the drier",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "oil stain", cuts: &[0.5], words: &["no oil", "oily joint"], blur: 0.22, title: "Look along every joint and return bend for oil", level: 2 }, minutes: 5.0, hazards: &[Hazard::Pressure], tells: "oil marks a leak; many leaks leave none" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("oil stain", 0.0, Spread::None);
    Ok(Role::Charge {
        ratio: b.param("ratio", 1.0, Spread::Relative(0.02)),
        air: b.param("air", 0.0, Spread::None),
        restriction: b.param("restriction", 0.0, Spread::None),
    })
}
