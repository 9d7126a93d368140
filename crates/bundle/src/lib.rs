//! Builds the web app into a list of files.
//!
//! For build scripts and for whoever wants the app as a folder: [`bundle`] compiles `crates/web` for
//! WebAssembly with a cargo of its own, makes the JavaScript glue, adds the static files and fills in the
//! version. Nothing has to be installed but the toolchain and its WebAssembly target.
//!
//! Everything but three files lies in `v/VERSION/`, where VERSION is a digest of all of it: such a file never
//! changes and may be kept by a browser for ever. `index.html`, `sw.js` and `manifest.webmanifest` name the
//! version and must be asked for anew each time. All addresses are relative, so that the app can be served
//! beneath any path.

mod build;
mod digest;
mod error;
mod statics;

use std::path::{Path, PathBuf};

pub use error::BundleError;

/// A file of the app.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asset {
    /// Where it is served, relative to the app's own address: `index.html`, `v/1a2b…/engine_bg.wasm`.
    pub path: String,
    /// What is in it.
    pub bytes: Vec<u8>,
    /// For the `Content-Type` header.
    pub content_type: &'static str,
    /// The path changes whenever the content does.
    pub immutable: bool,
}

/// The app.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundle {
    /// The files, by path.
    pub assets: Vec<Asset>,
    /// What they were made from: for `cargo::rerun-if-changed`.
    pub inputs: Vec<PathBuf>,
    /// Digest of all files, as in their paths.
    pub version: String,
}

/// Builds the app of the workspace at `root`; `work` is a folder that is kept from one time to the next, so that only
/// what has changed is compiled.
///
/// # Errors
/// If something does not compile, or a file cannot be read or written: what, and what to do.
pub fn bundle(root: &Path, work: &Path) -> Result<Bundle, BundleError> {
    let built = build::build(root, work)?;
    let mut inputs = built.inputs;
    let kept = statics::read(&root.join("crates/web/static"), &mut inputs)?;
    inputs.sort();
    inputs.dedup();
    let (assets, version) = statics::assemble(built.files, kept);
    Ok(Bundle { assets, inputs, version })
}

/// What a file weighs on its way to the phone: brotli at its hardest.
///
/// # Errors
/// None in practice: it is compressed into memory.
pub fn brotli(bytes: &[u8]) -> std::io::Result<Vec<u8>> {
    let parameters = brotli::enc::BrotliEncoderParams { quality: 11, lgwin: 22, ..Default::default() };
    let mut out = Vec::new();
    brotli::BrotliCompress(&mut &bytes[..], &mut out, &parameters)?;
    Ok(out)
}

/// The same for browsers that take no brotli, which without HTTPS is most of them: gzip at its hardest.
///
/// # Errors
/// None in practice: it is compressed into memory.
pub fn gzip(bytes: &[u8]) -> std::io::Result<Vec<u8>> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    std::io::Write::write_all(&mut encoder, bytes)?;
    encoder.finish()
}
