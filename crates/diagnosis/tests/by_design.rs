//! A sound machine in a state that it is designed for: whoever follows the advice waits, looks again and fits nothing. The same
//! first look at a failure that shows the same ends with its repair.

use std::rc::Rc;

use halfsplit_diagnosis::{Action, Case, Do, Ending, Errand, Judgement, Observed, Opening};
use halfsplit_machine::examples::example;
use halfsplit_machine::test::{Answer, Measure, Tool};
use halfsplit_machine::{Conditions, Machine, ModeIx, Nature};
use halfsplit_plant::{Plant, Prediction, Visit};

const NOTHING: [&str; 0] = [];

/// A machine that answers as its model says: the likeliest word, the middle of a number.
struct Answers {
    plant: Rc<Plant>,
    visit: Visit,
    /// Modes that are there, by id.
    modes: Vec<&'static str>,
}

impl Answers {
    fn to(&self, test: usize) -> Observed {
        let m = &self.plant.machine;
        let (mut past, mut now) = (m.sound(), m.sound());
        for id in &self.modes {
            let i = m.modes.iter().position(|x| x.id == *id).unwrap_or_else(|| panic!("no mode {id}"));
            m.apply(ModeIx(i), &mut now);
            if m.modes[i].nature == Nature::Fault {
                m.apply(ModeIx(i), &mut past);
            }
        }
        let before = self.plant.operate(&past, &self.visit);
        let predicted = match &m.tests[test] {
            t if t.command.is_some() => self.plant.predict(&now, &self.plant.just_now(&now, &before), t),
            t => self.plant.predict(&past, &before, t),
        };
        match predicted {
            Prediction::Number { over, .. } if over > 0.5 => Observed::Over,
            Prediction::Number { centre, .. } => Observed::Value(centre),
            Prediction::Words(p) => {
                Observed::Category((0..p.len()).max_by(|a, b| p[*a].total_cmp(&p[*b])).expect("words"))
            }
        }
    }
}

/// What happened: the tests before which the advice was to wait, the repairs, the ending.
struct Course {
    waits: Vec<String>,
    repairs: Vec<String>,
    ending: Ending,
}

fn plant(name: &str) -> Rc<Plant> {
    let machine = Machine::build(example(name).expect("an example").text).unwrap_or_else(|e| panic!("{e}"));
    Rc::new(Plant::new(machine).unwrap_or_else(|e| panic!("{e}")))
}

/// Follows the advice to its end, from a first complaint and readings.
fn follow(
    plant: &Rc<Plant>,
    conditions: Conditions,
    modes: &[&'static str],
    complaint: &str,
    first: &[&str],
) -> Course {
    let opening =
        Opening { errand: Errand::Call, conditions, tools: Tool::ALL.to_vec(), judgement: Judgement::default() };
    let mut case = Case::open(plant.clone(), opening);
    let mut answers =
        Answers { plant: plant.clone(), visit: Visit { conditions, reset: false }, modes: modes.to_vec() };
    let mut course = Course { waits: Vec::new(), repairs: Vec::new(), ending: Ending::CannotTell };
    let asked = case.tests().iter().position(|t| t.measure == Measure::Complaint).expect("a complaint");
    let Answer::Words(words) = &case.tests()[asked].answer else { panic!("complaints are words") };
    let word = words.iter().position(|w| w == complaint).unwrap_or_else(|| panic!("no complaint {complaint}"));
    case.read(asked, Observed::Category(word)).expect("a word of the list");
    for id in first {
        let test = case.test(id).unwrap_or_else(|e| panic!("{e}"));
        case.read(test, answers.to(test)).expect("fits");
    }
    for _ in 0..60 {
        match case.advice().next {
            Do::Test(t) => {
                let id = case.tests()[t.test].id.clone();
                if let Some(wait) = &t.wait {
                    assert!(t.minutes >= wait.minutes && wait.what.starts_with("wait "), "{id}: {wait:?}");
                    course.waits.push(id.clone());
                    answers
                        .modes
                        .retain(|id| plant.machine.modes.iter().all(|x| x.id != *id || x.nature == Nature::Fault));
                }
                case.read(t.test, answers.to(t.test)).expect("fits");
            }
            Do::Repair { group, .. } => {
                let m = &plant.machine;
                assert!(m.modes.iter().any(|x| x.repair_group == group && x.nature == Nature::Fault), "{group}");
                answers.modes.retain(|id| m.modes.iter().all(|x| x.id != *id || x.repair_group != group));
                answers.visit.reset = true;
                case.act(&Action::Mend(group.clone())).expect("a repair of this machine");
                let faults = |x: &&&str| m.modes.iter().any(|y| y.id == **x && y.nature == Nature::Fault);
                case.prove(answers.modes.iter().filter(faults).count() == 0).expect("fits");
                course.repairs.push(group);
            }
            Do::End(ending) => {
                course.ending = ending;
                return course;
            }
        }
    }
    panic!("no end");
}

fn frost() -> Conditions {
    Conditions { air: Some(293.15), outdoor: Some(274.15), ..Conditions::default() }
}

#[test]
fn a_defrost_in_progress_is_waited_for_and_nothing_is_fitted() {
    let plant = plant("split");
    let first = ["watch COMP while heating", "watch OFAN while heating"];
    let complaint = "cools when it should heat, or heats when it should cool";
    let course = follow(&plant, frost(), &["DFB:defrosting"], complaint, &first);
    assert_eq!(course.repairs, NOTHING);
    assert_eq!(course.ending, Ending::NothingBroken);
    assert!(!course.waits.is_empty());
}

#[test]
fn a_defrost_that_does_not_end_is_a_dead_board() {
    let plant = plant("split");
    let first = ["watch OFAN while heating", "volts 24C-O while heating"];
    let complaint = "cools when it should heat, or heats when it should cool";
    let course = follow(&plant, frost(), &["DFB:stuck"], complaint, &first);
    assert_eq!(course.repairs, ["DFB/replace"]);
    assert_eq!(course.ending, Ending::Repaired);
}

#[test]
fn a_minimum_off_time_is_waited_for_and_nothing_is_fitted() {
    let plant = plant("split");
    let first = ["watch COMP while cooling", "watch BLOW while cooling"];
    let course = follow(&plant, Conditions::default(), &["ASC:waiting"], "no cooling or heating", &first);
    assert_eq!(course.repairs, NOTHING);
    assert_eq!(course.ending, Ending::NothingBroken);
    assert!(!course.waits.is_empty());
}

#[test]
fn a_timer_that_never_lets_through_is_replaced() {
    let plant = plant("split");
    let first = ["watch COMP while cooling", "watch BLOW while cooling"];
    let course = follow(&plant, Conditions::default(), &["ASC:open"], "no cooling or heating", &first);
    assert_eq!(course.repairs, ["ASC/replace"]);
    assert_eq!(course.ending, Ending::Repaired);
}

/// A sound refrigerator that is not cold at all is mistrusted (joints that come and go), but never its timer.
#[test]
fn the_timer_of_a_refrigerator_in_its_defrost_stays() {
    let plant = plant("refrigerator");
    let first = ["watch COMP while cooling"];
    let course = follow(&plant, Conditions::default(), &["TIM:defrosting"], "not cold at all", &first);
    assert!(course.repairs.iter().all(|r| !r.starts_with("TIM/")), "{:?}", course.repairs);
    assert!(!course.waits.is_empty());
}

/// Without frost nothing defrosts.
#[test]
fn a_warm_day_brings_no_defrost() {
    let plant = plant("split");
    let opening = |outdoor: f64| Opening {
        errand: Errand::Call,
        conditions: Conditions { outdoor: Some(outdoor), ..frost() },
        tools: Tool::ALL.to_vec(),
        judgement: Judgement::default(),
    };
    let defrosts = |outdoor: f64| {
        let case = Case::open(plant.clone(), opening(outdoor));
        case.still_possible().suspects.iter().filter(|s| s.id == "DFB:defrosting").map(|s| s.probability).sum::<f64>()
    };
    assert!(defrosts(274.15) > 0.05, "{}", defrosts(274.15));
    assert_eq!(defrosts(283.15), 0.0);
}
