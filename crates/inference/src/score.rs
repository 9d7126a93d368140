//! What a hypothesis scored, reading by reading, in each sample of the shared unknowns.
//!
//! Most readings have nothing to do with the shared unknowns: they multiply the evidence by the same in every sample. Only
//! where samples differ is a row of them kept: there are thousands of hypotheses, and each keeps its score after every reading
//! so that readings can be taken back.

use crate::evidence::log_sum_of;

/// The score after 0, 1, … readings, prior not included.
pub(crate) struct Score {
    /// The last one stands here, where it is at hand: it is looked at for every hypothesis at every reading.
    last: Step,
    /// Those before it.
    steps: Vec<Step>,
    /// Logs of what differs between samples, a row for each step that brought a difference.
    rows: Vec<f64>,
}

/// The score after so many readings.
#[derive(Clone, Copy)]
pub(crate) struct Step {
    /// Log of the evidence.
    evidence: f64,
    /// Of it, what is the same in every sample.
    alike: f64,
    /// Where the rest begins in the rows, if samples differ.
    row: Option<u32>,
}

impl Score {
    /// Before any reading.
    pub(crate) fn new() -> Score {
        Score { last: Step { evidence: 0.0, alike: 0.0, row: None }, steps: Vec::new(), rows: Vec::new() }
    }

    /// How many readings it has been held against.
    pub(crate) fn seen(&self) -> usize {
        self.steps.len()
    }

    fn push(&mut self, step: Step) {
        self.steps.push(self.last);
        self.last = step;
    }

    /// Room for one more reading.
    pub(crate) fn make_room(&mut self, samples: usize) {
        self.steps.reserve(1);
        self.rows.reserve(samples);
    }

    /// Log of the evidence of all readings seen.
    pub(crate) fn evidence(&self) -> f64 {
        self.last.evidence
    }

    /// The same after 0, 1, … of them.
    pub(crate) fn evidences(&self) -> impl Iterator<Item = f64> + '_ {
        self.steps.iter().chain([&self.last]).map(|s| s.evidence)
    }

    /// Log likelihood, in one sample, of all readings seen.
    pub(crate) fn likelihood_in(&self, sample: usize) -> f64 {
        self.last.alike + self.last.row.map_or(0.0, |row| self.rows[row as usize + sample])
    }

    /// One more reading, which multiplies the likelihood by this: a log for each sample, as are the samples' weights, which sum
    /// to one.
    pub(crate) fn multiply(&mut self, factors: &[f64], weights: &[f64]) {
        let Step { evidence, alike, row } = self.last;
        if factors.iter().all(|f| *f == factors[0]) {
            self.push(Step { evidence: evidence + factors[0], alike: alike + factors[0], row });
            return;
        }
        let begin = self.rows.len();
        for (sample, factor) in factors.iter().enumerate() {
            let before = row.map_or(0.0, |row| self.rows[row as usize + sample]);
            self.rows.push(before + factor);
        }
        self.differ(begin, alike, weights);
    }

    /// One more reading, after which all of them together have this likelihood: a log for each sample.
    pub(crate) fn set(&mut self, totals: &[f64], weights: &[f64]) {
        if totals.iter().all(|t| *t == totals[0]) {
            self.push(Step { evidence: totals[0], alike: totals[0], row: None });
            return;
        }
        let begin = self.rows.len();
        self.rows.extend_from_slice(totals);
        self.differ(begin, 0.0, weights);
    }

    fn differ(&mut self, begin: usize, alike: f64, weights: &[f64]) {
        let rest = log_sum_of(self.rows[begin..].iter().zip(weights).map(|(row, weight)| row + weight));
        self.push(Step { evidence: alike + rest, alike, row: Some(begin as u32) });
    }

    /// Where the rows end that the score after so many readings, and those before it, need.
    fn rows_of(&self, seen: usize, samples: usize) -> usize {
        let rows = self.steps.iter().chain([&self.last]).take(seen + 1).filter_map(|s| s.row);
        rows.max().map_or(0, |row| row as usize + samples)
    }

    /// Forgets all but the first readings.
    pub(crate) fn go_back_to(&mut self, seen: usize, samples: usize) {
        if seen < self.steps.len() {
            self.rows.truncate(self.rows_of(seen, samples));
            self.last = self.steps[seen];
            self.steps.truncate(seen);
        }
    }

    /// The same, and puts what is forgotten at the end of these; returns how many of each.
    pub(crate) fn set_aside(
        &mut self,
        seen: usize,
        samples: usize,
        steps: &mut Vec<Step>,
        rows: &mut Vec<f64>,
    ) -> (usize, usize) {
        let before = (steps.len(), rows.len());
        steps.extend(self.steps.iter().chain([&self.last]).skip(seen + 1));
        rows.extend_from_slice(&self.rows[self.rows_of(seen, samples)..]);
        self.go_back_to(seen, samples);
        (steps.len() - before.0, rows.len() - before.1)
    }

    /// Takes up what was set aside where it stands now.
    pub(crate) fn take_up(&mut self, steps: &[Step], rows: &[f64]) {
        steps.iter().for_each(|step| self.push(*step));
        self.rows.extend_from_slice(rows);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three samples, the middle one as probable as both others.
    fn weights() -> [f64; 3] {
        [0.25, 0.5, 0.25].map(libm::log)
    }

    fn logs(p: [f64; 3]) -> [f64; 3] {
        p.map(libm::log)
    }

    #[test]
    fn the_evidence_is_the_mean_over_samples_of_the_product() {
        let mut score = Score::new();
        score.multiply(&logs([0.2, 0.2, 0.2]), &weights());
        score.multiply(&logs([0.1, 0.4, 0.8]), &weights());
        score.multiply(&logs([0.5, 0.5, 0.5]), &weights());
        score.multiply(&logs([0.9, 0.3, 0.1]), &weights());
        let by_hand = 0.25 * 0.2 * 0.1 * 0.5 * 0.9 + 0.5 * 0.2 * 0.4 * 0.5 * 0.3 + 0.25 * 0.2 * 0.8 * 0.5 * 0.1;
        assert!((libm::exp(score.evidence()) - by_hand).abs() < 1e-15);
        assert!((libm::exp(score.likelihood_in(2)) - 0.2 * 0.8 * 0.5 * 0.1).abs() < 1e-15);
        let after: Vec<f64> = score.evidences().map(libm::exp).collect();
        assert!((after[0] - 1.0).abs() < 1e-15 && (after[1] - 0.2).abs() < 1e-15, "{after:?}");
    }

    #[test]
    fn what_was_set_aside_is_taken_up_as_it_was() {
        let mut score = Score::new();
        score.multiply(&logs([0.1, 0.4, 0.8]), &weights());
        let before = (score.evidence(), score.likelihood_in(1));
        score.multiply(&logs([0.7, 0.7, 0.7]), &weights());
        score.multiply(&logs([0.9, 0.3, 0.1]), &weights());
        let after = (score.evidence(), score.likelihood_in(1));
        let (mut steps, mut rows) = (Vec::new(), Vec::new());
        assert_eq!(score.set_aside(1, 3, &mut steps, &mut rows), (2, 3));
        assert_eq!((score.evidence(), score.likelihood_in(1)), before);
        score.take_up(&steps, &rows);
        assert_eq!((score.evidence(), score.likelihood_in(1)), after);
        score.set(&logs([0.3, 0.3, 0.3]), &weights());
        assert!((libm::exp(score.likelihood_in(0)) - 0.3).abs() < 1e-15);
        score.go_back_to(1, 3);
        assert_eq!((score.evidence(), score.likelihood_in(1)), before);
    }
}
