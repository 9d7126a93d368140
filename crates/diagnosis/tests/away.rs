//! A fault that comes and goes, on a day on which it is away: how warm the water is then says little about it.

mod readings;
mod support;

use halfsplit_diagnosis::{Case, Errand};
use readings::{chance, read};
use support::opened;

const LUG: &str = "K1:loose-NO";
/// While it is there nothing heats.
const SOLDER: &str = "BOARD:relay-solder";

/// A board that has stored that the compressor does not run, and a compressor that runs.
fn it_works_today() -> Case {
    let mut case = opened(Errand::Call);
    read(&mut case, "display message", "compressor does not run");
    read(&mut case, "watch COMP while heat-pump", "runs");
    case
}

/// Judgement: for how long it has been away nobody knows, so neither is surprising.
#[test]
fn neither_hot_nor_cold_water_rules_it_out() {
    let before = chance(&it_works_today(), SOLDER);
    assert!(before > 0.0);
    // Cold water speaks for it, though it is away; hot water speaks against it a little.
    for (celsius, least) in [(32.0, 3.5), (50.0, 0.2)] {
        let mut case = it_works_today();
        read(&mut case, "shown T1 settled", &format!("{celsius} C"));
        let after = chance(&case, SOLDER);
        assert!(after > least * before, "{celsius} °C: {before} before, {after} after");
    }
}

/// Common practice, no source: what is felt at the lug is the lug, whether it makes today or not.
#[test]
fn a_tug_finds_it_while_it_is_away() {
    let before = chance(&it_works_today(), LUG);
    assert!(before > 0.0);
    let mut loose = it_works_today();
    read(&mut loose, "tug K1.NO", "loose");
    let mut firm = it_works_today();
    read(&mut firm, "tug K1.NO", "firm");
    let (loose, firm) = (chance(&loose, LUG), chance(&firm, LUG));
    assert!(loose > 5.0 * before && firm < 0.5 * before, "{firm} {before} {loose}");
}
