//! The web app as it was built in.

use ring::digest::{SHA256, digest};

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
    /// The same, packed with brotli (RFC 7932).
    pub brotli: &'static [u8],
    /// The same, packed with gzip (RFC 1952).
    pub gzip: &'static [u8],
}

impl Asset {
    /// SHA-256 of what is in it, in hexadecimal: what `sha256sum` prints of the exported file.
    #[must_use]
    pub fn sha256(&self) -> String {
        hex(digest(&SHA256, self.plain).as_ref())
    }
}

/// Bytes as hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// The files; none where the program was built without the feature `app`.
pub const ASSETS: &[Asset] = include!(concat!(env!("OUT_DIR"), "/app.rs"));

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example of one block, "abc" (published with the standard by NIST; from memory).
    #[test]
    fn the_hash_is_sha_256() {
        let asset = Asset { path: "", content_type: "", immutable: false, plain: b"abc", brotli: b"", gzip: b"" };
        assert_eq!(asset.sha256(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
