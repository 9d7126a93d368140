//! Where the authority is kept: one file with its certificate and its key, which nobody else may read.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use time::{Duration, OffsetDateTime};

use super::authority::{Authority, RENEW_DAYS};
use crate::error::ServeError;

/// The file in the folder.
const NAME: &str = "authority.pem";

impl Authority {
    /// The authority that is kept in a folder; made there the first time.
    ///
    /// # Errors
    /// If the folder or the file cannot be used, if others may read the key, or if the authority has come to its end:
    /// what to do then is said, and nothing is replaced by itself, since phones trust what is there.
    pub fn open(folder: &Path, now: impl Into<OffsetDateTime>) -> Result<Authority, ServeError> {
        let now = now.into();
        let path = folder.join(NAME);
        if !path.exists() {
            let made = Authority::make(now)?;
            private_folder(folder)
                .and_then(|()| place(&path, &made))
                .map_err(|e| ServeError::file("keep the authority in", folder, &e, "check who may write there"))?;
        }
        // Also when it was made just now: another process may have been first.
        let text = fs::read_to_string(&path)
            .map_err(|e| ServeError::file("read the authority", &path, &e, "check who may read there"))?;
        read(&path, &text, now)
    }
}

fn read(path: &Path, text: &str, now: OffsetDateTime) -> Result<Authority, ServeError> {
    let anew = "remove the file to have a new one made; every phone must then be told to trust that one";
    if others_may_read(path) {
        return Err(ServeError::new(
            format!("the authority's key can be read by others: {}", path.display()),
            format!("if it is yours alone all the same: chmod 600 it; otherwise {anew}"),
        ));
    }
    let kept = Authority::from_pem(text, path.to_owned()).ok_or_else(|| {
        ServeError::new(format!("this is no authority's certificate with its key: {}", path.display()), anew)
    })?;
    if kept.certificate().until() - now < Duration::days(RENEW_DAYS) {
        return Err(ServeError::new(
            format!("the authority in {} holds until {} only", path.display(), kept.certificate().until().date()),
            anew,
        ));
    }
    Ok(kept)
}

/// Puts a whole file in its place, which nobody else may ever have read, unless there is one.
fn place(path: &Path, made: &Authority) -> io::Result<()> {
    // A name that no other process or thread has.
    let mark = made.certificate().fingerprint().replace(':', "");
    let unfinished = path.with_extension(format!("{mark}.unfinished"));
    let written = write_private(&unfinished, made.pem()).and_then(|()| match fs::hard_link(&unfinished, path) {
        Err(e) if e.kind() == ErrorKind::AlreadyExists => Ok(()),
        other => other,
    });
    let removed = fs::remove_file(&unfinished);
    written.and(removed)
}

fn write_private(path: &Path, text: &str) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file: File = options.open(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

fn private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Where files have no mode, the folder's own rights have to do.
#[cfg(unix)]
pub(super) fn others_may_read(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::metadata(path).is_ok_and(|m| m.permissions().mode() & 0o077 != 0)
}

#[cfg(not(unix))]
pub(super) fn others_may_read(_: &Path) -> bool {
    false
}
