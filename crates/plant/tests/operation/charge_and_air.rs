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
        assert!(m.evaporating < -1.0 && m.condensing < 0.0 && m.heat < -0.03 && m.opening < 0.0);
        assert!(m.superheat.abs() < 0.5);
    }
    assert!(much.evaporating < -3.0 && much.heat < -0.1);
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

/// A quarter of the charge lost: the valve opens and makes up for it. Two fifths lost: it is wide open, the coil begins to starve,
/// superheat and discharge rise, subcooling is gone. Nearly empty: it boils far too cold, and the board stops it for that.
#[test]
fn a_leak() {
    let some = moved("CHARGE:low:a-quarter-lost");
    assert!(some.opening > 0.05 && some.superheat.abs() < 0.5 && some.subcooling < -0.5, "{}", some.subcooling);
    let much = moved("CHARGE:low:two-fifths-lost");
    assert!(much.opening > 0.3 && much.superheat > 3.0 && much.subcooling < -2.0);
    assert!(
        much.evaporating < 0.0
            && much.condensing < 0.0
            && much.discharge > 2.0
            && much.heat < -0.05
            && much.watts < 0.0
    );
    let most = moved("CHARGE:low:nearly-empty");
    assert!(most.evaporating < -10.0 && most.superheat > 15.0 && most.heat < -0.5 && most.discharge > 20.0);
    let plant = plant();
    assert_eq!(found(&plant, &["CHARGE:low:nearly-empty"], &tank_at(45.0)).stored()[0], "evaporating-low");
}

/// A restricted liquid line differs from a leak in its subcooling: behind it the liquid backs up, as cold as the water lets it
/// become, where a leak leaves bubbles. (The trade's "subcooling rises" needs a gap to the water that a starved machine no longer has.)
#[test]
fn a_restriction_against_a_leak() {
    let (restricted, leak) = (moved("CHARGE:restricted:half-closed"), moved("CHARGE:low:nearly-empty"));
    for m in [&restricted, &leak] {
        assert!(m.evaporating < 0.0 && m.superheat > 0.0 && m.discharge > 0.0 && m.heat < 0.0 && m.condensing < 0.0);
    }
    assert!(restricted.subcooling > leak.subcooling + 3.0, "{} {}", restricted.subcooling, leak.subcooling);
    let plant = plant();
    let f = found(&plant, &["CHARGE:restricted:half-closed"], &tank_at(45.0));
    assert!((running(&f).point.liquid - 318.15).abs() < 0.5, "the liquid is as cold as the water");
}

/// Air in the circuit: high condensing temperature, hot discharge, more power for no more heat (NREL's fault regressions even
/// give 3 % more heat at a moderate level).
#[test]
fn non_condensables() {
    let m = moved("CHARGE:air:much");
    assert!(m.condensing > 2.0 && m.discharge > 2.0 && m.watts > 0.05);
    assert!((-0.1..0.035).contains(&m.heat) && (1.0 + m.heat) / (1.0 + m.watts) < 0.95, "{} {}", m.heat, m.watts);
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
