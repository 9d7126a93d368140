//! Entering a reading: words at a touch, numbers on a pad, the value and its unit echoed large.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::state::{State, text, texts};

/// Units that a meter shows for what is measured.
fn units(of: &str) -> &'static [&'static str] {
    match of {
        "a resistance" => &["Ω", "kΩ", "MΩ"],
        "a capacitance" => &["µF", "nF"],
        "a voltage" => &["V", "mV"],
        "a current" => &["A", "mA"],
        "a power" => &["W", "kW"],
        "a temperature" => &["°C", "°F"],
        "a temperature difference" => &["K", "°F"],
        "a gauge pressure" => &["barg", "psig", "kPag"],
        "a frequency" => &["Hz"],
        "a time" | "a duration" => &["s", "min"],
        _ => &[],
    }
}

pub fn entry(state: State, test: &Value) -> AnyView {
    let id = text(&test["id"]);
    if state.practice.get_untracked() {
        return view! {
            <button class="big lead" id="let-it-answer" on:click=move |_| {
                let id = id.clone();
                spawn_local(async move {
                    if let Some(said) = state.ask(json!({ "ask": "practice_read", "test": id })).await {
                        state.happened("reading", json!({ "test": id, "as_typed": said["typed"] })).await;
                    }
                });
            }>"Make this test"</button>
        }
        .into_any();
    }
    let answer = &test["answer"];
    if answer["kind"] == "words" {
        let buttons: Vec<_> = texts(&answer["words"])
            .into_iter()
            .map(|word| {
                let (id, typed) = (id.clone(), word.clone());
                view! { <button class="big answer" on:click=move |_| state.reading(id.clone(), typed.clone(), true)>{word}</button> }
            })
            .collect();
        return view! { <h2 class="minor">"What do you find?"</h2><div class="row">{buttons}</div> }.into_any();
    }
    pad(state, id, &text(&answer["of"]), example(&text(&answer["example"]))).into_any()
}

/// An example as a meter shows it: what can be typed without a degree sign is read with one.
fn example(typed: &str) -> String {
    match typed.split_once(' ') {
        Some((number, unit @ ("C" | "F"))) => format!("{number} °{unit}"),
        _ => typed.to_owned(),
    }
}

fn pad(state: State, id: String, of: &str, example: String) -> impl IntoView {
    let of = of.to_owned();
    let units = units(&of);
    let type_on = move |piece: &'static str| state.typed.update(|t| t.push_str(piece));
    let with_unit = move |unit: &'static str| {
        state.typed.update(|t| {
            let number: String = t.chars().filter(|c| c.is_ascii_digit() || ".-<>".contains(*c)).collect();
            *t = format!("{number} {unit}");
        });
    };
    let keys = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "-"];
    let (enter, sure) = (id.clone(), id.clone());
    let submit = id.clone();
    view! {
        <h2 class="minor">"What do you read?"</h2>
        <form on:submit=move |e| { e.prevent_default(); state.reading(submit.clone(), state.typed.get_untracked(), false); }>
            <label for="reading" class="faint">{of.clone()}", like "{example}</label>
            <input id="reading" class="echo" autocomplete="off" inputmode="none" prop:value=move || state.typed.get()
                on:input=move |e| { state.query.set(None); state.typed.set(event_target_value(&e)); }/>
        </form>
        <div class="pad">
            <div class="keys">
                {keys.map(|k| view! { <button class="key" on:click=move |_| type_on(k)>{k}</button> }).collect_view()}
            </div>
            <div class="units">
                {units.iter().map(|u| { let u = *u; view! { <button class="key unit" on:click=move |_| with_unit(u)>{u}</button> } }).collect_view()}
                <button class="key" on:click=move |_| state.typed.set("OL".to_owned())>"OL"</button>
                <button class="key" aria-label="at least" on:click=move |_| state.typed.update(|t| *t = format!(">{}", t.trim_start_matches(['<', '>'])))>">"</button>
                <button class="key" aria-label="delete" on:click=move |_| state.typed.update(|t| { t.pop(); })>"⌫"</button>
            </div>
        </div>
        <div role="alert">
            {move || state.query.get().map(|q| {
                let (sure, other) = (sure.clone(), sure.clone());
                let perhaps = text(&q["perhaps"]);
                let meant = perhaps.clone();
                view! {
                    <section class="trouble">
                        <p>"You typed "<b>{text(&q["read"])}</b>". A sound machine shows "{text(&q["if_healthy"])}". Did you mean "<b>{perhaps.clone()}</b>"?"</p>
                        <button class="big" on:click=move |_| state.reading(other.clone(), meant.clone(), true)>"I meant "{perhaps}</button>
                        <button class="big" on:click=move |_| state.reading(sure.clone(), state.typed.get_untracked(), true)>"It is as typed"</button>
                    </section>
                }
            })}
        </div>
        <button class="big lead" id="enter" disabled=move || state.typed.with(|t| t.trim().is_empty())
            on:click=move |_| state.reading(enter.clone(), state.typed.get_untracked(), false)>
            "Enter "{move || state.typed.get()}
        </button>
    }
}
