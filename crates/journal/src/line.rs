//! One line: its JSON, its checksum, and the way back.

use core::fmt;

use crc::{CRC_32_ISCSI, CRC_64_XZ, Crc};
use serde::Serialize;
use serde_json::{Map, Value};

use crate::event::{Event, EventId, Header};
use crate::kind::{Kind, Unknown};

/// CRC-32C: finds every burst of damage up to 32 bits (source: RFC 3720, appendix B.4, for the
/// polynomial and its test vectors).
const CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISCSI);

/// How a line ends: the checksum of everything before this, in eight hexadecimal digits.
pub(crate) const TAIL_START: &str = ",\"crc\":\"";
const TAIL_END: &str = "\"}";
pub(crate) const TAIL_LEN: usize = TAIL_START.len() + 8 + TAIL_END.len();
/// How an event's line begins, and a header's. Inside a JSON string neither can occur, since the
/// quotes there are escaped.
pub(crate) const EVENT_START: &str = "{\"seq\":";
pub(crate) const HEADER_START: &str = "{\"journal\":";
const JOURNAL_NAME: &str = "halfsplit";

/// An event that cannot be written so that it reads back as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EncodeError {
    /// The event.
    pub id: EventId,
    /// Its kind.
    pub kind: String,
}

impl fmt::Display for EncodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "event {} ({}) holds a number that is not finite, so it would not read back as it is; \
             correct the number and write it again",
            self.id, self.kind
        )
    }
}

impl core::error::Error for EncodeError {}

/// The line of an event, without the line end. Write it with `\n` behind it, in one go.
///
/// # Errors
///
/// [`EncodeError`] when a number is not finite: JSON has no way to write it.
pub fn encode(event: &Event) -> Result<String, EncodeError> {
    if let Some(line) = &event.verbatim
        && read_line(line).is_ok_and(|read| read == Line::Event(Box::new(event.clone())))
    {
        return Ok(line.to_string());
    }
    let line = fresh_line(event);
    let same = read_line(&line).is_ok_and(|read| match read {
        Line::Event(read) => without_verbatim(&read) == without_verbatim(event),
        Line::Header(_) => false,
    });
    if same { Ok(line) } else { Err(EncodeError { id: event.id.clone(), kind: event.kind.name().to_owned() }) }
}

fn without_verbatim(event: &Event) -> Event {
    Event { verbatim: None, ..event.clone() }
}

/// The line of a header, without the line end.
#[must_use]
pub fn encode_header(header: &Header) -> String {
    #[derive(Serialize)]
    struct Written<'a> {
        journal: &'a str,
        format: u32,
        job: &'a str,
    }
    seal(&Written { journal: JOURNAL_NAME, format: header.format, job: &header.job })
}

fn fresh_line(event: &Event) -> String {
    #[derive(Serialize)]
    struct Written<'a, K> {
        seq: u64,
        id: &'a EventId,
        time: &'a str,
        actor: &'a str,
        device: &'a str,
        #[serde(flatten)]
        kind: K,
    }
    #[derive(Serialize)]
    struct Foreign<'a> {
        kind: &'a str,
        with: &'a Value,
    }
    let Event { seq, id, time, actor, device, kind, verbatim: _ } = event;
    let seq = *seq;
    match kind {
        Kind::Unknown(Unknown { kind, with }) => {
            seal(&Written { seq, id, time, actor, device, kind: Foreign { kind, with } })
        }
        kind => seal(&Written { seq, id, time, actor, device, kind }),
    }
}

/// The JSON of an object with its checksum as the last member.
fn seal(object: &impl Serialize) -> String {
    // Strings, numbers and maps with string keys: nothing here can fail to become JSON.
    let mut line = serde_json::to_string(object).unwrap_or_default();
    if line.pop().is_none() {
        return line;
    }
    let sum = CHECKSUM.checksum(line.as_bytes());
    line.push_str(&format!("{TAIL_START}{sum:08x}{TAIL_END}"));
    line
}

/// What a whole line is.
#[derive(Debug, PartialEq)]
pub(crate) enum Line {
    Header(Header),
    Event(Box<Event>),
}

/// Why a line is neither.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum LineProblem {
    /// No checksum at its end: cut off, or never a line of a journal.
    NoChecksum,
    /// The checksum does not fit: bytes were changed.
    WrongChecksum,
    /// Written so, but neither an event nor a header.
    NotAnEvent(String),
}

/// Whether a text ends as a line does.
pub(crate) fn has_tail(text: &str) -> bool {
    let Some(start) = text.len().checked_sub(TAIL_LEN) else {
        return false;
    };
    let Some(tail) = text.get(start..) else {
        return false;
    };
    let digits = tail.get(TAIL_START.len()..TAIL_START.len() + 8);
    tail.starts_with(TAIL_START)
        && tail.ends_with(TAIL_END)
        && digits.is_some_and(|d| d.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')))
}

/// Reads one line, without its line end.
pub(crate) fn read_line(text: &str) -> Result<Line, LineProblem> {
    if !has_tail(text) {
        return Err(LineProblem::NoChecksum);
    }
    let (body, tail) = text.split_at(text.len() - TAIL_LEN);
    let sum = format!("{:08x}", CHECKSUM.checksum(body.as_bytes()));
    if tail.get(TAIL_START.len()..TAIL_START.len() + 8) != Some(sum.as_str()) {
        return Err(LineProblem::WrongChecksum);
    }
    let mut members: Map<String, Value> = serde_json::from_str(text)
        .map_err(|error| LineProblem::NotAnEvent(format!("it is not a JSON object: {error}")))?;
    if members.contains_key("journal") {
        return read_header(&members).map(Line::Header);
    }
    let text_of = |members: &mut Map<String, Value>, name: &str| match members.remove(name) {
        Some(Value::String(text)) => Ok(text),
        _ => Err(LineProblem::NotAnEvent(format!("\"{name}\" is missing or not a text"))),
    };
    let seq = members
        .get("seq")
        .and_then(Value::as_u64)
        .filter(|seq| *seq > 0)
        .ok_or_else(|| LineProblem::NotAnEvent("\"seq\" is missing or not a whole number from 1".to_owned()))?;
    let id = EventId::new(text_of(&mut members, "id")?);
    let time = text_of(&mut members, "time")?;
    let actor = text_of(&mut members, "actor")?;
    let device = text_of(&mut members, "device")?;
    let kind = text_of(&mut members, "kind")?;
    let with = members.remove("with").unwrap_or(Value::Null);
    let mut event = Event::new(seq, id, time, actor, device, read_kind(kind, with).0);
    if fresh_line(&event) != text {
        event.verbatim = Some(text.into());
    }
    Ok(Line::Event(Box::new(event)))
}

/// The kind of a payload; one that this version cannot read becomes [`Unknown`], with the reason.
pub(crate) fn read_kind(kind: String, with: Value) -> (Kind, Option<String>) {
    let mut tagged = Map::new();
    tagged.insert("kind".to_owned(), Value::String(kind.clone()));
    tagged.insert("with".to_owned(), with.clone());
    match serde_json::from_value(Value::Object(tagged)) {
        Ok(known) => (known, None),
        Err(error) => (Kind::Unknown(Unknown { kind, with }), Some(error.to_string())),
    }
}

fn read_header(members: &Map<String, Value>) -> Result<Header, LineProblem> {
    let problem = |what: &str| Err(LineProblem::NotAnEvent(what.to_owned()));
    if members.get("journal").and_then(Value::as_str) != Some(JOURNAL_NAME) {
        return problem("\"journal\" is not \"halfsplit\"");
    }
    let format = members.get("format").and_then(Value::as_u64);
    let Some(format) = format.and_then(|format| u32::try_from(format).ok()) else {
        return problem("\"format\" is missing or not a whole number");
    };
    let Some(job) = members.get("job").and_then(Value::as_str) else {
        return problem("\"job\" is missing or not a text");
    };
    Ok(Header { format, job: job.to_owned() })
}

/// What a machine sheet's text is known by in an opening: CRC-64/XZ, which tells copies apart and proves nothing.
#[must_use]
pub fn sheet_hash(text: &str) -> String {
    format!("crc64:{:016x}", Crc::<u64>::new(&CRC_64_XZ).checksum(text.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the check value of CRC-64/XZ, that of the digits 1 to 9, in the Catalogue of parametrised CRC algorithms (from
    /// memory).
    #[test]
    fn a_sheet_is_known_by_crc_64_xz() {
        assert_eq!(sheet_hash("123456789"), "crc64:995dc9bbdf1939fa");
    }

    #[test]
    fn the_checksum_is_crc_32c() {
        // Source: RFC 3720, appendix B.4: 32 bytes of zeroes, of ones, and counting up.
        assert_eq!(CHECKSUM.checksum(&[0; 32]), 0x8a91_36aa);
        assert_eq!(CHECKSUM.checksum(&[0xff; 32]), 0x62a8_ab43);
        let counting: Vec<u8> = (0..32).collect();
        assert_eq!(CHECKSUM.checksum(&counting), 0x46dd_794e);
    }
}
