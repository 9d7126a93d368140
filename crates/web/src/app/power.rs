//! What was reported about the power: always in view, and reported from here. Nothing here certifies anything.

use leptos::prelude::*;
use serde_json::{Value, json};

use crate::state::{State, day_and_time, list, sentence, text};

/// What makes a machine safe to touch: in the view and as an event; as a test asks for it; in words.
const REPORTS: [(&str, &str, &str); 3] = [
    ("isolated", "isolated", "isolated"),
    ("discharged", "discharged", "discharged"),
    ("proved_dead", "dead", "proved dead"),
];

/// The bar at the top.
pub fn bar(state: State) -> impl IntoView {
    let power = move || state.view.with(|v| v.as_ref().map_or(Value::Null, |v| v["power"].clone()));
    view! {
        <header class="power" class:live=move || !power()["live"].is_null() class:dead=move || !power()["proved_dead"].is_null()>
            <details>
                <summary>{move || summary(&power())}</summary>
                <p class="faint">"Reports of people, with their time. They prove nothing, and lapse when power returns."</p>
                {move || list(&power()["lapsed"]).iter().map(|l| view! {
                    <p>"Lapsed "{clock(&l["lapsed_at"])}": "{text(&l["what"])}" ("{text(&l["who"])}", "{clock(&l["at"])}")"</p>
                }).collect_view()}
                <fieldset class="all" disabled=move || state.stale.get()><div class="row">{buttons(state, "bar", None)}</div></fieldset>
            </details>
        </header>
    }
}

/// Buttons that report a state: all that can be reported now, or those that a test waits for. `place` sets their ids
/// apart: they stand on the bar and at the test that wants them.
pub fn buttons(state: State, place: &'static str, wanted: Option<&[String]>) -> impl IntoView + use<> {
    let wants = |word: &str| wanted.is_none_or(|all| all.iter().any(|w| w == word));
    let who = move || state.who.get_untracked();
    let power = state.view.with_untracked(|v| v.as_ref().map_or(Value::Null, |v| v["power"].clone()));
    let dead: Vec<_> = REPORTS
        .iter()
        .filter(|(kind, word, _)| power[*kind].is_null() && wants(word))
        .enumerate()
        .map(|(i, (kind, _, words))| {
            let kind = *kind;
            view! {
                <button class="big" class:lead=i == 0 id=format!("{place}-report-{kind}")
                    on:click=move |_| state.event("safety_report", json!({ "kind": kind, "who": who() }))>
                    "I report: "{*words}
                </button>
            }
        })
        .collect();
    let off = !power["isolated"].is_null();
    let (kind, words) =
        if off { ("power_restored", "I report: power is back on") } else { ("live", "I report: it is live") };
    let first = wanted.is_some() && dead.is_empty();
    view! {
        {dead}
        {(power["live"].is_null() && wants("live")).then(|| view! {
            <button class="big" class:lead=first id=format!("{place}-report-live") on:click=move |_| state.event("safety_report", json!({ "kind": kind, "who": who() }))>{words}</button>
        })}
    }
}

/// How the power is left, as reported; `unless_isolated` is said where nobody has reported it isolated, unless it is empty.
pub fn left(view: &Value, unless_isolated: &'static str) -> impl IntoView + use<> {
    let power = &view["power"];
    let words = summary(power);
    view! {
        <h2 class="minor">"Power as it is left"</h2>
        <p class="left">{words}</p>
        {(!unless_isolated.is_empty() && power["isolated"].is_null()).then(|| view! { <p class="caution"><b>"Caution: "</b>{unless_isolated}</p> })}
    }
}

fn summary(power: &Value) -> AnyView {
    let said = |r: &Value| format!("{}, {}", text(&r["who"]), clock(&r["at"]));
    if !power["live"].is_null() {
        return view! { <b>"LIVE"</b>" reported by "{said(&power["live"])} }.into_any();
    }
    let standing: Vec<_> = REPORTS
        .iter()
        .filter(|(key, ..)| !power[*key].is_null())
        .map(|(key, _, words)| view! { <span class="report"><b>{sentence(words)}</b>" "{said(&power[*key])}</span> })
        .collect();
    if !standing.is_empty() {
        return standing.into_any();
    }
    let lapsed = !list(&power["lapsed"]).is_empty();
    view! {
        <b>"Power: nothing reported"</b>
        <span>{if lapsed { "earlier reports have lapsed" } else { "take it as live" }}</span>
    }
    .into_any()
}

fn clock(at: &Value) -> String {
    day_and_time(at).1
}
