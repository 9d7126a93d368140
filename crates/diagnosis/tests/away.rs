//! A fault that comes and goes, on a day on which it is away: how warm the water is then says little about it.

mod support;

use halfsplit_diagnosis::{Case, Errand, Observed};
use halfsplit_machine::test::Answer;
use support::opened;

const LUG: &str = "K1:loose-NO";
/// While it is there nothing heats.
const SOLDER: &str = "BOARD:relay-solder";

/// A board that has stored that the compressor does not run, and a compressor that runs.
fn it_works_today() -> Case {
    let mut case = opened(Errand::Call);
    say(&mut case, "display message", "compressor does not run");
    say(&mut case, "watch COMP while heat-pump", "runs");
    case
}

fn say(case: &mut Case, test: &str, word: &str) {
    let test = case.test(test).expect("the demo has it");
    let Answer::Words(words) = &case.tests()[test].answer else { panic!("no words") };
    let word = words.iter().position(|w| w == word).unwrap_or_else(|| panic!("{words:?}"));
    case.read(test, Observed::Category(word)).expect("fits");
}

fn chance(case: &Case, fault: &str) -> f64 {
    let p = case.still_possible().suspects.iter().find(|s| s.id == fault).map_or(0.0, |s| s.probability);
    assert!(p > 0.0, "{fault} is not thought of");
    p
}

/// Judgement: for how long it has been away nobody knows, so neither is surprising.
#[test]
fn neither_hot_nor_cold_water_rules_it_out() {
    let before = chance(&it_works_today(), SOLDER);
    // Cold water speaks for it, though it is away; hot water speaks against it a little.
    for (celsius, least) in [(32.0, 3.5), (50.0, 0.2)] {
        let mut case = it_works_today();
        let test = case.test("shown T1 settled").expect("the demo has it");
        case.read(test, Observed::Value(273.15 + celsius)).expect("fits");
        let after = chance(&case, SOLDER);
        assert!(after > least * before, "{celsius} °C: {before} before, {after} after");
    }
}

/// Common practice, no source: what is felt at the lug is the lug, whether it makes today or not.
#[test]
fn a_tug_finds_it_while_it_is_away() {
    let before = chance(&it_works_today(), LUG);
    let mut loose = it_works_today();
    say(&mut loose, "tug K1.NO", "loose");
    let mut firm = it_works_today();
    say(&mut firm, "tug K1.NO", "firm");
    let (loose, firm) = (chance(&loose, LUG), chance(&firm, LUG));
    assert!(loose > 5.0 * before && firm < 0.5 * before, "{firm} {before} {loose}");
}
