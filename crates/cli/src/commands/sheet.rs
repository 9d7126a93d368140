//! `halfsplit sheet`: check a machine sheet, or look into it.

use std::path::{Path, PathBuf};

use halfsplit_workshop::machine::Machine;
use halfsplit_workshop::machine::examples::{self, example};
use halfsplit_workshop::machine::sheet::{self, Severity};
use halfsplit_workshop::machine::test::PowerState;

use crate::failure::Failure;
use crate::screen::print;
use crate::store;

/// The demo machine, part of the program.
pub const DEMO: &str = include_str!("../../../../machines/garage-water-heater.toml");

const EXAMPLES: &str = "Examples:
  halfsplit sheet start split --out my-split.toml
  halfsplit sheet check my-heater.toml
  halfsplit sheet terminals demo
  halfsplit sheet schema > machine-sheet.schema.json

\"demo\" in place of a file stands for the machine that comes with the program; \"halfsplit sheet examples\"
lists the others.";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Start a sheet from a nameplate: the kind, what can be read, everything else by size.
    Start(super::start::Args),
    /// Check that a sheet can be computed; say what is odd about it.
    #[command(after_help = "Example:\n  halfsplit sheet check my-heater.toml")]
    Check {
        /// The sheet, or "demo".
        sheet: PathBuf,
    },
    /// List its parts.
    #[command(after_help = "Example:\n  halfsplit sheet parts demo")]
    Parts {
        /// The sheet, or "demo".
        sheet: PathBuf,
    },
    /// List its terminals: wire, place, and whether live measuring is allowed.
    #[command(after_help = "Example:\n  halfsplit sheet terminals demo")]
    Terminals {
        /// The sheet, or "demo".
        sheet: PathBuf,
    },
    /// List the tests that it offers, with the ids under which readings are entered.
    #[command(after_help = "Example:\n  halfsplit sheet tests demo")]
    Tests {
        /// The sheet, or "demo".
        sheet: PathBuf,
    },
    /// Explain every field of a sheet (Markdown).
    #[command(after_help = "Example:\n  halfsplit sheet fields | less")]
    Fields,
    /// Write the JSON Schema of a sheet.
    #[command(after_help = "Example:\n  halfsplit sheet schema > machine-sheet.schema.json")]
    Schema,
    /// List the example machines that come with the program: their names stand for their sheets.
    #[command(after_help = "Example:\n  halfsplit sheet examples")]
    Examples,
    /// Write the demo sheet, as a start for your own.
    #[command(after_help = "Example:\n  halfsplit sheet demo > my-heater.toml")]
    Demo,
}

/// The text of a sheet: a file, or an example by its name.
pub fn text_of(path: &Path) -> Result<String, Failure> {
    match path.to_str().and_then(example) {
        Some(e) if !path.exists() => Ok(e.text.to_owned()),
        _ => store::read_text(path),
    }
}

fn machine(path: &Path) -> Result<Machine, Failure> {
    let text = text_of(path)?;
    Machine::build(&text).map_err(|e| Failure::Refused(format!("{} cannot be computed\n{e}", path.display())))
}

pub fn run(args: &Args) -> Result<(), Failure> {
    match &args.what {
        What::Start(a) => super::start::run(a),
        What::Check { sheet } => check(sheet),
        What::Parts { sheet } => {
            let m = machine(sheet)?;
            table(
                m.parts.iter().map(|p| {
                    vec![p.id.clone(), p.name.clone(), p.class.name.to_owned(), m.places[p.place.0].name.clone()]
                }),
            )
        }
        What::Terminals { sheet } => {
            let m = machine(sheet)?;
            table(m.parts.iter().flat_map(|p| {
                p.terminals.iter().map(|t| {
                    vec![
                        format!("{}.{}", p.id, t.name),
                        t.net.map_or_else(|| "not wired".to_owned(), |n| format!("wire {}", m.nets[n.0])),
                        if t.live_allowed { "live or dead" } else { "dead only" }.to_owned(),
                        m.places[t.place.0].name.clone(),
                    ]
                })
            }))
        }
        What::Tests { sheet } => {
            let m = machine(sheet)?;
            table(m.tests.iter().map(|t| {
                let power = match t.power {
                    PowerState::Any => "any",
                    PowerState::Live => "live",
                    PowerState::Dead => "dead",
                };
                vec![t.id.clone(), power.to_owned(), format!("{} min", t.minutes), t.title.clone()]
            }))
        }
        What::Fields => print(&sheet::reference()),
        What::Schema => print(&format!("{:#}\n", sheet::json_schema())),
        What::Examples => table(examples::EXAMPLES.iter().map(|e| {
            let about = Machine::build(e.text).map(|m| m.sheet.machine.name).unwrap_or_default();
            vec![e.name.to_owned(), about]
        })),
        What::Demo => print(DEMO),
    }
}

fn check(path: &Path) -> Result<(), Failure> {
    let m = machine(path)?;
    let mut out = String::new();
    for f in &m.findings {
        let kind = match f.severity {
            Severity::Warning => "warning",
            Severity::Note => "note",
        };
        out.push_str(&format!("{kind}: {}\n", f.at));
    }
    out.push_str(&format!(
        "{}: {} parts, {} wires, {} ways to go wrong, {} tests. It can be computed.\n",
        m.sheet.machine.name,
        m.parts.len(),
        m.nets.len(),
        m.modes.len(),
        m.tests.len()
    ));
    print(&out)
}

fn table(rows: impl Iterator<Item = Vec<String>>) -> Result<(), Failure> {
    let rows: Vec<Vec<String>> = rows.collect();
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> =
        (0..columns).map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0)).collect();
    let mut out = String::new();
    for row in &rows {
        let cells: Vec<String> = row.iter().zip(&widths).map(|(cell, w)| format!("{cell:w$}")).collect();
        out.push_str(cells.join("  ").trim_end());
        out.push('\n');
    }
    print(&out)
}
