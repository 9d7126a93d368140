//! `halfsplit case`: runs text cases that a practitioner can read and review.
//!
//! A case is a title, a story, and after a line `---` what was entered, one line each, in the words of the
//! prompt, with lines that say what is expected of the program. After `--- found` stands what the program made of
//! it when it was last recorded; `--update` records it anew. A case without that line is held to its expectations only.

use std::path::{Path, PathBuf};

use halfsplit_workshop::journal::{Event, EventId, Kind, Opened, Reading, Skipped};
use halfsplit_workshop::units::{Dimension, Entry, Preferences, parse_entry};
use halfsplit_workshop::{Job, Next, StillPossible, View, percent};

use super::sheet;
use crate::failure::Failure;
use crate::job::opening;
use crate::job::prompt::{Line, understand};
use crate::job::talk::{plain_event, repaired};
use crate::screen::print;
use crate::store;

const EXAMPLES: &str = "Examples:
  halfsplit case cases/*.txt
  halfsplit case --update cases/open-run-capacitor.txt
  halfsplit case --odds cases/open-run-capacitor.txt

A case, after its title and story:
  ---
  machine heater.toml          beside the case; the demo machine if left out
  age 8
  customer It hums and clicks.
  tools multimeter, clamp ammeter
  air 20 C
  outdoor 3 C                  where a part of the machine stands outdoors
  complaint = message on the display
  report isolated
  refused microfarads CRUN = -2 uF
  expect lead CRUN:open
  expect CRUN:open within 2
  expect CRUN:open above 80 %
  expect COMP:seized below 5 %
  expect nothing broken above 50 %      (or: not described above 50 %)
  expect next test microfarads CRUN     (or: repair ID, prove, end HOW)
  wanted COMP:seized below 1 %          (known not to be met yet)
  known wrong: why             the whole case is known to end wrong; that it ends right is told
  did CRUN/replace
  --- found                    what the program made of it; --update writes it";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// The cases.
    #[arg(required = true)]
    cases: Vec<PathBuf>,
    /// Record what the program makes of them now.
    #[arg(long)]
    update: bool,
    /// Show what was still possible after each line.
    #[arg(long)]
    odds: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let mut wrong = 0;
    for path in &args.cases {
        let text = store::read_text(path)?;
        let mut case = Case::read(path, &text)?;
        case.shows_odds = args.odds;
        case.play()?;
        let found = case.found();
        let (before, recorded) = text.split_once(FOUND).unwrap_or((&text, ""));
        if args.update {
            let new = format!(
                "{}{FOUND}\n{found}",
                if before.ends_with('\n') { before.to_owned() } else { format!("{before}\n") }
            );
            if new != text {
                std::fs::write(path, new).map_err(|e| Failure::file("write", path, &e))?;
            }
        } else if text.contains(FOUND) && recorded.trim() != found.trim() {
            case.troubles.push(format!(
                "what is found has changed; recorded was\n{}\n    now it is\n{}\n    record it with --update if it is right",
                indented(recorded),
                indented(&found)
            ));
        }
        if let Some(why) = case.known_wrong {
            if case.troubles.is_empty() {
                case.troubles.push("it is marked as known wrong and ends right; take the mark out".into());
            } else {
                print(&format!("known  {}: {}\n  known wrong: {why}\n", path.display(), case.title))?;
                for t in &case.troubles {
                    print(&format!("  {t}\n"))?;
                }
                continue;
            }
        }
        if case.troubles.is_empty() {
            print(&format!("right  {}: {}\n", path.display(), case.title))?;
        } else {
            wrong += 1;
            print(&format!("wrong  {}: {}\n", path.display(), case.title))?;
            for t in &case.troubles {
                print(&format!("  {t}\n"))?;
            }
        }
        for t in &case.not_yet {
            print(&format!("  not yet: {t}\n"))?;
        }
    }
    if wrong > 0 {
        let s = if wrong == 1 { "" } else { "s" };
        return Err(Failure::Refused(format!("{wrong} case{s} of {} went wrong", args.cases.len())));
    }
    Ok(())
}

const FOUND: &str = "--- found";

fn indented(text: &str) -> String {
    text.trim().lines().map(|l| format!("      {l}")).collect::<Vec<_>>().join("\n")
}

struct Case<'a> {
    path: &'a Path,
    title: &'a str,
    sheet: String,
    opened: Opened,
    /// Line number and text.
    lines: Vec<(usize, &'a str)>,
    job: Job,
    troubles: Vec<String>,
    /// Wanted, and known not to be met.
    not_yet: Vec<String>,
    /// Why the whole case is known to end wrong.
    known_wrong: Option<&'a str>,
    /// What was possible before the first thing was done.
    before_acting: Option<StillPossible>,
    /// Whether each line is printed with what was still possible after it.
    shows_odds: bool,
}

impl<'a> Case<'a> {
    fn read(path: &'a Path, text: &'a str) -> Result<Case<'a>, Failure> {
        let text = text.split_once(FOUND).map_or(text, |(t, _)| t);
        let title = text.lines().map(str::trim).find(|l| !l.is_empty()).unwrap_or("");
        let lines: Vec<(usize, &str)> = text
            .lines()
            .enumerate()
            .map(|(i, l)| (i + 1, l.trim()))
            .skip_while(|(_, l)| *l != "---")
            .skip(1)
            .filter(|(_, l)| !l.is_empty() && !l.starts_with('#'))
            .collect();
        if lines.is_empty() {
            return Err(Failure::Refused(format!(
                "{} has nothing to enter\n  put a line --- after the story and the entries below it",
                path.display()
            )));
        }
        let sheet = sheet::DEMO.to_owned();
        let opened = opening::blank("", Preferences::default());
        let job = Job::new(path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default());
        Ok(Case {
            path,
            title,
            sheet,
            opened,
            lines,
            job,
            troubles: Vec::new(),
            not_yet: Vec::new(),
            known_wrong: None,
            before_acting: None,
            shows_odds: false,
        })
    }

    fn at(&self, line: usize, what: &str) -> Failure {
        Failure::Refused(format!("{}, line {line}: {what}", self.path.display()))
    }

    fn record(&mut self, line: usize, kind: Kind) -> Result<(), halfsplit_workshop::JobError> {
        let seq = self.job.journal().next_seq();
        let id = EventId::new(format!("line-{line}-{seq}"));
        self.job.take_in(Event::new(seq, id, "2026-01-01T08:00:00Z", "case", "case", kind))
    }

    fn play(&mut self) -> Result<(), Failure> {
        let lines = std::mem::take(&mut self.lines);
        let mut rest = lines.iter();
        let mut pending = None;
        for (n, line) in rest.by_ref() {
            if !self.opening(*n, line)? {
                pending = Some((*n, *line));
                break;
            }
        }
        self.opened.sheet_hash = halfsplit_workshop::journal::sheet_hash(&self.sheet);
        self.opened.sheet_text.clone_from(&self.sheet);
        // Nothing in a case is left to chance.
        self.opened.seed = 0;
        self.record(0, Kind::Opened(self.opened.clone()))?;
        for (n, line) in pending.into_iter().chain(rest.copied()) {
            self.line(n, line)?;
        }
        Ok(())
    }

    /// Lines that belong to the opening. False for the first that does not.
    fn opening(&mut self, n: usize, line: &str) -> Result<bool, Failure> {
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        let rest = rest.trim();
        match word {
            "machine" => {
                let beside = self.path.parent().map_or_else(|| PathBuf::from(rest), |d| d.join(rest));
                self.sheet = store::read_text(&beside)?;
            }
            "age" => {
                let years = rest
                    .split(' ')
                    .next()
                    .unwrap_or("")
                    .parse()
                    .map_err(|_| self.at(n, "an age is a number of years"))?;
                self.opened.machine_age_years = Some(years);
            }
            "customer" => self.opened.complaint = rest.to_owned(),
            "tools" => self.opened.tools_carried = rest.split(',').map(|t| t.trim().to_owned()).collect(),
            "air" => match parse_entry(rest, Some(Dimension::Temperature)) {
                Ok(Entry::Value(q)) => self.opened.conditions.ambient = Some(q.si),
                _ => return Err(self.at(n, "air is one temperature, like 20 C")),
            },
            "outdoor" => match parse_entry(rest, Some(Dimension::Temperature)) {
                Ok(Entry::Value(q)) => self.opened.conditions.outdoor = Some(q.si),
                _ => return Err(self.at(n, "outdoor is one temperature, like 3 C")),
            },
            "worked-on" => {
                self.opened.conditions.other.insert("recent_work".into(), 1.0);
            }
            "known-wrong" => {
                self.opened.conditions.other.insert("known_wrong".into(), 1.0);
            }
            _ => return Ok(false),
        }
        Ok(true)
    }

    fn line(&mut self, n: usize, line: &'a str) -> Result<(), Failure> {
        if let Some(why) = line.strip_prefix("known wrong") {
            let why = why.trim_start_matches(':').trim();
            if why.is_empty() {
                return Err(self.at(n, "known wrong in what? known wrong: and the reason"));
            }
            self.known_wrong = Some(why);
            return Ok(());
        }
        if let Some(rest) = line.strip_prefix("expect ") {
            let view = self.job.view();
            if let Err(trouble) = expect(&view, rest.trim()) {
                let trouble = trouble.map_err(|what| self.at(n, &what))?;
                self.troubles.push(format!("line {n}: expected {}; {trouble}", rest.trim()));
            }
            return Ok(());
        }
        if let Some(rest) = line.strip_prefix("wanted ") {
            let view = self.job.view();
            match expect(&view, rest.trim()) {
                Ok(()) => self.troubles.push(format!("line {n}: {} is met now; make it \"expect\"", rest.trim())),
                Err(instead) => {
                    let instead = instead.map_err(|what| self.at(n, &what))?;
                    self.not_yet.push(format!("line {n}: wanted {}; {instead}", rest.trim()));
                }
            }
            return Ok(());
        }
        let (line, refused) = match line.strip_prefix("refused ") {
            Some(rest) => (rest, true),
            None => (line, false),
        };
        let kind = self.event(n, line)?;
        if matches!(kind, Kind::Repaired(_) | Kind::Action(_) | Kind::Ended(_)) && self.before_acting.is_none() {
            self.before_acting = self.job.view().still_possible;
        }
        let recorded = self.record(n, kind);
        if self.shows_odds {
            print(&format!("  {line}\n{}", odds(&self.job.view())))?;
        }
        match (recorded, refused) {
            (Ok(()), false) | (Err(_), true) => {}
            (Ok(()), true) => self.troubles.push(format!("line {n}: \"{line}\" was to be refused and was taken")),
            (Err(e), false) => return Err(self.at(n, &e.to_string())),
        }
        Ok(())
    }

    fn event(&mut self, n: usize, line: &str) -> Result<Kind, Failure> {
        let line = understand(line).map_err(|e| self.at(n, &e))?;
        Ok(match line {
            Line::For(test, as_typed) => Kind::Reading(Reading { test, as_typed, ..Reading::default() }),
            Line::Skip(reason) => match self.job.view().next {
                Next::Test(t) => Kind::Skipped(Skipped { test: t.id, reason }),
                _ => return Err(self.at(n, "no test is proposed that could be skipped")),
            },
            Line::Did(what) if !what.is_empty() => repaired(&what),
            Line::Undo => {
                let event = self
                    .job
                    .latest()
                    .map(|e| e.id.clone())
                    .ok_or_else(|| self.at(n, "there is nothing to take back"))?;
                Kind::Undone { event }
            }
            other => {
                let view = self.job.view();
                plain_event(other, "case", &view).map_err(|e| self.at(n, &e.to_string()))?
            }
        })
    }

    /// The leading suspects before anything was done, in words, and how it ended.
    fn found(&mut self) -> String {
        let view = self.job.view();
        let possible = self.before_acting.take().or(view.still_possible);
        let mut out = String::new();
        for (i, s) in possible.iter().flat_map(|p| &p.suspects).take(3).filter(|s| s.percent >= 1.0).enumerate() {
            out.push_str(&format!("{} {}: {}\n", i + 1, s.id, s.odds));
        }
        if let Some(e) = &view.ended {
            out.push_str(&format!("end: {}\n", e.ending.replace('_', " ")));
        }
        out
    }
}

/// What is still possible, on one line.
fn odds(view: &View) -> String {
    let Some(p) = &view.still_possible else { return String::new() };
    let mut all: Vec<String> = p.suspects.iter().take(6).map(|s| format!("{} {:.1} %", s.id, s.percent)).collect();
    all.push(format!("nothing broken {:.1} %", p.nothing_broken));
    all.push(format!("not described {:.1} %", p.not_described));
    format!("      {}\n", all.join(", "))
}

/// Holds an expectation against a view.
///
/// # Errors
/// `Err(Ok(…))` what is instead; `Err(Err(…))` the expectation cannot be understood.
fn expect(view: &View, what: &str) -> Result<(), Result<String, String>> {
    let suspects = view.still_possible.as_ref().map(|p| p.suspects.as_slice()).unwrap_or_default();
    let words: Vec<&str> = what.split_whitespace().collect();
    let of = |id: &str| suspects.iter().find(|s| s.id == id).map_or(0.0, |s| s.percent);
    let number = |text: &str| text.parse::<f64>().map_err(|_| Err(format!("\"{text}\" is no number")));
    let holds = |ok: bool, instead: String| if ok { Ok(()) } else { Err(Ok(instead)) };
    match words[..] {
        ["lead", id] => {
            let lead = suspects.first();
            let found =
                lead.map_or("nobody leads".to_owned(), |s| format!("{} leads with {}", s.id, percent(s.percent)));
            holds(lead.is_some_and(|s| s.id == id), found)
        }
        [id, "within", n] => {
            let n = number(n)?;
            let at = suspects.iter().position(|s| s.id == id);
            holds(
                at.is_some_and(|i| i as f64 + 1.0 <= n),
                at.map_or("it is not among them".into(), |i| format!("it stands at {}", i + 1)),
            )
        }
        ["nothing", "broken", side, n, "%"] => {
            let p = view.still_possible.as_ref().map_or(0.0, |p| p.nothing_broken);
            side_of(p, side, number(n)?)
        }
        ["not", "described", side, n, "%"] => {
            let p = view.still_possible.as_ref().map_or(0.0, |p| p.not_described);
            side_of(p, side, number(n)?)
        }
        [id, side, n, "%"] => side_of(of(id), side, number(n)?),
        ["next", kind, ref rest @ ..] => {
            let id = rest.join(" ");
            let now = match &view.next {
                Next::Test(t) => ("test", t.id.clone()),
                Next::Repair(r) => ("repair", r.id.clone()),
                Next::Prove(_) => ("prove", String::new()),
                Next::End(e) => ("end", e.ending.replace('_', " ")),
                Next::Closed => ("closed", String::new()),
                Next::Open | Next::ReadOnly { .. } => ("none", String::new()),
            };
            holds(
                now.0 == kind && (id.is_empty() || now.1 == id),
                format!("next is {} {}", now.0, now.1).trim().to_owned(),
            )
        }
        _ => Err(Err("expect what? lead ID; ID within N; ID above N %; ID below N %; next test ID".into())),
    }
}

fn side_of(p: f64, side: &str, bound: f64) -> Result<(), Result<String, String>> {
    let ok = match side {
        "above" => p > bound,
        "below" => p < bound,
        _ => return Err(Err(format!("\"{side}\" is neither above nor below"))),
    };
    if ok { Ok(()) } else { Err(Ok(format!("it is {}", percent(p)))) }
}
