//! Journals on disk. A line is written, flushed and synced before its effect is shown.

use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use halfsplit_workshop::journal::{Event, Header, Journal, decode_bytes, encode, encode_header};

use crate::clock;
use crate::failure::Failure;

/// Where journals are kept unless somebody says otherwise: `$XDG_STATE_HOME/halfsplit/jobs`, by default
/// `~/.local/state/halfsplit/jobs`.
pub fn jobs_dir() -> Result<PathBuf, Failure> {
    Ok(state_dir()?.join("jobs"))
}

fn state_dir() -> Result<PathBuf, Failure> {
    own_dir("XDG_STATE_HOME", ".local/state").ok_or_else(|| {
        Failure::File(
            "there is no place for journals: neither XDG_STATE_HOME nor HOME is set\n  name a file with --journal FILE"
                .into(),
        )
    })
}

/// Where what must not get lost is kept, but for journals: `$XDG_DATA_HOME/halfsplit`, by default
/// `~/.local/share/halfsplit`.
pub fn data_dir() -> Result<PathBuf, Failure> {
    own_dir("XDG_DATA_HOME", ".local/share").ok_or_else(|| {
        Failure::File("there is no place for the certificate's key: neither XDG_DATA_HOME nor HOME is set\n  set one, or give --certificate and --key".into())
    })
}

/// A directory by its variable or beneath the home directory (XDG Base Directory Specification 0.8).
fn own_dir(variable: &str, in_home: &str) -> Option<PathBuf> {
    let base = std::env::var_os(variable).map(PathBuf::from).filter(|p| p.is_absolute());
    let base = base.or_else(|| std::env::var_os("HOME").map(|h| PathBuf::from(h).join(in_home)));
    Some(base?.join("halfsplit"))
}

/// The name of this device, made up once and kept.
pub fn device() -> String {
    let Ok(dir) = state_dir() else { return "terminal".into() };
    let path = dir.join("device");
    if let Ok(name) = fs::read_to_string(&path) {
        let name = name.trim();
        if !name.is_empty() {
            return name.to_owned();
        }
    }
    let name = format!("terminal-{:06x}", clock::chance() & 0xff_ffff);
    // Without a place to keep it, the name holds for this run only: events stay distinct all the same.
    let _ = fs::create_dir_all(&dir).and_then(|()| fs::write(&path, format!("{name}\n")));
    name
}

/// A journal on disk that this process writes to and nobody else.
pub struct Store {
    file: File,
    path: PathBuf,
    /// The file ends inside a line, which has to be closed first.
    torn: bool,
}

impl Store {
    /// A new journal; fails if there is one already.
    pub fn create(path: &Path, job: &str) -> Result<Store, Failure> {
        if let Some(dir) = path.parent().filter(|d| !d.as_os_str().is_empty()) {
            fs::create_dir_all(dir).map_err(|e| Failure::file("make the directory", dir, &e))?;
        }
        let file = OpenOptions::new().append(true).create_new(true).open(path).map_err(|e| match e.kind() {
            std::io::ErrorKind::AlreadyExists => Failure::Refused(format!(
                "there is a journal at {} already\n  go on with it: halfsplit job --continue {0}",
                path.display()
            )),
            _ => Failure::file("make the journal", path, &e),
        })?;
        let mut store = Store { file, path: path.to_owned(), torn: false };
        store.lock()?;
        store.write(&encode_header(&Header::new(job)))?;
        // The file's name is only safe once its directory is.
        if let Some(dir) = path.parent().filter(|d| !d.as_os_str().is_empty()).and_then(|d| File::open(d).ok()) {
            let _ = dir.sync_all();
        }
        Ok(store)
    }

    /// An existing journal, what it holds, and what is wrong with it.
    pub fn open(path: &Path) -> Result<(Store, Journal, Vec<String>), Failure> {
        let file = OpenOptions::new()
            .append(true)
            .read(true)
            .open(path)
            .map_err(|e| Failure::file("open the journal", path, &e))?;
        let mut store = Store { file, path: path.to_owned(), torn: false };
        store.lock()?;
        let bytes = fs::read(path).map_err(|e| Failure::file("read the journal", path, &e))?;
        let decoded = decode_bytes(&bytes);
        store.torn = decoded.ends_inside_line;
        let damage: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
        let journal = decoded.into_journal().ok_or_else(|| {
            Failure::Refused(format!(
                "{} is no journal that can be gone on with\n  {}",
                path.display(),
                damage.join("\n  ")
            ))
        })?;
        Ok((store, journal, damage))
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Puts an event on disk. When this returns, it is there to stay.
    pub fn append(&mut self, event: &Event) -> Result<(), Failure> {
        let line = encode(event).map_err(|e| Failure::Refused(e.to_string()))?;
        self.write(&line)
    }

    fn lock(&self) -> Result<(), Failure> {
        match self.file.try_lock() {
            Ok(()) | Err(fs::TryLockError::Error(_)) => Ok(()),
            Err(fs::TryLockError::WouldBlock) => Err(Failure::Refused(format!(
                "the journal {} is open in another halfsplit\n  close that one first",
                self.path.display()
            ))),
        }
    }

    fn write(&mut self, line: &str) -> Result<(), Failure> {
        let before = self.file.metadata().map(|m| m.len()).ok();
        let text = format!("{}{line}\n", if self.torn { "\n" } else { "" });
        let written =
            self.file.write_all(text.as_bytes()).and_then(|()| self.file.flush()).and_then(|()| self.file.sync_data());
        match written {
            Ok(()) => {
                self.torn = false;
                Ok(())
            }
            Err(e) => {
                // What was not recorded must not be found later either; if it cannot be taken away, the
                // unfinished line is closed by the next one.
                let taken_away = before.is_some_and(|len| self.file.set_len(len).is_ok());
                self.torn |= !taken_away;
                Err(Failure::file("write to the journal", &self.path, &e))
            }
        }
    }
}

/// The path of a job's journal from what somebody named: an id, the beginning of one, or a file.
pub fn find(name: &str) -> Result<PathBuf, Failure> {
    let direct = PathBuf::from(name);
    if direct.is_file() {
        return Ok(direct);
    }
    let dir = jobs_dir()?;
    let names: Vec<PathBuf> = list(&dir)?;
    let stem = |p: &PathBuf| p.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
    if let Some(exact) = names.iter().find(|p| stem(p) == name) {
        return Ok(exact.clone());
    }
    let begins: Vec<&PathBuf> = names.iter().filter(|p| stem(p).starts_with(name) || stem(p).ends_with(name)).collect();
    match begins[..] {
        [one] => Ok(one.clone()),
        [] => Err(Failure::Refused(format!(
            "there is no job \"{name}\" in {}\n  halfsplit jobs lists them",
            dir.display()
        ))),
        _ => Err(Failure::Refused(format!(
            "\"{name}\" could be any of these jobs: {}\n  type more of its name",
            begins.iter().map(|p| stem(p)).collect::<Vec<_>>().join(", ")
        ))),
    }
}

/// The journals in a directory, oldest name first. A directory that is not there holds none.
pub fn list(dir: &Path) -> Result<Vec<PathBuf>, Failure> {
    let entries = match fs::read_dir(dir) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(Failure::file("list", dir, &e)),
    };
    let mut names: Vec<PathBuf> = entries
        .filter_map(|e| e.ok().map(|e| e.path()))
        .filter(|p| p.extension().is_some_and(|x| x == "jsonl"))
        .collect();
    names.sort();
    Ok(names)
}

/// Reads a text file.
pub fn read_text(path: &Path) -> Result<String, Failure> {
    let bytes = fs::read(path).map_err(|e| Failure::file("read", path, &e))?;
    String::from_utf8(bytes).map_err(|e| {
        Failure::Refused(format!(
            "{} is not text: byte {} is not UTF-8\n  save it as UTF-8",
            path.display(),
            e.utf8_error().valid_up_to() + 1
        ))
    })
}
