//! Control board: reads the inputs, drives the outputs.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the board; set it up as the old one was set", group: "replace", minutes: 40.0, price: 220.0 };

/// Control board.
pub static CLASS: PartClass = PartClass {
    name: "control board",
    purpose: "reads sensors and switches, decides, drives relays and valve",
    rate: 5.0,
    ageing: Ageing::WearOut,
    source: "judgement; relays and power supply are classes of their own",
    terminals: &[],
    ratings: &[RatingSpec { key: "pull_up_ohm", meaning: "pull-up resistor of the thermistor inputs, ohm", need: Need::Default(10_000.0), min: 100.0, max: 1e6 }],
    modes: &[
        ModeSpec {
            key: "dead", name: "does not run its program", cause: "surge, water, insects", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("alive", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water or insects getting in, surges", promotes: &[], proof: "the display is lit and every output follows its command",
        },
        ModeSpec {
            key: "input", name: "analogue inputs read wrong", cause: "moisture, a surge on a sensor line", share: 0.25,
            levels: &[
                Level { word: "by a few kelvins", share: 0.5, edits: &[set("input error", 7.0)] },
                Level { word: "by fifteen kelvins or so", share: 0.5, edits: &[set("input error", 15.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "moisture on the sensor plugs", promotes: &[], proof: "10.0 kohm in place of a 10 kohm sensor shows 25 °C",
        },
        ModeSpec {
            key: "current-input", name: "current-sensing input dead", cause: "surge", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[set("current input", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "the compressor keeps running past the board's check",
        },
        ModeSpec {
            key: "relay-solder", name: "cracked solder under the relays", cause: "heat cycling", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("drivers", 0.0), set("solder", 1.0)] }],
            intermittent: true, repair: REPLACE, upstream: "", promotes: &[], proof: "every output follows its command, warm and cold",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        // Minutes and blur: judgement.
        TestSpec { what: TestWhat::Look { param: "solder", cuts: &[0.5], words: &["whole", "cracked round the pins"], blur: 0.15, title: "Look at the relays' solder joints with a lens, board out, power off", level: 3 }, minutes: 12.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "smooth cones; a ring round a pin is a crack" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let alive = b.param("alive", 1.0, Spread::None);
    let input_error = b.param("input error", 0.0, Spread::Absolute(0.2));
    let current_input = b.param("current input", 1.0, Spread::None);
    let drivers = b.param("drivers", 1.0, Spread::None);
    b.param("solder", 0.0, Spread::None);
    Ok(Role::Board { alive, input_error, pull_up: b.number("pull_up_ohm")?, current_input, drivers })
}
