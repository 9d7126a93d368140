//! Opening a job, going on with one, and beginning a practice.

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::photo;
use crate::state::{State, chance, list, sentence, text, texts, to_top};

/// After so long without a change, what is filled in is taken for all of it.
const PAUSE: Duration = Duration::from_millis(700);

/// What is filled in. Copies see the same.
#[derive(Clone, Copy)]
struct Form {
    machine: RwSignal<String>,
    age: RwSignal<String>,
    words: RwSignal<String>,
    /// Test and word, for what was touched.
    seen: RwSignal<Vec<(String, String)>>,
    /// What was noticed that no test asks for.
    noticed: RwSignal<Vec<String>>,
    /// Tools that are not with us.
    left_behind: RwSignal<Vec<String>>,
    /// Conditions as typed.
    typed: RwSignal<Vec<(String, String)>>,
    /// Hashes of photos with what they show.
    photos: RwSignal<Vec<(String, &'static str)>>,
    worked_on: RwSignal<bool>,
    known_wrong: RwSignal<bool>,
}

impl Form {
    fn new() -> Form {
        Form {
            machine: RwSignal::new("water-heater".to_owned()),
            age: RwSignal::new(String::new()),
            words: RwSignal::new(String::new()),
            seen: RwSignal::new(Vec::new()),
            noticed: RwSignal::new(Vec::new()),
            left_behind: RwSignal::new(Vec::new()),
            typed: RwSignal::new(Vec::new()),
            photos: RwSignal::new(Vec::new()),
            worked_on: RwSignal::new(false),
            known_wrong: RwSignal::new(false),
        }
    }

    fn chosen(self, state: State) -> Value {
        state
            .machines
            .with(|m| list(&m["machines"]).into_iter().find(|m| m["id"] == self.machine.get()))
            .unwrap_or(Value::Null)
    }

    /// The opening, and what follows at once: readings, what was noticed, photos.
    fn filled_in(self, state: State) -> (Value, Vec<(&'static str, Value)>) {
        let mut with = json!({ "complaint": self.words.get_untracked().trim() });
        if let Ok(years) = self.age.get_untracked().trim().replace(',', ".").parse::<f64>() {
            with["machine_age_years"] = json!(years);
        }
        let seen = self.seen.get_untracked();
        if let Some((_, shown)) = seen.iter().find(|(test, _)| test == "display message") {
            with["shown_code"] = json!(shown);
        }
        for (key, said) in [("recent_work", self.worked_on), ("known_wrong", self.known_wrong)] {
            if said.get_untracked() {
                with["conditions"]["other"][key] = json!(1.0);
            }
        }
        let left = self.left_behind.get_untracked();
        let tools: Vec<String> = state.machines.with_untracked(|m| texts(&m["tools"]));
        with["tools_carried"] = json!(tools.into_iter().filter(|t| !left.contains(t)).collect::<Vec<_>>());
        let typed: serde_json::Map<String, Value> =
            self.typed.get_untracked().into_iter().map(|(key, typed)| (key, json!(typed))).collect();
        let opened = json!({ "machine": self.machine.get_untracked(), "with": with, "typed": typed });
        let mut after: Vec<(&'static str, Value)> = self
            .photos
            .get_untracked()
            .into_iter()
            .map(|(hash, what)| ("photo", json!({ "hash": hash, "what": what })))
            .collect();
        after.extend(
            self.noticed.get_untracked().iter().map(|n| ("observation", json!({ "what": "look round", "words": n }))),
        );
        after.extend(seen.into_iter().map(|(test, word)| ("reading", json!({ "test": test, "as_typed": word }))));
        (opened, after)
    }

    /// Follows whatever changes what the engine makes of it.
    fn changed(self, state: State) {
        self.machine.track();
        self.age.track();
        self.seen.track();
        self.left_behind.track();
        self.typed.track();
        self.worked_on.track();
        self.known_wrong.track();
        state.machines.track();
        state.units.track();
    }

    /// What was touched belongs to the machine that was chosen.
    fn other_machine(self, id: String) {
        self.machine.set(id);
        self.seen.set(Vec::new());
        self.typed.set(Vec::new());
    }
}

pub fn start(state: State) -> impl IntoView {
    let form = Form::new();
    let opened = move |practice: bool| {
        let (opened, after) = form.filled_in(state);
        let title = form.chosen(state)["name"].clone();
        spawn_local(async move { begin(state, title, opened, after, practice).await });
    };
    // While it is filled in, the engine begins with it.
    let changes = StoredValue::new(0_u32);
    Effect::new(move |_| {
        form.changed(state);
        changes.update_value(|n| *n += 1);
        let now = changes.get_value();
        set_timeout(
            move || {
                let at_rest = changes.try_get_value() == Some(now) && state.view.with_untracked(Option::is_none);
                if at_rest && state.recalled() && state.asking.get_untracked() == 0 {
                    let (opened, after) = form.filled_in(state);
                    let readings = after.into_iter().filter(|(kind, _)| *kind == "reading").map(|(_, with)| with);
                    state.draft(&opened, readings.collect());
                }
            },
            PAUSE,
        );
    });
    let cannot =
        move || !state.recalled() || state.machines.with(Value::is_null) || form.chosen(state)["broken"] == true;
    view! {
        <h1>"halfsplit"</h1>
        <p class="lead-in">"What to test next on a machine that does not do what it should, and why."</p>
        {move || kept(state)}
        <section class="card">
            <h2>"Open a job"</h2>
            <label for="machine">"The machine"</label>
            <select id="machine" on:change=move |e| form.other_machine(event_target_value(&e))>
                {move || state.machines.with(|m| list(&m["machines"])).into_iter().map(|m| view! {
                    <option value=text(&m["id"])>{text(&m["name"])}</option>
                }).collect_view()}
            </select>
            <p class="faint">{move || sentence(&text(&form.chosen(state)["kind"]))}</p>
            <label for="who">"Your name, for the record"</label>
            <input id="who" autocomplete="name" prop:value=move || state.who.get()
                on:input=move |e| state.who.set(event_target_value(&e))
                on:change=move |e| state.remember("who", event_target_value(&e))/>
            <label for="words">"The customer's words, as said"</label>
            <textarea id="words" rows="2" prop:value=move || form.words.get() on:input=move |e| form.words.set(event_target_value(&e))></textarea>
            {choice(form, "Which of these comes nearest?", "complaint".to_owned(), move || texts(&form.chosen(state)["complaints"]))}
            {choice(form, "What does the display report? Photograph it before power is cycled.", "display message".to_owned(), move || texts(&form.chosen(state)["messages"]))}
            <div class="row">
                {photo::take(state, "display", move |hash| form.photos.update(|p| p.push((hash, "display"))))}
                {photo::take(state, "nameplate", move |hash| form.photos.update(|p| p.push((hash, "nameplate"))))}
            </div>
            <div class="thumbs">{move || form.photos.get().into_iter().map(|(hash, what)| photo::shown(hash, what.to_owned())).collect_view()}</div>
            <label for="age">"Age, years (if known)"</label>
            <input id="age" inputmode="decimal" prop:value=move || form.age.get() on:input=move |e| form.age.set(event_target_value(&e))/>
            {look_round(state, form)}
            {conditions(state, form)}
            {tools(state, form)}
            <label class="tick"><input type="checkbox" prop:checked=move || state.units.get() == "us" on:change=move |e| state.switch_units(event_target_checked(&e))/>"Show °F, psi, µm Hg, pounds"</label>
            <button class="big lead" id="open" disabled=cannot on:click=move |_| opened(false)>"Open the job"</button>
        </section>
        <section class="card">
            <h2>"Without a job"</h2>
            <div class="row">
                <button class="big" id="practice" disabled=cannot on:click=move |_| opened(true)>"Practise on this machine"</button>
                <button class="big" id="sheets" on:click=move |_| { state.sheets.set(true); to_top(); }>"Machine sheets"</button>
            </div>
            <p class="faint">"Practice hides a fault in the machine chosen above: you choose what to test, the machine answers, and at the end your visit is compared with the program's, in minutes. A sheet describes a machine: read one, or make your own."</p>
        </section>
    }
}

/// Jobs that are kept on this device, the latest first.
fn kept(state: State) -> Option<impl IntoView> {
    let jobs = state.jobs.with(list);
    (!jobs.is_empty()).then(|| {
        view! {
            <section class="card">
                <h2>"Kept on this device"</h2>
                {jobs.into_iter().rev().take(8).map(|j| {
                    let name = text(&j["job"]);
                    view! { <button class="wide" on:click=move |_| spawn_local(state.go_on(name.clone()))>{text(&j["title"])}" · "{text(&j["job"])}</button> }
                }).collect_view()}
            </section>
        }
    })
}

/// Words of a test, of which one can be true.
fn choice(
    form: Form,
    label: impl IntoView,
    test: String,
    words: impl Fn() -> Vec<String> + Send + 'static,
) -> impl IntoView {
    view! {
        <fieldset class="choice">
            <legend>{label}</legend>
            {move || words().into_iter().map(|word| touch(form, test.clone(), word)).collect_view()}
        </fieldset>
    }
}

fn touch(form: Form, test: String, word: String) -> impl IntoView {
    let this = (test, word.clone());
    let again = this.clone();
    view! {
        <button type="button" aria-pressed=move || form.seen.with(|s| s.contains(&this)).to_string()
            on:click=move |_| form.seen.update(|s| {
                let was = s.contains(&again);
                s.retain(|(test, _)| *test != again.0);
                if !was {
                    s.push(again.clone());
                }
            })>
            {word}
        </button>
    }
}

/// A list to which one thing belongs or not.
fn toggle(all: RwSignal<Vec<String>>, one: String, pressed_when_in: bool) -> impl IntoView {
    let (a, b) = (one.clone(), one.clone());
    view! {
        <button type="button" aria-pressed=move || (all.with(|l| l.contains(&a)) == pressed_when_in).to_string()
            on:click=move |_| all.update(|l| if l.contains(&b) { l.retain(|x| *x != b) } else { l.push(b.clone()) })>
            {one}
        </button>
    }
}

/// Ten things to see, hear and smell before a cover is off.
fn look_round(state: State, form: Form) -> impl IntoView {
    let rows = move || {
        let (tests, notes): (Vec<Value>, Vec<Value>) =
            list(&form.chosen(state)["look_round"]).into_iter().partition(|r| r["note"].is_null());
        let tests = tests.into_iter().map(|r| {
            let words = texts(&r["words"]);
            choice(form, text(&r["title"]), text(&r["test"]), move || words.clone())
        });
        let notes = notes.into_iter().map(|r| toggle(form.noticed, text(&r["note"]), true));
        view! {
            {tests.collect_view()}
            <fieldset class="choice">
                <legend>"Also noticed (kept with the job, not reckoned with)"</legend>
                {notes.collect_view()}
            </fieldset>
            <fieldset class="choice">
                <legend>"Known beforehand (reckoned with)"</legend>
                <button type="button" id="worked-on" aria-pressed=move || form.worked_on.get().to_string()
                    on:click=move |_| form.worked_on.update(|w| *w = !*w)>"somebody worked on it lately"</button>
                <button type="button" id="known-wrong" aria-pressed=move || form.known_wrong.get().to_string()
                    on:click=move |_| form.known_wrong.update(|w| *w = !*w)>
                    "something is wrong for certain: an inspection, a claim, a second visit"</button>
            </fieldset>
        }
    };
    let count = move || form.seen.with(Vec::len) + form.noticed.with(Vec::len);
    view! {
        <details class="part" id="look-round">
            <summary>"Look round: what a touch can tell"{move || (count() > 0).then(|| format!(" · {} touched", count()))}</summary>
            <p class="caution"><b>"Caution: "</b>"A fan starts unannounced: turn it by hand only with every supply isolated and locked."</p>
            {rows}
        </details>
    }
}

/// Air and water, as typed.
fn conditions(state: State, form: Form) -> impl IntoView {
    let rows = move || {
        list(&form.chosen(state)["conditions"])
            .into_iter()
            .map(|c| {
                let key = text(&c["key"]);
                let id = format!("condition-{key}");
                let (shown, set) = (key.clone(), key);
                view! {
                    <label for=id.clone()>{text(&c["ask"])}{move || if state.units.get() == "us" { ", °F" } else { ", °C" }}</label>
                    <input id=id inputmode="decimal"
                        prop:value=move || form.typed.with(|t| t.iter().find(|(k, _)| *k == shown).map(|(_, v)| v.clone()).unwrap_or_default())
                        on:input=move |e| form.typed.update(|t| {
                            t.retain(|(k, _)| *k != set);
                            t.push((set.clone(), event_target_value(&e)));
                        })/>
                }
            })
            .collect_view()
    };
    view! { <details class="part" id="conditions"><summary>"Air and water today (if known)"</summary>{rows}</details> }
}

/// Which tools are here.
fn tools(state: State, form: Form) -> impl IntoView {
    let missing = move || form.left_behind.with(Vec::len);
    view! {
        <details class="part" id="tools">
            <summary>"Tools with you"{move || if missing() == 0 { ": all".to_owned() } else { format!(": all but {}", missing()) }}</summary>
            <fieldset class="choice">
                <legend>"Ticked is with you: touch what is not"</legend>
                {move || state.machines.with(|m| texts(&m["tools"])).into_iter().map(|t| toggle(form.left_behind, t, false)).collect_view()}
            </fieldset>
        </details>
    }
}

async fn begin(state: State, title: Value, opened: Value, after: Vec<(&'static str, Value)>, practice: bool) {
    let now: String = js_sys::Date::new_0().to_iso_string().into();
    let n = chance();
    let letters: String = (0..3).map(|i| char::from(b"abcdefghkmnprstwxyz"[(n as usize >> (5 * i)) % 19])).collect();
    let job = format!("{}-{}{}-{letters}", &now[..10], &now[11..13], &now[14..16]);
    // What is hidden follows from it, so that a practice can go on after a reload.
    let seed = chance();
    let note = if practice {
        json!({ "title": format!("Practice: {}", text(&title)), "practice": seed })
    } else {
        json!({ "title": title })
    };
    if state.ask(json!({ "ask": "begin", "job": job, "note": note })).await.is_none() {
        return;
    }
    let mut event = opened;
    event["kind"] = json!("opened");
    if state.ask(json!({ "ask": "event", "event": event })).await.is_none() {
        return;
    }
    let mut after = after;
    if practice {
        let Some(said) = state.ask(json!({ "ask": "practice", "seed": seed })).await else { return };
        after = list(&said["readings"]).into_iter().map(|r| ("reading", r)).collect();
        state.practice.set(true);
    }
    for (kind, with) in after {
        state.happened(kind, with).await;
    }
    to_top();
}
