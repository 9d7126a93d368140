//! Start thermistor: feeds the start winding for a second, then heats and blocks.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale};
use crate::model::Branch;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the start thermistor; meter the new one before fitting it", group: "replace", minutes: 20.0, price: 20.0 };

/// Start thermistor.
pub static CLASS: PartClass = PartClass {
    name: "start thermistor",
    purpose: "feeds the start winding for a second, then heats itself and blocks",
    rate: 12.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "run side", optional: false },
        TerminalSpec { name: "2", meaning: "start winding side", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "cold_ohm", meaning: "resistance cold, at 25 °C, ohm", need: Need::Required, min: 2.0, max: 100.0 },
        RatingSpec { key: "hot_ohm", meaning: "resistance hot, ohm", need: Need::Default(20_000.0), min: 1000.0, max: 200_000.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "cracked or open", cause: "short cycling, a fall before it was fitted", share: 0.70,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("cold ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "short cycling", promotes: &[], proof: "starts in under a second, warm and cold",
        },
        ModeSpec {
            key: "burnt", name: "burnt, far too many ohms", cause: "short cycling", share: 0.30,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("cold ohms", 30.0)] }],
            intermittent: false, repair: REPLACE, upstream: "short cycling", promotes: &[], proof: "starts in under a second, warm and cold",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["2"],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 5.0, hazards: &[Hazard::Shock], tells: "5 to 30 ohm cold; hot it is kilohms: let it cool five minutes. OL is cracked" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (cold, hot) = (b.number("cold_ohm")?, b.number("hot_ohm")?);
    let cold = b.param("cold ohms", cold, b.spread("cold_ohm", 0.1));
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::HeatsUp { a: one, b: two, cold, hot });
    Ok(Role::StartDevice { at_speed: false })
}
