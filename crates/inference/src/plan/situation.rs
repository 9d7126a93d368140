//! What can be done next and what it costs: handed over anew for every recommendation.

use crate::hypothesis::{EpisodeId, ModeId, QueryId, RepairId};

/// Something that has to be opened once, and stays open: an index into [`Situation::access`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct AccessId(pub u32);

/// A state the whole has to be in for a test: an index into [`Situation::transitions`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StateId(pub u32);

/// A test that could be made.
#[derive(Clone, Debug, PartialEq)]
pub struct TestOption {
    /// What it asks. Listing a query that has been read already offers the repeat.
    pub query: QueryId,
    /// Minutes of its own, without access and change of state (≥ 0).
    pub minutes: f64,
    /// What must be open.
    pub access: Vec<AccessId>,
    /// The state it is made in; `None`: any.
    pub state: Option<StateId>,
    /// Rank of hazard, 0 lowest. A constraint ([`Situation::hazard_limit`]) and a tie-break, never
    /// traded for minutes.
    pub hazard: u8,
    /// `false`: refused, impossible or unsafe just now; never recommended.
    pub allowed: bool,
    /// Making it starts a new episode, so that intermittent modes are drawn afresh; otherwise it
    /// belongs to [`Situation::episode`].
    pub new_episode: bool,
}

impl TestOption {
    /// A test that needs nothing but its minutes.
    pub fn new(query: QueryId, minutes: f64) -> TestOption {
        TestOption { query, minutes, access: Vec::new(), state: None, hazard: 0, allowed: true, new_episode: false }
    }
}

/// A repair that could be made.
#[derive(Clone, Debug, PartialEq)]
pub struct RepairOption {
    /// Which repair.
    pub repair: RepairId,
    /// All that it costs, as minutes: fitting time and price (> 0), without access and change of
    /// state.
    pub cost: f64,
    /// The part of it that takes time on the spot, for [`Situation::minutes_left`].
    pub minutes: f64,
    /// The modes that it puts right.
    pub fixes: Vec<ModeId>,
    /// What must be open.
    pub access: Vec<AccessId>,
    /// The state it is made in; `None`: any.
    pub state: Option<StateId>,
    /// `false`: not possible just now.
    pub allowed: bool,
}

impl RepairOption {
    /// A repair that needs no access; all of its cost is time on the spot.
    pub fn new(repair: RepairId, cost: f64, fixes: Vec<ModeId>) -> RepairOption {
        RepairOption { repair, cost, minutes: cost, fixes, access: Vec::new(), state: None, allowed: true }
    }
}

/// Where things stand, and all that could be done next.
#[derive(Clone, Debug, PartialEq)]
pub struct Situation {
    /// Tests on offer.
    pub tests: Vec<TestOption>,
    /// Repairs on offer.
    pub repairs: Vec<RepairOption>,
    /// Minutes to open each access set; at most 64 of them.
    pub access: Vec<f64>,
    /// What is open already.
    pub open: Vec<AccessId>,
    /// The present state.
    pub state: StateId,
    /// Minutes from one state (row) to another (column); missing entries cost nothing.
    pub transitions: Vec<Vec<f64>>,
    /// Cost of ending while something is still wrong: another visit. 120 by default.
    pub end_cost: f64,
    /// Whether what was left undone has to be done on that other visit, and so costs its repair besides.
    pub repaired_later: bool,
    /// Minutes to prove that a repair has put things right, paid after each repair.
    pub verify_minutes: f64,
    /// A repair is begun with only where what it may put right itself is worth this share of its cost (≥ 0). Otherwise it would be
    /// made for the proof that follows it, which nobody would do.
    pub least_worth: f64,
    /// A repair is begun with only where it is needed with at least this probability (0 to 1): below it, it would be a guess.
    pub least_chance: f64,
    /// Minutes left on this visit: what does not fit in is not recommended.
    pub minutes_left: Option<f64>,
    /// Tests above this hazard are not recommended.
    pub hazard_limit: Option<u8>,
    /// The episode now running.
    pub episode: EpisodeId,
    /// Modes that an action has already put right: a hypothesis needs no repair for them.
    pub mended: Vec<ModeId>,
}

impl Default for Situation {
    fn default() -> Situation {
        Situation {
            tests: Vec::new(),
            repairs: Vec::new(),
            access: Vec::new(),
            open: Vec::new(),
            state: StateId(0),
            transitions: Vec::new(),
            end_cost: 120.0,
            repaired_later: false,
            verify_minutes: 0.0,
            least_worth: 0.0,
            least_chance: 0.0,
            minutes_left: None,
            hazard_limit: None,
            episode: EpisodeId(0),
            mended: Vec::new(),
        }
    }
}

impl Situation {
    pub(crate) fn offered(&self, test: &TestOption) -> bool {
        test.allowed && self.hazard_limit.is_none_or(|limit| test.hazard <= limit)
    }

    /// Which access sets are open, as bits.
    pub(crate) fn open_bits(&self) -> u64 {
        bits(&self.open)
    }

    /// Minutes to open what of `needed` (bits) is still closed.
    pub(crate) fn unpaid(&self, needed: u64, open: u64) -> f64 {
        let mut closed = needed & !open;
        let mut minutes = 0.0;
        while closed != 0 {
            let i = closed.trailing_zeros() as usize;
            minutes += self.access.get(i).copied().unwrap_or(0.0);
            closed &= closed - 1;
        }
        minutes
    }

    /// Minutes to change state.
    pub(crate) fn change(&self, from: StateId, to: Option<StateId>) -> f64 {
        match to {
            Some(to) if to != from => {
                self.transitions.get(from.0 as usize).and_then(|row| row.get(to.0 as usize)).copied().unwrap_or(0.0)
            }
            _ => 0.0,
        }
    }

    /// Minutes of a test from where things stand now: its own, unpaid access, change of state.
    pub fn minutes_of(&self, test: &TestOption) -> f64 {
        test.minutes + self.unpaid(bits(&test.access), self.open_bits()) + self.change(self.state, test.state)
    }
}

pub(crate) fn bits(access: &[AccessId]) -> u64 {
    access.iter().filter(|a| a.0 < 64).fold(0, |bits, a| bits | 1 << a.0)
}
