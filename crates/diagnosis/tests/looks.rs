//! What is told apart by a look.

mod readings;
mod support;

use halfsplit_diagnosis::{Action, Case, Errand};
use readings::{chance, read};
use support::opened;

/// A dark machine with a handle between on and off has tripped, and one with its handle on has not: a pole that does not make leaves
/// it on. Reset, with what tripped it still there, it stands tripped again. Common practice, no source.
#[test]
fn the_handle_of_a_breaker_shows_a_trip() {
    let seen = |handle: Option<&str>| {
        let mut case = opened(Errand::Call);
        read(&mut case, "display lit", "dark");
        if let Some(handle) = handle {
            read(&mut case, "look BRK handle", handle);
        }
        ["BRK:tripped", "EUP:earthed", "BRK:open-pole"].map(|name| chance(&case, name))
    };
    let (unseen, on, tripped) = (seen(None), seen(Some("on")), seen(Some("tripped or off")));
    for trips in 0..2 {
        assert!(
            tripped[trips] > 1.5 * unseen[trips] && on[trips] < 0.3 * unseen[trips],
            "{unseen:?} {on:?} {tripped:?}"
        );
    }
    assert!(on[2] > 1.1 * unseen[2] && tripped[2] < 0.3 * unseen[2], "{unseen:?} {on:?} {tripped:?}");
    let again = |handle: &str| {
        let mut case = opened(Errand::Call);
        read(&mut case, "display lit", "dark");
        read(&mut case, "look BRK handle", "tripped or off");
        case.act(&Action::Mend("BRK/reset".into())).expect("a repair");
        read(&mut case, "look BRK handle", handle);
        chance(&case, "EUP:earthed")
    };
    assert!(again("tripped or off") > 3.0 * again("on"), "{} {}", again("tripped or off"), again("on"));
}

/// Who has isolated the machine, or called it, has moved the handle or what it shows: it is looked at before, and after a reset before
/// the machine is called for anything. Common practice, no source.
#[test]
fn the_handle_is_looked_at_before_anybody_touches_it() {
    let offered = |done: &dyn Fn(&mut Case)| {
        let mut case = opened(Errand::Call);
        done(&mut case);
        case.offered(case.test("look BRK handle").expect("a test"))
    };
    assert!(offered(&|_| {}));
    assert!(offered(&|case| read(case, "volts L1-L2E at rest", "0 V")));
    assert!(!offered(&|case| read(case, "insulation ELO", "OL")));
    assert!(!offered(&|case| read(case, "watch COMP while heat-pump", "silent")));
    let reset = |case: &mut Case| {
        read(case, "insulation ELO", "OL");
        case.act(&Action::Mend("BRK/reset".into())).expect("a repair");
    };
    assert!(offered(&reset));
    assert!(!offered(&|case| {
        reset(case);
        case.prove(false).expect("fits");
    }));
}

/// An overload that stands open inside and a burnt pin outside leave the same ohms; only the pin is seen, and repaired without a new
/// compressor. Common practice, no source.
#[test]
fn a_burnt_pin_is_seen_and_an_open_overload_is_not() {
    let seen = |pins: &str| {
        let mut case = opened(Errand::Call);
        read(&mut case, "ohms COMP.C-COMP.R off", "OL");
        read(&mut case, "ohms COMP.C-COMP.S off", "OL");
        read(&mut case, "look COMP pin looks", pins);
        ["COMP:terminal", "COMP:overload-open"].map(|name| chance(&case, name))
    };
    let (bright, burnt) = (seen("bright"), seen("burnt or blackened"));
    assert!(burnt[0] > 3.0 * burnt[1] && bright[0] < 0.5 * bright[1], "{bright:?} {burnt:?}");
}
