//! Values from a logger or a service display as CSV: columns mapped once, in the machine's sheet.
//!
//! The first line names the columns. One column is the time (its heading begins with "time" or "date"); the others are
//! found by the headings that the sheet's `[[column]]` entries give, and any that the sheet does not name are left alone. The unit
//! is the entry's, or stands in brackets in the heading. Of each column the middle value of its last rows counts, with the
//! time of the last: a single row may be a spike.

use halfsplit_machine::Machine;
use halfsplit_machine::test::Answer;
use halfsplit_units::parse_entry;

/// Rows of which the middle value counts.
const LAST_ROWS: usize = 9;

/// A reading from a log.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Logged {
    /// Id of the test.
    pub test: String,
    /// The value as one would type it.
    pub as_typed: String,
    /// When, as it stands in the file.
    pub taken_at: Option<String>,
    /// Where it comes from.
    pub note: String,
}

/// What is wrong with a log.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct LogError {
    /// Line, from 1.
    pub line: usize,
    /// Column of the table, from 1; 0 for the whole line.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: String,
}

impl std::fmt::Display for LogError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.column {
            0 => write!(f, "line {}: {}\n  {}", self.line, self.what, self.hint),
            c => write!(f, "line {}, column {c}: {}\n  {}", self.line, self.what, self.hint),
        }
    }
}

impl std::error::Error for LogError {}

/// The readings of a log.
///
/// # Errors
/// With line and column: a file without rows, none of the sheet's columns in it, a row with another number of cells, a
/// cell that is no value of its column's kind.
pub fn readings(machine: &Machine, csv: &str) -> Result<Vec<Logged>, LogError> {
    let fail =
        |line: usize, column: usize, what: String, hint: &str| LogError { line, column, what, hint: hint.to_owned() };
    let lines: Vec<(usize, &str)> = csv
        .trim_start_matches('\u{feff}')
        .lines()
        .enumerate()
        .map(|(i, l)| (i + 1, l))
        .filter(|(_, l)| !l.trim().is_empty())
        .collect();
    let Some(&(first, head)) = lines.first() else {
        return Err(fail(1, 0, "the file is empty".to_owned(), "export it again, with a line of headings"));
    };
    let separator = [';', '\t', ','].into_iter().max_by_key(|s| (head.matches(*s).count(), *s == ';')).unwrap_or(',');
    let headings =
        cells(head, separator).map_err(|c| fail(first, c, "a quote is not closed".to_owned(), "close it"))?;
    let time = headings.iter().position(|h| {
        let h = h.to_lowercase();
        h.starts_with("time") || h.starts_with("date")
    });
    let mapped: Vec<(usize, usize, String)> = headings
        .iter()
        .enumerate()
        .filter_map(|(at, heading)| {
            let (name, bracket) = unit_in(heading);
            let entry = machine.sheet.columns.iter().position(|c| {
                let wanted = unit_in(&c.heading).0;
                wanted.eq_ignore_ascii_case(&name)
            })?;
            let unit = machine.sheet.columns[entry].unit.clone().or(bracket).unwrap_or_default();
            Some((at, entry, unit))
        })
        .collect();
    if mapped.is_empty() {
        let known: Vec<&str> = machine.sheet.columns.iter().map(|c| c.heading.as_str()).collect();
        let hint = if known.is_empty() {
            "add a `[[column]]` to the sheet for each: heading, test, unit".to_owned()
        } else {
            format!("the sheet maps: {}; correct the headings there", known.join(", "))
        };
        return Err(LogError {
            line: first,
            column: 0,
            what: format!("none of the columns is mapped: {}", headings.join(", ")),
            hint,
        });
    }
    let mut values: Vec<Vec<(usize, f64, String)>> = vec![Vec::new(); mapped.len()];
    let mut times: Vec<Option<String>> = vec![None; mapped.len()];
    for &(line, text) in &lines[1..] {
        let row = cells(text, separator).map_err(|c| fail(line, c, "a quote is not closed".to_owned(), "close it"))?;
        if row.len() != headings.len() {
            return Err(fail(
                line,
                0,
                format!("{} cells under {} headings", row.len(), headings.len()),
                "look for a separator inside a text, or a line that was cut off",
            ));
        }
        for (i, (at, entry, unit)) in mapped.iter().enumerate() {
            let cell = row[*at].trim();
            // Loggers write these for a channel that had nothing to say.
            if ["", "-", "--", "---", "nan", "n/a"].contains(&cell.to_lowercase().as_str()) {
                continue;
            }
            let test = &machine.sheet.columns[*entry].test;
            let Some(dimension) = machine.tests.iter().find(|t| t.id == *test).and_then(|t| match t.answer {
                Answer::Number(d) => Some(d),
                Answer::Words(_) => None,
            }) else {
                return Err(fail(
                    line,
                    at + 1,
                    format!("\"{test}\" takes no numbers"),
                    "map the column to a test that measures",
                ));
            };
            let number = if separator == ';' { cell.replace(',', ".") } else { cell.to_owned() };
            let typed = if unit.is_empty() { number } else { format!("{number} {unit}") };
            let entry = parse_entry(&typed, Some(dimension)).map_err(|e| {
                fail(
                    line,
                    at + 1,
                    format!("\"{cell}\" under \"{}\": {e}", headings[*at]),
                    "correct the cell, or the column's unit in the sheet",
                )
            })?;
            let halfsplit_units::Entry::Value(v) = entry else {
                return Err(fail(
                    line,
                    at + 1,
                    format!("\"{cell}\" is no value"),
                    "leave the cell empty where nothing was measured",
                ));
            };
            values[i].push((line, v.si, typed));
            times[i] = time.map(|t| row[t].trim().to_owned()).filter(|t| !t.is_empty());
        }
    }
    let mut out = Vec::new();
    for (i, (at, entry, _)) in mapped.iter().enumerate() {
        let list = &values[i];
        let mut last: Vec<&(usize, f64, String)> = list.iter().rev().take(LAST_ROWS).collect();
        let (Some(newest), Some(oldest)) = (last.first().map(|x| x.0), last.last().map(|x| x.0)) else { continue };
        last.sort_by(|a, b| a.1.total_cmp(&b.1));
        let middle = last[last.len() / 2];
        out.push(Logged {
            test: machine.sheet.columns[*entry].test.clone(),
            as_typed: middle.2.clone(),
            taken_at: times[i].clone(),
            note: format!("log, column \"{}\", middle of lines {oldest} to {newest}", headings[*at]),
        });
    }
    if out.is_empty() {
        return Err(fail(
            first,
            0,
            "no row holds a value in a mapped column".to_owned(),
            "export it again with its rows",
        ));
    }
    Ok(out)
}

/// A heading's name, and the unit in its brackets.
fn unit_in(heading: &str) -> (String, Option<String>) {
    let h = heading.trim();
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let (Some(a), true) = (h.find(open), h.ends_with(close)) {
            return (h[..a].trim().to_owned(), Some(h[a + 1..h.len() - 1].trim().to_owned()));
        }
    }
    (h.to_owned(), None)
}

/// The cells of a line; `Err` with the cell whose quote is not closed, from 1.
fn cells(line: &str, separator: char) -> Result<Vec<String>, usize> {
    let mut out = Vec::new();
    let mut cell = String::new();
    let mut quoted = false;
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            c if c == separator && !quoted => out.push(std::mem::take(&mut cell)),
            c => cell.push(c),
        }
    }
    out.push(cell);
    if quoted { Err(out.len()) } else { Ok(out) }
}
