//! A machine of which nobody knows how it is built: what the starter writes, and what the wiring makes of it.

use std::collections::BTreeMap;

use halfsplit_machine::library::Op;
use halfsplit_machine::starter::{Form, Started, start};
use halfsplit_machine::test::{Measure, PowerState};
use halfsplit_machine::{Branch, Drive, Machine, Role};

fn started(kind: &str, answers: &[(&str, &str)]) -> Started {
    let answers: BTreeMap<String, String> = answers.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
    let form = Form { kind: kind.to_owned(), name: String::new(), answers };
    start(&form).unwrap_or_else(|e| panic!("{kind}: {e}"))
}

fn machine(text: &str) -> Machine {
    Machine::build(text).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn the_starter_asks_in_the_sheet_what_nobody_answered() {
    for (kind, key, id) in
        [("water-heater", "cut_off_feeds_board", "CUT-OFF-FEED"), ("split", "contactor_poles", "POLES")]
    {
        let s = started(kind, &[]);
        let m = machine(&s.sheet);
        let (part, ways) = m.unsure().next().unwrap_or_else(|| panic!("{kind} asks nothing"));
        assert_eq!(m.parts[part.0].id, id);
        assert!(ways[0].mode.is_none(), "the way as drawn is no mode");
        let other = ways[1].mode.expect("the other way is one");
        let odds = m.built_odds(other).expect("odds");
        assert!((odds - ways[1].share / ways[0].share).abs() < 1e-12);
        // Nothing else is a way of building.
        assert_eq!((0..m.modes.len()).filter(|i| m.built_odds(halfsplit_machine::ModeIx(*i)).is_some()).count(), 1);
        let asked = s.alternatives.iter().find(|a| a.key == key).expect("told");
        assert_eq!(asked.carried.as_deref(), Some(id));
        // An answer settles it, and the sheet says no word of it then.
        for other in &asked.others {
            assert!(!other.sheet.contains("[[unsure]]"), "{kind}");
        }
        assert!(!started(kind, &[(key, &asked.taken)]).sheet.contains("[[unsure]]"), "{kind}");
    }
    // What joined wires do not express keeps its sheet for each way.
    let s = started("split", &[]);
    for key in ["hard_start", "valve_energised_in"] {
        let a = s.alternatives.iter().find(|a| a.key == key).expect(key);
        assert!(a.carried.is_none() && !a.others.is_empty(), "{key}");
    }
}

/// The edits of the other way make the links of the sheet that answers so, and undo those of the first.
#[test]
fn the_other_way_joins_other_wires() {
    let m = machine(&started("water-heater", &[]).sheet);
    let (_, ways) = m.unsure().next().expect("a question");
    let mut p = m.sound();
    let links = |p: &[f64]| -> Vec<String> {
        let joined = |(part, b): &(halfsplit_machine::PartIx, Branch)| match *b {
            Branch::Contact { a, b, drive: Drive::Link, stuck, .. } if p[stuck.0] > 0.5 => {
                let net = |t: usize| m.nets[m.parts[part.0].terminals[t].net.expect("a wire").0].clone();
                Some(format!("{}-{}", net(a), net(b)))
            }
            _ => None,
        };
        m.branches.iter().filter_map(joined).collect()
    };
    assert_eq!(links(&p), ["L1E-BFEED", "L2E-BRET"]);
    m.apply(ways[1].mode.expect("a mode"), &mut p);
    assert_eq!(links(&p), ["L1-BFEED", "L2-BRET"]);
    let edits = &m.modes[ways[1].mode.expect("a mode").0].edits;
    assert!(edits.iter().all(|e| matches!(e.op, Op::Set(_))));
}

/// Nobody probes a conductor of which nobody knows whether it is there: probes go to terminals of real parts.
#[test]
fn no_probe_goes_to_a_question() {
    for kind in ["water-heater", "split"] {
        let m = machine(&started(kind, &[]).sheet);
        for t in &m.tests {
            for r in m.probes(t) {
                assert!(!matches!(m.parts[r.part.0].role, Role::HowBuilt { .. }), "{kind}: {}", t.id);
            }
            let name = m.unsure().next().map(|(p, _)| m.parts[p.0].id.clone()).expect("a question");
            assert!(t.id == format!("look {name}") || !t.title.contains(&name), "{kind}: {}", t.title);
        }
        let look = m.tests.iter().find(|t| t.id.starts_with("look ") && t.title.starts_with("See how it is built"));
        let look = look.expect("it can be seen");
        assert!(matches!(look.measure, Measure::Look { .. }) && look.power == PowerState::Dead);
    }
}

/// Both wires of a link are offered for measuring, and what either way makes the same wire is told apart by it.
#[test]
fn the_boards_supply_is_measured_in_either_way() {
    let m = machine(&started("water-heater", &[]).sheet);
    assert!(m.tests.iter().any(|t| t.id == "volts BFEED-BRET at rest"));
    // Every test of the plain sheet is there still, but for those on the two wires that have got names of their own.
    let plain = machine(&started("water-heater", &[("cut_off_feeds_board", "yes")]).sheet);
    for t in &plain.tests {
        let id = t.id.replace("ohms L1E-BP", "ohms BFEED-BP");
        assert!(m.tests.iter().any(|u| u.id == id && u.answer == t.answer), "{}", t.id);
    }
}

#[test]
fn more_ways_than_can_be_thought_of_are_refused() {
    let text = started("split", &[]).sheet;
    let question = |id: &str, joins: &str| {
        format!(
            "\n[[unsure]]\nid = \"{id}\"\nquestion = \"?\"\n[[unsure.way]]\nsays = \"a\"\nshare = 0.5\n\
             [[unsure.way]]\nsays = \"b\"\nshare = 0.5\njoins = [{joins}]\n"
        )
    };
    let two = text.clone() + &question("Q2", "[\"Y\", \"Y1\"]");
    assert_eq!(machine(&two).unsure().count(), 2);
    let three = two + &question("Q3", "[\"Y1\", \"Y2\"]");
    let said = Machine::build(&three).expect_err("eight machines").to_string();
    assert!(said.contains("Q3: with this question there are 8 ways") && said.starts_with("line "), "{said}");
}
