//! The manual of the part library, generated from the class files.

use halfsplit_machine::library::{Ageing, CLASSES, Need, TestWhat, class, nearest};

use crate::error::{JobError, What};

/// The classes: name and what such parts are for.
#[must_use]
pub fn classes() -> Vec<(&'static str, &'static str)> {
    CLASSES.iter().map(|c| (c.name, c.purpose)).collect()
}

/// The manual page of a class, Markdown.
///
/// # Errors
/// If there is no such class, with the nearest one.
pub fn class_page(name: &str) -> Result<String, JobError> {
    let c = class(name).ok_or_else(|| {
        JobError::new(
            What::NoSuchName,
            format!("the library has no part class \"{name}\""),
            format!("did you mean \"{}\"? halfsplit library lists them all", nearest(name).name),
        )
    })?;
    let ageing = match c.ageing {
        Ageing::WearOut => "in proportion to age: stated at 8 years",
        Ageing::Random => "the same at any age",
        Ageing::Infant => "highest in the first year and after work on the machine",
    };
    let mut out = format!(
        "# {}\n\n{}.\n\nFailures per 1000 unit-years: {}, {ageing}. Source: {}.\n",
        c.name,
        capital(c.purpose),
        c.rate,
        c.source
    );
    if !c.terminals.is_empty() {
        out.push_str("\n## Terminals\n\n");
        for t in c.terminals {
            let optional = if t.optional { " (may be left out)" } else { "" };
            out.push_str(&format!("- `{}`: {}{optional}\n", t.name, t.meaning));
        }
    }
    if !c.ratings.is_empty() {
        out.push_str("\n## Ratings in the sheet\n\n");
        for r in c.ratings {
            let need = match r.need {
                Need::Required => "needed".to_owned(),
                Need::Default(v) => format!("{v} if left out, marked assumed"),
                Need::Optional => "may be left out".to_owned(),
            };
            out.push_str(&format!("- `{}`: {}; {} to {}; {need}\n", r.key, r.meaning, r.min, r.max));
        }
    }
    out.push_str("\n## How such parts go wrong\n");
    for m in c.modes {
        let comes = if m.intermittent { ", comes and goes" } else { "" };
        out.push_str(&format!("\n### {}{comes}\n\n", m.name));
        out.push_str(&format!("- share of the failures: {:.0} % (judgement)\n- brought about by: {}\n", 100.0 * m.share, m.cause));
        let degrees: Vec<&str> = m.levels.iter().map(|l| l.word).filter(|w| !w.is_empty()).collect();
        if !degrees.is_empty() {
            out.push_str(&format!("- degrees: {}\n", degrees.join("; ")));
        }
        if !m.upstream.is_empty() {
            out.push_str(&format!("- look upstream for: {}\n", m.upstream));
        }
        for (class, mode, factor) in m.promotes {
            out.push_str(&format!("- makes more likely: {class}, {mode} ({factor} times)\n"));
        }
        out.push_str(&format!("- repair: {} ({:.0} min, part {})\n", m.repair.what, m.repair.minutes, m.repair.price));
        out.push_str(&format!("- proved by: {}\n", m.proof));
    }
    if !c.tests.is_empty() {
        out.push_str("\n## Tests\n\n");
        for t in c.tests {
            out.push_str(&format!("- {} ({} min). Healthy: {}\n", test_words(&t.what), t.minutes, t.tells));
            for h in t.hazards {
                out.push_str(&format!("  - {}\n", h.caution()));
            }
        }
    }
    Ok(out)
}

fn test_words(what: &TestWhat) -> String {
    match what {
        TestWhat::Ohms(a, b) => format!("Ohms {a} to {b}, leads off"),
        TestWhat::PlugOhms(a, b) => format!("Ohms {a} to {b} through the plug"),
        TestWhat::Farads(a, b) => format!("Microfarads {a} to {b}, leads off, discharged"),
        TestWhat::Insulation(a) => format!("Insulation of {a} to the cabinet at 500 V, leads off"),
        TestWhat::LeadAmps(a) => format!("Clamp the lead to {a}, for each command that drives the part"),
        TestWhat::Behaviour => "What it does, for each command that drives it".to_owned(),
        TestWhat::ShownTemperature => "What the display gives for it, at rest and running".to_owned(),
        TestWhat::ShownLessThermometer => "What the display gives for it, less a thermometer beside it".to_owned(),
        TestWhat::Look { title, words, .. } => format!("{title} ({})", words.join(" / ")),
    }
}

fn capital(s: &str) -> String {
    let mut c = s.chars();
    c.next().map(|f| f.to_uppercase().collect::<String>() + c.as_str()).unwrap_or_default()
}
