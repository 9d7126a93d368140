//! What is recorded of a machine that has passed, before anybody leaves it.

mod readings;
mod support;

use halfsplit_diagnosis::{Action, Case, Do, Ending, Errand, Observed, RunIn};
use halfsplit_machine::Conditions;
use halfsplit_machine::test::{Answer, Measure, Moment};
use halfsplit_plant::axis_of;
use readings::{chance, read};
use support::{opened, opened_on};

/// A blocked drain, cleared, and a run that passed.
fn a_cleared_drain(errand: Errand) -> Case {
    let mut case = opened(errand);
    read(&mut case, "display message", "condensate pan full");
    read(&mut case, "look DRAIN blocked", "standing water");
    read(&mut case, "look FILTER blockage", "clean");
    case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
    case.prove(true).expect("fits");
    case
}

/// What the demo shows where nothing is wrong.
const QUIET: [&str; 2] = ["nothing", "clean"];

/// What a sound machine shows, in the middle of its band; of words the quiet one.
fn as_it_should(case: &mut Case, test: usize) -> Observed {
    let t = case.tests()[test].clone();
    match (&t.answer, axis_of(&t), case.expected_band(test)) {
        (Answer::Words(words), ..) => Observed::Category(
            words.iter().position(|w| QUIET.contains(&w.as_str())).unwrap_or_else(|| panic!("{}: {words:?}", t.id)),
        ),
        (_, Some(axis), Some((low, high))) => Observed::Value(0.5 * (axis.to(low) + axis.to(high))),
        _ => panic!("{}: what should it show?", t.id),
    }
}

/// Common practice, no source: nobody leaves a machine on which something had to be found before it has settled and what it does
/// is written down; who was only called to a fault may.
#[test]
fn where_something_has_to_be_found_it_is_recorded_until_all_is() {
    let mut case = a_cleared_drain(Errand::Call);
    assert!(matches!(case.next_step(), Do::End(Ending::Repaired)), "{:?}", case.next_step());
    let mut case = a_cleared_drain(Errand::FindIt);
    let (mut recorded, mut ids) = (Vec::new(), Vec::new());
    let mut left = None;
    let ending = loop {
        match case.next_step() {
            Do::Test(t) => {
                if let (Some(before), Some(now)) = (left.replace(t.run_in), t.run_in) {
                    let before: RunIn = before.expect("nothing but the run-in is between its readings");
                    assert!(now.readings < before.readings && now.minutes < before.minutes, "{before:?} {now:?}");
                }
                let measure = case.tests()[t.test].measure.clone();
                if t.run_in.is_some() {
                    ids.push(case.tests()[t.test].id.clone());
                    recorded.push((measure, case.tests()[t.test].moment));
                }
                let shown = as_it_should(&mut case, t.test);
                case.read(t.test, shown).expect("fits");
            }
            Do::End(ending) => break ending,
            other => panic!("{other:?}"),
        }
        assert!(recorded.len() < 40, "{recorded:?}");
    };
    assert_eq!(ending, Ending::Repaired);
    // What air has to get through is looked over first; the filter was seen to be clean, and nobody has touched it. How it is set
    // has just been set to prove it.
    assert_eq!(ids[0], "look EVAP fouling");
    assert!(!ids[1..].iter().any(|id| id.starts_with("look")), "{ids:?}");
    let settled = |of: fn(&Measure) -> bool| recorded.iter().filter(|(m, at)| of(m) && *at == Moment::Settled).count();
    assert_eq!(settled(|m| matches!(m, Measure::ShownTemperature(_))), 6, "{recorded:?}");
    assert_eq!(settled(|m| matches!(m, Measure::ShownLessThermometer(_))), 6, "{recorded:?}");
    assert!(settled(|m| matches!(m, Measure::Thermometer(_))) >= 2, "{recorded:?}");
    // Both ways of heating are seen to draw their amps.
    assert_eq!(recorded.iter().filter(|(m, _)| *m == Measure::SupplyAmps).count(), 2, "{recorded:?}");
    assert!(recorded.iter().any(|(m, _)| *m == Measure::ShownCode), "{recorded:?}");
}

/// A repaired machine that shows what it should is right: that is what its outcomes say, as what is still possible does. By definition.
#[test]
fn what_an_outcome_leaves_counts_what_was_put_right_as_nothing_broken() {
    let mut case = a_cleared_drain(Errand::FindIt);
    let before = case.still_possible().nothing_broken;
    let Do::Test(t) = case.advice().next else { panic!("the run-in") };
    let mean: f64 = t.outcomes.iter().map(|o| o.probability * o.nothing_broken).sum();
    assert!((mean - before).abs() < 0.01 && before > 0.9, "{mean} {before}");
}

/// Whoever has to leave leaves. Common practice, no source.
#[test]
fn nothing_is_recorded_for_which_there_is_no_time() {
    let mut case = a_cleared_drain(Errand::FindIt);
    let all = case.next_step();
    case.minutes_left(Some(30.0));
    let part = case.next_step();
    let left = |of: &Do| match of {
        Do::Test(t) => t.run_in.expect("of the run-in"),
        other => panic!("{other:?}"),
    };
    assert!(left(&all).minutes > 30.0 && left(&part).minutes <= 30.0, "{all:?} {part:?}");
    assert!(left(&part).readings < left(&all).readings, "{all:?} {part:?}");
    case.minutes_left(Some(0.0));
    assert!(matches!(case.next_step(), Do::End(Ending::Repaired)), "{:?}", case.next_step());
}

/// What has tripped is reset in the middle of it, and the machine is still the one that passed; another repair makes it another one.
/// Common practice, no source.
#[test]
fn a_reset_takes_no_proof_away() {
    let mut case = a_cleared_drain(Errand::FindIt);
    case.act(&Action::Reset).expect("a reset");
    assert_eq!(case.last_proof(), Some(true));
    assert!(matches!(case.next_step(), Do::Test(t) if t.run_in.is_some()), "{:?}", case.next_step());
    case.act(&Action::Mend("FILTER/clean".into())).expect("a repair");
    assert_eq!(case.last_proof(), None);
}

/// What nobody has noticed shows there: a sensor that reads far too high is looked into, and the job does not end on it. Common
/// practice, no source; how far off is judgement.
#[test]
fn what_is_recorded_counts_like_any_reading() {
    let mut case = a_cleared_drain(Errand::FindIt);
    let before = chance(&case, "T5:drift-high");
    let off = |case: &mut Case, id: &str, kelvin: f64| {
        let test = case.test(id).expect("a test");
        match as_it_should(case, test) {
            Observed::Value(sound) => case.read(test, Observed::Value(sound + kelvin)).expect("fits"),
            other => panic!("{other:?}"),
        }
    };
    off(&mut case, "shown T5 settled", 8.0);
    off(&mut case, "sensor T5 against thermometer settled", 8.0);
    assert!(chance(&case, "T5:drift-high") > 10.0 * before, "{before} {}", chance(&case, "T5:drift-high"));
    assert!(matches!(case.next_step(), Do::Test(t) if t.run_in.is_none()), "{:?}", case.next_step());
}

/// Nobody believes an odd reading at once, and none is passed over: it is taken once more, and then counts. Common practice, no source;
/// how odd is judgement.
#[test]
fn what_is_odd_is_taken_twice() {
    let mut case = a_cleared_drain(Errand::FindIt);
    let test = case.test("sensor T5 against thermometer settled").expect("a test");
    let mut asked = 0;
    loop {
        match case.next_step() {
            Do::Test(t) if t.test == test => {
                asked += 1;
                assert_eq!(t.run_in.expect("of the run-in").again, asked == 2, "{t:?}");
                // A slip, or a fault that hardly anybody has noticed: the second time it is as it should be.
                let Observed::Value(sound) = as_it_should(&mut case, test) else { panic!("a number") };
                case.read(test, Observed::Value(sound + if asked == 1 { 15.0 } else { 0.0 })).expect("fits");
            }
            Do::Test(t) => {
                let shown = as_it_should(&mut case, t.test);
                case.read(t.test, shown).expect("fits");
            }
            Do::End(ending) => {
                assert_eq!(ending, Ending::Repaired);
                break;
            }
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(asked, 2);
}

/// A coil that looked dirty before another repair is looked at again after it: what was seen counts as seen only where it was as it
/// should be. Common practice, no source.
#[test]
fn what_looked_dirty_is_looked_at_again() {
    for (seen, again) in [("clean", false), ("dirty", true)] {
        let mut case = opened(Errand::FindIt);
        read(&mut case, "look EVAP fouling", seen);
        read(&mut case, "display message", "condensate pan full");
        read(&mut case, "look DRAIN blocked", "standing water");
        case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
        case.prove(true).expect("fits");
        let mut looked = false;
        while let Do::Test(t) = case.next_step() {
            looked |= t.run_in.is_some() && case.tests()[t.test].id == "look EVAP fouling";
            case.refuse(t.test);
        }
        assert_eq!(looked, again, "{seen}");
    }
}

/// Water that a dead machine left cold is no odd reading once it has been put right. Physics, no source.
#[test]
fn what_a_mended_fault_left_behind_is_not_odd() {
    let mut case = opened(Errand::FindIt);
    read(&mut case, "display lit", "dark");
    read(&mut case, "volts L2-L1E at rest", "236 V");
    read(&mut case, "volts L2-BP at rest", "234 V");
    read(&mut case, "control volts T2-GND", "0.03 V");
    read(&mut case, "control volts VA-GND", "0.1 V");
    case.act(&Action::Mend("PS/replace".into())).expect("a repair");
    case.prove(true).expect("fits");
    let mut asked = 0;
    while let Do::Test(t) = case.next_step() {
        let of_water = ["shown T1 settled", "shown T2 settled"].contains(&case.tests()[t.test].id.as_str());
        if t.run_in.is_none() || !of_water {
            case.refuse(t.test);
            continue;
        }
        asked += 1;
        let cold = if case.tests()[t.test].id == "shown T1 settled" { 303.0 } else { 289.0 };
        let axis = axis_of(&case.tests()[t.test]).expect("a number");
        case.read(t.test, Observed::Value(axis.to(cold))).expect("fits");
    }
    assert_eq!(asked, 2, "each once");
}

/// Only what is put right is run in: a tank that leaks is worth less than a new one costs, and to record its machine, which passed,
/// would say that it is right. Judgement.
#[test]
fn nothing_is_recorded_of_a_machine_that_is_hardly_right() {
    let mut case = opened(Errand::FindIt);
    for (look, seen) in [("FILTER blockage", "clean"), ("EVAP fouling", "clean"), ("SET mode", "heat pump")] {
        read(&mut case, &format!("look {look}"), seen);
    }
    read(&mut case, "look TANK wet", "water from the tank itself");
    case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
    case.prove(true).expect("fits");
    read(&mut case, "look TANK wet", "water from the tank itself");
    read(&mut case, "look TANK wet", "water from the tank itself");
    // What is recorded once it has settled is left on offer; all else is not to be had.
    for test in 0..case.tests().len() {
        let t = &case.tests()[test];
        if t.moment != Moment::Settled && t.measure != Measure::SupplyAmps {
            case.refuse(test);
        }
    }
    while let Do::Test(t) = case.next_step() {
        assert_eq!(t.run_in, None, "{}", case.tests()[t.test].id);
        case.refuse(t.test);
    }
    assert!(matches!(case.next_step(), Do::End(Ending::CannotTell)), "{:?}", case.next_step());
}

/// A split is recorded at what somebody wants of it on the day, and nobody cools in the frost for the record. Common practice, no
/// source.
#[test]
fn a_split_is_recorded_in_its_season() {
    for (outdoor, season, other) in [(268.15, "heating", "cooling"), (308.15, "cooling", "heating")] {
        let mut case = opened_on(
            include_str!("../../../machines/unitary-split.toml"),
            Errand::FindIt,
            Conditions { outdoor: Some(outdoor), ..Conditions::default() },
        );
        read(&mut case, "look FILTER blockage", "matted");
        case.act(&Action::Mend("FILTER/clean".into())).expect("a repair");
        case.prove(true).expect("fits");
        let mut told: Vec<String> = Vec::new();
        let mut settled = 0;
        while let Do::Test(t) = case.next_step() {
            let test = case.tests()[t.test].clone();
            if t.run_in.is_some()
                && let Some(command) = test.command
            {
                told.push(case.plant().machine.commands[command.0].id.clone());
                settled += usize::from(test.moment == Moment::Settled);
            }
            case.refuse(t.test);
        }
        assert!(
            !told.is_empty() && told.iter().all(|c| c.contains(season) && !c.contains(other)),
            "{outdoor} {told:?}"
        );
        // Amps, and a thermometer on each pipe and in each air, in whichever season it is.
        assert!(settled >= 7, "{outdoor}: {settled} settled of {told:?}");
    }
}

/// Common practice, no source: an anode wears within years and nobody notices, so whoever inspects a heater looks at it, last of
/// all since it takes the power off.
#[test]
fn an_anode_is_looked_at_where_something_has_to_be_found() {
    let cellar = include_str!("../../../machines/cellar-water-heater.toml");
    let looked_at = |errand, shown: &'static str| {
        let mut case = opened_on(cellar, errand, Conditions::default());
        read(&mut case, "look FILTER blockage", "matted");
        case.act(&Action::Mend("FILTER/clean".into())).expect("a repair");
        case.prove(true).expect("fits");
        let mut ids = Vec::new();
        let ending = loop {
            match case.next_step() {
                Do::Test(t) if t.run_in.is_some() && case.tests()[t.test].id == "look ANODE consumed" => {
                    ids.push("look ANODE consumed");
                    read(&mut case, "look ANODE consumed", shown);
                }
                // What the rest of the record says does not matter here.
                Do::Test(t) => case.refuse(t.test),
                other => break other,
            }
        };
        (ids.len(), ending)
    };
    assert_eq!(looked_at(Errand::Call, "most of it there").0, 0);
    let (looks, ending) = looked_at(Errand::FindIt, "most of it there");
    assert!(looks == 1 && ending == Do::End(Ending::Repaired), "{looks} {ending:?}");
    let (_, next) = looked_at(Errand::FindIt, "core wire shows");
    assert!(matches!(&next, Do::Repair { group, .. } if group == "ANODE/replace"), "{next:?}");
}

/// A machine that has just been proved runs: nobody waits once more for its compressor to start. Common practice, no source.
#[test]
fn after_a_proving_run_it_stands_as_the_run_left_it() {
    let mut case = opened(Errand::Call);
    let amps = case.test("amps supply while heat-pump").expect("a test");
    case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
    let before = case.minutes_of(amps);
    case.prove(true).expect("fits");
    let after = case.minutes_of(amps);
    assert!(after + 5.0 <= before, "{before} {after}");
    // Of one that did not pass nobody knows how it stands.
    let mut case = opened(Errand::Call);
    case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
    let before = case.minutes_of(amps);
    case.prove(false).expect("fits");
    assert!(case.minutes_of(amps) >= before);
}

/// What comes and goes may have come or gone with the run: what is seen after it does not speak against what made it fail. Judgement.
#[test]
fn after_a_proving_run_what_comes_and_goes_is_there_anew_or_not() {
    let mut case = opened(Errand::Call);
    case.act(&Action::Mend("DRAIN/clean".into())).expect("a repair");
    let watched = case.test("watch COMP while heat-pump").expect("a test");
    // It would be called for anew.
    let anew = case.episode_of(watched);
    case.prove(true).expect("fits");
    assert_eq!(case.episode_of(watched), anew);
    case.act(&Action::Mend("FILTER/clean".into())).expect("a repair");
    let anew = case.episode_of(watched);
    case.prove(false).expect("fits");
    assert!(case.episode_of(watched) > anew);
}
