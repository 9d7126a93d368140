//! Hermetic compressor with run and start windings, run capacitor and internal line-break overload.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::Spread;
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the compressor: recover, cut out, braze in under nitrogen, new drier, evacuate, weigh in the charge", group: "replace", minutes: 300.0, price: 480.0 };
const LIVE_SHELL: &[Hazard] = &[Hazard::Shock, Hazard::StoredCharge, Hazard::Pressure];

/// Compressor, permanent split capacitor.
pub static CLASS: PartClass = PartClass {
    name: "compressor, permanent split capacitor",
    purpose: "pumps refrigerant vapour from the low to the high side",
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
        RatingSpec { key: "locked_rotor_a", meaning: "locked-rotor current, A; from the nameplate if left out", need: Need::Optional, min: 0.5, max: 1000.0 },
        RatingSpec { key: "capacitor_uf", meaning: "run capacitor that it is meant for, µF", need: Need::Required, min: 0.5, max: 200.0 },
        RatingSpec { key: "poles", meaning: "number of poles", need: Need::Default(2.0), min: 2.0, max: 8.0 },
    ],
    modes: &[
        ModeSpec {
            key: "run-open", name: "run winding open", cause: "burnt through after overheating or a surge", share: 0.08,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("run ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "flood-back, low charge, a bad capacitor, low voltage", promotes: &[], proof: "starts and draws its current; C–R plus C–S equals R–S",
        },
        ModeSpec {
            key: "start-open", name: "start winding open", cause: "burnt through after a start with a bad capacitor", share: 0.07,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("start ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "the capacitor", promotes: &[], proof: "starts and draws its current; C–R plus C–S equals R–S",
        },
        ModeSpec {
            key: "shorted-turns", name: "shorted turns", cause: "overheating, acid", share: 0.15,
            levels: &[
                Level { word: "a fifth of the run winding", share: 0.4, edits: &[scale("run ohms", 0.8), scale("run turns", 0.8)] },
                Level { word: "a third of the run winding", share: 0.3, edits: &[scale("run ohms", 0.67), scale("run turns", 0.67)] },
                Level { word: "half of the run winding", share: 0.3, edits: &[scale("run ohms", 0.5), scale("run turns", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "acid in the oil, overheating", promotes: &[], proof: "C–R plus C–S equals R–S within 5 %",
        },
        ModeSpec {
            key: "earthed", name: "winding earthed", cause: "insulation burnt through to the shell", share: 0.18,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.05)] }],
            intermittent: false, repair: REPLACE, upstream: "acid and moisture in the circuit", promotes: &[], proof: "above 20 Mohm to the shell at 500 V",
        },
        ModeSpec {
            key: "seized", name: "seized", cause: "lost oil, flood-back, wear", share: 0.17,
            levels: &[Level { word: "", share: 1.0, edits: &[set("free", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "oil loss, liquid coming back", promotes: &[], proof: "starts with the proper capacitor and voltage",
        },
        ModeSpec {
            key: "worn", name: "worn, valves leaking", cause: "wear, liquid slugs", share: 0.2,
            levels: &[
                Level { word: "a quarter of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.75)] },
                Level { word: "half of its capacity lost", share: 0.5, edits: &[scale("pumping", 0.5)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "liquid coming back to the compressor", promotes: &[], proof: "evaporating and condensing temperatures, amps and heat as expected",
        },
        ModeSpec {
            key: "terminal", name: "common pin burnt", cause: "loose push-on connector overheating", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("common joint"), set("pin looks", 1.0)] }],
            intermittent: false, repair: Repair { what: "repair the pin with a terminal kit if the glass is whole; otherwise replace the compressor", group: "terminal", minutes: 60.0, price: 30.0 },
            upstream: "a loose connector", promotes: &[], proof: "runs an hour with the connector cool",
        },
        ModeSpec {
            key: "overload-open", name: "internal overload stuck open", cause: "many trips", share: 0.04,
            levels: &[Level { word: "", share: 1.0, edits: &[set("overload stuck", -1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "what made it trip so often", promotes: &[], proof: "closed when cold, below 0.2 ohm in the common lead",
        },
        ModeSpec {
            key: "overload-weak", name: "internal overload trips too early", cause: "many trips", share: 0.01,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("overload trip", 0.2)] }],
            intermittent: false, repair: REPLACE, upstream: "what made it trip so often", promotes: &[], proof: "runs an hour at rated current",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["C"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("C", "R"), minutes: 4.0, hazards: LIVE_SHELL, tells: "the rated ohms ±5 %; OL with R–S whole is an open overload: let it cool" },
        TestSpec { what: TestWhat::Ohms("C", "S"), minutes: 2.0, hazards: LIVE_SHELL, tells: "the rated ohms ±5 %" },
        TestSpec { what: TestWhat::Ohms("R", "S"), minutes: 2.0, hazards: LIVE_SHELL, tells: "C–R plus C–S" },
        TestSpec { what: TestWhat::Insulation("R"), minutes: 4.0, hazards: LIVE_SHELL, tells: "above 20 Mohm; never under vacuum" },
        TestSpec {
            what: TestWhat::Look { param: "leads exchanged", cuts: &[0.5], words: &["as on the diagram", "run and start exchanged"], blur: 0.03, title: "Compare the leads on the pins with the diagram, power off", level: 3 },
            minutes: 2.0, hazards: LIVE_SHELL, tells: "each lead on the pin that the diagram gives it",
        },
        // Tells a burnt pin from an open overload inside, which read alike from outside (common practice, no source). Minutes and blur
        // are judgement.
        TestSpec {
            what: TestWhat::Look { param: "pin looks", cuts: &[0.5], words: &["bright", "burnt or blackened"], blur: 0.1, title: "Look at the compressor's pins and push-on connectors, power off", level: 3 },
            minutes: 2.0, hazards: LIVE_SHELL, tells: "keep your face away as the cover comes off: a burnt pin may be blown out; sound ones are bright, their glass whole, the connectors tight",
        },
        TestSpec { what: TestWhat::Behaviour, minutes: 2.0, hazards: &[Hazard::Moving], tells: "runs; hums a few seconds and stops; silent" },
        TestSpec { what: TestWhat::LeadAmps("C"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "below the rated current running; locked-rotor current while it hums" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let capacitor = b.number("capacitor_uf")? * 1e-6;
    b.param("pin looks", 0.0, Spread::None);
    b.compressor(capacitor)
}
