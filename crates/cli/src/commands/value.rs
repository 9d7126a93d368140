//! `halfsplit value`: the trade's single computations.

use halfsplit_workshop::values::{
    Content, Explanation, Inputs, Number, WorkError, Worked, catalogue, explain, work_out,
};

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit value
  halfsplit value --about thermistor.temperature
  halfsplit value thermistor.temperature r25=\"10 kOhm\" beta=\"3950 K\" resistance=\"5 kOhm ± 1 %\"
  halfsplit value refrigerant.saturation refrigerant=R134a pressure=\"2.9 bara\" --json";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Which value; all are listed if left out.
    id: Option<String>,
    /// Inputs, each as name=value with its unit, ± welcome.
    #[arg(value_name = "NAME=VALUE")]
    inputs: Vec<String>,
    /// Show formula, source, range and a worked example instead.
    #[arg(long)]
    about: bool,
    /// Answer in JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let Some(id) = &args.id else { return list(args.json) };
    if args.about {
        let e = explain(id).map_err(refused)?;
        return if args.json { json(&e) } else { print(&about(&e)) };
    }
    let mut inputs = Inputs::default();
    for text in &args.inputs {
        let Some((name, value)) = text.split_once('=') else {
            return Err(Failure::Refused(format!(
                "\"{text}\" is no input: write name=value, for example resistance=\"5 kOhm\"\n  `halfsplit value --about {id}` lists the names"
            )));
        };
        inputs = inputs.text(name.trim(), value.trim());
    }
    match work_out(id, &inputs) {
        Ok(worked) if args.json => json(&worked),
        Ok(worked) => print(&answer(&worked)),
        Err(e) if args.json => {
            json(&e)?;
            Err(refused(e))
        }
        Err(e) => Err(refused(e)),
    }
}

fn refused(e: WorkError) -> Failure {
    Failure::Refused(e.to_string())
}

fn json(what: &impl serde::Serialize) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(what).map_err(|e| Failure::Refused(format!("cannot write JSON: {e}")))?;
    print(&format!("{text}\n"))
}

fn list(as_json: bool) -> Result<(), Failure> {
    let all: Vec<_> = catalogue().collect();
    if as_json {
        return json(&all);
    }
    let width = all.iter().map(|v| v.id.chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    let mut subject = "";
    for v in all {
        let this = v.id.split('.').next().unwrap_or_default();
        if this != subject && !subject.is_empty() {
            out.push('\n');
        }
        subject = this;
        out.push_str(&format!("{:width$}  {}\n", v.id, v.title));
    }
    out.push_str("\n`halfsplit value --about NAME` shows inputs, formula, source and range.\n");
    print(&out)
}

/// Enough digits for the ±, or five without one.
#[allow(clippy::disallowed_methods, reason = "how many digits a client shows decides no answer")]
fn number(n: &Number) -> String {
    let digits = match n.plus_minus {
        Some(pm) if pm > 0.0 => (1 - pm.log10().floor() as i32).clamp(0, 9) as usize,
        _ if n.value == 0.0 => 0,
        _ => (4 - n.value.abs().log10().floor() as i32).clamp(0, 9) as usize,
    };
    let unit = if n.unit.is_empty() { String::new() } else { format!(" {}", n.unit) };
    match n.plus_minus {
        Some(pm) => format!("{:.digits$} ± {pm:.digits$}{unit}", n.value),
        None => format!("{:.digits$}{unit}", n.value),
    }
}

fn content(c: &Content) -> String {
    match c {
        Content::Number(n) => number(n),
        Content::Numbers { numbers } => numbers.iter().map(number).collect::<Vec<_>>().join(", "),
        Content::Word { word } => word.clone(),
    }
}

fn answer(w: &Worked) -> String {
    let mut out = format!("{}\n", w.title);
    for o in &w.results {
        out.push_str(&format!("  {}: {}\n", o.meaning, content(&o.what)));
        for p in o.parts.iter().filter(|p| p.share >= 0.05) {
            out.push_str(&format!("      {:.0} % of the ± from {}\n", 100.0 * p.share, p.from));
        }
        if !o.could_also_be.is_empty() {
            out.push_str(&format!("      within the ± it could also be: {}\n", o.could_also_be.join("; ")));
        }
    }
    for t in &w.inputs {
        out.push_str(&format!("  with {} = {}{}\n", t.name, content(&t.what), if t.given { "" } else { " (assumed)" }));
    }
    for r in &w.remarks {
        out.push_str(&format!("  Mind: {r}\n"));
    }
    out.push_str(&format!("  Formula: {}\n  Source: {}\n", w.formula, w.source));
    out
}

fn about(e: &Explanation) -> String {
    let v = e.value;
    let mut out = format!("{}: {}\n\nInputs\n", v.id, v.title);
    for i in v.inputs {
        let unit = if i.unit.is_empty() { String::new() } else { format!(", {}", i.unit) };
        out.push_str(&format!("  {}{unit}: {}\n", i.name, i.meaning));
    }
    out.push_str("\nResults\n");
    for o in v.outputs {
        out.push_str(&format!("  {}: {}\n", o.name, o.meaning));
    }
    out.push_str(&format!("\nFormula: {}\nSource: {}\nRange: {}\n\nExample\n", v.formula, v.source, v.validity));
    let example: Vec<String> = v.example.iter().map(|(n, x)| format!("{n}=\"{x}\"")).collect();
    out.push_str(&format!("  halfsplit value {} {}\n\n{}", v.id, example.join(" "), answer(&e.worked)));
    out
}
