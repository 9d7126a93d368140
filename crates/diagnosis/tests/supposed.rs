//! A reading that was supposed before it was taken is as if it had just been taken.

mod support;

use halfsplit_diagnosis::{Action, Case, Do, Errand, Observed};
use halfsplit_machine::test::Answer;
use support::opened;

#[test]
fn supposing_every_word_first_changes_no_bit() {
    let (mut plain, mut thoughtful) = (opened(Errand::Call), opened(Errand::Call));
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

/// All that is told of where a visit stands.
fn told(case: &mut Case) -> String {
    let possible = case.still_possible();
    let lead = possible.suspects.first().map(|s| s.id.clone()).unwrap_or_default();
    format!("{possible:?}\n{:?}\n{:?}", case.reasons(&lead), case.advice())
}

#[test]
fn supposing_the_first_reading_changes_nothing_before_it() {
    let mut case = opened(Errand::Call);
    let before = told(&mut case);
    let complaint = case.test("complaint").expect("the demo has it");
    for word in 0..3 {
        case.suppose(complaint, Observed::Category(word)).expect("fits");
    }
    assert_eq!(told(&mut case), before);
}

#[test]
fn supposing_repairs_and_their_proof_first_changes_no_bit() {
    let (mut plain, mut thoughtful) = (opened(Errand::Call), opened(Errand::Call));
    for (id, word) in [("complaint", 1), ("display lit", 1)] {
        let test = plain.test(id).expect("the demo has it");
        plain.read(test, Observed::Category(word)).expect("fits");
        thoughtful.suppose(test, Observed::Category(word)).expect("fits");
        thoughtful.read(test, Observed::Category(word)).expect("fits");
        assert_eq!(told(&mut plain), told(&mut thoughtful), "{id}");
    }
    let repairs: Vec<String> = plain.still_possible().suspects.iter().map(|s| s.repair_group.clone()).collect();
    let mut different = repairs.clone();
    different.dedup();
    assert!(different.len() > 2, "{repairs:?}");
    // Another repair than the one that was supposed, then the one that was; a run that fails, and one that does not.
    for (turn, done) in [&different[1], &different[0], &different[2]].into_iter().enumerate() {
        for supposed in [&different[0], &different[2]] {
            thoughtful.suppose_done(&Action::Mend(supposed.clone())).expect("there is such a repair");
        }
        assert!(thoughtful.suppose_done(&Action::Mend("no such repair".into())).is_err());
        assert_eq!(told(&mut plain), told(&mut thoughtful), "supposing shows at {done}");
        for case in [&mut plain, &mut thoughtful] {
            case.act(&Action::Mend(done.clone())).expect("there is such a repair");
        }
        assert_eq!(told(&mut plain), told(&mut thoughtful), "after {done}");
        for right in [false, true] {
            thoughtful.suppose_proof(right).expect("a run fits");
        }
        for case in [&mut plain, &mut thoughtful] {
            case.prove(turn > 1).expect("a run fits");
        }
        assert_eq!(told(&mut plain), told(&mut thoughtful), "after the run that follows {done}");
    }
}
