//! Hermetic compressor with a three-phase permanent-magnet motor on a power module.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, PmCompressor, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the compressor: recover, cut out, braze in under nitrogen, new drier, evacuate, weigh in the charge", group: "replace", minutes: 300.0, price: 520.0 };
const SHELL: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge, Hazard::Pressure];
const PAIR: &str = "three pairs equal within 5 %, mostly 0.3 to 3 ohm; unequal is shorted turns, OL an open winding";

/// Compressor, permanent magnet.
pub static CLASS: PartClass = PartClass {
    name: "compressor, permanent magnet",
    purpose: "pumps refrigerant vapour at the speed that the power module gives it",
    rate: 6.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "U", meaning: "phase U", optional: false },
        TerminalSpec { name: "V", meaning: "phase V", optional: false },
        TerminalSpec { name: "W", meaning: "phase W", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "pair_ohm", meaning: "resistance between two terminals at 25 °C, ohm", need: Need::Required, min: 0.02, max: 50.0 },
        RatingSpec { key: "emf_v_per_krpm", meaning: "back-EMF between two terminals, V RMS per 1000/min; 45 if left out (judgement)", need: Need::Default(45.0), min: 5.0, max: 500.0 },
        RatingSpec { key: "pole_pairs", meaning: "pairs of poles", need: Need::Default(2.0), min: 1.0, max: 12.0 },
        RatingSpec { key: "rated_rpm", meaning: "speed at its rated capacity, 1/min", need: Need::Default(3600.0), min: 600.0, max: 12_000.0 },
    ],
    modes: &[
        ModeSpec {
            key: "earthed", name: "winding earthed", cause: "insulation burnt through to the shell: moisture, acid", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.02)] }],
            intermittent: false, repair: REPLACE, upstream: "acid and moisture in the circuit", promotes: &[("power module", "switch-shorted", 6.0)], proof: "above 20 Mohm to the shell at 500 V, leads off the module",
        },
        ModeSpec {
            key: "seized", name: "seized", cause: "lost oil, flood-back, wear", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[set("free", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "oil loss, liquid coming back", promotes: &[("power module", "switch-shorted", 3.0)], proof: "starts at once and pulls even phase currents",
        },
        ModeSpec {
            key: "worn", name: "worn, valves leaking", cause: "wear, liquid slugs", share: 0.20,
            levels: &[
                Level { word: "a quarter of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.75)] },
                Level { word: "half of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "liquid coming back to the compressor", promotes: &[], proof: "evaporating and condensing temperatures, amps and capacity as expected",
        },
        ModeSpec {
            key: "shorted-turns", name: "shorted turns", cause: "overheating, acid", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("leg U ohms", 0.55)] }],
            intermittent: false, repair: REPLACE, upstream: "acid in the oil, overheating", promotes: &[("power module", "switch-shorted", 4.0)], proof: "three pairs equal within 5 %",
        },
        ModeSpec {
            key: "open", name: "a winding open", cause: "burnt through, a terminal burnt off", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("leg V ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "a loose connector at the pins", promotes: &[], proof: "three pairs equal within 5 %",
        },
        ModeSpec {
            key: "demagnetised", name: "magnets weakened", cause: "overheating, the current of a shorted module", share: 0.10,
            levels: &[
                Level { word: "a fifth lost", share: 0.5, edits: &[scale("magnets", 0.8)] },
                Level { word: "half lost", share: 0.5, edits: &[scale("magnets", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "what overheated it; the module", promotes: &[], proof: "phase amps as expected at equal ohms",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["V"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("U", "V"), minutes: 4.0, hazards: SHELL, tells: PAIR },
        TestSpec { what: TestWhat::Ohms("V", "W"), minutes: 1.0, hazards: SHELL, tells: PAIR },
        TestSpec { what: TestWhat::Ohms("U", "W"), minutes: 1.0, hazards: SHELL, tells: PAIR },
        TestSpec { what: TestWhat::Insulation("U"), minutes: 4.0, hazards: SHELL, tells: "above 20 Mohm, leads off the module; never under vacuum" },
        TestSpec { what: TestWhat::Behaviour, minutes: 2.0, hazards: &[Hazard::Moving], tells: "winds up and runs; twitches and stops; silent" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let leg = 0.5 * b.number("pair_ohm")?;
    let spread = b.spread("pair_ohm", 0.02);
    let legs = ["U", "V", "W"].map(|n| b.param(&format!("leg {n} ohms"), leg, spread));
    let ends = [b.terminal("U")?, b.terminal("V")?, b.terminal("W")?];
    b.branch(Branch::Star { ends, ohms: legs });
    b.earth_leak("U")?;
    let named = |b: &PartBuilder<'_>, name: &str| {
        b.params.iter().rposition(|x| x.part == b.this && x.name == name).map(crate::model::ParamIx)
    };
    let earth = named(b, "earth leak").ok_or_else(|| b.missing("the leak to earth is not declared", "report this as a fault of halfsplit"))?;
    Ok(Role::PmCompressor(PmCompressor {
        legs,
        magnets: b.param("magnets", 1.0, Spread::Relative(0.03)),
        free: b.param("free", 1.0, Spread::None),
        pumping: b.param("pumping", 1.0, Spread::Relative(0.03)),
        earth,
        pole_pairs: b.number("pole_pairs")?,
        rated_rpm: b.number("rated_rpm")?,
        emf: b.number("emf_v_per_krpm")?,
    }))
}
