//! `halfsplit job`: the conversation, or JSON lines for programs.

use std::path::PathBuf;

use halfsplit_workshop::journal::{Kind, Reading};
use halfsplit_workshop::logger;
use halfsplit_workshop::units::Preferences;

use super::sheet;
use crate::failure::Failure;
use crate::job::json_lines;
use crate::job::session::Session;
use crate::job::talk::{self, Talk};
use crate::screen::Screen;
use crate::{clock, store};

const EXAMPLES: &str = "Examples:
  halfsplit job                          the machine that comes with the program
  halfsplit job my-heater.toml --us
  halfsplit job --continue 2026-03-02-0914-kfm
  halfsplit job --continue 2026-03-02-0914-kfm --log readings.csv
  halfsplit job --json < events.jsonl

Every entry is on disk before its effect is shown. Journals are kept in
$XDG_STATE_HOME/halfsplit/jobs (~/.local/state/halfsplit/jobs); quit when you
like and go on later. Type help at the prompt for what can be entered.";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Machine sheet; the demo machine if left out.
    sheet: Option<PathBuf>,
    /// Go on with a job: its name, a part of it, or its journal's path.
    #[arg(long = "continue", value_name = "JOB", conflicts_with_all = ["sheet", "journal"])]
    go_on: Option<String>,
    /// Keep the journal in this file.
    #[arg(long, value_name = "FILE")]
    journal: Option<PathBuf>,
    /// Who is working: goes into every event.
    #[arg(long, value_name = "NAME", env = "HALFSPLIT_ME")]
    me: Option<String>,
    /// Show °F, psi, pounds.
    #[arg(long)]
    us: bool,
    /// Take in the readings of a logger's or service display's table (CSV): its columns are mapped in the sheet. Goes with --continue.
    #[arg(long, value_name = "FILE", requires = "go_on")]
    log: Option<PathBuf>,
    /// JSON lines over input and output, for programs.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let who = args.me.clone().unwrap_or_else(clock::me);
    let units = if args.us { Preferences::US } else { Preferences::default() };
    let mut input = std::io::stdin().lock();
    let mut going_on = match &args.go_on {
        Some(name) => Some(Session::go_on(&store::find(name)?, who.clone())?),
        None => None,
    };
    if let (Some(file), Some((session, _))) = (&args.log, &mut going_on) {
        return take_log(session, file);
    }
    let text = match &args.sheet {
        Some(path) => sheet::text_of(path)?,
        None => sheet::DEMO.to_owned(),
    };
    let journal = args.journal.clone();
    let begin = || Session::begin(journal, who);
    if args.json {
        return match going_on {
            Some((session, damage)) => json_lines::run(&mut input, session, &damage, &text, units),
            None => json_lines::run(&mut input, begin()?, &[], &text, units),
        };
    }
    let mut talk = Talk::new(Screen::here(), &mut input);
    match going_on {
        Some((mut session, damage)) => {
            for d in &damage {
                talk.say(&format!("The journal is damaged. {d}\n"))?;
            }
            if !damage.is_empty() {
                talk.say("Everything else in it is used; nothing was removed.\n")?;
            }
            talk::work(&mut talk, &mut session)
        }
        None => talk::new_job(&mut talk, begin, &text, units),
    }
}

/// Takes the readings of a log into a job.
fn take_log(session: &mut Session, file: &std::path::Path) -> Result<(), Failure> {
    let csv = store::read_text(file)?;
    let view = session.view()?;
    if view.ended.is_some() {
        return Err(Failure::Refused("this job is closed\n  undo its ending first".to_owned()));
    }
    let text = session.job().sheet_text().unwrap_or_default().to_owned();
    let machine = halfsplit_workshop::sheet_of(&text)?;
    let logged = logger::readings(&machine, &csv).map_err(|e| Failure::Refused(format!("{}, {e}", file.display())))?;
    let mut out = String::new();
    for l in logged {
        out.push_str(&format!("{} = {}  ({})\n", l.test, l.as_typed, l.note));
        session.record(Kind::Reading(Reading {
            test: l.test,
            as_typed: l.as_typed,
            taken_at: l.taken_at,
            note: l.note,
            ..Reading::default()
        }))?;
    }
    crate::screen::print(&out)
}
