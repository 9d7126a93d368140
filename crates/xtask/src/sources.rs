//! What the engine's sources may not mention: clocks, files, sockets, threads, randomness, and
//! collections whose order changes from run to run.

use std::fs;
use std::path::{Path, PathBuf};

use crate::layers::{Kind, RULES};

/// Words, each with what to do in its place.
const FORBIDDEN: &[(&str, &str)] = &[
    ("std::time", "let the time arrive in an event"),
    ("SystemTime", "let the time arrive in an event"),
    ("Instant", "count work, not time; measure in benches/"),
    ("std::fs", "let the client read files and pass the text in"),
    ("std::net", "only clients know the network"),
    ("std::env", "pass settings in as values"),
    ("HashMap", "use BTreeMap or a sorted Vec: the order must be the same every time"),
    ("HashSet", "use BTreeSet or a sorted Vec: the order must be the same every time"),
    ("thread", "the engine runs where its caller runs"),
    ("rand::", "let a seed arrive from the caller"),
];

/// Reads every source file of the engine's crates.
pub fn check(root: &Path) -> Result<String, String> {
    let mut found = Vec::new();
    let mut files = 0;
    for rule in RULES.iter().filter(|r| r.kind == Kind::Engine) {
        let folder = root.join("crates").join(rule.name).join("src");
        if !folder.exists() {
            continue;
        }
        for file in rust_files(&folder)? {
            files += 1;
            let text = fs::read_to_string(&file).map_err(|e| format!("{}: {e}", file.display()))?;
            let shown = file.strip_prefix(root).unwrap_or(&file).display().to_string();
            found.extend(
                offences(&text)
                    .map(|(line, word, instead)| format!("{shown}:{line}: `{word}` in the engine: {instead}")),
            );
        }
    }
    if found.is_empty() {
        Ok(format!("sources: {files} files of the engine, none mentions a clock, file, socket, thread or chance"))
    } else {
        Err(format!("sources: {} places\n  {}", found.len(), found.join("\n  ")))
    }
}

fn rust_files(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let mut out = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = fs::read_dir(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        for entry in entries {
            let path = entry.map_err(|e| format!("{}: {e}", folder.display()))?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                out.push(path);
            }
        }
    }
    out.sort();
    Ok(out)
}

/// Line, word and advice of each forbidden word in the code, comments and strings apart.
fn offences(text: &str) -> impl Iterator<Item = (usize, &'static str, &'static str)> {
    text.lines().enumerate().flat_map(|(i, line)| {
        let code = code_of(line);
        FORBIDDEN
            .iter()
            .filter(move |(word, _)| has_word(&code, word))
            .map(move |(word, instead)| (i + 1, *word, *instead))
    })
}

/// A line without its `//` comment and with its string literals emptied.
fn code_of(line: &str) -> String {
    let mut out = String::new();
    let mut chars = line.chars().peekable();
    let mut quoted = false;
    while let Some(c) = chars.next() {
        match c {
            '\\' if quoted => drop(chars.next()),
            '"' => quoted = !quoted,
            // The character literal of a quotation mark opens no string.
            '\'' if !quoted && chars.peek() == Some(&'"') => drop(chars.next()),
            '/' if !quoted && chars.peek() == Some(&'/') => break,
            _ if !quoted => out.push(c),
            _ => {}
        }
    }
    out
}

/// Whether a word stands in the code as a whole word, not as part of a longer name.
fn has_word(code: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(at, _)| {
        let before = code[..at].chars().next_back().is_some_and(part);
        let after = !word.ends_with(':') && code[at + word.len()..].chars().next().is_some_and(part);
        !before && !after
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str) -> Vec<&'static str> {
        offences(text).map(|(_, w, _)| w).collect()
    }

    #[test]
    fn code_is_caught() {
        assert_eq!(words("use std::collections::HashMap;"), ["HashMap"]);
        assert_eq!(words("let t = std::time::Instant::now();"), ["std::time", "Instant"]);
        assert_eq!(words("let x: f64 = rand::random();"), ["rand::"]);
    }

    #[test]
    fn comments_strings_and_longer_words_are_not() {
        assert_eq!(words("/// An Instant is not used here."), [""; 0]);
        assert_eq!(words("let s = \"no HashMap // please\"; // nor std::fs"), [""; 0]);
        assert_eq!(words("let threaded = 3; let operand::x = 1; struct Instantaneous;"), [""; 0]);
        assert_eq!(words("let c = '\"'; HashSet::new()"), ["HashSet"]);
    }

    #[test]
    fn the_line_is_told() {
        assert_eq!(offences("a\nb\nuse std::net::TcpStream;").next().map(|o| o.0), Some(3));
    }
}
