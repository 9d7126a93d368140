//! How a command fails, and with which exit code.

use std::fmt;
use std::path::Path;

use halfsplit_workshop::JobError;

/// Why a command did not do what was asked.
#[derive(Debug)]
pub enum Failure {
    /// It could not be done. Exit code 1.
    Refused(String),
    /// A file could not be read or written. Exit code 3.
    File(String),
    /// Whoever read the output has gone: nothing to say, exit code 0.
    NobodyReads,
}

impl Failure {
    /// A file that could not be read or written, what to do with it.
    pub fn file(verb: &str, path: &Path, e: &std::io::Error) -> Failure {
        let hint = match e.kind() {
            std::io::ErrorKind::NotFound => "check the path",
            std::io::ErrorKind::PermissionDenied => "check who may read and write there",
            std::io::ErrorKind::StorageFull => "free some space, then go on: everything written before is safe",
            _ => "check the disk and the path",
        };
        Failure::File(format!("cannot {verb} {}: {e}\n  {hint}", path.display()))
    }

    /// The exit code.
    pub fn exit_code(&self) -> u8 {
        match self {
            Failure::Refused(_) => 1,
            Failure::File(_) => 3,
            Failure::NobodyReads => 0,
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Refused(s) | Failure::File(s) => f.write_str(s),
            Failure::NobodyReads => f.write_str("the output was closed"),
        }
    }
}

impl From<JobError> for Failure {
    fn from(e: JobError) -> Failure {
        Failure::Refused(e.to_string())
    }
}
