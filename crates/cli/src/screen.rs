//! Writing to a terminal or a pipe: width, weight, and characters that the reader can show.
//!
//! Weight (bold, dim) is all the styling there is: it reads the same on any background and to anybody's eyes,
//! and nothing depends on it.

use std::io::{IsTerminal, Write};

use crate::failure::Failure;

/// Writes plain text to the output.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|e| match e.kind() {
        std::io::ErrorKind::BrokenPipe => Failure::NobodyReads,
        _ => Failure::File(format!("cannot write to the output: {e}\n  free some space or choose another place")),
    })
}

/// How to write for whoever reads.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    /// Columns.
    pub width: usize,
    /// Bold and dim may be used.
    pub weight: bool,
    /// Characters beyond ASCII can be shown.
    pub wide_characters: bool,
    /// Somebody sits in front of it.
    pub interactive: bool,
}

impl Screen {
    /// For the output of this process. `NO_COLOR`, `TERM=dumb` and anything but a terminal mean plain text.
    pub fn here() -> Screen {
        let terminal = std::io::stdout().is_terminal();
        let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
        let dumb = std::env::var("TERM").is_ok_and(|t| t == "dumb");
        let width = if terminal { terminal_size::terminal_size().map_or(80, |(w, _)| usize::from(w.0)) } else { 80 };
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|n| std::env::var(n).ok().filter(|v| !v.is_empty()));
        // A pipe takes UTF-8; a terminal only where its locale says so.
        let utf8 = locale.is_some_and(|l| l.to_lowercase().replace('-', "").contains("utf8"));
        Screen {
            width: width.clamp(50, 100),
            weight: terminal && !dumb && !set("NO_COLOR"),
            wide_characters: !terminal || utf8,
            interactive: terminal && std::io::stdin().is_terminal(),
        }
    }

    /// Strong.
    pub fn strong(&self, text: &str) -> String {
        if self.weight { format!("\x1b[1m{text}\x1b[0m") } else { text.to_owned() }
    }

    /// Faint.
    pub fn faint(&self, text: &str) -> String {
        if self.weight { format!("\x1b[2m{text}\x1b[0m") } else { text.to_owned() }
    }

    /// Text with a hanging label: the label once, every line of the text beside it.
    pub fn labelled(&self, label: &str, text: &str) -> String {
        const LABEL: usize = 10;
        let mut out = String::new();
        for (i, line) in wrap(text, self.width.saturating_sub(LABEL + 2)).iter().enumerate() {
            let label = if i == 0 { label } else { "" };
            out.push_str(&format!("  {}{line}\n", self.faint(&format!("{label:LABEL$}"))));
        }
        out
    }

    /// Text wrapped at the margin behind an indent.
    pub fn paragraph(&self, indent: usize, text: &str) -> String {
        wrap(text, self.width.saturating_sub(indent))
            .iter()
            .map(|line| format!("{}{line}\n", " ".repeat(indent)))
            .collect()
    }

    /// Sends text out, in characters that the reader can show.
    pub fn say(&self, text: &str) -> Result<(), Failure> {
        if self.wide_characters { print(text) } else { print(&ascii(text)) }
    }
}

/// Lines of at most `width` characters, broken at blanks.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let width = width.max(10);
    let mut lines = Vec::new();
    for piece in text.lines() {
        let mut line = String::new();
        for word in piece.split_whitespace() {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    lines
}

/// At most `width` characters, the end marked where something is cut off.
pub fn fit(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width.saturating_sub(1)).collect();
    if width == 0 { String::new() } else { format!("{}…", kept.trim_end()) }
}

/// The nearest in ASCII.
fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            c if c.is_ascii() => out.push(c),
            'µ' => out.push('u'),
            'Ω' => out.push_str("Ohm"),
            '°' => out.push_str("deg "),
            '–' | '—' | '─' => out.push('-'),
            '═' => out.push('='),
            '│' | '┃' => out.push('|'),
            '╤' | '╧' => out.push('+'),
            '·' => out.push('.'),
            '…' => out.push('~'),
            '²' => out.push('2'),
            '³' => out.push('3'),
            _ => out.push('?'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_at_blanks_and_keep_every_word() {
        let text = "Meter on AC volts, one probe on K1 terminal COM, the other on P1 terminal 2.";
        let lines = wrap(text, 30);
        assert!(lines.iter().all(|l| l.chars().count() <= 30), "{lines:?}");
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn what_a_terminal_cannot_show_is_replaced() {
        assert_eq!(ascii("12.5 µF, 4.7 kΩ, 60 °C ═╤═"), "12.5 uF, 4.7 kOhm, 60 deg C =+=");
    }

    #[test]
    fn what_is_cut_off_is_marked() {
        assert_eq!(fit("run capacitor", 13), "run capacitor");
        assert_eq!(fit("run capacitor", 5), "run…");
    }
}
