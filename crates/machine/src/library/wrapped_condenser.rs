//! Condenser wrapped round or laid against a water tank.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, set};
use crate::model::Spread;

/// Wrapped condenser.
pub static CLASS: PartClass = PartClass {
    name: "condenser, wrapped tank",
    purpose: "gives the heat to the water through the tank wall",
    rate: 2.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[],
    modes: &[ModeSpec {
        key: "scaled", name: "scale or a lost bond between coil and tank", cause: "hard water, paste dried out", share: 1.0,
        levels: &[
            Level { word: "half of its conductance lost", share: 0.6, edits: &[set("fouling", 0.5)] },
            Level { word: "three quarters lost", share: 0.4, edits: &[set("fouling", 0.75)] },
        ],
        intermittent: false,
        repair: Repair { what: "descale the tank; where the bond is lost the tank must be replaced", group: "descale", minutes: 120.0, price: 30.0 },
        upstream: "hard water, setpoint too high", promotes: &[], proof: "condensing temperature 4 to 10 K above the water",
    }],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    Ok(Role::Condenser { fouling: b.param("fouling", 0.0, Spread::Absolute(0.04)) })
}
