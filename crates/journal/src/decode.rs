//! Reading a whole journal, whatever state it is in.

use std::collections::BTreeMap;

use crate::damage::{Damage, DamageKind};
use crate::event::{Event, EventId, Header, Journal};
use crate::kind::Kind;
use crate::line::{self, EVENT_START, HEADER_START, Line, LineProblem, TAIL_LEN, TAIL_START};

/// What a journal's text holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// The header, if it is whole.
    pub header: Option<Header>,
    /// Every whole event, in order (see [`Event::seq`]); an event that stands twice, once.
    pub events: Vec<Event>,
    /// Everything that is wrong, in the order of the text. Empty for a sound journal.
    pub damage: Vec<Damage>,
    /// Whether the text ends in the middle of a line, so that the next line would be glued to it.
    pub ends_inside_line: bool,
}

impl Decoded {
    /// What must be written before the next line: nothing is ever removed from a journal, a line
    /// that was cut off is only closed.
    #[must_use]
    pub const fn before_append(&self) -> &'static str {
        if self.ends_inside_line { "\n" } else { "" }
    }

    /// The journal, where its header is whole.
    #[must_use]
    pub fn into_journal(self) -> Option<Journal> {
        let events = self.events;
        self.header.map(|header| Journal { header, events })
    }
}

/// Reads a journal from text. Never fails: see [`Decoded::damage`].
#[must_use]
pub fn decode(text: &str) -> Decoded {
    decode_bytes(text.as_bytes())
}

/// Reads a journal from the bytes of a file, which need not even be text.
#[must_use]
pub fn decode_bytes(bytes: &[u8]) -> Decoded {
    let mut reader = Reader::default();
    let mut byte = 0;
    for (index, piece) in bytes.split_inclusive(|b| *b == b'\n').enumerate() {
        reader.line = index + 1;
        reader.physical_line(piece, byte);
        byte += piece.len();
    }
    reader.finish(bytes)
}

#[derive(Default)]
struct Reader {
    line: usize,
    header: Option<Header>,
    events: Vec<(Place, Event)>,
    known: BTreeMap<EventId, usize>,
    damage: Vec<Damage>,
}

/// Where an event stood.
#[derive(Clone, Copy)]
struct Place {
    line: usize,
    byte: usize,
}

impl Reader {
    fn report(&mut self, byte: usize, len: usize, kind: DamageKind) {
        self.damage.push(Damage { line: self.line, byte, len, kind });
    }

    /// One line with its line end, if it has one.
    fn physical_line(&mut self, piece: &[u8], byte: usize) {
        let ended = piece.ends_with(b"\n");
        let mut content = piece.strip_suffix(b"\n").unwrap_or(piece);
        content = content.strip_suffix(b"\r").unwrap_or(content);
        if content.iter().all(u8::is_ascii_whitespace) {
            return;
        }
        let mut at = byte;
        // An editor's byte order mark is no damage.
        if byte == 0
            && let Some(rest) = content.strip_prefix("\u{feff}".as_bytes())
        {
            content = rest;
            at += 3;
        }
        match core::str::from_utf8(content) {
            Ok(text) => match line::read_line(text) {
                Ok(read) => self.take(read, at, text.len()),
                Err(problem) => self.salvage(content, at, ended, Some(problem)),
            },
            Err(_) => self.salvage(content, at, ended, None),
        }
    }

    fn take(&mut self, read: Line, byte: usize, len: usize) {
        match read {
            Line::Header(header) => self.take_header(header, byte, len),
            Line::Event(event) => self.take_event(*event, byte, len),
        }
    }

    fn take_header(&mut self, header: Header, byte: usize, len: usize) {
        if header.format > Header::FORMAT {
            self.report(byte, len, DamageKind::NewerFormat { format: header.format });
        }
        match &self.header {
            None => self.header = Some(header),
            Some(first) if first.job == header.job => {}
            Some(_) => self.report(byte, len, DamageKind::ForeignHeader { job: header.job }),
        }
    }

    fn take_event(&mut self, event: Event, byte: usize, len: usize) {
        if let Some(&index) = self.known.get(&event.id) {
            // The same line twice is what a resent copy leaves behind; it says nothing new.
            if self.events[index].1 != event {
                self.report(byte, len, DamageKind::SameId { event: event.id });
            }
            return;
        }
        if let Kind::Unknown(unknown) = &event.kind {
            let (_, why) = line::read_kind(unknown.kind.clone(), unknown.with.clone());
            let kind = DamageKind::NotUnderstood {
                event: event.id.clone(),
                kind: unknown.kind.clone(),
                why: why.unwrap_or_default(),
            };
            self.report(byte, len, kind);
        }
        self.known.insert(event.id.clone(), self.events.len());
        self.events.push((Place { line: self.line, byte }, event));
    }

    /// Finds the whole lines inside a piece that is not one: behind a line that was cut off and
    /// then written on, or where a line end was lost. The rest is reported.
    fn salvage(&mut self, content: &[u8], byte: usize, ended: bool, problem: Option<LineProblem>) {
        let mut reported_to = 0;
        let mut looked_to = 0;
        for tail in find_all(content, TAIL_START.as_bytes()) {
            let end = tail + TAIL_LEN;
            if end > content.len() || tail < looked_to {
                continue;
            }
            // The whole stretch first, then the shortest: two tries keep hostile input linear.
            let stretch = &content[looked_to..tail];
            let starts = [first_start(stretch), last_start(stretch)];
            let found = starts.into_iter().flatten().find_map(|start| {
                let start = looked_to + start;
                let text = core::str::from_utf8(&content[start..end]).ok()?;
                Some((start, line::read_line(text).ok()?))
            });
            if let Some((start, read)) = found {
                if start > reported_to {
                    self.report_piece(&content[reported_to..start], byte + reported_to, true, None);
                }
                self.take(read, byte + start, end - start);
                reported_to = end;
            }
            looked_to = end;
        }
        if reported_to < content.len() {
            let whole = reported_to == 0;
            let problem = problem.filter(|_| whole);
            self.report_piece(&content[reported_to..], byte + reported_to, ended, problem);
        }
    }

    fn report_piece(&mut self, piece: &[u8], byte: usize, ended: bool, problem: Option<LineProblem>) {
        let kind = match problem {
            Some(LineProblem::NotAnEvent(why)) => DamageKind::NotAnEvent { why },
            _ if is_cut_off(piece, ended) => DamageKind::CutOff,
            _ if core::str::from_utf8(piece).is_err() => DamageKind::NotText,
            _ => DamageKind::Changed,
        };
        self.report(byte, piece.len(), kind);
    }

    fn finish(mut self, bytes: &[u8]) -> Decoded {
        if self.header.is_none() {
            let first_line = bytes.iter().take_while(|b| **b != b'\n').count();
            let damage = Damage { line: 1, byte: 0, len: first_line, kind: DamageKind::NoHeader };
            self.damage.insert(0, damage);
        }
        self.events.sort_by(|(_, a), (_, b)| a.place().cmp(&b.place()));
        let mut last = 0;
        for (place, event) in &self.events {
            if event.seq > last + 1 {
                self.damage.push(Damage {
                    line: place.line,
                    byte: place.byte,
                    len: 0,
                    kind: DamageKind::Missing { first: last + 1, last: event.seq - 1 },
                });
            }
            last = event.seq;
        }
        self.damage.sort_by_key(|damage| damage.byte);
        Decoded {
            header: self.header,
            events: self.events.into_iter().map(|(_, event)| event).collect(),
            damage: self.damage,
            ends_inside_line: bytes.last().is_some_and(|b| *b != b'\n'),
        }
    }
}

fn find_all<'a>(hay: &'a [u8], needle: &'a [u8]) -> impl Iterator<Item = usize> + 'a {
    hay.windows(needle.len()).enumerate().filter(move |(_, w)| *w == needle).map(|(at, _)| at)
}

/// Whether a piece is the front of a line whose end was never written. It may have been closed
/// since, or written on.
fn is_cut_off(piece: &[u8], ended: bool) -> bool {
    let text = match core::str::from_utf8(piece) {
        Ok(text) => text,
        // The cut may have gone through a letter.
        Err(error) if error.error_len().is_none() => {
            core::str::from_utf8(&piece[..error.valid_up_to()]).unwrap_or_default()
        }
        Err(_) => return false,
    };
    let begins = |start: &str| text.starts_with(start) || start.starts_with(text);
    !line::has_tail(text) && (!ended || begins(EVENT_START) || begins(HEADER_START))
}

fn is_start(hay: &[u8], at: usize) -> bool {
    hay[at..].starts_with(EVENT_START.as_bytes()) || hay[at..].starts_with(HEADER_START.as_bytes())
}

fn first_start(hay: &[u8]) -> Option<usize> {
    (0..hay.len()).find(|at| is_start(hay, *at))
}

fn last_start(hay: &[u8]) -> Option<usize> {
    (0..hay.len()).rev().find(|at| is_start(hay, *at))
}
