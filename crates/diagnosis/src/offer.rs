//! What can be done next, in minutes: tests on offer, repairs, places, power states.

use halfsplit_inference::{AccessId, EpisodeId, ModeId, RepairId, RepairOption, Situation, StateId, TestOption};
use halfsplit_machine::test::{Measure, Moment, PowerState, Test, Tool};
use halfsplit_machine::{CommandIx, Machine, PlaceIx};

use crate::problem::VisitProblem;
use crate::told::Errand;

/// Where the machine stands electrically and what it has been told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stand {
    /// Isolated, proved dead, discharged.
    Dead,
    /// Powered, nothing commanded.
    Rest,
    /// Just told to do something.
    Told(CommandIx),
    /// Settled into it.
    Settled(CommandIx),
}

impl Stand {
    /// All stands of a machine, in the order of their [`StateId`].
    pub(crate) fn all(machine: &Machine) -> Vec<Stand> {
        let mut all = vec![Stand::Rest, Stand::Dead];
        for c in 0..machine.commands.len() {
            all.push(Stand::Told(CommandIx(c)));
            all.push(Stand::Settled(CommandIx(c)));
        }
        all
    }

    /// The stand that a test needs; `None` if any will do.
    pub(crate) fn of(test: &Test) -> Option<Stand> {
        match (test.power, test.command, test.moment) {
            (PowerState::Any, None, _) => None,
            (PowerState::Dead, ..) => Some(Stand::Dead),
            (_, Some(c), Moment::Settled) => Some(Stand::Settled(c)),
            (_, Some(c), _) => Some(Stand::Told(c)),
            (PowerState::Live, None, _) => Some(Stand::Rest),
        }
    }

    pub(crate) fn id(self, machine: &Machine) -> StateId {
        StateId(Stand::all(machine).iter().position(|s| *s == self).unwrap_or(0) as u32)
    }
}

/// How often a test is offered. A second look uncovers a slip; a third tells hardly more.
const MOST_READINGS: u8 = 2;

/// The share of its cost that a repair must be worth by itself to be proposed: below it one tests, or ends. Judgement.
const LEAST_WORTH: f64 = 0.7;

/// A repair less probable than this is a guess, however quickly it is made: a setting is not turned that was read as it should be.
/// Judgement: of repairs begun with below one in five in visits that went wrong, none was the right one.
const LEAST_CHANCE: f64 = 0.125;

/// What stands open, what was refused, what tools there are.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Circumstances {
    pub stand: Stand,
    pub open: Vec<PlaceIx>,
    /// Tests that the technician will not or cannot make, by index.
    pub refused: Vec<bool>,
    pub tools: Vec<Tool>,
    pub minutes_left: Option<f64>,
    pub episode: u32,
    pub epoch: usize,
    /// Somebody has isolated the machine or called it in this epoch: its breaker's handle no longer shows what he found.
    pub switched: bool,
    /// How often each test has been read in this epoch, by index.
    pub taken: Vec<u8>,
    /// The wait before what the machine did is looked at again, where it may be in a state by design.
    pub wait: Option<Wait>,
}

/// A wait, after which a state by design is over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wait {
    /// Minutes.
    pub minutes: f64,
    /// The epoch that follows.
    pub epoch: usize,
    /// The likeliest state that it waits for, by index of its mode.
    pub state: usize,
}

impl Circumstances {
    /// The wait before a test: where it looks again at what the machine did.
    pub(crate) fn wait_before(&self, test: usize, t: &Test) -> Option<Wait> {
        self.wait.filter(|_| t.command.is_some() && self.taken[test] > 0)
    }

    /// After a test was made: what it needed stands open, and the machine stands as it was left.
    pub(crate) fn after(&mut self, machine: &Machine, test: &Test) {
        if let Some(stand) = Stand::of(test) {
            self.stand = stand;
            self.switched |= stand != Stand::Rest;
        }
        // Who has watched the water for half an hour has a machine that has settled.
        if let (Measure::WaterRise(..) | Measure::EnergyMeanwhile, Some(c)) = (&test.measure, test.command) {
            self.stand = Stand::Settled(c);
        }
        for place in machine.way_to(test.place) {
            if place.0 > 0 && !self.open.contains(&place) {
                self.open.push(place);
            }
        }
    }
}

impl VisitProblem {
    /// Minutes between stands.
    fn transition(&self, from: Stand, to: Stand) -> f64 {
        let j = &self.judgement;
        let command = |c: CommandIx| self.plant.machine.commands[c.0].minutes;
        match (from, to) {
            _ if from == to => 0.0,
            (_, Stand::Dead) => j.isolate,
            (Stand::Dead, Stand::Rest) => j.restore,
            (_, Stand::Rest) => 0.5,
            (Stand::Settled(a), Stand::Told(b)) if a == b => 0.5,
            (Stand::Dead, Stand::Told(c)) => j.restore + command(c),
            (_, Stand::Told(c)) => command(c),
            (Stand::Told(a), Stand::Settled(b)) if a == b => j.settle,
            (Stand::Dead, Stand::Settled(c)) => j.restore + command(c) + j.settle,
            (_, Stand::Settled(c)) => command(c) + j.settle,
        }
    }

    /// The situation for a recommendation.
    pub(crate) fn situation(&self, c: &Circumstances) -> Situation {
        let m = &self.plant.machine;
        let stands = Stand::all(m);
        let way =
            |p: PlaceIx| m.way_to(p).into_iter().filter(|p| p.0 > 0).map(|p| AccessId(p.0 as u32)).collect::<Vec<_>>();
        let tests = m
            .tests
            .iter()
            .enumerate()
            .map(|(i, t)| TestOption {
                query: self.query(c.wait_before(i, t).map_or(c.epoch, |w| w.epoch), i),
                minutes: t.minutes + c.wait_before(i, t).map_or(0.0, |w| w.minutes),
                access: way(t.place),
                state: Stand::of(t).map(|s| s.id(m)),
                hazard: t.hazards.len() as u8 + u8::from(t.power == PowerState::Live),
                // The customer has said what he has to say.
                allowed: !(c.refused[i]
                    || c.switched && self.shows_a_handle(t)
                    || c.taken[i] >= MOST_READINGS
                    || t.measure == Measure::Complaint && (self.epochs[c.epoch].visit.reset || c.taken[i] > 0))
                    && t.tool.is_none_or(|tool| c.tools.contains(&tool)),
                new_episode: t.command.is_some(),
            })
            .collect();
        let repairs = self
            .repairs
            .iter()
            .enumerate()
            .map(|(r, group)| {
                let of_group = m.modes.iter().filter(|x| x.repair_group == *group);
                let repair = &of_group.clone().next().expect("a repair is made of modes").repair;
                RepairOption {
                    minutes: repair.minutes,
                    cost: repair.minutes + repair.price / self.judgement.hourly_rate * 60.0,
                    allowed: of_group.clone().any(|x| !x.nature.harmless()),
                    ..RepairOption::new(
                        RepairId(r as u32),
                        repair.minutes.max(0.1),
                        // No part is fitted for its joints' sake: they are made anew with it, but are better made anew without.
                        m.meant_for(group).map(|i| ModeId(i.0 as u32)).collect(),
                    )
                }
            })
            .collect();
        Situation {
            tests,
            repairs,
            access: m.places.iter().map(|p| p.minutes).collect(),
            open: c.open.iter().flat_map(|p| way(*p)).collect(),
            state: c.stand.id(m),
            transitions: stands.iter().map(|a| stands.iter().map(|b| self.transition(*a, *b)).collect()).collect(),
            end_cost: match self.errand {
                Errand::Call => self.judgement.call_back,
                Errand::FindIt => self.judgement.not_found,
            },
            repaired_later: true,
            least_worth: LEAST_WORTH,
            least_chance: LEAST_CHANCE,
            verify_minutes: self.judgement.prove,
            minutes_left: c.minutes_left,
            hazard_limit: None,
            episode: EpisodeId(c.episode),
            mended: self.epochs[c.epoch]
                .mended
                .iter()
                .enumerate()
                .filter(|(_, m)| **m)
                .map(|(i, _)| ModeId(i as u32))
                .collect(),
        }
    }
}
