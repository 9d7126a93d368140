//! Opening a job, going on with one, and beginning a practice.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::state::{State, chance, list, text, texts, to_top};

pub fn start(state: State) -> impl IntoView {
    let machine = RwSignal::new("water-heater".to_owned());
    let age = RwSignal::new(String::new());
    let words = RwSignal::new(String::new());
    let complaint = RwSignal::new(None::<String>);
    let message = RwSignal::new(None::<String>);
    let chosen = move || {
        state
            .machines
            .with(|m| list(&m["machines"]).into_iter().find(|m| m["id"] == machine.get()))
            .unwrap_or(Value::Null)
    };
    let opened = move |practice: bool| {
        let id = machine.get_untracked();
        let mut with = json!({ "complaint": words.get_untracked().trim() });
        if let Ok(years) = age.get_untracked().trim().replace(',', ".").parse::<f64>() {
            with["machine_age_years"] = json!(years);
        }
        let first: Vec<Value> =
            [("complaint", complaint.get_untracked()), ("display message", message.get_untracked())]
                .into_iter()
                .filter_map(|(test, word)| word.map(|w| json!({ "test": test, "as_typed": w })))
                .collect();
        if let Some(shown) = message.get_untracked() {
            with["shown_code"] = json!(shown);
        }
        let title = chosen()["name"].clone();
        spawn_local(async move {
            begin(state, id, title, with, first, practice).await;
        });
    };
    let choice = move |label: &'static str, key: &'static str, picked: RwSignal<Option<String>>| {
        view! {
            <fieldset class="choice">
                <legend>{label}</legend>
                {move || texts(&chosen()[key]).into_iter().map(|word| {
                    let (a, b) = (word.clone(), word.clone());
                    view! {
                        <button type="button" aria-pressed=move || (picked.get().as_deref() == Some(&a)).to_string()
                            on:click=move |_| picked.update(|p| *p = if p.as_deref() == Some(&b) { None } else { Some(b.clone()) })>
                            {word}
                        </button>
                    }
                }).collect_view()}
            </fieldset>
        }
    };
    view! {
        <h1>"halfsplit"</h1>
        <p class="lead-in">"What to test next on a machine that does not do what it should, and why."</p>
        {move || {
            let jobs = state.jobs.with(list);
            (!jobs.is_empty()).then(|| view! {
                <section class="card">
                    <h2>"Kept on this device"</h2>
                    {jobs.into_iter().rev().take(8).map(|j| {
                        let name = text(&j["job"]);
                        view! { <button class="wide" on:click=move |_| spawn_local(state.go_on(name.clone()))>{text(&j["title"])}" · "{text(&j["job"])}</button> }
                    }).collect_view()}
                </section>
            })
        }}
        <section class="card">
            <h2>"Open a job"</h2>
            <label for="machine">"Machine"</label>
            <select id="machine" on:change=move |e| {
                machine.set(event_target_value(&e));
                complaint.set(None);
                message.set(None);
            }>
                {move || state.machines.with(|m| list(&m["machines"])).into_iter().map(|m| view! {
                    <option value=text(&m["id"])>{text(&m["name"])}" ("{text(&m["kind"])}")"</option>
                }).collect_view()}
            </select>
            <label for="who">"Your name, for the record"</label>
            <input id="who" autocomplete="name" prop:value=move || state.who.get()
                on:input=move |e| state.who.set(event_target_value(&e))
                on:change=move |e| state.remember("who", event_target_value(&e))/>
            <label for="words">"The customer's words, as said"</label>
            <textarea id="words" rows="2" prop:value=move || words.get() on:input=move |e| words.set(event_target_value(&e))></textarea>
            {choice("Which of these comes nearest?", "complaints", complaint)}
            {choice("What does it report? Photograph it before power is cycled.", "messages", message)}
            <label for="age">"Age, years (if known)"</label>
            <input id="age" inputmode="decimal" prop:value=move || age.get() on:input=move |e| age.set(event_target_value(&e))/>
            <label class="tick"><input type="checkbox" prop:checked=move || state.units.get() == "us" on:change=move |e| state.switch_units(event_target_checked(&e))/>"Show °F, psi, µm Hg, pounds"</label>
            <button class="big lead" id="open" disabled=move || state.machines.with(Value::is_null) on:click=move |_| opened(false)>"Open the job"</button>
        </section>
        <section class="card">
            <h2>"Practice"</h2>
            <p>"A fault is hidden in the machine above. You choose what to test, the machine answers; at the end both visits are compared in minutes."</p>
            <button class="big" id="practice" disabled=move || state.machines.with(Value::is_null) on:click=move |_| opened(true)>"Begin a practice"</button>
        </section>
    }
}

async fn begin(state: State, machine: String, title: Value, with: Value, first: Vec<Value>, practice: bool) {
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
    let event = json!({ "kind": "opened", "machine": machine, "with": with });
    if state.ask(json!({ "ask": "event", "event": event })).await.is_none() {
        return;
    }
    let mut first = first;
    if practice {
        let Some(said) = state.ask(json!({ "ask": "practice", "seed": seed })).await else { return };
        first = list(&said["readings"]);
        state.practice.set(true);
    }
    for reading in first {
        state.happened("reading", reading).await;
    }
    to_top();
}
