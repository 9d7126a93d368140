//! From Rust to WebAssembly and its glue.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use wasm_bindgen_cli_support::Bindgen;

use crate::error::BundleError;

const TARGET: &str = "wasm32-unknown-unknown";
/// Cargo's profile for it, in the workspace's manifest.
const PROFILE: &str = "web";
/// The two programs: what is seen, and what computes beside it in a worker.
const PROGRAMS: [(&str, &str); 2] = [("halfsplit-app", "app"), ("halfsplit-engine", "engine")];

/// Files by their path within the version's folder, and what they were made from.
pub struct Built {
    pub files: Vec<(String, Vec<u8>)>,
    pub inputs: Vec<PathBuf>,
}

pub fn build(root: &Path, work: &Path) -> Result<Built, BundleError> {
    compile(root, work)?;
    let compiled = work.join(TARGET).join(PROFILE);
    let mut built = Built { files: Vec::new(), inputs: vec![root.join("Cargo.lock"), root.join("Cargo.toml")] };
    for (program, name) in PROGRAMS {
        let wasm = compiled.join(format!("{program}.wasm"));
        let out = work.join("glue").join(name);
        // What an earlier version left there must not be served.
        let _ = fs::remove_dir_all(&out);
        Bindgen::new()
            .input_path(&wasm)
            .out_name(name)
            .typescript(false)
            // A third of the page's bytes, for names in a stack trace only.
            .remove_name_section(true)
            .remove_producers_section(true)
            .omit_default_module_path(true)
            .web(true)
            .and_then(|b| b.generate(&out))
            .map_err(|e| BundleError::new(format!("cannot make the glue for {}: {e:#}", wasm.display())))?;
        gather(&out, "", &mut built.files)?;
        built.inputs.extend(sources(&compiled.join(format!("{program}.d")))?);
    }
    Ok(built)
}

/// A cargo of its own, with a target folder of its own: the one that waits for this script holds the lock on the usual.
fn compile(root: &Path, work: &Path) -> Result<(), BundleError> {
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    // What the outer cargo tells its build scripts is about another package, profile and target.
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        let of_outer = text.starts_with("CARGO_") && !["CARGO_HOME", "CARGO_TERM_COLOR"].contains(&&*text)
            || text.starts_with("RUSTFLAGS")
            || text.starts_with("RUSTDOC")
            || text.starts_with("RUSTC")
            || ["TARGET", "HOST", "PROFILE", "OPT_LEVEL", "DEBUG", "NUM_JOBS", "OUT_DIR", "CLIPPY_ARGS"]
                .contains(&&*text);
        if of_outer {
            cargo.env_remove(name);
        }
    }
    let out = cargo
        .current_dir(root)
        .args(["build", "--quiet", "--locked", "--package", "halfsplit-web", "--bins"])
        .args(["--profile", PROFILE, "--target", TARGET, "--target-dir"])
        .arg(work)
        .output()
        .map_err(|e| BundleError::new(format!("cannot run cargo: {e}")))?;
    if out.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&out.stderr);
    let hint = if said.contains("can't find crate for `core`") || said.contains("target may not be installed") {
        format!("\nThe WebAssembly target is missing: rustup target add {TARGET}")
    } else {
        String::new()
    };
    Err(BundleError::new(format!("the web app does not compile:\n{said}{hint}")))
}

/// All files in a folder, with their paths in it.
pub fn gather(folder: &Path, under: &str, files: &mut Vec<(String, Vec<u8>)>) -> Result<(), BundleError> {
    let listed = fs::read_dir(folder).map_err(|e| BundleError::file("list", folder, &e))?;
    let mut paths: Vec<PathBuf> = listed.filter_map(|e| e.ok().map(|e| e.path())).collect();
    paths.sort();
    for path in paths {
        let Some(name) = path.file_name().map(|n| n.to_string_lossy().into_owned()) else { continue };
        let name = format!("{under}{name}");
        if path.is_dir() {
            gather(&path, &format!("{name}/"), files)?;
        } else {
            let bytes = fs::read(&path).map_err(|e| BundleError::file("read", &path, &e))?;
            files.push((name, bytes));
        }
    }
    Ok(())
}

/// The sources that cargo lists for a program: `program: one two\ three …` on its first line.
fn sources(listed: &Path) -> Result<Vec<PathBuf>, BundleError> {
    let text = fs::read_to_string(listed).map_err(|e| BundleError::file("read", listed, &e))?;
    let line = text.lines().next().and_then(|l| l.split_once(": ")).map_or("", |(_, sources)| sources);
    let blank = '\u{1}';
    Ok(line
        .replace("\\ ", &blank.to_string())
        .split_whitespace()
        .map(|p| PathBuf::from(p.replace(blank, " ")))
        .collect())
}
