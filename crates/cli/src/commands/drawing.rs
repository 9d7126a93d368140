//! `halfsplit drawing`: the wiring, the loop and the cut, as SVG.

use std::path::{Path, PathBuf};

use halfsplit_workshop::journal::{Event, EventId, Kind, decode_bytes};
use halfsplit_workshop::units::Preferences;
use halfsplit_workshop::{Job, Next};

use crate::clock;
use crate::commands::sheet::text_of;
use crate::failure::Failure;
use crate::job::opening;
use crate::screen::print;
use crate::store;

const EXAMPLES: &str = "Examples:
  halfsplit drawing wiring demo --to wiring.svg
  halfsplit drawing wiring demo --test \"volts L2E-R while heat-pump\" --to probes.svg
  halfsplit drawing wiring --job 2026-05-04-0915-abc --to wiring.svg
  halfsplit drawing loop demo
  halfsplit drawing cycle demo --to cycle.svg
  halfsplit drawing cut --job 2026-05-04-0915-abc --words

Each picture carries its own title and description for those who do not see it, and takes light or dark colours from whoever
shows it. `halfsplit sheet tests` lists the ids of tests, `halfsplit jobs` those of jobs.";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// The wiring as a ladder: what is live, where the probes of a test go.
    #[command(after_help = "Example:\n  halfsplit drawing wiring demo --test \"volts L2E-R while heat-pump\"")]
    Wiring {
        #[command(flatten)]
        of: Of,
        /// The test whose probes are flagged; in a job, the proposed one if left out.
        #[arg(long, value_name = "TEST")]
        test: Option<String>,
    },
    /// The refrigerant loop in order, with what is expected and what was measured.
    #[command(after_help = "Example:\n  halfsplit drawing loop demo --to loop.svg")]
    Loop {
        #[command(flatten)]
        of: Of,
    },
    /// The loop's cycle in the pressure–enthalpy picture: expected, and measured as far as it was.
    #[command(after_help = "Example:\n  halfsplit drawing cycle demo --to cycle.svg")]
    Cycle {
        #[command(flatten)]
        of: Of,
    },
    /// How the next test splits what is still possible.
    #[command(after_help = "Example:\n  halfsplit drawing cut --job 2026-05-04-0915-abc --words")]
    Cut {
        #[command(flatten)]
        of: Of,
    },
}

#[derive(clap::Args)]
struct Of {
    /// A machine sheet, or "demo": as it is before anybody has measured anything.
    #[arg(required_unless_present = "job", conflicts_with = "job")]
    sheet: Option<PathBuf>,
    /// A job, by its name or its journal's file.
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
    /// File to write; the picture goes to standard output if left out.
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// The same in words instead of the picture.
    #[arg(long)]
    words: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    match &args.what {
        What::Wiring { of, test } => {
            let mut job = job(of)?;
            let proposed = match (test, &of.job) {
                (Some(t), _) => Some(t.clone()),
                (None, None) => None,
                (None, Some(_)) => match job.view().next {
                    Next::Test(t) => Some(t.id),
                    _ => None,
                },
            };
            let state = job.wiring(proposed.as_deref())?;
            give(of, &halfsplit_drawing::wiring(job.machine()?, &state))
        }
        What::Loop { of } => {
            let mut job = job(of)?;
            let view = job.refrigerant_loop()?;
            give(of, &halfsplit_drawing::refrigerant_loop(&job.machine()?.sheet.machine.name, &view))
        }
        What::Cycle { of } => {
            let cycle = job(of)?.cycle()?;
            write(of, if of.words { &cycle.words } else { &cycle.svg })
        }
        What::Cut { of } => {
            let view = job(of)?.view();
            let (title, outcomes) = match &view.next {
                Next::Test(t) => (t.title.as_str(), t.outcomes.as_slice()),
                _ => ("", &[][..]),
            };
            let possible = view.still_possible.as_ref().ok_or_else(|| {
                Failure::Refused("this version cannot compute the job: there is no cut to draw".into())
            })?;
            give(of, &halfsplit_drawing::cut(possible, outcomes, title))
        }
    }
}

fn give(of: &Of, picture: &halfsplit_drawing::Picture) -> Result<(), Failure> {
    if of.words {
        return write(of, &format!("{}\n{}\n", picture.title, picture.description));
    }
    write(of, &picture.standalone())
}

fn write(of: &Of, text: &str) -> Result<(), Failure> {
    match &of.to {
        Some(path) => std::fs::write(path, text).map_err(|e| Failure::file("write", path, &e)),
        None => print(text),
    }
}

/// The job that is named; or one just opened on the sheet, kept nowhere.
fn job(of: &Of) -> Result<Job, Failure> {
    if let Some(name) = &of.job {
        return read(&store::find(name)?);
    }
    let sheet = text_of(of.sheet.as_deref().unwrap_or_else(|| Path::new("demo")))?;
    let mut job = Job::new("drawing");
    let opened = Kind::Opened(opening::blank(&sheet, Preferences::default()));
    job.take_in(Event::new(1, EventId::new("drawing-1"), clock::now(), "", "", opened))?;
    Ok(job)
}

/// A job from its journal, which may be open elsewhere: it is only looked at.
fn read(path: &Path) -> Result<Job, Failure> {
    let bytes = std::fs::read(path).map_err(|e| Failure::file("read the journal", path, &e))?;
    let decoded = decode_bytes(&bytes);
    let damage: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
    let journal = decoded.into_journal().ok_or_else(|| {
        Failure::Refused(format!("{} is no journal that can be read\n  {}", path.display(), damage.join("\n  ")))
    })?;
    Ok(Job::replay(&journal)?)
}
