//! The end of a practice: what was hidden, and two visits to the same machine in minutes.

use leptos::prelude::*;
use serde_json::{Value, json};

use crate::state::{State, list, minutes, sentence, text, texts, to_top};

/// Asks what was hidden, and shows it.
pub async fn uncover(state: State) {
    if let Some(said) = state.ask(json!({ "ask": "debrief" })).await {
        state.debrief.set(Some(said["debrief"].clone()));
        to_top();
    }
}

pub fn page(state: State) -> impl IntoView {
    let d = state.debrief.get_untracked().unwrap_or(Value::Null);
    let visit = |title: &'static str, v: &Value| {
        let steps: Vec<_> = list(&v["steps"])
            .iter()
            .map(|s| view! { <li><span>{sentence(&text(&s["what"]))}</span><span class="odds">{minutes(&s["minutes"])}</span></li> })
            .collect();
        view! {
            <section class="card"><h2>{title}": "{minutes(&v["minutes"])}</h2>
                <p>{if v["cured"] == true { "The machine is right afterwards." } else { "Something is left in it." }}</p>
                <ol class="steps">{steps}</ol>
            </section>
        }
    };
    let hidden = texts(&d["hidden"]);
    view! {
        <section class="card next">
            <p class="kicker">"Practice"</p>
            <h1>"Hidden was: "{if hidden.is_empty() { "nothing; the machine is sound".to_owned() } else { hidden.join(" and ") }}</h1>
        </section>
        {visit("Your visit", &d["yours"])}
        {visit("The program's visit", &d["program"])}
        <button class="big lead" id="leave" on:click=move |_| state.leave()>"Back to the machines and jobs"</button>
    }
}
