//! The diagnosis behind a job: opened from an event, driven by events, read for views.

use std::rc::Rc;

use halfsplit_diagnosis::{
    Action, Advice, Case, CaseError, Do, Ending, Errand, Judgement, Leaving, Observed, Opening, Possible, Shown,
    Standing, TestAdvice,
};
use halfsplit_journal::{Opened, SkipReason};
use halfsplit_machine::test::{Answer, Measure, Moment, Test, Tool};
use halfsplit_machine::{CommandIx, Conditions, Machine, Role, refrigerant};
use halfsplit_plant::{Electrical, LoopPoint, Plant, Visit, axis_of};
use halfsplit_units::Preferences;

use crate::error::{JobError, What};
use crate::power::{PowerView, step, word};
use crate::view::{
    AlsoTake, AnswerView, EndView, HowBuiltView, Left, MachineView, OutcomeView, ProvedWrongBy, RepairOdds, RepairView,
    RunInView, Speaks, StillPossible, SuspectView, TestView, WayView, WhyView,
};
use crate::words::{self, odds_word};

/// Reads and checks a machine sheet.
///
/// # Errors
/// If it cannot be computed, with the line and what to do.
pub(crate) fn build(sheet: &str) -> Result<Machine, JobError> {
    Machine::build(sheet).map_err(|e| {
        JobError::new(What::Sheet, e.to_string(), "correct the sheet; halfsplit sheet check FILE checks it")
    })
}

/// A suspect that had at least this probability and falls below [`HARDLY`] was ruled out by a reading.
const WAS_POSSIBLE: f64 = 0.02;
const HARDLY: f64 = 0.002;

/// What to say where what is left comes and goes. (Common practice, no source.)
const CATCH_IT: &str = "What is left comes and goes, and it is away now: nothing that could be read here is worth its minutes. Catch \
    it in the act: have the customer write down when it happens, what runs then and what the display shows, and leave it as it \
    is until somebody is there, or leave a meter that records. Come while it fails, and take the same readings.";

/// Ohms that no meter of the trade shows in figures.
const OUT_OF_METERS: f64 = 2e7;

pub(crate) struct Engine {
    case: Case,
    units: Preferences,
    tools: Vec<Tool>,
    /// Tools as carried at the opening, before any was found missing.
    carried: Vec<Tool>,
    /// Repairs made, by their ids.
    mended: Vec<String>,
    /// Tools named at the opening that are no tools of ours.
    pub unknown_tools: Vec<String>,
    conditions: Conditions,
    /// What was worked out, until something happens that it could change with: noting advice in the journal does not.
    known: Known,
}

/// What a view asks for more than once.
#[derive(Default)]
struct Known {
    advice: Option<Rc<Advice>>,
    possible: Option<Rc<Possible>>,
    /// Of the suspect that was asked about last.
    reasons: Option<(String, Rc<Standing>)>,
}

impl Engine {
    pub(crate) fn open(opened: &Opened) -> Result<Engine, JobError> {
        let plant = Plant::new(build(&opened.sheet_text)?).map_err(|e| {
            JobError::new(What::Sheet, e.message, "correct the ratings; halfsplit sheet check FILE checks the sheet")
        })?;
        let c = &opened.conditions;
        let other = |key: &str| c.other.get(key).copied();
        let conditions = Conditions {
            supply_volts: c.supply_volts,
            air: c.ambient,
            outdoor: c.outdoor,
            humidity: c.humidity,
            water_top: c.water,
            water_bottom: other("water_bottom"),
            age_years: opened.machine_age_years.unwrap_or(Conditions::default().age_years),
            recent_work: other("recent_work").is_some_and(|x| x > 0.5),
        };
        let find = |name: &str| Tool::ALL.into_iter().find(|t| t.name() == name);
        // Nobody who says nothing about tools comes without any.
        let tools: Vec<Tool> = if opened.tools_carried.is_empty() {
            Tool::ALL.to_vec()
        } else {
            Tool::ALL.into_iter().filter(|t| opened.tools_carried.iter().any(|n| find(n) == Some(*t))).collect()
        };
        let unknown_tools = opened.tools_carried.iter().filter(|n| find(n).is_none()).cloned().collect();
        // As said in the opening: an inspection, a claim, a second visit.
        let errand = if other("known_wrong").is_some_and(|x| x > 0.5) { Errand::FindIt } else { Errand::Call };
        let opening = Opening { errand, conditions, tools: tools.clone(), judgement: Judgement::default() };
        let case = Case::open(Rc::new(plant), opening);
        Ok(Engine {
            case,
            units: opened.units,
            carried: tools.clone(),
            tools,
            mended: Vec::new(),
            unknown_tools,
            conditions,
            known: Known::default(),
        })
    }

    /// The case, for something that what is known of it can change with.
    fn changing(&mut self) -> &mut Case {
        self.known = Known::default();
        &mut self.case
    }

    /// Back to the opening. What was worked out is kept: that saves time and changes no answer.
    pub(crate) fn begin_again(&mut self) {
        self.changing().begin_again();
        self.tools = self.carried.clone();
        self.mended.clear();
    }

    /// Takes the outcome of a proving run in.
    pub(crate) fn prove(&mut self, passed: bool) -> Result<(), JobError> {
        self.changing().prove(passed).map_err(|e| JobError::new(What::Reading, e.to_string(), ""))
    }

    pub(crate) fn machine(&self) -> &Machine {
        &self.case.plant().machine
    }

    pub(crate) fn machine_view(&self) -> MachineView {
        let about = &self.machine().sheet.machine;
        MachineView { name: about.name.clone(), kind: about.kind.clone(), note: about.note.clone() }
    }

    /// The circuit of a sound machine while something is commanded, or at rest; in each way in which it may be built, most
    /// probable first. Empty where no such phase comes about.
    pub(crate) fn electrical(&self, command: Option<CommandIx>, moment: Moment) -> Vec<Electrical> {
        let plant = self.case.plant();
        let in_this_way = |sound: Vec<f64>| {
            let operation = plant.operate(&sound, &Visit { conditions: self.conditions, reset: true });
            plant.electrical(&sound, &operation, command, moment)
        };
        self.case.sound_as_built().into_iter().filter_map(in_this_way).collect()
    }

    /// The loop's operating point on a sound machine when the first command that runs the compressor has settled.
    pub(crate) fn settled_point(&self) -> Option<LoopPoint> {
        let plant = self.case.plant();
        let sound = plant.machine.sound();
        let operation = plant.operate(&sound, &Visit { conditions: self.conditions, reset: true });
        (0..plant.machine.commands.len())
            .filter_map(|c| plant.timeline(&sound, &operation, c)?.settled())
            .find(|p| p.point.converged && p.point.flow > 0.0)
            .map(|p| p.point)
    }

    /// Whether a reading lies outside of what a sound machine shows; `None` for words and where there is no band.
    pub(crate) fn outside(&self, test: usize, observed: &Observed, band: Option<(f64, f64)>) -> Option<bool> {
        let (low, high) = band?;
        let axis = axis_of(&self.tests()[test])?;
        Some(match observed {
            Observed::Value(x) => !(low..=high).contains(&axis.from(*x)),
            Observed::AtLeast(x) => axis.from(*x) > high,
            Observed::AtMost(x) => axis.from(*x) < low,
            Observed::Between(a, b) => axis.from(*a) > high || axis.from(*b) < low,
            // Where a sound one may show OL too, its band reaches beyond any meter.
            Observed::Over => high < OUT_OF_METERS,
            _ => return None,
        })
    }

    pub(crate) fn units(&self) -> Preferences {
        self.units
    }

    pub(crate) fn show_in(&mut self, units: Preferences) {
        self.units = units;
    }

    pub(crate) fn test(&self, id: &str) -> Result<usize, JobError> {
        self.case.test(id.trim()).map_err(|e| {
            let hint = match &e {
                CaseError::NoSuchTest { near, .. } if near.is_empty() => "search the tests by what they are about",
                _ => "type the id as it stands there, or search for it",
            };
            JobError::new(What::NoSuchName, e.to_string(), hint)
        })
    }

    pub(crate) fn tests(&self) -> &[Test] {
        self.case.tests()
    }

    /// The role of the part that a test looks at.
    pub(crate) fn role(&self, test: usize) -> Option<&Role> {
        let part = match &self.tests()[test].measure {
            Measure::Look { part, .. } | Measure::Behaviour(part) | Measure::ShownTemperature(part) => *part,
            Measure::WaterRise(_, Some(part)) => *part,
            Measure::LeadAmps(part, _) | Measure::Insulation(part, _) => *part,
            Measure::PartOhms(part, ..) | Measure::PlugOhms(part, ..) | Measure::PartFarads(part, ..) => *part,
            _ => return None,
        };
        Some(&self.machine().parts[part.0].role)
    }

    pub(crate) fn observation(&self, test: usize, typed: &str) -> Result<Observed, JobError> {
        let code = self.tests()[test].measure == Measure::ShownCode;
        // A code of the sheet's table is read as the detection that it stands for.
        let typed = if code { self.machine().shown_for_code(typed).unwrap_or(typed) } else { typed };
        self.case.observation(test, typed).map_err(|e| {
            if code {
                return JobError::new(
                    What::Reading,
                    e.to_string(),
                    format!("enter it as a note, and skip this reading. {}", self.machine().about_code(typed)),
                );
            }
            let hint = match &self.tests()[test].answer {
                Answer::Words(_) => "type one of the words, its beginning, or its number in the list".to_owned(),
                Answer::Number(_) => format!("the test is \"{}\"; enter another one by its id", self.tests()[test].id),
            };
            JobError::new(What::Reading, e.to_string(), hint)
        })
    }

    pub(crate) fn understood(&self, test: usize, observed: &Observed) -> String {
        words::understood(&self.tests()[test], observed, &self.units)
    }

    pub(crate) fn band(&mut self, test: usize) -> Option<(f64, f64)> {
        self.case.expected_band(test)
    }

    pub(crate) fn band_in_words(&self, test: usize, band: (f64, f64)) -> String {
        words::band(&self.tests()[test], band.0, band.1, &self.units)
    }

    /// Takes a reading in and says whom it ruled out.
    pub(crate) fn read(&mut self, test: usize, observed: Observed) -> Result<Vec<String>, JobError> {
        let before = self.still_possible();
        self.changing()
            .read(test, observed)
            .map_err(|e| JobError::new(What::Reading, e.to_string(), "check the reading and enter it again"))?;
        let after = self.still_possible();
        Ok(before
            .suspects
            .iter()
            .filter(|s| s.probability >= WAS_POSSIBLE)
            .filter(|s| after.suspects.iter().find(|a| a.id == s.id).is_none_or(|a| a.probability < HARDLY))
            .map(|s| s.name.clone())
            .collect())
    }

    /// Takes a test off the list, and those that the same reason rules out.
    pub(crate) fn skip(&mut self, test: usize, reason: &SkipReason) {
        let (tool, place) = (self.tests()[test].tool, self.tests()[test].place);
        let same: Vec<usize> = match reason {
            SkipReason::NoTool if tool.is_some() => {
                self.tools.retain(|t| Some(*t) != tool);
                (0..self.tests().len()).filter(|t| self.tests()[*t].tool == tool).collect()
            }
            SkipReason::CannotReach if place.0 > 0 => {
                let m = self.machine();
                (0..m.tests.len()).filter(|t| m.way_to(m.tests[*t].place).contains(&place)).collect()
            }
            _ => vec![test],
        };
        for t in same {
            self.changing().refuse(t);
        }
    }

    pub(crate) fn minutes_left(&mut self, minutes: Option<f64>) {
        self.changing().minutes_left(minutes);
    }

    pub(crate) fn reset(&mut self) -> Result<(), JobError> {
        self.changing().act(&Action::Reset).map_err(|e| JobError::new(What::NoSuchName, e.to_string(), ""))?;
        Ok(())
    }

    pub(crate) fn mend(&mut self, repair: &str) -> Result<(), JobError> {
        self.changing()
            .act(&Action::Mend(repair.to_owned()))
            .map_err(|e| JobError::new(What::NoSuchName, e.to_string(), ""))?;
        self.mended.push(repair.to_owned());
        Ok(())
    }

    /// The repair that a part and a word for what was done stand for.
    pub(crate) fn repair(&self, part: &str, what: &str) -> Result<String, JobError> {
        let faults = self.machine().modes.iter().filter(|m| !m.nature.harmless());
        let mut groups: Vec<&str> = faults.map(|m| m.repair_group.as_str()).collect();
        groups.sort_unstable();
        groups.dedup();
        let of_part: Vec<&str> =
            groups.iter().copied().filter(|g| g.rsplit_once('/').is_some_and(|(p, _)| p == part)).collect();
        let exact = |wanted: &str| groups.iter().copied().find(|g| *g == wanted);
        if let Some(g) = exact(part).or_else(|| exact(what)).or_else(|| exact(&format!("{part}/{what}"))) {
            return Ok(g.to_owned());
        }
        match of_part[..] {
            [only] if what.is_empty() => Ok(only.to_owned()),
            [] => Err(JobError::new(
                What::NoSuchName,
                format!("no repair of this machine is called \"{}\"", [part, what].join(" ").trim()),
                "the suspects name their repairs, for example \"did PART/replace\"",
            )),
            _ => Err(JobError::new(
                What::NoSuchName,
                format!("{part} can be repaired in these ways: {}", of_part.join(", ")),
                "say which of them was done",
            )),
        }
    }

    /// What a repair is called, what shows that it was right, and what to look for upstream.
    pub(crate) fn repair_words(&self, id: &str) -> (String, String, Vec<String>, f64) {
        let m = self.machine();
        let modes: Vec<_> = m.modes.iter().filter(|x| x.repair_group == id).collect();
        let Some(likeliest) = self.case.likeliest_in(id).map(|i| &m.modes[i]) else {
            return (id.to_owned(), String::new(), Vec::new(), 0.0);
        };
        let part = &m.parts[likeliest.part.0];
        let mut upstream: Vec<String> = Vec::new();
        for x in &modes {
            if !x.upstream.is_empty() && !upstream.iter().any(|u| u == x.upstream) {
                upstream.push(x.upstream.to_owned());
            }
        }
        let mut what = format!("{} {}: {}", part.name, part.id, likeliest.repair.what);
        let burns = refrigerant::burns(m.sheet.nameplate.refrigerant.as_deref()) != refrigerant::Burns::No;
        if burns && opens_the_circuit(likeliest.repair.what) {
            what.push_str(". ");
            what.push_str(refrigerant::OPENING_IT);
        }
        (what, likeliest.proof.to_owned(), upstream, likeliest.repair.minutes)
    }

    fn still_possible(&mut self) -> Rc<Possible> {
        Rc::clone(self.known.possible.get_or_insert_with(|| Rc::new(self.case.still_possible())))
    }

    fn reasons(&mut self, suspect: &str) -> Option<Rc<Standing>> {
        match &self.known.reasons {
            Some((of, reasons)) if of == suspect => Some(Rc::clone(reasons)),
            _ => {
                let reasons = Rc::new(self.case.reasons(suspect)?);
                self.known.reasons = Some((suspect.to_owned(), Rc::clone(&reasons)));
                Some(reasons)
            }
        }
    }

    pub(crate) fn possible(&mut self) -> StillPossible {
        let p = self.still_possible();
        StillPossible {
            suspects: p
                .suspects
                .iter()
                .cloned()
                .map(|s| SuspectView {
                    percent: 100.0 * s.probability,
                    odds: odds_word(s.probability),
                    id: s.id,
                    name: s.name,
                    degree: s.level.to_owned(),
                    cause: s.cause.to_owned(),
                    upstream: s.upstream.to_owned(),
                    repair: s.repair.to_owned(),
                    repair_id: s.repair_group,
                    proof: s.proof.to_owned(),
                    intermittent: s.intermittent,
                })
                .collect(),
            nothing_broken: 100.0 * p.nothing_broken,
            not_described: 100.0 * p.not_described,
            not_described_like: p.not_described_like.clone(),
            not_worked_out_at_most: 100.0 * p.not_worked_out,
            repairs: p.repairs.iter().map(|(id, q)| RepairOdds { id: id.clone(), percent: 100.0 * q }).collect(),
            how_built: p
                .how_built
                .iter()
                .map(|h| HowBuiltView {
                    id: h.id.clone(),
                    question: h.question.clone(),
                    ways: h.ways.iter().map(|(says, q)| WayView { says: says.clone(), percent: 100.0 * q }).collect(),
                })
                .collect(),
        }
    }

    pub(crate) fn advice(&mut self) -> Rc<Advice> {
        Rc::clone(self.known.advice.get_or_insert_with(|| Rc::new(self.case.advice())))
    }

    pub(crate) fn think_ahead(&mut self, test: &str) {
        if let Ok(test) = self.case.test(test) {
            self.case.think_ahead(test);
        }
    }

    /// Works out what follows from one of the outcomes of the recommended test, the likeliest first, so that it is there
    /// when that comes; whether there are more of them.
    pub(crate) fn think_through(&mut self, test: &str, outcome: usize) -> bool {
        let advice = self.advice();
        let Do::Test(t) = &advice.next else { return false };
        if self.tests()[t.test].id != test {
            return false;
        }
        let mut order: Vec<&Leaving> = t.outcomes.iter().collect();
        order.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        let Some(leaving) = order.get(outcome) else { return false };
        // A number is not known before it is read.
        let observed = match &leaving.shown {
            Shown::Word(word) => self.case.observation(t.test, word).ok(),
            Shown::Over => Some(Observed::Over),
            Shown::Under | Shown::Range(..) => None,
        };
        if let Some(observed) = observed {
            // What cannot be a reading of this test has nothing that follows from it.
            let _ = self.case.suppose(t.test, observed);
        }
        outcome + 1 < order.len()
    }

    /// Works out what follows from repairs that are made at once, one after the other, as far as that can be done before
    /// the first is made.
    pub(crate) fn think_of_repair(&mut self, repair: &str) {
        // What is no repair has nothing that follows from it.
        let _ = self.case.suppose_done(&Action::Mend(repair.to_owned()));
    }

    /// Works out what follows from a proving run.
    pub(crate) fn think_of_proof(&mut self, passed: bool) {
        let _ = self.case.suppose_proof(passed);
    }

    /// Works out what would follow from a reading as typed.
    pub(crate) fn think_of(&mut self, test: &str, typed: &str) {
        let Ok(test) = self.test(test) else { return };
        if let Ok(observed) = self.observation(test, typed) {
            // What cannot be a reading of this test has nothing that follows from it.
            let _ = self.case.suppose(test, observed);
        }
    }

    pub(crate) fn also(&self, bundle: &[(usize, f64)]) -> Vec<AlsoTake> {
        bundle
            .iter()
            .map(|(t, minutes)| AlsoTake {
                test: self.tests()[*t].id.clone(),
                title: self.tests()[*t].title.clone(),
                minutes: *minutes,
            })
            .collect()
    }

    pub(crate) fn about(&mut self, test: usize) -> TestAdvice {
        self.case.about(test)
    }

    /// A test as it is shown.
    pub(crate) fn test_view(&mut self, a: &TestAdvice, power: &PowerView, proving: bool) -> TestView {
        let band = self.band(a.test).map(|b| self.band_in_words(a.test, b));
        let (m, t) = (self.machine(), &self.tests()[a.test]);
        let missing = power.missing_for(t, self.role(a.test));
        let mut first: Vec<String> = missing.iter().map(|k| sentence(step(*k))).collect();
        let command = t.command.map(|c| &m.commands[c.0]);
        if let Some(c) = command {
            first.push(format!("{}: {}", sentence(&c.name).trim_end_matches('.'), c.how));
        }
        if t.moment == Moment::Settled {
            first.push("Let it run fifteen minutes or more, until it has settled.".to_owned());
        }
        if let Some(wait) = &a.wait {
            // The machine stays as it was told; nothing else is to be done first.
            first.push(format!(
                "{}: maybe nothing is broken, and it is only {}. If so, {}.",
                sentence(wait.what).trim_end_matches('.'),
                wait.name,
                wait.over
            ));
        }
        let outcomes = self.outcomes(a);
        TestView {
            id: t.id.clone(),
            title: t.title.clone(),
            how: t.how.clone(),
            place: m.places[t.place.0].name.clone(),
            open: a.open.iter().map(|p| m.places[p.0].name.clone()).collect(),
            tool: t.tool.map(|t| t.name().to_owned()),
            power: words::power(t),
            command: command.map(|c| c.name.clone()),
            first,
            report_first: missing.into_iter().map(word).collect(),
            cautions: self.case.cautions(a.test).into_iter().map(|h| words::caution(h, t.power).to_owned()).collect(),
            minutes: a.minutes,
            answer: match &t.answer {
                Answer::Number(d) => {
                    AnswerView::Number { of: d.in_words().to_owned(), example: d.example().to_owned() }
                }
                Answer::Words(w) => AnswerView::Words { words: w.clone() },
            },
            if_healthy: band,
            outcomes,
            proving,
            run_in: a.run_in.map(|left| RunInView {
                words: words::run_in(left),
                again: left.again,
                readings: left.readings,
                minutes: left.minutes,
            }),
        }
    }

    /// Outcomes of less than three in a thousand are left out.
    fn outcomes(&self, a: &TestAdvice) -> Vec<OutcomeView> {
        let (m, t) = (self.machine(), &self.tests()[a.test]);
        let name =
            |id: &str| m.modes.iter().find(|x| x.name_id == id).map_or_else(|| id.to_owned(), |x| x.name.clone());
        let put_right = |id: &str| {
            let done = |i| self.mended.iter().any(|group| m.puts_right(group).any(|mode| mode.0 == i));
            m.modes.iter().enumerate().filter(|(_, x)| x.name_id == id).all(|(i, _)| done(i))
        };
        let mut kept: Vec<_> = a.outcomes.iter().filter(|o| o.probability >= 0.003).collect();
        // Along the scale of the meter: words and OL keep their places.
        let along = |o: &Leaving| match o.shown {
            Shown::Under => f64::NEG_INFINITY,
            Shown::Range(low, high) => low.or(high).unwrap_or(0.0),
            Shown::Over => f64::INFINITY,
            Shown::Word(_) => 0.0,
        };
        kept.sort_by(|x, y| along(x).total_cmp(&along(y)));
        kept.into_iter()
            .map(|o| {
                let (low, high) = match o.shown {
                    Shown::Range(low, high) => (low, high),
                    _ => (None, None),
                };
                OutcomeView {
                    shows: words::shown(t, &o.shown, &self.units),
                    low,
                    high,
                    percent: 100.0 * o.probability,
                    leaves: o
                        .left
                        .iter()
                        .filter(|(id, _)| !put_right(id))
                        .map(|(id, p)| Left { id: id.clone(), name: name(id), percent: 100.0 * p })
                        .collect(),
                    nothing_broken: 100.0 * o.nothing_broken,
                    not_described: 100.0 * o.not_described,
                }
            })
            .collect()
    }

    pub(crate) fn repair_view(&self, id: &str, probability: f64, possible: &StillPossible) -> RepairView {
        let (what, proof, upstream, minutes) = self.repair_words(id);
        let puts_right = possible.suspects.iter().filter(|s| s.repair_id == id).map(|s| s.name.clone()).collect();
        RepairView {
            id: id.to_owned(),
            part: id.rsplit_once('/').map_or(id, |(p, _)| p).to_owned(),
            what,
            percent: 100.0 * probability,
            odds: odds_word(probability),
            minutes,
            puts_right,
            upstream,
            proof,
        }
    }

    /// How a sound machine would warm its tank now, in words.
    pub(crate) fn expected_run(&self) -> Vec<String> {
        self.case
            .sound_run()
            .map_or_else(Vec::new, |run| crate::proving::expected(&run, self.conditions.air, &self.units))
    }

    /// A proposed ending in words. `refused` are the titles of tests that were not made.
    pub(crate) fn end_view(&mut self, ending: Ending, refused: &[String]) -> EndView {
        let mut get = Vec::new();
        let shows = self.case.by_design();
        let by_design = format!(
            "Nothing is broken. In these conditions a sound machine shows \"{}\": it is built so. Tell the customer why.",
            shows.join("\", \"")
        );
        let found_in = self.case.state_by_design().filter(|s| s.1 > 0.5).map(|(state, _)| {
            format!(
                "Nothing is broken. It was found in a state that it is built for: {} ({}). Tell the customer how long that takes and \
                 what shows that it is over: {}.",
                state.name, state.cause, state.proof
            )
        });
        let (ending, words) = match ending {
            Ending::NothingBroken if found_in.is_some() => ("nothing_broken", found_in.as_deref().unwrap_or_default()),
            Ending::Repaired => (
                "repaired",
                "What was wrong has been put right, and nothing speaks against it. Leave its settings as the customer wants them.",
            ),
            Ending::NothingBroken if !shows.is_empty() => ("nothing_broken", by_design.as_str()),
            Ending::NothingBroken => {
                ("nothing_broken", "Nothing is broken. Show the customer how it is meant to work.")
            }
            Ending::CannotTell => {
                for tool in Tool::ALL.into_iter().filter(|t| !self.tools.contains(t)) {
                    let tests = self.tests().iter().filter(|t| t.tool == Some(tool)).count();
                    if tests > 0 {
                        get.push(format!("{} ({tests} tests need it)", tool.name()));
                    }
                }
                get.extend(refused.iter().map(|t| format!("what it takes to make this test: {t}")));
                if get.is_empty() {
                    get.push("somebody who knows this model, with the maker's own service literature".to_owned());
                }
                let words = match rather_comes_and_goes(&self.still_possible()) {
                    true => CATCH_IT,
                    false => {
                        "It cannot be told with what is at hand: nothing more that could be read is worth its minutes. Make it safe, and get what is listed."
                    }
                };
                ("cannot_tell", words)
            }
        };
        EndView { ending, words: words.to_owned(), get }
    }

    /// Why a suspect stands where it stands; `read` gives for each reading its test and what was read.
    pub(crate) fn why(&mut self, suspect: &str, read: &[(String, String)]) -> Option<WhyView> {
        let standing = self.reasons(suspect)?;
        let possible = self.still_possible();
        let name = self.machine().modes.iter().find(|x| x.name_id == suspect).map(|x| x.name.clone())?;
        let now = possible.suspects.iter().find(|s| s.id == suspect).map_or(0.0, |s| s.probability);
        let readings = standing
            .readings
            .iter()
            .zip(read)
            .map(|(r, (test, read))| Speaks {
                test: test.clone(),
                read: read.clone(),
                factor: libm::exp(r.weight),
                words: words::speaks(r.weight),
            })
            .collect();
        // What has been put right, or was never likely, nobody has to prove wrong.
        let in_doubt = now >= HARDLY;
        let proved_wrong_by = in_doubt.then(|| self.case.refutation(suspect)).flatten().map(|r| {
            let t = &self.tests()[r.test];
            ProvedWrongBy {
                test: t.id.clone(),
                title: t.title.clone(),
                shows: words::shown(t, &r.shown, &self.units),
                percent: 100.0 * r.probability,
                leaves: 100.0 * r.leaves,
            }
        });
        Some(WhyView {
            suspect: suspect.to_owned(),
            name,
            before: 100.0 / (1.0 + libm::exp(-standing.before)),
            now: 100.0 * now,
            readings,
            proved_wrong_by,
        })
    }
}

/// Whether refrigerant gets out, or may, in a repair: these say so.
fn opens_the_circuit(repair: &str) -> bool {
    ["recover", "charge", "under pressure"].iter().any(|word| repair.contains(word))
}

/// Whether what is left is more likely something that comes and goes than something that is there all the time.
fn rather_comes_and_goes(possible: &Possible) -> bool {
    let of = |comes: bool| possible.suspects.iter().filter(move |s| s.intermittent == comes);
    let share = |comes: bool| of(comes).map(|s| s.probability).sum::<f64>();
    share(true) > share(false).max(possible.not_described)
}

fn sentence(s: &str) -> String {
    let mut c = s.chars();
    let first: String = c.next().map(|f| f.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", c.as_str().trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use halfsplit_diagnosis::Suspect;
    use halfsplit_machine::Nature;
    use halfsplit_machine::examples::example;

    use super::*;

    fn left(suspects: &[(bool, f64)], not_described: f64) -> Possible {
        let suspect = |&(intermittent, probability): &(bool, f64)| Suspect {
            id: "X:y".to_owned(),
            name: "something".to_owned(),
            probability,
            level: "",
            cause: "",
            upstream: "",
            repair: "",
            repair_group: "X/y".to_owned(),
            proof: "",
            intermittent,
            nature: Nature::Fault,
        };
        Possible {
            suspects: suspects.iter().map(suspect).collect(),
            nothing_broken: 0.0,
            not_described,
            not_described_like: None,
            not_worked_out: 0.0,
            repairs: Vec::new(),
            how_built: Vec::new(),
        }
    }

    #[test]
    fn caught_in_the_act_is_what_rather_comes_and_goes() {
        assert!(rather_comes_and_goes(&left(&[(true, 0.3), (false, 0.35), (true, 0.2)], 0.1)));
        assert!(!rather_comes_and_goes(&left(&[(true, 0.3), (false, 0.35)], 0.1)));
        assert!(!rather_comes_and_goes(&left(&[(true, 0.2)], 0.6)), "what nobody described is not waited for");
        assert!(!rather_comes_and_goes(&left(&[], 0.0)));
    }

    /// Judgement: what has to be opened for the part to come off, told part by part by hand.
    #[test]
    fn repairs_that_open_a_flammable_circuit_say_so() {
        let machine = build(example("mini-split").expect("an example").text).expect("its sheet");
        let what = |group: &str| {
            let mode = machine.modes.iter().find(|x| x.repair_group == group);
            mode.unwrap_or_else(|| panic!("no repair {group}")).repair.what
        };
        let opens = ["COMP/replace", "RV/body", "EEV/body", "CHARGE/recharge", "CHARGE/drier", "PORTS/core"];
        let closed = ["FILTER/clean", "EEV/coil", "RV/coil", "T5/replace", "OFAN/replace", "SET/set", "OBOARD/replace"];
        for group in opens {
            assert!(opens_the_circuit(what(group)), "{group}: {}", what(group));
        }
        for group in closed {
            assert!(!opens_the_circuit(what(group)), "{group}: {}", what(group));
        }
    }
}
