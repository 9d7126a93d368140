//! What can go wrong with a job, and what to do about it.

use std::fmt;

/// What kind of trouble it is: a stable word for programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The job has not been opened yet, or twice.
    Opening,
    /// The machine sheet cannot be computed.
    Sheet,
    /// No test, repair, part or event has this name.
    NoSuchName,
    /// What was typed cannot be such a reading.
    Reading,
    /// The power state that was reported forbids it.
    Power,
    /// The job is closed.
    Closed,
    /// The journal cannot be replayed.
    Journal,
}

/// Why an event was not taken in. Nothing has changed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct JobError {
    /// The kind of trouble.
    pub kind: What,
    /// What is wrong, naming the thing.
    pub what: String,
    /// What to do next.
    #[serde(rename = "do")]
    pub hint: String,
}

impl JobError {
    pub(crate) fn new(kind: What, what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { kind, what: what.into(), hint: hint.into() }
    }
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if !self.hint.is_empty() {
            write!(f, "\n  {}", self.hint)?;
        }
        Ok(())
    }
}

impl std::error::Error for JobError {}
