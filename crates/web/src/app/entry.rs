//! Entering a reading: words at a touch, numbers on a pad, the value and its unit echoed large.

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use wasm_bindgen::JsCast;

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

/// After so long without a key, what stands there is taken for all of it.
const PAUSE: Duration = Duration::from_millis(60);

/// A number with a unit, or none that a meter can show.
fn whole(typed: &str) -> bool {
    typed == "OL" || (typed.contains(|c: char| c.is_ascii_digit()) && typed.contains(char::is_alphabetic))
}

/// The keys, as one piece: they are there at once, where twenty buttons one by one would be waited for.
fn keys(units: &[&str]) -> String {
    let digits: String = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "-"]
        .map(|k| format!("<button class=\"key\">{k}</button>"))
        .concat();
    let units: String = units.iter().map(|u| format!("<button class=\"key unit\">{u}</button>")).collect();
    format!(
        "<div class=\"keys\">{digits}</div><div class=\"units\">{units}<button class=\"key\">OL</button>\
         <button class=\"key\" aria-label=\"at least\">&gt;</button><button class=\"key\" aria-label=\"delete\">⌫</button></div>"
    )
}

/// What stands in the field after a key: a digit goes on, anything else says something of the whole.
fn typed_on(typed: &mut String, key: &str) {
    match key {
        "OL" => "OL".clone_into(typed),
        ">" => *typed = format!(">{}", typed.trim_start_matches(['<', '>'])),
        "⌫" => drop(typed.pop()),
        "." | "-" => typed.push_str(key),
        digit if digit.chars().all(|c| c.is_ascii_digit()) => typed.push_str(digit),
        unit => {
            let number: String = typed.chars().filter(|c| c.is_ascii_digit() || ".-<>".contains(*c)).collect();
            *typed = format!("{number} {unit}");
        }
    }
}

fn pad(state: State, id: String, of: &str, example: String) -> impl IntoView {
    let of = of.to_owned();
    // What stands there as a whole is mostly what will be entered: the engine begins with it while the thumb is on its way.
    let of_test = id.clone();
    let stands = StoredValue::new(String::new());
    Effect::new(move |_| {
        let typed = state.typed.get();
        stands.set_value(typed.clone());
        if !whole(&typed) {
            return;
        }
        let test = of_test.clone();
        set_timeout(
            move || {
                if stands.try_with_value(|s| *s == typed) == Some(true) {
                    state.suppose(test, typed);
                }
            },
            PAUSE,
        );
    });
    let press = move |e: web_sys::MouseEvent| {
        let Some(target) = e.target().and_then(|t| t.dyn_into::<web_sys::Element>().ok()) else { return };
        let Ok(Some(button)) = target.closest("button") else { return };
        let key = button.text_content().unwrap_or_default();
        state.query.set(None);
        state.typed.update(|t| typed_on(t, &key));
    };
    let (enter, sure) = (id.clone(), id.clone());
    let submit = id.clone();
    view! {
        <h2 class="minor">"What do you read?"</h2>
        <form on:submit=move |e| { e.prevent_default(); state.reading(submit.clone(), state.typed.get_untracked(), false); }>
            <label for="reading" class="faint">{of.clone()}", like "{example}</label>
            <input id="reading" class="echo" autocomplete="off" inputmode="none" prop:value=move || state.typed.get()
                on:input=move |e| { state.query.set(None); state.typed.set(event_target_value(&e)); }/>
        </form>
        <div class="pad" on:click=press inner_html=keys(units(&of))></div>
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
