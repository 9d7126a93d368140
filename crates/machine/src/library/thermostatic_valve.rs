//! Thermostatic expansion valve: its bulb feels the suction line.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TestSpec, TestWhat, scale, set};
use crate::model::Spread;

const BODY: Repair = Repair { what: "recover, replace the valve and the drier under nitrogen, evacuate, weigh in", group: "body", minutes: 150.0, price: 150.0 };

/// Thermostatic expansion valve.
pub static CLASS: PartClass = PartClass {
    name: "thermostatic expansion valve",
    purpose: "meters liquid so that the superheat at its bulb holds",
    rate: 4.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "bulb-charge-lost", name: "bulb has lost its charge", cause: "a chafed capillary", share: 0.40,
            levels: &[Level { word: "", share: 1.0, edits: &[set("stuck at", 0.12)] }],
            intermittent: false, repair: BODY, upstream: "vibration, chafing", promotes: &[], proof: "superheat settles; it falls when the bulb is warmed",
        },
        ModeSpec {
            key: "stuck", name: "stuck", cause: "oxide, moisture, debris", share: 0.35,
            levels: &[
                Level { word: "nearly shut", share: 0.3, edits: &[set("stuck at", 0.25)] },
                Level { word: "two fifths open", share: 0.2, edits: &[set("stuck at", 0.4)] },
                Level { word: "two thirds open", share: 0.2, edits: &[set("stuck at", 0.67)] },
                Level { word: "wide open", share: 0.3, edits: &[set("stuck at", 1.0)] },
            ],
            intermittent: false, repair: BODY, upstream: "oxide and moisture from an earlier repair", promotes: &[], proof: "superheat settles; it follows the bulb",
        },
        ModeSpec {
            key: "bulb-loose", name: "bulb loose on the suction line", cause: "strap or insulation left off", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("bulb seated", 0.0), set("stuck at", 0.97)] }],
            intermittent: false,
            repair: Repair { what: "strap the bulb to clean pipe at its place, and insulate it", group: "bulb", minutes: 20.0, price: 5.0 },
            upstream: "", promotes: &[], proof: "superheat settles",
        },
    ],
    states: &[],
    wrong_part: &[scale("reach", 0.6)],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Look { param: "bulb seated", cuts: &[0.5], words: &["loose or bare", "tight and insulated"], blur: 0.06, title: "Feel whether the valve's bulb sits tight on the suction line, insulated", level: 2 }, minutes: 2.0, hazards: &[], tells: "tight, on clean pipe, insulated" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::ThermostaticValve {
        stuck_at: b.param("stuck at", -1.0, Spread::None),
        reach: b.param("reach", 1.0, Spread::Relative(0.03)),
        bulb_seated: b.param("bulb seated", 1.0, Spread::None),
    })
}
