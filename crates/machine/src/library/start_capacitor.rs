//! Start capacitor: extra starting torque for a second, through a start relay.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the start capacitor: same microfarads, volts at least; see why the relay let it burst", group: "replace", minutes: 15.0, price: 18.0 };
const CHARGED: &[Hazard] = &[Hazard::Shock, Hazard::StoredCharge];

/// Start capacitor.
pub static CLASS: PartClass = PartClass {
    name: "start capacitor",
    purpose: "gives extra starting torque, for seconds only",
    rate: 10.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "one side", optional: false },
        TerminalSpec { name: "2", meaning: "other side", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "microfarad", meaning: "marked capacitance, µF (−0/+20 %)", need: Need::Required, min: 10.0, max: 1000.0 },
        RatingSpec { key: "volts", meaning: "rated volts", need: Need::Default(330.0), min: 100.0, max: 500.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "open or dried out", cause: "a relay that stayed closed, short cycling", share: 0.8,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("farads", 0.01)] }],
            intermittent: false, repair: REPLACE, upstream: "the start relay", promotes: &[], proof: "starts at once against pressure",
        },
        ModeSpec {
            key: "burst", name: "burst", cause: "a relay that stayed closed", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("farads", 1e-4), set("bulge", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "the start relay", promotes: &[("potential relay", "welded", 4.0)], proof: "starts at once against pressure",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Farads("1", "2"), minutes: 4.0, hazards: CHARGED, tells: "the marked microfarads, up to a fifth more" },
        TestSpec { what: TestWhat::Look { param: "bulge", cuts: &[0.5], words: &["whole", "burst or blown vent"], blur: 0.05, title: "Look at the start capacitor's vent", level: 2 }, minutes: 1.0, hazards: CHARGED, tells: "the vent is whole" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    // Marked −0/+20 %: a tenth more on average, a twentieth either way.
    let farads = 1.1e-6 * b.number("microfarad")?;
    b.number("volts")?;
    let farads = b.param("farads", farads, b.spread("microfarad", 0.05));
    let leak = b.param("leak", 1e-9, Spread::None);
    b.param("bulge", 0.0, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Capacitor { a: one, b: two, farads, leak });
    Ok(Role::RunCapacitor)
}
