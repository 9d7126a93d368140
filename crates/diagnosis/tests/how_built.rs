//! One job on a sheet that leaves open how the machine is built.
//!
//! The independent check: the same readings on the plain sheets, one for each way, mixed by the ways' shares and by how well
//! each foretold what was read (Bayes' theorem over the way of building; arithmetic), give the same odds.

use std::collections::BTreeMap;
use std::rc::Rc;

use halfsplit_diagnosis::{Case, Do, Errand, Judgement, Observed, Opening, Possible};
use halfsplit_machine::sheet::Sheet;
use halfsplit_machine::starter::{Form, start};
use halfsplit_machine::test::Tool;
use halfsplit_machine::{Conditions, Machine, ModeIx};
use halfsplit_plant::{Plant, Prediction, Visit};

/// How far the odds of one job may lie from the mixture of two. Each of the three neglects up to a thousandth of what it
/// has; and a link has a tenth of a milliohm where the plain sheet has the same wire.
const NEAR: f64 = 4e-3;

fn text(kind: &str, answers: &[(&str, &str)]) -> String {
    let answers: BTreeMap<String, String> = answers.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
    let form = Form { kind: kind.to_owned(), name: String::new(), answers };
    start(&form).unwrap_or_else(|e| panic!("{kind}: {e}")).sheet
}

fn plant(text: &str) -> Rc<Plant> {
    let machine = Machine::build(text).unwrap_or_else(|e| panic!("{e}"));
    Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")))
}

fn open(plant: &Rc<Plant>) -> Case {
    let opening = Opening {
        errand: Errand::Call,
        conditions: Conditions::default(),
        tools: Tool::ALL.to_vec(),
        judgement: Judgement::default(),
    };
    Case::open(plant.clone(), opening)
}

/// What a test reads on a machine with these modes: the likeliest word, the expected number.
fn shown(plant: &Plant, modes: &[&str], test: &str) -> Observed {
    let m = &plant.machine;
    let mut p = m.sound();
    // First how it is built, then what has become of it.
    let mut ids: Vec<usize> = modes
        .iter()
        .map(|id| m.modes.iter().position(|x| x.id == *id).unwrap_or_else(|| panic!("no mode {id}")))
        .collect();
    ids.sort_by_key(|i| m.built_odds(ModeIx(*i)).is_none());
    for i in ids {
        m.apply(ModeIx(i), &mut p);
    }
    let o = plant.operate(&p, &Visit::default());
    let t = m.tests.iter().find(|t| t.id == test).unwrap_or_else(|| panic!("no test {test}"));
    match plant.predict(&p, &o, t) {
        Prediction::Words(w) => {
            Observed::Category(w.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |x| x.0))
        }
        Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
        Prediction::Number { centre, .. } => Observed::Value(centre),
    }
}

fn read(case: &mut Case, test: &str, observed: Observed) {
    let ix = case.test(test).unwrap_or_else(|e| panic!("{test}: {e}"));
    case.read(ix, observed).unwrap_or_else(|e| panic!("{test}: {e}"));
}

fn of(p: &Possible, suspect: &str) -> f64 {
    p.suspects.iter().find(|s| s.id == suspect).map_or(0.0, |s| s.probability)
}

/// What is likeliest, in short.
fn brief(p: &Possible) -> String {
    let suspects: Vec<String> = p.suspects.iter().take(8).map(|s| format!("{} {:.3}", s.id, s.probability)).collect();
    format!(
        "{:?}; {}; nothing {:.3}, not described {:.3}",
        p.how_built,
        suspects.join(", "),
        p.nothing_broken,
        p.not_described
    )
}

/// The probability of the way, by its place in the sheet, of the first question.
fn way(p: &Possible, way: usize) -> f64 {
    p.how_built[0].ways[way].1
}

const CUT_OFF: &str = "CUT-OFF-FEED:way-2";

/// Readings on the sheet that leaves it open, and under which names the plain sheets have them: as drawn, otherwise.
const FEED: [&str; 3] = ["volts BFEED-BRET at rest", "volts L1E-L2E at rest", "volts L1-L2 at rest"];

const FEED_TOLD: [&str; 3] =
    ["volts BFEED-BRET while elements", "volts L1E-L2E while elements", "volts L1-L2 while elements"];

/// Holds one job against the mixture of two after each reading, and gives the last view.
fn held_against_two_jobs(truth: &[&str], tests: &[[&str; 3]]) -> Possible {
    let open_sheet = plant(&text("water-heater", &[]));
    let plain = ["yes", "no"].map(|a| plant(&text("water-heater", &[("cut_off_feeds_board", a)])));
    let shares: Vec<f64> = open_sheet.machine.unsure().next().expect("a question").1.iter().map(|w| w.share).collect();
    let mut one = open(&open_sheet);
    let mut two = plain.clone().map(|p| open(&p));
    for names in [["", "", ""]].iter().chain(tests) {
        if !names[0].is_empty() {
            let observed = shown(&open_sheet, truth, names[0]);
            read(&mut one, names[0], observed);
            two.iter_mut().zip(&names[1..]).for_each(|(case, name)| read(case, name, observed));
        }
        let logs: Vec<f64> =
            two.iter().zip(&shares).map(|(c, share)| libm::log(*share) + c.posterior().log_evidence).collect();
        let weights = [1.0 / (1.0 + libm::exp(logs[1] - logs[0])), 1.0 / (1.0 + libm::exp(logs[0] - logs[1]))];
        let views = [two[0].still_possible(), two[1].still_possible()];
        let mixed = |f: &dyn Fn(&Possible) -> f64| -> f64 { views.iter().zip(weights).map(|(p, w)| w * f(p)).sum() };
        let here = one.still_possible();
        let near = |what: &str, a: f64, b: f64| {
            assert!((a - b).abs() < NEAR, "{truth:?} after {}: {what}: {a} in one job, {b} in two", names[0]);
        };
        near("the way", way(&here, 1), weights[1]);
        near("nothing broken", here.nothing_broken, mixed(&|p| p.nothing_broken));
        near("not described", here.not_described, mixed(&|p| p.not_described));
        for s in &here.suspects {
            near(&s.id, s.probability, mixed(&|p| of(p, &s.id)));
        }
        for s in views.iter().flat_map(|p| &p.suspects) {
            near(&s.id, of(&here, &s.id), mixed(&|p| of(p, &s.id)));
        }
    }
    one.still_possible()
}

/// One job on the sheet that leaves it open.
fn one_job(sheet: &str, truth: &[&str], tests: &[&str]) -> Case {
    let plant = plant(sheet);
    let mut case = open(&plant);
    for test in tests {
        read(&mut case, test, shown(&plant, truth, test));
    }
    case
}

fn same(test: &str) -> [&str; 3] {
    [test; 3]
}

/// A board that the cut-off feeds is dark when it has opened; one that it does not feed is lit. Both truths, from the same
/// sheet: the readings at the board's supply decide, and the fault is the right one.
#[test]
fn readings_at_the_boards_supply_decide_how_it_is_built() {
    let tests = [
        same("complaint"),
        same("ohms ECO.1-ECO.2 off"),
        same("look ECO cut-off position"),
        same("ohms K3.COM-K3.NO off"),
        same("ohms K4.COM-K4.NO off"),
        FEED,
        FEED_TOLD,
        same("display lit"),
    ];
    let own = |p: &Possible| of(p, "ECO:tripped") + of(p, "ECO:weak");
    let fed = held_against_two_jobs(&["ECO:tripped"], &tests);
    assert!(way(&fed, 0) > 0.97, "{}", brief(&fed));
    assert!(own(&fed) > 0.8, "{}", brief(&fed));
    let not_fed = held_against_two_jobs(&["ECO:tripped", CUT_OFF], &tests);
    assert!(way(&not_fed, 1) > 0.97, "{}", brief(&not_fed));
    assert!(own(&not_fed) > 0.8, "{}", brief(&not_fed));
}

/// A dark board with the cut-off out is a matter of course where it feeds the board; where it does not, the supply behind it
/// is dead as well. Two faults at once are rare, so that the wires have to say it more than once, or somebody has to look.
#[test]
fn a_dark_board_behind_a_cut_off_that_does_not_feed_it_has_a_fault_of_its_own() {
    let tests = [
        "display lit",
        // A glance may err, and a probe may touch nothing.
        "display lit",
        "look ECO cut-off position",
        "ohms ECO.1-ECO.2 off",
        "volts L1E-L2E at rest",
        "volts BFEED-BRET at rest",
        "volts BP-BRET at rest",
        "volts BFEED-BRET while elements",
        "control volts 12V-GND",
        "control volts 12V-GND",
        "ohms F1.1-F1.2 off",
        "look CUT-OFF-FEED",
    ];
    let sheet = text("water-heater", &[]);
    let opened =
        |p: &Possible| ["ECO:tripped", "ECO:weak", "K3:welded", "K4:welded"].map(|id| of(p, id)).iter().sum::<f64>();
    let p = one_job(&sheet, &["ECO:tripped", "PS:dead", CUT_OFF], &tests).still_possible();
    assert!(way(&p, 1) > 0.95, "{}", brief(&p));
    assert!(of(&p, "PS:dead") > 0.9 && opened(&p) > 0.8, "{}", brief(&p));
    let p = one_job(&sheet, &["ECO:tripped"], &tests).still_possible();
    assert!(way(&p, 0) > 0.999, "{}", brief(&p));
    assert!(of(&p, "PS:dead") < 0.01 && opened(&p) > 0.9, "{}", brief(&p));
}

/// The sheet takes a contactor of one pole, with equal odds for two; the truth is two, and its contacts do not make. On the
/// machine as drawn the second conductor would be joined all the same.
#[test]
fn a_fault_on_a_machine_built_otherwise_than_drawn_is_found() {
    let drawn_single = {
        let mut sheet = Sheet::parse(&text("split", &[])).expect("a sheet");
        let poles = sheet.unsure.iter_mut().find(|u| u.id == "POLES").expect("asked");
        poles.ways.reverse();
        sheet.to_text().expect("a text")
    };
    let m = Machine::build(&drawn_single).expect("builds");
    let (_, ways) = m.unsure().next().expect("a question");
    assert!(ways[0].says.starts_with("1:"), "{ways:?}");
    let tests = [
        "watch CC while cooling",
        "watch COMP while cooling",
        "look CC worn",
        "look CC jammed",
        "volts L1-T2 while cooling",
        // With one pole the other conductor is joined whether anybody calls or not.
        "volts L1-T2 at rest",
    ];
    let case = one_job(&drawn_single, &["CC:pitted:not-making", "POLES:way-2"], &tests);
    let p = case.still_possible();
    assert!(way(&p, 1) > 0.9, "{}", brief(&p));
    assert_eq!(p.suspects[0].id, "CC:pitted", "{}", brief(&p));
    // The same fault where the drawing is right.
    let case = one_job(&drawn_single, &["CC:pitted:not-making"], &tests);
    let p = case.still_possible();
    assert!(way(&p, 0) > 0.9, "{}", brief(&p));
    assert_eq!(p.suspects[0].id, "CC:pitted", "{}", brief(&p));
}

/// Follows the advice, answering as the truth would, until something is to be done; gives what, and the tests made.
fn followed(sheet: &str, truth: &[&str], found: &[&str]) -> (Do, Vec<String>) {
    let plant = plant(sheet);
    let mut case = one_job(sheet, truth, found);
    let mut made = Vec::new();
    for _ in 0..20 {
        match case.next_step() {
            Do::Test(t) => {
                let id = plant.machine.tests[t.test].id.clone();
                read(&mut case, &id, shown(&plant, truth, &id));
                made.push(id);
            }
            other => return (other, made),
        }
    }
    panic!("no end after {made:?}");
}

/// How the machine is built is asked where it matters, and never put right.
#[test]
fn the_advice_ends_at_the_fault_however_the_machine_is_built() {
    let sheet = text("water-heater", &[]);
    for truth in [&["F1:blown"][..], &["F1:blown", CUT_OFF]] {
        let (end, made) = followed(&sheet, truth, &["complaint", "display lit"]);
        assert!(matches!(&end, Do::Repair { group, .. } if group == "F1/replace"), "{truth:?}: {end:?} after {made:?}");
    }
}
