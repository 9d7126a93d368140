//! The files that are served as they are, and how all of it is put together.

use std::path::{Path, PathBuf};

use crate::Asset;
use crate::build::gather;
use crate::digest;
use crate::error::BundleError;

/// In `index.html`, `sw.js` and `manifest.webmanifest`: the version's digest.
const VERSION: &str = "{{version}}";
/// In `sw.js`: the list of files to keep, each quoted, with commas between.
const PRECACHE: &str = "{{precache}}";
/// The folder of what never changes, in the sources and as served.
const VERSIONED: &str = "v/";

/// Reads the folder of static files.
pub fn read(folder: &Path, inputs: &mut Vec<PathBuf>) -> Result<Vec<(String, Vec<u8>)>, BundleError> {
    let mut files = Vec::new();
    gather(folder, "", &mut files)?;
    inputs.push(folder.to_owned());
    inputs.extend(files.iter().map(|(path, _)| folder.join(path)));
    Ok(files)
}

/// Names the version and fills it in: `built` goes into the version's folder, of `kept` what lies in `v/`.
pub fn assemble(built: Vec<(String, Vec<u8>)>, kept: Vec<(String, Vec<u8>)>) -> (Vec<Asset>, String) {
    let mut all: Vec<(String, Vec<u8>)> =
        built.into_iter().map(|(path, bytes)| (format!("{VERSIONED}{path}"), bytes)).chain(kept).collect();
    all.sort();
    let digest =
        all.iter().fold(digest::EMPTY, |d, (path, bytes)| digest::fold(digest::fold(d, path.as_bytes()), bytes));
    let version = format!("{digest:016x}");
    let served = |path: &str| match path.strip_prefix(VERSIONED) {
        Some(rest) => format!("{VERSIONED}{version}/{rest}"),
        None => path.to_owned(),
    };
    // The service worker itself is the browser's to keep.
    let precache: Vec<String> =
        all.iter().map(|(path, _)| served(path)).filter(|p| p != "sw.js").map(|p| format!("\"{p}\"")).collect();
    let precache = precache.join(",\n    ");
    let assets = all
        .into_iter()
        .map(|(path, bytes)| {
            let immutable = path.starts_with(VERSIONED);
            let bytes = match String::from_utf8(bytes) {
                Ok(text) if !immutable => text.replace(VERSION, &version).replace(PRECACHE, &precache).into_bytes(),
                Ok(text) => text.into_bytes(),
                Err(binary) => binary.into_bytes(),
            };
            Asset { path: served(&path), bytes, content_type: content_type(&path), immutable }
        })
        .collect();
    (assets, version)
}

fn content_type(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "wasm" => "application/wasm",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "toml" | "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> (String, Vec<u8>) {
        (path.to_owned(), text.as_bytes().to_vec())
    }

    fn asset<'a>(assets: &'a [Asset], ending: &str) -> &'a Asset {
        assets.iter().find(|a| a.path.ends_with(ending)).expect("is there")
    }

    #[test]
    fn the_version_is_filled_in_and_every_other_file_is_listed_for_keeping() {
        let kept = vec![
            file("index.html", "<script src=\"v/{{version}}/boot.js\">"),
            file("sw.js", "const files = [{{precache}}];"),
            file("v/boot.js", "import './app.js'; // {{version}}"),
        ];
        let (assets, version) = assemble(vec![file("app.js", "glue")], kept);
        let text = |ending: &str| String::from_utf8(asset(&assets, ending).bytes.clone()).expect("text");
        assert_eq!(text("index.html"), format!("<script src=\"v/{version}/boot.js\">"));
        assert_eq!(
            text("sw.js"),
            format!("const files = [\"index.html\",\n    \"v/{version}/app.js\",\n    \"v/{version}/boot.js\"];")
        );
        // What lies in the version's folder is never written into: its digest would not be its own.
        assert_eq!(text("boot.js"), "import './app.js'; // {{version}}");
        assert!(asset(&assets, "boot.js").immutable && !asset(&assets, "index.html").immutable);
        assert_eq!(asset(&assets, "app.js").content_type, "text/javascript; charset=utf-8");
    }

    #[test]
    fn another_byte_anywhere_is_another_version() {
        let of = |text: &str| assemble(vec![file("app.js", text)], vec![file("index.html", "{{version}}")]).1;
        assert_eq!(of("a"), of("a"));
        assert_ne!(of("a"), of("b"));
    }
}
