//! The web app as it was built in.

/// A file of the app.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Where it is served, relative to the app's own address.
    pub path: &'static str,
    /// For the `Content-Type` header.
    pub content_type: &'static str,
    /// The path changes whenever the content does.
    pub immutable: bool,
    /// What is in it.
    pub plain: &'static [u8],
    /// The same, compressed.
    pub brotli: &'static [u8],
}

/// The files; none where the program was built without the feature `app`.
pub const ASSETS: &[Asset] = include!(concat!(env!("OUT_DIR"), "/app.rs"));
