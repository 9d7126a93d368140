//! The healthy cycle against an independent solution with CoolProp (`reference/cycle.py`).

mod machines;

use halfsplit_refrigeration::Surroundings;
use machines::{SOUND, sizes, water_heater};
use std::collections::BTreeMap;

/// Source: CoolProp 8.0.0 (R-134a after Tillner-Roth and Baehr 1994, moist air after ASHRAE RP-1485) with scipy's root finder.
#[test]
fn the_cycle_agrees_with_an_independent_solution() {
    let b = water_heater();
    // The reference was solved for these sizes; the property tables may move their last digits.
    let stored = include_str!("../reference/sizes.txt");
    let ours = sizes(&b.machine);
    assert_eq!(ours.lines().count(), stored.lines().count());
    for (ours, stored) in ours.lines().zip(stored.lines()) {
        let ((name, a), (same, b)) = (ours.split_once(' ').unwrap(), stored.split_once(' ').unwrap());
        let (a, b): (f64, f64) = (a.parse().unwrap(), b.parse().unwrap());
        assert!(
            name == same && (a / b - 1.0).abs() < 1e-6,
            "the machine's sizes changed ({ours} for {stored}): write reference/sizes.txt anew (example `sizes`) and run reference/cycle.py"
        );
    }
    let mut rows = 0;
    for line in include_str!("../reference/cycle.txt").lines().filter(|l| !l.starts_with('#')) {
        let row: BTreeMap<&str, f64> =
            line.split(' ').map(|w| w.split_once('=').unwrap()).map(|(k, v)| (k, v.parse().unwrap())).collect();
        let p = b.at(&Surroundings { sink: 273.15 + row["water"], ..b.around }, &SOUND);
        for (what, ours, by) in [
            ("evaporating", p.evaporating, 0.1),
            ("condensing", p.condensing, 0.1),
            ("discharge", p.discharge + 3.0, 0.25),
            ("liquid", p.liquid, 0.15),
        ] {
            assert!((ours - row[what]).abs() < by, "water {}: {what} {ours} K for {} K", row["water"], row[what]);
        }
        for (what, ours, by) in [
            ("suction_pressure", p.suction_pressure, 4e-3),
            ("discharge_pressure", p.discharge_pressure, 3e-3),
            ("flow", p.flow, 4e-3),
            ("power", p.compressor_power, 4e-3),
            ("heat", p.heat, 4e-3),
            ("boiling_share", p.boiling_share, 5e-3),
        ] {
            assert!((ours / row[what] - 1.0).abs() < by, "water {}: {what} {ours} for {}", row["water"], row[what]);
        }
        rows += 1;
    }
    assert_eq!(rows, 4);
}
