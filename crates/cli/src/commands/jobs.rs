//! `halfsplit jobs`: the jobs kept on this device.

use std::path::PathBuf;

use halfsplit_workshop::journal::{Kind, decode_bytes, effective};

use crate::failure::Failure;
use crate::screen::print;
use crate::store;

const EXAMPLES: &str = "Examples:
  halfsplit jobs
  halfsplit jobs --in /mnt/shop/jobs";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Directory to look in.
    #[arg(long = "in", value_name = "DIR")]
    dir: Option<PathBuf>,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    let dir = match &args.dir {
        Some(d) => d.clone(),
        None => store::jobs_dir()?,
    };
    let journals = store::list(&dir)?;
    if journals.is_empty() {
        return print(&format!("No jobs in {}. Begin one: halfsplit job\n", dir.display()));
    }
    let mut out = String::new();
    for path in journals {
        let name = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
        let line = match std::fs::read(&path) {
            Ok(bytes) => summary(&bytes),
            Err(e) => format!("cannot be read: {e}"),
        };
        out.push_str(&format!("{name}  {line}\n"));
    }
    print(&out)
}

/// One line from the journal alone: nothing is computed.
fn summary(bytes: &[u8]) -> String {
    let decoded = decode_bytes(bytes);
    let damaged = if decoded.damage.iter().any(halfsplit_workshop::journal::Damage::is_loss) { ", damaged" } else { "" };
    let (mut complaint, mut readings, mut ended) = (String::new(), 0, String::from("open"));
    for event in effective(&decoded.events) {
        match &event.kind {
            Kind::Opened(o) => complaint = o.complaint.clone(),
            Kind::Reading(_) => readings += 1,
            Kind::Ended(e) => ended = format!("{:?}", e.ending).to_lowercase(),
            _ => {}
        }
    }
    let complaint = if complaint.is_empty() { String::new() } else { format!("  \"{complaint}\"") };
    let s = if readings == 1 { "" } else { "s" };
    format!("{ended}{damaged}, {readings} reading{s}{complaint}")
}
