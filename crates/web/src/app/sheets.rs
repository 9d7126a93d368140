//! Machine sheets: read one, start one from a nameplate, edit it with live checking and its drawing, keep it here.

use std::time::Duration;

use leptos::html;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Map, Value, json};

use crate::drawing;
use crate::state::{State, chance, list, sentence, text, texts, to_top};

/// After so long without a key, what stands there is checked.
const PAUSE: Duration = Duration::from_millis(450);
/// Height of a line in the editor, in its CSS.
const LINE: i32 = 24;

/// A sheet on the desk.
#[derive(Clone, Copy)]
struct Editor {
    /// None while none is open.
    text: RwSignal<Option<String>>,
    /// Under which it is kept; empty for one that is not kept yet.
    id: RwSignal<String>,
    checked: RwSignal<Value>,
    /// Counts what was typed, so that only a pause is checked.
    typed: RwSignal<u32>,
    /// "wiring" or "loop".
    which: RwSignal<&'static str>,
    /// What the starting form had to say.
    said: RwSignal<Vec<String>>,
    /// It stands in the store as it stands here.
    kept: RwSignal<bool>,
}

impl Editor {
    fn new() -> Editor {
        Editor {
            text: RwSignal::new(None),
            id: RwSignal::new(String::new()),
            checked: RwSignal::new(Value::Null),
            typed: RwSignal::new(0),
            which: RwSignal::new("wiring"),
            said: RwSignal::new(Vec::new()),
            kept: RwSignal::new(false),
        }
    }

    fn open(self, state: State, id: String, sheet: String, said: Vec<String>) {
        self.kept.set(!id.is_empty());
        self.id.set(id);
        self.said.set(said);
        self.checked.set(Value::Null);
        self.text.set(Some(sheet));
        self.check(state);
        to_top();
    }

    fn check(self, state: State) {
        let Some(sheet) = self.text.get_untracked() else { return };
        let which = self.which.get_untracked();
        spawn_local(async move {
            if let Some(said) = state.ask(json!({ "ask": "check_sheet", "text": sheet, "drawing": which })).await {
                self.checked.set(said["checked"].clone());
            }
        });
    }

    fn type_in(self, state: State, sheet: String) {
        self.text.set(Some(sheet));
        self.kept.set(false);
        self.typed.update(|n| *n += 1);
        let now = self.typed.get_untracked();
        set_timeout(
            move || {
                if self.typed.try_get_untracked() == Some(now) {
                    self.check(state);
                }
            },
            PAUSE,
        );
    }

    async fn keep(self, state: State) {
        let Some(sheet) = self.text.get_untracked() else { return };
        if self.id.with_untracked(String::is_empty) {
            self.id.set(format!("own-{:08x}", chance()));
        }
        let question = json!({ "ask": "keep_sheet", "id": self.id.get_untracked(), "text": sheet });
        if state.ask(question).await.is_some() {
            self.kept.set(true);
            state.find_machines().await;
        }
    }
}

pub fn page(state: State) -> impl IntoView {
    let editor = Editor::new();
    move || {
        if editor.text.with(Option::is_some) {
            edit(state, editor).into_any()
        } else {
            view! {
                <h1>"Machine sheets"</h1>
                <p>"A sheet says which parts a machine has and how they are wired and piped. Everything else is computed from it."</p>
                {move || listed(state, editor)}
                {start(state, editor)}
                <button class="big" id="leave" on:click=move |_| { state.sheets.set(false); to_top(); }>"Back to the jobs"</button>
            }
            .into_any()
        }
    }
}

fn listed(state: State, editor: Editor) -> impl IntoView {
    let rows = state.machines.with(|m| list(&m["machines"])).into_iter().map(|m| {
        let (id, own) = (text(&m["id"]), m["own"] == true);
        let (asked, dropped) = (id.clone(), id);
        view! {
            <li class="row">
                <button class="wide" on:click=move |_| {
                    let id = asked.clone();
                    spawn_local(async move {
                        if let Some(said) = state.ask(json!({ "ask": "sheet", "name": id })).await {
                            editor.open(state, if own { id } else { String::new() }, text(&said["text"]), Vec::new());
                        }
                    });
                }>{text(&m["name"])}" · "{text(&m["kind"])}{own.then_some(" · yours")}</button>
                {own.then(|| view! {
                    <button class="drop" on:click=move |_| {
                        let id = dropped.clone();
                        let sure = window().confirm_with_message("Remove this sheet from this device? Jobs that were opened with it keep it.");
                        if sure.unwrap_or(false) {
                            spawn_local(async move {
                                if state.ask(json!({ "ask": "drop_sheet", "id": id })).await.is_some() {
                                    state.find_machines().await;
                                }
                            });
                        }
                    }>"Remove"</button>
                })}
            </li>
        }
    });
    view! { <section class="card"><h2>"Read one, or make your own from it"</h2><ul class="plain">{rows.collect_view()}</ul></section> }
}

/// From a nameplate: what can be read; the rest is assumed by size and marked so.
fn start(state: State, editor: Editor) -> impl IntoView {
    let form = RwSignal::new(Value::Null);
    let kind = RwSignal::new(String::new());
    let name = RwSignal::new(String::new());
    let answers = RwSignal::new(Map::new());
    spawn_local(async move {
        if let Some(said) = state.ask(json!({ "ask": "form" })).await {
            kind.set(text(&said["kinds"][0]["key"]));
            form.set(said);
        }
    });
    let questions = move || {
        let kinds = form.with(|f| list(&f["kinds"]));
        let chosen = kinds.into_iter().find(|k| k["key"] == kind.get()).unwrap_or(Value::Null);
        list(&chosen["questions"]).into_iter().map(|q| question(&q, answers)).collect_view()
    };
    let make = move |_| {
        spawn_local(async move {
            let question = json!({
                "ask": "start_sheet", "kind": kind.get_untracked(), "name": name.get_untracked(), "answers": answers.get_untracked(),
            });
            if let Some(said) = state.ask(question).await {
                let mut notes = vec![format!("{} of its ratings are assumed and marked so.", said["assumed"])];
                notes.extend(texts(&said["notes"]));
                notes.extend(list(&said["unknown"]).iter().map(|u| {
                    let stands = match u["weighed"] == true {
                        true => "every job weighs the ways, and says how likely each is".to_owned(),
                        false => format!("taken: {}", text(&u["taken"])),
                    };
                    let told = list(&u["told_by"]);
                    let told =
                        told.iter().map(|t| format!(" {} tells it from “{}”.", text(&t["test"]), text(&t["from"])));
                    let told: String = told.collect();
                    format!("{} Not known; {stands}. It matters {}.{told}", text(&u["question"]), text(&u["matters"]))
                }));
                let wanted = list(&said["wanted"]);
                let wanted = wanted
                    .iter()
                    .map(|w| format!("{} {} ({})", text(&w["part"]), text(&w["key"]), text(&w["meaning"])));
                let wanted: Vec<String> = wanted.collect();
                if !wanted.is_empty() {
                    notes.push(format!("What would help most, if you can read or measure it: {}.", wanted.join("; ")));
                }
                editor.open(state, String::new(), text(&said["sheet"]), notes);
            }
        });
    };
    view! {
        <section class="card">
            <h2>"Start one from a nameplate"</h2>
            <p>"Whatever cannot be read is left empty: it is assumed by size, and doubted until it has been measured."</p>
            <label for="kind">"Kind of machine"</label>
            <select id="kind" on:change=move |e| { kind.set(event_target_value(&e)); answers.set(Map::new()); }>
                {move || form.with(|f| list(&f["kinds"])).into_iter().map(|k| view! { <option value=text(&k["key"])>{text(&k["name"])}</option> }).collect_view()}
            </select>
            <label for="sheet-name">"What you call it"</label>
            <input id="sheet-name" on:input=move |e| name.set(event_target_value(&e))/>
            {questions}
            <button class="big lead" id="make-sheet" disabled=move || kind.with(String::is_empty) on:click=make>"Make the sheet"</button>
        </section>
    }
}

fn question(q: &Value, answers: RwSignal<Map<String, Value>>) -> impl IntoView + use<> {
    let key = text(&q["key"]);
    let id = format!("plate-{key}");
    let example = text(&q["example"]);
    let set = move |value: String| {
        answers.update(|a| {
            a.insert(key.clone(), json!(value));
        });
    };
    let field = if q["ways"].is_array() {
        let ways = list(&q["ways"])
            .into_iter()
            .map(|w| view! { <option value=text(&w[0])>{text(&w[0])}": "{text(&w[1])}</option> });
        view! {
            <select id=id.clone() on:change=move |e| set(event_target_value(&e))>
                <option value="">"not known"</option>
                {ways.collect_view()}
            </select>
        }
        .into_any()
    } else {
        view! { <input id=id.clone() placeholder=format!("like {example}") autocomplete="off" on:input=move |e| set(event_target_value(&e))/> }
            .into_any()
    };
    view! { <label for=id>{text(&q["ask"])}</label>{field} }
}

fn edit(state: State, editor: Editor) -> impl IntoView {
    let area = NodeRef::<html::Textarea>::new();
    let first = editor.text.get_untracked().unwrap_or_default();
    let to_line = move |line: u64| {
        let (Some(area), Some(sheet)) = (area.get_untracked(), editor.text.get_untracked()) else { return };
        let line = usize::try_from(line).unwrap_or(1).max(1);
        // The browser counts in UTF-16.
        let units = |s: &str| u32::try_from(s.encode_utf16().count()).unwrap_or(0);
        let begin: u32 = sheet.split('\n').take(line - 1).map(|l| units(l) + 1).sum();
        let length = sheet.split('\n').nth(line - 1).map_or(0, units);
        let _ = area.focus();
        let _ = area.set_selection_range(begin, begin + length);
        area.set_scroll_top(LINE * i32::try_from(line).unwrap_or(0) - 4 * LINE);
    };
    let problem = move |p: &Value, word: &'static str| {
        let line = p["line"].as_u64();
        let place = line.map_or_else(|| word.to_owned(), |l| format!("{word}, line {l}"));
        view! {
            <li>
                <p><b>{place}": "</b>{text(&p["what"])}". "<span class="faint">{sentence(&text(&p["do"]))}</span></p>
                {p["excerpt"].as_str().map(|e| view! { <pre>{e.to_owned()}</pre> })}
                {line.map(|l| view! { <button on:click=move |_| to_line(l)>"Go to line "{l}</button> })}
            </li>
        }
    };
    let verdict = move || {
        let c = editor.checked.get();
        if c.is_null() {
            return view! { <p>"being checked …"</p> }.into_any();
        }
        let wrong = list(&c["wrong"]);
        if !wrong.is_empty() {
            return view! {
                <p><b>"This cannot be computed yet."</b></p>
                <ul class="plain problems">{wrong.iter().map(|p| problem(p, "Wrong")).collect_view()}</ul>
            }
            .into_any();
        }
        let odd = list(&c["odd"]);
        view! {
            <p><b>"✓ It can be computed: "</b>{text(&c["name"])}", "{c["parts"].to_string()}" parts, "{c["tests"].to_string()}" tests, "{c["faults"].to_string()}" faults."</p>
            {(!odd.is_empty()).then(|| view! {
                <details><summary>{format!("{} things worth a look", odd.len())}</summary>
                    <ul class="plain problems">{odd.iter().map(|p| problem(p, "Odd")).collect_view()}</ul>
                </details>
            })}
        }
        .into_any()
    };
    // Drawn anew only when it has changed: what is enlarged stays so while something else is typed.
    let picture = Memo::new(move |_| editor.checked.with(|c| c["drawing"].clone()));
    let shape = move |which: &'static str, name: &'static str| {
        view! {
            <button aria-pressed=move || (editor.which.get() == which).to_string()
                on:click=move |_| { editor.which.set(which); editor.check(state); }>{name}</button>
        }
    };
    view! {
        <h1>{move || editor.checked.with(|c| c["name"].as_str().map_or_else(|| "Sheet".to_owned(), str::to_owned))}</h1>
        {move || {
            let said = editor.said.get();
            (!said.is_empty()).then(|| view! { <details class="card" open><summary><h2>"What to know about it"</h2></summary><ul>{said.into_iter().map(|s| view! { <li>{s}</li> }).collect_view()}</ul></details> })
        }}
        <section class="card" role="status" id="verdict">{verdict}</section>
        <label for="sheet">"The sheet's text: every line can be changed, and is checked as you type"</label>
        <textarea id="sheet" class="sheet" node_ref=area spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off" rows="16" prop:value=first
            on:input=move |e| editor.type_in(state, event_target_value(&e))></textarea>
        <div class="row">
            <button class="big lead" id="keep-sheet" disabled=move || editor.kept.get() on:click=move |_| spawn_local(editor.keep(state))>
                {move || if editor.kept.get() { "Kept on this device" } else if editor.id.with(String::is_empty) { "Keep it as a sheet of yours" } else { "Keep the changes" }}
            </button>
            <button class="big" id="close-sheet" on:click=move |_| { editor.text.set(None); to_top(); }>"Back to the sheets"</button>
        </div>
        <section class="card">
            <h2>"Drawn from it"</h2>
            <div class="row">{shape("wiring", "Wiring")}{shape("loop", "Refrigerant loop")}</div>
            {move || picture.with(|p| if p.is_object() {
                drawing::pane(p).into_any()
            } else {
                view! { <p class="faint">"It is drawn as soon as it can be computed."</p> }.into_any()
            })}
        </section>
    }
}
