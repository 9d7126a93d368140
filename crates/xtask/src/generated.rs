//! Documents made from the code, so that they cannot say something else than the code does.

use std::fs;
use std::path::Path;

use halfsplit_machine::{library, sheet};
use halfsplit_web::Desk;

/// Each document: where it stands and what it says.
fn documents() -> Result<Vec<(&'static str, String)>, String> {
    let mut schema = serde_json::to_string_pretty(&sheet::json_schema()).map_err(|e| e.to_string())?;
    schema.push('\n');
    Ok(vec![
        ("docs/machine-sheet.md", sheet::reference()),
        ("docs/machine-sheet.schema.json", schema),
        ("docs/part-library.md", library::manual::manual()),
        // What the page offers at an opening before its engine is up.
        ("crates/web/static/v/machines.json", Desk::default().answer(r#"{"ask":"machines"}"#) + "\n"),
    ])
}

/// Writes every document.
pub fn write(root: &Path) -> Result<String, String> {
    let mut said = Vec::new();
    for (path, text) in documents()? {
        let file = root.join(path);
        let same = fs::read_to_string(&file).is_ok_and(|old| old == text);
        if !same {
            fs::write(&file, text).map_err(|e| format!("{path}: {e}"))?;
        }
        said.push(format!("{path}: {}", if same { "unchanged" } else { "written" }));
    }
    Ok(said.join("\n"))
}

/// Fails if a document is not what the code makes now.
pub fn check(root: &Path) -> Result<String, String> {
    let documents = documents()?;
    let stale: Vec<&str> = documents
        .iter()
        .filter(|(path, text)| fs::read_to_string(root.join(path)).map_or(true, |old| old != *text))
        .map(|(path, _)| *path)
        .collect();
    if stale.is_empty() {
        Ok(format!("generated: {} documents, all as the code makes them", documents.len()))
    } else {
        Err(format!("generated: stale: {}\nrun `cargo xtask generated` and commit what it writes", stale.join(", ")))
    }
}
