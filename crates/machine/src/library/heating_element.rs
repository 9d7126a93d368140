//! Immersion heating element.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "drain below it and replace the element: same watts and volts; fill before power", group: "replace", minutes: 45.0, price: 30.0 };

/// Heating element.
pub static CLASS: PartClass = PartClass {
    name: "heating element",
    purpose: "heats water directly",
    rate: 12.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "switched side", optional: false },
        TerminalSpec { name: "2", meaning: "other side", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "watts", meaning: "rated power, W", need: Need::Optional, min: 10.0, max: 50_000.0 },
        RatingSpec { key: "ohm", meaning: "resistance, ohm, where it was measured or is printed", need: Need::Optional, min: 0.5, max: 2000.0 },
        RatingSpec { key: "upper", meaning: "1 for the upper element, 0 for the lower", need: Need::Default(0.0), min: 0.0, max: 1.0 },
    ],
    modes: &[
        ModeSpec {
            key: "open", name: "open", cause: "dry fire, scale, age", share: 0.62,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "scale; power before water; a spent anode", promotes: &[], proof: "amps = volts / ohms when commanded",
        },
        ModeSpec {
            key: "earthed", name: "sheath broken, earthed", cause: "corrosion, scale", share: 0.28,
            levels: &[
                Level { word: "leaking", share: 0.6, edits: &[set("earth leak", 6e-4)] },
                Level { word: "to earth", share: 0.4, edits: &[set("earth leak", 0.08)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "a spent anode", promotes: &[], proof: "above 1 Mohm to the cabinet",
        },
        ModeSpec {
            key: "scaled", name: "thick with scale", cause: "hard water", share: 0.1,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("transfer", 0.85), scale("ohms", 1.03)] }],
            intermittent: false, repair: REPLACE, upstream: "hard water, setpoint too high", promotes: &[("heating element", "open", 3.0)], proof: "heats at its rated power",
        },
    ],
    states: &[],
    wrong_part: &[scale("ohms", 0.75)],
    loose: &["1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "volts squared over watts, ±5 %; OL is open" },
        TestSpec { what: TestWhat::Insulation("1"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "above 1 Mohm" },
        TestSpec { what: TestWhat::Behaviour, minutes: 3.0, hazards: &[], tells: "tank full, covers on, ear at the jacket beside its cover, nothing else running: within half a minute a clean one hisses softly, one under scale crackles and rumbles like a kettle; silent, it heats nothing or is not heard: clamp it" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let volts = b.nameplate_volts();
    let (watts, ohm) = (b.optional("watts")?, b.optional("ohm")?);
    let (nominal, spread) = match (watts, ohm) {
        (Some(w), Some(o)) => {
            let by_watts = volts * volts / w;
            let apart = (by_watts / o - 1.0).abs();
            if apart > 0.07 {
                b.contradiction("ohm", format!("{w} W at {volts} V would be {by_watts:.1} ohm, but {o} ohm is given ({:.0} % apart)", apart * 100.0),
                    format!("both are doubted for now; {o} ohm would be {w} W at {:.0} V: is that the element's voltage?", libm::sqrt(w * o)));
                (libm::sqrt(by_watts * o), Spread::Relative((apart / 2.0).max(0.03)))
            } else {
                (o, b.spread("ohm", 0.025))
            }
        }
        (Some(w), None) => (volts * volts / w, b.spread("watts", 0.025)),
        (None, Some(o)) => (o, b.spread("ohm", 0.025)),
        (None, None) => return Err(b.missing("an element needs its watts or its ohms", "add `watts = …` from the nameplate or `ohm = …` from the meter")),
    };
    let ohms = b.param("ohms", nominal, spread);
    let transfer = b.param("transfer", 1.0, Spread::None);
    let (one, two) = (b.terminal("1")?, b.terminal("2")?);
    b.branch(Branch::Resistor { a: one, b: two, ohms, reactance: None });
    b.earth_leak("1")?;
    Ok(Role::Element { upper: b.number("upper")? > 0.5, transfer })
}
