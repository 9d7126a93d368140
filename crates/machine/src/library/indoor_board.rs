//! Board of an indoor unit: display, room and coil sensors, fan and louvres, and its end of the line between the units.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, set};
use crate::model::Spread;

const REPLACE: Repair = Repair { what: "replace the indoor board; set it up as the old one was set", group: "replace", minutes: 35.0, price: 150.0 };

/// Indoor board.
pub static CLASS: PartClass = PartClass {
    name: "indoor board",
    purpose: "shows, reads the room, asks the outdoor unit for capacity",
    rate: 4.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[RatingSpec { key: "pull_up_ohm", meaning: "pull-up resistor of the thermistor inputs, ohm", need: Need::Default(10_000.0), min: 100.0, max: 1e6 }],
    modes: &[
        ModeSpec {
            key: "dead", name: "does not run its program", cause: "surge, water, insects", share: 0.45,
            levels: &[Level { word: "", share: 1.0, edits: &[set("alive", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "water from the drain pan, surges", promotes: &[], proof: "the display is lit and every output follows its command",
        },
        ModeSpec {
            key: "port", name: "its end of the line dead", cause: "surge, mains on the signal terminal", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("port", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "cores on the wrong terminals, a surge", promotes: &[], proof: "the signal wobbles and the units talk",
        },
        ModeSpec {
            key: "input", name: "analogue inputs read wrong", cause: "moisture", share: 0.2,
            levels: &[
                Level { word: "by a few kelvins", share: 0.5, edits: &[set("input error", 7.0)] },
                Level { word: "by fifteen kelvins or so", share: 0.5, edits: &[set("input error", 15.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "moisture on the sensor plugs", promotes: &[], proof: "10.0 kohm in place of a 10 kohm sensor shows 25 °C",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("port", 1.0, Spread::None);
    Ok(Role::Board {
        alive: b.param("alive", 1.0, Spread::None),
        input_error: b.param("input error", 0.0, Spread::Absolute(0.2)),
        pull_up: b.number("pull_up_ohm")?,
        current_input: b.param("current input", 1.0, Spread::None),
        drivers: b.param("drivers", 1.0, Spread::None),
    })
}
