//! Fan whose motor has a start winding fed through a capacitor.

use super::{Ageing, BuildError, Level, ModeSpec, Need, PartBuilder, PartClass, RatingSpec, Repair, Role, TerminalSpec, TestSpec, TestWhat, broken, scale, set};
use crate::model::{Branch, Spread};
use crate::test::Hazard;

const REPLACE: Repair = Repair { what: "replace the fan motor: same volts, speed, rotation and power, and its capacitor", group: "replace", minutes: 45.0, price: 110.0 };
const FREE_BLADE: Repair = Repair { what: "set the blade or wheel right on its shaft or replace it", group: "blade", minutes: 15.0, price: 35.0 };

/// Fan, capacitor motor.
pub static CLASS: PartClass = PartClass {
    name: "fan, capacitor motor",
    purpose: "moves air through a coil",
    rate: 15.0,
    ageing: Ageing::WearOut,
    source: "judgement; motor 12 and blade 3 per 1000 unit-years, capacitor apart",
    terminals: &[
        TerminalSpec { name: "R", meaning: "run winding", optional: false },
        TerminalSpec { name: "C", meaning: "common", optional: false },
        TerminalSpec { name: "S", meaning: "start winding, to the capacitor", optional: false },
    ],
    ratings: &[
        RatingSpec { key: "rated_a", meaning: "rated current, A", need: Need::Required, min: 0.05, max: 30.0 },
        RatingSpec { key: "run_ohm", meaning: "run winding R–C, ohm", need: Need::Required, min: 0.5, max: 2000.0 },
        RatingSpec { key: "start_ohm", meaning: "start winding S–C, ohm", need: Need::Required, min: 0.5, max: 2000.0 },
        RatingSpec { key: "capacitor_uf", meaning: "capacitor that it is meant for, µF", need: Need::Required, min: 0.5, max: 80.0 },
        RatingSpec { key: "air", meaning: "the air that it moves: \"inside\", \"outside\" or \"both\"", need: Need::Optional, min: 0.0, max: 0.0 },
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
            key: "open", name: "winding or its thermal link open", cause: "overheating with a stiff bearing", share: 0.3,
            levels: &[Level { word: "", share: 1.0, edits: &[broken("ohms"), set("flow", 0.0)] }],
            intermittent: false, repair: REPLACE, upstream: "a stiff bearing, a blocked coil", promotes: &[], proof: "amps at or below rated, air as expected",
        },
        ModeSpec {
            key: "earthed", name: "winding earthed", cause: "water", share: 0.15,
            levels: &[Level { word: "", share: 1.0, edits: &[set("earth leak", 0.02)] }],
            intermittent: false, repair: REPLACE, upstream: "where the water comes from", promotes: &[], proof: "above 1 Mohm to the cabinet",
        },
        ModeSpec {
            key: "blade", name: "blade or wheel slipped or cracked", cause: "loose hub, ice", share: 0.2,
            levels: &[Level { word: "", share: 1.0, edits: &[scale("flow", 0.3), scale("reactance", 1.15), set("blade", 1.0)] }],
            intermittent: false, repair: FREE_BLADE, upstream: "ice or something that got into it", promotes: &[], proof: "shaft and blade turn together, air as expected",
        },
    ],
    states: &[],
    wrong_part: &[],
    loose: &["R"],
    tests: &[
        TestSpec { what: TestWhat::Ohms("R", "C"), minutes: 4.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "the rated ohms; OL is open" },
        TestSpec { what: TestWhat::Ohms("S", "C"), minutes: 2.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "the rated ohms, more than R to C" },
        TestSpec { what: TestWhat::Insulation("R"), minutes: 3.0, hazards: &[Hazard::Shock, Hazard::StoredCharge], tells: "above 1 Mohm" },
        TestSpec { what: TestWhat::Behaviour, minutes: 1.0, hazards: &[Hazard::Moving], tells: "runs; slow; still" },
        TestSpec { what: TestWhat::LeadAmps("R"), minutes: 2.0, hazards: &[Hazard::Shock], tells: "at or below rated" },
        TestSpec { what: TestWhat::Look { param: "free", cuts: &[0.25, 0.75], words: &["stuck", "stiff", "spins freely"], blur: 0.06, title: "Spin the fan by hand, power off", level: 1 }, minutes: 1.0, hazards: &[Hazard::Moving], tells: "it should coast" },
        TestSpec { what: TestWhat::Look { param: "blade", cuts: &[0.5], words: &["firm on its shaft", "slips or cracked"], blur: 0.04, title: "Hold the shaft and turn the blade", level: 1 }, minutes: 1.5, hazards: &[Hazard::Moving], tells: "shaft and blade turn together" },
    ],
    build,
};

fn build(b: &mut PartBuilder<'_>) -> Result<Role, BuildError> {
    let amps = b.number("rated_a")?;
    let (run, start) = (b.number("run_ohm")?, b.number("start_ohm")?);
    let side = b.air_side("air")?;
    let volts = b.nameplate_volts();
    // A capacitor motor near balance: run current 45° behind the supply, start current 45° before it. Judgement.
    let root_half = std::f64::consts::FRAC_1_SQRT_2;
    let (run_amps, start_amps) = (0.75 * amps, 0.66 * amps);
    let (across_run, across_start) = (root_half * volts / run_amps, root_half * volts / start_amps);
    if run >= across_run || start >= across_start {
        return Err(b.error("run_ohm", format!("windings of {run} and {start} ohm let through less than the rated {amps} A by themselves"), "winding ohms of a fan are well below volts divided by amps: check all three"));
    }
    let ohms = b.param("ohms", run, b.spread("run_ohm", 0.05));
    let work = b.param("work", across_run - run, Spread::Relative(0.05));
    let reactance = b.param("reactance", across_run, Spread::Relative(0.04));
    let omega = std::f64::consts::TAU * b.nameplate().hertz;
    let capacitive = 1.0 / (omega * b.number("capacitor_uf")? * 1e-6);
    let start_ohms = b.param("start ohms", start, b.spread("start_ohm", 0.05));
    let start_work = b.param("start work", across_start - start, Spread::Relative(0.05));
    let start_reactance = b.param("start reactance", (capacitive - across_start).max(0.05 * capacitive), Spread::Relative(0.04));
    let flow = b.param("flow", 1.0, Spread::Relative(0.03));
    let free = b.param("free", 1.0, Spread::None);
    b.param("blade", 0.0, Spread::None);
    let (r, c, s) = (b.terminal("R")?, b.terminal("C")?, b.terminal("S")?);
    b.branch(Branch::Working { a: r, b: c, ohms, work, reactance });
    b.branch(Branch::Working { a: s, b: c, ohms: start_ohms, work: start_work, reactance: start_reactance });
    b.earth_leak("R")?;
    Ok(Role::Fan { flow, free, amps: run_amps, side, start_amps: Some(start_amps) })
}
