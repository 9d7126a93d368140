//! Contactor: a control-voltage coil switches line voltage to the compressor.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the contactor: same coil volts, poles, and amps at least", group: "replace", minutes: 25.0, price: 40.0 };

/// Contactor.
pub static CLASS: PartClass = PartClass {
    name: "contactor",
    purpose: "switches line voltage to a large load when its coil gets control voltage",
    rate: 15.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "L1", meaning: "first pole, line side", optional: false },
        TerminalSpec { name: "T1", meaning: "first pole, load side", optional: false },
        TerminalSpec { name: "L2", meaning: "second pole, line side; left out of a single-pole contactor", optional: true },
        TerminalSpec { name: "T2", meaning: "second pole, load side; left out of a single-pole contactor", optional: true },
        TerminalSpec { name: "A1", meaning: "coil", optional: false },
        TerminalSpec { name: "A2", meaning: "coil", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "coil_volts", meaning: "rated volts of the coil", need: Need::Default(24.0), min: 5.0, max: 500.0 },
        RatingSpec { key: "coil_ohm", meaning: "coil resistance (direct current), ohm", need: Need::Default(12.0), min: 0.5, max: 20_000.0 },
        RatingSpec { key: "coil_va", meaning: "what the coil draws pulled in, VA", need: Need::Default(9.0), min: 0.5, max: 200.0 },
        RatingSpec { key: "rated_a", meaning: "contact rating, A", need: Need::Default(30.0), min: 1.0, max: 200.0 },
    ],
    modes: &[
        ModeSpec {
            key: "pitted", name: "contacts pitted", cause: "arcing, short cycling, low coil volts", share: 0.40,
            levels: &[
                Level { word: "dropping volts", share: 0.5, edits: &[set("contact ohms", 0.6), set("worn", 1.0)] },
                Level { word: "not making", share: 0.5, edits: &[set("contact", -1.0), set("worn", 1.0)] },
            ],
            intermittent: false, repair: REPLACE, upstream: "short cycling, a weak transformer, a motor that draws too much", promotes: &[], proof: "less than 0.1 V across each closed pole under load",
        },
        ModeSpec {
            key: "welded", name: "contacts welded shut", cause: "inrush, short cycling", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a locked or earthed motor, chatter", promotes: &[], proof: "opens when the call ends",
        },
        ModeSpec {
            key: "coil-open", name: "coil open", cause: "heat, overvoltage", share: 0.20,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("coil ohms")] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[], proof: "pulls in at the call",
        },
        ModeSpec {
            key: "coil-shorted", name: "coil shorted", cause: "heat, moisture", share: 0.05,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("coil ohms", 0.05), scale("coil reactance", 0.02)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[("fuse", "blown", 5.0)], proof: "the control fuse holds, and it pulls in",
        },
        ModeSpec {
            key: "jammed", name: "armature jammed", cause: "insects, dirt", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("jammed", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "power off, clean out the contactor, move the armature by hand; replace it if it sticks", group: "clean", minutes: 15.0, price: 0.0 },
            upstream: "insects drawn by the warmth: close the box", promotes: &[], proof: "pulls in with a click and falls off",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["T1", "A1"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("A1", "A2"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "8 to 20 ohm for a 24 V coil; OL is open" },
        TestSpec { what: TestWhat::Ohms("L1", "T1"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "OL with nothing called; near 0 is welded" },
        TestSpec { what: TestWhat::Behaviour, minutes: 1.0, hazards: &[Hazard::Shock], tells: "pulls in with a click at the call" },
        TestSpec { what: TestWhat::Look { param: "worn", cuts: &[0.5], words: &["clean", "pitted or burnt"], blur: 0.12, title: "Look at the contactor's contacts, power off", level: 3 }, minutes: 1.5, hazards: &[Hazard::Shock], tells: "even and bright" },
        TestSpec { what: TestWhat::Look { param: "jammed", cuts: &[0.5], words: &["moves freely", "stuck"], blur: 0.05, title: "Push the contactor's armature with an insulated stick, power off", level: 3 }, minutes: 1.0, hazards: &[Hazard::Shock], tells: "goes in and springs back" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.number("rated_a")?;
    b.contact("L1", "T1", Drive::Relay, 0.005)?;
    if b.wired("L2") && b.wired("T2") {
        b.contact("L2", "T2", Drive::Relay, 0.005)?;
    }
    b.param("worn", 0.0, Spread::None);
    b.param("jammed", 0.0, Spread::None);
    b.coil("A1", "A2")
}
