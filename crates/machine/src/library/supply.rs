//! The mains supply up to the machine's breaker.

use super::{Ageing, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, TerminalSpec, TestSpec, scale, set};
use super::{BuildError, Role};
use crate::model::{Branch, Spread};

const CALL_UTILITY: Repair = Repair { what: "have the supply put right by the utility or a licensed electrician", group: "supply", minutes: 45.0, price: 0.0 };

/// Mains supply.
pub static CLASS: PartClass = PartClass {
    name: "supply",
    purpose: "brings mains voltage to the machine's breaker",
    rate: 6.0,
    ageing: Ageing::Random,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "L1", meaning: "first supply conductor", optional: false },
        TerminalSpec { name: "L2", meaning: "second supply conductor (neutral on a line–neutral supply)", optional: false },
        TerminalSpec { name: "PE", meaning: "protective earth, cabinet", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "source_ohm", meaning: "resistance of the supply and its wiring, ohm", need: Need::Default(0.25), min: 0.001, max: 20.0 },
        RatingSpec { key: "earthed", meaning: "1 if L2 is a neutral, 2 if both conductors are live to earth (split phase)", need: Need::Default(2.0), min: 1.0, max: 2.0 },
    ],
    modes: &[
        ModeSpec {
            key: "absent", name: "no supply", cause: "upstream breaker off, utility outage, disconnect left open", share: 0.5,
            levels: &[Level { word: "", share: 1.0, edits: &[set("volts", 0.0)] }],
            intermittent: false, repair: CALL_UTILITY, upstream: "who switched it off, and why", promotes: &[], proof: "rated volts at the breaker, loaded",
        },
        ModeSpec {
            key: "low", name: "supply voltage low", cause: "long thin cable, brown-out, bad service connection", share: 0.3,
            levels: &[
                Level { word: "by 12 %", share: 0.4, edits: &[scale("volts", 0.88)] },
                Level { word: "by 18 %", share: 0.3, edits: &[scale("volts", 0.82)] },
                Level { word: "by 25 %", share: 0.3, edits: &[scale("volts", 0.75)] },
            ],
            intermittent: false, repair: CALL_UTILITY, upstream: "a loose joint that heats up under load", promotes: &[], proof: "within ±10 % at the motor, loaded (NEMA MG 1)",
        },
        ModeSpec {
            key: "weak", name: "joint upstream with high resistance", cause: "loose lug or burnt joint before the breaker", share: 0.2,
            levels: &[
                Level { word: "of an ohm or two", share: 0.35, edits: &[set("source ohms", 1.6)] },
                Level { word: "of about three ohms", share: 0.35, edits: &[set("source ohms", 3.2)] },
                Level { word: "of six ohms and more", share: 0.3, edits: &[set("source ohms", 6.5)] },
            ],
            intermittent: false, repair: CALL_UTILITY, upstream: "overheated lugs", promotes: &[], proof: "less than 3 % drop from no load to full load",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[] as &[TestSpec],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (live, other, earth) = (b.terminal("L1")?, b.terminal("L2")?, b.terminal("PE")?);
    let volts = b.param("volts", b.nameplate_volts(), Spread::Relative(0.015));
    let source = b.number("source_ohm")?;
    let ohms = b.param("source ohms", source, Spread::Relative(0.3));
    // Split phase: earth is the centre tap. Line and neutral: earth is the neutral.
    let share = if b.number("earthed")? > 1.5 { 0.5 } else { 1.0 };
    b.branch(Branch::Mains { a: live, b: other, earth, volts, ohms, share });
    Ok(Role::Supply { volts })
}
