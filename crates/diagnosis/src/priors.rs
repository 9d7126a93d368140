//! Odds per visit: rate at this age × chance that this behaviour makes somebody call × what promotes what.

use halfsplit_machine::{Conditions, Machine};
use halfsplit_plant::Outcome;

use crate::judgement::Judgement;

/// For each mode of the machine: failures per year at this age, chance of a call, and how long it stays. What is no failure
/// has no rate.
#[derive(Debug, Clone)]
pub(crate) struct Priors {
    rate: Vec<f64>,
    call: Vec<f64>,
    prevalence: Vec<f64>,
    promoted: Vec<Vec<(usize, f64)>>,
    /// Visits per year for what a sound machine does in these conditions.
    by_design: f64,
}

impl Priors {
    /// `call` is the chance (0 to 1) that each mode alone makes somebody call, `sound` that of a sound machine on that
    /// day. What a sound machine does too (air that is too cold for it, and it says so) is no work of a fault: only what
    /// a fault adds makes its visits, and the rest of the calls find it there by chance.
    pub(crate) fn new(
        machine: &Machine,
        conditions: &Conditions,
        judgement: &Judgement,
        mut call: Vec<f64>,
        sound: f64,
    ) -> Priors {
        let noticed = (sound - Outcome::SELDOM).max(0.0);
        call.iter_mut().for_each(|c| *c = (*c - noticed).max(Outcome::SELDOM.min(*c)));
        let rate: Vec<f64> = machine
            .modes
            .iter()
            .map(|m| {
                // What people bring about needs people: a hundredth of it on a machine that nobody has touched.
                let touched = if !m.workmanship || conditions.recent_work { 1.0 } else { 0.05 };
                m.rate * m.ageing.factor(conditions.age_years) * touched
            })
            .collect();
        let prevalence = rate
            .iter()
            .zip(&call)
            .map(|(r, c)| {
                let years = c * judgement.noticed_for + (1.0 - c) * conditions.age_years.min(judgement.unnoticed_for);
                (r * years).min(0.5)
            })
            .collect();
        let promoted = machine.modes.iter().map(|m| m.promotes.iter().map(|(t, f)| (t.0, *f)).collect()).collect();
        Priors { rate, call, prevalence, promoted, by_design: judgement.by_design * noticed }
    }

    /// Visits per year for a mode alone.
    pub(crate) fn single(&self, mode: usize) -> f64 {
        self.rate[mode] * self.call[mode] + self.by_design * self.prevalence[mode]
    }

    /// Visits per year to a sound machine that does what it is built to do.
    pub(crate) fn by_design(&self) -> f64 {
        self.by_design
    }

    /// Visits per year for two modes together: one of them brings the call while the other is there already,
    /// or one has brought the other about.
    pub(crate) fn pair(&self, a: usize, b: usize) -> f64 {
        let call = 1.0 - (1.0 - self.call[a]) * (1.0 - self.call[b]);
        let factor =
            |from: usize, to: usize| self.promoted[from].iter().find(|(t, _)| *t == to).map_or(1.0, |(_, f)| *f);
        call * (self.rate[a] * self.prevalence[b] * factor(b, a) + self.rate[b] * self.prevalence[a] * factor(a, b))
    }
}
