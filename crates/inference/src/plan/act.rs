//! What acting without another test would cost.

use crate::plan::Step;
use crate::plan::outlook::{Need, Outlook};
use crate::plan::situation::{Situation, StateId, bits};

/// Where a plan stands: what is open, the state, the repairs made and the minutes left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ground {
    pub open: u64,
    pub state: StateId,
    pub minutes_left: f64,
}

/// Costs of acting, prepared for one outlook.
pub(super) struct Acts<'a> {
    pub situation: &'a Situation,
    needs: &'a [Need],
    /// Per repair: the classes it does something for.
    serves: Vec<Vec<usize>>,
    /// Per repair: what must be open.
    access: Vec<u64>,
    /// Per class: the least that it costs when it is known.
    least: Vec<f64>,
    /// Per class: what ending costs while it is so.
    ends: Vec<f64>,
    /// Per class: the chance that a proof shows it.
    shows: &'a [f64],
    /// All classes.
    all: Vec<usize>,
}

/// What is still wrong on the way along a sequence of repairs, weighted by mass.
struct Reckoning {
    wrong: f64,
    /// Of that, what some repair on offer would put right.
    known: f64,
    /// What ending now would cost.
    leaving: f64,
    /// Per repair: what it would put right.
    helped: Vec<f64>,
}

/// A sequence of repairs is not followed beyond this many.
const LONGEST: usize = 24;

impl<'a> Acts<'a> {
    pub(super) fn new(outlook: &'a Outlook, situation: &'a Situation) -> Acts<'a> {
        let needs = &outlook.needs;
        let serves = (0..situation.repairs.len())
            .map(|r| {
                (0..needs.len())
                    .filter(|&c| match &needs[c] {
                        Need::Repairs(all) => all.iter().any(|one| one.contains(&r)),
                        _ => false,
                    })
                    .collect()
            })
            .collect();
        let cost = |r: &usize| situation.repairs[*r].cost + situation.verify_minutes;
        // One repair may serve several needs, so only the dearest need is a sure bound.
        let known: Vec<f64> = needs
            .iter()
            .map(|need| match need {
                Need::Nothing | Need::Unknown => 0.0,
                Need::Repairs(all) => {
                    all.iter().map(|one| one.iter().map(cost).fold(f64::INFINITY, f64::min)).fold(0.0, f64::max)
                }
            })
            .collect();
        let ends: Vec<f64> = needs
            .iter()
            .zip(known.iter().zip(&outlook.ends))
            .map(|(need, (known, share))| match need {
                Need::Nothing => 0.0,
                _ if situation.repaired_later => share * situation.end_cost + known,
                _ => share * situation.end_cost,
            })
            .collect();
        let least = needs
            .iter()
            .zip(known.iter().zip(&ends))
            .map(|(need, (known, end))| if *need == Need::Unknown { *end } else { known.min(*end) })
            .collect();
        Acts {
            situation,
            needs,
            serves,
            access: situation.repairs.iter().map(|r| bits(&r.access)).collect(),
            least,
            ends,
            shows: &outlook.shows,
            all: (0..needs.len()).collect(),
        }
    }

    /// Expected cost if the truth were known at once: a lower bound for every plan. Weighted by
    /// mass, like all costs here.
    pub(super) fn least(&self, masses: &[f64]) -> f64 {
        masses.iter().zip(&self.least).map(|(m, c)| m * c).sum()
    }

    /// The least that one class costs when it is known.
    pub(super) fn least_of(&self, class: usize) -> f64 {
        self.least[class]
    }

    /// The most that any plan in use here can cost: every repair once, each proved, and the end.
    pub(super) fn most(&self) -> f64 {
        let repairs: f64 =
            (0..self.serves.len()).filter(|&r| !self.serves[r].is_empty()).map(|r| self.cost_of(r, 0, None)).sum();
        repairs + self.ends.iter().fold(self.situation.end_cost, |a, b| a.max(*b))
    }

    fn cost_of(&self, r: usize, open: u64, state: Option<StateId>) -> f64 {
        let repair = &self.situation.repairs[r];
        repair.cost
            + self.situation.verify_minutes
            + self.situation.unpaid(self.access[r], open)
            + state.map_or(0.0, |from| self.situation.change(from, repair.state))
    }

    fn minutes_of(&self, r: usize, ground: &Ground) -> f64 {
        let repair = &self.situation.repairs[r];
        repair.minutes - repair.cost + self.cost_of(r, ground.open, Some(ground.state))
    }

    fn after(&self, r: usize, mut ground: Ground) -> Ground {
        ground.minutes_left -= self.minutes_of(r, &ground);
        ground.open |= self.access[r];
        if let Some(state) = self.situation.repairs[r].state {
            ground.state = state;
        }
        ground
    }

    fn fixed(&self, class: usize, done: &[bool]) -> bool {
        match &self.needs[class] {
            Need::Nothing => false,
            Need::Unknown => false,
            Need::Repairs(all) => all.iter().all(|one| one.iter().any(|&r| done[r])),
        }
    }

    /// How much of a class a repair would bring nearer: its share of the needs still open.
    fn share(&self, class: usize, r: usize, done: &[bool]) -> f64 {
        let Need::Repairs(all) = &self.needs[class] else {
            return 0.0;
        };
        let (mut open, mut served) = (0.0, 0.0);
        for one in all.iter().filter(|one| !one.iter().any(|&r| done[r])) {
            open += 1.0;
            served += f64::from(one.contains(&r));
        }
        if open > 0.0 { served / open } else { 0.0 }
    }

    /// Weights, of particles in these classes, after a repair whose proof showed something wrong still: what it fixed, what was
    /// sound all along, and what a proof does not show would have passed. Returned is what ending costs, weighted by mass, with
    /// what passed unfixed.
    pub(super) fn fail(&self, r: usize, weights: &mut [f64], classes: &[usize], done: &mut [bool]) -> f64 {
        // Once a proof has shown something wrong, what is still possible shows.
        let shown_before = done.iter().any(|d| *d);
        done[r] = true;
        let mut left = 0.0;
        for (weight, &class) in weights.iter_mut().zip(classes) {
            if self.needs[class] == Need::Nothing || self.fixed(class, done) {
                *weight = 0.0;
            } else {
                let shown = if shown_before { *weight } else { *weight * self.shows[class] };
                left += (*weight - shown) * self.ends[class];
                *weight = shown;
            }
        }
        left
    }

    /// The repairs worth trying first, with cost and what follows on the ground: most probability
    /// put right per cost.
    pub(super) fn first_repairs(
        &self,
        masses: &[f64],
        done: &[bool],
        ground: &Ground,
        most: usize,
    ) -> Vec<(usize, f64, Ground)> {
        let reached: f64 = masses.iter().sum();
        let reckoning = self.reckon(&self.all, masses, done);
        let mut ranked: Vec<(f64, usize)> = (0..self.serves.len())
            .filter(|&r| !done[r] && self.minutes_of(r, ground) <= ground.minutes_left)
            .filter_map(|r| {
                let helped: f64 = self.serves[r].iter().map(|&c| masses[c] * self.share(c, r, done)).sum();
                let cost = self.cost_of(r, ground.open, Some(ground.state));
                (helped > 0.0 && self.worth_it(&reckoning, reached, (r, cost))).then(|| (helped / cost.max(1e-9), r))
            })
            .collect();
        ranked.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        ranked
            .into_iter()
            .take(most)
            .map(|(_, r)| {
                let cost = self.cost_of(r, ground.open, Some(ground.state));
                (r, cost, self.after(r, *ground))
            })
            .collect()
    }

    /// Expected cost (weighted by mass) of the repairs one after another, each proved, in order of
    /// probability per cost, ending at the best moment or when the proof passes; and the first step of it.
    ///
    /// For single faults with a repair each and no access to pay this is the optimal sequence
    /// (Kadane & Simon 1977). It is the cost of a plan that can be followed, so an upper bound on
    /// the best plan's.
    pub(super) fn now(&self, masses: &[f64], done: &[bool], ground: &Ground) -> (f64, Step) {
        self.now_among(&self.all, masses, done, ground)
    }

    /// As [`Acts::now`], when only these classes are possible.
    pub(super) fn now_among(&self, classes: &[usize], masses: &[f64], done: &[bool], ground: &Ground) -> (f64, Step) {
        // Once a proof has shown something wrong, what is still possible shows.
        let mut shown = done.iter().any(|d| *d);
        let mut reckoning = self.reckon(classes, masses, done);
        let mut reached: f64 = classes.iter().map(|&c| masses[c]).sum();
        let mut masses = std::borrow::Cow::Borrowed(masses);
        let mut best = (f64::INFINITY, Step::Close);
        let mut ground = *ground;
        let mut done = done.to_vec();
        let mut first: Option<usize> = None;
        let mut spent = 0.0;
        for _ in 0..=LONGEST {
            let choice = self.likeliest_for_cost(&reckoning, &ground);
            let total = spent + self.ending(&reckoning, choice);
            if total < best.0 {
                best = (total, first.map_or(Step::Close, Step::Repair));
            }
            let Some((r, cost)) = choice else { break };
            if first.is_none() && !self.worth_it(&reckoning, reached, (r, cost)) {
                break;
            }
            spent += reached * cost;
            if spent >= best.0 {
                break;
            }
            first.get_or_insert(r);
            ground = self.after(r, ground);
            if shown {
                self.put_right(r, classes, &masses, &mut done, &mut reckoning);
            } else {
                done[r] = true;
                let passed = self.passed(classes, masses.to_mut(), &done);
                let passed = self.reckon(classes, &passed, &done);
                spent += self.ending(&passed, self.likeliest_for_cost(&passed, &ground));
                reckoning = self.reckon(classes, &masses, &done);
                shown = true;
            }
            reached = reckoning.wrong;
        }
        best
    }

    /// The repair that puts most right for its cost, with its cost.
    fn likeliest_for_cost(&self, all: &Reckoning, ground: &Ground) -> Option<(usize, f64)> {
        let mut choice: Option<(f64, usize, f64)> = None;
        for (r, &help) in all.helped.iter().enumerate() {
            if help <= 0.0 {
                continue;
            }
            let cost = self.cost_of(r, ground.open, Some(ground.state));
            let ratio = help / cost.max(1e-9);
            if choice.is_none_or(|c| ratio > c.0)
                && (ground.minutes_left == f64::INFINITY || self.minutes_of(r, ground) <= ground.minutes_left)
            {
                choice = Some((ratio, r, cost));
            }
        }
        choice.map(|(_, r, cost)| (r, cost))
    }

    /// Whether a repair is worth beginning with for what it puts right itself, and likely enough to be needed.
    fn worth_it(&self, all: &Reckoning, reached: f64, (r, cost): (usize, f64)) -> bool {
        let (least, chance) = (self.situation.least_worth, self.situation.least_chance);
        (least == 0.0 || all.helped[r] * all.leaving >= least * reached * cost * all.wrong)
            && all.helped[r] >= chance * reached
    }

    /// What ending costs, weighted by mass, where this repair would be the next.
    fn ending(&self, all: &Reckoning, next: Option<(usize, f64)>) -> f64 {
        // Whoever comes again to repair knows no more than is known now, and may begin with the wrong repair too.
        let astray = match next {
            Some((r, cost)) if self.situation.repaired_later => (all.known - all.helped[r]).max(0.0) * cost,
            _ => 0.0,
        };
        all.leaving.max(0.0) + astray
    }

    /// Leaves of these masses what a proof shows to be still wrong; returned is what passes, and is not put right.
    fn passed(&self, classes: &[usize], masses: &mut [f64], done: &[bool]) -> Vec<f64> {
        let mut passed = vec![0.0; masses.len()];
        for &c in classes {
            if self.needs[c] == Need::Nothing || self.fixed(c, done) {
                masses[c] = 0.0;
            } else {
                let shown = masses[c] * self.shows[c];
                passed[c] = masses[c] - shown;
                masses[c] = shown;
            }
        }
        passed
    }

    fn reckon(&self, classes: &[usize], masses: &[f64], done: &[bool]) -> Reckoning {
        let mut all = Reckoning { wrong: 0.0, known: 0.0, leaving: 0.0, helped: vec![0.0; self.serves.len()] };
        for &c in classes {
            if self.needs[c] != Need::Nothing {
                all.wrong += masses[c];
                all.known += if self.needs[c] == Need::Unknown { 0.0 } else { masses[c] };
                all.leaving += masses[c] * self.ends[c];
                self.contribute(c, masses[c], done, &mut all.helped);
            }
        }
        all
    }

    /// A further repair is made: what the classes that it serves gave to every repair is taken back, and given anew.
    fn put_right(&self, r: usize, classes: &[usize], masses: &[f64], done: &mut [bool], all: &mut Reckoning) {
        let served = classes
            .iter()
            .filter(|&&c| masses[c] > 0.0 && self.serves[r].binary_search(&c).is_ok() && !self.fixed(c, done));
        let served: Vec<usize> = served.copied().collect();
        for &c in &served {
            self.contribute(c, -masses[c], done, &mut all.helped);
        }
        done[r] = true;
        all.helped[r] = 0.0;
        for &c in &served {
            if self.fixed(c, done) {
                all.wrong -= masses[c];
                all.known -= masses[c];
                all.leaving -= masses[c] * self.ends[c];
            } else {
                self.contribute(c, masses[c], done, &mut all.helped);
            }
        }
        all.wrong = all.wrong.max(0.0);
    }

    fn contribute(&self, class: usize, mass: f64, done: &[bool], helped: &mut [f64]) {
        let Need::Repairs(all) = &self.needs[class] else {
            return;
        };
        if mass == 0.0 {
            return;
        }
        if let [one] = &all[..] {
            if !one.iter().any(|&r| done[r]) {
                for &r in one {
                    helped[r] = settled(helped[r] + mass);
                }
            }
            return;
        }
        let open = || all.iter().filter(|one| !one.iter().any(|&r| done[r]));
        let share = mass / open().count().max(1) as f64;
        for one in open() {
            for &r in one {
                if !done[r] {
                    helped[r] = settled(helped[r] + share);
                }
            }
        }
    }
}

/// Nothing, where only rounding is left.
fn settled(mass: f64) -> f64 {
    if mass < 1e-15 { 0.0 } else { mass }
}
