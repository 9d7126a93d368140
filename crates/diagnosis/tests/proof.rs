//! What a proving run tells, and what it leaves open.

mod readings;
mod support;

use halfsplit_diagnosis::{Action, Case, Do, Ending, Errand};
use readings::{chance, read};
use support::opened;

/// A board that misses a sensor, the sensor found open, and a filter that is none too clean.
fn a_dead_sensor_and_a_dusty_filter() -> Case {
    let mut case = opened(Errand::Call);
    read(&mut case, "complaint", "message on the display");
    read(&mut case, "display message", "sensor out of range");
    read(&mut case, "sensors at rest", "T6 stands apart");
    read(&mut case, "shown T6 at rest", "OL");
    read(&mut case, "look FILTER blockage", "dusty");
    case
}

/// Common practice, no source: a machine runs well enough with a third of its air lost, and the filter is dusty all the same.
#[test]
fn what_hardly_anybody_notices_survives_a_passed_proof() {
    let mut case = a_dead_sensor_and_a_dusty_filter();
    let before = chance(&case, "FILTER:clogged");
    assert!(before > 0.3, "{before}");
    case.act(&Action::Mend("T6/replace".into())).expect("a repair");
    case.prove(true).expect("fits");
    let after = chance(&case, "FILTER:clogged");
    assert!(after > 0.75 * before && after < before, "{before} before, {after} after");
    // The sensor was it.
    assert!(chance(&case, "T6:open") < 0.01);
}

/// A machine that did not pass is not right for that everything else that is read of it is: it is proved once more, and what
/// that shows counts for much more than the first time alone. How often a run errs is judgement.
#[test]
fn to_fail_twice_is_hardly_chance() {
    let mut case = a_dead_sensor_and_a_dusty_filter();
    case.act(&Action::Mend("T6/replace".into())).expect("a repair");
    let nothing = |case: &Case| case.still_possible().nothing_broken;
    let before = nothing(&case);
    case.prove(false).expect("fits");
    let once = nothing(&case);
    case.prove(false).expect("fits");
    let twice = nothing(&case);
    assert!(once < 0.1 * before && twice < 0.12 * once, "{before} {once} {twice}");
    case.prove(true).expect("fits");
    assert!(nothing(&case) > 2.0 * twice, "{twice} {}", nothing(&case));
}

/// A run made anew minutes later is taken for the same one: that it fails again tells what comes and goes from what lasts no more than
/// the first did. Judgement.
#[test]
fn a_run_made_anew_is_no_second_draw_of_what_comes_and_goes() {
    let mut case = opened(Errand::Call);
    read(&mut case, "display message", "compressor does not run");
    case.act(&Action::Mend("CRUN/replace".into())).expect("a repair");
    let lasting_to_loose = |case: &Case| chance(case, "K1:open") / chance(case, "K1:loose-NO");
    case.prove(false).expect("fits");
    let once = lasting_to_loose(&case);
    case.prove(false).expect("fits");
    let twice = lasting_to_loose(&case);
    assert!((twice / once - 1.0).abs() < 0.02, "{once} {twice}");
}

/// Nobody gives a machine up that may well be right and did not pass: he proves it once more. Common practice, no source.
#[test]
fn a_machine_that_may_well_be_right_is_proved_once_more() {
    let ended = |proved: &[bool]| {
        let mut case = opened(Errand::Call);
        read(&mut case, "look DRAIN blocked", "standing water");
        read(&mut case, "look FILTER blockage", "clean");
        read(&mut case, "look EVAP fouling", "clean");
        read(&mut case, "look SET mode", "heat pump");
        case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
        for passed in proved {
            case.prove(*passed).expect("fits");
        }
        // No time for anything else.
        case.minutes_left(Some(0.0));
        (case.next_step(), case.still_possible().nothing_broken)
    };
    let (passed, nothing) = ended(&[true]);
    assert!(matches!(passed, Do::End(Ending::Repaired)) && nothing > 0.9, "{passed:?} {nothing}");
    let (failed, nothing) = ended(&[false, false]);
    assert!(matches!(failed, Do::End(Ending::CannotTell)) && nothing < 0.1, "{failed:?} {nothing}");
    // Not so likely right that one would leave it so, and too likely to give it up.
    let (between, nothing) = ended(&[true, true, true, false]);
    assert!((0.2..0.5).contains(&nothing), "{nothing}");
    assert!(matches!(between, Do::End(Ending::Repaired)), "{between:?}");
}

/// A button that stands popped out after something else was done is a trip still, with its caution: look for the cause, then reset it.
/// Common practice, no source.
#[test]
fn a_trip_is_still_thought_of_after_something_else_was_done() {
    let popped = |done: Option<Action>| {
        let mut case = opened(Errand::Call);
        read(&mut case, "complaint", "no hot water");
        read(&mut case, "display lit", "dark");
        if let Some(done) = done {
            case.act(&done).expect("can be done");
        }
        read(&mut case, "look ECO cut-off position", "popped out");
        chance(&case, "ECO:tripped")
    };
    assert!(popped(None) > 0.05);
    for done in [Action::Mend("FILTER/clean".into()), Action::Reset] {
        assert!(popped(Some(done.clone())) > 0.01, "{done:?}");
    }
}
