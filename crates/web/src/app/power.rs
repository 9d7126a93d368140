//! What was reported about the power: always in view, and reported from here. Nothing here certifies anything.

use leptos::prelude::*;
use serde_json::{Value, json};

use crate::state::{State, list, text};

const REPORTS: [(&str, &str, &str); 3] = [
    ("isolated", "isolated", "Isolated"),
    ("discharged", "discharged", "Discharged"),
    ("proved_dead", "proved_dead", "Proved dead"),
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
                <fieldset class="all" disabled=move || state.stale.get()><div class="row">{buttons(state, "bar")}</div></fieldset>
            </details>
        </header>
    }
}

/// Buttons that report a state. `place` sets their ids apart: they stand on the bar and at the test that wants them.
pub fn buttons(state: State, place: &'static str) -> impl IntoView {
    let who = move || state.who.get_untracked();
    let power = state.view.with_untracked(|v| v.as_ref().map_or(Value::Null, |v| v["power"].clone()));
    let missing: Vec<_> = REPORTS.iter().filter(|(key, ..)| power[*key].is_null()).collect();
    let first = missing.first().map(|(_, kind, _)| *kind);
    let dead: Vec<_> = missing
        .into_iter()
        .map(|(_, kind, words)| {
            let kind = *kind;
            view! {
                <button class="big" class:lead=first == Some(kind) id=format!("{place}-report-{kind}")
                    on:click=move |_| state.event("safety_report", json!({ "kind": kind, "who": who() }))>
                    "I report: "{*words}
                </button>
            }
        })
        .collect();
    let off = !power["isolated"].is_null();
    let (kind, words) =
        if off { ("power_restored", "I report: power is back on") } else { ("live", "I report: it is live") };
    view! {
        {dead}
        {(power["live"].is_null()).then(|| view! {
            <button class="big" id=format!("{place}-report-live") on:click=move |_| state.event("safety_report", json!({ "kind": kind, "who": who() }))>{words}</button>
        })}
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
        .map(|(key, _, words)| view! { <span class="report"><b>{*words}</b>" "{said(&power[*key])}</span> })
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

/// The time of day of an RFC 3339 time, as it was written down (UTC).
fn clock(at: &Value) -> String {
    let at = text(at);
    at.get(11..16).map_or(at.clone(), |t| format!("{t} UTC"))
}
