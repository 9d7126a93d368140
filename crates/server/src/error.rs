//! Why it does not serve.

use std::fmt;
use std::path::Path;

/// What is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ServeError {
    /// What is wrong, naming the thing.
    pub what: String,
    /// What to do next.
    pub hint: String,
}

impl ServeError {
    /// `what` is wrong; do `hint`.
    pub(crate) fn new(what: impl Into<String>, hint: impl Into<String>) -> ServeError {
        ServeError { what: what.into(), hint: hint.into() }
    }

    /// A file or folder.
    pub(crate) fn file(verb: &str, path: &Path, e: &dyn fmt::Display, hint: &str) -> ServeError {
        ServeError::new(format!("cannot {verb} {}: {e}", path.display()), hint)
    }
}

impl fmt::Display for ServeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\n  {}", self.what, self.hint)
    }
}

impl std::error::Error for ServeError {}
