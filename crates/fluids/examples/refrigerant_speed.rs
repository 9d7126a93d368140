//! Time per call, best of several rounds, over the requests given on standard input; for `generate/compare_speed.py`.
//!
//! Request: `R134a pt 300000 300` (also ph, ps, sat). All requests of one run are of one kind and one refrigerant.
//! Prints nanoseconds per call.

use std::hint::black_box;
use std::io::{self, Read};
use std::time::Instant;

use halfsplit_fluids::refrigerant::Refrigerant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut text = String::new();
    io::stdin().read_to_string(&mut text)?;
    let mut points = Vec::new();
    let mut head = None;
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        let [name, kind, numbers @ ..] = words.as_slice() else {
            return Err("short line".into());
        };
        let refrigerant = Refrigerant::from_designation(name).ok_or("unknown refrigerant")?;
        head = Some((refrigerant, kind.to_string()));
        let numbers: Vec<f64> = numbers.iter().map(|n| n.parse()).collect::<Result<_, _>>()?;
        points.push((numbers[0], numbers.get(1).copied().unwrap_or(0.0)));
    }
    let (refrigerant, kind) = head.ok_or("no requests")?;
    let call: fn(Refrigerant, f64, f64) -> bool = match kind.as_str() {
        "pt" => |r, p, t| black_box(r.state_pt(p, t)).is_ok(),
        "ph" => |r, p, h| black_box(r.state_ph(p, h)).is_ok(),
        "ps" => |r, p, s| black_box(r.state_ps(p, s)).is_ok(),
        "sat" => |r, p, _| black_box(r.saturation(p)).is_ok(),
        "tdew" => |r, p, _| black_box(r.dew_temperature(p)).is_ok(),
        _ => return Err("unknown kind".into()),
    };
    // Many short rounds: on a shared machine some of them run undisturbed.
    let repeat = 1000 / points.len() + 1;
    let mut best = f64::INFINITY;
    for _ in 0..400 {
        let start = Instant::now();
        for _ in 0..repeat {
            for &(p, x) in &points {
                if !call(black_box(refrigerant), black_box(p), black_box(x)) {
                    return Err(format!("no answer at {p} {x}").into());
                }
            }
        }
        best = best.min(start.elapsed().as_secs_f64() / (repeat * points.len()) as f64);
    }
    println!("{:.2}", best * 1e9);
    Ok(())
}
