//! Faults in a sheet: what, where in the text, and what to do next.

use std::fmt;

/// A place in the text of a sheet. Lines and columns count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// Something in a sheet that cannot be computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetError {
    /// Where in the text, if it is at a place.
    pub span: Option<Span>,
    /// The line itself, for showing.
    pub excerpt: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What to do next.
    pub hint: String,
}

/// How much a [`Finding`] matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// Two values contradict each other; both are doubted and the spread is widened.
    Warning,
    /// Worth knowing.
    Note,
}

/// Something odd in a sheet that can nevertheless be computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// Where, as for an error.
    pub at: SheetError,
}

/// All that is wrong with a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetErrors(pub Vec<SheetError>);

impl SheetError {
    /// An error at the place where a key path stands in the text: `["part", "3", "class"]` is the
    /// `class` of the fourth `[[part]]`. Falls back to the nearest parent that is in the text.
    pub fn at_key(text: &str, path: &[&str], what: impl Into<String>, hint: impl Into<String>) -> Self {
        let span = locate(text, path);
        Self { excerpt: span.and_then(|s| excerpt(text, s)), span, what: what.into(), hint: hint.into() }
    }
}

impl SheetErrors {
    /// A list of one.
    pub fn one(e: SheetError) -> Self {
        Self(vec![e])
    }

    pub(super) fn from_toml(text: &str, e: &toml::de::Error) -> Self {
        let span = e.span().map(|r| span_at(text, r.start));
        let said = e.message().trim();
        let what = if said.contains("untagged enum Rating") {
            "a rating is a number, a word in quotes, a list of numbers, or a list of pairs".to_owned()
        } else {
            // The parser speaks of the program's types.
            ["f64", "u32", "u8"]
                .iter()
                .fold(said.to_owned(), |s, t| s.replace(&format!("expected {t}"), "expected a number"))
        };
        let hint = if what.starts_with("duplicate key") {
            "the same key stands twice in one table: keep one of them"
        } else if what.starts_with("a rating is") {
            "write it as the class asks for it; `halfsplit library` shows the ratings of each class"
        } else if what.starts_with("unknown field") {
            "check the spelling; `halfsplit sheet fields` lists every field"
        } else if what.starts_with("missing field") {
            "add the field; `halfsplit sheet fields` says what goes there"
        } else if what.contains("invalid type") {
            "give a value of the kind that is asked for; numbers go without quotes, words in quotes"
        } else {
            "the text is not valid TOML here: look for a missing quote, bracket or equals sign on this line or the one before"
        };
        Self::one(SheetError { excerpt: span.and_then(|s| excerpt(text, s)), span, what, hint: hint.to_owned() })
    }
}

fn span_at(text: &str, byte: usize) -> Span {
    let before = &text.as_bytes()[..byte.min(text.len())];
    let line = before.iter().filter(|&&b| b == b'\n').count() + 1;
    let start = before.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    Span { line, column }
}

fn excerpt(text: &str, span: Span) -> Option<String> {
    text.lines().nth(span.line - 1).map(|l| l.trim_end().to_owned())
}

/// Finds where a key path stands. Works on the parsed document so that strings, comments and
/// inline tables are told apart rightly.
fn locate(text: &str, path: &[&str]) -> Option<Span> {
    use toml::de::{DeTable, DeValue};
    let root = DeTable::parse(text).ok()?;
    let mut best = None;
    let mut table = Some(root.get_ref());
    let mut array = None;
    for step in path {
        let next = match (table, array) {
            (Some(t), _) => {
                let found = t.iter().find(|(k, _)| k.get_ref() == step);
                found.map(|(k, v)| (k.span().start, v))
            }
            (None, Some(a)) => {
                let a: &toml::de::DeArray<'_> = a;
                step.parse::<usize>().ok().and_then(|i| a.get(i)).map(|v| (v.span().start, v))
            }
            (None, None) => None,
        };
        let Some((at, value)) = next else { break };
        best = Some(at);
        (table, array) = match value.get_ref() {
            DeValue::Table(t) => (Some(t), None),
            DeValue::Array(a) => (None, Some(a)),
            _ => (None, None),
        };
    }
    best.map(|b| span_at(text, b))
}

impl fmt::Display for SheetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(s) = self.span {
            write!(f, "line {}, column {}: ", s.line, s.column)?;
        }
        write!(f, "{}", self.what)?;
        if let Some(e) = &self.excerpt {
            write!(f, "\n    {}", e.trim_start())?;
        }
        write!(f, "\n    {}", self.hint)
    }
}

impl fmt::Display for SheetErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, e) in self.0.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{e}")?;
        }
        Ok(())
    }
}

impl std::error::Error for SheetErrors {}
