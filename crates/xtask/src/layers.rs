//! Who may depend on whom. Downward only.
//!
//! The table below is the rule; `ARCHITECTURE.md` explains it. Development dependencies (tests,
//! benches) are free: they never reach a user.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// What a crate is in the order of things.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Part of the engine: no clock, file, network or ambient randomness; the same bits everywhere.
    Engine,
    /// A client of the engine: may know files, clocks and sockets.
    Client,
    /// A check of the project itself.
    Check,
}

/// One crate and what it may use.
#[derive(Debug)]
pub struct Rule {
    /// Folder under `crates/`.
    pub name: &'static str,
    /// What it is.
    pub kind: Kind,
    /// Crates of the project that it may name in `[dependencies]`.
    pub may_use: &'static [&'static str],
}

const fn rule(name: &'static str, kind: Kind, may_use: &'static [&'static str]) -> Rule {
    Rule { name, kind, may_use }
}

/// The table. A crate that is missing here fails the check.
pub const RULES: &[Rule] = &[
    rule("units", Kind::Engine, &[]),
    rule("fluids", Kind::Engine, &["units"]),
    rule("circuit", Kind::Engine, &["units"]),
    rule("refrigeration", Kind::Engine, &["units", "fluids"]),
    rule("inference", Kind::Engine, &[]),
    rule("machine", Kind::Engine, &["units"]),
    rule("plant", Kind::Engine, &["units", "fluids", "circuit", "refrigeration", "machine"]),
    rule("diagnosis", Kind::Engine, &["units", "machine", "plant", "inference"]),
    rule("practice", Kind::Engine, &["units", "machine", "plant", "inference", "diagnosis"]),
    rule("bench", Kind::Engine, &["units", "fluids", "circuit"]),
    rule("journal", Kind::Engine, &["units", "machine"]),
    rule("report", Kind::Engine, &["units", "machine", "diagnosis", "journal"]),
    rule(
        "workshop",
        Kind::Engine,
        &[
            "units",
            "fluids",
            "circuit",
            "refrigeration",
            "inference",
            "machine",
            "plant",
            "diagnosis",
            "bench",
            "journal",
            "report",
        ],
    ),
    rule("drawing", Kind::Engine, &["machine", "units", "workshop"]),
    rule("bundle", Kind::Client, &[]),
    rule("web", Kind::Client, CLIENTS_MAY_USE),
    rule("server", Kind::Client, &["workshop", "bundle"]),
    rule("cli", Kind::Client, TERMINAL_MAY_USE),
    rule("browser", Kind::Check, &["web", "workshop"]),
    rule("replay", Kind::Check, &["fluids", "machine", "plant", "inference", "diagnosis", "workshop", "journal"]),
    rule("xtask", Kind::Check, &["machine", "web"]),
];

/// The façade, and what stands beside it for its own sake: single computations, drills, documents, sheets.
const CLIENTS_MAY_USE: &[&str] = &["workshop", "drawing", "practice", "bench", "report", "journal", "machine", "units"];

/// The terminal is also how the web app is served.
const TERMINAL_MAY_USE: &[&str] =
    &["workshop", "practice", "bench", "report", "journal", "machine", "units", "drawing", "server"];

/// Libraries that the engine may use in what it ships. Each does pure computing: no clock, file,
/// network or randomness, and no instructions chosen by processor. (`seuif97` uses whole powers only, in the region of
/// liquid water that is asked for; `cargo xtask replay` compares its bits. A map of `rustc-hash` has another order where
/// pointers have another size, so such maps are for looking up and never listed.)
const ENGINE_LIBRARIES: &[&str] = &["crc", "libm", "rustc-hash", "schemars", "serde", "serde_json", "seuif97", "toml"];

/// Checks the workspace against the table.
pub fn check(root: &Path) -> Result<String, String> {
    let metadata = metadata(root)?;
    let mut broken = Vec::new();
    let packages = packages(&metadata);
    for (folder, uses) in &packages {
        let Some(rule) = RULES.iter().find(|r| r.name == *folder) else {
            broken.push(format!("crates/{folder} is not in the table of layers: add it to crates/xtask/src/layers.rs and ARCHITECTURE.md"));
            continue;
        };
        for used in uses {
            broken.extend(complaint(rule, used));
        }
    }
    if broken.is_empty() {
        let edges: usize = packages.values().map(Vec::len).sum();
        Ok(format!("layers: {} crates, {edges} dependencies, all downward", packages.len()))
    } else {
        Err(format!("layers: {} broken\n  {}", broken.len(), broken.join("\n  ")))
    }
}

/// What a crate uses.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Used {
    /// A crate of the project, by its folder.
    Own(String),
    /// A library.
    Library(String),
}

fn complaint(rule: &Rule, used: &Used) -> Option<String> {
    match used {
        Used::Own(name) if !rule.may_use.contains(&name.as_str()) => {
            let may =
                if rule.may_use.is_empty() { "no crate of the project".to_owned() } else { rule.may_use.join(", ") };
            Some(format!(
                "{} depends on {name}, but may use only: {may}. Move what you need downward, or pass it in as a value",
                rule.name
            ))
        }
        Used::Library(name) if rule.kind == Kind::Engine && !ENGINE_LIBRARIES.contains(&name.as_str()) => {
            Some(format!(
                "{} ships with the library {name}, which is not on the engine's list ({}). If it reads no clock, file, \
             network or randomness and gives the same bits on every target, add it to crates/xtask/src/layers.rs",
                rule.name,
                ENGINE_LIBRARIES.join(", ")
            ))
        }
        _ => None,
    }
}

/// What cargo says of the workspace.
pub fn metadata(root: &Path) -> Result<Value, String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let out = Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--no-deps", "--offline"])
        .current_dir(root)
        .output()
        .map_err(|e| format!("cannot run cargo metadata: {e}"))?;
    if !out.status.success() {
        return Err(format!("cargo metadata failed:\n{}", String::from_utf8_lossy(&out.stderr)));
    }
    serde_json::from_slice(&out.stdout).map_err(|e| format!("cargo metadata gave no JSON: {e}"))
}

/// Each package by its folder, with what it uses outside tests.
fn packages(metadata: &Value) -> BTreeMap<String, Vec<Used>> {
    let own = |package: &Value| -> Option<String> {
        let manifest = Path::new(package["manifest_path"].as_str()?);
        Some(manifest.parent()?.file_name()?.to_str()?.to_owned())
    };
    let empty = Vec::new();
    let all = metadata["packages"].as_array().unwrap_or(&empty);
    let folders: BTreeMap<&str, String> = all.iter().filter_map(|p| Some((p["name"].as_str()?, own(p)?))).collect();
    all.iter()
        .filter_map(|p| {
            let uses = p["dependencies"]
                .as_array()?
                .iter()
                .filter(|d| d["kind"].as_str() != Some("dev"))
                .filter_map(|d| d["name"].as_str())
                .map(|n| folders.get(n).map_or_else(|| Used::Library(n.to_owned()), |f| Used::Own(f.clone())))
                .collect();
            Some((own(p)?, uses))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule_of(name: &str) -> &'static Rule {
        RULES.iter().find(|r| r.name == name).expect("in the table")
    }

    #[test]
    fn the_table_points_downward_only() {
        for (i, r) in RULES.iter().enumerate() {
            for used in r.may_use {
                let at = RULES.iter().position(|x| x.name == *used).unwrap_or_else(|| panic!("{used} has no rule"));
                assert!(at < i, "{} may use {used}, which stands above it", r.name);
            }
        }
    }

    #[test]
    fn the_engine_never_uses_a_client() {
        for r in RULES.iter().filter(|r| r.kind == Kind::Engine) {
            for used in r.may_use {
                assert_eq!(rule_of(used).kind, Kind::Engine, "{} uses {used}", r.name);
            }
        }
    }

    #[test]
    fn an_upward_dependency_is_named_with_what_to_do() {
        let said = complaint(rule_of("inference"), &Used::Own("machine".into())).expect("a complaint");
        assert!(said.contains("inference depends on machine") && said.contains("no crate of the project"), "{said}");
        assert_eq!(complaint(rule_of("plant"), &Used::Own("machine".into())), None);
    }

    #[test]
    fn a_library_that_reads_the_clock_is_refused_to_the_engine_only() {
        assert!(complaint(rule_of("plant"), &Used::Library("chrono".into())).is_some());
        assert_eq!(complaint(rule_of("plant"), &Used::Library("libm".into())), None);
        assert_eq!(complaint(rule_of("cli"), &Used::Library("chrono".into())), None);
    }
}
