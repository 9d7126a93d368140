//! A reading that was supposed, and set aside with all that it gave: taking it up costs next to nothing then.

use std::collections::BTreeMap;

use super::{Reading, Reasoner, Track, Undo};
use crate::posterior::Posterior;
use crate::problem::Problem;

/// A reading that was taken back, with what it gave.
pub struct Aside {
    reading: Reading,
    /// Its serial number, by which what was kept of it is known again.
    serial: u64,
    /// How many readings there were before it.
    after: usize,
    /// How many hypotheses were listed before it, and those that it had listed.
    listed: usize,
    tracks: Vec<Track>,
    rows: Vec<Row>,
    /// Of all rows, one after the other: there are tens of thousands of them.
    values: Vec<f64>,
    undescribed: Vec<Vec<f64>>,
    posterior: Posterior,
}

/// What a hypothesis scored beyond the readings that it had been held against before: so many values of evidence, and for
/// each of them one per sample.
struct Row {
    track: usize,
    seen: usize,
    more: usize,
}

impl Aside {
    /// The reading.
    pub fn reading(&self) -> Reading {
        self.reading
    }
}

impl Reasoner {
    /// Takes back the last reading as [`Reasoner::undo`] does, and sets aside what it gave.
    pub fn set_aside(&mut self) -> Option<Aside> {
        let undo = self.history.pop()?;
        let serial = self.taken.last()?.serial;
        let undescribed = self.undescribed.set_aside(self.taken.len() - 1);
        let reading = self.let_go()?;
        let tracks = self.tracks.split_off(undo.tracks);
        let samples = self.store.samples();
        // A track may have been advanced twice; where it stood before the first time counts.
        let mut advanced: BTreeMap<usize, usize> = BTreeMap::new();
        for &(track, seen) in undo.advanced.iter().filter(|(track, _)| *track < undo.tracks) {
            advanced.entry(track).or_insert(seen);
        }
        let mut rows = Vec::with_capacity(advanced.len());
        let mut values = Vec::with_capacity(advanced.len() * (1 + samples));
        for (track, seen) in advanced {
            let t = &mut self.tracks[track];
            rows.push(Row { track, seen, more: t.seen() - seen });
            values.extend_from_slice(&t.log_evidence[seen + 1..]);
            values.extend_from_slice(&t.per_sample[(seen + 1) * samples..]);
            t.log_evidence.truncate(seen + 1);
            t.per_sample.truncate((seen + 1) * samples);
        }
        let posterior = std::mem::replace(&mut self.posterior, undo.posterior);
        Some(Aside {
            reading,
            serial,
            after: self.taken.len(),
            listed: undo.tracks,
            tracks,
            rows,
            values,
            undescribed,
            posterior,
        })
    }

    /// Takes a reading again that was set aside. It must have been set aside from where things stand now: with another
    /// number of readings, or hypotheses, nothing is done and false is given.
    pub fn take_up(&mut self, problem: &impl Problem, aside: Aside) -> bool {
        let stands = |row: &Row| self.tracks.get(row.track).is_some_and(|t| t.seen() == row.seen);
        let stands =
            aside.after == self.taken.len() && aside.listed == self.tracks.len() && aside.rows.iter().all(stands);
        // It was accepted before, so it is accepted again.
        if !stands || self.hold(problem, aside.reading, aside.serial).is_err() {
            return false;
        }
        self.undescribed.take_up(aside.undescribed);
        let advanced = aside.rows.iter().map(|row| (row.track, row.seen)).collect();
        let samples = self.store.samples();
        let mut values = &aside.values[..];
        for row in &aside.rows {
            let (log_evidence, rest) = values.split_at(row.more);
            let (per_sample, rest) = rest.split_at(row.more * samples);
            values = rest;
            self.tracks[row.track].log_evidence.extend_from_slice(log_evidence);
            self.tracks[row.track].per_sample.extend_from_slice(per_sample);
        }
        self.tracks.extend(aside.tracks);
        let posterior = std::mem::replace(&mut self.posterior, aside.posterior);
        self.history.push(Undo { tracks: aside.listed, advanced, posterior });
        true
    }
}
