//! `halfsplit completions`: completions for a shell.

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit completions bash > ~/.local/share/bash-completion/completions/halfsplit
  halfsplit completions zsh > ~/.zfunc/_halfsplit";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// The shell.
    shell: clap_complete::Shell,
}

pub fn run(args: &Args, cli: &mut clap::Command) -> Result<(), Failure> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, cli, "halfsplit", &mut out);
    print(&String::from_utf8_lossy(&out))
}
