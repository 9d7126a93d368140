//! Bridge rectifier: four diodes from the mains to the direct-current bus.

use super::{Ageing, BuildError, Level, ModeSpec, PartBuilder, PartClass, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the rectifier (with the board, where they are one), fresh heat paste", group: "replace", minutes: 45.0, price: 45.0 };
const BUS: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge];

/// Bridge rectifier.
pub static CLASS: PartClass = PartClass {
    name: "bridge rectifier",
    purpose: "makes the direct-current bus from the mains",
    rate: 1.5,
    ageing: Ageing::Random,
    source: "judgement; part of the power stage's 8 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "AC1", meaning: "mains, first side", optional: false },
        TerminalSpec { name: "AC2", meaning: "mains, second side", optional: false },
        TerminalSpec { name: "+", meaning: "bus plus", optional: false },
        TerminalSpec { name: "-", meaning: "bus minus", optional: false },
    ],
    ratings: &[],
    modes: &[
        ModeSpec {
            key: "diode-shorted", name: "a diode shorted", cause: "surge, inrush without its limiter, a shorted module behind it", share: 0.65,
            levels: &[Level { word: "", share: 1.0, edits: &[set("upper diode 1", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "module, bus capacitor and inrush limiter: measure them before power comes back", promotes: &[("power module", "leg-shorted", 3.0), ("bus capacitor", "shorted", 3.0)],
            proof: "four diodes alike at 0.3 to 0.7 V, the other way OL; the fuse holds; the bus at 1.41 times the mains",
        },
        ModeSpec {
            key: "diode-open", name: "a diode open", cause: "cracked joint, an overload that burnt through", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("lower diode 2", -1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "four diodes alike at 0.3 to 0.7 V; the bus holds under full load",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["AC1"],
    tests: &[
        TestSpec { what: TestWhat::Diode("AC1", "+"), minutes: 2.0, hazards: BUS, tells: "0.3 to 0.7 V, like the other three; 0.00 is shorted, OL open" },
        TestSpec { what: TestWhat::Diode("-", "AC2"), minutes: 1.0, hazards: BUS, tells: "0.3 to 0.7 V, like the other three; 0.00 is shorted, OL open" },
        TestSpec { what: TestWhat::Diode("+", "AC1"), minutes: 1.0, hazards: BUS, tells: "OL; 0.00 is shorted" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let [one, two, plus, minus] = [b.terminal("AC1")?, b.terminal("AC2")?, b.terminal("+")?, b.terminal("-")?];
    let mut diode = |name: &str, anode: usize, cathode: usize| {
        let state = b.param(name, 0.0, Spread::None);
        b.branch(Branch::Diode { anode, cathode, state });
        state
    };
    let diodes = [
        diode("upper diode 1", one, plus),
        diode("upper diode 2", two, plus),
        diode("lower diode 1", minus, one),
        diode("lower diode 2", minus, two),
    ];
    let draws = b.param("draws ohms", 1e9, Spread::None);
    b.branch(Branch::Draw { a: one, b: two, ohms: draws });
    Ok(Role::Rectifier { diodes, draws })
}
