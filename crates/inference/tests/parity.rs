//! The same posteriors as pyAgrum 3.3 and pgmpy 1.1 on the networks of `reference/parity.json`,
//! which `reference/parity.py` draws and solves with both libraries (versions in the file).

#[path = "support/parity.rs"]
mod networks;

fn file() -> networks::File {
    serde_json::from_str(include_str!("../reference/parity.json"))
        .expect("reference/parity.json is written by reference/parity.py")
}

fn farthest(a: &[f64], b: &[f64]) -> f64 {
    assert_eq!(a.len(), b.len());
    a.iter().zip(b).map(|(x, y)| (x - y).abs()).fold(0.0, f64::max)
}

#[test]
fn reasoner_agrees_on_small_networks() {
    for (i, network) in file().small.iter().enumerate() {
        let far = farthest(&network.by_reasoner(), &network.posteriors);
        assert!(far < 1e-9, "network {i}: {far:e}");
    }
}

#[test]
fn noisy_or_agrees_on_the_layered_network() {
    let file = file();
    let posteriors =
        file.noisy_or.network().posteriors(&file.noisy_or.findings).expect("the findings were drawn from the network");
    let far = farthest(&posteriors, &file.noisy_or.posteriors);
    assert!(far < 1e-9, "{far:e}");
}
