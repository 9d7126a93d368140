//! The manual pages of the part library, from the class files.

use super::{Ageing, CLASSES, DRAW_SHOWS, DRAW_TITLE, ModeSpec, Need, PartClass, StateSpec, TestSpec, TestWhat};

/// The whole manual, as Markdown.
pub fn manual() -> String {
    let mut out = String::from(
        "# The part library\n\n\
         Made from the class files in `crates/machine/src/library/` by `cargo xtask generated`; do not edit.\n\n\
         Rates are failures per 1000 machines and year. Unless a class names another source, rates, shares, minutes, \
         prices and degrees of severity are *judgement*: somebody's best guess, to be tuned by closed jobs. Minutes \
         of a test leave out opening what covers the part; minutes of a repair include it. Prices are in the \
         currency of the hourly rate.\n\n\
         Besides its own modes every part can be loosely connected at the terminals marked so, be the wrong part \
         (where a meter could tell), and have its plug exchanged with another that fits.\n",
    );
    for class in CLASSES {
        out.push('\n');
        out.push_str(&page(class));
    }
    out
}

/// The page of one class, as Markdown.
pub fn page(c: &PartClass) -> String {
    let mut text = format!("## {}\n\n{}.\n\n", c.name, capital(c.purpose));
    let out = &mut text;
    out.push_str(&format!("Fails at {} per 1000 a year; {}. Source: {}.\n", c.rate, ageing(c.ageing), c.source));
    if !c.terminals.is_empty() {
        out.push_str("\n| terminal | is | needed | can work loose |\n|---|---|---|---|\n");
        for t in c.terminals {
            let loose = if c.loose.contains(&t.name) { "yes" } else { "" };
            out.push_str(&format!(
                "| {} | {} | {} | {loose} |\n",
                t.name,
                t.meaning,
                if t.optional { "no" } else { "yes" }
            ));
        }
    }
    if !c.ratings.is_empty() {
        out.push_str("\n| rating | is | if left out | sensible |\n|---|---|---|---|\n");
        for r in c.ratings {
            let left_out = match r.need {
                Need::Required => "an error".to_owned(),
                Need::Default(v) => format!("{v}, assumed"),
                Need::Optional => "done without".to_owned(),
            };
            let range = if r.min < r.max { format!("{} to {}", r.min, r.max) } else { String::new() };
            out.push_str(&format!("| `{}` | {} | {left_out} | {range} |\n", r.key, r.meaning));
        }
    }
    if !c.modes.is_empty() {
        let total: f64 = c.modes.iter().map(|m| m.share).sum();
        out.push_str("\n### How it goes wrong\n");
        for m in c.modes {
            mode(out, m, m.share / total);
        }
    }
    if !c.states.is_empty() {
        out.push_str("\n### What it is built to do, and looks like a fault\n");
        for s in c.states {
            state(out, s);
        }
    }
    if !c.tests.is_empty() {
        out.push_str("\n### How it is tested\n\n| test | minutes | what tells | can hurt |\n|---|---|---|---|\n");
        for t in c.tests {
            let hurts: Vec<&str> = t.hazards.iter().map(|h| h.word()).collect();
            out.push_str(&format!("| {} | {} | {} | {} |\n", test(t), t.minutes, t.tells, hurts.join(", ")));
        }
    }
    text
}

fn mode(out: &mut String, m: &ModeSpec, share: f64) {
    out.push_str(&format!("\n**{}** (`{}`): {:.0} % of its faults", capital(m.name), m.key, share * 100.0));
    if m.intermittent {
        out.push_str(", comes and goes");
    }
    let degrees: Vec<&str> = m.levels.iter().map(|l| l.word).filter(|w| !w.is_empty()).collect();
    if !degrees.is_empty() {
        out.push_str(&format!("; degrees: {}", degrees.join(", ")));
    }
    out.push_str(&format!(".\n  Brought about by: {}.", m.cause));
    if !m.upstream.is_empty() {
        out.push_str(&format!(" Look upstream for: {}.", m.upstream));
    }
    for (class, key, factor) in m.promotes {
        out.push_str(&format!(" Makes `{key}` of {class} {factor} times as likely."));
    }
    out.push_str(&format!(
        "\n  Repair ({} min, parts {}): {}. Proof: {}.\n",
        m.repair.minutes, m.repair.price, m.repair.what, m.proof
    ));
}

fn state(out: &mut String, s: &StateSpec) {
    out.push_str(&format!(
        "\n**{}** (`{}`): nothing is broken. Odds of finding it so against not: {}, on {}; source: {}.\n  Brought about by: {}.\n  \
         Instead of a repair: {}. It is over when: {}.\n",
        capital(s.name),
        s.key,
        s.odds,
        s.when.words(),
        s.source,
        s.cause,
        s.wait,
        s.over
    ));
}

fn test(t: &TestSpec) -> String {
    match t.what {
        TestWhat::Ohms(a, b) => format!("ohms {a}–{b}, leads off, dead"),
        TestWhat::PlugOhms(a, b) => format!("ohms {a}–{b} through the plug, dead"),
        TestWhat::Farads(a, b) => format!("capacitance {a}–{b}, leads off, discharged, dead"),
        TestWhat::Insulation(a) => format!("insulation {a} to the cabinet at 500 V, leads off, dead"),
        TestWhat::LeadAmps(a) => format!("clamp amps in the lead to {a}, running"),
        TestWhat::Behaviour => "what it does when commanded".to_owned(),
        TestWhat::ShownTemperature => "what the display gives for it".to_owned(),
        TestWhat::ShownLessThermometer => "what the display gives for it, less a thermometer beside it".to_owned(),
        TestWhat::WarmedInHand => "warmed in the hand: what moves on the display".to_owned(),
        TestWhat::BusVolts => "volts on the bus, rated direct-current probes".into(),
        TestWhat::Diode(red, black) => format!("diode test, red on {red}, black on {black}, leads off, bus below 10 V"),
        TestWhat::Signal => "direct volts on the line between the units: silent, steady or wobbling".into(),
        TestWhat::SuctionRise => "rise of the suction gas through the body".into(),
        TestWhat::LongDraw => format!("{DRAW_TITLE}: {}", DRAW_SHOWS.join(" / ")),
        TestWhat::Look { title, words, .. } => format!("{title}: {}", words.join(" / ")),
    }
}

fn ageing(a: Ageing) -> &'static str {
    match a {
        Ageing::WearOut => "wears out (the rate grows with age; as stated at 8 years)",
        Ageing::Random => "the same at any age",
        Ageing::Infant => "mostly in the first year",
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

#[cfg(test)]
mod tests {
    #[test]
    fn every_class_and_mode_has_its_place_in_the_manual() {
        let manual = super::manual();
        for c in super::CLASSES {
            assert!(manual.contains(&format!("\n## {}\n", c.name)), "{}", c.name);
            for m in c.modes {
                assert!(manual.contains(&format!("(`{}`)", m.key)), "{} {}", c.name, m.key);
            }
            for s in c.states {
                assert!(manual.contains(&format!("(`{}`): nothing is broken", s.key)), "{} {}", c.name, s.key);
            }
        }
    }
}
