//! The tunable numbers of the diagnosis, all judgement, in one place.

/// Numbers that no standard gives. A shop may tune them.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What an hour costs, in the currency of the part prices: turns prices into minutes.
    pub hourly_rate: f64,
    /// Minutes that a second visit costs when somebody waits for it; for what nobody notices, half of that.
    pub call_back: f64,
    /// Minutes that it costs to go home without what had to be found ([`Errand::FindIt`](crate::Errand)): somebody who knows
    /// more spends a day on it.
    pub not_found: f64,
    /// Minutes to isolate, lock, prove dead and discharge.
    pub isolate: f64,
    /// Minutes to restore power.
    pub restore: f64,
    /// Minutes until the machine has settled.
    pub settle: f64,
    /// Minutes to prove a repair.
    pub prove: f64,
    /// Visits per machine and year on which nothing turns out to be broken.
    pub nothing_broken: f64,
    /// Visits per machine and year in conditions in which a sound machine does what looks like a fault to everybody:
    /// waits, says that it is too cold, heats with its elements.
    pub by_design: f64,
    /// Visits per machine and year to a sound machine in a state that it is designed for, which somebody took for a failure:
    /// it defrosts, it waits for its minimum off time.
    pub taken_for_fault: f64,
    /// Share of visits that are for something that no part of the library describes (0 to 1, less than 1).
    pub not_described: f64,
    /// Years for which a fault that somebody notices stays unrepaired.
    pub noticed_for: f64,
    /// Most years for which an unnoticed fault may have been there.
    pub unnoticed_for: f64,
    /// Share of readings that are slips.
    pub slip: f64,
    /// Share of tests in which a fault does not show as the description of the machine foresees.
    pub unshown: f64,
    /// Share of the evidence that pairs of faults not worked out may hold together.
    pub neglect: f64,
    /// Node expansions that one recommendation may use.
    pub expansions: usize,
}

impl Default for Judgement {
    fn default() -> Self {
        Self {
            hourly_rate: 90.0,
            call_back: 240.0,
            not_found: 720.0,
            isolate: 5.0,
            restore: 2.0,
            settle: 15.0,
            prove: 6.0,
            nothing_broken: 0.0005,
            by_design: 0.05,
            taken_for_fault: 0.01,
            not_described: 0.05,
            noticed_for: 0.04,
            unnoticed_for: 1.0,
            slip: 0.02,
            unshown: 0.03,
            neglect: 1e-3,
            expansions: 300,
        }
    }
}
