//! A plug, splice or terminal block in a conductor: wiring that can go bad by itself.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REMAKE: Repair = Repair { what: "cut back to bright copper and fit a new connector", group: "replace", minutes: 20.0, price: 8.0 };

/// Plug connector.
pub static CLASS: PartClass = PartClass {
    name: "plug connector",
    purpose: "joins two lengths of a conductor",
    rate: 5.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one side", optional: false },
        TerminalSpec { name: "2", meaning: "other side", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "burnt", name: "burnt open", cause: "loose crimp, too much current", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("looks", 1.0)] }],
            intermittent: false, repair: REMAKE, upstream: "what overloaded or loosened it", promotes: &[], proof: "less than 1 % of the voltage lost across it under load",
        },
        ModeSpec {
            key: "corroded", name: "corroded, resistive", cause: "moisture", share: 0.3,
            levels: &[
                Level { word: "of about ten ohms", share: 0.5, edits: &[set("contact ohms", 10.0), set("looks", 1.0)] },
                Level { word: "of about forty ohms", share: 0.5, edits: &[set("contact ohms", 40.0), set("looks", 1.0)] },
            ],
            intermittent: false, repair: REMAKE, upstream: "where the water comes from", promotes: &[], proof: "less than 1 % of the voltage lost across it under load",
        },
        ModeSpec {
            key: "loose", name: "makes and breaks", cause: "vibration", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("play", 1.0)] }],
            intermittent: true, repair: REMAKE, upstream: "", promotes: &[], proof: "steady through a wiggle test under load",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "below 0.5 ohm" },
        TestSpec { what: TestWhat::Look { param: "looks", cuts: &[0.5], words: &["clean", "burnt or green"], blur: 0.12, title: "Look at the plug: discoloured, green, brittle?", level: 2 }, minutes: 1.0, hazards: &[Hazard::Shock], tells: "discolouring and green are heat and water" },
        // A pin that burnt open may sit as firm as ever. Blur: judgement.
        TestSpec { what: TestWhat::Look { param: "play", cuts: &[0.5], words: &["firm", "loose"], blur: 0.05, title: "Tug each lead at the plug, power off", level: 3 }, minutes: 1.5, hazards: &[Hazard::Shock], tells: "no lead moves in its crimp, no pin backs out" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.param("looks", 0.0, Spread::None);
    b.param("play", 0.0, Spread::None);
    b.contact("1", "2", Drive::Protective, 0.01)?;
    Ok(Role::Passive)
}
