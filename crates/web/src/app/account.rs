//! What a job says of itself when it is closed: what was wrong, why, what was done, what is to come, who signs. The
//! technician and the customer read the same, and neither reads odds.

use leptos::prelude::*;
use serde_json::Value;

use crate::photo;
use crate::power;
use crate::state::{State, day_and_time, list, sentence, text, to_top};

/// What was wrong and why it failed.
pub fn found(view: &Value) -> impl IntoView + use<> {
    let e = &view["ended"];
    let part = |title: &'static str, words: String| {
        (!words.is_empty()).then(|| view! { <h2 class="minor">{title}</h2><p>{sentence(&words)}</p> })
    };
    view! {
        {part("What was wrong", text(&e["cause"]))}
        {part("Why it failed", text(&e["upstream"]))}
    }
}

/// What was done to the machine, and the runs that were to prove it.
pub fn done(view: &Value) -> impl IntoView + use<> {
    let done: Vec<_> = list(&view["done"])
        .iter()
        .map(|d| {
            let proved = match (d["repair"].is_string(), d["proved"] == true) {
                (true, true) => " (proved by a run)",
                (true, false) => " (not proved by a run)",
                _ => "",
            };
            view! { <li>{sentence(&text(&d["what"]))}{proved}</li> }
        })
        .collect();
    let runs: Vec<_> = list(&view["proving_runs"])
        .iter()
        .map(|r| {
            let words = if r["passed"] == true { "It ran as it should" } else { "It did not run as it should" };
            let note = text(&r["note"]);
            view! { <li>{words}{(!note.is_empty()).then(|| format!(": {note}"))}", "{when(&r["at"])}</li> }
        })
        .collect();
    view! {
        <h2 class="minor">"What was done"</h2>
        {if done.is_empty() { view! { <p>"Nothing has been changed on the machine."</p> }.into_any() } else { view! { <ul>{done}</ul> }.into_any() }}
        {(!runs.is_empty()).then(|| view! { <h2 class="minor">"Proving run"</h2><ul>{runs}</ul> })}
    }
}

/// Whether a machine is left that is not right: then how its power is left belongs to the account.
pub fn leaves_something(ending: &str) -> bool {
    !["repaired", "nothing_broken"].contains(&ending)
}

/// How the power of a closed job was left, where that belongs to its account. A machine that was made safe while nobody
/// reported it isolated is a trap for whoever opens it next.
pub fn power_left(view: &Value) -> impl IntoView + use<> {
    let ending = text(&view["ended"]["ending"]);
    let unless_isolated = if ending == "made_safe" { "Nobody has reported it isolated. Take it as live." } else { "" };
    leaves_something(&ending).then(|| power::left(view, unless_isolated))
}

/// An ending in words for the customer.
fn to_customer(ending: &str) -> &'static str {
    match ending {
        "repaired" => "It is repaired.",
        "nothing_broken" => "Nothing is broken.",
        "made_safe" => "It has been made safe, and is not repaired yet.",
        "stopgap" => "It runs for now: a stopgap, not a repair.",
        "declined" => "It is not repaired, as you wished.",
        _ => "It cannot be told yet what is wrong.",
    }
}

/// What was written for whoever comes next.
pub fn to_come(view: &Value) -> impl IntoView + use<> {
    let e = &view["ended"];
    let title = match e["ending"].as_str().unwrap_or_default() {
        "repaired" | "nothing_broken" => "To note",
        "cannot_tell" => "What it takes to go on",
        "declined" => "What was offered and said",
        _ => "What is still to be done",
    };
    let note = text(&e["note"]);
    (!note.is_empty()).then(|| view! { <h2 class="minor">{title}</h2><p>{note}</p> })
}

/// Who signed it off, and when.
pub fn signature(view: &Value) -> impl IntoView + use<> {
    let e = &view["ended"];
    (!e.is_null()).then(|| view! { <p class="signed">"Signed off by "<b>{text(&e["by"])}</b>", "{when(&e["at"])}</p> })
}

/// The whole of it for the customer, to be shown or printed.
pub fn customer(state: State) -> impl IntoView {
    let view = state.view.get_untracked().unwrap_or_default();
    let readings = list(&view["readings"]);
    // What the customer noticed stands above in his own words.
    let looked: Vec<_> = readings
        .iter()
        .filter(|r| r["test"] != "complaint")
        .map(|r| view! { <li>{sentence(&text(&r["title"]))}": "<b>{text(&r["understood"])}</b></li> })
        .collect();
    let complaint = text(&view["opening"]["complaint"]);
    let open = view["ended"].is_null();
    view! {
        <section class="card paper">
            <p class="kicker">{text(&view["machine"]["name"])}</p>
            <h1>{if open { "Where it stands: not closed yet" } else { to_customer(&text(&view["ended"]["ending"])) }}</h1>
            {(!complaint.is_empty()).then(|| view! { <h2 class="minor">"What you told us"</h2><p>"“"{complaint}"”"</p> })}
            {found(&view)}
            {done(&view)}
            {to_come(&view)}
            {(!open).then(|| power_left(&view))}
            <h2 class="minor">"What was looked at"</h2>
            <ul>{looked}</ul>
            <div class="thumbs">{photo::of_job(&view)}</div>
            {signature(&view)}
            <p class="faint">"Opened by "{text(&view["opening"]["by"])}", "{when(&view["opening"]["at"])}" · job "{text(&view["job"])}</p>
        </section>
        <div class="row noprint">
            <button class="big" id="print" on:click=move |_| { let _ = window().print(); }>"Print it"</button>
            <button class="big" id="back" on:click=move |_| { state.customer.set(false); to_top(); }>"Back to the job"</button>
        </div>
    }
}

fn when(at: &Value) -> impl IntoView + use<> {
    let (day, time) = day_and_time(at);
    view! { <span class="when">{day}" "{time}</span> }
}
