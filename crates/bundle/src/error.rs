//! What can go wrong, and what to do about it.

use std::fmt;
use std::path::Path;

/// Why the app could not be built.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleError(String);

impl BundleError {
    pub(crate) fn new(what: impl Into<String>) -> Self {
        Self(what.into())
    }

    pub(crate) fn file(doing: &str, path: &Path, error: &std::io::Error) -> Self {
        Self(format!("cannot {doing} {}: {error}", path.display()))
    }
}

impl fmt::Display for BundleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for BundleError {}
