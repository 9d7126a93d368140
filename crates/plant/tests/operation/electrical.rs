//! Electrical faults, as a timeline and at the meter. Trade facts without another source are common practice.

use crate::bench::{found, plant, plant_with, tank_at};
use halfsplit_machine::test::Spot;
use halfsplit_plant::CompressorDoes;

fn hums_for(does: CompressorDoes) -> f64 {
    match does {
        CompressorDoes::Hums(seconds) => seconds,
        other => panic!("it does not hum: {other:?}"),
    }
}

/// An element under scale is heard, a sound one hardly, one without current not at all (common practice, no source). Nobody is
/// asked to tell two apart that heat one after the other under one command.
#[test]
fn elements_at_the_ear() {
    let (plant, visit) = (plant(), tank_at(45.0));
    let heard = |faults: &[&str], command: &str| found(&plant, faults, &visit).does("EUP", command);
    assert_eq!(heard(&[], "force-upper"), "hisses softly");
    assert_eq!(heard(&["EUP:open"], "force-upper"), "silent");
    assert!(
        plant.machine.tests.iter().all(|t| t.id != "watch ELO while elements" && t.id != "watch EUP while elements")
    );
    for degree in ["EUP:scaled:milder", "EUP:scaled:stronger"] {
        assert_eq!(heard(&[degree], "force-upper"), "crackles and rumbles");
        // The other element's scale is not heard while this one heats.
        assert_eq!(found(&plant, &[degree], &visit).does("ELO", "force-lower"), "hisses softly");
    }
}

/// Without its capacitor the compressor stands and hums at about locked-rotor current (11 A on the nameplate) until the
/// overload opens after a few seconds; the board finds no current ten seconds after switching on and stores it after
/// five tries, 300 s apart; the elements take over.
#[test]
fn an_open_run_capacitor() {
    let plant = plant();
    let visit = tank_at(45.0);
    let f = found(&plant, &["CRUN:open"], &visit);
    let start = f.timeline("heat-pump").at_start().expect("a start");
    let seconds = hums_for(start.compressor);
    assert!((5.0..=10.0).contains(&seconds), "hums {seconds:.1} s");
    let amps = f.amps_at_start("COMP", "heat-pump");
    assert!((9.5..=12.5).contains(&amps), "{amps:.1} A");
    assert_eq!(f.stored(), ["no-compressor-current"]);
    assert!(f.operation.heat_by_heat_pump == 0.0 && f.operation.heat_by_elements > 0.8);
    assert!(f.operation.display_lit && f.tripped().is_empty());

    let given_up = f.timeline("heat-pump").given_up.expect("the board gives up");
    assert_eq!(given_up.tries, 5);
    // Five tries of 15 s fan and 10 s compressor, four waits of 300 s: arithmetic on the sheet.
    assert_eq!(given_up.after, 5.0 * (15.0 + 10.0) + 4.0 * 300.0);
}

/// A capacitor that has lost two thirds hums too; one within its tolerance starts.
#[test]
fn capacitors_between_whole_and_open() {
    let visit = tank_at(45.0);
    let plant = plant();
    let weak = found(&plant, &["CRUN:weak:a-third-left"], &visit);
    hums_for(weak.timeline("heat-pump").at_start().expect("a start").compressor);
    let low = plant_with("microfarad = 12.5", "microfarad = 11.8");
    assert_eq!(found(&low, &[], &visit).settled("heat-pump").compressor, CompressorDoes::Runs);
}

/// Seized: locked-rotor current although the capacitor is good and the volts are there.
#[test]
fn a_seized_compressor() {
    let plant = plant();
    let f = found(&plant, &["COMP:seized"], &tank_at(45.0));
    hums_for(f.timeline("heat-pump").at_start().expect("a start").compressor);
    assert!((f.amps_at_start("COMP", "heat-pump") - 11.0).abs() < 1.0);
    assert!(f.volts_while("R", "CM", "heat-pump") > 220.0);
}

/// An element relay that is welded heats without being asked, until the cut-off opens both conductors: at the visit the
/// display is dark, and that is a consequence, not a fault of the cut-off.
#[test]
fn a_welded_element_relay_has_tripped_the_cut_off() {
    let plant = plant();
    for relay in ["K3:welded", "K4:welded"] {
        let f = found(&plant, &[relay], &tank_at(45.0));
        assert_eq!(f.tripped(), ["ECO"], "{relay}");
        assert!(!f.operation.display_lit, "{relay}");
        assert!(f.operation.outcome.dark && f.operation.outcome.call > 0.9);
        assert!(f.volts_at_rest("L1", "L2") > 230.0 && f.volts_at_rest("L1E", "L2E") < 5.0, "{relay}");
    }
    // Somebody has pressed the button: the display is back, and the element draws with nothing commanded.
    let mut visit = tank_at(45.0);
    visit.reset = true;
    let f = found(&plant, &["K3:welded"], &visit);
    assert!(f.operation.display_lit && f.tripped().is_empty());
    assert!(f.volts_at_rest("EU", "L2E") > 220.0);
}

/// The trap of this wiring: the other side of an element is permanently on the second line conductor. Off, there are no
/// volts across it, and half of the supply from both its terminals to earth.
#[test]
fn an_element_that_is_off_is_live_to_earth_at_both_ends() {
    let plant = plant();
    let f = found(&plant, &[], &tank_at(45.0));
    assert!(f.volts_at_rest("EU", "L2E") < 1.0, "{}", f.volts_at_rest("EU", "L2E"));
    for wire in ["EU", "L2E"] {
        let volts = f.volts_at_rest(wire, "PE");
        assert!((volts - 120.0).abs() < 3.0, "{wire} to earth: {volts:.0} V");
    }
    // With the element open its switched side is cut off from both lines, and hangs on stray leakage.
    let open = found(&plant, &["EUP:open"], &tank_at(45.0));
    assert!(open.volts_at_rest("EU", "PE") < 100.0, "{}", open.volts_at_rest("EU", "PE"));
    assert!(open.volts_while("EU", "L2E", "force-upper") > 230.0);
    assert!(open.amps_at_start("EUP", "force-upper") < 0.1);
}

/// A relay that does not close: full supply volts across its contact, none across its load, none drawn.
#[test]
fn a_relay_that_does_not_close() {
    let plant = plant();
    for fault in ["K3:open", "K3:driver:the-driver", "K3:driver:the-coil"] {
        let f = found(&plant, &[fault], &tank_at(45.0));
        assert!(f.volts_while("L1E", "EU", "force-upper") > 230.0, "{fault}");
        assert!(f.volts_while("EU", "L2E", "force-upper") < 1.0, "{fault}");
        assert!(f.amps_at_start("EUP", "force-upper") < 0.1, "{fault}");
    }
}

#[test]
fn no_supply_leaves_the_display_dark_and_nothing_tripped() {
    let plant = plant();
    let f = found(&plant, &["MAINS:absent"], &tank_at(45.0));
    assert!(!f.operation.display_lit && f.tripped().is_empty() && f.stored().is_empty());
    assert!(f.volts_at_rest("S1", "S2") < 5.0);
    assert!(f.operation.outcome.call > 0.9);
}

/// The starting torque falls with the square of the voltage: 12 % low still starts, 25 % low does not. Motors are made
/// for ±10 % (NEMA MG 1); the heating element gives (0.75)² = 56 % of its power.
#[test]
fn low_supply_voltage() {
    let plant = plant();
    let visit = tank_at(45.0);
    let sound = found(&plant, &[], &visit);
    let low = found(&plant, &["MAINS:low:by-12-%"], &visit);
    assert_eq!(low.settled("heat-pump").compressor, CompressorDoes::Runs);
    assert!(low.amps_settled("COMP", "heat-pump") > sound.amps_settled("COMP", "heat-pump"));
    let lower = found(&plant, &["MAINS:low:by-25-%"], &visit);
    let start = lower.timeline("heat-pump").at_start().expect("a start");
    let seconds = hums_for(start.compressor);
    // Less current at less voltage, so the overload takes longer.
    assert!(seconds > 7.0 && start.supply_amps < 9.5, "{seconds:.0} s at {:.1} A", start.supply_amps);
    let share = lower.amps_at_start("EUP", "force-upper") / sound.amps_at_start("EUP", "force-upper");
    assert!((share - 0.75).abs() < 0.01, "{share}");
    assert!((lower.operation.heat_by_elements - 0.5625).abs() < 0.04, "{}", lower.operation.heat_by_elements);
}

/// A fan that stands lets the coil freeze: the board stops the heat pump for a low evaporating temperature.
#[test]
fn a_fan_that_stands() {
    let plant = plant();
    let f = found(&plant, &["FAN:open"], &tank_at(45.0));
    assert_eq!(f.stored(), ["evaporating-low"]);
    let running = &f.timeline("heat-pump").phases[2];
    assert!(running.point.evaporating < 273.15 - 4.0);
    assert!(f.thermometer(Spot::Air, "heat-pump") > 15.0);
}

/// What has burnt through reads OL, not megohms. Common practice, no source.
#[test]
fn a_broken_winding_reads_beyond_the_meter() {
    let plant = plant();
    for (mode, part) in [
        ("COMP:run-open", "COMP"),
        ("FAN:open", "FAN"),
        ("EUP:open", "EUP"),
        ("EEV:coil-open:stopped-half-open", "EEV"),
    ] {
        let f = found(&plant, &[mode], &tank_at(45.0));
        let sound = found(&plant, &[], &tank_at(45.0));
        assert_eq!(sound.over(part), 0, "{part}");
        assert!(f.over(part) > 0, "{mode}");
    }
}
