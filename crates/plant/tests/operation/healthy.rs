//! The healthy machine.

use crate::bench::{found, plant, tank_at};
use halfsplit_plant::{CompressorDoes, Phase};

/// Water °C, then evaporating, condensing and discharge (at the shell) °C, compressor W and A, heat W; air at 20 °C,
/// superheat 6 K, subcooling 5 K. Source: R-134a cycles from the saturation and vapour properties of ASHRAE Fundamentals
/// (an open property library) with judged compressor efficiencies.
const TABLE: [(f64, f64, f64, f64, f64, f64, f64); 5] = [
    (20.0, 4.5, 28.0, 52.0, 267.0, 1.15, 1620.0),
    (40.0, 6.5, 47.0, 72.0, 367.0, 1.6, 1530.0),
    (45.0, 7.0, 51.0, 76.0, 388.0, 1.7, 1510.0),
    (50.0, 7.0, 56.0, 83.0, 417.0, 1.8, 1450.0),
    (60.0, 8.0, 66.0, 95.0, 481.0, 2.1, 1390.0),
];

fn within(got: f64, want: f64, by: f64, what: &str) {
    assert!((got - want).abs() <= by, "{what}: {got:.2}, table {want:.2} ± {by:.2}");
}

/// Powers, and amps from half of the rated load on, within the table's ±10 %; temperatures within 3 K, the discharge line being 2 to 5 K below the shell
/// (common practice, no source).
#[test]
fn readings_of_a_sound_machine() {
    let plant = plant();
    let mut factor_before = 0.0;
    for (water, et, ct, dt, watts, amps, heat) in TABLE {
        let at = |what: &str| format!("{what} at {water} °C water");
        let sound = found(&plant, &[], &tank_at(water));
        let phase = sound.settled("heat-pump");
        assert_eq!(phase.compressor, CompressorDoes::Runs, "at {water} °C");
        let p = &phase.point;
        within(p.evaporating - 273.15, et, 3.0, &at("evaporating"));
        within(p.condensing - 273.15, ct, 3.0, &at("condensing"));
        within(p.discharge - 273.15, dt - 3.5, 4.5, &at("discharge line"));
        within(p.superheat, 6.0, 0.5, &at("superheat"));
        within(p.compressor_power, watts, 0.1 * watts, &at("compressor watts"));
        within(p.heat, heat, 0.1 * heat, &at("heat"));
        let drawn = sound.amps_settled("COMP", "heat-pump");
        if water >= 40.0 {
            within(drawn, amps, 0.1 * amps, &at("compressor amps"));
        }
        // Watts are volts times amps times a power factor of at most 1. The table takes 0.96 throughout; a motor far
        // below its rated load still draws the current that magnetises it, so that there the amps lie above the table.
        let power_factor = p.compressor_power / (240.0 * drawn);
        assert!((0.6..=1.0).contains(&power_factor), "power factor {power_factor:.2} at {water} °C");
        assert!(power_factor > factor_before, "the power factor falls with load at {water} °C");
        factor_before = power_factor;
        // The fan is there on top; vectors add up to no more than the sum.
        let supply = phase.supply_amps;
        let most = drawn + sound.amps_settled("FAN", "heat-pump") + 0.05;
        assert!(supply <= most && supply > amps * 0.9, "supply {supply:.2} A at {water} °C");
    }
}

/// 4500 W at 240 V draw 18.75 A through 12.8 ohm (P = V²/R, I = P/V). The supply's quarter of an ohm and the contacts on
/// the way take 2 % of it: 240 V / 13.1 ohm.
#[test]
fn an_element_draws_its_amps() {
    let plant = plant();
    let sound = found(&plant, &[], &tank_at(40.0));
    within(sound.amps_at_start("EUP", "force-upper"), 240.0 / 13.1, 0.1, "element amps");
    within(sound.volts_while("EU", "L2E", "force-upper"), 240.0, 6.0, "volts across the element");
    // Interlocked: the lower one stays off.
    assert!(sound.amps_at_start("ELO", "force-upper") < 0.1);
}

/// Nothing has tripped, nothing is stored, and the owner has no reason to call.
#[test]
fn a_sound_machine_has_no_history() {
    let plant = plant();
    let sound = found(&plant, &[], &tank_at(45.0));
    assert!(sound.operation.display_lit);
    assert_eq!((sound.tripped(), sound.stored()), (vec![], vec![]));
    assert!(sound.operation.heat_by_heat_pump > 0.9, "{}", sound.operation.heat_by_heat_pump);
    assert!(sound.operation.outcome.call <= 0.05);
}

/// Fan first with the valve shut, then the compressor, then the valve trimmed: in the sheet's order, one after the other.
#[test]
fn the_timeline_of_a_sound_start() {
    let plant = plant();
    let sound = found(&plant, &[], &tank_at(45.0));
    let line = |p: &Phase| {
        let k = |x: f64| x - 273.15;
        format!(
            "{:>6.0} s  {:<30} {:?}; {:.2} A; evaporating {:.0} °C, condensing {:.0} °C, superheat {:.0} K",
            p.starts,
            p.name,
            p.compressor,
            p.supply_amps,
            k(p.point.evaporating),
            k(p.point.condensing),
            p.point.superheat
        )
    };
    let t = sound.timeline("heat-pump");
    assert_eq!(t.fired, Vec::<usize>::new());
    let lines: Vec<String> = t.phases.iter().map(line).collect();
    insta::assert_snapshot!(lines.join("\n"));
}
