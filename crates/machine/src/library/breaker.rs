//! The machine's breaker or disconnect with over-current trip.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};
use super::generic::OPEN_CONTACT;

/// Times the machine's own load that a sound breaker carries: it is held by its rating long before.
const CARRIES_ALL: f64 = 1000.0;

const REPLACE: Repair = Repair { what: "replace the breaker with the same type and rating", group: "replace", minutes: 25.0, price: 35.0 };

/// Breaker.
pub static CLASS: PartClass = PartClass {
    name: "breaker",
    purpose: "protects the branch circuit and isolates the machine",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "first pole, supply side", optional: false },
        TerminalSpec { name: "2", meaning: "first pole, load side", optional: false },
        TerminalSpec { name: "3", meaning: "second pole, supply side", optional: true },
        TerminalSpec { name: "4", meaning: "second pole, load side", optional: true },
    ],
    ratings: &[
        RatingSpec { key: "trips_a", meaning: "rated current, A", need: Need::Required, min: 1.0, max: 200.0 },
        RatingSpec {
            key: "load_a",
            meaning: "what the machine draws through it at most, A; if left out the rated-load current of the nameplate, else three tenths of its own rating",
            need: Need::Optional,
            min: 0.1,
            max: 200.0,
        },
        RatingSpec {
            key: "earth_leakage_ma",
            meaning: "trips above this current to earth, mA, where the breaker watches for one",
            need: Need::Optional,
            min: 1.0,
            max: 5000.0,
        },
    ],
    modes: &[
        ModeSpec {
            key: "tripped", name: "tripped for no cause that is still there", cause: "surge, a short since burnt clear, switched off by hand", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("tripped", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "look for the cause, then reset it once", group: "reset", minutes: 5.0, price: 0.0 },
            upstream: "what tripped it: never reset twice without finding out", promotes: &[], proof: "holds through a whole cycle and a restart",
        },
        ModeSpec {
            key: "open-pole", name: "a pole does not make", cause: "burnt contact, loose lug", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "overheated lugs, a wire too thin", promotes: &[], proof: "less than 0.1 V across each closed pole under load",
        },
        ModeSpec {
            key: "weak", name: "trips below the load it should carry", cause: "age, repeated trips, heat; other loads on a shared circuit", share: 0.25,
            levels: &[
                Level { word: "at seven tenths of what the machine draws", share: 0.5, edits: &[set("carries", 0.7)] },
                Level { word: "at four tenths of what the machine draws", share: 0.5, edits: &[set("carries", 0.4)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "holds with both loads at full current",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["2"],
    // The first look of the trade at a dead machine (common practice, no source). Minutes and blur are judgement: a handle that stands
    // between on and off is easily taken for on.
    tests: &[TestSpec {
        what: TestWhat::Look { param: "handle", cuts: &[0.5], words: &["on", "tripped or off"], blur: 0.04, title: "Go to its panel and look at the breaker's handle, before anybody touches it", level: 0 },
        minutes: 1.5, hazards: &[],
        tells: "one that has tripped stands between on and off, or at off: leave it so until the cause is known, and then reset it once",
    }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let trips = b.number("trips_a")?;
    let amps = b.param("trip amps", trips, Spread::Relative(0.08));
    let tripped = b.param("tripped", 0.0, Spread::None);
    // Where the handle stands follows from the latch at the visit; the physics fills it in.
    let handle = Some(b.param("handle", 0.0, Spread::None));
    // A weak breaker that still carries the machine is no fault of this machine, and nobody can find it there.
    let load = b.optional("load_a")?.or(b.nameplate().rated_load_a).unwrap_or(0.3 * trips).clamp(0.1, trips);
    let carries = Some((b.param("carries", CARRIES_ALL, Spread::None), load));
    b.contact("1", "2", Drive::Protective, 0.004)?;
    if b.wired("3") {
        b.contact("3", "4", Drive::Protective, 0.004)?;
    }
    let earth_amps = b.optional("earth_leakage_ma")?.map(|ma| ma / 1000.0);
    Ok(Role::OverCurrent { amps, carries, earth_amps, resettable: true, tripped, handle })
}
