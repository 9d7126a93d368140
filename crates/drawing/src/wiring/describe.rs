//! The wiring in words, for those who do not see it.

use halfsplit_workshop::machine::{Machine, TerminalRef};
use halfsplit_workshop::pictures::{Live, WiringView};
use halfsplit_workshop::units::{Dimension, Preferences, show};

use super::graph::{Edge, End, Row, Symbol, Wiring};

pub(super) fn describe(machine: &Machine, view: &WiringView, wiring: &Wiring) -> String {
    let mut out = format!("{}.", capital(&view.state));
    if !view.power.is_empty() {
        out.push_str(&format!(" {}.", capital(&view.power)));
    }
    for (i, probe) in view.probes.iter().enumerate() {
        out.push_str(&format!(" Flag {} at {}.", i + 1, terminal_name(machine, *probe).replace('.', " terminal ")));
    }
    for section in &wiring.sections {
        out.push_str(&format!("\n{}.", section.title));
        if let (Some(l), Some(r)) = (section.left, section.right) {
            out.push_str(&format!(" Left rail {}, right rail {}.", wire(machine, view, l), wire(machine, view, r)));
        }
        for row in &section.rows {
            say_row(machine, view, wiring, row, &mut out);
        }
    }
    out
}

fn say_row(machine: &Machine, view: &WiringView, wiring: &Wiring, row: &Row, out: &mut String) {
    let mut pieces: Vec<String> = Vec::new();
    let pins = |n: usize| -> Vec<String> {
        wiring.pins.get(&n).map(|p| p.iter().map(|t| terminal_name(machine, *t)).collect()).unwrap_or_default()
    };
    for (i, n) in row.nets.iter().enumerate() {
        let inner = i > 0 && i + 1 < row.nets.len();
        let rail = (i == 0 && row.from == End::Rail) || (i + 1 == row.nets.len() && row.to == End::Rail);
        let mut said = format!("wire {}", wire(machine, view, *n));
        if inner || row.edges.is_empty() || !rail {
            let pins = pins(*n);
            if !pins.is_empty() {
                said.push_str(&format!(" with {}", pins.join(", ")));
            }
        }
        pieces.push(said);
        if let Some((e, _)) = row.edges.get(i) {
            pieces.push(part_in_words(machine, view, &wiring.edges[*e]));
        }
    }
    out.push_str(&format!(" {}.", capital(&pieces.join(", "))));
    for nested in &row.nested {
        say_row(machine, view, wiring, nested, out);
    }
}

/// A wire with what stands on it.
fn wire(machine: &Machine, view: &WiringView, net: usize) -> String {
    let name = &machine.nets[net];
    let live = match view.live[net] {
        Live::Live => ", live",
        Live::Always => ", live before the isolator",
        Live::NotProved => ", not proved dead",
        Live::Not => "",
    };
    match view.volts[net] {
        Some(v) if live.is_empty() && magnitude(v) < 0.5 => name.clone(),
        Some(v) => format!("{name} ({}{live})", volts(magnitude(v))),
        None if live.is_empty() => name.clone(),
        None => format!("{name} ({})", live.trim_start_matches(", ")),
    }
}

/// A part as a caption says it: id, name, piece, value, state.
pub(super) fn part_in_words(machine: &Machine, view: &WiringView, edge: &Edge) -> String {
    let part = &machine.parts[edge.part.0];
    let mut said = format!("{} {}", part.id, part.name);
    if !edge.piece.is_empty() {
        said.push_str(&format!(", {}", edge.piece));
    } else if edge.symbol == Symbol::Coil {
        said.push_str(", coil");
    }
    if let Some(value) = value(machine, edge) {
        said.push_str(&format!(" {value}"));
    }
    if edge.symbol == Symbol::Link {
        said = format!("a conductor that may be there or not ({})", part.id);
    } else if view.closed[edge.branch] == Some(false) {
        said.push_str(", open");
    }
    said
}

/// The rating that a technician compares with: ohms or microfarads of a sound one.
fn value(machine: &Machine, edge: &Edge) -> Option<String> {
    use halfsplit_workshop::machine::{Branch, Role};
    let nominal = |ix: halfsplit_workshop::machine::ParamIx| machine.params[ix.0].nominal;
    let ohms = |x: f64| show(x, Dimension::Resistance, &Preferences::default(), None);
    match (&machine.branches[edge.branch].1, &machine.parts[edge.part.0].role) {
        (Branch::Windings { .. }, Role::Compressor(c)) => {
            Some(ohms(nominal(if edge.piece.starts_with("run") { c.run_ohms } else { c.start_ohms })))
        }
        (Branch::Resistor { ohms: r, .. }, _) => Some(ohms(nominal(*r))),
        (Branch::Capacitor { farads, .. }, _) => {
            Some(show(nominal(*farads), Dimension::Capacitance, &Preferences::default(), None))
        }
        _ => None,
    }
}

pub(super) fn terminal_name(machine: &Machine, r: TerminalRef) -> String {
    let part = &machine.parts[r.part.0];
    format!("{}.{}", part.id, part.terminals[r.terminal].name)
}

pub(super) fn magnitude(v: (f64, f64)) -> f64 {
    libm::hypot(v.0, v.1)
}

/// Volts as a label says them.
pub(super) fn volts(v: f64) -> String {
    if v < 0.05 {
        "0 V".to_owned()
    } else if v < 9.95 {
        format!("{v:.1} V")
    } else {
        format!("{v:.0} V")
    }
}

fn capital(s: &str) -> String {
    let mut c = s.chars();
    c.next().map(|f| f.to_uppercase().collect::<String>() + c.as_str()).unwrap_or_default()
}
