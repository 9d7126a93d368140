//! Laws that every network keeps, on networks drawn by proptest.

use halfsplit_circuit::{Complex, ElementId, Kind, Network, Node, Stray};
use proptest::prelude::*;

const HZ: f64 = 60.0;

/// An element between two of `nodes` nodes (0 is earth), without sources.
#[derive(Clone, Debug)]
struct Part {
    ends: (usize, usize),
    kind: Kind,
}

fn ohms() -> impl Strategy<Value = f64> {
    (0.0..4.0).prop_map(|decade| libm::pow(10.0, decade))
}

fn kind() -> impl Strategy<Value = Kind> {
    prop_oneof![
        3 => ohms().prop_map(|ohms| Kind::Resistor { ohms }),
        1 => (ohms(), 0.1..10.0).prop_map(|(micro, series_ohms)| Kind::Capacitor {
            farads: 1e-8 * micro,
            series_ohms,
            leakage_siemens: 1e-9,
            charge_volts: 0.0,
        }),
        1 => (ohms(), 1.0..50.0).prop_map(|(scale, ohms)| Kind::Inductor { henries: 1e-4 * scale, ohms }),
        1 => (1.0..100.0, -100.0..100.0)
            .prop_map(|(re, im)| Kind::Impedance { ohms: Complex::new(re, im), dc_ohms: re }),
        1 => any::<bool>().prop_map(|closed| Kind::Switch { closed, ohms: 0.02 }),
    ]
}

fn parts() -> impl Strategy<Value = (usize, Vec<Part>)> {
    (3usize..12).prop_flat_map(|nodes| {
        let part = (0..=nodes, 0..=nodes, kind()).prop_map(|(a, b, kind)| Part { ends: (a, b), kind });
        (Just(nodes), prop::collection::vec(part, nodes..3 * nodes))
    })
}

/// RMS volts, direct volts and place of a source.
type Source = ((f64, f64), f64, (usize, usize));

fn sources() -> impl Strategy<Value = Vec<Source>> {
    let one = ((-200.0..200.0, -200.0..200.0), -50.0..50.0, (0usize..100, 0usize..100));
    prop::collection::vec(one, 1..4)
}

struct Built {
    network: Network,
    /// Earth first.
    nodes: Vec<Node>,
    sources: Vec<ElementId>,
}

fn build(nodes: usize, parts: &[Part], sources: &[Source]) -> Built {
    let mut network = Network::new();
    let mut all = vec![Node::EARTH];
    all.extend((0..nodes).map(|_| network.add_node()));
    for part in parts {
        network.add(all[part.ends.0], all[part.ends.1], part.kind);
    }
    let sources = sources
        .iter()
        .map(|&((re, im), dc_volts, (a, b))| {
            let ends = (all[a % all.len()], all[b % all.len()]);
            let kind = Kind::VoltageSource { ac_volts: Complex::new(re, im), dc_volts, ohms: 0.5 };
            network.add(ends.0, ends.1, kind)
        })
        .collect();
    Built { network, nodes: all, sources }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// A current into one node gives at another the voltage that it would give the other way round.
    #[test]
    fn reciprocity((n, parts) in parts(), a in 1usize..12, b in 1usize..12) {
        let built = build(n, &parts, &[]);
        let (a, b) = (built.nodes[1 + a % n], built.nodes[1 + b % n]);
        let ac = built.network.factor_ac(HZ).unwrap();
        let there = ac.solve(&[(a, Complex::ONE)]);
        let back = ac.solve(&[(b, Complex::ONE)]);
        let scale = there.voltage(a, Node::EARTH).abs().max(back.voltage(b, Node::EARTH).abs());
        let off = there.voltage(b, Node::EARTH) - back.voltage(a, Node::EARTH);
        prop_assert!(off.abs() <= 1e-6 * scale, "{off:?} of {scale}");

        let dc = built.network.factor_dc().unwrap();
        let there = dc.solve(&[(a, 1.0)]).voltage(b, Node::EARTH);
        let back = dc.solve(&[(b, 1.0)]).voltage(a, Node::EARTH);
        // Nothing cancels in the star-mesh transformation: this holds to rounding even on 1e12 ohm.
        prop_assert!((there - back).abs() <= 1e-12 * there.abs(), "{there} {back}");
    }

    /// Tellegen: what the sources give, the rest takes, strays included.
    #[test]
    fn power_balances((n, parts) in parts(), sources in sources()) {
        let built = build(n, &parts, &sources);
        // What the sources would give into a short circuit: currents are differences of that size.
        let short_circuit: f64 = sources
            .iter()
            .map(|((re, im), dc, _)| (re * re + im * im + dc * dc) / 0.5)
            .sum();
        let rounding = 1e-13 * short_circuit;
        let ac = built.network.solve_ac(HZ).unwrap();
        let mut sum = Complex::ZERO;
        let mut scale = 0.0;
        for id in built.network.elements() {
            sum += ac.power(id);
            scale += ac.power(id).abs();
        }
        for &node in &built.nodes[1..] {
            sum += ac.voltage(node, Node::EARTH) * ac.stray_current(node).conjugate();
        }
        prop_assert!(sum.abs() <= 1e-9 * scale + rounding, "{sum:?} of {scale}");

        let dc = built.network.solve_dc().unwrap();
        let mut sum = 0.0;
        let mut scale = 0.0;
        for id in built.network.elements() {
            sum += dc.power(id);
            scale += dc.power(id).abs();
        }
        for &node in &built.nodes[1..] {
            sum += dc.voltage(node, Node::EARTH) * dc.stray_current(node);
        }
        prop_assert!(sum.abs() <= 1e-9 * scale + rounding, "{sum} of {scale}");
    }

    /// All sources together give the sum of what each gives alone.
    #[test]
    fn superposition((n, parts) in parts(), sources in sources()) {
        let built = build(n, &parts, &sources);
        let together = built.network.solve_ac(HZ).unwrap();
        let mut sums = vec![Complex::ZERO; built.nodes.len()];
        let mut scale = 1e-6_f64;
        for kept in &built.sources {
            let mut alone = built.network.clone();
            for id in &built.sources {
                if id != kept {
                    alone.set_volts(*id, Complex::ZERO, 0.0).unwrap();
                }
            }
            let solution = alone.solve_ac(HZ).unwrap();
            for (sum, node) in sums.iter_mut().zip(&built.nodes) {
                *sum += solution.voltage(*node, Node::EARTH);
                scale = scale.max(solution.voltage(*node, Node::EARTH).abs());
            }
        }
        for (sum, node) in sums.iter().zip(&built.nodes) {
            let off = (*sum - together.voltage(*node, Node::EARTH)).abs();
            prop_assert!(off <= 1e-6 * scale, "{off} of {scale}");
        }
    }

    /// The order in which elements were added is nobody's business. To see that within 1e-12 the network must not magnify
    /// rounding itself: every node has 100 ohm to earth, and contacts have 1 ohm.
    #[test]
    fn order_of_elements_does_not_matter(
        (n, parts) in parts(),
        sources in sources(),
        shift in 1usize..30,
    ) {
        let mut tied = parts;
        tied.extend((1..=n).map(|node| Part {
            ends: (node, 0),
            kind: Kind::Resistor { ohms: 100.0 },
        }));
        for part in &mut tied {
            if let Kind::Switch { ohms, .. } = &mut part.kind {
                *ohms = 1.0;
            }
        }
        let mut moved = tied.clone();
        moved.reverse();
        let by = shift % moved.len();
        moved.rotate_left(by);
        let one = build(n, &tied, &sources);
        let other = build(n, &moved, &sources);
        let first = one.network.solve_ac(HZ).unwrap();
        let second = other.network.solve_ac(HZ).unwrap();
        let (first_dc, second_dc) =
            (one.network.solve_dc().unwrap(), other.network.solve_dc().unwrap());
        let largest = one.nodes.iter().map(|v| first.voltage(*v, Node::EARTH).abs());
        let scale = largest.fold(1e-3, f64::max);
        let largest = one.nodes.iter().map(|v| first_dc.voltage(*v, Node::EARTH).abs());
        let scale_dc = largest.fold(1e-3, f64::max);
        for &node in &one.nodes {
            let off = first.voltage(node, Node::EARTH) - second.voltage(node, Node::EARTH);
            prop_assert!(off.abs() <= 1e-12 * scale, "{off:?} of {scale}");
            let off = first_dc.voltage(node, Node::EARTH) - second_dc.voltage(node, Node::EARTH);
            prop_assert!(off.abs() <= 1e-12 * scale_dc, "{off:?} of {scale_dc}");
        }
    }

    /// The same network gives the same bits, every time.
    #[test]
    fn same_bits((n, parts) in parts(), sources in sources()) {
        let built = build(n, &parts, &sources);
        prop_assert_eq!(built.network.solve_ac(HZ).unwrap(), built.network.clone().solve_ac(HZ).unwrap());
        prop_assert_eq!(built.network.solve_dc().unwrap(), built.network.clone().solve_dc().unwrap());
    }

    /// Resistors and capacitors in series and in parallel. (20 and 30 uF: 12 uF in series, 50 uF in parallel.)
    #[test]
    fn series_and_parallel(a in ohms(), b in ohms()) {
        for (first, second) in [(a, b), (20.0, 30.0)] {
            let quiet = Stray { farads: 0.0, siemens: 1e-15 };
            let mut network = Network::with_stray(quiet);
            let [left, middle, right] = [0; 3].map(|_| network.add_node());
            network.resistor(left, middle, first);
            let link = network.resistor(middle, right, second);
            let ohms = |n: &Network| n.factor_dc().unwrap().thevenin(left, right).ohms;
            let series = first + second;
            prop_assert!((ohms(&network) - series).abs() <= 1e-9 * series);
            network.set_ohms(link, 1e15).unwrap();
            network.resistor(left, right, second);
            network.resistor(left, right, first);
            let parallel = first * second / (first + second);
            prop_assert!((ohms(&network) - parallel).abs() <= 1e-9 * parallel);

            let mut network = Network::with_stray(quiet);
            let [left, middle, right] = [0; 3].map(|_| network.add_node());
            network.capacitor(left, middle, first * 1e-6);
            let second_capacitor = network.capacitor(middle, right, second * 1e-6);
            let microfarads = |n: &Network| {
                let seen = n.factor_ac(HZ).unwrap().thevenin(left, right).ohms;
                1e6 / (core::f64::consts::TAU * HZ * -seen.im)
            };
            prop_assert!((microfarads(&network) - parallel).abs() <= 1e-6 * parallel);
            network.reconnect(second_capacitor, left, right).unwrap();
            network.capacitor(middle, right, 0.0);
            let first_capacitor = network.elements().next().unwrap();
            network.reconnect(first_capacitor, left, right).unwrap();
            prop_assert!((microfarads(&network) - series).abs() <= 1e-6 * series);
        }
    }
}
