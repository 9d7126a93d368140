//! Defrost timer: turns from cooling to defrost and back by its clock.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, StateSpec, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread, When};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the defrost timer", group: "replace", minutes: 25.0, price: 30.0 };

/// Defrost timer.
pub static CLASS: PartClass = PartClass {
    name: "defrost timer",
    purpose: "stops the compressor some times a day and heats the cold coil",
    rate: 8.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "COM", meaning: "feed", optional: false },
        TerminalSpec { name: "RUN", meaning: "to compressor and fans", optional: false },
        TerminalSpec { name: "DEF", meaning: "to the defrost heater", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "stuck-cooling", name: "stuck in cooling", cause: "clock stopped", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("acts", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "turns by itself within its time; the coil is clear",
        },
        ModeSpec {
            key: "stuck-defrost", name: "stuck in defrost", cause: "clock stopped, contact burnt", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("run contact", -1.0), set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "turns back by itself within its time",
        },
    ],
    states: &[
        StateSpec {
            key: "defrosting", name: "at work: it defrosts now", cause: "its clock: two to four times a day for twenty to thirty minutes",
            edits: &[set("run contact", -1.0), set("contact", 1.0)], when: When::Always,
            // Three times 25 minutes are a twentieth of a day.
            odds: 0.05, source: "common practice, no source", minutes: 35.0,
            wait: "wait thirty-five minutes, then look again", over: "compressor and fan start again by themselves",
        },
    ],
    wrong_part: &[],
    loose: &["COM"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("COM", "RUN"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "closed in cooling" },
        TestSpec { what: TestWhat::Ohms("COM", "DEF"), minutes: 2.0, hazards: &[Hazard::Shock], tells: "OL in cooling, closed when turned to defrost" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("COM", "DEF", Drive::Relay, 0.02)?;
    b.named_contact("run contact", "COM", "RUN", Drive::Released, 0.02)?;
    Ok(Role::DefrostControl { acts: b.param("acts", 1.0, Spread::None), melting: b.param("melting", 0.0, Spread::None) })
}
