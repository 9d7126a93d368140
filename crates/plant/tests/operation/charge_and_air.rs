//! Faults of air, water and charge move temperatures the way the trade knows. Directions: pattern table of Rossi and Braun
//! (HVAC&R Research 3(1), 1997, fixed orifice) where the valve has come to its stop; with a valve that still holds the
//! superheat, common practice.

use crate::bench::{found, plant, tank_at};
use halfsplit_machine::test::Spot;
use halfsplit_plant::Phase;

/// What was running when it was at its most settled: the board may have stopped it afterwards.
fn running<'f>(f: &'f crate::bench::Found<'_>) -> &'f Phase {
    f.timeline("heat-pump").phases.iter().find(|p| p.name == "running").expect("it came to run")
}

struct Moved {
    evaporating: f64,
    condensing: f64,
    superheat: f64,
    subcooling: f64,
    discharge: f64,
    watts: f64,
    heat: f64,
    opening: f64,
}

fn moved(mode: &str) -> Moved {
    let plant = plant();
    let visit = tank_at(45.0);
    let (sound, faulty) = (found(&plant, &[], &visit), found(&plant, &[mode], &visit));
    let (a, b) = (&running(&sound).point, &running(&faulty).point);
    Moved {
        evaporating: b.evaporating - a.evaporating,
        condensing: b.condensing - a.condensing,
        superheat: b.superheat - a.superheat,
        subcooling: b.subcooling - a.subcooling,
        discharge: b.discharge - a.discharge,
        watts: b.compressor_power / a.compressor_power - 1.0,
        heat: b.heat / a.heat - 1.0,
        opening: b.opening - a.opening,
    }
}

/// Less air: it boils colder, condenses a little lower, gives less heat; the valve closes and keeps the superheat.
#[test]
fn a_clogged_filter() {
    let (some, much) =
        (moved("FILTER:clogged:a-third-of-the-air-lost"), moved("FILTER:clogged:two-thirds-of-the-air-lost"));
    for m in [&some, &much] {
        assert!(m.evaporating < -1.5 && m.condensing < 0.0 && m.heat < -0.03 && m.opening < 0.0);
        assert!(m.superheat.abs() < 0.5);
    }
    assert!(much.evaporating < some.evaporating && much.heat < some.heat, "the degrees are in the wrong order");
}

/// Air leaves 5 to 9 K colder than it came (common practice); with less of it, colder still.
#[test]
fn the_air_leaving_the_coil() {
    let plant = plant();
    let visit = tank_at(45.0);
    let drop = |mode: &[&str]| {
        let f = found(&plant, mode, &visit);
        f.thermometer(Spot::Air, "heat-pump") - f.thermometer(Spot::LeavingAir, "heat-pump")
    };
    let sound = drop(&[]);
    assert!((5.0..=9.0).contains(&sound), "{sound:.1} K");
    assert!(drop(&["FILTER:clogged:two-thirds-of-the-air-lost"]) > sound + 2.0);
}

/// A sixth of the charge lost: the valve opens and makes up for it. A third lost: it is wide open, the coil starves,
/// superheat and discharge rise, subcooling is gone.
#[test]
fn a_leak() {
    let some = moved("CHARGE:low:a-quarter-lost");
    assert!(some.opening > 0.05 && some.superheat.abs() < 0.5 && some.subcooling < -0.5, "{}", some.subcooling);
    let much = moved("CHARGE:low:two-fifths-lost");
    assert!(much.opening > 0.3 && much.superheat > 3.0 && much.subcooling < -2.0);
    assert!(
        much.evaporating < -3.0
            && much.condensing < 0.0
            && much.discharge > 0.0
            && much.heat < -0.1
            && much.watts < 0.0
    );
}

/// A restricted liquid line differs from a leak in its subcooling, and in nothing else that a thermometer sees.
#[test]
fn a_restriction_against_a_leak() {
    let m = moved("CHARGE:restricted:half-closed");
    assert!(m.evaporating < 0.0 && m.superheat > 0.0 && m.discharge > 0.0 && m.heat < 0.0);
    assert!(m.subcooling > 0.0, "{}", m.subcooling);
}

/// Air in the circuit: high condensing temperature, hot discharge, more power.
#[test]
fn non_condensables() {
    let m = moved("CHARGE:air");
    assert!(m.condensing > 2.0 && m.discharge > 2.0 && m.watts > 0.02 && m.heat < 0.0);
}

/// Scale: the condenser works against more kelvin.
#[test]
fn a_scaled_condenser() {
    let m = moved("COND:scaled:three-quarters-lost");
    assert!(m.condensing > 5.0 && m.discharge > 5.0 && m.watts > 0.05 && m.heat < 0.0);
}

/// Worn: it boils warmer, condenses lower, draws less and gives less.
#[test]
fn a_worn_compressor() {
    let m = moved("COMP:worn:half-of-its-capacity-lost");
    assert!(m.evaporating > 2.0 && m.condensing < 0.0 && m.watts < -0.03 && m.heat < -0.2);
}

/// Jammed open: no superheat, a cool discharge. Jammed nearly shut: starved and hot.
#[test]
fn a_jammed_valve() {
    let open = moved("EEV:stuck:wide-open");
    assert!(open.superheat < -5.0 && open.discharge < -10.0 && open.evaporating > 0.0);
    let shut = moved("EEV:stuck:nearly-shut");
    assert!(shut.superheat > 5.0 && shut.evaporating < -5.0 && shut.heat < -0.2 && shut.watts < 0.0);
}
