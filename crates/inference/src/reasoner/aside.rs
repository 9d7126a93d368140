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
    posterior: Posterior,
}

/// What a hypothesis scored beyond the readings that it had been held against before.
struct Row {
    track: usize,
    seen: usize,
    log_evidence: Vec<f64>,
    per_sample: Vec<f64>,
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
        let reading = self.let_go()?;
        let tracks = self.tracks.split_off(undo.tracks);
        let samples = self.store.samples();
        // A track may have been advanced twice; where it stood before the first time counts.
        let mut advanced: BTreeMap<usize, usize> = BTreeMap::new();
        for &(track, seen) in undo.advanced.iter().filter(|(track, _)| *track < undo.tracks) {
            advanced.entry(track).or_insert(seen);
        }
        let rows = advanced
            .into_iter()
            .map(|(track, seen)| {
                let t = &mut self.tracks[track];
                Row {
                    track,
                    seen,
                    log_evidence: t.log_evidence.split_off(seen + 1),
                    per_sample: t.per_sample.split_off((seen + 1) * samples),
                }
            })
            .collect();
        let posterior = std::mem::replace(&mut self.posterior, undo.posterior);
        Some(Aside { reading, serial, after: self.taken.len(), listed: undo.tracks, tracks, rows, posterior })
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
        self.undescribed.take_in(problem, &mut self.store, &mut self.taken);
        let advanced = aside.rows.iter().map(|row| (row.track, row.seen)).collect();
        for row in aside.rows {
            self.tracks[row.track].log_evidence.extend(row.log_evidence);
            self.tracks[row.track].per_sample.extend(row.per_sample);
        }
        self.tracks.extend(aside.tracks);
        let posterior = std::mem::replace(&mut self.posterior, aside.posterior);
        self.history.push(Undo { tracks: aside.listed, advanced, posterior });
        true
    }
}
