//! What the meter shows. The meter's own figures (inputs, ranges, limits) are common practice, no source; the values
//! between the probes follow from Ohm's law.

use halfsplit_circuit::meter::{Input, Meter, MeterError, Reading, Shown, UnderTest};
use halfsplit_circuit::{Complex, CoupledPair, Network, Node};

fn value(reading: Reading) -> f64 {
    match reading.shown {
        Shown::Value(v) => v,
        Shown::OverLimit => panic!("over limit"),
    }
}

fn close(got: f64, expected: f64, tolerance: f64) {
    assert!(
        (got - expected).abs() <= tolerance,
        "got {got}, expected {expected}"
    );
}

fn two_nodes() -> (Network, Node, Node) {
    let mut network = Network::new();
    let a = network.add_node();
    let b = network.add_node();
    (network, a, b)
}

#[test]
fn ghost_shows_at_high_input_and_goes_at_low() {
    let (mut network, live, dead) = two_nodes();
    network.ac_source(live, Node::EARTH, Complex::real(120.0), 0.1);
    network.stray_coupling(live, dead, 300e-12);
    let meter = Meter::common_practice();
    let under_test = UnderTest::new(&network, 60.0);
    // Divider of 300 pF against 100 pF stray, 100 pF input and 10 Mohm.
    let omega = core::f64::consts::TAU * 60.0;
    let load = Complex::new(1e-7 + 1e-12, omega * 200e-12);
    let series = Complex::new(0.0, omega * 300e-12);
    let expected = 120.0 * (series / (series + load)).abs();
    let high = meter
        .volts_ac(&under_test, dead, Node::EARTH, Input::High)
        .unwrap();
    close(value(high), expected, 1e-3);
    assert!(value(high) > 50.0);
    let low = meter
        .volts_ac(&under_test, dead, Node::EARTH, Input::Low)
        .unwrap();
    assert!(value(low) < 0.05, "{low:?}");
    let real = meter
        .volts_ac(&under_test, live, Node::EARTH, Input::Low)
        .unwrap();
    close(value(real), 120.0, 0.01);
    // A ghost does not make a part live; a source does.
    assert!(meter.ohms(&under_test, dead, Node::EARTH).is_ok());
    assert!(matches!(
        meter.ohms(&under_test, live, Node::EARTH),
        Err(MeterError::LivePart { volts }) if (volts - 120.0).abs() < 0.1
    ));
}

#[test]
fn direct_volts_have_a_sign_and_load_the_source() {
    let (mut network, plus, far) = two_nodes();
    network.dc_source(plus, Node::EARTH, 5.0, 1.0);
    network.resistor(plus, far, 10e6);
    let meter = Meter::common_practice();
    let under_test = UnderTest::new(&network, 60.0);
    let reversed = meter
        .volts_dc(&under_test, Node::EARTH, plus, Input::High)
        .unwrap();
    close(value(reversed), -5.0, 1e-6);
    let loaded = meter
        .volts_dc(&under_test, far, Node::EARTH, Input::High)
        .unwrap();
    close(value(loaded), 2.5, 1e-4);
}

#[test]
fn ohms_ranges_over_limit_and_uncertainty() {
    let meter = Meter::common_practice();
    for (ohms, resolution) in [(12.8, 0.1), (6.2e3, 10.0), (10e3, 10.0), (20e6, 1e4)] {
        let (mut network, a, b) = two_nodes();
        network.resistor(a, b, ohms);
        let reading = meter.ohms(&UnderTest::new(&network, 60.0), a, b).unwrap();
        close(value(reading), ohms, 1e-4 * ohms);
        close(reading.resolution, resolution, 1e-9 * resolution);
        let limit = 0.009 * ohms + 2.0 * resolution;
        close(
            reading.standard_uncertainty,
            limit / 3.0_f64.sqrt(),
            1e-4 * limit,
        );
    }
    let (mut network, a, b) = two_nodes();
    let open = network.resistor(a, b, 200e6);
    let reading = meter.ohms(&UnderTest::new(&network, 60.0), a, b).unwrap();
    assert_eq!(reading.shown, Shown::OverLimit);
    assert_eq!(reading.displayed(), None);
    network.set_ohms(open, 12.84).unwrap();
    let reading = meter.ohms(&UnderTest::new(&network, 60.0), a, b).unwrap();
    close(reading.displayed().unwrap(), 12.8, 1e-9);
    // A node that this network does not have is an error, not a crash.
    let (mut bigger, ..) = two_nodes();
    let foreign = bigger.add_node();
    assert!(matches!(
        meter.ohms(&UnderTest::new(&network, 60.0), a, foreign),
        Err(MeterError::Circuit(_))
    ));
}

/// Parallel paths lie, and lifting a lead cures it: the winding of a motor in parallel with a heater.
#[test]
fn parallel_paths_lower_the_reading() {
    let meter = Meter::common_practice();
    let (mut network, a, b) = two_nodes();
    network.resistor(a, b, 12.8);
    network.resistor(a, b, 8.6);
    let both = meter.ohms(&UnderTest::new(&network, 60.0), a, b).unwrap();
    close(value(both), 12.8 * 8.6 / 21.4, 1e-6);
}

#[test]
fn continuity_beeps_below_its_limit() {
    let meter = Meter::common_practice();
    let (mut network, a, b) = two_nodes();
    let joint = network.contact(a, b, 0.2);
    for (ohms, beeps) in [(0.2, true), (29.0, true), (31.0, false), (1e6, false)] {
        network.set_ohms(joint, ohms).unwrap();
        let test = meter
            .continuity(&UnderTest::new(&network, 60.0), a, b)
            .unwrap();
        assert_eq!(test.beeps, beeps, "{ohms}");
    }
}

#[test]
fn capacitance_of_good_open_shorted_and_bridged_parts() {
    let meter = Meter::common_practice();
    let (mut network, a, b) = two_nodes();
    let capacitor = network.capacitor(a, b, 12.5e-6);
    let read = |network: &Network| meter.farads(&UnderTest::new(network, 60.0), a, b);
    close(value(read(&network).unwrap()), 12.5e-6, 1e-9);

    // A 15 kohm bleeder adds under one per cent; a winding in parallel leaves no capacitance to see.
    let bleeder = network.resistor(a, b, 15e3);
    let bled = value(read(&network).unwrap());
    assert!(bled > 12.5e-6 && bled < 12.65e-6, "{bled}");
    network.set_ohms(bleeder, 20.5).unwrap();
    assert_eq!(read(&network).unwrap().shown, Shown::OverLimit);
    network.set_ohms(bleeder, 1e12).unwrap();

    network.set_farads(capacitor, 0.0).unwrap();
    assert!(value(read(&network).unwrap()) < 1e-9, "open: strays only");
    network.set_leakage(capacitor, 1e3).unwrap();
    assert_eq!(read(&network).unwrap().shown, Shown::OverLimit, "shorted");
    network.set_leakage(capacitor, 0.0).unwrap();

    // Left charged: refused until it is discharged.
    network.set_farads(capacitor, 12.5e-6).unwrap();
    network.set_charge(capacitor, 300.0).unwrap();
    assert!(matches!(
        read(&network),
        Err(MeterError::LivePart { volts }) if (volts - 300.0).abs() < 0.1
    ));
    let volts = meter
        .volts_dc(&UnderTest::new(&network, 60.0), a, b, Input::High)
        .unwrap();
    close(value(volts), 300.0, 1e-3);
    network.set_charge(capacitor, 0.0).unwrap();
    assert!(read(&network).is_ok());
}

/// A run capacitor still wired to its motor: both windings in series stand in parallel with it.
#[test]
fn capacitance_through_a_motor_is_over_limit() {
    let meter = Meter::common_practice();
    let mut network = Network::new();
    let [run, start, common] = [0; 3].map(|_| network.add_node());
    network.capacitor(run, start, 12.5e-6);
    let windings = CoupledPair {
        dc_ohms: [8.6, 11.9],
        ..CoupledPair::ABSENT
    };
    network.two_winding_motor(run, start, common, windings);
    let reading = meter
        .farads(&UnderTest::new(&network, 60.0), run, start)
        .unwrap();
    assert_eq!(reading.shown, Shown::OverLimit);
}

#[test]
fn clamp_round_one_two_and_many_turns() {
    let (mut network, line, back) = two_nodes();
    network.ac_source(line, Node::EARTH, Complex::real(120.0), 0.01);
    network.ac_source(back, Node::EARTH, Complex::real(-120.0), 0.01);
    let element = network.resistor(line, back, 12.8);
    let leak = network.leak_to_earth(line, 12e3);
    let meter = Meter::common_practice();
    let solution = network.solve_ac(60.0).unwrap();
    close(
        value(meter.clamp_amps(&solution, &[(element, 1.0)])),
        240.0 / 12.82,
        1e-3,
    );
    let cable = meter.clamp_amps(&solution, &[(element, 1.0), (element, -1.0)]);
    close(value(cable), 0.0, 1e-12);
    let turns = meter.clamp_amps(&solution, &[(leak, 10.0)]);
    close(value(turns), 0.1, 1e-3);
}

#[test]
fn insulation_at_500_volts() {
    let meter = Meter::common_practice();
    let (mut network, winding, shell) = two_nodes();
    let leak = network.resistor(winding, shell, 400e3);
    let read = |network: &Network| {
        meter
            .insulation(&UnderTest::new(network, 60.0), winding, shell)
            .unwrap()
    };
    close(value(read(&network)), 400e3, 1.0);
    network.set_ohms(leak, 25e6).unwrap();
    close(value(read(&network)), 25e6, 2e3);
    network.set_ohms(leak, 1e13).unwrap();
    assert_eq!(read(&network).shown, Shown::OverLimit);
}

#[test]
fn diode_test_both_ways_shorted_and_open() {
    let meter = Meter::common_practice();
    let (mut network, anode, cathode) = two_nodes();
    let diode = network.diode(anode, cathode, 0.45, 10.0);
    let read = |network: &Network, red, black| {
        meter
            .diode(&UnderTest::new(network, 60.0), red, black)
            .unwrap()
    };
    // 0.45 V + 10 ohm at about 0.85 mA
    close(value(read(&network, anode, cathode)), 0.4585, 1e-3);
    assert_eq!(read(&network, cathode, anode).shown, Shown::OverLimit);
    network
        .replace(diode, halfsplit_circuit::Kind::Resistor { ohms: 0.1 })
        .unwrap();
    close(value(read(&network, anode, cathode)), 0.0, 1e-3);
    network.set_ohms(diode, 1e12).unwrap();
    assert_eq!(read(&network, anode, cathode).shown, Shown::OverLimit);

    // Ohms on a sound diode: blocked one way, some hundreds of ohms the other.
    let (mut network, anode, cathode) = two_nodes();
    network.diode(anode, cathode, 0.45, 10.0);
    let under_test = UnderTest::new(&network, 60.0);
    assert_eq!(
        meter.ohms(&under_test, cathode, anode).unwrap().shown,
        Shown::OverLimit
    );
    assert!(value(meter.ohms(&under_test, anode, cathode).unwrap()) > 500.0);
}
