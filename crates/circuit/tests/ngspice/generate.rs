//! Networks made by a seeded generator: trees of wiring with loads, sources and faults.

use halfsplit_circuit::{Complex, Kind, Network, Node, Stray};

/// SplitMix64 (Steele, Lea & Flood, OOPSLA 2014).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// Spread evenly over decades.
    fn log(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }
}

fn element(r: &mut Random, network: &mut Network, a: Node, b: Node) {
    match r.below(9) {
        0 | 1 => network.resistor(a, b, r.log(0.5, 1e5)),
        2 => network.contact(a, b, r.log(1e-3, 1e6)),
        3 => network.switch(a, b, r.unit() < 0.6, r.log(1e-3, 0.1)),
        4 => network.lossy_capacitor(a, b, r.log(1e-9, 1e-4), r.log(1e-2, 10.0), 1e-9),
        5 => network.stray_coupling(a, b, r.log(10e-12, 1e-9)),
        6 => network.inductor(a, b, r.log(1e-3, 1.0), r.log(0.5, 50.0)),
        7 => {
            let reactance = (r.unit() - 0.3) * 50.0;
            let ohms = Complex::new(r.log(1.0, 100.0), reactance);
            network.impedance(a, b, ohms, r.log(1.0, 100.0))
        }
        _ => {
            let amps = Complex::polar_degrees(r.log(1e-3, 5.0), 360.0 * r.unit());
            let id = network.ac_current(a, b, amps);
            let dc_amps = r.log(1e-3, 0.1);
            // Into a floating part a current source would drive gigavolts; a load beside it keeps it sane.
            network.resistor(a, b, r.log(10.0, 1e3));
            network.replace(id, Kind::CurrentSource { ac_amps: amps, dc_amps }).expect("just added");
            id
        }
    };
}

/// A network of 5 to 20 nodes; every third has floating islands, every second has one or two faults.
pub fn network(seed: u64) -> Network {
    let mut r = Random::new(seed);
    let mut network = Network::with_stray(Stray { farads: r.log(20e-12, 500e-12), siemens: r.log(1e-12, 1e-9) });
    let nodes: Vec<Node> = (0..5 + r.below(16)).map(|_| network.add_node()).collect();
    let supply = network.ac_source(nodes[0], Node::EARTH, Complex::polar_degrees(240.0, 30.0), 0.05);
    let floating = seed.is_multiple_of(3);
    for i in 1..nodes.len() {
        if floating && r.below(4) == 0 {
            continue;
        }
        let from = nodes[r.below(i)];
        element(&mut r, &mut network, from, nodes[i]);
    }
    for _ in 0..nodes.len() / 2 {
        let (a, b) = (r.below(nodes.len()), r.below(nodes.len()));
        let b = if r.below(4) == 0 { Node::EARTH } else { nodes[b] };
        if nodes[a] != b {
            element(&mut r, &mut network, nodes[a], b);
        }
    }
    let (plus, minus) = (nodes[r.below(nodes.len())], nodes[r.below(nodes.len())]);
    if plus != minus {
        network.dc_source(plus, minus, r.log(1.0, 300.0), r.log(0.1, 10.0));
    }
    if seed.is_multiple_of(2) {
        for _ in 0..1 + r.below(2) {
            fault(&mut r, &mut network, &nodes, supply);
        }
    }
    network
}

/// An open, a short, a leak to earth, a loose joint: as edits.
fn fault(r: &mut Random, network: &mut Network, nodes: &[Node], supply: halfsplit_circuit::ElementId) {
    let candidates: Vec<_> = network.elements().filter(|id| *id != supply).collect();
    let hit = candidates[r.below(candidates.len())];
    let node = nodes[r.below(nodes.len())];
    match r.below(4) {
        0 => network.replace(hit, Kind::Switch { closed: false, ohms: 0.01 }),
        1 => network.replace(hit, Kind::Resistor { ohms: r.log(1e-3, 0.5) }),
        2 => {
            network.leak_to_earth(node, r.log(10.0, 1e7));
            Ok(())
        }
        _ => network.replace(hit, Kind::Resistor { ohms: r.log(0.5, 1e6) }),
    }
    .expect("own element");
}
