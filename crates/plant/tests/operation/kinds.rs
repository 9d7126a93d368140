//! Kinds of machine beside the water heater: what the trade expects to see of them. Facts without another source are
//! common practice.

use std::rc::Rc;

use halfsplit_machine::examples::example;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{CompressorDoes, Operation, Plant, Prediction, Visit};

struct Found {
    plant: Rc<Plant>,
    params: Vec<f64>,
    operation: Operation,
}

fn plant(name: &str) -> Rc<Plant> {
    let machine = Machine::build(example(name).expect("an example").text).unwrap_or_else(|e| panic!("{e}"));
    Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")))
}

fn found(plant: &Rc<Plant>, modes: &[&str]) -> Found {
    found_at(plant, modes, Conditions::default())
}

fn found_at(plant: &Rc<Plant>, modes: &[&str], conditions: Conditions) -> Found {
    let m = &plant.machine;
    let mut params = m.sound();
    for id in modes {
        // Of a fault that has degrees only because its size is not known, the stronger one.
        let i = m.modes.iter().rposition(|x| x.id == *id || x.name_id == *id).unwrap_or_else(|| panic!("no mode {id}"));
        m.apply(ModeIx(i), &mut params);
    }
    let operation = plant.operate(&params, &Visit { conditions, reset: false });
    Found { plant: plant.clone(), params, operation }
}

impl Found {
    fn number(&self, test: &str) -> f64 {
        let m = &self.plant.machine;
        // Two wires may stand in either order.
        let words: Vec<&str> = test.splitn(3, ' ').collect();
        let turned = match words[..] {
            ["volts", wires, when] => {
                let (a, b) = wires.split_once('-').expect("two wires");
                format!("volts {b}-{a} {when}")
            }
            _ => test.to_owned(),
        };
        let found = m.tests.iter().find(|t| t.id == test || t.id == turned);
        let t = found.unwrap_or_else(|| panic!("no test \"{test}\""));
        match self.plant.predict(&self.params, &self.operation, t) {
            Prediction::Number { centre, .. } => centre,
            Prediction::Words(_) => panic!("\"{test}\" gives words"),
        }
    }

    fn word(&self, test: &str) -> String {
        let m = &self.plant.machine;
        let t = m.tests.iter().find(|t| t.id == test).unwrap_or_else(|| panic!("no test \"{test}\""));
        let (Prediction::Words(p), halfsplit_machine::test::Answer::Words(w)) =
            (self.plant.predict(&self.params, &self.operation, t), &t.answer)
        else {
            panic!("\"{test}\" gives a number")
        };
        let most = p.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).expect("words").0;
        w[most].clone()
    }

    fn does(&self, command: &str) -> Vec<CompressorDoes> {
        let c = self.plant.machine.commands.iter().position(|c| c.id == command).expect("a command");
        let t = self.plant.timeline(&self.params, &self.operation, c).expect("a timeline");
        t.phases.iter().map(|p| p.compressor).collect()
    }
}

/// Compressor running, in the order delay, start, running; the delay keeps it off for five minutes.
#[test]
fn a_split_cools_and_heats() {
    let plant = plant("split");
    let f = found(&plant, &[]);
    for command in ["cooling", "heating"] {
        assert_eq!(f.does(command), [CompressorDoes::Silent, CompressorDoes::Runs, CompressorDoes::Runs], "{command}");
    }
    assert!(f.operation.outcome.call <= 0.05, "{:?}", f.operation.outcome);
    // RLA 16.7 A and fans: a running unit stays below what its circuit is made for (MCA 22.1 A by NEC 440, arithmetic).
    let amps = f.number("amps supply while cooling settled");
    assert!((13.0..22.1).contains(&amps), "{amps:.1} A");
    // Saturated evaporating 1 to 8 °C at 26 °C indoors; condensing 8 to 20 K above outdoor air.
    let c = plant.machine.commands.iter().position(|c| c.id == "cooling").expect("cooling");
    let point = plant.timeline(&f.params, &f.operation, c).and_then(|t| t.settled()).expect("settled").point;
    assert!((0.0..9.0).contains(&(point.evaporating - 273.15)), "{}", point.evaporating - 273.15);
    assert!((8.0..20.0).contains(&(point.condensing - 305.15)), "{}", point.condensing - 273.15);
}

/// Where do the 24 V stop: across what is open, all of them; across what is closed, none; behind it, none to common.
#[test]
fn the_24_volts_stop_where_the_chain_is_open() {
    let plant = plant("split");
    let sound = found(&plant, &[]);
    // 24 to 28 V at the transformer under load.
    let made = sound.number("volts 24F-24C while cooling");
    assert!((24.0..28.5).contains(&made), "{made:.1} V");
    assert!((sound.number("volts YC-24C while cooling") - made).abs() < 1.5);
    for (mode, across, behind) in [
        ("HPS:open", "volts Y-Y1 while cooling", "Y1"),
        ("LPS:open", "volts Y1-Y2 while cooling", "Y2"),
        ("ASC:open", "volts Y2-YC while cooling", "YC"),
    ] {
        let f = found(&plant, &[mode]);
        assert!(f.number(across) > 23.0, "{mode}: {:.1} V across", f.number(across));
        assert!(f.number(&format!("volts {behind}-24C while cooling")) < 2.0, "{mode}");
        assert!(sound.number(across) < 0.5, "{mode}");
        assert_eq!(f.word("watch CC while cooling"), "stays out", "{mode}");
        assert!(f.does("cooling").iter().all(|d| *d == CompressorDoes::Silent), "{mode}");
        assert!(f.operation.outcome.heat_pump == 0.0 && f.operation.outcome.call > 0.9, "{mode}");
    }
    // All of the voltage across the coil and no pull: the coil.
    let coil = found(&plant, &["CC:coil-open"]);
    assert!(coil.number("volts YC-24C while cooling") > 23.0);
    assert_eq!(coil.word("watch CC while cooling"), "stays out");
    // Without the transformer nothing is called for anywhere.
    let dead = found(&plant, &["TR:primary-open"]);
    assert!(dead.number("volts 24R-24C at rest") < 1.0);
    assert_eq!(dead.word("watch BLOW while blower"), "still");
}

/// A coil that shorts blows the 24 V fuse, whoever fits a new one first.
#[test]
fn a_shorted_contactor_coil_has_blown_the_fuse() {
    let plant = plant("split");
    let f = found(&plant, &["CC:coil-shorted"]);
    let fuse = plant.machine.part("F24").expect("F24").0;
    assert!(f.operation.latches.tripped[fuse], "the fuse holds");
}

/// Without outdoor air the condensing pressure climbs until the high-pressure switch opens (opens above 4200 kPa gauge:
/// 66 °C of R410A by its saturation tables); the blower goes on.
#[test]
fn a_dead_outdoor_fan_opens_the_high_pressure_switch() {
    let plant = plant("split");
    for mode in ["OFAN:open", "CDUAL:fan-open", "DFB:fan-relay"] {
        let f = found(&plant, &[mode]);
        assert_eq!(f.word("watch OFAN while cooling"), "still", "{mode}");
        let does = f.does("cooling");
        assert_eq!(does.last(), Some(&CompressorDoes::Silent), "{mode}: {does:?}");
        assert!(f.number("volts Y-Y1 while cooling settled") > 23.0, "{mode}");
        assert_eq!(f.word("watch BLOW while cooling"), "runs", "{mode}");
    }
}

/// Nearly empty: the low side falls below the low-pressure switch (250 kPa gauge).
#[test]
fn a_nearly_empty_circuit_opens_the_low_pressure_switch() {
    let plant = plant("split");
    let f = found(&plant, &["CHARGE:low:nearly-empty"]);
    assert!(f.number("volts Y1-Y2 while cooling settled") > 23.0, "{:?}", f.does("cooling"));
}

/// A welded contactor: the compressor runs with nothing called.
#[test]
fn a_welded_contactor_never_stops() {
    let plant = plant("split");
    let f = found(&plant, &["CC:welded"]);
    assert!(f.operation.outcome.noise && f.operation.outcome.call > 0.3);
    assert!(f.number("volts T1-L2 at rest") > 200.0);
}

/// The valve's coil is energised in cooling: without it the room is heated.
#[test]
fn a_valve_without_its_coil_heats() {
    let plant = plant("split");
    let f = found(&plant, &["RV:coil-open"]);
    assert!(f.operation.outcome.heat_pump < 0.05 && f.operation.outcome.too_hot);
    let winter = Conditions { outdoor: Some(275.15), air: Some(293.15), ..Conditions::default() };
    let f = found_at(&plant, &["RV:coil-open"], winter);
    assert!(f.operation.outcome.heat_pump > 0.9, "heating does not need it: {:?}", f.operation.outcome);
}

/// A hard-start kit starts a compressor whose run capacitor is half gone.
#[test]
fn a_start_capacitor_helps() {
    let plant = plant("split");
    let f = found(&plant, &["CDUAL:herm-weak:a-quarter-left"]);
    assert!(
        matches!(f.does("cooling")[1], CompressorDoes::Runs | CompressorDoes::RunsThenStops(_)),
        "{:?}",
        f.does("cooling")
    );
    let both = found(&plant, &["CDUAL:herm-open", "CST:open"]);
    assert!(matches!(both.does("cooling")[1], CompressorDoes::Hums(_)), "{:?}", both.does("cooling"));
}

/// Run current about 1 A; without its start thermistor the run winding hums alone at 9.6 A until the overload clicks
/// after some seconds.
#[test]
fn a_refrigerator_hums_without_its_starter() {
    let plant = plant("refrigerator");
    let sound = found(&plant, &[]);
    let amps = sound.number("amps COMP.C while cooling");
    assert!((0.6..1.2).contains(&amps), "{amps:.2} A");
    for mode in ["PTC:open", "PTC:burnt", "COMP:seized", "COMP:start-open"] {
        let f = found(&plant, &[mode]);
        let CompressorDoes::Hums(seconds) = f.does("cooling")[0] else { panic!("{mode}: {:?}", f.does("cooling")) };
        assert!((3.0..12.0).contains(&seconds), "{mode}: {seconds:.1} s");
        let amps = f.number("amps COMP.C while cooling");
        assert!((8.0..11.5).contains(&amps), "{mode}: {amps:.1} A");
        assert_eq!(f.word("complaint"), "not cold at all", "{mode}");
    }
    assert_eq!(found(&plant, &["OVL:open"]).does("cooling")[0], CompressorDoes::Silent);
}

/// Whatever keeps the heater from melting the ice leads to an iced coil: the heater, its thermostat, its link, the timer.
#[test]
fn ice_follows_from_any_link_of_the_defrost_chain() {
    let plant = plant("refrigerator");
    let sound = found(&plant, &[]);
    // 350 W at 120 V: 2.9 A (arithmetic).
    let amps = sound.number("amps supply while defrost");
    assert!((2.6..3.1).contains(&amps), "{amps:.2} A");
    let healthy = sound.operation.outcome.heat_pump;
    for mode in ["DHT:open", "BIM:open", "LINK:open", "TIM:stuck-cooling"] {
        let f = found(&plant, &[mode]);
        assert!(f.operation.outcome.heat_pump < 0.8 * healthy, "{mode}: {}", f.operation.outcome.heat_pump);
        if mode != "TIM:stuck-cooling" {
            assert!(f.number("amps supply while defrost") < 0.2, "{mode}");
        }
    }
}

/// A full bucket stops the compressor whatever the board wants, and the display says so.
#[test]
fn a_full_bucket_stops_a_dehumidifier() {
    let plant = plant("dehumidifier");
    let f = found(&plant, &["DRAIN:clogged"]);
    assert!(f.does("drying").iter().all(|d| *d == CompressorDoes::Silent));
    assert_eq!(f.word("display message"), "bucket full");
}

/// Behaving as designed: in a cold cellar the coil frosts and the machine shows that it defrosts; in a colder one it does
/// not run at all. Neither is a fault of a part.
#[test]
fn too_cold_to_dry_is_no_fault() {
    let plant = plant("dehumidifier");
    let cool = found_at(&plant, &[], Conditions { air: Some(281.15), ..Conditions::default() });
    assert_eq!(cool.word("display message"), "defrosting, fan only");
    let cold = found_at(&plant, &[], Conditions { air: Some(275.15), ..Conditions::default() });
    assert_eq!(cold.word("display message"), "room too cold to dry");
}

/// A cut-off behind the board's feed leaves the display lit when it opens.
#[test]
fn where_the_cut_off_feeds_the_board_decides_what_the_display_does() {
    let before = found(&plant("water-heater"), &["ECO:open-pole"]);
    let after = found(&plant("water-heater-r290"), &["ECO:open-pole"]);
    assert!(!before.operation.display_lit && after.operation.display_lit);
}
