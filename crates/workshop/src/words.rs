//! Numbers and outcomes in the trade's words.

use halfsplit_diagnosis::{Observed, RunIn, Shown};
use halfsplit_machine::test::{Answer, Hazard, PowerState, Test};
use halfsplit_plant::axis_of;
use halfsplit_units::{Preferences, show};

/// What the run-in is for, and how much of it is left.
pub(crate) fn run_in(of: RunIn) -> String {
    let left = if of.readings == 1 { "one reading is".to_owned() } else { format!("{} readings are", of.readings) };
    let what = if of.again {
        "once more: what it showed is odd for a machine that is right"
    } else {
        "it has passed; before you leave it, it is looked over and what it does is recorded: that shows what nobody has noticed"
    };
    format!("{what}. {left} left, about {:.0} min. To leave it at that, end the job as repaired.", of.minutes)
}

/// Odds in a word.
#[must_use]
pub fn odds_word(probability: f64) -> &'static str {
    match probability {
        p if p >= 0.97 => "all but certain",
        p if p >= 0.85 => "very likely",
        p if p >= 0.60 => "likely",
        p if p >= 0.40 => "about even",
        p if p >= 0.15 => "well possible",
        p if p >= 0.04 => "possible",
        p if p >= 0.01 => "unlikely",
        _ => "hardly",
    }
}

/// A percentage for people: "67 %", "0.4 %", "under 0.1 %".
#[must_use]
pub fn percent(of_hundred: f64) -> String {
    match of_hundred {
        p if p >= 99.95 => "100 %".to_owned(),
        p if p >= 99.0 => format!("{p:.1} %"),
        p if p >= 1.0 => format!("{p:.0} %"),
        p if p >= 0.1 => format!("{p:.1} %"),
        p if p > 0.0 => "under 0.1 %".to_owned(),
        _ => "0 %".to_owned(),
    }
}

/// An outcome as text.
pub(crate) fn shown(test: &Test, shown: &Shown, units: &Preferences) -> String {
    let value = |x: f64| match test.answer {
        Answer::Number(d) => show(x, d, units, None),
        Answer::Words(_) => String::new(),
    };
    match shown {
        Shown::Word(w) => w.clone(),
        Shown::Over => "OL".to_owned(),
        Shown::Under => "too small for the meter".to_owned(),
        Shown::Range(None, None) => "any reading".to_owned(),
        Shown::Range(Some(a), None) => format!("above {}", value(*a)),
        Shown::Range(None, Some(b)) => format!("below {}", value(*b)),
        Shown::Range(Some(a), Some(b)) => {
            let (low, high) = (value(*a), value(*b));
            if low == high { format!("about {low}") } else { span(&low, &high) }
        }
    }
}

/// "1.2 to 1.8 µF" rather than "1.2 µF to 1.8 µF".
pub(crate) fn span(low: &str, high: &str) -> String {
    match (low.rsplit_once(' '), high.rsplit_once(' ')) {
        (Some((number, a)), Some((_, b))) if a == b => format!("{number} to {high}"),
        _ => format!("{low} to {high}"),
    }
}

/// A reading as understood, in the units preferred.
#[must_use]
pub fn understood(test: &Test, observed: &Observed, units: &Preferences) -> String {
    let axis = axis_of(test);
    let value = |x: f64| match (&test.answer, axis) {
        (Answer::Number(d), Some(axis)) => show(axis.from(x), *d, units, None),
        _ => format!("{x}"),
    };
    match observed {
        Observed::Value(x) => value(*x),
        Observed::AtLeast(x) => format!("at least {}", value(*x)),
        Observed::AtMost(x) => format!("at most {}", value(*x)),
        Observed::Between(a, b) => span(&value(*a), &value(*b)),
        Observed::Over => "OL".to_owned(),
        Observed::Category(i) => match &test.answer {
            Answer::Words(words) => words.get(*i).cloned().unwrap_or_default(),
            Answer::Number(_) => String::new(),
        },
        _ => String::new(),
    }
}

/// A band as text.
pub(crate) fn band(test: &Test, low: f64, high: f64, units: &Preferences) -> String {
    match test.answer {
        // No meter has readings as far out as this: 100 MΩ and more is "OL or nearly".
        Answer::Number(halfsplit_units::Dimension::Resistance) if low >= 2e7 => {
            format!("OL, or above {}", show(low, halfsplit_units::Dimension::Resistance, units, None))
        }
        Answer::Number(d) => {
            let (low, high) = (show(low, d, units, None), show(high, d, units, None));
            if low == high { format!("about {low}") } else { span(&low, &high) }
        }
        Answer::Words(_) => String::new(),
    }
}

/// The caution for a hazard at a test in this power state: rules for live work would mislead where all is to be dead.
pub(crate) fn caution(hazard: Hazard, power: PowerState) -> &'static str {
    match (hazard, power) {
        (Hazard::Shock, PowerState::Dead) => {
            "Mains: measured dead only. Every supply isolated and locked, and proved dead at the terminals that are touched."
        }
        _ => hazard.caution(),
    }
}

/// Power state in a word.
pub(crate) fn power(test: &Test) -> &'static str {
    match test.power {
        PowerState::Any => "any",
        PowerState::Live => "live",
        PowerState::Dead => "dead",
    }
}

/// What a factor on somebody's odds says.
pub(crate) fn speaks(weight: f64) -> String {
    let factor = libm::exp(weight.abs());
    let size = match factor {
        f if f < 1.25 => return "says next to nothing".to_owned(),
        f if f < 3.0 => "leans",
        f if f < 20.0 => "speaks",
        _ => "speaks strongly",
    };
    let factor = if factor < 10.0 {
        format!("{factor:.1}")
    } else if factor < 1000.0 {
        format!("{factor:.0}")
    } else {
        "more than 1000".to_owned()
    };
    if weight > 0.0 {
        format!("{size} for it (odds times {factor})")
    } else {
        format!("{size} against it (odds over {factor})")
    }
}
