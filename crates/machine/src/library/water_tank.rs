//! The tank and what brings water in and out.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TestSpec, TestWhat, set};
use crate::model::Spread;
use crate::test::Hazard;

/// Water tank.
pub static CLASS: PartClass = PartClass {
    name: "water tank",
    purpose: "stores hot water",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[],
    ratings: &[
        RatingSpec { key: "litres", meaning: "water stored, L; from the nameplate if left out", need: Need::Optional, min: 1.0, max: 20_000.0 },
        RatingSpec { key: "loss_w_per_k", meaning: "standing loss, W/K", need: Need::Default(1.6), min: 0.05, max: 100.0 },
    ],
    modes: &[
        ModeSpec {
            key: "dip-tube", name: "dip tube broken", cause: "age", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[set("dip tube", 0.0)] }],
            intermittent: false,
            repair: Repair { what: "replace the dip tube", group: "dip-tube", minutes: 40.0, price: 20.0 },
            upstream: "", promotes: &[], proof: "a long draw stays hot",
        },
        ModeSpec {
            key: "leak", name: "tank leaks", cause: "spent anode, corrosion", share: 0.7,
            levels: &[Level { word: "", share: 1.0, edits: &[set("wet", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "replace the machine: a leaking tank is not repaired", group: "replace", minutes: 240.0, price: 1500.0 },
            upstream: "a spent anode, pressure too high", promotes: &[], proof: "dry after a day",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Look { param: "wet", cuts: &[0.5], words: &["dry", "water from the tank itself"], blur: 0.05, title: "Dry the floor and trace the water: condensate, valve or tank?", level: 0 }, minutes: 6.0, hazards: &[Hazard::Heat], tells: "condensate, relief valve and joints ruled out first" },
        TestSpec { what: TestWhat::LongDraw, minutes: 8.0, hazards: &[Hazard::Heat], tells: "a broken dip tube mixes cold in at the top" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let plate = b.nameplate().water_litres;
    let litres = b.optional("litres")?.or(plate).ok_or_else(|| b.error("litres", "neither the part nor the nameplate gives the tank's content", "add `water_litres` to the nameplate"))?;
    b.param("wet", 0.0, Spread::None);
    let loss = b.number("loss_w_per_k")?;
    Ok(Role::Tank {
        litres: b.param("litres", litres, Spread::Relative(0.02)),
        loss: b.param("loss", loss, Spread::Relative(0.1)),
        dip_tube: b.param("dip tube", 1.0, Spread::None),
    })
}
