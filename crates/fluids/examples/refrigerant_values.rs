//! Answers property requests line by line, for scripts that compare this crate with another library.
//!
//! Request, one a line, SI units:            answer:
//!   `R134a sat 300000`                       bubble t rho h s, dew t rho h s
//!   `R134a psat 273.15`                      bubble and dew pressure
//!   `R134a pt 300000 300`  (also ph, ps)     t rho h s u cp cv speed_of_sound
//!
//! An error is answered as `error: ...`.

use std::io::{self, BufWriter, Read, Write};

use halfsplit_fluids::refrigerant::{Refrigerant, RefrigerantError, State};

fn main() -> io::Result<()> {
    let mut requests = String::new();
    io::stdin().read_to_string(&mut requests)?;
    let mut out = BufWriter::new(io::stdout().lock());
    for request in requests.lines() {
        let words: Vec<&str> = request.split_whitespace().collect();
        match answer(&words) {
            Ok(values) => {
                let texts: Vec<String> = values.iter().map(|v| format!("{v:e}")).collect();
                writeln!(out, "{}", texts.join(" "))?;
            }
            Err(message) => writeln!(out, "error: {message}")?,
        }
    }
    out.flush()
}

fn answer(words: &[&str]) -> Result<Vec<f64>, String> {
    let [name, kind, numbers @ ..] = words else {
        return Err("expected: refrigerant, kind, numbers".into());
    };
    let refrigerant = Refrigerant::from_designation(name).ok_or("unknown refrigerant")?;
    let numbers: Vec<f64> =
        numbers.iter().map(|n| n.parse().map_err(|_| format!("not a number: {n}"))).collect::<Result<_, _>>()?;
    let plain = |e: RefrigerantError| e.to_string();
    match (*kind, numbers.as_slice()) {
        ("sat", &[p]) => {
            let s = refrigerant.saturation(p).map_err(plain)?;
            Ok([s.bubble, s.dew].iter().flat_map(|end| [end.t, end.rho, end.h, end.s]).collect())
        }
        ("psat", &[t]) => {
            Ok(vec![refrigerant.bubble_pressure(t).map_err(plain)?, refrigerant.dew_pressure(t).map_err(plain)?])
        }
        ("pt", &[p, t]) => refrigerant.state_pt(p, t).map(listed).map_err(plain),
        ("ph", &[p, h]) => refrigerant.state_ph(p, h).map(listed).map_err(plain),
        ("ps", &[p, s]) => refrigerant.state_ps(p, s).map(listed).map_err(plain),
        _ => Err(format!("unknown request: {kind} with {} numbers", numbers.len())),
    }
}

fn listed(state: State) -> Vec<f64> {
    let response = state.response.map_or([f64::NAN; 3], |r| [r.cp, r.cv, r.speed_of_sound]);
    [[state.t, state.rho, state.h, state.s].as_slice(), &[state.u], &response].concat()
}
