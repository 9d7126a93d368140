//! Thermal cut-off (high limit) with manual reset: the last barrier against overheating.
//!
//! A cut-off that has tripped because something overheated the water is no fault of the cut-off:
//! that comes out of the history that the physics runs, as a consequence of the welded relay or
//! the lost sensor. The modes here are faults of the cut-off itself.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, add, set};
use crate::model::{Drive, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the cut-off with the same type and temperature", group: "replace", minutes: 24.0, price: 25.0 };

/// Thermal cut-off.
pub static CLASS: PartClass = PartClass {
    name: "thermal cut-off",
    purpose: "opens both conductors when the water gets dangerously hot; reset by hand",
    rate: 3.0,
    ageing: Ageing::WearOut,
    source: "judgement",
    terminals: &[
        TerminalSpec { name: "1", meaning: "first pole, supply side", optional: false },
        TerminalSpec { name: "2", meaning: "first pole, load side", optional: false },
        TerminalSpec { name: "3", meaning: "second pole, supply side", optional: true },
        TerminalSpec { name: "4", meaning: "second pole, load side", optional: true },
    ],
    ratings: &[
        RatingSpec { key: "opens_c", meaning: "opens above, °C", need: Need::Required, min: 30.0, max: 200.0 },
        RatingSpec { key: "resets_c", meaning: "can be reset below, °C", need: Need::Required, min: 0.0, max: 200.0 },
    ],
    modes: &[
        ModeSpec {
            key: "tripped", name: "tripped once by stacked draws or a surge", cause: "many small draws stacking hot water at the top, a bump, a surge", share: 0.35,
            levels: &[Level { word: "", share: 1.0, edits: &[set("tripped", 1.0)] }],
            intermittent: false,
            repair: Repair { what: "make sure that nothing overheats, then reset it", group: "reset", minutes: 8.0, price: 0.0 },
            upstream: "anything that overheats the water: a welded relay, a tank sensor out of its well, a setpoint too high", promotes: &[],
            proof: "stays closed through a whole heat-up",
        },
        ModeSpec {
            key: "weak", name: "opens far below its temperature", cause: "age, repeated trips", share: 0.4,
            levels: &[Level { word: "", share: 1.0, edits: &[add("opens", -27.0), add("opens early", 27.0), set("tripped", 1.0)] }],
            intermittent: false, repair: REPLACE, upstream: "repeated overheating", promotes: &[], proof: "stays closed at setpoint",
        },
        ModeSpec {
            key: "open-pole", name: "contact does not make", cause: "burnt contact", share: 0.25,
            levels: &[Level { word: "", share: 1.0, edits: &[set("contact", -1.0), set("opens early", 60.0)] }],
            intermittent: false, repair: REPLACE, upstream: "loose terminals that burnt it", promotes: &[], proof: "below 0.5 ohm in both poles",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["2"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("1", "2"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::Heat], tells: "below 0.5 ohm; OL is open" },
        TestSpec { what: TestWhat::Look { param: "cut-off position", cuts: &[0.5], words: &["flush", "popped out"], blur: 0.05, title: "See whether the reset button has popped", level: 2 }, minutes: 1.0, hazards: &[Hazard::Shock], tells: "a popped button is a trip: find the cause before resetting" },
        // Common practice for snap discs, no source; its minutes and its blur are judgement. Water rather than hot air: a heat gun is an
        // ignition source, and the refrigerant may burn.
        TestSpec {
            what: TestWhat::Look {
                param: "opens early", cuts: &[9.0], words: &["not before it should", "far too early, or never closed"], blur: 0.05,
                title: "Dead, leads off, meter across it: press its button in and warm its face with a closed bag of hot water, thermometer beside it; where does it open?",
                level: 3,
            },
            minutes: 10.0, hazards: &[Hazard::Shock, Hazard::Heat],
            tells: "one that opens 10 K or more below its stamped temperature is worn out; keep it and your hands dry, let it cool, leave its button as you found it, leads back on",
        },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let (opens_c, resets_c) = (b.number("opens_c")?, b.number("resets_c")?);
    if resets_c >= opens_c {
        return Err(b.error("resets_c", format!("it cannot reset at {resets_c} °C when it opens at {opens_c} °C"), "give a reset temperature below the opening one"));
    }
    let opens = b.param("opens", opens_c + 273.15, Spread::Absolute(1.5));
    let tripped = b.param("tripped", 0.0, Spread::None);
    // How many kelvin too early it is found open: what warming it by itself shows, whatever the water in the tank did.
    b.param("opens early", 0.0, Spread::Absolute(2.0));
    // Where the button stands follows from the latch at the visit; the physics fills it in.
    let position = b.param("cut-off position", 0.0, Spread::None);
    b.contact("1", "2", Drive::Protective, 0.02)?;
    if b.wired("3") {
        b.contact("3", "4", Drive::Protective, 0.02)?;
    }
    Ok(Role::CutOff { opens, resets: resets_c + 273.15, spot: crate::test::Spot::WaterTop, tripped, position })
}
