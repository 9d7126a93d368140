//! Pressure switch in a safety chain: opens when the high side is too high or the low side too low.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the pressure switch with the same setting (with the charge recovered unless it sits on a core)", group: "replace", minutes: 60.0, price: 45.0 };

/// Pressure switch.
pub static CLASS: PartClass = PartClass {
    name: "pressure switch",
    purpose: "opens the control circuit outside its pressure limit; never to be bridged",
    rate: 3.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "feed", optional: false },
        TerminalSpec { name: "2", meaning: "on", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "opens_above_kpa", meaning: "opens above this gauge pressure, kPa (a high-pressure switch)", need: Need::Optional, min: 100.0, max: 15_000.0 },
        RatingSpec { key: "opens_below_kpa", meaning: "opens below this gauge pressure, kPa (a low-pressure switch)", need: Need::Optional, min: -90.0, max: 3_000.0 },
        RatingSpec { key: "by_hand", meaning: "1 if it stays open until its button is pressed", need: Need::Default(0.0), min: 0.0, max: 1.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "open at normal pressure", cause: "burst bellows, corrosion", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "closed at normal pressure; trips at its setting by the gauge",
        },
        ModeSpec {
            key: "weak", name: "opens too early", cause: "age, pulsation", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("too early", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "trips at its setting by the gauge",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Pressure], tells: "below 0.5 ohm between its limits; OL is open. Never bridge it: the volts across it answer the question" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let limit = match (b.optional("opens_above_kpa")?, b.optional("opens_below_kpa")?) {
        (Some(kpa), None) => Ok((true, kpa)),
        (None, Some(kpa)) => Ok((false, kpa)),
        (None, None) => Err(b.missing("a pressure switch needs its limit", "add `opens_above_kpa` or `opens_below_kpa` (gauge)")),
        (Some(_), Some(_)) => Err(b.missing("one pressure switch opens above or below, not both", "leave one of `opens_above_kpa` and `opens_below_kpa` out; two switches in one body are two parts")),
    };
    let (high, kpa) = limit?;
    let opens = b.param("opens", kpa * 1e3 + 101_325.0, Spread::Relative(0.02));
    b.param("too early", 0.0, Spread::None);
    b.contact("1", "2", Drive::Protective, 0.05)?;
    let by_hand = b.number("by_hand")? > 0.5;
    Ok(Role::PressureSwitch { high, opens, by_hand })
}
