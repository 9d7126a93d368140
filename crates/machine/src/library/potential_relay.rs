//! Potential relay: takes the start capacitor out when the start winding's voltage has risen with speed.

use super::generic::OPEN_CONTACT;
use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, scale, set};
use crate::model::{Branch, Drive};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the potential relay with the same pick-up and continuous volts", group: "replace", minutes: 20.0, price: 30.0 };

/// Potential relay.
pub static CLASS: PartClass = PartClass {
    name: "potential relay",
    purpose: "takes the start capacitor out of the circuit at speed",
    rate: 12.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "contact, to the start capacitor", optional: false },
        TerminalSpec { name: "2", meaning: "contact and coil, to the start winding", optional: false },
        TerminalSpec { name: "5", meaning: "coil, to common", optional: false },
    ],
    ratings: &[RatingSpec { key: "coil_ohm", meaning: "coil resistance, ohm", need: Need::Default(6000.0), min: 100.0, max: 50_000.0 }],
    modes: &[
        ModeSpec {
            key: "open", name: "contact does not close", cause: "burnt contact", share: 0.40,
            levels: &[Level { word: "", share: 1.0, edits: OPEN_CONTACT }],
            intermittent: false, repair: REPLACE, upstream: "chatter, a wrong relay", promotes: &[], proof: "starts at once against pressure",
        },
        ModeSpec {
            key: "welded", name: "contact does not open", cause: "chatter, a wrong relay", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "chatter, a wrong relay", promotes: &[("start capacitor", "burst", 10.0), ("compressor, permanent split capacitor", "start-open", 3.0)], proof: "no amps in the start capacitor's lead at speed",
        },
        ModeSpec {
            key: "coil-open", name: "coil open", cause: "heat", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("coil ohms", 1e4), set("contact", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "", promotes: &[("start capacitor", "burst", 10.0)], proof: "no amps in the start capacitor's lead at speed",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &[],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "below 0.5 ohm at rest; OL does not close" },
        TestSpec { what: TestWhat::Ohms("2", "5"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "several kohm; OL is open" },
        TestSpec { what: TestWhat::LeadAmps("1"), minutes: 3.0, hazards: &[Hazard::Shock], tells: "nothing once it runs; amps at speed are a contact that does not open" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    b.contact("1", "2", Drive::Released, 0.05)?;
    let coil = b.number("coil_ohm")?;
    let ohms = b.param("coil ohms", coil, b.spread("coil_ohm", 0.1));
    b.branch(Branch::Resistor { a: b.terminal("2")?, b: b.terminal("5")?, ohms, reactance: None });
    Ok(Role::StartDevice { at_speed: true })
}
