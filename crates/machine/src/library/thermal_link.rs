//! One-shot thermal link in a heater's lead.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat};
use crate::model::Drive;
use crate::test::Hazard;

/// Thermal link.
pub static CLASS: PartClass = PartClass {
    name: "thermal link",
    purpose: "opens once and for all when a heater has overheated its surroundings",
    rate: 3.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one side", optional: false },
        TerminalSpec { name: "2", meaning: "other side", optional: false },
    ],
    ratings: &[RatingSpec { key: "opens_c", meaning: "opens at, °C", need: Need::Default(72.0), min: 40.0, max: 300.0 }],
    modes: &[ModeSpec {
        key: "open", name: "has opened", cause: "a heater that did not stop, age", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
        intermittent: false,
        repair: Repair { what: "find why the heater did not stop, then fit a link of the same temperature", group: "replace", minutes: 40.0, price: 8.0 },
        upstream: "a defrost thermostat or timer that does not stop the heater", promotes: &[], proof: "closed; the heater stops by itself",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "below 0.5 ohm; OL has opened. Never bridge it" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("opens_c")?;
    b.contact("1", "2", Drive::Protective, 0.02)?;
    Ok(Role::Passive)
}
