//! Dual run capacitor: one can, one common terminal, a section for the compressor and one for the fan.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the dual capacitor: same microfarads in both sections, volts at least; or one capacitor for each", group: "replace", minutes: 15.0, price: 25.0 };
const CHARGED: &[Hazard] = &[Hazard::Shock, Hazard::StoredCharge];
const HEAT: &str = "heat at its place, high supply voltage";

/// Dual run capacitor.
pub static CLASS: PartClass = PartClass {
    name: "dual run capacitor",
    purpose: "shifts the phase of two start windings, compressor and fan",
    rate: 25.0,
    ageing: Ageing::WearOut,
    source: "judgement; a run capacitor's 20, and its second section",
    terminals: &[
        TerminalSpec { name: "C", meaning: "common", optional: false },
        TerminalSpec { name: "HERM", meaning: "compressor section", optional: false },
        TerminalSpec { name: "FAN", meaning: "fan section", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "herm_uf", meaning: "compressor section, µF", need: Need::Required, min: 1.0, max: 200.0 },
        RatingSpec { key: "fan_uf", meaning: "fan section, µF", need: Need::Required, min: 0.5, max: 50.0 },
        RatingSpec { key: "tolerance_percent", meaning: "marked tolerance, % either way", need: Need::Default(6.0), min: 0.5, max: 30.0 },
        RatingSpec { key: "volts", meaning: "rated volts", need: Need::Default(440.0), min: 100.0, max: 700.0 },
    ],
    modes: &[
        ModeSpec {
            key: "herm-weak", name: "compressor section low", cause: "heat, age", share: 0.42,
            levels: &[
                Level { word: "two thirds left", share: 0.4, edits: &[scale("herm farads", 0.66)] },
                Level { word: "a quarter left", share: 0.6, edits: &[scale("herm farads", 0.25)] },
            ],
            intermittent: false, repair: REPLACE, upstream: HEAT, promotes: &[("compressor, permanent split capacitor", "start-open", 3.0)], proof: "microfarads under load: 2653·I/V at 60 Hz, 3183·I/V at 50 Hz; and a restart",
        },
        ModeSpec {
            key: "herm-open", name: "compressor section open", cause: "internal joint, burst", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("herm farads", 1e-4), set("bulge", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: HEAT, promotes: &[("compressor, permanent split capacitor", "start-open", 3.0)], proof: "microfarads under load; and a restart",
        },
        ModeSpec {
            key: "fan-weak", name: "fan section low", cause: "heat, age", share: 0.28,
            levels: &[
                Level { word: "half left", share: 0.5, edits: &[scale("fan farads", 0.5)] },
                Level { word: "a tenth left", share: 0.5, edits: &[scale("fan farads", 0.1)] },
            ],
            intermittent: false, repair: REPLACE, upstream: HEAT, promotes: &[], proof: "the fan starts by itself and draws its rated current",
        },
        ModeSpec {
            key: "fan-open", name: "fan section open", cause: "internal joint", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("fan farads", 1e-4)] }],
            intermittent: false, repair: REPLACE, upstream: HEAT, promotes: &[], proof: "the fan starts by itself and draws its rated current",
        },
        ModeSpec {
            key: "to-can", name: "leaks to its can", cause: "moisture, swollen can", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 1e-3)] }],
            intermittent: false, repair: REPLACE, upstream: "moisture", promotes: &[], proof: "above 100 Mohm to the can",
        },
    ],
    states: &[],
    wrong_part: &[scale("herm farads", 0.6)],
    loose: &["HERM", "FAN"],
    tests: &[
        TestSpec { what: TestWhat::Farads("C", "HERM"), minutes: 4.0, hazards: CHARGED, tells: "the marked microfarads within tolerance" },
        TestSpec { what: TestWhat::Farads("C", "FAN"), minutes: 2.0, hazards: CHARGED, tells: "the marked microfarads within tolerance" },
        TestSpec { what: TestWhat::Insulation("C"), minutes: 3.0, hazards: CHARGED, tells: "above 100 Mohm to the can" },
        TestSpec { what: TestWhat::Look { param: "bulge", cuts: &[0.5], words: &["flat", "swollen or leaking"], blur: 0.1, title: "Look at the capacitor: swollen or leaking?", level: 2 }, minutes: 1.0, hazards: CHARGED, tells: "a swollen can is bad; a flat one may be bad too" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (herm, fan) = (b.number("herm_uf")?, b.number("fan_uf")?);
    b.number("volts")?;
    // The marked tolerance is a limit; half of it is taken as the standard deviation.
    let tolerance = b.number("tolerance_percent")? / 200.0;
    let (c, h, f) = (b.terminal("C")?, b.terminal("HERM")?, b.terminal("FAN")?);
    for (end, name, uf, key) in [(h, "herm", herm, "herm_uf"), (f, "fan", fan, "fan_uf")] {
        let farads = b.param(&format!("{name} farads"), uf * 1e-6, b.spread(key, tolerance));
        let leak = b.param(&format!("{name} leak"), 1e-9, Spread::None);
        b.branch(Branch::Capacitor { a: c, b: end, farads, leak });
    }
    b.param("bulge", 0.0, Spread::None);
    b.earth_leak("C")?;
    Ok(Role::RunCapacitor)
}
