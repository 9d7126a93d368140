//! Door switch: stops the fan while the door is open.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat};
use crate::model::Drive;
use crate::test::Hazard;

/// Door switch.
pub static CLASS: PartClass = PartClass {
    name: "door switch",
    purpose: "stops the fan in the box while its door is open",
    rate: 4.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "feed", optional: false },
        TerminalSpec { name: "2", meaning: "to the fan, closed with the door shut", optional: false },
    ],
    ratings: &[],
    modes: &[ModeSpec {
        key: "open", name: "stays open with the door shut", cause: "ice, a bent plunger, corrosion", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
        intermittent: false,
        repair: Repair { what: "free or replace the door switch", group: "replace", minutes: 15.0, price: 12.0 },
        upstream: "a door that does not close", promotes: &[], proof: "the fan runs with the plunger pressed and stops when it is let go",
    }],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "closed with the plunger pressed" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("1", "2", Drive::Protective, 0.05)?;
    Ok(Role::Passive)
}
