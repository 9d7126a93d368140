//! The checks, and the table of what passed.

mod access;
mod drawings;
mod extras;
mod jobs;
mod pictures;
mod quiet;
mod speed;

use std::time::Instant;

use crate::page::{Page, Screen};
use crate::stage::{self, Driver, Served};
use crate::twin::Hidden;
use crate::{Res, Settings};

/// The machine that is chosen when the page opens.
const MACHINE: &str = "water-heater";
/// Draws a short job: words, a number, a repair, proof.
const SHORT: u32 = 1;
/// Draws a long job: words, numbers, a repair, proof.
const FULL: u32 = 17;
/// Words that find a test with two probes, which wants the power off and proved dead.
const PROBED: &str = "ohms COMP";

/// What every check has at hand.
pub struct Stage<'a> {
    pub settings: &'a Settings,
    pub driver: Driver,
    pub served: Served,
}

impl Stage<'_> {
    /// A fresh browser at the opening page, everything kept for working without signal.
    async fn fresh(&self, name: &str, screen: Screen) -> Res<Page> {
        let page = Page::open(&self.driver, &stage::profile(name)?, screen, None).await?;
        page.goto(&self.served.address()).await?;
        page.kept().await?;
        Ok(page)
    }

    fn hidden(seed: u32) -> Res<Hidden> {
        Hidden::new(MACHINE, seed)
    }
}

/// Fails with words unless something holds.
fn must(holds: bool, otherwise: impl FnOnce() -> String) -> Res<()> {
    if holds { Ok(()) } else { Err(otherwise().into()) }
}

/// The browser said nothing of errors or warnings.
async fn no_complaints(page: &Page) -> Res<()> {
    let complaints = page.complaints().await?;
    must(complaints.is_empty(), || format!("the browser complains: {}", complaints.join("; ")))
}

const NAMES: [&str; 13] = [
    "keys", "touch", "offline", "reload", "crash", "practice", "drawings", "opening", "sheets", "full", "pictures",
    "access", "speed",
];

/// Runs the checks whose names begin with one of `wanted` (all where none is given) and prints what passed.
pub async fn run(settings: &Settings, wanted: &[String]) -> Res<bool> {
    std::fs::create_dir_all(&settings.artefacts)?;
    let mut stage = Stage { settings, driver: Driver::start()?, served: Served::start(&settings.program)? };
    let mut table = Vec::new();
    for name in NAMES {
        if !wanted.is_empty() && !wanted.iter().any(|w| name.starts_with(w.as_str())) {
            continue;
        }
        let began = Instant::now();
        let outcome = match name {
            "keys" => jobs::keys(&stage).await,
            "touch" => jobs::touch(&stage).await,
            "offline" => jobs::offline(&mut stage).await,
            "reload" => jobs::reload(&stage).await,
            "crash" => jobs::crash(&stage).await,
            "practice" => quiet::practice(&stage).await,
            "drawings" => drawings::drawings(&stage).await,
            "opening" => extras::opening(&stage).await,
            "sheets" => extras::sheets(&stage).await,
            "full" => extras::full(&stage).await,
            "pictures" => pictures::pictures(&stage).await,
            "access" => access::access(&stage).await,
            _ => speed::speed(&stage).await,
        };
        let (passed, said) = match outcome {
            Ok(said) => (true, said),
            Err(e) => (false, e.to_string()),
        };
        let row = format!(
            "{} {name:<9} {:>4.0} s  {said}",
            if passed { "ok    " } else { "FAILED" },
            began.elapsed().as_secs_f64()
        );
        println!("{row}");
        table.push(passed);
    }
    let failed = table.iter().filter(|p| !**p).count();
    println!("{} of {} browser checks passed", table.len() - failed, table.len());
    Ok(failed == 0 && !table.is_empty())
}
