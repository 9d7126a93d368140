//! The run-in: what is looked over and recorded of a machine that has passed, before anybody leaves it.

use halfsplit_inference::Step;
use halfsplit_machine::sheet::CallsFor;
use halfsplit_machine::test::{Measure, PowerState, Spot, Test};
use halfsplit_machine::{CommandIx, Mode, ParamIx, Role};

use super::Case;
use crate::offer::Stand;
use crate::problem::VisitProblem;
use crate::told::{Do, Ending, Errand, RunIn};

impl Case {
    /// The next reading of the run-in, by index, and how much of it is left: where something has to be found, nobody leaves a
    /// repaired machine on the word that it passed. It is looked over, and what is usual is recorded of it once it has settled, whatever
    /// is suspected: that shows what nobody has noticed. What is odd is taken twice. `None` before the end, on other errands, and when
    /// all is recorded.
    pub(super) fn run_in(&mut self, step: Step) -> Option<(usize, RunIn)> {
        let repaired = self.act_or_end(step) == Do::End(Ending::Repaired);
        if !repaired || self.errand() != Errand::FindIt || self.last_proof() != Some(true) {
            return None;
        }
        let mut left = self.problem.recorded_in_a_run_in();
        left.retain(|t| match self.circumstances.taken[*t] {
            0 => !self.was_seen_before(*t),
            taken => taken == 1 && self.is_odd(*t, self.circumstances.epoch),
        });
        let m = &self.problem.plant.machine;
        let situation = self.problem.situation(&self.circumstances);
        let in_time =
            |t: &usize| situation.minutes_left.is_none_or(|left| situation.minutes_of(&situation.tests[*t]) <= left);
        left.retain(|t| situation.tests[*t].allowed && in_time(t));
        let mut on_the_way = self.circumstances.clone();
        let minutes = left.iter().map(|t| {
            let now = self.problem.situation(&on_the_way);
            on_the_way.after(m, &m.tests[*t]);
            now.minutes_of(&now.tests[*t])
        });
        let minutes: f64 = minutes.sum();
        let again = |first: &usize| self.circumstances.taken[*first] > 0;
        left.first().map(|first| (*first, RunIn { readings: left.len(), minutes, again: again(first) }))
    }

    /// Whether a test was last read as odd in an epoch, for a machine with nothing wrong.
    fn is_odd(&mut self, test: usize, epoch: usize) -> bool {
        let query = self.problem.query(epoch, test);
        let last = self.reasoner.readings().iter().rposition(|r| r.query == query);
        last.is_some_and(|last| self.reasoner.is_odd(&self.problem, last))
    }

    /// Whether how a part is worn or set was seen before the last repair, was not odd, and nothing has been done to it since: nobody
    /// looks at that again.
    fn was_seen_before(&mut self, test: usize) -> bool {
        let m = &self.problem.plant.machine;
        let Measure::Look { param, .. } = &m.tests[test].measure else { return false };
        let of_it = |x: &Mode| x.edits.iter().any(|edit| edit.param == *param);
        let now = &self.problem.epochs[self.circumstances.epoch].mended;
        let as_it_was = |epoch: &usize| {
            let then = &self.problem.epochs[*epoch].mended;
            m.modes.iter().zip(then.iter().zip(now)).all(|(x, (then, now))| then == now || !of_it(x))
        };
        let mut earlier: Vec<usize> = (0..self.problem.epochs.len()).filter(as_it_was).collect();
        let readings = self.reasoner.readings();
        earlier.retain(|epoch| readings.iter().any(|r| r.query == self.problem.query(*epoch, test)));
        !earlier.is_empty() && earlier.into_iter().all(|epoch| !self.is_odd(test, epoch))
    }
}

impl VisitProblem {
    /// What is recorded of a machine before anybody leaves it, tests in their order: a look at whatever gets dirty and at its
    /// settings; once it has settled what it shows of its temperatures and what a thermometer beside each sensor shows, the message,
    /// amps, thermometers where there is no sensor; then the amps of its elements. (Common practice, no source.)
    pub(crate) fn recorded_in_a_run_in(&self) -> Vec<usize> {
        let m = &self.plant.machine;
        let Some(proved) = self.proved_by() else { return Vec::new() };
        let sensed = |spot: Spot| {
            let there = |role: &Role| match role {
                Role::Thermistor(s) => m.params[s.spot.0].nominal as usize == spot.index(),
                _ => false,
            };
            m.parts.iter().any(|part| there(&part.role))
        };
        let amps_settled = |t: &Test| t.measure == Measure::SupplyAmps && Stand::of(t) == Some(Stand::Settled(proved));
        let only_at_start = !m.tests.iter().any(amps_settled);
        // Nothing has to be fitted for it: it is cleaned, or set.
        let by_hand = |mode: &&Mode| {
            matches!(mode.repair_group.rsplit('/').next(), Some("clean" | "set")) && !mode.nature.harmless()
        };
        let dirty_or_set =
            |param: ParamIx| m.modes.iter().filter(by_hand).any(|x| x.edits.iter().any(|edit| edit.param == param));
        let turn = |t: &Test| {
            let stand = Stand::of(t);
            let settled = stand == Some(Stand::Settled(proved));
            match &t.measure {
                // Before the machine is waited for: what is put right here changes all that it does. Nothing is isolated for it.
                Measure::Look { param, .. } if dirty_or_set(*param) && t.power != PowerState::Dead => Some(0),
                Measure::ShownTemperature(_) if settled => Some(1),
                Measure::ShownLessThermometer(_) if settled => Some(2),
                Measure::ShownCode => Some(3),
                Measure::SupplyAmps if settled => Some(4),
                Measure::SupplyAmps if only_at_start && stand == Some(Stand::Told(proved)) => Some(4),
                Measure::Thermometer(spot) if settled && !sensed(*spot) => Some(5),
                Measure::SupplyAmps => {
                    // Nobody cools in the frost, or heats in the heat, for the record.
                    let backup = |c: CommandIx| m.commands[c.0].calls_for == Some(CallsFor::Elements);
                    matches!(stand, Some(Stand::Told(c)) if backup(c)).then_some(6)
                }
                _ => None,
            }
        };
        let mut recorded: Vec<(u8, usize)> =
            m.tests.iter().enumerate().filter_map(|(i, t)| Some((turn(t)?, i))).collect();
        recorded.sort_unstable();
        recorded.into_iter().map(|(_, test)| test).collect()
    }
}
