//! A reading that was supposed before it was taken is as if it had just been taken.

use std::rc::Rc;

use halfsplit_diagnosis::{Case, Do, Errand, Judgement, Observed, Opening};
use halfsplit_machine::test::{Answer, Tool};
use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::Plant;

fn opened() -> Case {
    let machine = Machine::build(include_str!("../../../machines/garage-water-heater.toml")).expect("a sheet");
    let plant = Rc::new(Plant::new(machine).expect("a plant"));
    let opening = Opening {
        errand: Errand::Call,
        conditions: Conditions::default(),
        tools: Tool::ALL.to_vec(),
        judgement: Judgement::default(),
    };
    Case::open(plant, opening)
}

#[test]
fn supposing_every_word_first_changes_no_bit() {
    let (mut plain, mut thoughtful) = (opened(), opened());
    for (id, word) in [("complaint", 1), ("display lit", 1), ("display message", 0)] {
        let test = plain.test(id).expect("the demo has it");
        plain.read(test, Observed::Category(word)).expect("fits");
        thoughtful.read(test, Observed::Category(word)).expect("fits");
    }
    for turn in 0..14 {
        let Do::Test(next) = plain.next_step() else { break };
        thoughtful.think_ahead(next.test);
        let observed = match &plain.tests()[next.test].answer {
            Answer::Words(words) => {
                for word in 0..words.len() {
                    thoughtful.suppose(next.test, Observed::Category(word)).expect("fits");
                }
                Observed::Category(turn % words.len())
            }
            Answer::Number(_) if turn % 3 == 0 => Observed::Over,
            Answer::Number(_) => Observed::AtLeast(-1e9),
        };
        plain.read(next.test, observed).expect("fits");
        thoughtful.read(next.test, observed).expect("fits");
        assert_eq!(plain.posterior(), thoughtful.posterior(), "turn {turn}: {}", plain.tests()[next.test].id);
    }
}
