//! `halfsplit manual`: the manual page, from the same definitions as the help.

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit manual > ~/.local/share/man/man1/halfsplit.1
  halfsplit manual job | man -l -";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// The subcommand whose page is wanted; the whole program's if left out.
    subcommand: Option<String>,
}

pub fn run(args: &Args, cli: &mut clap::Command) -> Result<(), Failure> {
    cli.build();
    let command = match &args.subcommand {
        None => cli.clone(),
        Some(name) => cli
            .get_subcommands()
            .find(|s| s.get_name() == name)
            .cloned()
            .ok_or_else(|| Failure::Refused(format!("there is no subcommand \"{name}\"\n  halfsplit --help lists them")))?,
    };
    let mut out = Vec::new();
    clap_mangen::Man::new(command)
        .render(&mut out)
        .map_err(|e| Failure::File(format!("cannot write the manual page: {e}\n  try again")))?;
    print(&String::from_utf8_lossy(&out))
}
