//! Drives the program as a user would: arguments, input, a place for journals.
#![allow(dead_code, missing_docs, reason = "shared by test binaries that each use a part")]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// A directory of one test, emptied first.
pub fn place(name: &str) -> PathBuf {
    let dir = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&dir);
    std::fs::create_dir_all(&dir).expect("a directory");
    dir
}

pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

pub fn command(place: &Path, args: &[&str]) -> Command {
    let mut c = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    c.args(args).env("XDG_STATE_HOME", place).env("HALFSPLIT_ME", "Ada").env_remove("NO_COLOR").current_dir(root());
    c
}

pub fn run(place: &Path, args: &[&str], input: &str) -> Output {
    let mut child = command(place, args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut stdin = child.stdin.take().expect("a pipe");
    let input = input.to_owned();
    // It may stop reading before the end.
    let writer = std::thread::spawn(move || {
        let _ = stdin.write_all(input.as_bytes());
    });
    let output = child.wait_with_output().expect("it ends");
    writer.join().expect("written");
    output
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// The journal of the only job at a place.
pub fn journal(place: &Path) -> PathBuf {
    let dir = place.join("halfsplit/jobs");
    let mut all: Vec<PathBuf> = std::fs::read_dir(dir).expect("jobs").map(|e| e.expect("entry").path()).collect();
    assert_eq!(all.len(), 1, "{all:?}");
    all.remove(0)
}

/// Nothing said at the opening but age, words, complaint, display, message.
pub const OPENING: &str = "8\nIt hums and clicks off\n6\n2\n1\n\n\n\n";
