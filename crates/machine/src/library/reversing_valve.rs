//! Reversing valve: a slide that exchanges the discharge and the suction between two coils, moved by the pressure
//! difference that a pilot valve on a solenoid lets through.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const COIL: Repair = Repair { what: "replace the solenoid coil, power off: an energised coil pulled off its stem burns out", group: "coil", minutes: 15.0, price: 35.0 };
const BODY: Repair = Repair { what: "recover, replace the valve body cooled with wet rags under nitrogen, new drier, evacuate, weigh in the charge", group: "body", minutes: 240.0, price: 160.0 };

/// Reversing valve.
pub static CLASS: PartClass = PartClass {
    name: "reversing valve",
    purpose: "exchanges hot and cold between the two coils: heating, cooling, defrost",
    rate: 3.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "coil, driven side", optional: false },
        TerminalSpec { name: "2", meaning: "coil, return", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "coil_ohm", meaning: "direct-current resistance of the coil, ohm: 10 to 30 at 24 V, kilohm on the mains (common practice, no source)", need: Need::Required, min: 1.0, max: 50_000.0 },
        RatingSpec { key: "coil_reactance_ohm", meaning: "reactance of the coil with its armature pulled in, ohm; four times the resistance if left out (judgement)", need: Need::Optional, min: 0.0, max: 200_000.0 },
        RatingSpec { key: "energised_in", meaning: "\"heating\" or \"cooling\": the mode in which the coil is energised; heating if left out", need: Need::Optional, min: 0.0, max: 0.0 },
    ],
    modes: &[
        ModeSpec {
            key: "coil-open", name: "coil open", cause: "heat, water in the plug, energised while off its stem", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("coil ohms")] }],
            intermittent: false, repair: COIL, upstream: "water running down the lead; somebody who pulled it off live", promotes: &[], proof: "the valve clicks over on command and both modes blow the right air",
        },
        ModeSpec {
            key: "leaks-by", name: "slide leaks by", cause: "debris, a slide worn or dented", share: 0.3,
            levels: &[
                Level { word: "a little", share: 0.5, edits: &[set("leak", 0.10)] },
                Level { word: "much", share: 0.5, edits: &[set("leak", 0.25)] },
            ],
            intermittent: false, repair: BODY, upstream: "debris in the circuit", promotes: &[], proof: "the suction gas rises by 3 K or less through the body",
        },
        ModeSpec {
            key: "stuck-heating", name: "slide stuck where it heats", cause: "low charge that gives no pressure to move it, debris, a dented body", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[set("slide stuck", 1.0)] }],
            intermittent: false, repair: BODY, upstream: "charge and compressor first: without a pressure difference no slide moves", promotes: &[], proof: "the valve clicks over on command and both modes blow the right air",
        },
        ModeSpec {
            key: "stuck-cooling", name: "slide stuck where it cools", cause: "low charge that gives no pressure to move it, debris, a dented body", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[set("slide stuck", -1.0)] }],
            intermittent: false, repair: BODY, upstream: "charge and compressor first: without a pressure difference no slide moves", promotes: &[], proof: "the valve clicks over on command and both modes blow the right air",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "the rated ohms: tens at 24 V, kilohm on the mains; OL is open" },
        TestSpec { what: TestWhat::Behaviour, minutes: 3.0, hazards: &[Hazard::Moving], tells: "a click and a rush of gas; the coil's pull felt with a screwdriver, never by lifting it off its stem" },
        TestSpec { what: TestWhat::SuctionRise, minutes: 6.0, hazards: &[Hazard::Heat], tells: "3 K or less; above 5 K hot gas leaks by" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let energised_heats = match b.word("energised_in") {
        None | Some("heating") => true,
        Some("cooling") => false,
        Some(other) => {
            let what = format!("\"{other}\" is no mode of a reversing valve");
            return Err(b.error("energised_in", what, "write \"heating\" or \"cooling\", as the wiring diagram says"));
        }
    };
    let dc = b.number("coil_ohm")?;
    let reactance = b.optional("coil_reactance_ohm")?.unwrap_or(4.0 * dc);
    let coil = b.param("coil ohms", dc, b.spread("coil_ohm", 0.07));
    let reactance = b.param("coil reactance", reactance, Spread::Relative(0.2));
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Resistor { a: one, b: two, ohms: coil, reactance: Some(reactance) });
    Ok(Role::ReversingValve {
        energised_heats,
        stuck: b.param("slide stuck", 0.0, Spread::None),
        leak: b.param("leak", 0.0, Spread::None),
        coil,
    })
}
