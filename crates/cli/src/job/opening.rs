//! The few questions with which a job opens. Enter passes over any of them.

use halfsplit_workshop::journal::{Kind, Opened, Reading, sheet_hash};
use halfsplit_workshop::machine::sheet::Serves;
use halfsplit_workshop::machine::test::{Answer, Tool};
use halfsplit_workshop::units::{Dimension, Entry, Preferences, parse_entry};
use halfsplit_workshop::{ENGINE_VERSION, sheet_of};

use crate::clock;
use crate::failure::Failure;
use crate::job::talk::Talk;

/// An opening with nothing said yet.
pub fn blank(sheet: &str, units: Preferences) -> Opened {
    Opened {
        sheet_text: sheet.to_owned(),
        sheet_hash: sheet_hash(sheet),
        engine_version: ENGINE_VERSION.to_owned(),
        seed: clock::chance(),
        units,
        ..Opened::default()
    }
}

/// Asks, and gives the events that follow.
pub fn ask(talk: &mut Talk<'_>, sheet: &str, units: Preferences) -> Result<Vec<Kind>, Failure> {
    let machine = sheet_of(sheet)?;
    let mut opened = blank(sheet, units);
    let mut readings: Vec<(String, String)> = Vec::new();
    let s = talk.screen;
    talk.say(&format!("\n{}  {}\n", s.strong(&machine.sheet.machine.name), s.faint(&machine.sheet.machine.kind)))?;
    if let Some(note) = &machine.sheet.machine.note {
        talk.say(&s.paragraph(0, note))?;
    }
    talk.say("A few questions first; Enter passes over any of them.\n")?;

    opened.machine_age_years = loop {
        let Some(typed) = talk.ask("How old is it, in years?")? else { break None };
        match typed.split_whitespace().next().unwrap_or_default().replace(',', ".").parse::<f64>() {
            Ok(years) if (0.0..=60.0).contains(&years) => break Some(years),
            _ => talk.say("  A number of years between 0 and 60, like 8.\n")?,
        }
    };
    if let Some(words) = talk.ask("What does the customer say, in his own words?")? {
        opened.complaint = words;
    }
    for (id, question) in [
        ("complaint", "Which of these comes nearest?"),
        ("display lit", "The display?"),
        ("display message", "What does it report? (photograph it before power is cycled)"),
    ] {
        if id == "display message" && readings.iter().any(|(t, r)| t == "display lit" && r == "dark") {
            continue;
        }
        let Some(Answer::Words(words)) = machine.tests.iter().find(|t| t.id == id).map(|t| t.answer.clone()) else {
            continue;
        };
        if let Some(typed) = talk.choose(question, &words)? {
            match typed {
                Ok(word) => {
                    if id == "display message" {
                        opened.shown_code = Some(word.clone());
                    }
                    readings.push((id.to_owned(), word));
                }
                // What fits no word of the machine's is kept as it is.
                Err(other) => {
                    if id == "display message" {
                        talk.say(&format!("  {}\n", machine.about_code(&other)))?;
                        if let Some(word) = machine.shown_for_code(&other) {
                            readings.push((id.to_owned(), word.to_owned()));
                        }
                        opened.shown_code = Some(other);
                    }
                }
            }
        }
    }
    let tools: Vec<String> = Tool::ALL.iter().map(|t| t.name().to_owned()).collect();
    opened.tools_carried = loop {
        let Some(typed) = talk.ask(&format!(
            "Which of these are NOT with you? {}",
            tools.iter().enumerate().map(|(i, t)| format!("{} {t}", i + 1)).collect::<Vec<_>>().join("  ")
        ))?
        else {
            break tools;
        };
        let missing: Option<Vec<usize>> = typed
            .split([' ', ','])
            .filter(|w| !w.is_empty())
            .map(|w| w.parse::<usize>().ok().filter(|n| (1..=tools.len()).contains(n)))
            .collect();
        match missing {
            Some(missing) => {
                break tools
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| !missing.contains(&(i + 1)))
                    .map(|(_, t)| t.clone())
                    .collect();
            }
            None => talk.say("  Their numbers, like: 3 5\n")?,
        }
    };
    opened.conditions.ambient = temperature(talk, "Air around it? (like 20 C or 68 F)")?;
    if machine.sheet.machine.serves == Serves::RoomAir {
        opened.conditions.outdoor = temperature(talk, "Air outdoors? (like 20 C or 68 F)")?;
    }
    let worked_on = talk.ask("Has somebody worked on it lately? (yes or no)")?;
    if worked_on.is_some_and(|typed| typed.to_lowercase().starts_with('y')) {
        opened.conditions.other.insert("recent_work".to_owned(), 1.0);
    }
    if opened.complaint.is_empty() {
        let question =
            "Is it known all the same that something is wrong: an inspection, a claim, a second visit? (yes or no)";
        if talk.ask(question)?.is_some_and(|typed| typed.to_lowercase().starts_with('y')) {
            opened.conditions.other.insert("known_wrong".to_owned(), 1.0);
        }
    }
    let mut events = vec![Kind::Opened(opened)];
    events.extend(
        readings.into_iter().map(|(test, as_typed)| Kind::Reading(Reading { test, as_typed, ..Reading::default() })),
    );
    Ok(events)
}

/// Asks for one temperature, K, until it is one or passed over.
fn temperature(talk: &mut Talk<'_>, question: &str) -> Result<Option<f64>, Failure> {
    loop {
        let Some(typed) = talk.ask(question)? else { return Ok(None) };
        match parse_entry(&typed, Some(Dimension::Temperature)) {
            Ok(Entry::Value(q)) => return Ok(Some(q.si)),
            Ok(_) => talk.say("  One temperature, like 20 C.\n")?,
            Err(e) => talk.say(&format!("  {e}\n"))?,
        }
    }
}
