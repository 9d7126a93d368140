//! Defrost control of a heat pump: turns the valve round, stops the outdoor fan, calls the strip heater.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, StateSpec, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread, When};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the defrost board; set its time as the old one was set", group: "replace", minutes: 40.0, price: 130.0 };

/// Defrost board.
pub static CLASS: PartClass = PartClass {
    name: "defrost board",
    purpose: "melts the ice off the outdoor coil: valve to cooling, fan off, strip heater on",
    rate: 8.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "FAN1", meaning: "outdoor fan relay, line side", optional: false },
        TerminalSpec { name: "FAN2", meaning: "outdoor fan relay, fan side", optional: false },
        TerminalSpec { name: "R", meaning: "24 V feed", optional: false },
        TerminalSpec { name: "O", meaning: "to the reversing valve", optional: false },
        TerminalSpec { name: "W", meaning: "to the strip heater's relay", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "fan-relay", name: "fan relay's contact burnt", cause: "inrush, moisture", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("fan contact", -1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a fan motor that draws too much", promotes: &[], proof: "the fan runs with the compressor, and stops in a defrost",
        },
        ModeSpec {
            key: "never", name: "never defrosts", cause: "its sensor or timer dead", share: 0.40,
            levels: &[Level { word: "", share: 1.0, edits: &[set("acts", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a coil sensor off its pipe", promotes: &[], proof: "a forced defrost ends by itself with the coil clear",
        },
        ModeSpec {
            key: "stuck", name: "stuck in defrost", cause: "relay welded, sensor lost", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("fan contact", -1.0), set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "a forced defrost ends by itself",
        },
    ],
    states: &[
        StateSpec {
            key: "defrosting", name: "at work: it defrosts now", cause: "ice on the outdoor coil, which it melts for some minutes of every half hour to hour and a half",
            edits: &[set("fan contact", -1.0), set("contact", 1.0), set("melting", 1.0)], when: When::IceGrows,
            // Five to ten minutes of every hour or so.
            odds: 0.1, source: "common practice, no source", minutes: 12.0,
            wait: "wait twelve minutes, then look again", over: "the fan runs again by itself and the coil is clear",
        },
    ],
    wrong_part: &[],
    loose: &["FAN2"],
    tests: &[TestSpec { what: TestWhat::Ohms("FAN1", "FAN2"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "closed at rest; OL holds the fan" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("R", "O", Drive::Relay, 0.05)?;
    b.contact("R", "W", Drive::Relay, 0.05)?;
    b.named_contact("fan contact", "FAN1", "FAN2", Drive::Released, 0.02)?;
    Ok(Role::DefrostControl { acts: b.param("acts", 1.0, Spread::None), melting: b.param("melting", 0.0, Spread::None) })
}
