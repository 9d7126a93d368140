//! `halfsplit library`: the part library's manual.

use halfsplit_workshop::{class_page, classes};

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit library
  halfsplit library \"run capacitor\"";

#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Part class; all classes are listed if left out.
    class: Option<String>,
}

pub fn run(args: &Args) -> Result<(), Failure> {
    match &args.class {
        Some(name) => print(&class_page(name)?),
        None => {
            let all = classes();
            let width = all.iter().map(|(n, _)| n.chars().count()).max().unwrap_or(0);
            let mut out = String::new();
            for (name, purpose) in all {
                out.push_str(&format!("{name:width$}  {purpose}\n"));
            }
            print(&out)
        }
    }
}
