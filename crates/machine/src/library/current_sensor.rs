//! Current sensor through which the board knows that the compressor runs.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, set};
use crate::model::Spread;

/// Current sensor.
pub static CLASS: PartClass = PartClass {
    name: "current sensor",
    purpose: "tells the board how much current a relay's load draws",
    rate: 2.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[],
    ratings: &[
        RatingSpec { key: "relay", meaning: "id of the relay whose load it watches", need: Need::Optional, min: 0.0, max: 0.0 },
    ],
    modes: &[ModeSpec {
        key: "dead", name: "gives no signal", cause: "surge, cracked core, broken lead", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("gain", 0.0)] }],
        intermittent: false,
        repair: Repair { what: "replace the current sensor (with the board, where it is soldered on)", group: "replace", minutes: 35.0, price: 90.0 },
        upstream: "", promotes: &[], proof: "the compressor keeps running past the board's check",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let relay = b.other_part("relay")?;
    let gain = b.param("gain", 1.0, Spread::Relative(0.03));
    Ok(Role::CurrentSensor { relay, gain })
}
