//! Fan with its motor and blade, alternating current, on or off.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the fan motor: same volts, speed, rotation and power", group: "replace", minutes: 45.0, price: 90.0 };
const FREE_BLADE: Repair = Repair { what: "set the blade right on its shaft or replace it", group: "blade", minutes: 15.0, price: 30.0 };

/// Fan motor, AC.
pub static CLASS: PartClass = PartClass {
    name: "fan, AC motor",
    purpose: "moves air through the coil",
    rate: 15.0,
    ageing: Ageing::WearOut,
    source: "judgement; motor 12 and blade 3 per 1000 unit-years",
    terminals: &[
        TerminalSpec { name: "1", meaning: "switched side", optional: false },
        TerminalSpec { name: "2", meaning: "return side", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "rated_a", meaning: "rated current, A", need: Need::Required, min: 0.02, max: 30.0 },
        RatingSpec { key: "winding_ohm", meaning: "winding resistance between the leads, ohm", need: Need::Default(180.0), min: 0.5, max: 5000.0 },
        RatingSpec { key: "air", meaning: "the air that it moves: \"inside\", \"outside\" or \"both\"; inside if left out", need: Need::Optional, min: 0.0, max: 0.0 },
    ],
    modes: &[
        ModeSpec {
            key: "bearing", name: "bearing stiff or seized", cause: "wear, water", share: 0.35,
            levels: &[
                Level { word: "slow", share: 0.5, edits: &[scale("flow", 0.55), scale("reactance", 0.8), set("free", 0.5)] },
                Level { word: "seized", share: 0.5, edits: &[set("flow", 0.0), scale("reactance", 0.6), set("free", 0.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "water on the motor", promotes: &[], proof: "spins freely, amps at or below rated, air as expected",
        },
        ModeSpec {
            key: "open", name: "winding or its thermal link open", cause: "overheating with a stiff bearing", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms"), set("flow", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a stiff bearing, a blocked coil", promotes: &[], proof: "amps at or below rated, air as expected",
        },
        ModeSpec {
            key: "shorted", name: "shorted turns", cause: "overheating, water", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("ohms", 0.4), scale("reactance", 0.4), scale("flow", 0.6), set("free", 0.5)] }],
            intermittent: false, repair: REPLACE, upstream: "water on the motor", promotes: &[], proof: "amps at or below rated",
        },
        ModeSpec {
            key: "earthed", name: "winding earthed", cause: "water", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.02)] }],
            intermittent: false, repair: REPLACE, upstream: "where the water comes from", promotes: &[], proof: "above 1 Mohm to the cabinet",
        },
        ModeSpec {
            key: "blade", name: "blade slipped on its shaft or cracked", cause: "loose hub, ice", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("flow", 0.3), scale("reactance", 1.15), set("blade", 1.0)] }],
            intermittent: false, repair: FREE_BLADE, upstream: "ice or something that got into it", promotes: &[], proof: "shaft and blade turn together, air as expected",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock], tells: "the rated ohms; OL is open" },
        TestSpec { what: TestWhat::Insulation("1"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "above 1 Mohm" },
        TestSpec { what: TestWhat::Behaviour, minutes: 1.0, hazards: &[Hazard::Moving], tells: "runs; slow; still" },
        TestSpec { what: TestWhat::Look { param: "free", cuts: &[0.25, 0.75], words: &["stuck", "stiff", "spins freely"], blur: 0.06, title: "Spin the fan by hand, power off", level: 1 }, minutes: 1.0, hazards: &[Hazard::Moving], tells: "it should coast" },
        TestSpec { what: TestWhat::Look { param: "blade", cuts: &[0.5], words: &["firm on its shaft", "slips or cracked"], blur: 0.04, title: "Hold the shaft and turn the blade", level: 1 }, minutes: 1.5, hazards: &[Hazard::Moving], tells: "shaft and blade turn together" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let amps = b.number("rated_a")?;
    let winding = b.number("winding_ohm")?;
    let impedance = b.nameplate_volts() / amps;
    if winding >= impedance {
        return Err(b.error("winding_ohm", format!("{winding} ohm would draw less than the rated {amps} A by itself"), "winding ohms of a fan are well below volts divided by amps: check both"));
    }
    let ohms = b.param("ohms", winding, b.spread("winding_ohm", 0.05));
    let reactance = b.param("reactance", libm::sqrt(impedance * impedance - winding * winding), Spread::Relative(0.04));
    let flow = b.param("flow", 1.0, Spread::Relative(0.03));
    let free = b.param("free", 1.0, Spread::None);
    b.param("blade", 0.0, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Resistor { a: one, b: two, ohms, reactance: Some(reactance) });
    b.earth_leak("1")?;
    let side = b.air_side("air")?;
    Ok(Role::Fan { flow, free, amps, side, start_amps: None })
}
