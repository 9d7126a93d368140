//! Run capacitor: shifts the phase of the start winding's current.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "fit a motor-run film capacitor of the same microfarads and at least the same volts", group: "replace", minutes: 10.0, price: 15.0 };

/// Run capacitor.
pub static CLASS: PartClass = PartClass {
    name: "run capacitor",
    purpose: "gives a single-phase motor starting torque and a steady field",
    rate: 20.0,
    ageing: Ageing::WearOut,
    source: "judgement; marking and tolerance per IEC 60252-1",
    terminals: &[
        TerminalSpec { name: "1", meaning: "line side", optional: false },
        TerminalSpec { name: "2", meaning: "start-winding side", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "microfarad", meaning: "capacitance, µF", need: Need::Required, min: 0.1, max: 300.0 },
        RatingSpec { key: "tolerance_percent", meaning: "marked tolerance, ± %", need: Need::Default(6.0), min: 0.5, max: 30.0 },
        RatingSpec { key: "volts", meaning: "rated volts AC", need: Need::Default(440.0), min: 100.0, max: 700.0 },
    ],
    modes: &[
        ModeSpec {
            key: "weak", name: "capacitance low", cause: "heat, age, overvoltage", share: 0.75,
            levels: &[
                Level { word: "two thirds left", share: 0.4, edits: &[scale("farads", 0.66)] },
                Level { word: "a third left", share: 0.35, edits: &[scale("farads", 0.34)] },
                Level { word: "a sixth left", share: 0.25, edits: &[scale("farads", 0.16)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "heat at its place, high supply voltage", promotes: &[("compressor, permanent split capacitor", "start-open", 3.0), ("compressor, permanent split capacitor", "overload-open", 3.0)], proof: "microfarads under load: 2653·I/V at 60 Hz, 3183·I/V at 50 Hz; and a restart",
        },
        ModeSpec {
            key: "open", name: "open", cause: "internal joint, burst", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("farads", 1e-4)] }],
            intermittent: false, repair: REPLACE, upstream: "heat at its place, high supply voltage", promotes: &[("compressor, permanent split capacitor", "start-open", 3.0), ("compressor, permanent split capacitor", "overload-open", 3.0)], proof: "microfarads under load; and a restart",
        },
        ModeSpec {
            key: "short", name: "shorted", cause: "dielectric broken through", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[set("leak", 2.0)] }],
            intermittent: false, repair: REPLACE, upstream: "overvoltage", promotes: &[("compressor, permanent split capacitor", "start-open", 5.0)], proof: "microfarads under load; and a restart",
        },
        ModeSpec {
            key: "to-can", name: "leaks to its can", cause: "moisture, swollen can", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 1e-3)] }],
            intermittent: false, repair: REPLACE, upstream: "moisture", promotes: &[], proof: "above 100 Mohm to the can",
        },
    ],
    states: &[],
    wrong_part: &[scale("farads", 0.6)],
    loose: &["2"],
    tests: &[
        TestSpec { what: TestWhat::Farads("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "the marked microfarads within tolerance" },
        TestSpec { what: TestWhat::Insulation("1"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "above 100 Mohm to the can" },
        TestSpec { what: TestWhat::Look { param: "bulge", cuts: &[0.5], words: &["flat", "swollen or leaking"], blur: 0.08, title: "Look at the capacitor: swollen or leaking?", level: 2 }, minutes: 1.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "a swollen can is bad; a flat one may be bad too" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let uf = b.number("microfarad")?;
    b.number("volts")?;
    let tolerance = b.number("tolerance_percent")? / 100.0;
    // The marked tolerance is a limit; half of it is taken as the standard deviation.
    let farads = b.param("farads", uf * 1e-6, b.spread("microfarad", tolerance / 2.0));
    let leak = b.param("leak", 1e-9, Spread::None);
    b.param("bulge", 0.0, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Capacitor { a: one, b: two, farads, leak });
    b.earth_leak("1")?;
    Ok(Role::RunCapacitor)
}
