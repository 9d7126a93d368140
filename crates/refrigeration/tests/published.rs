//! Sizes of effects against published figures.

mod machines;

use halfsplit_refrigeration::{LoopFaults, Surroundings};
use machines::{
    Bench, SOUND, fixed_orifice, fixed_orifice_piston, thermostatic, thermostatic_heating,
    thermostatic_heating_generous, water_heater,
};

/// One cell: what, published, ours.
type Cell = (String, f64, f64);

fn within(cells: &[Cell], points: f64) -> usize {
    cells.iter().filter(|c| (c.1 - c.2).abs() <= points).count()
}

fn table(cells: &[Cell]) -> String {
    cells
        .iter()
        .map(|c| format!("{}: published {:.3}, ours {:.3}, {:+.1} points\n", c.0, c.1, c.2, 100.0 * (c.2 - c.1)))
        .collect()
}

/// Source: charge regressions of NREL OpenStudio-HPXML (heat pump installation quality), after NIST Technical Note 1848, for the power of
/// compressor and outdoor fan together (the coil's power in EnergyPlus, from memory):
/// Y = 1 + (a1 + a2 Tin + a3 Tout + a4 f) f with f the fractional deviation of charge and temperatures in °C.
fn regression(a: [f64; 4], t_in: f64, t_out: f64, f: f64) -> f64 {
    1.0 + (a[0] + a[1] * t_in + a[2] * t_out + a[3] * f) * f
}

fn charge_cells(b: &Bench, capacity: [f64; 4], power: [f64; 4], t_in: f64, t_out: f64) -> Vec<Cell> {
    [-0.1, -0.2, -0.3]
        .into_iter()
        .flat_map(|f| {
            let r = b.residual(&b.around, &LoopFaults { charge: 1.0 + f, ..SOUND });
            [
                (format!("{} charge {f} capacity", b.name), regression(capacity, t_in, t_out, f), r.capacity),
                (format!("{} charge {f} power", b.name), regression(power, t_in, t_out, f), r.unit_power),
            ]
        })
        .collect()
}

#[test]
fn undercharge_costs_what_the_regressions_say() {
    let cooling = ([-0.946, 0.0493, -0.00118, -1.15], [-0.313, 0.0115, 0.00266, -0.116]);
    let heating = ([-0.033_859_5, 0.0, 0.020_282_7, -2.622_634_3], [0.061_564_9, 0.0, 0.004_455_4, -0.259_850_7]);
    let mut cells = charge_cells(&fixed_orifice(), cooling.0, cooling.1, 26.67, 35.0);
    cells.extend(charge_cells(&thermostatic(), cooling.0, cooling.1, 26.67, 35.0));
    cells.extend(charge_cells(&thermostatic_heating_generous(), heating.0, heating.1, 21.1, 8.33));
    println!("{}", table(&cells));
    assert_eq!((within(&cells, 0.04), cells.len()), (18, 18), "{}", table(&cells));
    // With the usual coil and line heating misses both at −30 %: see the README.
    let usual = charge_cells(&thermostatic_heating(), heating.0, heating.1, 21.1, 8.33);
    println!("{}", table(&usual));
    assert!(within(&usual, 0.04) >= 4 && usual.len() == 6, "{}", table(&usual));
    assert_eq!(within(&usual, 0.065), 6, "{}", table(&usual));
}

/// Restriction that takes a share of the pressure difference between the two sides when the machine has settled with it.
fn restriction_of(b: &Bench, share: f64) -> f64 {
    let taken = |restriction: f64| {
        let p = b.at(&b.around, &LoopFaults { restriction, ..SOUND });
        let volume = 1.0 / b.machine.working.liquid(p.liquid).rho;
        b.machine.meter.restriction_drop(restriction, volume, p.flow) / (p.discharge_pressure - p.suction_pressure)
    };
    let (mut low, mut high) = (0.0, 0.9);
    for _ in 0..40 {
        let mid = 0.5 * (low + high);
        if taken(mid) < share { low = mid } else { high = mid }
    }
    low
}

/// Source: regressions of the NREL OpenStudio fault measures, cooling, 19.4 °C wet bulb inside, 35 °C outside, rated COP 4; and
/// Breuker and Braun, HVAC&R Research 4(4), 1998, from memory, whose machine had R22, a piston compressor and a fixed orifice. Power is that of
/// compressor and outdoor fan, as in the charge regressions.
#[test]
fn single_faults_cost_what_was_published() {
    let nrel = fixed_orifice();
    let measured = fixed_orifice_piston();
    let with = |b: &Bench, f: LoopFaults| b.residual(&b.around, &f);
    let flow = |b: &Bench, air_flow: f64| b.residual(&Surroundings { air_flow, ..b.around }, &SOUND);
    let drop = |b: &Bench, share: f64| with(b, LoopFaults { restriction: restriction_of(b, share), ..SOUND });
    let rows = [
        ("overcharge 30 %", 0.908, 0.951, with(&nrel, LoopFaults { charge: 1.3, ..SOUND })),
        ("condenser airflow −30 %", 1.001, 0.922, with(&nrel, LoopFaults { sink_flow: 0.7, ..SOUND })),
        ("condenser airflow −50 %", 0.963, 0.789, with(&nrel, LoopFaults { sink_flow: 0.5, ..SOUND })),
        // Level 0.6 is 60 % of the circuit filled with air of one atmosphere; gathered in the condenser's vapour room, about a third of the
        // whole, it makes some 1.9 bar of 28.
        ("air in the circuit, level 0.6", 1.033, 0.936, with(&nrel, LoopFaults { air_in_circuit: 0.065, ..SOUND })),
        ("restriction, 10 % of the pressure difference", 0.965, 0.976, drop(&nrel, 0.1)),
        ("restriction, 25 % of the pressure difference", 0.842, 0.836, drop(&nrel, 0.25)),
        ("evaporator airflow −30 %", 0.837, 0.885, flow(&nrel, 0.7)),
        ("from memory: 14 % leak", 0.92, 0.95, with(&measured, LoopFaults { charge: 0.86, ..SOUND })),
        ("from memory: restriction, 20 % of the pressure difference", 0.83, 0.91, drop(&measured, 0.2)),
        ("from memory: 35 % valve leak", 0.79, 0.75, with(&measured, LoopFaults { pumping: 0.65, ..SOUND })),
        ("from memory: 56 % condenser blockage", 0.89, 0.82, with(&measured, LoopFaults { sink_flow: 0.44, ..SOUND })),
        ("from memory: 36 % evaporator flow loss", 0.81, 0.83, flow(&measured, 0.64)),
    ];
    let cells: Vec<Cell> = rows
        .iter()
        .flat_map(|(what, capacity, cop, r)| {
            [
                (format!("{what}, capacity"), *capacity, r.capacity),
                (format!("{what}, COP"), *cop, r.capacity / r.unit_power),
            ]
        })
        .collect();
    // The README lists the four others and why.
    println!("{}", table(&cells));
    assert_eq!((within(&cells, 0.06), cells.len()), (20, 24), "{}", table(&cells));
    assert_eq!(within(&cells, 0.1), 24, "{}", table(&cells));
    // No gain where a loss was published or the other way round; a published effect of less than two points is neither.
    for c in &cells {
        let (published, ours) = (c.1 - 1.0, c.2 - 1.0);
        assert!(published * ours >= 0.0 || published.abs() < 0.02, "{}", table(&cells));
    }
}

/// Source: cycle table of an R-134a water heater in air of 20 °C with 6 K superheat, computed with an open property library;
/// compressor efficiencies judgement; accept ±10 %.
#[test]
fn the_water_heater_follows_its_cycle_table() {
    let b = water_heater();
    for (water, evaporating, condensing, discharge, power, heat) in [
        (20.0, 4.5, 28.0, 52.0, 267.0, 1620.0),
        (40.0, 6.5, 47.0, 72.0, 367.0, 1530.0),
        (45.0, 7.0, 51.0, 76.0, 388.0, 1510.0),
        (50.0, 7.0, 56.0, 83.0, 417.0, 1450.0),
        (60.0, 8.0, 66.0, 95.0, 481.0, 1390.0),
    ] {
        let p = b.at(&Surroundings { sink: 273.15 + water, ..b.around }, &SOUND);
        let near = |got: f64, want: f64, by: f64, what: &str| {
            assert!((got - want).abs() <= by, "water {water}: {what} {got:.2} for {want}");
        };
        near(p.evaporating - 273.15, evaporating, 2.0, "evaporating");
        near(p.condensing - 273.15, condensing, 2.0, "condensing");
        // The table's figure is at the shell; ours in the line some kelvin further.
        near(p.discharge + 3.0 - 273.15, discharge, 2.5, "discharge");
        near(p.compressor_power / power, 1.0, 0.1, "power ratio");
        near(p.heat / heat, 1.0, 0.1, "heat ratio");
    }
}

/// Source: COP curve of a wrapped-condenser water heater, NREL residential heat pump water heater model: c1 + c2 x + c3 x² + c4 y + c5 y²
/// + c6 x y, x evaporator wet bulb and y tank water in °C, 1 at its own rating point.
#[test]
fn cop_falls_with_warmer_water_as_published() {
    let b = water_heater();
    let curve = |x: f64, y: f64| 1.1332 + 0.063 * x - 9.79e-5 * x * x - 0.00972 * y - 2.14e-5 * y * y - 6.86e-4 * x * y;
    // Air of 19.7 °C at 50 % has the curve's wet bulb of 13.5 °C; the fan takes 35 W.
    let cop = |water: f64| {
        let p = b.at(&Surroundings { air: 292.85, sink: 273.15 + water, ..b.around }, &SOUND);
        p.heat / (p.compressor_power + 35.0)
    };
    let (rated, published) = (cop(48.9), curve(13.5, 48.9));
    for water in [15.0, 35.0, 50.0, 55.0] {
        let (ours, theirs) = (cop(water) / rated, curve(13.5, water) / published);

        assert!((ours / theirs - 1.0).abs() < 0.08, "water {water}: published {theirs:.3}, ours {ours:.3}");
    }
}

/// Source: common practice, no source: some five hours for a full reheat of 189 L through 35 K; 7.7 kWh by 1.163 Wh per litre and
/// kelvin (ASHRAE Handbook — Fundamentals); overall COP somewhat above 3 (trade figure for such machines).
#[test]
fn a_full_reheat_takes_an_evening() {
    let b = water_heater();
    let mut tank = halfsplit_refrigeration::tank::Tank::uniform(189.0, 12, 288.15, 2.0);
    let still = halfsplit_refrigeration::tank::Weather { room: 293.15, draw: 0.0, cold: 288.15, inlet: 0.0 };
    let up = tank.heat_up(323.15, 1e5, (0.1, 0.6), &still, |water| {
        let p = b.at(&Surroundings { sink: water, ..b.around }, &SOUND);
        (p.heat, p.compressor_power + 35.0)
    });

    assert!(up.reached && (4.3..5.7).contains(&(up.time / 3600.0)), "{up:?}");
    assert!((7.6..8.1).contains(&(up.heat / 3.6e6)), "{up:?}");
    assert!((3.0..5.0).contains(&up.cop()), "{up:?}");
}
