//! A reading that was supposed, and set aside with all that it gave: taking it up costs next to nothing then.

use std::collections::BTreeMap;

use super::{Reading, Reasoner, Track, Undo};
use crate::posterior::Posterior;
use crate::problem::Problem;
use crate::score::Step;

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
    scored: Vec<Scored>,
    /// Of all of them, one after the other: there are tens of thousands.
    steps: Vec<Step>,
    rows: Vec<f64>,
    undescribed: Vec<Vec<f64>>,
    posterior: Posterior,
}

/// What a hypothesis scored beyond the readings that it had been held against before: so many steps, and so many numbers of
/// their rows.
struct Scored {
    track: usize,
    seen: usize,
    steps: usize,
    rows: usize,
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
        let mut scored = Vec::with_capacity(advanced.len());
        let (mut steps, mut rows) = (Vec::with_capacity(advanced.len()), Vec::new());
        for (track, seen) in advanced {
            let more = self.tracks[track].score.set_aside(seen, samples, &mut steps, &mut rows);
            scored.push(Scored { track, seen, steps: more.0, rows: more.1 });
        }
        let posterior = std::mem::replace(&mut self.posterior, undo.posterior);
        Some(Aside {
            reading,
            serial,
            after: self.taken.len(),
            listed: undo.tracks,
            tracks,
            scored,
            steps,
            rows,
            undescribed,
            posterior,
        })
    }

    /// Takes a reading again that was set aside. It must have been set aside from where things stand now: with another
    /// number of readings, or hypotheses, nothing is done and false is given.
    pub fn take_up(&mut self, problem: &impl Problem, aside: Aside) -> bool {
        let stands = |row: &Scored| self.tracks.get(row.track).is_some_and(|t| t.seen() == row.seen);
        let stands =
            aside.after == self.taken.len() && aside.listed == self.tracks.len() && aside.scored.iter().all(stands);
        // It was accepted before, so it is accepted again.
        if !stands || self.hold(problem, aside.reading, aside.serial).is_err() {
            return false;
        }
        self.undescribed.take_up(aside.undescribed);
        let advanced = aside.scored.iter().map(|s| (s.track, s.seen)).collect();
        let (mut steps, mut rows) = (&aside.steps[..], &aside.rows[..]);
        for scored in &aside.scored {
            let (these, rest) = steps.split_at(scored.steps);
            let (of_these, rest_of_rows) = rows.split_at(scored.rows);
            (steps, rows) = (rest, rest_of_rows);
            self.tracks[scored.track].score.take_up(these, of_these);
        }
        self.tracks.extend(aside.tracks);
        let posterior = std::mem::replace(&mut self.posterior, aside.posterior);
        self.history.push(Undo { tracks: aside.listed, advanced, posterior });
        true
    }
}
