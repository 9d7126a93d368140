//! How the machine is built, where nobody knows: no part, but it stands among them. Its "modes" are the other ways of
//! building the machine. They are no failures: nothing puts them right, and they last for ever.
//!
//! It is no class that a sheet can name: `[[unsure]]` asks the question, and `model::how_built` makes the part of it.

use super::{Ageing, BuildError, PartBuilder, PartClass, Repair, Role};

/// What is to be done about a way of building a machine: nothing.
pub(crate) const NOTHING: Repair =
    Repair { what: "nothing to put right: the machine is built so", group: "as-built", minutes: 0.0, price: 0.0 };

/// Chance that somebody who looks how it is built takes one way for the next. Judgement.
pub(crate) const BLUR: f64 = 0.04;

/// How it is built.
pub static CLASS: PartClass = PartClass {
    name: "how it is built",
    purpose: "a question of how the machine is wired that nobody has answered yet",
    rate: 0.0,
    ageing: Ageing::Random,
    source: "the sheet's shares",
    terminals: &[],
    ratings: &[],
    modes: &[],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(_: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Passive)
}
