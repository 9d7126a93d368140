//! Drawings for the page: each as an image of its own, with its size, where the probes stand in it, and the same in words.

use halfsplit_drawing::{Picture, alone};
use halfsplit_workshop::machine::Machine;
use halfsplit_workshop::pictures::{loop_of, wiring_of};
use halfsplit_workshop::{Job, JobError};
use serde_json::{Value, json};

use crate::desk::trouble;

/// A drawing of a job: "wiring" (with a test: its probes), "loop" or "cycle".
pub fn of_job(job: &mut Job, which: &str, test: Option<&str>) -> Result<Value, JobError> {
    Ok(match which {
        "wiring" => {
            let state = job.wiring(test)?;
            picture(&halfsplit_drawing::wiring(job.machine()?, &state))
        }
        "loop" => {
            let view = job.refrigerant_loop()?;
            picture(&halfsplit_drawing::refrigerant_loop(&job.machine()?.sheet.machine.name, &view))
        }
        "cycle" => {
            let cycle = job.cycle()?;
            let (width, height) = size(&cycle.svg);
            json!({
                "title": "Pressure against enthalpy", "words": cycle.words, "svg": alone(&cycle.svg),
                "width": width, "height": height, "flags": [],
            })
        }
        other => return Err(trouble(format!("there is no drawing \"{other}\""), "ask for wiring, loop or cycle")),
    })
}

/// The wiring or the loop of a sheet that nobody has measured anything of.
pub fn of_machine(machine: &Machine, which: &str) -> Value {
    if which == "loop" {
        return picture(&halfsplit_drawing::refrigerant_loop(&machine.sheet.machine.name, &loop_of(machine)));
    }
    picture(&halfsplit_drawing::wiring(machine, &wiring_of(machine)))
}

fn picture(p: &Picture) -> Value {
    json!({
        "title": p.title, "words": p.description, "svg": p.standalone(), "width": p.width, "height": p.height,
        "flags": p.flags().iter().map(|(_, x, y)| [*x, *y]).collect::<Vec<_>>(),
    })
}

/// Width and height of an SVG by its `viewBox`.
fn size(svg: &str) -> (f64, f64) {
    let inside =
        svg.split_once("viewBox=\"").and_then(|(_, rest)| rest.split_once('"')).map_or("", |(inside, _)| inside);
    let numbers: Vec<f64> = inside.split_whitespace().filter_map(|n| n.parse().ok()).collect();
    match numbers[..] {
        [_, _, width, height] => (width, height),
        _ => (390.0, 390.0),
    }
}
