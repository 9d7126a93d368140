//! Writes the web app as a folder: `halfsplit-bundle FOLDER [WORK]`, with what each file weighs.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::{env, fs};

fn main() -> ExitCode {
    let mut arguments = env::args_os().skip(1).map(PathBuf::from);
    let Some(folder) = arguments.next() else {
        eprintln!("say where the app is to be written: halfsplit-bundle FOLDER [FOLDER FOR WHAT IS COMPILED]");
        return ExitCode::from(2);
    };
    let work = arguments.next().unwrap_or_else(|| root().join("target/web"));
    match write(&folder, &work) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

/// The workspace that this was built in.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn write(folder: &Path, work: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let root = root().canonicalize()?;
    fs::create_dir_all(work)?;
    let bundle = halfsplit_bundle::bundle(&root, &work.canonicalize()?)?;
    let (mut plain, mut packed) = (0, 0);
    for asset in &bundle.assets {
        let path = folder.join(&asset.path);
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        fs::write(&path, &asset.bytes)?;
        let small = halfsplit_bundle::brotli(&asset.bytes)?.len();
        println!("{:>9} {:>8}  {}", asset.bytes.len(), small, asset.path);
        plain += asset.bytes.len();
        packed += small;
    }
    println!("{plain:>9} {packed:>8}  bytes, plain and brotli");
    Ok(())
}
