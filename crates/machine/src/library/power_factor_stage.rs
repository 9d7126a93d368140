//! Power-factor stage: a reactor and a switch that lift the bus and draw a sine from the mains.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the power-factor stage (with the board, where they are one)", group: "replace", minutes: 50.0, price: 90.0 };
const BUS: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge];

/// Power-factor stage.
pub static CLASS: PartClass = PartClass {
    name: "power-factor stage",
    purpose: "lifts the bus above the peak of the mains and draws a sine",
    rate: 1.5,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "IN", meaning: "from the rectifier's plus", optional: false },
        TerminalSpec { name: "OUT", meaning: "to the bus's plus", optional: false },
        TerminalSpec { name: "N", meaning: "bus minus", optional: false },
    ],
    ratings: &[RatingSpec { key: "bus_v", meaning: "bus that it holds while the compressor runs, V", need: Need::Default(370.0), min: 100.0, max: 450.0 }],
    modes: &[
        ModeSpec {
            key: "dead", name: "does not lift the bus", cause: "its driver, a cracked joint, reactor open at a plug", share: 0.6,
            levels: &[Level { word: "", share: 1.0, edits: &[set("works", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "350 to 400 V on the bus with the compressor at speed",
        },
        ModeSpec {
            key: "shorted", name: "its switch shorted", cause: "surge, heat", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[set("switch", 1.0), set("shorted", 1.0), set("works", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "surge; the rectifier has carried the short", promotes: &[("bridge rectifier", "diode-shorted", 4.0)], proof: "the fuse holds; the diode test of its switch",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["IN"],
    tests: &[
        TestSpec { what: TestWhat::Diode("N", "IN"), minutes: 1.0, hazards: BUS, tells: "0.3 to 0.7 V; 0.00 is a shorted switch" },
        TestSpec { what: TestWhat::Diode("IN", "OUT"), minutes: 1.0, hazards: BUS, tells: "0.3 to 0.7 V" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let holds = b.number("bus_v")?;
    let [input, out, minus] = [b.terminal("IN")?, b.terminal("OUT")?, b.terminal("N")?];
    let switch = b.param("switch", 0.0, Spread::None);
    let diode = b.param("diode", 0.0, Spread::None);
    b.branch(Branch::Diode { anode: minus, cathode: input, state: switch });
    b.branch(Branch::Diode { anode: input, cathode: out, state: diode });
    Ok(Role::PowerFactorStage { works: b.param("works", 1.0, Spread::None), shorted: b.param("shorted", 0.0, Spread::None), holds })
}
