//! Bus capacitor with its bleeder: smooths the rectified mains, and stays charged when everything else is off.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the bus capacitors (with the board, where they are one), polarity as marked", group: "replace", minutes: 60.0, price: 60.0 };
const BUS: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge];

/// Bus capacitor.
pub static CLASS: PartClass = PartClass {
    name: "bus capacitor",
    purpose: "holds the direct-current bus between the peaks of the mains",
    rate: 1.5,
    ageing: Ageing::WearOut,
    source: "judgement; part of the power stage's 8 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "+", meaning: "bus plus", optional: false },
        TerminalSpec { name: "-", meaning: "bus minus", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "microfarad", meaning: "capacitance of all together, µF", need: Need::Required, min: 10.0, max: 50_000.0 },
        RatingSpec { key: "bleeder_ohm", meaning: "bleeder across the bus, ohm", need: Need::Default(100_000.0), min: 1_000.0, max: 10e6 },
    ],
    modes: &[
        ModeSpec {
            key: "tired", name: "dried out", cause: "heat and age", share: 0.7,
            levels: &[
                Level { word: "a third left", share: 0.5, edits: &[scale("farads", 0.33), scale("series ohms", 4.0)] },
                Level { word: "a tenth left", share: 0.5, edits: &[scale("farads", 0.10), scale("series ohms", 15.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "heat: a heat sink full of dust, no air round the unit", promotes: &[], proof: "the bus stays steady at full speed",
        },
        ModeSpec {
            key: "shorted", name: "shorted", cause: "overvoltage, fitted the wrong way round, burst", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[set("leak", 20.0)] }],
            intermittent: false, repair: REPLACE, upstream: "surge; rectifier and fuse have carried the short", promotes: &[("bridge rectifier", "diode-shorted", 4.0)], proof: "the fuse holds and the bus stands",
        },
        ModeSpec {
            key: "bleeder-open", name: "bleeder open: the bus stays charged", cause: "heat, a cracked joint", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("bleeder ohms", 1e4)] }],
            intermittent: false, repair: Repair { what: "replace the bleeder resistor", group: "bleeder", minutes: 30.0, price: 5.0 }, upstream: "", promotes: &[], proof: "the bus falls below 10 V within the label's time",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::BusVolts, minutes: 3.0, hazards: BUS, tells: "1.41 times the mains at rest; 350 to 400 V with a power-factor stage running; nothing: no feed; sagging under load: capacitor, rectifier or inrush path" },
        TestSpec { what: TestWhat::Farads("+", "-"), minutes: 8.0, hazards: BUS, tells: "the marked microfarads within 20 %" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let [plus, minus] = [b.terminal("+")?, b.terminal("-")?];
    let farads = b.number("microfarad")? * 1e-6;
    let farads = b.param("farads", farads, b.spread("microfarad", 0.1));
    let series_ohms = b.param("series ohms", 0.06, Spread::Relative(0.3));
    let leak = b.param("leak", 0.0, Spread::None);
    let bleeder = b.number("bleeder_ohm")?;
    let bleeder = b.param("bleeder ohms", bleeder, b.spread("bleeder_ohm", 0.1));
    b.branch(Branch::Capacitor { a: plus, b: minus, farads, leak });
    Ok(Role::BusCapacitor { farads, series_ohms, leak, bleeder })
}
