//! Networks against closed forms and check values.

use core::f64::consts::TAU;
use halfsplit_circuit::{CircuitError, Complex, CoupledPair, Kind, Network, Node, Stray};

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got - expected).abs() <= tolerance,
        "{what}: got {got}, expected {expected} within {tolerance}"
    );
}

/// `P = V²/R`: 4500 W at 240 V is 12.8 ohm, 18.75 A; at 208 V it gives 3380 W and at 230 V 4132.8125 W; 5500 W is
/// 10.4727 ohm. Arithmetic.
#[test]
fn heating_elements() {
    let watts = |ohms: f64, volts: f64| {
        let mut network = Network::new();
        let line = network.add_node();
        network.ac_source(line, Node::EARTH, Complex::real(volts), 1e-6);
        let element = network.resistor(line, Node::EARTH, ohms);
        let solution = network.solve_ac(60.0).unwrap();
        (solution.power(element).re, solution.current(element).abs())
    };
    close(watts(12.8, 240.0).0, 4500.0, 0.002, "4500 W");
    close(watts(12.8, 240.0).1, 18.75, 1e-5, "18.75 A");
    close(watts(12.8, 208.0).0, 3380.0, 0.0034, "208 V");
    close(watts(12.8, 230.0).0, 4132.8125, 0.0042, "230 V");
    close(watts(10.472727, 240.0).0, 5500.0, 0.0055, "5500 W");
}

/// `C = I/(2 pi f V)`, V across the capacitor itself; a 45 uF capacitor at 440 V 60 Hz draws 7.46442 A. Arithmetic.
#[test]
fn run_capacitor_under_load() {
    for (microfarads, amps, volts, hz) in [
        (21.50742, 3.0, 370.0, 60.0),
        (30.02241, 4.98, 440.0, 60.0),
        (33.36582, 4.0, 318.0, 60.0),
        (23.07747, 2.9, 400.0, 50.0),
        (45.0, 7.46442, 440.0, 60.0),
        (2652.582385, 1.0, 1.0, 60.0),
    ] {
        let mut network = Network::new();
        let line = network.add_node();
        network.ac_source(line, Node::EARTH, Complex::real(volts), 1e-6);
        let capacitor = network.capacitor(line, Node::EARTH, microfarads * 1e-6);
        let solution = network.solve_ac(hz).unwrap();
        let current = solution.current(capacitor).abs();
        close(current, amps, 1e-5 * amps, "amperes");
        let across = solution.voltage(line, Node::EARTH).abs();
        close(
            1e6 * current / (TAU * hz * across),
            microfarads,
            1e-5 * microfarads,
            "uF",
        );
    }
}

/// Voltage drop `2 K I L / CM` with K 12.9 ohm cmil/ft, 20 A, 100 ft of 10 380 cmil: 4.9711 V. Common practice.
#[test]
fn drop_along_a_branch_circuit() {
    let mut network = Network::new();
    let [line, far, back] = [0; 3].map(|_| network.add_node());
    let leg = 12.9 * 100.0 / 10_380.0;
    network.ac_source(line, Node::EARTH, Complex::real(240.0), 1e-6);
    network.resistor(line, far, leg);
    network.resistor(back, Node::EARTH, leg);
    network.ac_current(far, back, Complex::real(20.0));
    let solution = network.solve_ac(60.0).unwrap();
    let at_load = solution.voltage(far, back).re;
    close(240.0 - at_load, 4.971098, 5e-5, "drop, V");
}

/// A terminal pair of a wye of 1.5 ohm legs reads 3.0 ohm; legs of 1.2, 1.2 and 1.35 in delta-free form add in pairs.
/// Arithmetic.
#[test]
fn three_equal_windings() {
    let mut network = Network::new();
    let [u, v, w, star] = [0; 4].map(|_| network.add_node());
    for terminal in [u, v, w] {
        network.resistor(terminal, star, 1.5);
    }
    let dc = network.factor_dc().unwrap();
    for (a, b) in [(u, v), (v, w), (w, u)] {
        close(dc.thevenin(a, b).ohms, 3.0, 1e-9, "pair");
    }
}

/// A control transformer, 240 V to 24 V: unloaded ratio, and the impedance of a 24 V load as the primary sees it.
/// Turns ratio laws: arithmetic.
#[test]
fn transformer() {
    let mut network = Network::new();
    let [primary, secondary] = [0; 2].map(|_| network.add_node());
    network.ac_source(primary, Node::EARTH, Complex::real(240.0), 1e-3);
    let windings = CoupledPair::transformer([240.0, 24.0], [50.0, 0.8], [20.0, 0.2], 20e3);
    let pair = network.coupled_pair((primary, Node::EARTH), (secondary, Node::EARTH), windings);
    let open = network.solve_ac(60.0).unwrap();
    let volts = open.voltage(secondary, Node::EARTH);
    // The drop over the primary leakage is 20 in 20 020.
    close(volts.abs(), 24.0 * 20e3 / 20_020.0, 1e-3, "open secondary");
    let load = network.resistor(secondary, Node::EARTH, 24.0);
    let loaded = network.solve_ac(60.0).unwrap();
    // Seen from the secondary: 0.8 + 0.5 ohm and 0.2 + 0.2 j ohm in series with 24 ohm.
    let expected = 24.0 / Complex::new(24.0 + 0.8 + 0.5, 0.2 + 0.2).abs();
    close(
        loaded.current(load).abs(),
        expected,
        2e-3 * expected,
        "load current",
    );
    let ratio = loaded.current(pair.first).abs() / loaded.current(load).abs();
    close(ratio, 0.1, 2e-3, "current ratio");
    let dc = network.factor_dc().unwrap();
    network.set_ohms(load, 1e9).unwrap();
    assert!(dc.thevenin(primary, secondary).ohms < 100.0);
}

/// Two floating conductors as a capacitive divider: 300 pF to the live one, 100 pF to earth gives 3/4 of the volts.
#[test]
fn ghost_voltage_is_a_capacitive_divider() {
    let mut network = Network::new();
    let [live, dead] = [0; 2].map(|_| network.add_node());
    network.ac_source(live, Node::EARTH, Complex::real(120.0), 0.1);
    network.stray_coupling(live, dead, 300e-12);
    let solution = network.solve_ac(60.0).unwrap();
    close(
        solution.voltage(dead, Node::EARTH).abs(),
        90.0,
        0.01,
        "ghost",
    );
    let stray = solution.stray_current(dead).abs();
    close(stray, 90.0 * TAU * 60.0 * 100e-12, 1e-9, "stray current");
}

/// A floating bridge of milliohms and megohms hangs on 1e-12 S: still exact. Ohm's law on each side.
#[test]
fn floating_parts_keep_their_ohms() {
    let mut network = Network::new();
    let [a, b, c, far] = [0; 4].map(|_| network.add_node());
    network.resistor(a, b, 0.001);
    network.resistor(b, c, 20e6);
    network.dc_source(far, Node::EARTH, 12.0, 0.1);
    let dc = network.factor_dc().unwrap();
    close(dc.thevenin(a, b).ohms, 0.001, 1e-12, "milliohm");
    close(
        dc.thevenin(a, c).ohms,
        20_000_000.001,
        500.0,
        "megohm beside strays",
    );
    assert!(dc.thevenin(a, far).ohms > 2e11, "only strays join them");
    close(dc.voltage(far, Node::EARTH), 12.0, 1e-9, "the other island");
}

#[test]
fn diodes_for_direct_current() {
    let mut network = Network::new();
    let [source, mid, out] = [0; 3].map(|_| network.add_node());
    let supply = network.dc_source(source, Node::EARTH, 12.0, 1.0);
    let diode = network.diode(source, mid, 0.6, 0.1);
    network.resistor(mid, Node::EARTH, 9.0);
    network.diode(out, mid, 0.6, 0.1);
    network.resistor(out, Node::EARTH, 1e3);
    let forward = network.solve_dc().unwrap();
    // (12 - 0.6) / (1 + 0.1 + 9)
    close(forward.current(diode), 11.4 / 10.1, 1e-6, "forward");
    network.set_volts(supply, Complex::ZERO, -12.0).unwrap();
    let reverse = network.solve_dc().unwrap();
    assert!(reverse.current(diode).abs() < 1e-9, "blocked");
}

#[test]
fn wrong_values_name_the_element() {
    let mut network = Network::new();
    let a = network.add_node();
    let resistor = network.resistor(a, Node::EARTH, 10.0);
    let capacitor = network.capacitor(a, Node::EARTH, 1e-6);
    for bad in [-1.0, 0.0, f64::NAN, f64::INFINITY] {
        network.set_ohms(resistor, bad).unwrap();
        for error in [network.solve_ac(60.0).err(), network.solve_dc().err()] {
            assert!(
                matches!(error, Some(CircuitError::BadValue { element, .. }) if element == resistor),
                "{bad}: {error:?}"
            );
        }
    }
    network.set_ohms(resistor, 10.0).unwrap();
    assert!(matches!(
        network.set_ohms(capacitor, 1.0),
        Err(CircuitError::WrongKind { element, .. }) if element == capacitor
    ));
    assert!(network.solve_ac(0.0).is_err());
    assert!(network.solve_ac(f64::NAN).is_err());
    let mut other = Network::new();
    for _ in 0..3 {
        other.add_node();
    }
    let foreign = other.add_node();
    network.reconnect(resistor, a, foreign).unwrap();
    let error = network.solve_dc().unwrap_err();
    assert_eq!(error, CircuitError::UnknownNode { node: foreign });
    assert!(error.to_string().contains("node 4"));
    network.reconnect(resistor, a, Node::EARTH).unwrap();
    network
        .set_stray(
            a,
            Stray {
                farads: 0.0,
                siemens: 0.0,
            },
        )
        .unwrap();
    assert!(matches!(
        network.solve_dc(),
        Err(CircuitError::BadSetting { .. })
    ));
    assert!(network.set_stray(Node::EARTH, Stray::default()).is_err());
}

#[test]
fn edits_are_the_faults() {
    let mut network = Network::new();
    let [line, load] = [0; 2].map(|_| network.add_node());
    network.ac_source(line, Node::EARTH, Complex::real(240.0), 0.05);
    let relay = network.switch(line, load, true, 0.01);
    let element = network.resistor(load, Node::EARTH, 12.8);
    let amps = |n: &Network| n.solve_ac(60.0).unwrap().current(element).abs();
    close(amps(&network), 240.0 / 12.86, 1e-9, "healthy");
    network.set_ohms(relay, 2.0).unwrap();
    close(amps(&network), 240.0 / 14.85, 1e-9, "burnt contact");
    network.set_closed(relay, false).unwrap();
    assert!(amps(&network) < 1e-6, "open");
    network
        .replace(relay, Kind::Resistor { ohms: 0.005 })
        .unwrap();
    close(amps(&network), 240.0 / 12.855, 1e-9, "welded");
    network.reconnect(element, line, Node::EARTH).unwrap();
    close(amps(&network), 240.0 / 12.85, 1e-9, "miswired");
    assert_eq!(network.terminals(element), Ok((line, Node::EARTH)));
    assert!(matches!(network.kind(relay), Ok(Kind::Resistor { .. })));
}
