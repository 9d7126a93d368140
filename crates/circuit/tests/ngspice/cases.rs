//! Networks drawn by hand: the circuits of invented machines, sound and faulted.

use crate::spice::Stamped;
use halfsplit_circuit::motor::{Duty, Fitted, Motor, Nameplate, RunCapacitor, WindingState};
use halfsplit_circuit::{Complex, ElementId, Kind, Network, Node};

pub struct Case {
    pub name: String,
    pub network: Network,
    pub motors: Vec<Stamped>,
    /// Pairs of nodes where the meter is put.
    pub probes: Vec<(Node, Node)>,
}

pub fn all() -> Vec<Case> {
    let mut cases = water_heater();
    cases.extend(condensing_unit());
    cases.extend(refrigerator());
    cases.extend(control_circuit());
    cases.extend(split_phase_supply());
    cases.extend(cable());
    cases
}

fn compressor() -> Fitted {
    Motor::from_nameplate(&Nameplate {
        volts: 240.0,
        hz: 60.0,
        rated_amps: 2.6,
        locked_amps: Some(11.0),
        main_ohms: Some(8.6),
        aux_ohms: Some(11.9),
        capacitor: RunCapacitor::Farads(12.5e-6),
        poles: 2,
        duty: Duty::Compressor,
    })
    .expect("a consistent nameplate")
}

fn fan() -> Fitted {
    Motor::from_nameplate(&Nameplate {
        volts: 240.0,
        hz: 60.0,
        rated_amps: 0.25,
        locked_amps: None,
        main_ohms: None,
        aux_ohms: None,
        capacitor: RunCapacitor::Unknown,
        poles: 6,
        duty: Duty::Fan,
    })
    .expect("a consistent nameplate")
}

fn stamp(network: &mut Network, (run, start, common): (Node, Node, Node), motor: Motor, slip: f64) -> Stamped {
    let windings = network.two_winding_motor(run, start, common, motor.at_slip(slip).coupled_pair());
    Stamped { windings, motor, slip }
}

/// 240 V from a midpoint-earthed transformer.
fn two_legs(network: &mut Network) -> (Node, Node) {
    let l1 = network.add_node();
    let l2 = network.add_node();
    network.ac_source(l1, Node::EARTH, Complex::real(120.0), 0.03);
    network.ac_source(l2, Node::EARTH, Complex::real(-120.0), 0.03);
    (l1, l2)
}

/// Relays for compressor, fan and two elements behind a two-pole cut-off.
struct WaterHeater {
    network: Network,
    cut_off: [ElementId; 2],
    relays: [ElementId; 4],
    capacitor: ElementId,
    overload: ElementId,
    elements: [ElementId; 2],
    motors: Vec<Stamped>,
    probes: Vec<(Node, Node)>,
}

fn water_heater_with(closed: [bool; 4], motor: Motor, slip: f64) -> WaterHeater {
    let mut network = Network::new();
    let (l1, l2) = two_legs(&mut network);
    let [l1e, l2e, run, start, common, fan_line, fan_start, upper, lower] = [0; 9].map(|_| network.add_node());
    let cut_off = [network.switch(l1, l1e, true, 0.01), network.switch(l2, l2e, true, 0.01)];
    let ends = [run, fan_line, upper, lower];
    let mut relay = 0;
    let relays = ends.map(|end| {
        relay += 1;
        network.switch(l1e, end, closed[relay - 1], 0.02)
    });
    let capacitor = network.lossy_capacitor(run, start, 12.5e-6, 0.2, 1e-9);
    let overload = network.switch(common, l2e, true, 0.03);
    let elements = [network.resistor(upper, l2e, 12.8), network.resistor(lower, l2e, 12.8)];
    network.leak_to_earth(lower, 50e6);
    network.stray_coupling(l1e, run, 80e-12);
    let compressor = stamp(&mut network, (run, start, common), motor, slip);
    let f = fan();
    network.capacitor(fan_line, fan_start, f.capacitor.unwrap_or(0.0));
    let fan = stamp(&mut network, (fan_line, fan_start, l2e), f.motor, 0.1);
    WaterHeater {
        network,
        cut_off,
        relays,
        capacitor,
        overload,
        elements,
        motors: vec![compressor, fan],
        probes: vec![
            (l1, l2),
            (run, common),
            (start, run),
            (run, l2e),
            (upper, l2e),
            (upper, Node::EARTH),
            (lower, Node::EARTH),
            (l1e, l2e),
        ],
    }
}

fn water_heater() -> Vec<Case> {
    type Edit = fn(&mut WaterHeater);
    let running = [true, true, false, false];
    let all_off = [false; 4];
    let sound = compressor().motor;
    let mut main_open = sound;
    main_open.main.state = WindingState::Open;
    let mut aux_open = sound;
    aux_open.aux.state = WindingState::Open;
    let mut turns = sound;
    turns.main.state = WindingState::ShortedTurns { fraction: 0.08 };
    let mut aux_turns = sound;
    aux_turns.aux.state = WindingState::ShortedTurns { fraction: 0.15 };

    let table: Vec<(&str, [bool; 4], Motor, f64, Edit)> = vec![
        ("running", running, sound, 0.04, |_| ()),
        ("locked", running, sound, 1.0, |_| ()),
        ("half-way", running, sound, 0.5, |_| ()),
        ("backwards", running, sound, 1.9, |_| ()),
        ("capacitor-weak", running, sound, 0.05, |h| {
            h.network.set_farads(h.capacitor, 6e-6).expect("capacitor");
        }),
        ("capacitor-open-locked", running, sound, 1.0, |h| {
            h.network.set_farads(h.capacitor, 0.0).expect("capacitor");
        }),
        ("capacitor-open-running", running, sound, 0.06, |h| {
            h.network.set_farads(h.capacitor, 0.0).expect("capacitor");
        }),
        ("capacitor-shorted", running, sound, 1.0, |h| {
            h.network.set_leakage(h.capacitor, 20.0).expect("capacitor");
        }),
        ("overload-open", running, sound, 1.0, |h| {
            h.network.set_closed(h.overload, false).expect("switch");
        }),
        ("main-open", running, main_open, 1.0, |_| ()),
        ("auxiliary-open", running, aux_open, 0.05, |_| ()),
        ("main-turns-shorted", running, turns, 0.05, |_| ()),
        ("auxiliary-turns-shorted", running, aux_turns, 1.0, |_| ()),
        ("winding-earthed", running, sound, 1.0, |h| {
            let start = h.probes[2].0;
            h.network.leak_to_earth(start, 15.0);
        }),
        ("leads-exchanged", running, sound, 1.0, |h| {
            let pair = h.motors[0].windings;
            let (run, common) = h.network.terminals(pair.first).expect("own");
            let (start, _) = h.network.terminals(pair.second).expect("own");
            h.network.reconnect(pair.first, start, common).expect("own");
            h.network.reconnect(pair.second, run, common).expect("own");
        }),
        ("upper-element", [false, true, true, false], sound, 1.0, |_| ()),
        ("relay-welded-and-element-earthed", all_off, sound, 1.0, |h| {
            h.network.replace(h.relays[3], Kind::Resistor { ohms: 0.004 }).expect("own");
            let lower = h.probes[6].0;
            h.network.leak_to_earth(lower, 300.0);
        }),
        ("element-open", [false, false, true, true], sound, 1.0, |h| {
            h.network.replace(h.elements[0], Kind::Switch { closed: false, ohms: 0.01 }).expect("own");
        }),
        ("cut-off-one-pole", running, sound, 1.0, |h| {
            h.network.set_closed(h.cut_off[0], false).expect("switch");
        }),
        ("cut-off-both-poles", all_off, sound, 1.0, |h| {
            for pole in h.cut_off {
                h.network.set_closed(pole, false).expect("switch");
            }
        }),
        ("relay-burnt", running, sound, 0.05, |h| {
            h.network.set_ohms(h.relays[0], 7.5).expect("switch");
        }),
    ];
    table
        .into_iter()
        .map(|(name, closed, motor, slip, edit)| {
            let mut heater = water_heater_with(closed, motor, slip);
            edit(&mut heater);
            Case {
                name: format!("water-heater-{name}"),
                network: heater.network,
                motors: heater.motors,
                probes: heater.probes,
            }
        })
        .collect()
}

/// A single-pole contactor, a dual capacitor, compressor and outdoor fan.
fn condensing_unit() -> Vec<Case> {
    let fitted = Motor::from_nameplate(&Nameplate {
        volts: 240.0,
        hz: 60.0,
        rated_amps: 16.7,
        locked_amps: Some(79.0),
        main_ohms: None,
        aux_ohms: None,
        capacitor: RunCapacitor::Farads(45e-6),
        poles: 2,
        duty: Duty::Compressor,
    })
    .expect("a consistent nameplate");
    [("running", true, 0.04), ("contactor-open", false, 1.0), ("locked", true, 1.0)]
        .into_iter()
        .map(|(name, closed, slip)| {
            let mut network = Network::new();
            let (l1, t2) = two_legs(&mut network);
            let [t1, start, fan_start] = [0; 3].map(|_| network.add_node());
            network.switch(l1, t1, closed, 0.005);
            network.capacitor(t2, start, 45e-6);
            network.capacitor(t2, fan_start, 1.4e-6);
            let motors = vec![
                stamp(&mut network, (t2, start, t1), fitted.motor, slip),
                stamp(&mut network, (t2, fan_start, t1), fan().motor, 0.1),
            ];
            Case {
                name: format!("condensing-unit-{name}"),
                probes: vec![(t1, t2), (t1, Node::EARTH), (start, t2), (l1, t1)],
                network,
                motors,
            }
        })
        .collect()
}

/// A starter resistor in place of a capacitor; 120 V with earthed neutral, perhaps through a loose joint.
fn refrigerator() -> Vec<Case> {
    let fitted = Motor::from_nameplate(&Nameplate {
        volts: 120.0,
        hz: 60.0,
        rated_amps: 1.0,
        locked_amps: Some(9.6),
        main_ohms: Some(6.5),
        aux_ohms: Some(9.0),
        capacitor: RunCapacitor::None,
        poles: 2,
        duty: Duty::Compressor,
    })
    .expect("a consistent nameplate");
    [
        ("starting", 18.0, 1.0, 0.02),
        ("running", 25e3, 0.03, 0.02),
        ("starter-cracked", 1e9, 1.0, 0.02),
        ("neutral-loose", 18.0, 1.0, 40.0),
    ]
    .into_iter()
    .map(|(name, starter, slip, neutral_ohms)| {
        let mut network = Network::new();
        let [line, neutral, run, start, common] = [0; 5].map(|_| network.add_node());
        network.ac_source(line, Node::EARTH, Complex::real(120.0), 0.1);
        network.contact(neutral, Node::EARTH, neutral_ohms);
        network.switch(line, common, true, 0.05);
        network.contact(run, neutral, 0.01);
        network.resistor(run, start, starter);
        let motors = vec![stamp(&mut network, (run, start, common), fitted.motor, slip)];
        Case {
            name: format!("refrigerator-{name}"),
            probes: vec![(common, run), (neutral, Node::EARTH), (start, common)],
            network,
            motors,
        }
    })
    .collect()
}

/// 24 V control: coils and switches in series, direct 12 V beside it that floats.
fn control_circuit() -> Vec<Case> {
    [("call", true), ("pressure-switch-open", false)]
        .into_iter()
        .map(|(name, closed)| {
            let mut network = Network::new();
            let [r, c, y, hp, coil, plus, minus, out] = [0; 8].map(|_| network.add_node());
            network.ac_source(r, c, Complex::polar_degrees(26.0, -3.0), 0.8);
            network.switch(r, y, true, 0.05);
            network.switch(y, hp, closed, 0.05);
            network.contact(hp, coil, 0.2);
            network.impedance(coil, c, Complex::new(20.0, 55.0), 12.0);
            network.stray_coupling(r, hp, 2e-9);
            network.dc_source(plus, minus, 12.0, 0.3);
            network.inductor(plus, out, 0.9, 400.0);
            network.switch(out, minus, true, 1.0);
            network.stray_coupling(minus, c, 4.7e-9);
            Case {
                name: format!("control-{name}"),
                probes: vec![(coil, c), (y, c), (hp, c), (plus, minus), (minus, Node::EARTH)],
                network,
                motors: Vec::new(),
            }
        })
        .collect()
}

/// Two 120 V loads across a supply whose neutral is sound or lost.
fn split_phase_supply() -> Vec<Case> {
    [("sound", 0.01), ("neutral-lost", 1e6)]
        .into_iter()
        .map(|(name, ohms)| {
            let mut network = Network::new();
            let (l1, l2) = two_legs(&mut network);
            let neutral = network.add_node();
            network.contact(neutral, Node::EARTH, ohms);
            network.resistor(l1, neutral, 10.0);
            network.resistor(l2, neutral, 60.0);
            Case {
                name: format!("split-phase-{name}"),
                probes: vec![(l1, neutral), (l2, neutral), (neutral, Node::EARTH)],
                network,
                motors: Vec::new(),
            }
        })
        .collect()
}

/// A cable of live and dead cores, and an island that hangs on its strays alone.
fn cable() -> Vec<Case> {
    let mut network = Network::new();
    let [live, dead, spare, island, islet] = [0; 5].map(|_| network.add_node());
    network.ac_source(live, Node::EARTH, Complex::real(230.0), 0.2);
    network.stray_coupling(live, dead, 600e-12);
    network.stray_coupling(dead, spare, 400e-12);
    network.resistor(island, islet, 1e4);
    vec![Case {
        name: "cable-ghosts".to_owned(),
        probes: vec![(dead, Node::EARTH), (spare, Node::EARTH), (island, islet), (live, dead)],
        network,
        motors: Vec::new(),
    }]
}
