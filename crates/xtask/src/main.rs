//! The project's own checks, for continuous integration and for whoever changes something.
//!
//! `cargo xtask layers` checks who depends on whom and what the engine's sources may not mention.
//! `cargo xtask generated` writes the documents that are made from the code; with `--check` it only
//! says which are stale. `cargo xtask replay` runs one scripted case natively and in WebAssembly and
//! compares every bit.

mod generated;
mod layers;
mod replay;
mod sources;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

const USAGE: &str = "usage:
    cargo xtask layers              who depends on whom; what engine sources may not mention
    cargo xtask generated           write the documents that are made from the code
    cargo xtask generated --check   fail if one of them is stale
    cargo xtask replay              one scripted case, natively and in WebAssembly, bit for bit";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let root = root();
    let done = match args[..] {
        ["layers"] => layers::check(&root).and_then(|said| Ok(format!("{said}\n{}", sources::check(&root)?))),
        ["generated"] => generated::write(&root),
        ["generated", "--check"] => generated::check(&root),
        ["replay"] => replay::check(&root),
        _ => Err(USAGE.to_owned()),
    };
    match done {
        Ok(said) => {
            println!("{said}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

/// The top of the repository: two above this crate.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_owned()
}
