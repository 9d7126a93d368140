//! Proving, closing, what the customer is shown, and the debrief of a practice.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::photo;
use crate::state::{State, list, minutes, text, texts};

pub fn prove(state: State, p: &Value) -> impl IntoView + use<> {
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">"Prove it"</p>
            <h1 id="next" aria-live="polite">"Run the machine and see that it is right"</h1>
            <ul>{texts(&p["how"]).into_iter().map(|h| view! { <li>{h}</li> }).collect_view()}</ul>
            {texts(&p["upstream"]).into_iter().map(|u| view! { <p class="caution">"Look upstream: "{u}</p> }).collect_view()}
            <div class="row">
                <button class="big lead" id="proved" on:click=move |_| state.event("proving_run", json!({ "passed": true }))>"It runs as it should"</button>
                <button class="big" on:click=move |_| state.event("proving_run", json!({ "passed": false }))>"It does not"</button>
            </div>
        </section>
    }
}

pub fn proposed(state: State, view: &Value) -> impl IntoView + use<> {
    let end = &view["next"];
    let ending = text(&end["ending"]);
    let cause = list(&view["done"]).last().map(|d| text(&d["what"]));
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">"Close the job"</p>
            <h1 id="next" aria-live="polite">{text(&end["words"])}</h1>
            <ul>{texts(&end["get"]).into_iter().map(|g| view! { <li>"Get: "{g}</li> }).collect_view()}</ul>
            <button class="big lead" id="close" on:click=move |_| close(state, ending.clone(), cause.clone(), String::new())>"Close it so"</button>
        </section>
    }
}

const ENDINGS: [(&str, &str); 6] = [
    ("repaired", "Repaired and proved"),
    ("nothing_broken", "Nothing is broken"),
    ("cannot_tell", "Cannot tell with what is here"),
    ("made_safe", "Made safe and left"),
    ("stopgap", "Runs for now (stopgap)"),
    ("declined", "The customer declined"),
];

/// Every honest ending, at any time.
pub fn endings(state: State, view: &Value) -> impl IntoView + use<> {
    let note = RwSignal::new(String::new());
    let cause = list(&view["done"]).last().map(|d| text(&d["what"]));
    let buttons = ENDINGS.map(|(ending, words)| {
        let cause = cause.clone();
        view! { <button class="wide" on:click=move |_| close(state, ending.to_owned(), cause.clone(), note.get_untracked())>{words}</button> }
    });
    view! {
        <details class="card">
            <summary><h2>"End the job another way"</h2></summary>
            <label for="note">"For whoever comes next"</label>
            <textarea id="note" rows="2" on:input=move |e| note.set(event_target_value(&e))></textarea>
            {buttons.into_iter().collect_view()}
        </details>
    }
}

fn close(state: State, ending: String, cause: Option<String>, note: String) {
    spawn_local(async move {
        let with = json!({ "ending": ending, "cause": cause, "note": note });
        if state.happened("ended", with).await && state.practice.get_untracked() {
            uncover(state).await;
        }
    });
}

/// The debrief of a practice.
async fn uncover(state: State) {
    if let Some(said) = state.ask(json!({ "ask": "debrief" })).await {
        state.debrief.set(Some(said["debrief"].clone()));
    }
}

pub fn closed(state: State, view: &Value) -> impl IntoView + use<> {
    let e = &view["ended"];
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">"Closed by "{text(&e["by"])}</p>
            <h1 id="next" aria-live="polite">{text(&e["words"])}</h1>
            {e["cause"].as_str().map(|c| view! { <p>"Done: "{c.to_owned()}</p> })}
            <p>{text(&e["note"])}</p>
            {state.practice.get_untracked().then(|| view! { <button class="big lead" id="debrief" on:click=move |_| spawn_local(async move { uncover(state).await })>"What was hidden"</button> })}
            <button class="big" id="reopen" on:click=move |_| spawn_local(async move { state.ask(json!({ "ask": "undo" })).await; })>"Take the closing back"</button>
        </section>
    }
}

/// What was found and done, without odds.
pub fn customer(state: State) -> impl IntoView {
    let view = state.view.get_untracked().unwrap_or(Value::Null);
    let items = |rows: Vec<String>| rows.into_iter().map(|r| view! { <li>{r}</li> }).collect_view();
    let found =
        list(&view["readings"]).iter().map(|r| format!("{}: {}", text(&r["title"]), text(&r["understood"]))).collect();
    let done: Vec<String> = list(&view["done"])
        .iter()
        .map(|d| format!("{}{}", text(&d["what"]), if d["proved"] == true { " (proved by a run)" } else { "" }))
        .collect();
    view! {
        <section class="card paper">
            <h1>{text(&view["machine"]["name"])}</h1>
            <p>"You told us: “"{text(&view["opening"]["complaint"])}"”"</p>
            <h2>"What we looked at"</h2><ul>{items(found)}</ul>
            <h2>"What we did"</h2>
            {if done.is_empty() { view! { <p>"Nothing has been changed on the machine."</p> }.into_any() } else { view! { <ul>{items(done)}</ul> }.into_any() }}
            <div class="thumbs">{photo::of_job(&view)}</div>
            <p><b>{text(&view["ended"]["words"])}</b></p>
            <p class="faint">{text(&view["opening"]["by"])}" · job "{text(&view["job"])}</p>
        </section>
        <div class="row noprint">
            <button id="print" on:click=move |_| { let _ = window().print(); }>"Print it"</button>
            <button on:click=move |_| state.customer.set(false)>"Back to the job"</button>
        </div>
    }
}

/// Two visits to the same machine, in minutes.
pub fn debrief(state: State) -> impl IntoView {
    let d = state.debrief.get_untracked().unwrap_or(Value::Null);
    let visit = |title: &'static str, v: &Value| {
        let steps: Vec<_> = list(&v["steps"])
            .iter()
            .map(|s| view! { <li>{text(&s["what"])}" · "{minutes(&s["minutes"])}</li> })
            .collect();
        view! {
            <section class="card"><h2>{title}": "{minutes(&v["minutes"])}</h2>
                <p>{if v["cured"] == true { "The machine is right." } else { "Something is left in it." }}</p>
                <ol>{steps}</ol>
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
        <button class="big" id="leave" on:click=move |_| state.leave()>"All jobs"</button>
    }
}
