//! The thin grid of `data/coolprop_grid.csv` (CoolProp 8.0.0) against this crate. The dense one runs live: `generate/compare_grid.py`.

use halfsplit_fluids::refrigerant::{Refrigerant, State};

/// K, J/kg, J/(kg K): what a service tool needs. What is reached is far below; see README.md.
const T_LIMIT: f64 = 0.01;
const H_LIMIT: f64 = 50.0;
const S_LIMIT: f64 = 0.2;

fn close(what: &str, got: f64, want: f64, allowed: f64) {
    assert!((got - want).abs() <= allowed, "{what}: {got} instead of {want} +- {allowed}");
}

#[test]
fn agrees_with_the_reference_library() {
    let mut count = [0; 5];
    for line in include_str!("data/coolprop_grid.csv").lines().filter(|l| !l.starts_with('#')) {
        let [_kind, request, values] = line.split(';').collect::<Vec<_>>()[..] else {
            panic!("malformed line: {line}");
        };
        let words: Vec<&str> = request.split(' ').collect();
        let r = Refrigerant::from_designation(words[0]).expect("a served refrigerant");
        let given: Vec<f64> = words[2..].iter().map(|w| w.parse().unwrap()).collect();
        let want: Vec<f64> = values.split(' ').map(|w| w.parse().unwrap()).collect();
        let bubble = line.contains("bubble");
        let single = |state: State| {
            close(request, state.t, want[0], T_LIMIT);
            close(request, state.rho, want[1], 1e-4 * want[1]);
            close(request, state.h, want[2], H_LIMIT);
            close(request, state.s, want[3], S_LIMIT);
            close(request, state.u, want[4], H_LIMIT);
            let response = state.response.expect("a single phase");
            close(request, response.cp, want[5], 1e-3 * want[5]);
            close(request, response.cv, want[6], 1e-3 * want[6]);
            close(request, response.speed_of_sound, want[7], 1e-3 * want[7]);
        };
        match words[1] {
            "sat" => {
                let both = r.saturation(given[0]).unwrap();
                let end = if bubble { both.bubble } else { both.dew };
                close(request, end.t, want[0], T_LIMIT);
                close(request, end.rho, want[1], 1e-4 * want[1]);
                close(request, end.h, want[2], H_LIMIT);
                close(request, end.s, want[3], S_LIMIT);
                let single = if bubble { r.bubble_temperature(given[0]) } else { r.dew_temperature(given[0]) };
                assert_eq!(single.unwrap(), end.t, "{request}");
                count[0] += 1;
            }
            "psat" => {
                let p = if bubble { r.bubble_pressure(given[0]) } else { r.dew_pressure(given[0]) };
                close(request, p.unwrap(), want[0], 1e-4 * want[0]);
                count[1] += 1;
            }
            "pt" => {
                single(r.state_pt(given[0], given[1]).unwrap());
                count[2] += 1;
            }
            "ph" => {
                single(r.state_ph(given[0], given[1]).unwrap());
                count[3] += 1;
            }
            "ps" => {
                single(r.state_ps(given[0], given[1]).unwrap());
                count[4] += 1;
            }
            other => panic!("unknown request {other}"),
        }
    }
    assert!(count.iter().all(|&n| n > 130), "the grid has shrunk: {count:?}");
}
