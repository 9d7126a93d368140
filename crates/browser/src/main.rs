//! Checks the web app in a real browser (Chromium, headless) against the real `halfsplit serve`.
//!
//! A program and not tests of the usual kind: it needs the app compiled for the browser, a browser, its driver and the
//! accessibility rules of axe-core. `./check browser` brings all of that.

mod checks;
mod command;
mod hand;
mod page;
mod stage;
mod twin;
mod visit;

use std::path::PathBuf;
use std::process::ExitCode;

/// The outcome of a step: what went wrong is told in words.
pub type Res<T> = Result<T, Box<dyn std::error::Error>>;

const USAGE: &str = "\
halfsplit-browser [CHECK …]    all checks, or those whose names begin so

Settings, by environment:
  HALFSPLIT   the program with the app in it   (target/release/halfsplit)
  AXE         axe.min.js of axe-core           (target/axe/package/axe.min.js)
  ARTEFACTS   where pictures go                (target/browser)";

/// Where things are.
pub struct Settings {
    /// The program that serves.
    pub program: PathBuf,
    /// The accessibility rules.
    pub axe: PathBuf,
    /// Where pictures and logs go.
    pub artefacts: PathBuf,
}

fn setting(name: &str, otherwise: &str) -> PathBuf {
    std::env::var_os(name).map_or_else(|| otherwise.into(), PathBuf::from)
}

fn main() -> ExitCode {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    if wanted.iter().any(|w| w.starts_with('-')) {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    }
    let settings = Settings {
        program: setting("HALFSPLIT", "target/release/halfsplit"),
        axe: setting("AXE", "target/axe/package/axe.min.js"),
        artefacts: setting("ARTEFACTS", "target/browser"),
    };
    let runtime = match tokio::runtime::Builder::new_current_thread().enable_all().build() {
        Ok(runtime) => runtime,
        Err(e) => {
            eprintln!("cannot start: {e}");
            return ExitCode::FAILURE;
        }
    };
    match runtime.block_on(checks::run(&settings, &wanted)) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(e) => {
            eprintln!("{e}");
            ExitCode::FAILURE
        }
    }
}
