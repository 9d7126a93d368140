//! A job: its journal, and what follows from it.

use halfsplit_diagnosis::Do;
use halfsplit_journal::{
    Action, ActionKind, Ending, Event, EventId, Journal, Kind, Opened, Proposal, Reading, SafetyKind, SkipReason,
    effective, undone,
};
use halfsplit_machine::Machine;
use halfsplit_machine::test::Answer;
use halfsplit_units::{Dimension, Entry, Preferences, magnitude_query, parse_entry, show};

use crate::engine::{Engine, build};
use crate::error::{JobError, What};
use crate::pictures::{CycleView, LoopView, WiringView};
use crate::power::PowerView;
use crate::view::{
    Done, EndedView, Next, NotMade, Note, OpeningView, ProveView, ProvingRunView, ReadingView, SetAside, SupposeView,
    TestView, View, WhyView,
};
use crate::words;

/// A job. Everything in it follows from its journal.
pub struct Job {
    journal: Journal,
    standing: Standing,
    /// Units in which this reader wants values, where they are not those of the opening.
    shown_in: Option<Preferences>,
}

/// What follows from the events that stand.
#[derive(Default)]
struct Standing {
    engine: Option<Result<Engine, JobError>>,
    shown_in: Option<Preferences>,
    /// The engine of the same opening from before an undo, or from a draft.
    made: Option<Result<Engine, JobError>>,
    /// Test and what was read, for each thing that the engine has been told, proving runs among them.
    told: Vec<(String, String)>,
    opening: Option<OpeningView>,
    power: PowerView,
    readings: Vec<ReadingView>,
    not_made: Vec<NotMade>,
    done: Vec<Done>,
    proving_runs: Vec<ProvingRunView>,
    notes: Vec<Note>,
    epoch: usize,
    last_advice: Option<(String, Proposal)>,
    ended: Option<EndedView>,
    set_aside: Vec<SetAside>,
}

/// A question about a number that looks off by a power of ten.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct AskBack {
    /// How many times too large it looks.
    pub times: f64,
    /// What was typed, as understood.
    pub read: String,
    /// What was perhaps meant.
    pub perhaps: String,
    /// What a sound machine would show.
    pub if_healthy: String,
}

/// A test found by words.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Found {
    /// Id.
    pub id: String,
    /// What it is.
    pub title: String,
    /// Where.
    pub place: String,
    /// "live", "dead" or "any".
    pub power: &'static str,
    /// Minutes for itself, access and set-up not included.
    pub minutes: f64,
}

/// Reads and checks the text of a machine sheet.
///
/// # Errors
/// [`JobError`] of kind [`What::Sheet`]: the line and what to do.
pub fn sheet_of(text: &str) -> Result<Machine, JobError> {
    build(text)
}

impl Job {
    /// A job with nothing in it yet.
    #[must_use]
    pub fn new(name: impl Into<String>) -> Job {
        Job { journal: Journal::new(name), standing: Standing::default(), shown_in: None }
    }

    /// Goes by what a draft of this job has worked out already, if it was opened in the same way as this one is going to be:
    /// on the same sheet, in the same conditions, with the same tools. Saves time, and changes no view.
    pub fn made_ready(&mut self, draft: Job, opening: &Opened) -> bool {
        let same = |o: &Opened| {
            let of =
                |o: &Opened| (o.sheet_text.clone(), o.machine_age_years, o.conditions.clone(), o.tools_carried.clone());
            of(o) == of(opening)
        };
        let fits = draft.journal.events.iter().any(|e| matches!(&e.kind, Kind::Opened(o) if same(o)));
        match draft.standing.engine {
            Some(Ok(engine)) if fits && self.journal.events.is_empty() => {
                self.standing.made = Some(Ok(engine));
                true
            }
            _ => false,
        }
    }

    /// The job as its journal leaves it. Events that cannot be taken in are listed in
    /// [`View::set_aside`]; a sheet that this version cannot compute leaves a job that can still be read.
    ///
    /// # Errors
    /// If the journal holds no opening.
    pub fn replay(journal: &Journal) -> Result<Job, JobError> {
        if !effective(&journal.events).iter().any(|e| matches!(e.kind, Kind::Opened(_))) {
            return Err(JobError::new(
                What::Journal,
                format!("the journal of job \"{}\" holds no opening", journal.header.job),
                "its first lines are lost or were never written: begin a new job, and look at the file for what it still says",
            ));
        }
        let mut job = Job { journal: journal.clone(), standing: Standing::default(), shown_in: None };
        job.rebuild();
        Ok(job)
    }

    /// The journal.
    #[must_use]
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    /// The text of the machine sheet that the job was opened with.
    #[must_use]
    pub fn sheet_text(&self) -> Option<&str> {
        self.journal.events.iter().find_map(|e| match &e.kind {
            Kind::Opened(o) => Some(o.sheet_text.as_str()),
            _ => None,
        })
    }

    /// Whether an event could be taken in now. Nothing changes.
    ///
    /// # Errors
    /// Why not, and what to do.
    pub fn check(&self, kind: &Kind) -> Result<(), JobError> {
        let s = &self.standing;
        match (kind, &s.opening) {
            // What was made ready has been opened so already.
            (Kind::Opened(_), None) if matches!(s.made, Some(Ok(_))) => return Ok(()),
            (Kind::Opened(o), None) => return Engine::open(o).map(drop),
            (Kind::Opened(_), Some(_)) => {
                return Err(JobError::new(What::Opening, "this job is open already", "begin a new job"));
            }
            (_, None) => {
                return Err(JobError::new(
                    What::Opening,
                    "this job has not been opened",
                    "open it with a machine sheet first",
                ));
            }
            _ => {}
        }
        if let Kind::Undone { event } = kind {
            return self.undoable(event);
        }
        if s.ended.is_some() && !matches!(kind, Kind::Observation(_) | Kind::Photo(_) | Kind::Advised(_)) {
            return Err(JobError::new(
                What::Closed,
                "this job is closed",
                "undo the ending to go on with it, or begin a new job",
            ));
        }
        match kind {
            Kind::Reading(r) => {
                let engine = s.engine()?;
                let test = engine.test(&r.test)?;
                s.power.permits(&engine.tests()[test], engine.role(test))?;
                engine.observation(test, &r.as_typed).map(drop)
            }
            Kind::Skipped(x) => s.engine()?.test(&x.test).map(drop),
            Kind::SafetyReport(r) => s.power.allows(r.kind),
            Kind::Repaired(r) => s.engine()?.repair(&r.part, &r.what).map(drop),
            Kind::Action(a) => s.effect(a).map(drop),
            Kind::ProvingRun(_) if s.done.is_empty() => Err(JobError::new(
                What::NoSuchName,
                "nothing has been done yet that a run could prove",
                "enter the repair or the reset first, or what was seen as a reading",
            )),
            Kind::FactLearned(f) if f.name == MINUTES_LEFT => minutes(&f.as_typed).map(drop),
            Kind::Ended(e) if e.ending == Ending::Repaired && s.done.iter().all(|d| d.repair.is_none()) => {
                Err(JobError::new(
                    What::Closed,
                    "nothing has been repaired as far as this job knows",
                    "enter the repair first (did …), or choose another ending",
                ))
            }
            _ => Ok(()),
        }
    }

    fn undoable(&self, event: &EventId) -> Result<(), JobError> {
        let no = |what: String| Err(JobError::new(What::NoSuchName, what, "name an event that stands"));
        match self.journal.events.iter().find(|e| &e.id == event) {
            None => no(format!("there is no event \"{event}\" in this job")),
            Some(e) if matches!(e.kind, Kind::Opened(_)) => Err(JobError::new(
                What::Opening,
                "the opening cannot be taken back",
                "end this job and begin a new one",
            )),
            Some(_) if undone(&self.journal.events).contains(event) => {
                no(format!("event \"{event}\" was taken back already"))
            }
            Some(_) => Ok(()),
        }
    }

    /// Takes an event in and answers with the new view.
    ///
    /// # Errors
    /// As [`Job::check`]; then nothing has changed.
    pub fn apply(&mut self, event: Event) -> Result<View, JobError> {
        self.take_in(event)?;
        Ok(self.view())
    }

    /// Takes an event in without working out a view.
    ///
    /// # Errors
    /// As [`Job::check`]; then nothing has changed.
    pub fn take_in(&mut self, event: Event) -> Result<(), JobError> {
        self.check(&event.kind)?;
        if matches!(event.kind, Kind::Undone { .. }) {
            self.journal.events.push(event);
            self.rebuild();
        } else {
            self.standing.enter(&event)?;
            self.journal.events.push(event);
        }
        Ok(())
    }

    fn rebuild(&mut self) {
        let mut standing = Standing::default();
        // The opening cannot be undone, so that the engine that it made serves again.
        standing.made = self.standing.engine.take();
        standing.shown_in = self.shown_in;
        for event in effective(&self.journal.events) {
            if let Err(e) = standing.enter(event) {
                standing.set_aside.push(SetAside { event: event.id.to_string(), why: e.what });
            }
        }
        self.standing = standing;
    }

    /// Shows every value in these units from now on, earlier readings too; none: in those of the opening. A reader's
    /// choice and no event: the journal stays as it is.
    pub fn show_in(&mut self, units: Option<Preferences>) {
        if self.shown_in != units {
            self.shown_in = units;
            self.rebuild();
        }
    }

    /// The units in which values are shown; none before the job is opened.
    #[must_use]
    pub fn shown_in(&self) -> Option<Preferences> {
        self.standing.engine().ok().map(Engine::units)
    }

    /// The latest event that somebody may want to take back: not the opening, no advice, none undone.
    #[must_use]
    pub fn latest(&self) -> Option<&Event> {
        effective(&self.journal.events)
            .into_iter()
            .rev()
            .find(|e| !matches!(e.kind, Kind::Opened(_) | Kind::Advised(_) | Kind::Unknown(_)))
    }

    /// Tests of this machine with all of these words in their id, title or description, the shorter ids first.
    #[must_use]
    pub fn find(&self, words: &str) -> Vec<Found> {
        let Ok(engine) = self.standing.engine() else { return Vec::new() };
        let words: Vec<String> = words.to_lowercase().split_whitespace().map(str::to_owned).collect();
        let mut found: Vec<(usize, Found)> = engine
            .tests()
            .iter()
            .filter_map(|t| {
                let near = format!("{} {}", t.id, t.title).to_lowercase();
                let far = format!("{near} {}", t.how.to_lowercase());
                if !words.iter().all(|w| far.contains(w.as_str())) {
                    return None;
                }
                let rank = words.iter().filter(|w| !near.contains(w.as_str())).count() * 1000 + t.id.len();
                let place = engine.machine().places[t.place.0].name.clone();
                let power = words::power(t);
                Some((rank, Found { id: t.id.clone(), title: t.title.clone(), place, power, minutes: t.minutes }))
            })
            .collect();
        found.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
        found.into_iter().map(|(_, f)| f).collect()
    }

    /// A question to ask before a reading is taken, when it looks off by 10, 1000 or a million beside what a
    /// sound machine would show. A question only: a fault may be off by ten too.
    ///
    /// # Errors
    /// If the test or the reading cannot be.
    pub fn ask_back(&mut self, test: &str, typed: &str) -> Result<Option<AskBack>, JobError> {
        let engine = self.standing.engine_mut()?;
        let test = engine.test(test)?;
        let observed = engine.observation(test, typed)?;
        let Answer::Number(dimension) = engine.tests()[test].answer else { return Ok(None) };
        let Ok(Entry::Value(typed)) = parse_entry(typed, Some(dimension)) else { return Ok(None) };
        let Some((low, high)) = engine.band(test) else { return Ok(None) };
        if low <= typed.si && typed.si <= high {
            return Ok(None);
        }
        let Some(query) = magnitude_query(typed.si, dimension, (low + high) / 2.0) else { return Ok(None) };
        Ok(Some(AskBack {
            times: query.times,
            read: engine.understood(test, &observed),
            perhaps: show(query.perhaps, dimension, &engine.units(), None),
            if_healthy: engine.band_in_words(test, (low, high)),
        }))
    }

    /// What was observed, as it would be typed: how practice answers in place of a technician.
    ///
    /// # Errors
    /// If there is no such test.
    pub fn as_read(&self, test: &str, observed: &halfsplit_diagnosis::Observed) -> Result<String, JobError> {
        let engine = self.standing.engine()?;
        Ok(engine.understood(engine.test(test)?, observed))
    }

    /// Advice on a test that somebody chose himself.
    ///
    /// # Errors
    /// If there is no such test.
    pub fn about(&mut self, test: &str) -> Result<TestView, JobError> {
        let power = self.standing.power.clone();
        let proving = self.standing.proving();
        let engine = self.standing.engine_mut()?;
        let index = engine.test(test)?;
        let advice = engine.about(index);
        Ok(engine.test_view(&advice, &power, proving))
    }

    /// Why a suspect stands where it stands.
    ///
    /// # Errors
    /// If there is no such suspect.
    pub fn why(&mut self, suspect: &str) -> Result<WhyView, JobError> {
        let told = self.standing.told.clone();
        let engine = self.standing.engine_mut()?;
        engine.why(suspect, &told).ok_or_else(|| {
            JobError::new(
                What::NoSuchName,
                format!("there is no suspect \"{suspect}\""),
                "name one of those that are still possible, by its id or its letter",
            )
        })
    }

    /// The machine, as its sheet builds it.
    ///
    /// # Errors
    /// If the job has not been opened or its sheet cannot be computed by this version.
    pub fn machine(&self) -> Result<&Machine, JobError> {
        self.standing.engine().map(Engine::machine)
    }

    /// The circuit with what stands on it in the state of a test, or with nothing commanded.
    ///
    /// # Errors
    /// If there is no such test, or the sheet cannot be computed.
    pub fn wiring(&self, test: Option<&str>) -> Result<WiringView, JobError> {
        let engine = self.standing.engine()?;
        let test = test.map(|id| engine.test(id)).transpose()?;
        Ok(engine.wiring(test, &self.standing.power))
    }

    /// The refrigerant loop with what is expected of it and what was read last.
    ///
    /// # Errors
    /// If the sheet cannot be computed.
    pub fn refrigerant_loop(&mut self) -> Result<LoopView, JobError> {
        let readings = self.standing.readings.clone();
        Ok(self.standing.engine_mut()?.refrigerant_loop(&readings))
    }

    /// The loop's cycle, expected and measured.
    ///
    /// # Errors
    /// If the sheet names no refrigerant or no command that runs the loop, or the readings fit no state.
    pub fn cycle(&mut self) -> Result<CycleView, JobError> {
        let readings = self.standing.readings.clone();
        self.standing.engine_mut()?.cycle(&readings)
    }

    /// What a reading would leave if it were taken. The job stays as it is.
    ///
    /// # Errors
    /// If the test or the reading cannot be.
    pub fn suppose(&mut self, test: &str, typed: &str) -> Result<SupposeView, JobError> {
        let engine = self.standing.engine_mut()?;
        let index = engine.test(test)?;
        let observed = engine.observation(index, typed)?;
        let read = engine.understood(index, &observed);
        let ruled_out = engine.read(index, observed)?;
        let still_possible = engine.possible();
        let test = engine.tests()[index].id.clone();
        self.rebuild();
        Ok(SupposeView { test, read, still_possible, ruled_out })
    }

    /// The job as it stands.
    pub fn view(&mut self) -> View {
        let s = &mut self.standing;
        let mut view = View {
            job: self.journal.header.job.clone(),
            machine: None,
            opening: s.opening.clone(),
            events: self.journal.events.len(),
            epoch: s.epoch,
            power: s.power.clone(),
            readings: s.readings.clone(),
            not_made: s.not_made.clone(),
            done: s.done.clone(),
            proving_runs: s.proving_runs.clone(),
            notes: s.notes.clone(),
            still_possible: None,
            next: Next::Open,
            bundle: Vec::new(),
            reasons: Vec::new(),
            expected_minutes: None,
            act_now_minutes: None,
            budget_used: 0,
            ended: s.ended.clone(),
            set_aside: s.set_aside.clone(),
            doubts: Vec::new(),
        };
        let (told, proving) = (s.told.clone(), s.proving());
        let engine = match &mut s.engine {
            None => return view,
            Some(Err(e)) => {
                let last_advice = s.last_advice.as_ref().map(|(text, _)| text.clone());
                view.next = Next::ReadOnly { last_advice, why: e.what.clone() };
                return view;
            }
            Some(Ok(engine)) => engine,
        };
        view.machine = Some(engine.machine_view());
        let possible = engine.possible();
        if let Some(why) = possible.suspects.first().and_then(|lead| engine.why(&lead.id, &told)) {
            view.reasons = why.readings;
        }
        for tool in &engine.unknown_tools {
            view.doubts.push(format!("\"{tool}\" is no tool that halfsplit knows; no test counts on it"));
        }
        if let Some(o) = view.opening.as_ref().filter(|o| o.engine_version != crate::ENGINE_VERSION) {
            view.doubts.push(format!(
                "opened with engine {}, computed now with {}: the advice may differ from what was shown then",
                o.engine_version,
                crate::ENGINE_VERSION
            ));
        }
        if s.ended.is_some() {
            view.next = Next::Closed;
            view.still_possible = Some(possible);
            return view;
        }
        let advice = engine.advice();
        view.expected_minutes = Some(advice.expected_minutes);
        view.act_now_minutes = Some(advice.act_now_minutes);
        view.budget_used = advice.expansions as u64;
        view.bundle = engine.also(&advice.bundle);
        let to_prove: Vec<&Done> = s.done.iter().filter(|d| d.repair.is_some() && !d.proved).collect();
        view.next = match &advice.next {
            Do::Test(t) => Next::Test(engine.test_view(t, &s.power, proving)),
            Do::Repair { group, probability } => Next::Repair(engine.repair_view(group, *probability, &possible)),
            Do::End(halfsplit_diagnosis::Ending::Repaired) if !to_prove.is_empty() => {
                let list = |f: fn(&Done) -> &String| {
                    let mut all: Vec<String> = Vec::new();
                    for text in to_prove.iter().map(|d| f(d)).filter(|t| !t.is_empty()) {
                        if !all.contains(text) {
                            all.push(text.clone());
                        }
                    }
                    all
                };
                Next::Prove(ProveView {
                    after: list(|d| &d.what),
                    how: list(|d| &d.proof),
                    expect: engine.expected_run(),
                    upstream: list(|d| &d.upstream),
                })
            }
            Do::End(ending) => {
                let refused: Vec<String> = s.not_made.iter().map(|n| format!("{} ({})", n.test, n.why)).collect();
                Next::End(engine.end_view(*ending, &refused))
            }
        };
        if matches!(advice.next, Do::End(_)) {
            view.bundle.clear();
        }
        view.still_possible = Some(possible);
        view
    }

    /// Works out what the next entry will need, if it is what a view recommends: a reading, a repair, a proving run. For the
    /// minutes that it takes. Saves time, and changes no view.
    pub fn think_ahead(&mut self, view: &View) {
        let Ok(engine) = self.standing.engine_mut() else { return };
        match &view.next {
            Next::Test(test) => engine.think_ahead(&test.id),
            Next::Repair(repair) => engine.think_of_repair(&repair.id),
            Next::Prove(_) => engine.think_of_proof(true),
            _ => {}
        }
    }

    /// The same for one outcome of what is recommended, the likeliest first: what would follow from it. Whether there are
    /// more outcomes. In pieces, for whoever must be able to turn to an entry between them.
    pub fn think_through(&mut self, view: &View, outcome: usize) -> bool {
        match (&view.next, self.standing.engine_mut()) {
            (Next::Test(test), Ok(engine)) => engine.think_through(&test.id, outcome),
            (Next::Prove(_), Ok(engine)) => {
                engine.think_of_proof(false);
                false
            }
            _ => false,
        }
    }

    /// The same for a reading of any test that stands in the field and is not entered yet: it mostly will be. What cannot be
    /// read so has nothing that follows from it.
    pub fn think_of(&mut self, test: &str, typed: &str) {
        if let Ok(engine) = self.standing.engine_mut() {
            engine.think_of(test, typed);
        }
    }

    /// The last advice that was recorded as shown.
    #[must_use]
    pub fn last_advice(&self) -> Option<&str> {
        self.standing.last_advice.as_ref().map(|(text, _)| text.as_str())
    }
}

/// What a repair put right is named where it stood at this before it, per cent.
const SPOKEN_FOR: f64 = 20.0;

/// The fact that says how many minutes are left of the visit.
const MINUTES_LEFT: &str = "minutes left";

fn minutes(typed: &str) -> Result<f64, JobError> {
    match parse_entry(typed, Some(Dimension::Time)) {
        Ok(Entry::Value(q)) => Ok(q.si / 60.0),
        Ok(_) => Err(JobError::new(What::Reading, format!("\"{typed}\" is no time"), "type it like \"15 min\"")),
        Err(e) => Err(JobError::new(What::Reading, e.to_string(), "type it like \"15 min\"")),
    }
}

/// What an action does to the computed machine.
enum Effect {
    /// Latches and messages cleared.
    Reset,
    /// A repair, by its id.
    Mend(String),
    /// Noted; the computed machine stays as it is.
    Noted,
}

impl Standing {
    fn engine(&self) -> Result<&Engine, JobError> {
        match &self.engine {
            Some(Ok(e)) => Ok(e),
            Some(Err(e)) => Err(e.clone()),
            None => Err(JobError::new(What::Opening, "this job has not been opened", "open it with a machine sheet")),
        }
    }

    fn engine_mut(&mut self) -> Result<&mut Engine, JobError> {
        match &mut self.engine {
            Some(Ok(e)) => Ok(e),
            Some(Err(e)) => Err(e.clone()),
            None => Err(JobError::new(What::Opening, "this job has not been opened", "open it with a machine sheet")),
        }
    }

    /// Something was repaired and has not been proved yet.
    fn proving(&self) -> bool {
        self.done.iter().any(|d| d.repair.is_some() && !d.proved)
    }

    fn effect(&self, a: &Action) -> Result<Effect, JobError> {
        Ok(match a.kind {
            ActionKind::Reset | ActionKind::PowerCycle => Effect::Reset,
            ActionKind::Clean | ActionKind::Replace | ActionKind::Adjust => {
                Effect::Mend(self.engine()?.repair(&a.part, &a.detail)?)
            }
            ActionKind::Unplug | ActionKind::Substitute | ActionKind::Force | ActionKind::Other => Effect::Noted,
        })
    }

    /// Takes an event in. The power gate is not applied here: what was recorded was read.
    fn enter(&mut self, event: &Event) -> Result<(), JobError> {
        match &event.kind {
            Kind::Opened(o) => self.open(event, o),
            Kind::Advised(a) => {
                self.last_advice = Some((a.text.clone(), a.proposes.clone()));
                Ok(())
            }
            Kind::Reading(r) => self.reading(event, r),
            Kind::Observation(o) => {
                self.note(event, &o.what, &o.words);
                Ok(())
            }
            Kind::Skipped(x) => {
                let engine = self.engine_mut()?;
                let test = engine.test(&x.test)?;
                engine.skip(test, &x.reason);
                let why = match &x.reason {
                    SkipReason::NoTool => "no tool",
                    SkipReason::CannotReach => "can't reach",
                    SkipReason::Unsafe => "unsafe",
                    SkipReason::NotFitted => "not fitted",
                    SkipReason::CannotFind => "can't find it",
                    SkipReason::Other(words) => words,
                };
                self.not_made.push(NotMade { test: x.test.clone(), why: why.to_owned() });
                Ok(())
            }
            Kind::Action(a) => {
                let effect = self.effect(a)?;
                let what = [action_word(a.kind), &a.part, &a.detail].join(" ").trim().to_owned();
                match effect {
                    Effect::Mend(id) => self.mend(event, &id)?,
                    Effect::Reset => {
                        self.engine_mut()?.reset()?;
                        self.did(event, what);
                        self.epoch += 1;
                    }
                    Effect::Noted => {
                        self.did(event, what);
                    }
                }
                if a.kind == ActionKind::PowerCycle {
                    self.power.report(event, SafetyKind::PowerRestored, "");
                }
                Ok(())
            }
            Kind::Repaired(r) => {
                let id = self.engine()?.repair(&r.part, &r.what)?;
                self.mend(event, &id)
            }
            Kind::SafetyReport(r) => {
                self.power.report(event, r.kind, &r.who);
                Ok(())
            }
            Kind::FactLearned(f) => {
                if f.name == MINUTES_LEFT {
                    let minutes = minutes(&f.as_typed)?;
                    self.engine_mut()?.minutes_left(Some(minutes));
                }
                self.note(event, &f.name, &f.as_typed);
                Ok(())
            }
            Kind::Photo(p) => {
                self.note(event, &format!("photo {}", p.hash), &p.what);
                Ok(())
            }
            Kind::ProvingRun(p) => {
                self.engine_mut()?.prove(p.passed)?;
                // It ran, or was to: whatever was isolated before is no longer.
                self.power.report(event, SafetyKind::PowerRestored, "");
                self.told.push(("proving run".into(), if p.passed { "passed" } else { "not passed" }.into()));
                // A machine that passed once and does not now has not been proved.
                self.done.iter_mut().for_each(|d| d.proved = p.passed);
                self.proving_runs.push(ProvingRunView {
                    passed: p.passed,
                    note: p.note.clone(),
                    at: event.time.clone(),
                    by: event.actor.clone(),
                });
                let words = if p.passed { "passed" } else { "not passed" };
                self.note(event, "proving run", [words, &p.note].join(" ").trim());
                Ok(())
            }
            Kind::Ended(e) => {
                let (ending, words) = ending(e.ending);
                self.ended = Some(EndedView {
                    ending,
                    words: words.to_owned(),
                    cause: e.cause.clone(),
                    upstream: e.upstream.clone(),
                    note: e.note.clone(),
                    at: event.time.clone(),
                    by: event.actor.clone(),
                });
                Ok(())
            }
            Kind::Undone { .. } => Ok(()),
            _ => Err(JobError::new(What::Journal, "written by another version, not understood by this one", "")),
        }
    }

    fn open(&mut self, event: &Event, o: &Opened) -> Result<(), JobError> {
        if self.opening.is_some() {
            return Err(JobError::new(What::Opening, "a second opening", ""));
        }
        self.opening = Some(OpeningView {
            age_years: o.machine_age_years,
            complaint: o.complaint.clone(),
            shown_code: o.shown_code.clone(),
            tools: o.tools_carried.clone(),
            engine_version: o.engine_version.clone(),
            at: event.time.clone(),
            by: event.actor.clone(),
        });
        self.engine = Some(match self.made.take() {
            Some(Ok(mut engine)) => {
                engine.begin_again();
                Ok(engine)
            }
            _ => Engine::open(o),
        });
        if let Some(Ok(engine)) = &mut self.engine {
            engine.show_in(self.shown_in.unwrap_or(o.units));
        }
        Ok(())
    }

    fn reading(&mut self, event: &Event, r: &Reading) -> Result<(), JobError> {
        let epoch = self.epoch;
        let engine = self.engine_mut()?;
        let test = engine.test(&r.test)?;
        let observed = engine.observation(test, &r.as_typed)?;
        let understood = engine.understood(test, &observed);
        let band = engine.band(test);
        let if_healthy = band.map(|b| engine.band_in_words(test, b));
        let outside_healthy = engine.outside(test, &observed, band);
        let ruled_out = engine.read(test, observed)?;
        let t = &engine.tests()[test];
        let view = ReadingView {
            event: event.id.to_string(),
            test: t.id.clone(),
            title: t.title.clone(),
            typed: r.as_typed.clone(),
            understood,
            at: r.taken_at.clone().unwrap_or_else(|| event.time.clone()),
            by: event.actor.clone(),
            epoch,
            command: t.command.map(|c| engine.machine().commands[c.0].name.clone()),
            power: words::power(t),
            if_healthy,
            healthy_low: band.map(|b| b.0),
            healthy_high: band.map(|b| b.1),
            outside_healthy,
            ruled_out,
            note: r.note.clone(),
        };
        self.told.push((view.test.clone(), view.understood.clone()));
        self.readings.push(view);
        Ok(())
    }

    fn mend(&mut self, event: &Event, id: &str) -> Result<(), JobError> {
        let engine = self.engine_mut()?;
        let put_right = engine.possible().suspects.into_iter().find(|s| s.repair_id == id);
        engine.mend(id)?;
        let (what, proof, upstream, _) = engine.repair_words(id);
        let done = self.did(event, what);
        done.repair = Some(id.to_owned());
        done.proof = proof;
        done.upstream = upstream.join("; ");
        if let Some(s) = put_right.filter(|s| s.percent >= SPOKEN_FOR) {
            (done.found, done.brought_about_by) = (s.name, s.cause);
        }
        self.epoch += 1;
        Ok(())
    }

    fn did(&mut self, event: &Event, what: String) -> &mut Done {
        self.done.push(Done {
            what,
            repair: None,
            at: event.time.clone(),
            by: event.actor.clone(),
            proof: String::new(),
            upstream: String::new(),
            found: String::new(),
            brought_about_by: String::new(),
            proved: false,
        });
        let last = self.done.len() - 1;
        &mut self.done[last]
    }

    fn note(&mut self, event: &Event, about: &str, words: &str) {
        self.notes.push(Note { about: about.to_owned(), words: words.to_owned(), at: event.time.clone() });
    }
}

fn action_word(kind: ActionKind) -> &'static str {
    match kind {
        ActionKind::Clean => "cleaned",
        ActionKind::Replace => "replaced",
        ActionKind::Reset => "reset what had tripped",
        ActionKind::Unplug => "unplugged",
        ActionKind::Substitute => "put a substitute for",
        ActionKind::Force => "forced",
        ActionKind::PowerCycle => "switched the power off and on",
        ActionKind::Adjust => "adjusted",
        ActionKind::Other => "did",
    }
}

/// An ending as a stable word and in words.
fn ending(e: Ending) -> (&'static str, &'static str) {
    match e {
        Ending::Repaired => ("repaired", "Repaired."),
        Ending::NothingBroken => ("nothing_broken", "Nothing is broken."),
        Ending::CannotTell => ("cannot_tell", "It cannot be told with what is at hand."),
        Ending::MadeSafe => ("made_safe", "Made safe and left."),
        Ending::Stopgap => ("stopgap", "Runs for now: a stopgap, not a repair."),
        Ending::Declined => ("declined", "The customer does not want it repaired."),
    }
}
