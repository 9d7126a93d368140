//! A job with its journal: events are checked, put on disk, and only then taken in.

use std::path::PathBuf;

use halfsplit_workshop::journal::{Event, EventId, Kind};
use halfsplit_workshop::{Job, View};

use crate::clock;
use crate::failure::Failure;
use crate::store::{self, Store};

/// A job that is being worked on.
pub struct Session {
    job: Job,
    store: Store,
    who: String,
    device: String,
}

impl Session {
    /// A new job, its journal with nothing but a header.
    pub fn begin(journal: Option<PathBuf>, who: String) -> Result<Session, Failure> {
        let name = clock::job_name();
        let path = match journal {
            Some(path) => path,
            None => store::jobs_dir()?.join(format!("{name}.jsonl")),
        };
        let store = Store::create(&path, &name)?;
        Ok(Session { job: Job::new(name), store, who, device: store::device() })
    }

    /// A job from its journal, and what is wrong with the journal.
    pub fn go_on(path: &std::path::Path, who: String) -> Result<(Session, Vec<String>), Failure> {
        let (store, journal, damage) = Store::open(path)?;
        let job = Job::replay(&journal).map_err(|e| {
            Failure::Refused([vec![e.to_string()], damage.clone()].concat().join("\n  "))
        })?;
        Ok((Session { job, store, who, device: store::device() }, damage))
    }

    /// The job.
    pub fn job(&mut self) -> &mut Job {
        &mut self.job
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.job.journal().header.job
    }

    /// Where its journal is.
    pub fn path(&self) -> &std::path::Path {
        self.store.path()
    }

    /// Who works on it.
    pub fn who(&self) -> &str {
        &self.who
    }

    /// Records that something happened: checked, on disk, taken in, in this order.
    pub fn record(&mut self, kind: Kind) -> Result<(), Failure> {
        self.job.check(&kind)?;
        let seq = self.job.journal().next_seq();
        let id = EventId::new(format!("{}-{seq}-{:04x}", self.device, clock::chance() & 0xffff));
        let event = Event::new(seq, id, clock::now(), self.who.clone(), self.device.clone(), kind);
        self.store.append(&event)?;
        Ok(self.job.take_in(event)?)
    }

    /// The job as it stands; advice that has not been shown before is recorded first.
    pub fn view(&mut self) -> Result<View, Failure> {
        let mut view = self.job.view();
        if let Some(advised) = self.job.advised(&view) {
            self.record(advised)?;
            view.events = self.job.journal().events.len();
        }
        Ok(view)
    }
}
