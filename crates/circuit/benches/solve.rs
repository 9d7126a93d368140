//! How long it takes to solve networks of the size that a machine has.

#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

use criterion::{Criterion, criterion_group, criterion_main};
use halfsplit_circuit::meter::{Input, Meter, UnderTest};
use halfsplit_circuit::motor::{
    Duty, Load, LoadShape, Motor, MotorSupply, Nameplate, RunCapacitor,
};
use halfsplit_circuit::{Complex, Network, Node};
use std::hint::black_box;

/// A ladder with rungs and a few long ties: 1.6 elements a node, as in a wiring diagram.
fn ladder(size: usize) -> (Network, Vec<Node>) {
    let mut network = Network::new();
    let nodes: Vec<Node> = (0..size).map(|_| network.add_node()).collect();
    network.ac_source(nodes[0], Node::EARTH, Complex::real(240.0), 0.05);
    network.dc_source(nodes[size - 1], Node::EARTH, 12.0, 0.1);
    for (i, pair) in nodes.windows(2).enumerate() {
        match i % 4 {
            0 => network.switch(pair[0], pair[1], true, 0.01),
            1 => network.resistor(pair[0], pair[1], 12.8),
            2 => network.inductor(pair[0], pair[1], 0.02, 8.6),
            _ => network.lossy_capacitor(pair[0], pair[1], 12.5e-6, 0.1, 1e-9),
        };
    }
    for i in (0..size - 5).step_by(2) {
        network.resistor(nodes[i], nodes[i + 5], 1e3 + i as f64);
    }
    (network, nodes)
}

fn fitted() -> halfsplit_circuit::motor::Fitted {
    Motor::from_nameplate(&plate()).expect("a consistent nameplate")
}

fn plate() -> Nameplate {
    Nameplate {
        volts: 240.0,
        hz: 60.0,
        rated_amps: 2.6,
        locked_amps: Some(11.0),
        main_ohms: Some(8.6),
        aux_ohms: Some(11.9),
        capacitor: RunCapacitor::Farads(12.5e-6),
        poles: 2,
        duty: Duty::Compressor,
    }
}

fn solve(c: &mut Criterion) {
    let (twenty, _) = ladder(20);
    c.bench_function("20 nodes, AC: assemble, factor, solve", |b| {
        b.iter(|| black_box(&twenty).solve_ac(60.0));
    });
    c.bench_function("20 nodes, DC: assemble, factor, solve", |b| {
        b.iter(|| black_box(&twenty).solve_dc());
    });
    let (forty, _) = ladder(40);
    c.bench_function("40 nodes, AC: assemble, factor, solve", |b| {
        b.iter(|| black_box(&forty).solve_ac(60.0));
    });

    let (thirty, nodes) = ladder(30);
    let pairs: Vec<(Node, Node)> = (0..50)
        .map(|i| (nodes[i % 30], nodes[(7 * i + 11) % 30]))
        .collect();
    c.bench_function("30 nodes, DC: factor and 50 probe pairs", |b| {
        b.iter(|| {
            let dc = black_box(&thirty).factor_dc().expect("well-posed");
            pairs
                .iter()
                .map(|&(red, black)| dc.thevenin(red, black).ohms)
                .sum::<f64>()
        });
    });

    let meter = Meter::common_practice();
    c.bench_function("30 nodes, AC: factor and 50 meter readings", |b| {
        b.iter(|| {
            let under_test = UnderTest::new(black_box(&thirty), 60.0);
            pairs
                .iter()
                .filter_map(|&(red, black)| {
                    meter.volts_ac(&under_test, red, black, Input::High).ok()
                })
                .count()
        });
    });
}

fn motor(c: &mut Criterion) {
    c.bench_function("motor from nameplate", |b| {
        b.iter(|| Motor::from_nameplate(black_box(&plate())));
    });
    let fitted = fitted();
    let supply = MotorSupply::ideal(240.0, fitted.capacitor, 60.0);
    let load = Load {
        breakaway: 0.2,
        running_up: 0.2,
        running: 0.8,
        shape: LoadShape::Constant,
    };
    c.bench_function("motor run-up", |b| {
        b.iter(|| black_box(&fitted.motor).run_up(&supply, &load));
    });
}

criterion_group!(benches, solve, motor);
criterion_main!(benches);
