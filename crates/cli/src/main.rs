//! halfsplit in the terminal: a thin client of `halfsplit-workshop`, one file per subcommand.
//!
//! Only clients know files, clocks and chance: [`store`] keeps journals, [`clock`] gives times and names.

mod clock;
mod commands;
mod failure;
mod job;
mod screen;
mod serving;
mod store;

use clap::{CommandFactory, Parser};

#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const EXIT_CODES: &str = "Exit codes:
  0  done
  1  it could not be done: the sheet has errors, a case went wrong, an entry was refused
  2  the command line is wrong
  3  a file could not be read or written";

/// Reasons with you about one compressor machine: what is still possible, what to test next, and why.
#[derive(Parser)]
#[command(name = "halfsplit", version, after_help = EXIT_CODES, propagate_version = true, disable_help_subcommand = true)]
struct Cli {
    #[command(subcommand)]
    command: commands::Command,
}

fn main() -> std::process::ExitCode {
    let cli = Cli::parse();
    match commands::run(cli.command, &mut Cli::command()) {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("halfsplit: {e}");
            std::process::ExitCode::from(e.exit_code())
        }
    }
}
