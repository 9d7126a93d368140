//! One call of a thermostat or cold control: a contact that closes when it wants something.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the thermostat, and set it as the old one was", group: "replace", minutes: 25.0, price: 60.0 };

/// Thermostat contact.
pub static CLASS: PartClass = PartClass {
    name: "thermostat contact",
    purpose: "closes when the thermostat, cold control or humidistat calls",
    rate: 3.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "R", meaning: "feed", optional: false },
        TerminalSpec { name: "W", meaning: "the call's wire", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "open", name: "does not close", cause: "burnt or dirty contact, sensing element lost its charge", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "a shorted field wire", promotes: &[], proof: "the call's voltage is there when it calls",
        },
        ModeSpec {
            key: "welded", name: "does not open", cause: "welded contact, wires shorted behind it", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a shorted field wire", promotes: &[], proof: "the call ends when its temperature is reached",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["W"],
    tests: &[TestSpec { what: TestWhat::Ohms("R", "W"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "OL with nothing called for; near 0 is welded" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("R", "W", Drive::Relay, 0.05)?;
    Ok(Role::Relay { driver: b.param("driver", 1.0, Spread::None) })
}
