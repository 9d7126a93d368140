//! Delay timer: keeps the compressor off for its minimum time after a stop.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, StateSpec, TerminalSpec, set};
use crate::model::{Drive, Spread, When};

const REPLACE: Repair = Repair { what: "replace the delay timer", group: "replace", minutes: 20.0, price: 30.0 };

/// Delay timer.
pub static CLASS: PartClass = PartClass {
    name: "delay timer",
    purpose: "keeps the compressor off for some minutes after every stop, so that the pressures can equalise",
    rate: 3.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "feed", optional: false },
        TerminalSpec { name: "2", meaning: "to what it delays", optional: false },
    ],
    ratings: &[RatingSpec { key: "delay_s", meaning: "delay, s", need: Need::Default(300.0), min: 5.0, max: 1200.0 }],
    modes: &[
        ModeSpec {
            key: "open", name: "never lets through", cause: "surge, moisture", share: 0.7,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "lets through after its delay, no sooner",
        },
        ModeSpec {
            key: "no-delay", name: "lets through at once", cause: "failed closed", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[("contactor", "pitted", 2.0)], proof: "lets through after its delay, no sooner",
        },
    ],
    states: &[
        StateSpec {
            key: "waiting", name: "its minimum off time still runs", cause: "a stop, a change at the thermostat or a break in the supply some minutes ago",
            edits: OPEN_CONTACT, when: When::Always,
            // Who follows the command's words has waited for it. One in twenty has not, or the supply has blinked since.
            odds: 0.05, source: "judgement", minutes: 6.0,
            wait: "wait six minutes without touching thermostat or supply, then look again", over: "it lets through by itself",
        },
    ],
    wrong_part: &[],
    loose: &["1"],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("delay_s")?;
    b.contact("1", "2", Drive::Relay, 0.2)?;
    Ok(Role::Relay { driver: b.param("driver", 1.0, Spread::None) })
}
