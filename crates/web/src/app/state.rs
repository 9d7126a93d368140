//! What the page knows, and its way to the engine.

use std::sync::Arc;
use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_name = halfsplitAsk, js_namespace = globalThis, catch)]
    async fn ask_engine(question: String) -> Result<JsValue, JsValue>;
    /// The machines that come with the app, as text; on its way since the page began to load.
    #[wasm_bindgen(js_name = halfsplitMachines, js_namespace = globalThis, catch)]
    async fn shipped_machines() -> Result<JsValue, JsValue>;
    #[wasm_bindgen(js_name = halfsplitAwake, js_namespace = globalThis)]
    fn keep_awake(wanted: bool);
}

/// What went wrong, and what to do. It stands until it is put away or what caused it succeeds.
#[derive(Clone, PartialEq)]
pub struct Trouble {
    pub what: String,
    pub hint: String,
    /// Which question, and which kind of event.
    cause: String,
}

/// All of it. Signals are handles: copies see the same.
#[derive(Clone, Copy)]
pub struct State {
    /// The job as it stands; none before one is open.
    pub view: RwSignal<Option<Arc<Value>>>,
    /// The same for what stands beneath the next step: it follows once that is painted.
    pub beneath: RwSignal<Option<Arc<Value>>>,
    /// All of the view is on the page, not its first part only.
    pub whole: RwSignal<bool>,
    /// A test that somebody chose himself.
    pub chosen: RwSignal<Option<Value>>,
    /// The ending that somebody is about to close the job with.
    pub closing: RwSignal<Option<&'static str>>,
    pub trouble: RwSignal<Option<Trouble>>,
    /// Questions without an answer yet; the page's own start counts as one.
    pub asking: RwSignal<usize>,
    /// What is shown is from before a reload: it can be read, but nothing entered until it is worked out again.
    pub stale: RwSignal<bool>,
    /// What is being typed.
    pub typed: RwSignal<String>,
    /// The reading looks off by a power of ten.
    pub query: RwSignal<Option<Value>>,
    /// What could not be read of the journal of the job that is open.
    pub damage: RwSignal<Vec<String>>,
    /// A hidden machine answers.
    pub practice: RwSignal<bool>,
    pub debrief: RwSignal<Option<Value>>,
    /// The customer's page is shown.
    pub customer: RwSignal<bool>,
    pub who: RwSignal<String>,
    /// Units of this device: "us", or the usual.
    pub units: RwSignal<String>,
    pub machines: RwSignal<Value>,
    pub jobs: RwSignal<Value>,
    /// The drawing that is open beside the test.
    pub drawing: RwSignal<Option<&'static str>>,
    /// The machine sheets are shown.
    pub sheets: RwSignal<bool>,
    device: RwSignal<String>,
}

impl State {
    pub fn new() -> State {
        State {
            view: RwSignal::new(None),
            beneath: RwSignal::new(None),
            whole: RwSignal::new(true),
            chosen: RwSignal::new(None),
            closing: RwSignal::new(None),
            trouble: RwSignal::new(None),
            asking: RwSignal::new(1),
            stale: RwSignal::new(false),
            typed: RwSignal::new(String::new()),
            query: RwSignal::new(None),
            damage: RwSignal::new(Vec::new()),
            practice: RwSignal::new(false),
            debrief: RwSignal::new(None),
            customer: RwSignal::new(false),
            who: RwSignal::new(String::new()),
            units: RwSignal::new(String::new()),
            machines: RwSignal::new(Value::Null),
            jobs: RwSignal::new(Value::Null),
            drawing: RwSignal::new(None),
            sheets: RwSignal::new(false),
            device: RwSignal::new(String::new()),
        }
    }

    /// What stands over a step of a practice, so that nobody takes it for a job.
    pub fn practising(self) -> &'static str {
        if self.practice.get() { "Practice · " } else { "" }
    }

    /// The engine is at work.
    pub fn busy(self) -> bool {
        self.asking.get() > 0
    }

    /// Looks up what this device remembers: its jobs, who, which units, its own name; gives the job that was open.
    pub async fn recall(self) -> Option<String> {
        let said = self.ask(json!({ "ask": "start" })).await?;
        let small = &said["small"];
        self.jobs.set(said["jobs"].clone());
        self.who.set(text(&small["who"]));
        self.units.set(text(&small["units"]));
        let device = text(&small["device"]);
        if device.is_empty() {
            self.device.set(format!("browser-{:06x}", chance() & 0xff_ffff));
            self.remember("device", self.device.get_untracked());
        } else {
            self.device.set(device);
        }
        small["open"].as_str().filter(|open| !open.is_empty()).map(str::to_owned)
    }

    /// What this device remembers is known.
    pub fn recalled(self) -> bool {
        self.device.with(|d| !d.is_empty())
    }

    /// The machines to choose from: those that come with the app, at once and without the engine; then with those of
    /// this device.
    pub async fn find_machines(self) {
        let text = shipped_machines().await.ok().and_then(|t| t.as_string()).unwrap_or_default();
        let Ok(shipped) = serde_json::from_str::<Value>(&text) else {
            self.complain("The list of machines could not be read.", "Reload the page.", "machines");
            return;
        };
        if self.machines.with_untracked(Value::is_null) {
            self.machines.set(shipped.clone());
        }
        if let Some(said) = self.ask(json!({ "ask": "machines" })).await {
            let all = if said["machines"].is_array() { said } else { shipped };
            if self.machines.with_untracked(|m| *m != all) {
                self.machines.set(all);
            }
        }
    }

    /// Shows a view: the next step first, and what stands beneath it once that is painted.
    fn show(self, view: Value) {
        let view = Arc::new(view);
        self.whole.set(false);
        self.view.set(Some(Arc::clone(&view)));
        self.asking.update(|n| *n += 1);
        request_animation_frame(move || {
            set_timeout(
                move || {
                    // Left or replaced meanwhile: another call shows what holds then.
                    if self.view.with_untracked(|v| v.as_ref().is_some_and(|v| Arc::ptr_eq(v, &view))) {
                        self.beneath.set(Some(view));
                        self.whole.set(true);
                    }
                    self.asking.update(|n| *n -= 1);
                },
                Duration::ZERO,
            );
        });
    }

    /// Has this device remember a small thing.
    pub fn remember(self, key: &'static str, value: String) {
        spawn_local(async move {
            self.ask(json!({ "ask": "remember", "key": key, "value": value })).await;
        });
    }

    /// Asks the engine, with who, when and where beside it.
    pub async fn ask(self, mut question: Value) -> Option<Value> {
        let who = self.who.get_untracked();
        let now: String = js_sys::Date::new_0().to_iso_string().into();
        question["hand"] = json!({
            "who": if who.trim().is_empty() { "technician".to_owned() } else { who.trim().to_owned() },
            "device": self.device.get_untracked(),
            "now": format!("{}Z", &now[..19]),
            "chance": chance(),
            "units": self.units.get_untracked(),
        });
        let cause = [&question["ask"], &question["event"]["kind"]].map(text).join(" ");
        self.asking.update(|n| *n += 1);
        let said = ask_engine(question.to_string()).await.ok().and_then(|v| v.as_string());
        self.asking.update(|n| *n -= 1);
        let mut said: Value = said.and_then(|s| serde_json::from_str(&s).ok()).unwrap_or(Value::Null);
        if let Some(e) = said.get("error") {
            self.complain(&text(&e["what"]), &text(&e["do"]), &cause);
            return None;
        }
        self.succeeded(&cause);
        if let Some(view) = said.get_mut("view").map(Value::take) {
            // A photo beside it is no answer to what is being typed.
            if cause != "event photo" {
                // A report of the power is what a chosen test may have waited for.
                match self.chosen.get_untracked().filter(|_| cause == "event safety_report") {
                    Some(test) => self.choose(text(&test["id"])),
                    None => self.chosen.set(None),
                }
                self.closing.set(None);
                self.query.set(None);
                self.typed.set(String::new());
                to_top();
            }
            keep_awake(view["ended"].is_null());
            self.show(view);
        }
        Some(said)
    }

    /// Tells the engine what will probably be entered, so that what follows from it is there by then. Nobody waits for it.
    pub fn suppose(self, test: String, reading: String) {
        self.hint(json!({ "ask": "suppose", "test": test, "reading": reading }));
    }

    /// The same for a job that is being filled in: its opening, and what was noticed.
    pub fn draft(self, opened: &Value, readings: Vec<Value>) {
        let mut event = opened.clone();
        event["kind"] = json!("opened");
        let hand = json!({ "units": self.units.get_untracked() });
        self.hint(json!({ "ask": "draft", "event": event, "readings": readings, "part": 0, "hand": hand }));
    }

    fn hint(self, question: Value) {
        spawn_local(async move {
            let _ = ask_engine(question.to_string()).await;
        });
    }

    /// What went wrong before with this has come right.
    pub fn succeeded(self, cause: &str) {
        if self.trouble.with_untracked(|t| t.as_ref().is_some_and(|t| t.cause == cause)) {
            self.trouble.set(None);
        }
    }

    /// Says what went wrong.
    pub fn complain(self, what: &str, hint: &str, cause: &str) {
        self.trouble.set(Some(Trouble { what: what.to_owned(), hint: hint.to_owned(), cause: cause.to_owned() }));
        to_top();
    }

    /// Something happened.
    pub fn event(self, kind: &'static str, with: Value) {
        spawn_local(async move {
            self.happened(kind, with).await;
        });
    }

    /// The same, for whoever goes on after it: whether it was taken.
    pub async fn happened(self, kind: &str, with: Value) -> bool {
        self.ask(json!({ "ask": "event", "event": { "kind": kind, "with": with } })).await.is_some()
    }

    /// A reading: asked back first where it looks off by a power of ten.
    pub fn reading(self, test: String, typed: String, sure: bool) {
        spawn_local(async move {
            let event = json!({ "kind": "reading", "with": { "test": test, "as_typed": typed } });
            if let Some(said) = self.ask(json!({ "ask": "event", "event": event, "sure": sure })).await
                && !said["ask_back"].is_null()
            {
                self.query.set(Some(said["ask_back"].clone()));
            }
        });
    }

    /// Looks at a test that somebody chose himself.
    pub fn choose(self, test: String) {
        spawn_local(async move {
            if let Some(said) = self.ask(json!({ "ask": "test", "test": test })).await {
                self.typed.set(String::new());
                self.query.set(None);
                self.chosen.set(Some(said["test"].clone()));
                to_top();
            }
        });
    }

    /// Back to the first page.
    pub fn leave(self) {
        self.view.set(None);
        self.beneath.set(None);
        self.practice.set(false);
        self.damage.set(Vec::new());
        self.debrief.set(None);
        self.customer.set(false);
        self.chosen.set(None);
        self.closing.set(None);
        self.drawing.set(None);
        keep_awake(false);
        self.remember("open", String::new());
        spawn_local(async move {
            if let Some(said) = self.ask(json!({ "ask": "jobs" })).await {
                self.jobs.set(said["jobs"].clone());
            }
        });
    }

    /// Goes on with a job that is kept here. What was shown last is shown at once, until it is worked out again.
    pub async fn go_on(self, job: String) {
        if let Some(said) = self.ask(json!({ "ask": "last_view", "job": job })).await
            && said["last_view"].is_object()
        {
            self.stale.set(true);
            self.show(said["last_view"].clone());
        }
        match self.ask(json!({ "ask": "go_on", "job": job, "text": "" })).await {
            Some(said) => {
                self.practice.set(said["practice"] == true);
                self.damage.set(texts(&said["damage"]));
                self.stale.set(false);
                for reading in list(&said["left"]) {
                    self.happened("reading", reading).await;
                }
            }
            None => {
                self.view.set(None);
                self.beneath.set(None);
            }
        }
        self.stale.set(false);
    }

    /// Shows values in other units from now on, on this device.
    pub fn switch_units(self, us: bool) {
        let units = if us { "us" } else { "si" };
        self.units.set(units.to_owned());
        self.remember("units", units.to_owned());
        if self.view.with_untracked(Option::is_some) {
            spawn_local(async move {
                self.ask(json!({ "ask": "view" })).await;
            });
        }
    }
}

pub fn to_top() {
    if let Some(window) = web_sys::window() {
        window.scroll_to_with_x_and_y(0.0, 0.0);
    }
}

/// A number that nobody else has.
pub fn chance() -> u32 {
    (js_sys::Math::random() * 4_294_967_296.0) as u32
}

/// The text of a value; empty where it is none.
pub fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

pub fn list(value: &Value) -> Vec<Value> {
    value.as_array().cloned().unwrap_or_default()
}

pub fn texts(value: &Value) -> Vec<String> {
    list(value).iter().map(text).collect()
}

/// As a heading or a line of its own begins: with a capital.
pub fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Day and time of day of an RFC 3339 time, where this device is.
pub fn day_and_time(at: &Value) -> (String, String) {
    let date = js_sys::Date::new(&text(at).into());
    if date.get_time().is_nan() {
        return (text(at), String::new());
    }
    let day = format!("{}-{:02}-{:02}", date.get_full_year(), date.get_month() + 1, date.get_date());
    (day, format!("{:02}:{:02}", date.get_hours(), date.get_minutes()))
}

/// Per cent, in as many words as it deserves.
pub fn percent(value: &Value) -> String {
    match value.as_f64().unwrap_or(0.0) {
        p if p <= 0.0 => "0 %".to_owned(),
        p if p < 1.0 => "under 1 %".to_owned(),
        p if p > 99.0 && p < 100.0 => "over 99 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

pub fn minutes(value: &Value) -> String {
    match value.as_f64().unwrap_or(0.0) {
        m if m < 0.95 => "under 1\u{a0}min".to_owned(),
        m => format!("{m:.0}\u{a0}min"),
    }
}
