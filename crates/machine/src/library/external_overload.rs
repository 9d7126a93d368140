//! Overload clipped on the compressor's shell, in its common lead.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the overload with the same type, its disc flat on the shell", group: "replace", minutes: 20.0, price: 15.0 };

/// External overload.
pub static CLASS: PartClass = PartClass {
    name: "overload, external",
    purpose: "opens the compressor's lead when its current or its shell has been too hot for too long",
    rate: 5.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "feed side", optional: false },
        TerminalSpec { name: "3", meaning: "compressor side", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "open", name: "stuck open", cause: "many trips", share: 0.7,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "what made it trip so often: the starter first", promotes: &[], proof: "closed when cold, below 0.2 ohm",
        },
        ModeSpec {
            key: "weak", name: "trips too early", cause: "many trips", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("trip", 0.2)] }],
            intermittent: false, repair: REPLACE, upstream: "what made it trip so often", promotes: &[], proof: "carries rated current for an hour",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "3"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "below 0.2 ohm; OL cold is failed, OL hot is doing its work" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("1", "3", Drive::Overload, 0.05)?;
    Ok(Role::ExternalOverload { trip: b.param("trip", 1.0, Spread::Relative(0.05)) })
}
