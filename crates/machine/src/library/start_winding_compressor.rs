//! Small hermetic compressor whose start winding works for the start only, overload outside its shell.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the compressor: recover, cut out, braze or press in under nitrogen, new drier, evacuate, weigh in the charge", group: "replace", minutes: 180.0, price: 260.0 };
const LIVE_SHELL: &[Hazard] = &[Hazard::Shock, Hazard::Pressure];

/// Compressor, start winding only.
pub static CLASS: PartClass = PartClass {
    name: "compressor, start winding only",
    purpose: "pumps refrigerant vapour; a start device feeds its start winding for the start",
    rate: 8.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "C", meaning: "common", optional: false },
        TerminalSpec { name: "R", meaning: "run winding", optional: false },
        TerminalSpec { name: "S", meaning: "start winding", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "run_ohm", meaning: "run winding C–R at 25 °C, ohm", need: Need::Required, min: 0.05, max: 200.0 },
        RatingSpec { key: "start_ohm", meaning: "start winding C–S at 25 °C, ohm", need: Need::Required, min: 0.05, max: 500.0 },
        RatingSpec { key: "rated_load_a", meaning: "rated-load current, A; from the nameplate if left out", need: Need::Optional, min: 0.1, max: 200.0 },
        RatingSpec { key: "locked_rotor_a", meaning: "locked-rotor current of the run winding, A; from the nameplate if left out", need: Need::Optional, min: 0.5, max: 1000.0 },
        RatingSpec { key: "poles", meaning: "number of poles", need: Need::Default(2.0), min: 2.0, max: 8.0 },
    ],
    modes: &[
        ModeSpec {
            key: "run-open", name: "run winding open", cause: "burnt through", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("run ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "a stuck overload, low charge", promotes: &[], proof: "starts and draws its current; C–R plus C–S equals R–S",
        },
        ModeSpec {
            key: "start-open", name: "start winding open", cause: "burnt through after starts with a bad starter", share: 0.10,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("start ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "the starter", promotes: &[], proof: "starts and draws its current; C–R plus C–S equals R–S",
        },
        ModeSpec {
            key: "shorted-turns", name: "shorted turns", cause: "overheating, acid", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("run ohms", 0.6), scale("run turns", 0.6)] }],
            intermittent: false, repair: REPLACE, upstream: "acid, overheating", promotes: &[], proof: "C–R plus C–S equals R–S within 5 %",
        },
        ModeSpec {
            key: "earthed", name: "winding earthed", cause: "insulation burnt through to the shell", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.05)] }],
            intermittent: false, repair: REPLACE, upstream: "acid and moisture in the circuit", promotes: &[], proof: "above 20 Mohm to the shell at 500 V",
        },
        ModeSpec {
            key: "seized", name: "seized", cause: "lost oil, wear", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[set("free", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "oil loss, liquid coming back", promotes: &[], proof: "starts with a good starter",
        },
        ModeSpec {
            key: "worn", name: "worn, valves leaking", cause: "wear", share: 0.20,
            levels: &[
                Level { word: "a quarter of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.75)] },
                Level { word: "half of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "liquid coming back, a dirty condenser", promotes: &[], proof: "evaporating and condensing temperatures and amps as expected",
        },
        ModeSpec {
            key: "terminal", name: "common pin burnt", cause: "loose push-on connector overheating", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("common joint")] }],
            intermittent: false, repair: REPLACE, upstream: "a loose connector", promotes: &[], proof: "runs an hour with the connector cool",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["C"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("C", "R"), minutes: 4.0, hazards: LIVE_SHELL, tells: "the rated ohms ±5 %" },
        TestSpec { what: TestWhat::Ohms("C", "S"), minutes: 2.0, hazards: LIVE_SHELL, tells: "the rated ohms ±5 %" },
        TestSpec { what: TestWhat::Ohms("R", "S"), minutes: 2.0, hazards: LIVE_SHELL, tells: "C–R plus C–S" },
        TestSpec { what: TestWhat::Insulation("R"), minutes: 4.0, hazards: LIVE_SHELL, tells: "above 20 Mohm; never under vacuum" },
        TestSpec { what: TestWhat::Behaviour, minutes: 2.0, hazards: &[Hazard::Moving], tells: "runs; hums a few seconds and clicks; silent" },
        TestSpec { what: TestWhat::LeadAmps("C"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "rated current running; the run winding's locked-rotor current while it hums" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.compressor(0.0)
}
