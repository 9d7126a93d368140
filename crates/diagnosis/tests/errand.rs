//! What a visit is made for, and what a repair leaves as it was.

mod readings;
mod support;

use halfsplit_diagnosis::{Action, Case, Errand};
use readings::{chance, read};
use support::opened;

#[test]
fn what_nobody_notices_is_looked_for_when_something_is_known_to_be_wrong() {
    let (called, sent) = (opened(Errand::Call), opened(Errand::FindIt));
    // Too much refrigerant, for which hardly anybody would call, against a welded relay that overheats the water: alone or
    // beside another fault, and both about as frequent.
    let quiet_to_loud = |case: &Case| chance(case, "CHARGE:over") / chance(case, "K4:welded");
    assert!(quiet_to_loud(&sent) > 3.0 * quiet_to_loud(&called), "{} {}", quiet_to_loud(&sent), quiet_to_loud(&called));
    assert!(sent.still_possible().nothing_broken < 0.002);
    assert!(sent.still_possible().nothing_broken < called.still_possible().nothing_broken);
}

/// A blown fuse has let the water go cold. With a new one the water is as cold as before, and to read that speaks of no
/// other fault.
#[test]
fn a_repair_does_not_warm_the_water() {
    let mut case = opened(Errand::Call);
    read(&mut case, "complaint", "no hot water");
    read(&mut case, "display lit", "dark");
    read(&mut case, "ohms F1.1-F1.2 off", "OL");
    case.act(&Action::Mend("F1/replace".to_owned())).unwrap_or_else(|e| panic!("{e}"));
    case.prove(true).unwrap_or_else(|e| panic!("{e}"));
    let before = case.still_possible().nothing_broken;
    read(&mut case, "thermometer water top at rest", "27 C");
    let after = case.still_possible().nothing_broken;
    assert!(before > 0.8 && after > before - 0.1, "{before} {after}");
}
