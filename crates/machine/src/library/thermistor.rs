//! Thermistor (NTC): tells the board a temperature by its resistance.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Spread};

const REPLACE: Repair = Repair { what: "replace the sensor: R25 and B must both match", group: "replace", minutes: 15.0, price: 18.0 };
const PLUG: Repair = Repair { what: "clean or replace the sensor's plug", group: "plug", minutes: 15.0, price: 5.0 };
const SEAT: Repair = Repair { what: "put the sensor back in its place, clip it and insulate it", group: "seat", minutes: 8.0, price: 2.0 };

/// Thermistor.
pub static CLASS: PartClass = PartClass {
    name: "thermistor",
    purpose: "tells the board a temperature",
    rate: 8.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "signal", optional: false },
        TerminalSpec { name: "2", meaning: "ground", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "senses", meaning: "where it sits", need: Need::Optional, min: 0.0, max: 0.0 },
        RatingSpec { key: "r25_ohm", meaning: "resistance at 25 °C, ohm (beta law)", need: Need::Optional, min: 10.0, max: 1e7 },
        RatingSpec { key: "beta_k", meaning: "B value, K (beta law)", need: Need::Optional, min: 500.0, max: 8000.0 },
        RatingSpec { key: "steinhart_hart", meaning: "A, B, C of the Steinhart–Hart law", need: Need::Optional, min: 0.0, max: 0.0 },
        RatingSpec { key: "table_c_ohm", meaning: "pairs of °C and ohm", need: Need::Optional, min: 0.0, max: 0.0 },
    ],
    modes: &[
        ModeSpec {
            key: "drift-low", name: "drifted, reads too cold", cause: "moisture, age", share: 0.20,
            levels: &[
                Level { word: "by a few kelvins", share: 0.6, edits: &[scale("factor", 1.3)] },
                Level { word: "by fifteen kelvins or so", share: 0.4, edits: &[scale("factor", 2.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "moisture", promotes: &[], proof: "agrees with a thermometer beside it",
        },
        ModeSpec {
            key: "drift-high", name: "drifted, reads too hot", cause: "moisture, age", share: 0.15,
            levels: &[
                Level { word: "by a few kelvins", share: 0.6, edits: &[scale("factor", 0.77)] },
                Level { word: "by fifteen kelvins or so", share: 0.4, edits: &[scale("factor", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "moisture", promotes: &[], proof: "agrees with a thermometer beside it",
        },
        ModeSpec {
            key: "open", name: "open", cause: "broken lead, water", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("factor", 1e6)] }],
            intermittent: false, repair: REPLACE, upstream: "a lead that chafes", promotes: &[], proof: "the display shows a believable temperature",
        },
        ModeSpec {
            key: "plug", name: "resistance in its plug", cause: "corrosion", share: 0.20,
            levels: &[
                Level { word: "of about two kilohms", share: 0.5, edits: &[set("plug ohms", 2000.0), set("plug looks", 1.0)] },
                Level { word: "of about five kilohms", share: 0.5, edits: &[set("plug ohms", 5000.0), set("plug looks", 1.0)] },
            ],
            intermittent: false, repair: PLUG, upstream: "moisture at the plug", promotes: &[], proof: "the sensor alone and through the plug read the same",
        },
        ModeSpec {
            key: "detached", name: "out of its place", cause: "clip lost, not put back", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[set("seated", 0.0)] }],
            intermittent: false, repair: SEAT, upstream: "", promotes: &[], proof: "agrees with a thermometer beside it, running",
        },
        ModeSpec {
            key: "short", name: "shorted", cause: "water, a pinched lead", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[set("leak", 0.2)] }],
            intermittent: false, repair: REPLACE, upstream: "water, a pinched lead", promotes: &[], proof: "the display shows a believable temperature",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[], tells: "the law's ohms at its temperature, ±3 %" },
        TestSpec { what: TestWhat::PlugOhms("1", "2"), minutes: 2.0, hazards: &[], tells: "the same as the sensor alone" },
        TestSpec {
            what: TestWhat::ShownLessThermometer,
            minutes: 3.0,
            hazards: &[],
            tells: "within 2 K",
        },
        TestSpec { what: TestWhat::ShownTemperature, minutes: 1.0, hazards: &[], tells: "at rest all sensors agree within 1 to 2 K with what surrounds them" },
        TestSpec { what: TestWhat::WarmedInHand, minutes: 3.0, hazards: &[], tells: "its own number moves: sensors that agree at rest may still have their plugs exchanged" },
        TestSpec { what: TestWhat::Look { param: "seated", cuts: &[0.5], words: &["out of its place", "seated and insulated"], blur: 0.05, title: "See whether the sensor sits where it belongs, clipped and insulated", level: 2 }, minutes: 1.5, hazards: &[], tells: "clipped and insulated" },
        TestSpec { what: TestWhat::Look { param: "plug looks", cuts: &[0.5], words: &["bright", "green or wet"], blur: 0.12, title: "Pull the sensor's plug, power off, and look at the pins", level: 2 }, minutes: 1.5, hazards: &[], tells: "bright pins" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let law = b.thermistor_law()?;
    let spot = b.spot("senses")?;
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Thermistor { a: one, b: two });
    b.param("plug looks", 0.0, Spread::None);
    Ok(Role::Thermistor(crate::model::Thermistor {
        law,
        spot: b.param("spot", spot.index() as f64, Spread::None),
        factor: b.param("factor", 1.0, Spread::Relative(0.012)),
        plug: b.param("plug ohms", 0.0, Spread::None),
        leak: b.param("leak", 1e-9, Spread::None),
        seated: b.param("seated", 1.0, Spread::None),
    }))
}
