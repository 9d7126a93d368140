//! Inrush limiter: a resistor that charges the bus gently, and the relay that bypasses it afterwards.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace inrush resistor and bypass relay (with the board, where they are one)", group: "replace", minutes: 45.0, price: 25.0 };
const BUS: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge];

/// Inrush limiter.
pub static CLASS: PartClass = PartClass {
    name: "inrush limiter",
    purpose: "charges the bus through a resistor, then bypasses it",
    rate: 1.0,
    ageing: Ageing::WearOut,
    source: "judgement; part of the power stage's 8 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "1", meaning: "mains side", optional: false },
        TerminalSpec { name: "2", meaning: "rectifier side", optional: false },
    ],
    ratings: &[RatingSpec { key: "ohm", meaning: "the resistor, cold, ohm", need: Need::Default(40.0), min: 1.0, max: 1_000.0 }],
    modes: &[
        ModeSpec {
            key: "open", name: "resistor open", cause: "a short behind it, many starts", share: 0.45,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "rectifier, bus capacitor and module: a short there burns the new one", promotes: &[("bridge rectifier", "diode-shorted", 4.0), ("power module", "leg-shorted", 4.0)], proof: "the bus comes up within two seconds, and the relay clicks",
        },
        ModeSpec {
            key: "no-bypass", name: "bypass relay does not close", cause: "burnt contact, its driver", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("bypasses", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "the bus holds when the compressor takes up load",
        },
        ModeSpec {
            key: "welded", name: "bypass relay welded", cause: "inrush of a hot restart", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[set("bypass welded", 1.0), scale("ohms", 1e-3)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[("bridge rectifier", "diode-shorted", 4.0)], proof: "the resistor's ohms with the power off; the breaker holds at switching on",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: BUS, tells: "the resistor's ohms, cold; OL is open, near 0 a welded relay" }],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let ohm = b.number("ohm")?;
    let resistor = b.param("ohms", ohm, b.spread("ohm", 0.2));
    let bypasses = b.param("bypasses", 1.0, Spread::None);
    b.param("bypass welded", 0.0, Spread::None);
    let path = b.param("path ohms", 0.02, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Resistor { a: one, b: two, ohms: resistor, reactance: None });
    b.branch(Branch::Draw { a: one, b: two, ohms: path });
    Ok(Role::Inrush { resistor, bypasses, path })
}
