//! Power module: six switches that make three phases from the bus, with the sensing of their current.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the module (with the board, where they are one), heat sink cleaned, fresh heat paste, screws to their torque", group: "replace", minutes: 60.0, price: 240.0 };
const BUS: &[Hazard] = &[Hazard::Shock, Hazard::BusCharge];
const SIX: &str = "0.3 to 0.7 V and like the other five; 0.00 is a shorted switch, OL an open one";

/// Power module.
pub static CLASS: PartClass = PartClass {
    name: "power module",
    purpose: "makes three phases of the speed wanted from the bus, and watches their current",
    rate: 5.0,
    ageing: Ageing::Random,
    source: "judgement; part of the power stage's 8 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "P", meaning: "bus plus", optional: false },
        TerminalSpec { name: "N", meaning: "bus minus", optional: false },
        TerminalSpec { name: "U", meaning: "phase U", optional: false },
        TerminalSpec { name: "V", meaning: "phase V", optional: false },
        TerminalSpec { name: "W", meaning: "phase W", optional: false },
    ],
    ratings: &[RatingSpec { key: "trips_a", meaning: "peak phase current at which it shuts itself off, A", need: Need::Default(25.0), min: 1.0, max: 500.0 }],
    modes: &[
        ModeSpec {
            key: "switch-shorted", name: "a switch shorted", cause: "earthed or seized compressor, surge, heat", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("lower diode V", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "the compressor's windings and their insulation, the heat sink, before a new module gets power", promotes: &[("compressor, permanent magnet", "earthed", 5.0)], proof: "six readings alike; runs half an hour at full speed",
        },
        ModeSpec {
            key: "leg-shorted", name: "a leg shorted through", cause: "a shorted switch that took its neighbour along", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("upper diode U", 1.0), set("lower diode U", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "the compressor's windings and their insulation, rectifier and fuse, before a new module gets power", promotes: &[("compressor, permanent magnet", "earthed", 5.0), ("bridge rectifier", "diode-shorted", 4.0)], proof: "six readings alike; the fuse holds; runs half an hour at full speed",
        },
        ModeSpec {
            key: "gate-dead", name: "a switch is not driven", cause: "gate supply, a cracked joint", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[set("drive W", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "three equal phase currents",
        },
        ModeSpec {
            key: "sensing", name: "current sensing wrong", cause: "a cracked shunt joint, its amplifier", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[set("sensing", 1.5)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "runs at full speed without an over-current message",
        },
        ModeSpec {
            key: "hot", name: "heat does not leave it", cause: "heat sink full of dust, dried paste, loose screws", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[set("cooling", 0.35)] }],
            intermittent: false, repair: Repair { what: "clean the heat sink, fresh heat paste, screws to their torque", group: "sink", minutes: 45.0, price: 8.0 }, upstream: "what blows dust at it", promotes: &[], proof: "heat sink below 80 °C after half an hour at full speed",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["U"],
    tests: &[
        TestSpec { what: TestWhat::Diode("N", "U"), minutes: 2.0, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::Diode("N", "V"), minutes: 0.5, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::Diode("N", "W"), minutes: 0.5, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::Diode("U", "P"), minutes: 0.5, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::Diode("V", "P"), minutes: 0.5, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::Diode("W", "P"), minutes: 0.5, hazards: BUS, tells: SIX },
        TestSpec { what: TestWhat::LeadAmps("U"), minutes: 3.0, hazards: BUS, tells: "as expected for its speed; much more at equal ohms is weakened magnets or a stiff compressor" },
        TestSpec { what: TestWhat::Look { param: "cooling", cuts: &[0.6], words: &["dusty or loose", "clean and tight"], blur: 0.15, title: "Look at the module's heat sink, its paste and screws", level: 2 }, minutes: 4.0, hazards: BUS, tells: "fins clean, screws tight" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let trips = b.number("trips_a")?;
    let (p, n) = (b.terminal("P")?, b.terminal("N")?);
    let phases = [("U", b.terminal("U")?), ("V", b.terminal("V")?), ("W", b.terminal("W")?)];
    let upper = phases.map(|(name, t)| (b.param(&format!("upper diode {name}"), 0.0, Spread::None), t, p));
    let lower = phases.map(|(name, t)| (b.param(&format!("lower diode {name}"), 0.0, Spread::None), n, t));
    for (state, anode, cathode) in upper.into_iter().chain(lower) {
        b.branch(Branch::Diode { anode, cathode, state });
    }
    let drive = phases.map(|(name, _)| b.param(&format!("drive {name}"), 1.0, Spread::None));
    Ok(Role::PowerModule {
        diodes: [upper[0].0, upper[1].0, upper[2].0, lower[0].0, lower[1].0, lower[2].0],
        driven: [drive[0], drive[1], drive[2], drive[0], drive[1], drive[2]],
        sensing: b.param("sensing", 0.0, Spread::None),
        cooling: b.param("cooling", 1.0, Spread::Relative(0.1)),
        trips,
    })
}
