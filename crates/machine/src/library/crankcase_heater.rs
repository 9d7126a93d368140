//! Heater round a compressor's shell: keeps refrigerant out of the oil while it stands.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken};
use crate::test::Hazard;

/// Crankcase heater.
pub static CLASS: PartClass = PartClass {
    name: "crankcase heater",
    purpose: "keeps refrigerant out of the compressor's oil while it stands in the cold",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one end", optional: false },
        TerminalSpec { name: "2", meaning: "other end", optional: false },
    ],
    ratings: &[RatingSpec { key: "watts", meaning: "rated power, W", need: Need::Required, min: 5.0, max: 500.0 }],
    modes: &[ModeSpec {
        key: "open", name: "open", cause: "a broken band, heat", share: 1.0,
        levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms")] }],
        intermittent: false,
        repair: Repair { what: "replace the crankcase heater, tight round the shell", group: "replace", minutes: 20.0, price: 40.0 },
        upstream: "", promotes: &[("compressor, permanent split capacitor", "seized", 2.0), ("compressor, permanent split capacitor", "worn", 2.0)], proof: "the shell is warm after an hour of standing",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "volts squared over watts; OL is open" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.heater("watts", "1", "2")?;
    Ok(Role::Heater)
}
