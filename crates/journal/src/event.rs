//! An event with its who, when and where; the header; a whole journal.

use core::fmt;

use serde::{Deserialize, Serialize};

use crate::kind::Kind;
use crate::line::{self, EncodeError};

/// The name of an event, given by the client that wrote it and unlike any other in the job.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EventId(String);

impl EventId {
    /// From the client's text.
    #[must_use]
    pub fn new(id: impl Into<String>) -> Self {
        Self(id.into())
    }

    /// As text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for EventId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One thing that happened in a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// One more than the highest in the copy of the journal that the writer had before it, from 1.
    /// So a cause always has a lower number than its effect, even across devices.
    pub seq: u64,
    /// Its name.
    pub id: EventId,
    /// When, RFC 3339, as the client's clock said.
    pub time: String,
    /// Who.
    pub actor: String,
    /// On which device.
    pub device: String,
    /// What.
    pub kind: Kind,
    /// The line as it was read, where writing the fields again would not give it back, because
    /// another version put more into it.
    pub(crate) verbatim: Option<Box<str>>,
}

impl Event {
    /// An event as a client writes it. For `seq` see [`Journal::next_seq`].
    #[must_use]
    pub fn new(
        seq: u64,
        id: EventId,
        time: impl Into<String>,
        actor: impl Into<String>,
        device: impl Into<String>,
        kind: Kind,
    ) -> Self {
        Self { seq, id, time: time.into(), actor: actor.into(), device: device.into(), kind, verbatim: None }
    }

    /// Events stand in this order, on every device.
    pub(crate) fn place(&self) -> (u64, &str, &EventId) {
        (self.seq, &self.device, &self.id)
    }
}

/// The first line of a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Header {
    /// Version of the format: [`Header::FORMAT`] for what this version writes.
    pub format: u32,
    /// The name of the job.
    pub job: String,
}

impl Header {
    /// The version of the format that this crate writes.
    pub const FORMAT: u32 = 1;

    /// A header for a new journal.
    #[must_use]
    pub fn new(job: impl Into<String>) -> Self {
        Self { format: Self::FORMAT, job: job.into() }
    }
}

/// A whole journal: a header, and events in order (see [`Event::seq`]).
#[derive(Debug, Clone, PartialEq)]
pub struct Journal {
    /// The first line.
    pub header: Header,
    /// Everything that happened.
    pub events: Vec<Event>,
}

impl Journal {
    /// An empty journal for a new job.
    #[must_use]
    pub fn new(job: impl Into<String>) -> Self {
        Self { header: Header::new(job), events: Vec::new() }
    }

    /// The number for the next event written into this copy.
    #[must_use]
    pub fn next_seq(&self) -> u64 {
        self.events.iter().map(|event| event.seq).max().unwrap_or(0).saturating_add(1)
    }

    /// The whole text, each line ended.
    ///
    /// # Errors
    ///
    /// As [`encode`](crate::encode), for the first event that cannot be written.
    pub fn encode(&self) -> Result<String, EncodeError> {
        let mut text = line::encode_header(&self.header);
        text.push('\n');
        for event in &self.events {
            text.push_str(&line::encode(event)?);
            text.push('\n');
        }
        Ok(text)
    }
}
