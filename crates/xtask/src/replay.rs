//! Replay equality: the same case gives the same bits natively and in WebAssembly.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const TARGET: &str = "wasm32-unknown-unknown";

/// Instantiates the module with no imports at all and calls its `main`; prints what it returns.
const RUN: &str = "
const fs = require('node:fs');
WebAssembly.instantiate(fs.readFileSync(process.argv[1]), {}).then(({ instance }) => {
    console.log(instance.exports.main(0, 0));
}).catch((e) => { console.error(String(e)); process.exit(1); });
";

/// Builds and runs both, and compares.
pub fn check(root: &Path) -> Result<String, String> {
    let folder = target_folder(root)?;
    build(root, &[], None)?;
    let native = output(Command::new(folder.join("release").join("halfsplit-replay")))?;
    build(root, &["--target", TARGET], Some(&native))?;
    let module = folder.join(TARGET).join("release").join("halfsplit-replay.wasm");
    let size = fs::metadata(&module).map_err(|e| format!("{}: {e}", module.display()))?.len();
    let mut node = Command::new("node");
    node.arg("-e").arg(RUN).arg(&module);
    let said = output(node).map_err(|e| format!("{e}\n(Node.js is needed: apt-get install nodejs)"))?;
    let code: usize = said.trim().parse().map_err(|_| format!("the module returned \"{}\"", said.trim()))?;
    let sections: Vec<&str> = native.lines().collect();
    match code {
        0 => Ok(format!(
            "replay: {} sections, every bit the same natively and in WebAssembly ({} KiB)",
            sections.len(),
            size / 1024
        )),
        n if n <= sections.len() => Err(format!(
            "replay: WebAssembly gives other bits than native code, first in section {n}: {}\n\
             Look for a transcendental method of std (clippy.toml bans them), a usize that overflows 32 bits, or an \
             order that is not fixed",
            sections[n - 1].split_once(' ').map_or("", |(_, name)| name)
        )),
        n => Err(format!("replay: the script did not run through in WebAssembly (it returned {n})")),
    }
}

/// Where cargo puts what it builds.
fn target_folder(root: &Path) -> Result<PathBuf, String> {
    let metadata = crate::layers::metadata(root)?;
    metadata["target_directory"]
        .as_str()
        .map(PathBuf::from)
        .ok_or_else(|| "cargo metadata names no target folder".into())
}

fn build(root: &Path, more: &[&str], expected: Option<&str>) -> Result<(), String> {
    let mut cargo = Command::new(std::env::var("CARGO").unwrap_or_else(|_| "cargo".into()));
    cargo
        .current_dir(root)
        .args(["build", "--quiet", "--release", "--locked", "--package", "halfsplit-replay"])
        .args(more);
    match expected {
        Some(text) => cargo.env("HALFSPLIT_REPLAY_EXPECTED", text),
        None => cargo.env_remove("HALFSPLIT_REPLAY_EXPECTED"),
    };
    output(cargo).map(drop)
}

fn output(mut command: Command) -> Result<String, String> {
    let name = command.get_program().to_string_lossy().into_owned();
    let out = command.output().map_err(|e| format!("cannot run {name}: {e}"))?;
    if out.status.success() {
        String::from_utf8(out.stdout).map_err(|e| format!("{name}: {e}"))
    } else {
        Err(format!("{name} failed ({}):\n{}", out.status, String::from_utf8_lossy(&out.stderr)))
    }
}
