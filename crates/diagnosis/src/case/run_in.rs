//! The run-in: what is looked over and recorded of a machine that has passed, before anybody leaves it.

use halfsplit_inference::{Hypothesis, Step};
use halfsplit_machine::sheet::CallsFor;
use halfsplit_machine::test::{Measure, PowerState, Spot, Test};
use halfsplit_machine::{CommandIx, Role};

use super::Case;
use crate::offer::Stand;
use crate::problem::VisitProblem;
use crate::told::{Do, Ending, Errand, RunIn};

impl Case {
    /// The next reading of the run-in, by index, and how much of it is left: where something has to be found, nobody leaves a
    /// repaired machine on the word that it passed. It is looked over, and what is usual is recorded of it once it has settled, whatever
    /// is suspected: that shows what nobody has noticed. What is odd is taken once more, while he stands there. `None` before the end,
    /// on other errands, and when all is recorded.
    pub(super) fn run_in(&mut self, step: Step) -> Option<(usize, RunIn)> {
        let repaired = self.act_or_end(step) == Do::End(Ending::Repaired);
        if !repaired || self.errand() != Errand::FindIt || self.last_proof() != Some(true) {
            return None;
        }
        let recorded = self.problem.recorded_in_a_run_in();
        let again = self.owed_a_second_look(&recorded);
        let mut left = recorded;
        left.retain(|t| self.circumstances.taken[*t] == 0 && !self.was_seen_before(*t));
        left.splice(0..0, again);
        let situation = self.problem.situation(&self.circumstances);
        left.retain(|t| situation.tests[*t].allowed);
        // As far as the time reaches.
        let m = &self.problem.plant.machine;
        let (mut on_the_way, mut minutes) = (self.circumstances.clone(), 0.0);
        let in_time = left.iter().take_while(|t| {
            let now = self.problem.situation(&on_the_way);
            let with_it = minutes + now.minutes_of(&now.tests[**t]);
            let fits = now.minutes_left.is_none_or(|left| with_it <= left);
            if fits {
                on_the_way.after(m, &m.tests[**t]);
                minutes = with_it;
            }
            fits
        });
        let readings = in_time.count();
        let first = left.first().filter(|_| readings > 0);
        first.map(|first| (*first, RunIn { readings, minutes, again: again == Some(*first) }))
    }

    /// What was read last, if it is of these, has been read once, and was odd.
    fn owed_a_second_look(&mut self, recorded: &[usize]) -> Option<usize> {
        let last = self.taken.last().copied()?;
        let once = recorded.contains(&last) && self.circumstances.taken[last] == 1;
        (once && self.is_odd(self.taken.len() - 1)).then_some(last)
    }

    /// Whether a reading, by index, is odd for a machine on which nothing is left to put right.
    fn is_odd(&mut self, reading: usize) -> bool {
        let nothing = |h: &&Hypothesis| self.nothing_left_of(h);
        let right = self.reasoner.posterior().hypotheses.iter().map(|w| &w.hypothesis).find(nothing).copied();
        right.is_some_and(|right| self.reasoner.is_odd(&self.problem, reading, right))
    }

    /// Whether how dirty a part is was seen before the last repair, was not odd, and nothing has been done to the part since: nobody
    /// looks at that again.
    fn was_seen_before(&mut self, test: usize) -> bool {
        let m = &self.problem.plant.machine;
        let Measure::Look { part, .. } = m.tests[test].measure else { return false };
        let now = &self.problem.epochs[self.circumstances.epoch].mended;
        let untouched = |epoch: usize| {
            let then = &self.problem.epochs[epoch].mended;
            m.modes.iter().zip(then.iter().zip(now)).all(|(x, (then, now))| then == now || x.part != part)
        };
        let of_it = |at: &usize| {
            let (epoch, of) = self.problem.epoch_and_test(self.reasoner.readings()[*at].query);
            of == test && untouched(epoch)
        };
        let last = (0..self.taken.len()).rev().find(of_it);
        last.is_some_and(|last| !self.is_odd(last))
    }
}

impl VisitProblem {
    /// What is recorded of a machine before anybody leaves it, tests in their order: a look at whatever air has to get through;
    /// once it has settled what it shows of its temperatures and what a thermometer beside each sensor shows, the message, amps,
    /// thermometers where there is no sensor; then the amps of its elements; last, dead, an anode. (Common practice, no source.)
    /// How it is set shows nothing any more: it has just been set to be proved.
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
        let filter = m.parts.iter().any(|part| matches!(part.role, Role::Filter { .. }));
        // In view: a coil indoors behind the filter, where there is one, and not behind covers.
        let air_fouls = |t: &Test| match &t.measure {
            Measure::Look { part, param, .. } if t.power != PowerState::Dead => match &m.parts[part.0].role {
                Role::Evaporator { fouling } | Role::Coil { outdoor: false, fouling } => filter && fouling == param,
                Role::Filter { blockage: fouling }
                | Role::Condenser { fouling }
                | Role::Coil { outdoor: true, fouling } => fouling == param,
                _ => false,
            },
            _ => false,
        };
        // Nobody notices it before the tank leaks.
        let wears_unseen = |t: &Test| match &t.measure {
            Measure::Look { part, param, .. } => {
                matches!(&m.parts[part.0].role, Role::Anode { consumed } if consumed == param)
            }
            _ => false,
        };
        let turn = |t: &Test| {
            let stand = Stand::of(t);
            let settled = stand == Some(Stand::Settled(proved));
            match &t.measure {
                // Before the machine is waited for: what is put right here changes all that it does.
                Measure::Look { .. } if air_fouls(t) => Some(0),
                Measure::Look { .. } if wears_unseen(t) => Some(7),
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
