//! A fuse in the feed of the control supply.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Drive, Spread};

/// Fuse.
pub static CLASS: PartClass = PartClass {
    name: "fuse",
    purpose: "protects the board's supply",
    rate: 5.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "feed side", optional: false },
        TerminalSpec { name: "2", meaning: "load side", optional: false },
    ],
    ratings: &[RatingSpec { key: "rated_a", meaning: "rated current, A", need: Need::Required, min: 0.05, max: 100.0 }],
    modes: &[ModeSpec {
        key: "blown", name: "blown for no cause that is still there", cause: "surge, inrush, a short since cleared", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0)] }],
        intermittent: false,
        repair: Repair { what: "fit a fuse of the same type and rating", group: "replace", minutes: 10.0, price: 3.0 },
        upstream: "a shorted load or chafed wire behind the fuse: measure before fitting the new one", promotes: &[],
        proof: "rated volts behind the fuse, and it holds",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[], tells: "below 0.5 ohm; OL is blown" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let rated = b.number("rated_a")?;
    let amps = b.param("trip amps", rated * 1.6, Spread::Relative(0.15));
    let tripped = b.param("tripped", 0.0, Spread::None);
    b.contact("1", "2", Drive::Protective, 0.06)?;
    Ok(Role::OverCurrent { amps, carries: None, earth_amps: None, resettable: false, tripped, handle: None })
}
