//! The conversation: the opening, then the loop of what is next and what was entered.

use std::io::BufRead;

use halfsplit_workshop::journal::{
    Action, ActionKind, Ended, Ending, FactLearned, Kind, Observation, ProvingRun, Reading, Repaired, SafetyReport,
    Skipped,
};
use halfsplit_workshop::units::Preferences;
use halfsplit_workshop::{AskBack, Next, TestView, View};

use super::prompt::{HELP, Line, understand};
use super::session::Session;
use super::{opening, show};
use crate::failure::Failure;
use crate::screen::Screen;

/// A conversation over a keyboard and a screen, or two pipes.
pub struct Talk<'a> {
    /// The screen.
    pub screen: Screen,
    input: &'a mut dyn BufRead,
    /// There is nothing more to read.
    over: bool,
}

impl<'a> Talk<'a> {
    /// Over this input.
    pub fn new(screen: Screen, input: &'a mut dyn BufRead) -> Talk<'a> {
        Talk { screen, input, over: false }
    }

    /// Says something.
    pub fn say(&self, text: &str) -> Result<(), Failure> {
        self.screen.say(text)
    }

    /// One line; none when the input has ended.
    fn line(&mut self, prompt: &str) -> Result<Option<String>, Failure> {
        self.line_meanwhile(prompt, || ())
    }

    /// The same; `meanwhile` is done while somebody at a keyboard reads what was said.
    fn line_meanwhile(&mut self, prompt: &str, meanwhile: impl FnOnce()) -> Result<Option<String>, Failure> {
        if self.over {
            return Ok(None);
        }
        self.say(prompt)?;
        if self.screen.interactive {
            meanwhile();
        }
        let mut bytes = Vec::new();
        let read = self.input.read_until(b'\n', &mut bytes).map_err(|e| {
            Failure::File(format!("cannot read the input: {e}\n  the job is kept; go on with --continue"))
        })?;
        if read == 0 {
            self.over = true;
            self.say("\n")?;
            return Ok(None);
        }
        if !self.screen.interactive {
            // With input from a file, the output shows what was entered.
            self.say(&format!("{}\n", String::from_utf8_lossy(&bytes).trim_end()))?;
        }
        Ok(Some(String::from_utf8_lossy(&bytes).trim().to_owned()))
    }

    /// A question that Enter passes over.
    pub fn ask(&mut self, question: &str) -> Result<Option<String>, Failure> {
        let question = self.screen.paragraph(2, question);
        let prompt =
            if question.lines().count() > 1 { format!("{question}    ") } else { format!("{} ", question.trim_end()) };
        Ok(self.line(&prompt)?.filter(|l| !l.is_empty()))
    }

    /// A choice among words: the word, or what was typed if it is none of them.
    pub fn choose(&mut self, question: &str, words: &[String]) -> Result<Option<Result<String, String>>, Failure> {
        let listed: Vec<String> = words.iter().enumerate().map(|(i, w)| format!("{} {w}", i + 1)).collect();
        let Some(typed) = self.ask(&format!("{question} {}", listed.join("  ")))? else { return Ok(None) };
        let lower = typed.to_lowercase();
        let by_number = typed.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).and_then(|n| words.get(n));
        let exact = words.iter().find(|w| w.to_lowercase() == lower);
        let mut begins = words.iter().filter(|w| w.to_lowercase().starts_with(&lower));
        let beginning = begins.next().filter(|_| begins.next().is_none());
        Ok(Some(by_number.or(exact).or(beginning).cloned().ok_or(typed)))
    }
}

/// Opens a new job in conversation and works on it.
pub fn new_job(
    talk: &mut Talk<'_>,
    begin: impl FnOnce() -> Result<Session, Failure>,
    sheet: &str,
    units: Preferences,
) -> Result<(), Failure> {
    let events = opening::ask(talk, sheet, units)?;
    let mut session = begin()?;
    for kind in events {
        session.record(kind)?;
    }
    talk.say(&format!("\nJob {}, kept in {}\n", session.name(), session.path().display()))?;
    work(talk, &mut session)
}

/// Where the conversation stands.
struct Table {
    view: View,
    /// A test that the technician chose himself.
    chosen: Option<TestView>,
    /// The view has changed since it was shown.
    fresh: bool,
}

/// Works on a job until it is closed, left, or the input ends.
pub fn work(talk: &mut Talk<'_>, session: &mut Session) -> Result<(), Failure> {
    let mut table = Table { view: session.view()?, chosen: None, fresh: true };
    loop {
        if table.fresh {
            let text = match &table.chosen {
                Some(t) => {
                    let mut text = format!("\n{}", show::test(&talk.screen, t));
                    if let Some(p) = &table.view.still_possible {
                        let room = talk.screen.rows.saturating_sub(text.lines().count() + 2);
                        text.push_str(&show::possible(&talk.screen, p, &t.outcomes, room));
                    }
                    text
                }
                None => show::view(&talk.screen, &table.view),
            };
            talk.say(&text)?;
            table.fresh = false;
        }
        if matches!(table.view.next, Next::Closed) {
            return Ok(());
        }
        // What is on the table stands at the prompt, however far the rest has scrolled.
        let prompt = match (&table.chosen, &table.view.next) {
            (Some(t), _) | (None, Next::Test(t)) => format!("{} > ", t.id),
            _ => "> ".to_owned(),
        };
        let Some(line) = talk.line_meanwhile(&prompt, || session.job().think_ahead(&table.view))? else { break };
        match understand(&line) {
            Err(why) => talk.say(&format!("  {why}\n"))?,
            Ok(Line::Quit) => break,
            Ok(line) => match enter(talk, session, &mut table, line) {
                Ok(()) => {}
                // What was refused is said, and the job goes on; a file that fails ends it.
                Err(Failure::Refused(why)) => talk.say(&format!("  {why}\n"))?,
                Err(e) => return Err(e),
            },
        }
    }
    talk.say(&format!("The job is kept. Go on with it: halfsplit job --continue {}\n", session.name()))
}

fn enter(talk: &mut Talk<'_>, session: &mut Session, table: &mut Table, line: Line) -> Result<(), Failure> {
    let on_table = || match (&table.chosen, &table.view.next) {
        (Some(t), _) | (None, Next::Test(t)) => Ok(t.id.clone()),
        _ => Err(Failure::Refused(
            "no test is on the table; choose one: other WORDS, or enter TEST = READING".to_owned(),
        )),
    };
    match line {
        Line::Blank => {
            table.fresh = true;
            return Ok(());
        }
        Line::Help => return talk.say(HELP),
        Line::List => return talk.say(&show::list(&talk.screen, &table.view)),
        Line::Back => {
            table.chosen = None;
            table.fresh = true;
            return Ok(());
        }
        Line::Why(who) => {
            let id = suspect(&table.view, &who)?;
            let why = session.job().why(&id)?;
            return talk.say(&show::why(&talk.screen, &why));
        }
        Line::Suppose(typed) => {
            let (test, typed) = match typed.split_once(" = ") {
                Some((test, typed)) => (test.to_owned(), typed.to_owned()),
                None => (on_table()?, typed),
            };
            let s = session.job().suppose(&test, &typed)?;
            return talk.say(&show::suppose(&talk.screen, &s));
        }
        Line::Other(words) => return other(talk, session, table, &words),
        Line::Reading(typed) => {
            let test = on_table()?;
            if !read(talk, session, test, typed)? {
                return Ok(());
            }
        }
        Line::For(test, typed) => {
            if !read(talk, session, test, typed)? {
                return Ok(());
            }
        }
        Line::Skip(reason) => session.record(Kind::Skipped(Skipped { test: on_table()?, reason }))?,
        Line::Undo => {
            let Some(event) = session.job().latest().map(|e| (e.id.clone(), said(&e.kind))) else {
                return Err(Failure::Refused("there is nothing to take back".to_owned()));
            };
            session.record(Kind::Undone { event: event.0 })?;
            talk.say(&format!("  Taken back: {}\n", event.1))?;
        }
        Line::Did(what) => {
            let what = match (&table.view.next, what.is_empty()) {
                (Next::Repair(r), true) => r.id.clone(),
                (_, true) => {
                    let lead = table.view.still_possible.as_ref().and_then(|p| p.suspects.first());
                    let lead = lead.map_or("PART/replace", |s| s.repair_id.as_str());
                    return Err(Failure::Refused(format!(
                        "no repair is proposed yet; if one was made all the same, name it: did {lead}"
                    )));
                }
                _ => what,
            };
            session.record(repaired(&what))?;
        }
        other => session.record(plain_event(other, session.who(), &table.view)?)?,
    }
    table.chosen = None;
    table.view = session.view()?;
    table.fresh = true;
    Ok(())
}

/// The event of a line that needs nothing but the line.
///
/// # Errors
/// If the line is no event of its own.
pub fn plain_event(line: Line, who: &str, view: &View) -> Result<Kind, Failure> {
    let act = |kind| Kind::Action(Action { kind, part: String::new(), detail: String::new() });
    Ok(match line {
        Line::Report(kind) => Kind::SafetyReport(SafetyReport { kind, who: who.to_owned() }),
        Line::Reset => act(ActionKind::Reset),
        Line::PowerCycled => act(ActionKind::PowerCycle),
        Line::Proved(passed, note) => Kind::ProvingRun(ProvingRun { passed, note }),
        Line::Note(words) => Kind::Observation(Observation { what: String::new(), words }),
        Line::Left(typed) => {
            Kind::FactLearned(FactLearned { name: "minutes left".into(), as_typed: typed, entry: None })
        }
        Line::End(ending, note) => ended(view, ending, note)?,
        _ => return Err(Failure::Refused("that is no event of its own".to_owned())),
    })
}

/// The event of a repair as typed: `K3/replace`, `K3 replace` or `K3`.
pub fn repaired(typed: &str) -> Kind {
    let (part, what) = typed.split_once(['/', ' ']).unwrap_or((typed, ""));
    Kind::Repaired(Repaired { part: part.trim().to_owned(), what: what.trim().to_owned() })
}

/// The event of an ending; the proposed one where none is named. Cause and upstream are what the job found.
fn ended(view: &View, ending: Option<Ending>, note: String) -> Result<Kind, Failure> {
    let ending = match (ending, &view.next) {
        (Some(e), _) => e,
        (None, Next::End(e)) => match e.ending {
            "repaired" => Ending::Repaired,
            "nothing_broken" => Ending::NothingBroken,
            _ => Ending::CannotTell,
        },
        _ => return Err(Failure::Refused(format!("end how? {}", super::prompt::END_WORDS))),
    };
    let mended: Vec<&str> = view.done.iter().filter(|d| d.repair.is_some()).map(|d| d.what.as_str()).collect();
    let upstream: Vec<&str> = view.done.iter().map(|d| d.upstream.as_str()).filter(|u| !u.is_empty()).collect();
    let leading = view.still_possible.as_ref().and_then(|p| p.suspects.first());
    let cause = match ending {
        Ending::Repaired => Some(mended.join("; ")),
        Ending::NothingBroken => None,
        _ => leading.map(|s| format!("most probably {} ({})", s.name, s.odds)),
    };
    let upstream = if upstream.is_empty() { None } else { Some(upstream.join("; ")) };
    Ok(Kind::Ended(Ended { ending, cause, upstream, note }))
}

/// Takes a reading, asking back where it looks off by a power of ten. False if it was meant otherwise.
fn read(talk: &mut Talk<'_>, session: &mut Session, test: String, typed: String) -> Result<bool, Failure> {
    let kind =
        |typed: &str| Kind::Reading(Reading { test: test.clone(), as_typed: typed.to_owned(), ..Reading::default() });
    session.job().check(&kind(&typed))?;
    let mut typed = typed;
    if let Some(AskBack { read, perhaps, if_healthy, .. }) = session.job().ask_back(&test, &typed)? {
        talk.say(&format!("  {read}? A sound machine shows {if_healthy}. Was {perhaps} meant?\n"))?;
        match talk.ask(&format!("Enter keeps {read}; or type it again"))? {
            None => {}
            Some(again) if again.eq_ignore_ascii_case("yes") || again == "y" => typed = perhaps,
            Some(again) if again.eq_ignore_ascii_case("no") || again == "n" => {}
            Some(again) => typed = again,
        }
    }
    session.record(kind(&typed))?;
    Ok(true)
}

/// Puts another test on the table.
fn other(talk: &mut Talk<'_>, session: &mut Session, table: &mut Table, words: &str) -> Result<(), Failure> {
    let found = session.job().find(words);
    let id = match &found[..] {
        [] => return Err(Failure::Refused(format!("no test has all of the words \"{words}\"; try fewer or others"))),
        [one] => one.id.clone(),
        many => {
            const SHOWN: usize = 12;
            let mut text = String::new();
            for (i, f) in many.iter().take(SHOWN).enumerate() {
                let line = format!("  {:>2}  {}  ({}, {})", i + 1, f.title, f.power, f.id);
                text.push_str(&crate::screen::fit(&line, talk.screen.width));
                text.push('\n');
            }
            if many.len() > SHOWN {
                text.push_str(&format!("      and {} more: add a word\n", many.len() - SHOWN));
            }
            talk.say(&text)?;
            let Some(typed) = talk.ask("Which? (its number; Enter for none)")? else { return Ok(()) };
            match typed.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).and_then(|n| many.get(n)) {
                Some(f) => f.id.clone(),
                None => return Err(Failure::Refused(format!("\"{typed}\" is no number of the list"))),
            }
        }
    };
    table.chosen = Some(session.job().about(&id)?);
    table.fresh = true;
    Ok(())
}

/// A suspect by letter, id, or the leading one.
fn suspect(view: &View, who: &str) -> Result<String, Failure> {
    let none = || Failure::Refused("nobody is suspected now".to_owned());
    let suspects = view.still_possible.as_ref().map(|p| p.suspects.as_slice()).unwrap_or_default();
    if who.is_empty() {
        return suspects.first().map(|s| s.id.clone()).ok_or_else(none);
    }
    let mut letters = who.chars();
    if let (Some(c), None) = (letters.next(), letters.next()) {
        let at = (0..suspects.len().min(26)).find(|i| halfsplit_drawing::cut::letter(*i) == c.to_ascii_uppercase());
        if let Some(s) = at.and_then(|i| suspects.get(i)) {
            return Ok(s.id.clone());
        }
    }
    Ok(who.to_owned())
}

/// An event in a few words.
fn said(kind: &Kind) -> String {
    match kind {
        Kind::Reading(r) => format!("{} = {}", r.test, r.as_typed),
        Kind::Skipped(s) => format!("skipping {}", s.test),
        Kind::Observation(o) => format!("the note \"{}\"", o.words),
        Kind::SafetyReport(r) => format!("the report {:?}", r.kind).to_lowercase(),
        Kind::Repaired(r) => format!("the repair {}/{}", r.part, r.what),
        Kind::Ended(_) => "the ending".into(),
        other => other.name().replace('_', " "),
    }
}
