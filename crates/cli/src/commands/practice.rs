//! `halfsplit practice`: a hidden fault, a machine that answers tests from the simulation, and a debrief in minutes.

use std::io::BufRead;
use std::path::PathBuf;
use std::rc::Rc;

use halfsplit_practice::{
    Conditions, Debrief, Errand, Hide, Judgement, Machine, Opening, Plant, Practice, Run, Step, Tool,
};
use halfsplit_workshop::understood;
use halfsplit_workshop::units::Preferences;
use serde_json::{Value, json};

use crate::clock;
use crate::commands::sheet::text_of;
use crate::failure::Failure;
use crate::screen::{Screen, print};

const EXAMPLES: &str = "Examples:
  halfsplit practice
  halfsplit practice --seed 7
  halfsplit practice my-heater.toml --hide CRUN:open --hide FILTER:clogged
  echo '{\"test\": \"look FILTER blockage\"}' | halfsplit practice --seed 7 --json

The same sheet and seed hide the same fault and give the same readings.";

const HELP: &str = "\
  TEST           makes a test by its id: look FILTER blockage
  find WORDS     tests with all of these words, with their minutes: find capacitor
  mend REPAIR    makes a repair and a proving run: mend CRUN/replace
  repairs PART   the repairs that a part knows: repairs CRUN
  minutes        what was done so far
  end            uncovers what was hidden, and compares minutes
";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// The machine sheet, or "demo".
    #[arg(default_value = "demo")]
    sheet: PathBuf,
    /// What decides the fault, the machine's own values and the meter's noise; chance if left out.
    #[arg(long)]
    seed: Option<u64>,
    /// Hide this fault instead of one drawn by how often faults happen; may be given again.
    #[arg(long, value_name = "FAULT")]
    hide: Vec<String>,
    /// One JSON object a line: {"test": ID}, {"mend": REPAIR}, {"find": WORDS}, {"end": true}.
    #[arg(long)]
    json: bool,
}

/// What somebody wants.
enum Wish {
    Test(String),
    Find(String),
    Mend(String),
    Repairs(String),
    Minutes,
    End,
    Help,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let machine = Machine::build(&text_of(&args.sheet)?)
        .map_err(|e| Failure::Refused(format!("{} cannot be computed\n{e}", args.sheet.display())))?;
    let plant = Rc::new(Plant::new(machine).map_err(|e| Failure::Refused(e.message))?);
    let seed = args.seed.unwrap_or_else(|| clock::chance() % 100_000);
    let hide = if args.hide.is_empty() { Hide::ByPrior } else { Hide::Names(args.hide.clone()) };
    let opening = Opening {
        errand: Errand::Call,
        conditions: Conditions::default(),
        tools: Tool::ALL.to_vec(),
        judgement: Judgement::default(),
    };
    let mut visit = Practice::begin(&plant, opening, &hide, seed).map_err(refused)?;

    let first: Vec<Value> = visit.steps().iter().map(|s| step(&plant, s)).collect();
    let machine = &plant.machine.sheet.machine.name;
    say(args, &json!({ "machine": machine, "seed": seed, "steps": first }), || {
        let mut out = format!("{machine}. Something may be wrong with it. Practice {seed}.\n");
        first.iter().for_each(|s| out.push_str(&told(s)));
        out + "Type a test's id, find WORDS, mend REPAIR, end; help says more.\n"
    })?;
    for line in std::io::stdin().lock().lines() {
        let line = line.map_err(|e| Failure::File(format!("cannot read the input: {e}\n  type text in UTF-8")))?;
        if line.trim().is_empty() {
            continue;
        }
        let wish = match if args.json { from_json(&line) } else { Ok(from_words(&line)) } {
            Ok(Wish::End) => break,
            Ok(wish) => wish,
            Err(e) => {
                say(args, &json!({ "error": e }), String::new)?;
                continue;
            }
        };
        match answer(&plant, &mut visit, wish) {
            Ok((value, text)) => say(args, &value, || text)?,
            Err(Failure::Refused(e)) => say(args, &json!({ "error": e }), || format!("{e}\n"))?,
            Err(other) => return Err(other),
        }
    }
    let debrief = visit.end().map_err(refused)?;
    let (value, text) = compared(&plant, &debrief);
    say(args, &value, || text)
}

fn refused(e: impl std::fmt::Display) -> Failure {
    Failure::Refused(e.to_string())
}

fn say(args: &Args, value: &Value, text: impl FnOnce() -> String) -> Result<(), Failure> {
    if args.json { print(&format!("{value}\n")) } else { Screen::here().say(&text()) }
}

fn from_words(line: &str) -> Wish {
    let line = line.trim();
    let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
    match word {
        "find" => Wish::Find(rest.trim().to_owned()),
        "mend" => Wish::Mend(rest.trim().to_owned()),
        "repairs" => Wish::Repairs(rest.trim().to_owned()),
        "minutes" => Wish::Minutes,
        "end" => Wish::End,
        "help" => Wish::Help,
        _ => Wish::Test(line.to_owned()),
    }
}

fn from_json(line: &str) -> Result<Wish, String> {
    const SHAPE: &str =
        "send {\"test\": ID}, {\"mend\": REPAIR}, {\"find\": WORDS}, {\"repairs\": PART} or {\"end\": true}";
    let value: Value = serde_json::from_str(line).map_err(|e| format!("this line is no JSON: {e}\n  {SHAPE}"))?;
    let text = |key: &str| value.get(key).and_then(Value::as_str).map(str::to_owned);
    text("test")
        .map(Wish::Test)
        .or_else(|| text("mend").map(Wish::Mend))
        .or_else(|| text("find").map(Wish::Find))
        .or_else(|| text("repairs").map(Wish::Repairs))
        .or_else(|| (value.get("end") == Some(&Value::Bool(true))).then_some(Wish::End))
        .ok_or_else(|| format!("nothing known is asked for\n  {SHAPE}"))
}

fn answer(plant: &Plant, visit: &mut Practice, wish: Wish) -> Result<(Value, String), Failure> {
    let m = &plant.machine;
    Ok(match wish {
        Wish::Test(id) => {
            let test = visit.case().test(&id).map_err(refused)?;
            visit.ask(test).map_err(refused)?;
            last(plant, visit)
        }
        Wish::Mend(group) => {
            visit.mend(&group).map_err(|e| Failure::Refused(format!("{e}\n  repairs PART lists what can be done")))?;
            last(plant, visit)
        }
        Wish::Find(words) => {
            let words: Vec<String> = words.to_lowercase().split_whitespace().map(str::to_owned).collect();
            let minutes = visit.case().minutes_after(&[]);
            let found: Vec<Value> = m
                .tests
                .iter()
                .zip(minutes)
                .filter(|(t, _)| {
                    let text = format!("{} {}", t.id, t.title).to_lowercase();
                    words.iter().all(|w| text.contains(w.as_str()))
                })
                .map(|(t, minutes)| json!({ "id": t.id, "title": t.title, "minutes": minutes }))
                .collect();
            let text = found.iter().fold(String::new(), |out, f| {
                let minutes = f["minutes"].as_f64().unwrap_or_default();
                out + &format!("  {:5.1} min  {}\n", minutes, f["id"].as_str().unwrap_or_default())
            });
            let text = if text.is_empty() { "no test has all of these words; try fewer\n".to_owned() } else { text };
            (json!({ "found": found }), text)
        }
        Wish::Repairs(part) => {
            let mut groups: Vec<&str> = m.modes.iter().map(|x| x.repair_group.as_str()).collect();
            groups.sort_unstable();
            groups.dedup();
            groups.retain(|g| part.is_empty() || g.rsplit_once('/').is_some_and(|(p, _)| p == part));
            (json!({ "repairs": groups }), groups.iter().map(|g| format!("  {g}\n")).collect())
        }
        Wish::Minutes => {
            let steps: Vec<Value> = visit.steps().iter().map(|s| step(plant, s)).collect();
            let total: f64 = visit.steps().iter().map(|s| s.1).sum();
            let text = steps.iter().map(told).collect::<String>() + &format!("  {total:.0} min so far\n");
            (json!({ "steps": steps, "minutes": total }), text)
        }
        Wish::Help | Wish::End => (json!({ "help": HELP }), HELP.to_owned()),
    })
}

/// The step just made.
fn last(plant: &Plant, visit: &Practice) -> (Value, String) {
    let value = visit.steps().last().map(|s| step(plant, s)).unwrap_or_default();
    let text = told(&value);
    (json!({ "step": value }), text)
}

fn step(plant: &Plant, (step, minutes): &(Step, f64)) -> Value {
    let mut value = match step {
        Step::Read(test, observed) => {
            let t = &plant.machine.tests[*test];
            json!({ "test": t.id, "read": understood(t, observed, &Preferences::default()) })
        }
        // While the fault is hidden nobody learns more than the proving run shows.
        Step::Mended { group, proved, .. } => json!({ "mended": group, "proved": proved }),
        Step::Proved(proved) => json!({ "proved": proved }),
        Step::Ended(ending, _) => json!({ "ended": format!("{ending:?}") }),
        Step::GaveUp => json!({ "ended": "GaveUp" }),
    };
    value["minutes"] = json!(minutes);
    value
}

fn told(step: &Value) -> String {
    let text = |key: &str| step[key].as_str().unwrap_or_default().to_owned();
    let minutes = step["minutes"].as_f64().unwrap_or_default();
    let passed = if step["proved"] == true { "the proving run passed" } else { "the proving run did not pass" };
    let what = match (step.get("test"), step.get("mended")) {
        (Some(_), _) => format!("{} = {}", text("test"), text("read")),
        (_, Some(_)) => format!("{}: {passed}", text("mended")),
        _ if step.get("proved").is_some() => format!("proved once more: {passed}"),
        _ => return String::new(),
    };
    format!("  {minutes:5.1} min  {what}\n")
}

/// What was hidden, and both visits in minutes.
fn compared(plant: &Plant, debrief: &Debrief) -> (Value, String) {
    let hidden: Vec<&str> = debrief.hidden.iter().map(|m| plant.machine.modes[m.0].name.as_str()).collect();
    let ids: Vec<&str> = debrief.hidden.iter().map(|m| plant.machine.modes[m.0].name_id.as_str()).collect();
    let visit = |run: &Run| {
        json!({
            "minutes": run.minutes, "cured": run.cured, "unneeded_repairs": run.unneeded,
            "steps": run.steps.iter().map(|s| step(plant, s)).collect::<Vec<_>>(),
        })
    };
    let value =
        json!({ "debrief": { "hidden": ids, "yours": visit(&debrief.yours), "program": visit(&debrief.program) } });
    let list = |run: &Run| -> String { run.steps.iter().map(|s| told(&step(plant, s))).collect() };
    let left = |run: &Run| {
        if run.quiet {
            String::new()
        } else {
            "        somebody has to come again: call-back and repair are counted in\n".to_owned()
        }
    };
    let name = if hidden.is_empty() { "nothing: the machine is sound".to_owned() } else { hidden.join("; ") };
    let text = format!(
        "\nHIDDEN: {name}\nYOURS: {:.0} min, {} repairs that put nothing right\n{}{}THE PROGRAM'S OWN: {:.0} min\n{}{}",
        debrief.yours.minutes,
        debrief.yours.unneeded,
        list(&debrief.yours),
        left(&debrief.yours),
        debrief.program.minutes,
        list(&debrief.program),
        left(&debrief.program),
    );
    (value, text)
}
