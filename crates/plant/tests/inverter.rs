//! The wall mini split under its faults: what the trade expects of an inverter. Common practice, no source, unless said.

#![allow(clippy::disallowed_methods, reason = "tests compute their expectations with the platform's own functions")]

use halfsplit_machine::examples::example;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Axis, CompressorDoes, Operation, Plant, Prediction, Visit, axis_of};

struct Bench {
    plant: Plant,
}

struct Found<'b> {
    plant: &'b Plant,
    params: Vec<f64>,
    operation: Operation,
}

impl Bench {
    fn new() -> Bench {
        let text = example("mini-split").expect("the example").text;
        let machine = Machine::build(text).unwrap_or_else(|e| panic!("{e}"));
        Bench { plant: Plant::new(machine).unwrap_or_else(|e| panic!("{e}")) }
    }

    fn summer(&self, modes: &[&str]) -> Found<'_> {
        self.found(modes, 26.0, 32.0)
    }

    fn winter(&self, modes: &[&str]) -> Found<'_> {
        self.found(modes, 20.0, 4.0)
    }

    fn found(&self, modes: &[&str], room: f64, outdoor: f64) -> Found<'_> {
        let mut params = self.plant.machine.sound();
        for id in modes {
            let all = &self.plant.machine.modes;
            // Of a fault that has degrees only because its size is not known, the stronger one.
            let ix =
                all.iter().rposition(|m| m.id == *id || m.name_id == *id).unwrap_or_else(|| panic!("no mode {id}"));
            self.plant.machine.apply(ModeIx(ix), &mut params);
        }
        let conditions =
            Conditions { air: Some(room + 273.15), outdoor: Some(outdoor + 273.15), ..Conditions::default() };
        let operation = self.plant.operate(&params, &Visit { conditions, reset: false });
        Found { plant: &self.plant, params, operation }
    }
}

impl Found<'_> {
    fn read(&self, id: &str) -> (Option<Axis>, Prediction) {
        let test = self.plant.machine.tests.iter().find(|t| t.id == id).unwrap_or_else(|| panic!("no test {id}"));
        (axis_of(test), self.plant.predict(&self.params, &self.operation, test))
    }

    /// The reading in SI; infinite for OL.
    fn number(&self, id: &str) -> f64 {
        match self.read(id) {
            (_, Prediction::Number { over, .. }) if over > 0.5 => f64::INFINITY,
            (Some(axis), Prediction::Number { centre, .. }) => axis.from(centre),
            other => panic!("{id}: {other:?}"),
        }
    }

    /// The likeliest word, by its position.
    fn word(&self, id: &str) -> usize {
        match self.read(id) {
            (_, Prediction::Words(p)) => {
                (0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b])).expect("at least one word")
            }
            other => panic!("{id}: {other:?}"),
        }
    }

    fn stored(&self) -> Vec<&str> {
        self.operation.latches.stored.iter().map(|d| self.plant.machine.detections[*d].id.as_str()).collect()
    }

    fn tripped(&self) -> Vec<&str> {
        let latched = self.operation.latches.tripped.iter().zip(&self.plant.machine.parts);
        latched.filter(|(t, _)| **t).map(|(_, p)| p.id.as_str()).collect()
    }

    fn runs(&self, command: usize) -> CompressorDoes {
        let told = self.plant.timeline(&self.params, &self.operation, command).expect("a timeline");
        told.settled().expect("a phase").compressor
    }
}

const SILENT: usize = 0;
const STEADY: usize = 1;
const WOBBLES: usize = 2;

/// Bus at rest: 1.414 times the mains (arithmetic), less two diodes; lifted in running.
#[test]
fn a_sound_machine() {
    let bench = Bench::new();
    let f = bench.summer(&[]);
    assert!((f.number("bus volts CBUS at rest") - 325.3).abs() < 4.0);
    assert!((350.0..=400.0).contains(&f.number("bus volts CBUS while cooling")));
    assert_eq!(f.word("signal CABLE"), WOBBLES);
    assert!(f.stored().is_empty() && f.tripped().is_empty());
    assert_eq!(f.runs(0), CompressorDoes::Runs);
    // A third of its rated watts and a power factor near one.
    assert!((3.0..6.5).contains(&f.number("amps supply while cooling settled")));
    // Supply air well below the room, and warm in winter.
    assert!(f.number("thermometer supply air settled") < 273.15 + 26.0 - 8.0);
    let winter = bench.winter(&[]);
    assert_eq!(winter.runs(1), CompressorDoes::Runs);
    assert!(winter.number("thermometer supply air settled while heating") > 273.15 + 30.0);
}

/// The six readings of the module and the four of the rectifier: all alike, then the one that is not.
#[test]
fn diode_tests() {
    let bench = Bench::new();
    let sound = bench.summer(&[]);
    let six = ["N to IPM.U", "N to IPM.V", "N to IPM.W", "U to IPM.P", "V to IPM.P", "W to IPM.P"];
    for pair in six {
        assert!((0.3..0.7).contains(&sound.number(&format!("diode IPM.{pair}"))), "{pair}");
    }
    let shorted = bench.summer(&["IPM:switch-shorted"]);
    assert!(shorted.number("diode IPM.N to IPM.V") < 0.02);
    assert!((0.3..0.7).contains(&shorted.number("diode IPM.N to IPM.U")));
    let leg = bench.summer(&["IPM:leg-shorted"]);
    assert!(leg.number("diode IPM.N to IPM.U") < 0.02 && leg.number("diode IPM.U to IPM.P") < 0.02);
    let open = bench.summer(&["REC:diode-open"]);
    assert_eq!(open.number("diode REC.- to REC.AC2"), f64::INFINITY);
    assert_eq!(sound.number("diode REC.+ to REC.AC1"), f64::INFINITY);
    assert!(bench.summer(&["REC:diode-shorted"]).number("diode REC.+ to REC.AC1") < 0.02);
}

/// What shorts the bus takes the fuse along; the indoor unit stays lit and hears nothing.
#[test]
fn a_short_behind_the_rectifier_is_a_blown_fuse_and_a_silent_line() {
    let bench = Bench::new();
    for mode in ["REC:diode-shorted", "CBUS:shorted", "IPM:leg-shorted", "PFC:shorted", "VAR:shorted"] {
        let f = bench.summer(&[mode]);
        assert_eq!(f.tripped(), ["F1"], "{mode}");
        assert_eq!(f.stored(), ["no-traffic"], "{mode}");
        assert!(f.operation.display_lit, "{mode}");
        assert!(f.number("bus volts CBUS at rest") < 5.0, "{mode}");
        assert_eq!(f.word("signal CABLE"), SILENT, "{mode}");
    }
}

#[test]
fn one_shorted_switch_shows_only_at_the_start() {
    let bench = Bench::new();
    let f = bench.summer(&["IPM:switch-shorted"]);
    assert!(f.number("bus volts CBUS at rest") > 300.0);
    assert_eq!(f.stored(), ["module-current"]);
}

/// Three pairs: equal on a sound motor and on one with weak magnets, unequal with shorted turns, OL with an open winding.
#[test]
fn windings() {
    let bench = Bench::new();
    let pairs = |f: &Found<'_>| ["U-COMP.V", "V-COMP.W", "U-COMP.W"].map(|p| f.number(&format!("ohms COMP.{p} off")));
    let alike = |p: [f64; 3]| p.iter().all(|x| (x - p[0]).abs() < 0.05 * p[0]);
    let (sound, weak) = (bench.summer(&[]), bench.summer(&["COMP:demagnetised:half-lost"]));
    assert!(alike(pairs(&sound)) && alike(pairs(&weak)));
    assert!(weak.number("amps IPM.U while cooling") > 1.5 * sound.number("amps IPM.U while cooling"));
    assert!(!alike(pairs(&bench.summer(&["COMP:shorted-turns"]))));
    let open = bench.summer(&["COMP:open"]);
    assert!(pairs(&open).iter().filter(|p| p.is_infinite() || **p > 1e6).count() == 2);
    assert_eq!(open.stored(), ["phase-loss"]);
    assert_eq!(bench.summer(&["IPM:gate-dead"]).stored(), ["phase-loss"]);
    assert_eq!(bench.summer(&["COMP:loose-V"]).stored(), ["phase-loss"]);
}

/// An earthed winding opens the residual-current breaker as the compressor starts; the display is then dark.
#[test]
fn an_earthed_winding() {
    let bench = Bench::new();
    let f = bench.summer(&["COMP:earthed"]);
    assert_eq!(f.tripped(), ["BRK"]);
    assert!(!f.operation.display_lit);
    assert!(f.number("insulation COMP") < 1e4);
}

#[test]
fn a_seized_compressor_is_a_matter_of_current() {
    let bench = Bench::new();
    let f = bench.summer(&["COMP:seized"]);
    assert_eq!(f.stored(), ["module-current"]);
    assert!(f.tripped().is_empty());
}

/// Signal to neutral: silent where nothing feeds the line or a short holds it, steady where nobody answers.
#[test]
fn the_line_between_the_units() {
    let bench = Bench::new();
    for (mode, shows) in [
        ("CABLE:signal-open", STEADY),
        ("CABLE:signal-shorted", SILENT),
        ("IBOARD:port", STEADY),
        ("OBOARD:port", SILENT),
        ("OBOARD:dead", STEADY),
        ("PSO:dead", SILENT),
        ("OFAN:logic-shorted", SILENT),
        ("F1:blown", SILENT),
        ("CABLE:line-open", STEADY),
    ] {
        let f = bench.summer(&[mode]);
        assert_eq!(f.word("signal CABLE"), shows, "{mode}");
        if f.operation.display_lit {
            assert_eq!(f.stored(), ["no-traffic"], "{mode}");
        }
    }
}

/// Case of the trade: the logic supply of the outdoor fan shorted, 15 V rail at 0.8 V, bus good, 2.8 ohm on the bench.
#[test]
fn a_fan_that_pulls_down_the_logic_supply() {
    let bench = Bench::new();
    let f = bench.summer(&["OFAN:logic-shorted"]);
    assert!((f.number("bus volts CBUS at rest") - 325.0).abs() < 5.0);
    assert!(f.number("control volts O15-DC-") < 2.0);
    assert!((f.number("ohms OFAN.VCC-OFAN.GND off") - 2.8).abs() < 0.3);
    assert!(bench.summer(&[]).number("control volts O15-DC-") > 14.0);
    assert!(bench.summer(&["PSO:dead"]).number("ohms OFAN.VCC-OFAN.GND off") > 1e3);
}

/// The resistor carries an idle bus and no load.
#[test]
fn a_bypass_relay_that_does_not_close() {
    let bench = Bench::new();
    let f = bench.summer(&["INR:no-bypass"]);
    assert!(f.number("bus volts CBUS at rest") > 300.0);
    assert_eq!(f.stored(), ["bus"]);
    let open = bench.summer(&["INR:open"]);
    assert!(open.number("bus volts CBUS at rest") < 5.0);
    assert_eq!(open.number("ohms INR.1-INR.2 off"), f64::INFINITY);
}

#[test]
fn a_dried_out_bus_capacitor_and_a_dead_power_factor_stage() {
    let bench = Bench::new();
    let f = bench.summer(&["CBUS:tired:a-tenth-left"]);
    assert_eq!(f.stored(), ["bus"]);
    assert!((f.number("microfarads CBUS") - 204e-6).abs() < 10e-6);
    let (sound, dead) = (bench.summer(&[]), bench.summer(&["PFC:dead"]));
    assert!(dead.number("bus volts CBUS while cooling") < 330.0);
    // Pulses at the peaks: far more amps for the same watts.
    let amps = "amps supply while cooling settled";
    assert!(dead.number(amps) > 1.4 * sound.number(amps));
}

/// The valve's coil is energised in heating: without it the machine cools in winter, and in summer nobody notices.
#[test]
fn the_reversing_valve() {
    let bench = Bench::new();
    for mode in ["RV:coil-open", "KRV:open", "RV:stuck-cooling"] {
        let winter = bench.winter(&[mode]);
        assert!(winter.number("thermometer supply air settled while heating") < 273.15 + 20.5, "{mode}");
        assert!(winter.operation.outcome.too_hot || winter.operation.heat_by_heat_pump < 0.1, "{mode}");
        assert!(bench.summer(&[mode]).operation.outcome.call < 0.1, "{mode}");
        assert_eq!(winter.word("watch RV while heating"), 0, "{mode}");
    }
    let rise = |f: &Found<'_>| f.number("rise through RV while cooling");
    assert!(rise(&bench.summer(&[])) <= 3.0 && rise(&bench.summer(&["RV:leaks-by:a-little"])) > 5.0);
}

/// A sensor outdoors comes to the display over the line, or not at all.
#[test]
fn without_a_line_no_outdoor_sensor_is_shown() {
    let bench = Bench::new();
    let f = bench.summer(&["CABLE:signal-open"]);
    assert_eq!(f.number("shown T5 at rest"), f64::INFINITY);
    assert!(f.number("shown T1 at rest").is_finite());
}

/// Behaving as designed: below its limit the machine waits, and says so.
#[test]
fn too_cold_outdoors() {
    let bench = Bench::new();
    let f = bench.found(&[], 20.0, -25.0);
    assert_eq!(f.stored(), ["outdoor-cold"]);
    assert!(f.tripped().is_empty());
}

#[test]
fn fans_that_do_not_tell_their_speed() {
    let bench = Bench::new();
    for (mode, code) in [
        ("IFAN:dead", "indoor-fan"),
        ("IFAN:feedback", "indoor-fan"),
        ("OFAN:bearing:seized", "outdoor-fan"),
        ("OFAN:feedback", "outdoor-fan"),
        ("PSI:sags", "indoor-fan"),
    ] {
        assert_eq!(bench.summer(&[mode]).stored(), [code], "{mode}");
    }
}

/// A heat sink that keeps its heat makes the board slow the compressor before it stops it.
#[test]
fn a_hot_module_slows_down() {
    let bench = Bench::new();
    let (sound, hot) = (bench.summer(&[]), bench.summer(&["IPM:hot"]));
    let amps = "amps supply while cooling settled";
    assert!(hot.number(amps) < 0.9 * sound.number(amps));
    assert!(hot.number("shown T6 settled") > sound.number("shown T6 settled") + 10.0);
    assert_eq!(hot.stored(), Vec::<&str>::new());
}
