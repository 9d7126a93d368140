//! Runs one scripted case, and the fluids over their ranges, and takes a digest of every bit that comes out.
//!
//! Built natively it prints the digests. Built with them in `HALFSPLIT_REPLAY_EXPECTED` (WebAssembly, where
//! there is nothing to print to) it compares and returns the number of the first section that differs, 0 for
//! none. `cargo xtask replay` does both.

mod digest;
mod fluids;
mod script;

use std::process::ExitCode;

fn main() -> ExitCode {
    let sections = match script::sections() {
        Ok(mut s) => {
            s.extend(fluids::sections());
            s
        }
        Err(why) => {
            eprintln!("{why}");
            return ExitCode::from(digest::COULD_NOT_RUN);
        }
    };
    match option_env!("HALFSPLIT_REPLAY_EXPECTED") {
        Some(expected) => ExitCode::from(digest::first_difference(&sections, expected)),
        None => {
            print!("{}", digest::lines(&sections));
            ExitCode::SUCCESS
        }
    }
}
