//! One job and what is asked of it, as JSON. The browser's part is to keep each line before it goes on.

use halfsplit_workshop::journal::{Event, EventId, Header, Kind, decode, encode, encode_header};
use halfsplit_workshop::{ENGINE_VERSION, Job, JobError, machine, units::Preferences};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::drill::Drill;

/// A job on the desk.
///
/// An event goes in two steps: [`Desk::answer`] checks it and gives the journal's `line`; only when that is
/// kept does `{"ask": "taken"}` let it have its effect. Then comes the advice's own line, or the view.
#[derive(Default)]
pub struct Desk {
    job: Option<Job>,
    /// Checked and written down, but not yet known to be kept.
    waiting: Option<Event>,
    hand: Hand,
    drill: Option<Drill>,
}

/// Who writes, where, when, and a number that nobody else has: the browser knows.
#[derive(Deserialize, Default, Clone)]
#[serde(default)]
struct Hand {
    who: String,
    device: String,
    now: String,
    chance: u32,
}

#[derive(Deserialize)]
#[serde(tag = "ask", rename_all = "snake_case")]
enum Ask {
    /// The machines that come with the program.
    Machines,
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
    /// Goes on with a journal.
    GoOn {
        text: String,
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
    Debrief,
}

impl Desk {
    /// Answers a question or takes a step. What goes wrong comes as `{"error": {"what", "do"}}`.
    pub fn answer(&mut self, asked: &str) -> String {
        let answer = serde_json::from_str::<Value>(asked)
            .map_err(|e| trouble(format!("this is no question: {e}"), "reload the page"))
            .and_then(|v| self.try_answer(v));
        answer.unwrap_or_else(|e| json!({ "error": { "what": e.what, "do": e.hint } })).to_string()
    }

    fn try_answer(&mut self, asked: Value) -> Result<Value, JobError> {
        if let Some(hand) = asked.get("hand") {
            self.hand = Hand::deserialize(hand).unwrap_or_default();
        }
        let ask =
            Ask::deserialize(asked).map_err(|e| trouble(format!("this is no question: {e}"), "reload the page"))?;
        Ok(match ask {
            Ask::Machines => machines(),
            Ask::Begin { job } => {
                *self = Desk { hand: self.hand.clone(), ..Desk::default() };
                let line = encode_header(&Header::new(&job));
                self.job = Some(Job::new(job));
                json!({ "line": line })
            }
            Ask::Event { event } => {
                let kind = Kind::deserialize(self.completed(event)?)
                    .map_err(|e| trouble(format!("this is no event: {e}"), "reload the page"))?;
                self.write_down(kind)?
            }
            Ask::Undo => {
                let event = self.job()?.latest().map(|e| e.id.clone());
                let event = event.ok_or_else(|| trouble("there is nothing to take back", ""))?;
                self.write_down(Kind::Undone { event })?
            }
            Ask::Taken => {
                if let Some(event) = self.waiting.take() {
                    self.job()?.take_in(event)?;
                }
                self.view_or_advice()?
            }
            Ask::NotTaken => {
                self.waiting = None;
                json!({})
            }
            Ask::GoOn { text } => self.go_on(&text)?,
            Ask::View => self.view_or_advice()?,
            Ask::Tests { words } => json!({ "tests": self.job()?.find(&words) }),
            Ask::Test { test } => json!({ "test": self.job()?.about(&test)? }),
            Ask::Why { suspect } => json!({ "why": self.job()?.why(&suspect)? }),
            Ask::CheckReading { test, reading } => json!({ "ask_back": self.job()?.ask_back(&test, &reading)? }),
            Ask::Practice { seed } => {
                let (drill, first) = Drill::begin(self.job()?, u64::from(seed))?;
                self.drill = Some(drill);
                json!({ "readings": first })
            }
            Ask::PracticeRead { test } => {
                let job = self.job.as_ref().ok_or_else(no_job)?;
                let drill = self.drill.as_mut().ok_or_else(no_drill)?;
                json!({ "typed": drill.read(job, &test)? })
            }
            Ask::PracticeMend { repair } => {
                let drill = self.drill.as_mut().ok_or_else(no_drill)?;
                json!({ "proved": drill.mend(&repair)? })
            }
            Ask::Debrief => json!({ "debrief": self.drill.take().ok_or_else(no_drill)?.end()? }),
        })
    }

    fn job(&mut self) -> Result<&mut Job, JobError> {
        self.job.as_mut().ok_or_else(no_job)
    }

    fn go_on(&mut self, text: &str) -> Result<Value, JobError> {
        let decoded = decode(text);
        let damage: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
        let journal = decoded.into_journal().ok_or_else(|| trouble("this is no journal", "begin a new job"))?;
        *self = Desk { job: Some(Job::replay(&journal)?), hand: self.hand.clone(), ..Desk::default() };
        let mut answer = self.view_or_advice()?;
        answer["damage"] = json!(damage);
        Ok(answer)
    }

    /// Puts into an opening what the page does not know: the sheet's text and hash, the engine, the seed.
    fn completed(&self, mut event: Value) -> Result<Value, JobError> {
        if event["kind"] != "opened" {
            return Ok(event);
        }
        let name = event["machine"].as_str().unwrap_or("demo").to_owned();
        let example = machine::examples::example(&name)
            .ok_or_else(|| trouble(format!("there is no machine \"{name}\""), "choose one of the list"))?;
        let with = &mut event["with"];
        if with["units"] == "us" {
            with["units"] = json!(Preferences::US);
        }
        with["sheet_text"] = json!(example.text);
        with["sheet_hash"] = json!(hash(example.text));
        with["engine_version"] = json!(ENGINE_VERSION);
        with["seed"] = json!(self.hand.chance);
        Ok(event)
    }

    fn write_down(&mut self, kind: Kind) -> Result<Value, JobError> {
        let hand = self.hand.clone();
        let job = self.job()?;
        job.check(&kind)?;
        let seq = job.journal().next_seq();
        let id = EventId::new(format!("{}-{seq}-{:04x}", hand.device, hand.chance & 0xffff));
        let event = Event::new(seq, id, hand.now, hand.who, hand.device, kind);
        let line = encode(&event).map_err(|e| trouble(e.to_string(), "correct the number"))?;
        self.waiting = Some(event);
        Ok(json!({ "line": line }))
    }

    /// Advice that has not been shown before is written down first.
    fn view_or_advice(&mut self) -> Result<Value, JobError> {
        let job = self.job()?;
        if job.journal().events.is_empty() {
            return Ok(json!({}));
        }
        let view = job.view();
        match job.advised(&view) {
            Some(advised) => self.write_down(advised),
            None => Ok(json!({ "view": view })),
        }
    }
}

/// What a sheet's text is known by: CRC-64/XZ, as in every journal.
fn hash(text: &str) -> String {
    format!("crc64:{:016x}", crc::Crc::<u64>::new(&crc::CRC_64_XZ).checksum(text.as_bytes()))
}

/// The machines with what can be chosen at the opening.
fn machines() -> Value {
    let all = machine::examples::EXAMPLES.iter().filter_map(|e| {
        let m = halfsplit_workshop::sheet_of(e.text).ok()?;
        let words = |id: &str| {
            m.tests.iter().find(|t| t.id == id).and_then(|t| match &t.answer {
                machine::test::Answer::Words(words) => Some(words.clone()),
                machine::test::Answer::Number(_) => None,
            })
        };
        Some(json!({
            "id": e.name, "name": m.sheet.machine.name, "kind": m.sheet.machine.kind,
            "complaints": words("complaint"), "display": words("display lit"), "messages": words("display message"),
        }))
    });
    json!({ "machines": all.collect::<Vec<_>>(), "tools": machine::test::Tool::ALL.map(|t| t.name()) })
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
