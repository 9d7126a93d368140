//! `halfsplit picture`: the pressure–enthalpy picture of a circuit, as SVG.

use std::path::PathBuf;

use halfsplit_workshop::values::{CycleText, pressure_enthalpy_picture};

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Each cycle is three places as pressure and temperature: suction, discharge, liquid line, absolute pressures.

Examples:
  halfsplit picture R134a --measured \"2.9 bara, 12 C; 14.8 bara, 80 C; 14.8 bara, 47 C\" --to cycle.svg
  halfsplit picture R134a --expected \"3.7 bara, 13 C; 15 bara, 76 C; 15 bara, 50 C\" --measured \"2.6 bara, 16 C; 13 bara, 92 C; 13 bara, 48 C\"";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// The refrigerant, as the nameplate writes it.
    refrigerant: String,
    /// The cycle as measured.
    #[arg(long, value_name = "CYCLE")]
    measured: Option<String>,
    /// The cycle as expected.
    #[arg(long, value_name = "CYCLE")]
    expected: Option<String>,
    /// File to write; the picture goes to standard output if left out.
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let cycle =
        |label, text: &Option<String>, dashed| text.as_ref().map(|t| CycleText { label, text: t.clone(), dashed });
    let cycles: Vec<CycleText> = [cycle("expected", &args.expected, true), cycle("measured", &args.measured, false)]
        .into_iter()
        .flatten()
        .collect();
    let svg = pressure_enthalpy_picture(&args.refrigerant, &cycles).map_err(Failure::Refused)?;
    match &args.to {
        Some(path) => std::fs::write(path, svg).map_err(|e| Failure::file("write", path, &e)),
        None => print(&svg),
    }
}
