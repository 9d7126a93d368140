//! `halfsplit sheet start`: from a nameplate to a sheet.

use std::collections::BTreeMap;
use std::io::BufRead;
use std::path::PathBuf;

use halfsplit_workshop::machine::starter::{Form, KINDS, Started, kind, questions, start};
use halfsplit_workshop::{Wanted, told_by, worth_finding_out};

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit sheet start split --out my-split.toml
  halfsplit sheet start split volts=230V hertz=50 refrigerant=R32 rated_load_a=11A capacity_w=8kW > my-split.toml
  halfsplit sheet start refrigerator refrigerant=R600a rated_load_a=0.9A --json

Without answers on the command line it asks; an empty line is \"not known\". Everything that nobody could read is assumed
by size and marked so: its spread stays wide until it has been measured.";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Kind of machine: water-heater, split, refrigerator, dehumidifier.
    kind: String,
    /// What the nameplate says, and how it is built: KEY=VALUE, units as on the plate.
    #[arg(value_name = "KEY=VALUE")]
    answers: Vec<String>,
    /// What people on the job call it.
    #[arg(long, default_value = "")]
    name: String,
    /// Write the sheet to this file.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Answer in JSON: sheet, notes, what is assumed, what is not known of the structure, what to find out first.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let mut form = Form { kind: args.kind.clone(), name: args.name.clone(), answers: BTreeMap::new() };
    for a in &args.answers {
        let (key, value) = a.split_once('=').ok_or_else(|| {
            Failure::Refused(format!(
                "\"{a}\" is no answer\n  write KEY=VALUE, like volts=240V; without answers it asks"
            ))
        })?;
        form.answers.insert(key.trim().to_owned(), value.trim().to_owned());
    }
    if args.answers.is_empty() && !args.json {
        ask(&mut form)?;
    }
    let started = start(&form).map_err(|e| Failure::Refused(e.to_string()))?;
    let wanted = worth_finding_out(&started.sheet).map_err(Failure::Refused)?;
    if let Some(path) = &args.out {
        std::fs::write(path, &started.sheet).map_err(|e| Failure::file("write", path, &e))?;
    }
    if args.json {
        return print(&format!("{}\n", as_json(&started, &wanted)?));
    }
    if args.out.is_none() {
        print(&started.sheet)?;
    }
    say(&started, &wanted, args)
}

/// Asks on standard error, so that the sheet alone goes to standard output.
fn ask(form: &mut Form) -> Result<(), Failure> {
    let known = || KINDS.iter().map(|k| k.key).collect::<Vec<_>>().join(", ");
    let kind = kind(&form.kind)
        .ok_or_else(|| Failure::Refused(format!("there is no kind \"{}\"\n  kinds: {}", form.kind, known())))?;
    let mut lines = std::io::stdin().lock().lines();
    eprintln!("{}. An empty line is \"not known\".", kind.name);
    for q in questions(kind) {
        loop {
            let ways = q.ways.map(|w| w.iter().map(|x| format!("{} = {}", x.0, x.1)).collect::<Vec<_>>().join(", "));
            eprint!("{} ({}) ", q.ask, ways.unwrap_or_else(|| format!("like {}", q.example)));
            let Some(Ok(line)) = lines.next() else { return Ok(()) };
            if line.trim().is_empty() {
                break;
            }
            form.answers.insert(q.key.to_owned(), line.trim().to_owned());
            match start(form) {
                Err(e) if e.key == q.key => {
                    eprintln!("  {e}");
                    form.answers.remove(q.key);
                }
                _ => break,
            }
        }
    }
    Ok(())
}

fn as_json(started: &Started, wanted: &[Wanted]) -> Result<String, Failure> {
    let mut value = serde_json::to_value(started).map_err(|e| Failure::Refused(e.to_string()))?;
    value["most_wanted"] = wanted
        .iter()
        .map(|w| serde_json::json!({ "part": w.part, "key": w.key, "meaning": w.meaning, "gain": w.gain }))
        .collect();
    for (i, a) in started.alternatives.iter().enumerate() {
        let tests = told_by(started, a).map_err(Failure::Refused)?.into_iter().map(|t| {
            t.map_or(serde_json::Value::Null, |t| serde_json::json!({ "test": t.test, "minutes": t.minutes }))
        });
        value["alternatives"][i]["told_by"] = tests.collect();
    }
    serde_json::to_string_pretty(&value).map_err(|e| Failure::Refused(e.to_string()))
}

fn say(started: &Started, wanted: &[Wanted], args: &Args) -> Result<(), Failure> {
    let where_to = args.out.as_ref().map_or("standard output".to_owned(), |p| p.display().to_string());
    eprintln!("The sheet is in {where_to}; {} of its ratings are assumed.", started.assumed.len());
    for n in &started.notes {
        eprintln!("- {n}");
    }
    for a in &started.alternatives {
        let stands = match a.carried {
            Some(_) => "not known: every job weighs the ways, and says how likely each is".to_owned(),
            None => format!("not known; taken: {}", a.taken),
        };
        eprintln!("- {}: {stands}. It matters {}.", a.question, a.matters);
        for (o, told) in a.others.iter().zip(told_by(started, a).map_err(Failure::Refused)?) {
            if let Some(t) = told {
                eprintln!("  To tell it from \"{}\": {} ({:.0} min).", o.answer, t.title, t.minutes);
            }
        }
    }
    if !wanted.is_empty() {
        eprintln!("What would help the diagnosis most, if you can read or measure it:");
        for w in wanted {
            eprintln!("  {} {}: {}", w.part, w.key, w.meaning);
        }
    }
    Ok(())
}
