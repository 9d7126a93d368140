//! One job and what is asked of it, as JSON. The browser's part is to keep each line before it goes on.

use std::collections::BTreeMap;

use halfsplit_workshop::journal::{Event, EventId, Header, Kind, decode, encode, encode_header};
use halfsplit_workshop::{Job, JobError, View, units::Preferences};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::drill::Drill;
use crate::{drawings, opening, sheets};

/// A job on the desk.
///
/// An event goes in two steps: [`Desk::answer`] checks it and gives the journal's `line`; `{"ask": "taken"}` lets it have
/// its effect, and gives the advice's own line, or the view. What follows from a line may be worked out while the line
/// is on its way to the store, but not told before it is there; where it could not be kept, `{"ask": "not_taken"}`
/// forgets it, or `{"ask": "go_on"}` goes back to what is kept.
#[derive(Default)]
pub struct Desk {
    job: Option<Job>,
    /// Checked and written down, but not yet known to be kept.
    waiting: Option<Event>,
    hand: Hand,
    /// Seed of the practice that the job is.
    seed: Option<u32>,
    drill: Option<Drill>,
    /// What was shown last, until something else happens.
    shown: Option<View>,
    /// What will be shown when its own advice is kept.
    to_show: Option<View>,
    /// Readings as typed that were thought of since.
    thought_of: usize,
    /// A job as it is being filled in, before it is opened.
    draft: Option<Job>,
}

/// Readings that stood in the field, of which what would follow is worked out before one is entered: each takes memory.
const THOUGHT_OF: usize = 6;

/// Who writes, where, when, and a number that nobody else has: the browser knows.
#[derive(Deserialize, Default, Clone)]
#[serde(default)]
pub(crate) struct Hand {
    pub who: String,
    pub device: String,
    pub now: String,
    pub chance: u32,
    /// Units in which this device shows values: "us", or the usual.
    pub units: String,
}

impl Hand {
    pub fn units(&self) -> Preferences {
        if self.units == "us" { Preferences::US } else { Preferences::default() }
    }
}

#[derive(Deserialize)]
#[serde(tag = "ask", rename_all = "snake_case")]
enum Ask {
    /// The machines that come with the program, and those of this device.
    Machines {
        #[serde(default)]
        own: Vec<sheets::Own>,
    },
    /// The text of a sheet that comes with the program.
    Sheet {
        name: String,
    },
    CheckSheet {
        text: String,
        drawing: String,
    },
    /// The form that a sheet can be started from.
    Form,
    StartSheet {
        kind: String,
        name: String,
        answers: BTreeMap<String, String>,
    },
    /// A new job: its header's line.
    Begin {
        job: String,
    },
    /// Something happened.
    Event {
        event: Value,
    },
    /// Takes back the latest event.
    Undo,
    /// The line is kept.
    Taken,
    /// The line could not be kept: nothing happened.
    NotTaken,
    /// Goes on with a journal; with the seed of its practice if it is one.
    GoOn {
        text: String,
        #[serde(default)]
        practice: Option<u32>,
    },
    View,
    Tests {
        words: String,
    },
    Test {
        test: String,
    },
    Why {
        suspect: String,
    },
    CheckReading {
        test: String,
        reading: String,
    },
    /// Hides a fault for practice in the machine of the job.
    Practice {
        seed: u32,
    },
    PracticeRead {
        test: String,
    },
    PracticeMend {
        repair: String,
    },
    /// Runs the hidden machine as it is after the repairs that were made.
    PracticeProve,
    Debrief,
    /// "wiring" (with a test: where its probes go), "loop" or "cycle".
    Drawing {
        of: String,
        #[serde(default)]
        test: Option<String>,
    },
    /// Nobody waits: works out what the next reading will need; first what any reading of the proposed test needs, then
    /// outcome by outcome. Says whether there is `more`.
    ThinkAhead {
        #[serde(default)]
        part: usize,
    },
    /// The same for an opening that is being filled in, with what was noticed: `part` by part. Says whether there is `more`.
    Draft {
        event: Value,
        readings: Vec<Value>,
        part: usize,
    },
    /// The same for a reading that stands in the field and is not entered yet.
    Suppose {
        test: String,
        reading: String,
    },
}

impl Desk {
    /// Answers a question or takes a step. What goes wrong comes as `{"error": {"what", "do"}}`.
    ///
    /// What is shown comes as `{"view": …}` and a line as `{"line": …}`, nothing before or after it except with
    /// `{"ask": "go_on"}`: whoever only passes it on need not read it.
    pub fn answer(&mut self, asked: &str) -> String {
        let answer = serde_json::from_str::<Value>(asked)
            .map_err(|e| trouble(format!("this is no question: {e}"), "reload the page"))
            .and_then(|v| self.try_answer(v));
        match answer {
            Ok(Said::Value(value)) => value.to_string(),
            Ok(Said::Line(line)) => json!({ "line": line }).to_string(),
            Ok(Said::View(view)) => format!("{{\"view\":{view}}}"),
            Err(e) => json!({ "error": { "what": e.what, "do": e.hint } }).to_string(),
        }
    }

    fn try_answer(&mut self, asked: Value) -> Result<Said, JobError> {
        if let Some(hand) = asked.get("hand") {
            self.hand = Hand::deserialize(hand).unwrap_or_default();
        }
        let ask =
            Ask::deserialize(asked).map_err(|e| trouble(format!("this is no question: {e}"), "reload the page"))?;
        Ok(Said::Value(match ask {
            Ask::Event { event } => {
                let kind = Kind::deserialize(opening::completed(event, &self.hand)?)
                    .map_err(|e| trouble(format!("this is no event: {e}"), "reload the page"))?;
                if let (Kind::Opened(opening), Some(draft)) = (&kind, self.draft.take()) {
                    self.job()?.made_ready(draft, opening);
                }
                return self.write_down(kind);
            }
            Ask::Undo => {
                let event = self.job()?.latest().map(|e| e.id.clone());
                let event = event.ok_or_else(|| trouble("there is nothing to take back", ""))?;
                return self.write_down(Kind::Undone { event });
            }
            Ask::Taken => {
                if let Some(event) = self.waiting.take() {
                    self.job()?.take_in(event)?;
                }
                if let Some(mut view) = self.to_show.take() {
                    // Its advice is one event more, and nothing else.
                    view.events = self.job()?.journal().events.len();
                    return Ok(self.show(view));
                }
                return self.view_or_advice();
            }
            Ask::View => return self.view_or_advice(),
            Ask::Machines { own } => sheets::machines(&own),
            Ask::Sheet { name } => json!({ "text": sheets::example(&name)? }),
            Ask::CheckSheet { text, drawing } => json!({ "checked": sheets::check(&text, &drawing) }),
            Ask::Form => sheets::form(),
            Ask::StartSheet { kind, name, answers } => sheets::started(kind, name, answers)?,
            Ask::Begin { job } => {
                *self = Desk { hand: self.hand.clone(), draft: self.draft.take(), ..Desk::default() };
                let line = encode_header(&Header::new(&job));
                self.job = Some(Job::new(job));
                json!({ "line": line })
            }
            Ask::NotTaken => {
                (self.waiting, self.to_show) = (None, None);
                json!({})
            }
            Ask::GoOn { text, practice } => self.go_on(&text, practice)?,
            Ask::Tests { words } => json!({ "tests": self.job()?.find(&words) }),
            Ask::Test { test } => json!({ "test": self.job()?.about(&test)? }),
            Ask::Why { suspect } => json!({ "why": self.job()?.why(&suspect)? }),
            Ask::CheckReading { test, reading } => json!({ "ask_back": self.job()?.ask_back(&test, &reading)? }),
            Ask::Practice { seed } => {
                let (drill, first) = Drill::begin(self.job()?, u64::from(seed))?;
                (self.drill, self.seed) = (Some(drill), Some(seed));
                json!({ "readings": first })
            }
            Ask::PracticeRead { test } => {
                self.drill()?;
                let job = self.job.as_ref().ok_or_else(no_job)?;
                let drill = self.drill.as_mut().ok_or_else(no_drill)?;
                json!({ "typed": drill.read(job, &test)? })
            }
            Ask::PracticeMend { repair } => {
                json!({ "proved": self.drill()?.mend(&repair)? })
            }
            Ask::PracticeProve => json!({ "passed": self.drill()?.right() }),
            Ask::Debrief => {
                self.drill()?;
                json!({ "debrief": self.drill.take().ok_or_else(no_drill)?.end()? })
            }
            Ask::Drawing { of, test } => json!({ "drawing": drawings::of_job(self.job()?, &of, test.as_deref())? }),
            Ask::ThinkAhead { part } => {
                let more = match (&self.shown, &mut self.job, part) {
                    (Some(view), Some(job), 0) => {
                        job.think_ahead(view);
                        true
                    }
                    (Some(view), Some(job), part) => job.think_through(view, part - 1),
                    _ => false,
                };
                json!({ "more": more })
            }
            Ask::Draft { event, readings, part } => json!({ "more": self.draft(event, &readings, part)? }),
            Ask::Suppose { test, reading } => {
                if let (Some(_), Some(job), true) = (&self.shown, &mut self.job, self.thought_of < THOUGHT_OF) {
                    self.thought_of += 1;
                    job.think_of(&test, &reading);
                }
                json!({})
            }
        }))
    }

    fn job(&mut self) -> Result<&mut Job, JobError> {
        self.job.as_mut().ok_or_else(no_job)
    }

    /// The machine that answers: the one at work, or hidden again from the job's journal.
    fn drill(&mut self) -> Result<&mut Drill, JobError> {
        if self.drill.is_none() {
            let seed = self.seed.ok_or_else(no_drill)?;
            let job = self.job.as_ref().ok_or_else(no_job)?;
            self.drill = Some(Drill::resume(job, u64::from(seed))?.0);
        }
        self.drill.as_mut().ok_or_else(no_drill)
    }

    /// Opens a draft (the first part) and takes in what was noticed, one after the other; whether there is more to take in.
    fn draft(&mut self, event: Value, readings: &[Value], part: usize) -> Result<bool, JobError> {
        let before = self.draft.take();
        let kind = match part.checked_sub(1) {
            None => opening::completed(event, &self.hand)?,
            Some(at) => json!({ "kind": "reading", "with": readings.get(at) }),
        };
        let kind = Kind::deserialize(kind).map_err(|e| trouble(format!("this is no event: {e}"), "reload the page"))?;
        let mut draft = match (before, &kind) {
            (before, Kind::Opened(opening)) => {
                let mut draft = Job::new("draft");
                if let Some(before) = before {
                    draft.made_ready(before, opening);
                }
                draft
            }
            (Some(draft), _) => draft,
            (None, _) => return Ok(false),
        };
        let seq = draft.journal().next_seq();
        let hand = self.hand.clone();
        draft.take_in(Event::new(seq, EventId::new(format!("draft-{seq}")), hand.now, hand.who, hand.device, kind))?;
        draft.view();
        self.draft = Some(draft);
        Ok(part < readings.len())
    }

    fn go_on(&mut self, text: &str, practice: Option<u32>) -> Result<Value, JobError> {
        let decoded = decode(text);
        let damage: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
        let journal = decoded.into_journal().ok_or_else(|| trouble("this is no journal", "begin a new job"))?;
        let job = Job::replay(&journal)?;
        // What every visit begins with and was not kept any more.
        let mut left = Vec::new();
        let mut drill = None;
        if let Some(seed) = practice {
            let resumed = Drill::resume(&job, u64::from(seed))?;
            (drill, left) = (Some(resumed.0), resumed.1);
        }
        *self = Desk { job: Some(job), hand: self.hand.clone(), seed: practice, drill, ..Desk::default() };
        let mut answer = json!({ "damage": damage, "left": left });
        match self.view_or_advice()? {
            Said::Line(line) => answer["line"] = json!(line),
            Said::View(view) => answer["view"] = serde_json::from_str(&view).unwrap_or_default(),
            Said::Value(_) => {}
        }
        Ok(answer)
    }

    fn write_down(&mut self, kind: Kind) -> Result<Said, JobError> {
        let hand = self.hand.clone();
        let job = self.job()?;
        job.check(&kind)?;
        let seq = job.journal().next_seq();
        let id = EventId::new(format!("{}-{seq}-{:04x}", hand.device, hand.chance & 0xffff));
        let event = Event::new(seq, id, hand.now, hand.who, hand.device, kind);
        let line = encode(&event).map_err(|e| trouble(e.to_string(), "correct the number"))?;
        self.waiting = Some(event);
        (self.shown, self.to_show, self.thought_of) = (None, None, 0);
        Ok(Said::Line(line))
    }

    /// Advice that has not been shown before is written down first.
    fn view_or_advice(&mut self) -> Result<Said, JobError> {
        let units = self.hand.units();
        let job = self.job()?;
        if job.journal().events.is_empty() {
            return Ok(Said::Value(json!({})));
        }
        job.show_in(Some(units));
        let view = job.view();
        match job.advised(&view) {
            Some(advised) => {
                let said = self.write_down(advised)?;
                self.to_show = Some(view);
                Ok(said)
            }
            None => Ok(self.show(view)),
        }
    }

    fn show(&mut self, view: View) -> Said {
        let said = Said::View(shown(&view));
        self.shown = Some(view);
        said
    }
}

/// What is said to a question.
enum Said {
    Value(Value),
    /// A line to keep before anything is told.
    Line(String),
    /// A view, as JSON.
    View(String),
}

/// Suspects that the page shows.
const SUSPECTS: usize = 8;

/// A view as JSON, without what the page does not show: all of it is read there before anything is seen.
fn shown(view: &View) -> String {
    let mut view = view.clone();
    view.reasons.clear();
    if let Some(possible) = &mut view.still_possible {
        possible.suspects.truncate(SUSPECTS);
        possible.repairs.clear();
    }
    serde_json::to_string(&view).unwrap_or_default()
}

pub(crate) fn trouble(what: impl Into<String>, hint: &str) -> JobError {
    JobError { kind: halfsplit_workshop::What::NoSuchName, what: what.into(), hint: hint.to_owned() }
}

fn no_job() -> JobError {
    trouble("no job is open", "open one")
}

fn no_drill() -> JobError {
    trouble("nothing is hidden in this machine", "begin a practice")
}
