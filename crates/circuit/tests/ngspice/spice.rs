//! A network written as an ngspice netlist, and ngspice run on it.

use halfsplit_circuit::motor::{Motor, Winding, WindingState};
use halfsplit_circuit::{Complex, Kind, Network, Node, PairId};
use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::process::Command;

/// What to compute.
#[derive(Clone, Copy, Debug)]
pub enum Analysis {
    Alternating { hz: f64 },
    Direct,
}

/// A motor that stands in the network, written as its equivalent circuit rather than by its admittances.
#[derive(Clone, Copy, Debug)]
pub struct Stamped {
    pub windings: PairId,
    pub motor: Motor,
    pub slip: f64,
}

/// Whether ngspice is installed.
pub fn is_installed() -> bool {
    Command::new("ngspice").arg("--version").output().is_ok()
}

/// The netlist. Element by element from ngspice's own R, L, C, V, I, E, F and G: nothing of the crate's arithmetic
/// takes part in it.
pub fn netlist(network: &Network, motors: &[Stamped], analysis: Analysis) -> String {
    let mut text = String::from("halfsplit network\n");
    let omega = match analysis {
        Analysis::Alternating { hz } => TAU * hz,
        // Only for elements given by reactance, which direct current does not see.
        Analysis::Direct => TAU * 60.0,
    };
    for id in network.elements() {
        let (from, to) = network.terminals(id).expect("own element");
        let (i, a, b) = (id.index(), from.index(), to.index());
        match network.kind(id).expect("own element") {
            Kind::Resistor { ohms } | Kind::Switch { closed: true, ohms } => {
                line(&mut text, format!("R{i} {a} {b} {ohms:e}"));
            }
            Kind::Switch { closed: false, .. } => line(&mut text, format!("R{i} {a} {b} 1e12")),
            Kind::Capacitor { farads, series_ohms, leakage_siemens, .. } => {
                if leakage_siemens > 0.0 {
                    line(&mut text, format!("R{i}p {a} {b} {:e}", 1.0 / leakage_siemens));
                }
                if farads > 0.0 && series_ohms > 0.0 {
                    line(&mut text, format!("R{i}s {a} x{i} {series_ohms:e}"));
                    line(&mut text, format!("C{i} x{i} {b} {farads:e}"));
                } else if farads > 0.0 {
                    line(&mut text, format!("C{i} {a} {b} {farads:e}"));
                }
            }
            Kind::Inductor { henries, ohms } => {
                line(&mut text, format!("R{i} {a} x{i} {ohms:e}"));
                line(&mut text, format!("L{i} x{i} {b} {henries:e}"));
            }
            Kind::Impedance { ohms, dc_ohms } => match analysis {
                Analysis::Direct => line(&mut text, format!("R{i} {a} {b} {dc_ohms:e}")),
                Analysis::Alternating { .. } => {
                    line(&mut text, format!("R{i} {a} x{i} {:e}", ohms.re));
                    line(&mut text, reactance(&format!("{i}"), &format!("x{i} {b}"), ohms.im, omega));
                }
            },
            Kind::VoltageSource { ac_volts, dc_volts, ohms } => {
                let degrees = ac_volts.angle().to_degrees();
                let volts = ac_volts.abs();
                line(&mut text, format!("V{i} {a} x{i} DC {dc_volts:e} AC {volts:e} {degrees:e}"));
                line(&mut text, format!("R{i} x{i} {b} {ohms:e}"));
            }
            Kind::CurrentSource { ac_amps, dc_amps } => {
                let degrees = ac_amps.angle().to_degrees();
                let amps = ac_amps.abs();
                line(&mut text, format!("I{i} {a} {b} DC {dc_amps:e} AC {amps:e} {degrees:e}"));
            }
            Kind::Winding { .. } => {}
            Kind::Diode { .. } => panic!("the piecewise diode has no counterpart in ngspice"),
        }
    }
    for (i, motor) in motors.iter().enumerate() {
        equivalent_circuit(&mut text, network, i, motor, omega);
    }
    for node in nodes(network) {
        let stray = network.stray(node).expect("not earth");
        let n = node.index();
        line(&mut text, format!("Rstray{n} {n} 0 {:e}", 1.0 / stray.siemens));
        if stray.farads > 0.0 {
            line(&mut text, format!("Cstray{n} {n} 0 {:e}", stray.farads));
        }
    }
    // Full pivoting for accuracy; the default trades it for sparsity.
    text.push_str(".options pivrel=1\n.control\nset numdgt=15\nset width=200\n");
    match analysis {
        Analysis::Alternating { hz } => line(&mut text, format!("ac lin 1 {hz:e} {hz:e}")),
        Analysis::Direct => line(&mut text, "op".to_owned()),
    }
    for node in nodes(network) {
        line(&mut text, format!("print v({})", node.index()));
    }
    for i in 0..motors.len() {
        line(&mut text, format!("print i(Vmain{i})"));
        line(&mut text, format!("print i(Vaux{i})"));
    }
    text.push_str(".endc\n.end\n");
    text
}

fn line(text: &mut String, content: String) {
    writeln!(text, "{content}").expect("a string takes text");
}

fn reactance(name: &str, ends: &str, ohms: f64, omega: f64) -> String {
    if ohms > 0.0 {
        format!("L{name} {ends} {:e}", ohms / omega)
    } else if ohms < 0.0 {
        format!("C{name} {ends} {:e}", -1.0 / (omega * ohms))
    } else {
        format!("Vshort{name} {ends} 0")
    }
}

/// Every node but earth, in order.
pub fn nodes(network: &Network) -> Vec<Node> {
    let mut scratch = Network::new();
    (0..network.node_count()).map(|_| scratch.add_node()).collect()
}

/// The double-revolving-field circuit with controlled sources. Multiplication by j is an inductor of 1 ohm reactance
/// fed with the current (or the voltage turned into a current).
fn equivalent_circuit(text: &mut String, network: &Network, i: usize, stamped: &Stamped, omega: f64) {
    let motor = &stamped.motor;
    let unit = 1.0 / omega;
    let forward = format!("F{i}");
    let backward = format!("B{i}");
    for (field, slip) in [(&forward, stamped.slip), (&backward, 2.0 - stamped.slip)] {
        line(text, format!("Lm{field} {field} 0 {:e}", 0.5 * motor.magnetising_reactance / omega));
        line(text, format!("Rr{field} {field} r{field} {:e}", 0.5 * motor.rotor_ohms / slip));
        line(text, format!("Lr{field} r{field} 0 {:e}", 0.5 * motor.rotor_reactance / omega));
    }
    // j (vF - vB), which the auxiliary axis sees.
    line(text, format!("Gj{i} 0 JV{i} {forward} {backward} 1"));
    line(text, format!("Lj{i} JV{i} 0 {unit:e}"));

    let sides = [
        ("main", stamped.windings.first, motor.main, 1.0),
        ("aux", stamped.windings.second, motor.aux, motor.turns_ratio),
    ];
    for (name, element, winding, turns) in sides {
        let (from, to) = network.terminals(element).expect("own element");
        let ends = (from.index().to_string(), to.index().to_string());
        let (kept, shorted) = match winding.state {
            WindingState::Sound | WindingState::Open => (1.0, None),
            WindingState::ShortedTurns { fraction } => (1.0 - fraction, Some(fraction)),
        };
        let on_main_axis = name == "main";
        circuit(text, i, name, &ends, winding, kept, turns, on_main_axis, omega);
        if let Some(fraction) = shorted {
            let loop_end = format!("S{name}{i}");
            let ends = (loop_end.clone(), loop_end.clone());
            line(text, format!("Rtie{name}{i} {loop_end} 0 1"));
            let closed = Winding { state: WindingState::Sound, ..winding };
            let name = format!("short{name}");
            circuit(text, i, &name, &ends, closed, fraction, turns, on_main_axis, omega);
        }
    }
}

/// One circuit on the stator with `share` of a winding's turns: its resistance and leakage, the voltage that the
/// fields induce, and its ampere-turns on the fields.
#[allow(clippy::too_many_arguments, reason = "a line of a netlist, not an interface")]
fn circuit(
    text: &mut String,
    i: usize,
    name: &str,
    (from, to): &(String, String),
    winding: Winding,
    share: f64,
    full_turns: f64,
    on_main_axis: bool,
    omega: f64,
) {
    let n = format!("{name}{i}");
    let turns = share * full_turns;
    let ohms = winding.ohms * share + if winding.state == WindingState::Open { 1e12 } else { 0.0 };
    line(text, format!("V{n} {from} a{n} 0"));
    line(text, format!("R{n} a{n} b{n} {ohms:e}"));
    line(text, reactance(&n, &format!("b{n} c{n}"), winding.reactance * share, omega));
    if on_main_axis {
        line(text, format!("Ef{n} c{n} d{n} F{i} 0 {turns:e}"));
        line(text, format!("Eb{n} d{n} {to} B{i} 0 {turns:e}"));
        line(text, format!("Ff{n} 0 F{i} V{n} {turns:e}"));
        line(text, format!("Fb{n} 0 B{i} V{n} {turns:e}"));
    } else {
        line(text, format!("E{n} c{n} {to} JV{i} 0 {turns:e}"));
        line(text, format!("Fj{n} 0 JI{n} V{n} 1"));
        line(text, format!("Lj{n} JI{n} 0 {:e}", 1.0 / omega));
        line(text, format!("Gf{n} 0 F{i} JI{n} 0 {:e}", -turns));
        line(text, format!("Gb{n} 0 B{i} JI{n} 0 {turns:e}"));
    }
}

/// What ngspice finds.
#[derive(Debug)]
pub struct Found {
    /// Volts of every node but earth.
    pub volts: Vec<Complex>,
    /// Amperes of (main, auxiliary) of each motor.
    pub amps: Vec<[Complex; 2]>,
}

/// A network to be solved.
pub struct Job {
    pub name: String,
    pub network: Network,
    pub motors: Vec<Stamped>,
    pub analysis: Analysis,
}

const NEXT: &str = "next network";

/// Runs ngspice, once, on all jobs.
pub fn run(batch: &str, jobs: &[Job]) -> Vec<Found> {
    let directory = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(batch);
    std::fs::create_dir_all(&directory).expect("the target directory can be written");
    let write = |name: &str, text: &str| {
        let path = directory.join(name);
        std::fs::write(&path, text).expect("the target directory can be written");
        path
    };
    let mut all = String::from("all networks\n.control\n");
    for job in jobs {
        let file = format!("{}.cir", job.name);
        write(&file, &netlist(&job.network, &job.motors, job.analysis));
        line(&mut all, format!("source {file}"));
        line(&mut all, format!("echo {NEXT}"));
        // ngspice grows slow over many circuits in memory.
        line(&mut all, "destroy all\nremcirc".to_owned());
    }
    all.push_str("quit\n.endc\n.end\n");
    write("all.cir", &all);
    let output =
        Command::new("ngspice").args(["-b", "all.cir"]).current_dir(&directory).output().expect("ngspice starts");
    let printed = String::from_utf8_lossy(&output.stdout);
    let answers: Vec<&str> = printed.split(NEXT).collect();
    assert_eq!(
        answers.len(),
        jobs.len() + 1,
        "ngspice stopped early in {}: {}",
        directory.display(),
        String::from_utf8_lossy(&output.stderr)
    );
    jobs.iter().zip(answers).map(|(job, answer)| found(job, answer)).collect()
}

fn found(job: &Job, answer: &str) -> Found {
    let values: Vec<Complex> = answer.lines().filter_map(value).collect();
    let nodes = job.network.node_count();
    let expected = nodes + 2 * job.motors.len();
    assert_eq!(values.len(), expected, "{}: ngspice printed {answer}", job.name);
    let (volts, amps) = values.split_at(nodes);
    Found { volts: volts.to_vec(), amps: amps.chunks(2).map(|pair| [pair[0], pair[1]]).collect() }
}

/// `v(3) = 1.25e+01` or `v(3) = 1.25e+01,-3.0e-05`.
fn value(printed: &str) -> Option<Complex> {
    let (name, number) = printed.split_once(" = ")?;
    if !(name.starts_with("v(") || name.starts_with("i(")) {
        return None;
    }
    let mut parts = number.split(',').map(|p| p.trim().parse::<f64>());
    let re = parts.next()?.ok()?;
    let im = match parts.next() {
        Some(part) => part.ok()?,
        None => 0.0,
    };
    Some(Complex::new(re, im))
}
