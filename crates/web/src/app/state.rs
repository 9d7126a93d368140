//! What the page knows, and its way to the engine.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(js_name = halfsplitAsk, js_namespace = globalThis, catch)]
    async fn ask_engine(question: String) -> Result<JsValue, JsValue>;
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
    pub view: RwSignal<Option<Value>>,
    /// A test that somebody chose himself.
    pub chosen: RwSignal<Option<Value>>,
    pub trouble: RwSignal<Option<Trouble>>,
    /// Questions without an answer yet; the page's own start counts as one.
    pub asking: RwSignal<usize>,
    /// What is shown is from before a reload: it can be read, but nothing entered until it is worked out again.
    pub stale: RwSignal<bool>,
    /// What is being typed.
    pub typed: RwSignal<String>,
    /// The reading looks off by a power of ten.
    pub query: RwSignal<Option<Value>>,
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
            chosen: RwSignal::new(None),
            trouble: RwSignal::new(None),
            asking: RwSignal::new(1),
            stale: RwSignal::new(false),
            typed: RwSignal::new(String::new()),
            query: RwSignal::new(None),
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

    /// The engine is at work.
    pub fn busy(self) -> bool {
        self.asking.get() > 0
    }

    /// Looks up what this device remembers: who, which units, its own name; gives the job that was open.
    pub async fn recall(self) -> Option<String> {
        let small = self.ask(json!({ "ask": "small" })).await?["small"].clone();
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
        let said: Value = said.and_then(|s| serde_json::from_str(&s).ok()).unwrap_or(Value::Null);
        if let Some(e) = said.get("error") {
            self.complain(&text(&e["what"]), &text(&e["do"]), &cause);
            return None;
        }
        self.succeeded(&cause);
        if let Some(view) = said.get("view") {
            // A photo beside it is no answer to what is being typed.
            if cause != "event photo" {
                self.chosen.set(None);
                self.query.set(None);
                self.typed.set(String::new());
                to_top();
            }
            keep_awake(view["ended"].is_null());
            self.view.set(Some(view.clone()));
        }
        Some(said)
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

    pub async fn happened(self, kind: &str, with: Value) -> bool {
        self.ask(json!({ "ask": "event", "event": { "kind": kind, "with": with } })).await.is_some()
    }

    /// A reading: asked back first where it looks off by a power of ten.
    pub fn reading(self, test: String, typed: String, sure: bool) {
        spawn_local(async move {
            if !sure {
                let said = self.ask(json!({ "ask": "check_reading", "test": test, "reading": typed })).await;
                match said {
                    None => return,
                    Some(said) if !said["ask_back"].is_null() => {
                        self.query.set(Some(said["ask_back"].clone()));
                        return;
                    }
                    Some(_) => {}
                }
            }
            self.happened("reading", json!({ "test": test, "as_typed": typed })).await;
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
        self.practice.set(false);
        self.debrief.set(None);
        self.customer.set(false);
        self.chosen.set(None);
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
            self.view.set(Some(said["last_view"].clone()));
        }
        match self.ask(json!({ "ask": "go_on", "job": job, "text": "" })).await {
            Some(said) => {
                self.practice.set(said["practice"] == true);
                self.stale.set(false);
                for reading in list(&said["left"]) {
                    self.happened("reading", reading).await;
                }
            }
            None => self.view.set(None),
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
    format!("{:.0} min", value.as_f64().unwrap_or(0.0).max(1.0))
}
