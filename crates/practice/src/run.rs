//! One visit to a hidden machine, from the complaint to the end, with its minutes.

use halfsplit_diagnosis::{Action, Case, CaseError, Do, Ending, Errand, Observed};
use halfsplit_inference::{Policy, Weighed};
use halfsplit_machine::Mode;
use halfsplit_machine::test::{Measure, PowerState, Test};
use halfsplit_plant::Plant;

use crate::flowchart::{Flowchart, Walk};
use crate::hidden::Hidden;

/// Who says what to do next.
#[derive(Debug, Clone)]
pub enum Guide {
    /// The program, its next test chosen in this way.
    Program(Policy),
    /// A fixed order of tests (indices), passing over those that are expected to yield less than so many nats; the
    /// program's stop rule and repairs.
    Order(Vec<usize>, f64),
    /// A printed chart.
    Chart(Flowchart),
}

/// What happened in one step.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// A test, by index, and what it showed.
    Read(usize, Observed),
    /// A repair, the probability stated for it, whether it put a fault right, and what the proving run showed.
    Mended {
        /// Repair group.
        group: String,
        /// Stated probability that it is needed.
        stated: f64,
        /// It put a hidden fault right.
        right: bool,
        /// The proving run passed.
        proved: bool,
    },
    /// The machine was proved once more before the end, since it had not passed: whether it passed now.
    Proved(bool),
    /// The end, with the stated probability that nothing is wrong (any more).
    Ended(Ending, f64),
    /// More steps than anybody would take.
    GaveUp,
}

/// A visit, told from its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Steps with the minutes that each took.
    pub steps: Vec<(Step, f64)>,
    /// All minutes: tests, access, power states, repairs with their prices, proving runs; if anything that
    /// somebody notices was left, a call-back and the repairs that it leads to.
    pub minutes: f64,
    /// Minutes of the repairs that this machine needs, with their prices and a proving run each: the same whoever is asked.
    pub needed: f64,
    /// Nothing hidden is left.
    pub cured: bool,
    /// Nothing that anybody would notice is left.
    pub quiet: bool,
    /// Repairs that put nothing right.
    pub unneeded: usize,
    /// Of these, those that fit a part: not cleaning, resetting, setting or tightening.
    pub unneeded_parts: usize,
    /// Probability of "something not described" at the end.
    pub not_described: f64,
    /// The likeliest repair after the opening evidence, its probability, and whether it was needed.
    pub first_lead: (f64, bool),
    /// Recommendations asked for.
    pub asked: usize,
}

impl Run {
    /// A visit in which nothing has been done yet.
    pub(crate) fn begun(case: &Case, hidden: &Hidden, plant: &Plant) -> Run {
        Run {
            steps: Vec::new(),
            minutes: 0.0,
            needed: needed(case, hidden, plant),
            cured: false,
            quiet: false,
            unneeded: 0,
            unneeded_parts: 0,
            not_described: 0.0,
            first_lead: (0.0, false),
            asked: 0,
        }
    }

    /// Looks what is left at the end: what somebody would notice costs a call-back, and its repair then.
    pub(crate) fn close(&mut self, case: &Case, hidden: &mut Hidden, plant: &Plant) {
        self.cured = hidden.faults().next().is_none();
        self.quiet = hidden.is_right(plant, Case::NOTICED);
        self.not_described = case.posterior().not_described;
        if !self.quiet {
            // Somebody comes again, and does then what was left undone.
            self.minutes += case.call_back() + needed(case, hidden, plant);
        }
    }

    /// How it ended; `None` if it was given up.
    pub fn ending(&self) -> Option<Ending> {
        self.steps.iter().rev().find_map(|(s, _)| match s {
            Step::Ended(ending, _) => Some(*ending),
            _ => None,
        })
    }

    /// Ended on the right cause, or one with the same repair, at the first repair made.
    pub fn right_at_once(&self) -> bool {
        self.repairs().next().is_some_and(|(_, right)| right)
    }

    /// Ended on the right cause, or one with the same repair: nothing hidden is left, and once it was put right no
    /// part was fitted any more. (Cleaning or setting something beside it is no other cause.)
    pub fn ended_right(&self) -> bool {
        let later = self.steps.iter().rev().map_while(|(step, _)| match step {
            Step::Mended { right: true, .. } => None,
            Step::Mended { group, .. } => Some(fits_a_part(group)),
            _ => Some(false),
        });
        self.cured && !later.into_iter().any(|part| part)
    }

    /// Repairs made, with the stated probability and whether each put a fault right.
    pub fn repairs(&self) -> impl Iterator<Item = (f64, bool)> + '_ {
        self.steps.iter().filter_map(|(s, _)| match s {
            Step::Mended { stated, right, .. } => Some((*stated, *right)),
            _ => None,
        })
    }

    /// Stated probability of the first thing done that was no test (a repair, or an end with nothing broken), and
    /// whether it was right.
    pub fn first_act(&self, healthy: bool) -> Option<(f64, bool)> {
        self.steps.iter().find_map(|(s, _)| match s {
            Step::Mended { stated, right, .. } => Some((*stated, *right)),
            Step::Ended(Ending::NothingBroken, p) => Some((*p, healthy)),
            _ => None,
        })
    }
}

/// What every visit begins with, as far as the machine has it: one without a display has nothing to show.
pub const OPENING: [&str; 3] = ["complaint", "display lit", "display message"];

/// The tests of [`OPENING`] that a case's machine offers, by index.
pub(crate) fn opening(case: &Case) -> Vec<usize> {
    OPENING.iter().filter_map(|id| case.test(id).ok()).collect()
}

/// Whether a repair fits a part, rather than cleaning, resetting, setting or tightening what is there.
fn fits_a_part(group: &str) -> bool {
    let work = ["clean", "reset", "set", "seat", "coil-seat", "connection", "exchange", "supply"];
    group.rsplit('/').next().is_some_and(|what| !work.contains(&what))
}

/// Steps after which a visit is given up.
const MOST_STEPS: usize = 200;

/// Boxes of a chart after which a visit is given up: most of them are passed on what was read before.
const MOST_BOXES: usize = 2000;

/// Makes a visit to a hidden machine. The case must have been opened, or begun anew, under the hidden machine's
/// stated conditions.
///
/// # Errors
/// If the chart names what it does not have.
pub fn run(case: &mut Case, hidden: &mut Hidden, guide: &Guide) -> Result<Run, CaseError> {
    visit(case, hidden, guide, false)
}

/// Makes a visit as far as the first thing done that is no test: for what is stated then, and whether it was right.
///
/// # Errors
/// As [`run`].
pub(crate) fn run_to_first_act(case: &mut Case, hidden: &mut Hidden, guide: &Guide) -> Result<Run, CaseError> {
    visit(case, hidden, guide, true)
}

fn visit(case: &mut Case, hidden: &mut Hidden, guide: &Guide, first_act_only: bool) -> Result<Run, CaseError> {
    let plant = case.plant().clone();
    let mut run = Run::begun(case, hidden, &plant);
    // Where something is known to be wrong and nobody has noticed it, nobody has called, and there is no complaint to tell.
    let nobody_called = case.errand() == Errand::FindIt && hidden.is_right(&plant, Case::NOTICED);
    let complaint = |test: &usize| plant.machine.tests[*test].measure == Measure::Complaint;
    for test in opening(case).into_iter().filter(|test| !(nobody_called && complaint(test))) {
        read(case, hidden, &plant, &mut run, test)?;
    }
    run.first_lead = lead(case, hidden, &plant);
    match guide {
        Guide::Chart(chart) => by_chart(case, hidden, &plant, &mut run, chart)?,
        _ => by_program(case, hidden, &plant, &mut run, guide, first_act_only)?,
    }
    run.close(case, hidden, &plant);
    Ok(run)
}

/// Minutes of the repairs that a hidden machine needs now.
fn needed(case: &Case, hidden: &Hidden, plant: &Plant) -> f64 {
    let mut groups: Vec<&str> = hidden.faults().map(|f| plant.machine.modes[f.0].repair_group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    groups.iter().filter_map(|group| case.minutes_of_repair(group)).sum()
}

/// The failures among the modes of a hypothesis: what has to be put right, and what may be hidden.
pub(crate) fn faults_among<'m>(modes: &'m [Mode], w: &'m Weighed) -> impl Iterator<Item = &'m Mode> {
    let present = w.hypothesis.modes().iter().map(|m| &modes[m.0 as usize]);
    present.filter(|x| !x.nature.harmless())
}

/// The likeliest single repair group now, and whether it is needed.
fn lead(case: &Case, hidden: &Hidden, plant: &Plant) -> (f64, bool) {
    let modes = &plant.machine.modes;
    let mut groups: Vec<(&str, f64)> = Vec::new();
    for w in &case.posterior().hypotheses {
        let mut seen: Vec<&str> = Vec::new();
        for x in faults_among(modes, w) {
            let group = x.repair_group.as_str();
            if !seen.contains(&group) {
                seen.push(group);
                match groups.iter_mut().find(|(g, _)| *g == group) {
                    Some((_, p)) => *p += w.probability,
                    None => groups.push((group, w.probability)),
                }
            }
        }
    }
    let best = groups.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    best.map_or((0.0, false), |(group, p)| (*p, hidden.faults().any(|f| modes[f.0].repair_group == *group)))
}

pub(crate) fn read(
    case: &mut Case,
    hidden: &mut Hidden,
    plant: &Plant,
    run: &mut Run,
    test: usize,
) -> Result<Observed, CaseError> {
    let minutes = case.minutes_of(test);
    let observed = hidden.answer(plant, test, u64::from(case.episode_of(test)));
    case.read(test, observed)?;
    run.minutes += minutes;
    run.steps.push((Step::Read(test, observed), minutes));
    Ok(observed)
}

pub(crate) fn mend(
    case: &mut Case,
    hidden: &mut Hidden,
    plant: &Plant,
    run: &mut Run,
    group: String,
    stated: f64,
) -> Result<bool, CaseError> {
    let minutes = case.minutes_of_repair(&group).ok_or_else(|| CaseError::NoSuchRepair(group.clone()))?;
    let right = hidden.mend(plant, &group);
    case.act(&Action::Mend(group.clone()))?;
    let proved = hidden.is_right(plant, Case::NOTICED);
    case.prove(proved)?;
    run.unneeded += usize::from(!right);
    run.unneeded_parts += usize::from(!right && fits_a_part(&group));
    run.minutes += minutes;
    run.steps.push((Step::Mended { group, stated, right, proved }, minutes));
    Ok(proved)
}

fn by_program(
    case: &mut Case,
    hidden: &mut Hidden,
    plant: &Plant,
    run: &mut Run,
    guide: &Guide,
    first_act_only: bool,
) -> Result<(), CaseError> {
    for _ in 0..MOST_STEPS {
        case.plan_mut().policy = match guide {
            Guide::Program(policy) => policy.clone(),
            Guide::Order(order, skip_below) => {
                Policy::FixedOrder { order: case.queries(order), skip_below: *skip_below }
            }
            Guide::Chart(_) => Policy::ExpectedCost,
        };
        run.asked += 1;
        match case.next_step() {
            Do::Test(t) => {
                read(case, hidden, plant, run, t.test)?;
            }
            Do::Repair { group, probability } => {
                mend(case, hidden, plant, run, group, probability)?;
                if first_act_only {
                    return Ok(());
                }
            }
            // Nobody goes home as done from a machine that did not pass when it was last proved.
            Do::End(Ending::Repaired) if case.last_proof() == Some(false) => {
                let (minutes, proved) = (case.minutes_of_proof(), hidden.is_right(plant, Case::NOTICED));
                case.prove(proved)?;
                run.minutes += minutes;
                run.steps.push((Step::Proved(proved), minutes));
            }
            Do::End(ending) => {
                let nothing = case.still_possible().nothing_broken;
                run.steps.push((Step::Ended(ending, nothing), 0.0));
                return Ok(());
            }
        }
    }
    run.steps.push((Step::GaveUp, 0.0));
    Ok(())
}

fn by_chart(
    case: &mut Case,
    hidden: &mut Hidden,
    plant: &Plant,
    run: &mut Run,
    chart: &Flowchart,
) -> Result<(), CaseError> {
    let mut walk = chart.walk();
    // Where the readings begin that still hold: what the machine shows or does is read anew once it has been changed.
    let mut changed = 0;
    for _ in 0..MOST_BOXES {
        match walk.now() {
            Walk::Test(id) => {
                let test = case.test(id)?;
                let t = &plant.machine.tests[test];
                let since = if holds(plant, t) { 0 } else { changed };
                let earlier: Vec<Observed> = run.steps[since..]
                    .iter()
                    .filter_map(|(s, _)| match s {
                        Step::Read(t, o) if *t == test => Some(*o),
                        _ => None,
                    })
                    .collect();
                let observed = match earlier.last() {
                    Some(o) => *o,
                    None => read(case, hidden, plant, run, test)?,
                };
                let mut arrow = walk.arrow(t, observed);
                if earlier.len() < 2 && arrow.is_some_and(|a| a.again) {
                    let second = read(case, hidden, plant, run, test)?;
                    let once_more = walk.arrow(t, second);
                    // Two that agree are believed; where they do not, a third decides.
                    if once_more != arrow {
                        let third = read(case, hidden, plant, run, test)?;
                        arrow = walk.arrow(t, third);
                    }
                }
                match arrow {
                    Some(arrow) => walk.follow(arrow),
                    None => break,
                }
            }
            Walk::Repair(group) => {
                if mend(case, hidden, plant, run, group.to_owned(), 0.0)? {
                    run.steps.push((Step::Ended(Ending::Repaired, 0.0), 0.0));
                    return Ok(());
                }
                changed = run.steps.len();
                walk.made(group);
            }
            Walk::GoOn => walk.go_on(),
            Walk::Explain => {
                run.steps.push((Step::Ended(Ending::NothingBroken, 0.0), 0.0));
                return Ok(());
            }
            Walk::Stuck => {
                run.steps.push((Step::Ended(Ending::CannotTell, 0.0), 0.0));
                return Ok(());
            }
        }
    }
    run.steps.push((Step::GaveUp, 0.0));
    Ok(())
}

/// Whether what a test has shown still holds after a repair elsewhere: parts measured dead, and what is seen of how they are
/// worn. What the customer noticed he has told, and a message is noted before power is cycled, which may erase it.
fn holds(plant: &Plant, t: &Test) -> bool {
    t.power == PowerState::Dead
        || t.measure.shows_wear(&plant.machine)
        || matches!(t.measure, Measure::Complaint | Measure::ShownCode)
}
