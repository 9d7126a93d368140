//! Solves the networks of `reference/parity.json` and prints, as JSON, all posteriors and the
//! median time of one whole answer on the noisy-OR network. Run by `reference/parity.py --check`.

#[path = "../tests/support/parity.rs"]
mod networks;

use std::error::Error;
use std::hint::black_box;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).ok_or("give the path of reference/parity.json")?;
    let file: networks::File = serde_json::from_str(&std::fs::read_to_string(&path)?)?;
    let mut posteriors: Vec<Vec<f64>> = file.small.iter().map(|n| n.by_reasoner()).collect();
    let network = file.noisy_or.network();
    let answer = || network.posteriors(black_box(&file.noisy_or.findings));
    posteriors.push(answer().ok_or("the findings are impossible")?);
    let mut times: Vec<f64> = (0..201)
        .map(|_| {
            let start = Instant::now();
            black_box(answer());
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let answer = serde_json::json!({
        "posteriors": posteriors,
        "noisy_or_ms": times[times.len() / 2],
    });
    println!("{answer}");
    Ok(())
}
