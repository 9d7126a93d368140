//! Bimetal on the cold coil: lets the defrost heater work while the coil is cold.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat};
use crate::model::Drive;
use crate::test::Hazard;

/// Defrost thermostat.
pub static CLASS: PartClass = PartClass {
    name: "defrost thermostat",
    purpose: "closes on a cold coil, opens when the ice has gone",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one side", optional: false },
        TerminalSpec { name: "2", meaning: "other side", optional: false },
    ],
    ratings: &[RatingSpec { key: "opens_c", meaning: "opens above, °C", need: Need::Default(12.0), min: -10.0, max: 40.0 }],
    modes: &[ModeSpec {
        key: "open", name: "does not close", cause: "corrosion, water in it", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
        intermittent: false,
        repair: Repair { what: "replace the defrost thermostat, clipped on the pipe where the old one was", group: "replace", minutes: 45.0, price: 18.0 },
        upstream: "", promotes: &[], proof: "closed on a frozen coil; the heater stops by itself",
    }],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "closed while the coil is frozen (or in ice water with salt); warm it is open, and that is right" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("opens_c")?;
    b.contact("1", "2", Drive::Protective, 0.05)?;
    Ok(Role::Passive)
}
