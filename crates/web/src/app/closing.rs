//! Proving a repair, and closing a job: every honest ending, what was wrong and why it failed, signed off by name.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::account;
use crate::debrief;
use crate::power;
use crate::state::{State, list, text, texts, to_top};

/// Above this a suspect is named as what is wrong, and above the second without "most probably"; per cent.
const LIKELY: f64 = 50.0;
const AS_GOOD_AS_SURE: f64 = 90.0;

pub fn prove(state: State, p: &Value) -> impl IntoView + use<> {
    let saw = RwSignal::new(String::new());
    let ran = move |passed: bool| {
        state.event("proving_run", json!({ "passed": passed, "note": saw.get_untracked().trim() }));
    };
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">{state.practising()}"Prove it"</p>
            <h1 id="next" aria-live="polite">"Run the machine and see that it is right"</h1>
            <p>"After: "{texts(&p["after"]).join("; ")}</p>
            <p class="caution"><b>"Caution: "</b>"Put every cover back before power comes back. Fans start unannounced; pipes and water get hot enough to burn."</p>
            <h2 class="minor">"It is right when"</h2>
            <ul>{texts(&p["how"]).into_iter().map(|h| view! { <li>{h}</li> }).collect_view()}</ul>
            {texts(&p["expect"]).into_iter().map(|e| view! { <p class="faint"><b>"A sound machine: "</b>{e}</p> }).collect_view()}
            {texts(&p["upstream"]).into_iter().map(|u| view! { <p class="caution"><b>"While it runs, look for why it failed: "</b>{u}</p> }).collect_view()}
            {if state.practice.get_untracked() {
                view! { <button class="big lead" id="proved" on:click=move |_| spawn_local(async move {
                    if let Some(said) = state.ask(json!({ "ask": "practice_prove" })).await {
                        ran(said["passed"] == true);
                    }
                })>"Run it and see"</button> }
                .into_any()
            } else {
                view! {
                    <label for="saw">"What the run showed (if worth a word)"</label>
                    <textarea id="saw" rows="2" on:input=move |e| saw.set(event_target_value(&e))></textarea>
                    <div class="row">
                        <button class="big lead" id="proved" on:click=move |_| ran(true)>"It runs as it should"</button>
                        <button class="big" id="not-proved" on:click=move |_| ran(false)>"It does not"</button>
                    </div>
                }
                .into_any()
            }}
        </section>
    }
}

/// An ending, and what is asked of whoever closes a job so.
struct Asked {
    ending: &'static str,
    words: &'static str,
    /// Over what was wrong; empty where nothing was.
    cause: &'static str,
    /// Why the part failed is asked too.
    upstream: bool,
    /// Over what is written for whoever comes next.
    note: &'static str,
}

const ENDINGS: [Asked; 6] = [
    Asked {
        ending: "repaired",
        words: "Repaired and proved",
        cause: "What was wrong",
        upstream: true,
        note: "For whoever comes next (if anything)",
    },
    Asked {
        ending: "nothing_broken",
        words: "Nothing is broken",
        cause: "",
        upstream: false,
        note: "What explains what was noticed, and what the customer was shown",
    },
    Asked {
        ending: "cannot_tell",
        words: "Cannot tell with what is here",
        cause: "What is wrong, as far as it can be told",
        upstream: false,
        note: "What to get, and what could not be reached",
    },
    Asked {
        ending: "made_safe",
        words: "Made safe and left",
        cause: "What is wrong, as far as it is known",
        upstream: false,
        note: "What was made safe, how, and what is still to be done",
    },
    Asked {
        ending: "stopgap",
        words: "Runs for now (stopgap)",
        cause: "What is wrong",
        upstream: true,
        note: "What still has to be done properly, and by when",
    },
    Asked {
        ending: "declined",
        words: "The customer declined",
        cause: "What is wrong, as far as it is known",
        upstream: false,
        note: "What was offered, and what the customer said",
    },
];

/// What the program proposes to end with.
pub fn proposed(state: State, view: &Value) -> AnyView {
    let end = &view["next"];
    let ending = text(&end["ending"]);
    let get = texts(&end["get"]);
    let asked = ENDINGS.iter().find(|a| a.ending == ending).unwrap_or(&ENDINGS[2]);
    sign_off(state, view, asked, text(&end["words"]), get, false)
}

/// An ending that somebody chose himself.
pub fn chosen(state: State, view: &Value, ending: &str) -> AnyView {
    let asked = ENDINGS.iter().find(|a| a.ending == ending).unwrap_or(&ENDINGS[2]);
    sign_off(state, view, asked, asked.words.to_owned(), Vec::new(), true)
}

/// Every honest ending, at any time.
pub fn endings(state: State) -> impl IntoView {
    let buttons = ENDINGS.map(|a| {
        let to = move |_| {
            state.closing.set(Some(a.ending));
            to_top();
        };
        view! { <button class="wide" on:click=to>{a.words}</button> }
    });
    view! {
        <details class="card" id="endings">
            <summary><h2>"End the job another way"</h2></summary>
            <p class="faint">"You see what will be written, and sign it off, before anything is closed."</p>
            {buttons.into_iter().collect_view()}
        </details>
    }
}

/// What will be written when the job is closed so; everything can be corrected.
fn sign_off(state: State, view: &Value, asked: &Asked, title: String, get: Vec<String>, chosen: bool) -> AnyView {
    let ending = asked.ending;
    let cause = RwSignal::new(if asked.cause.is_empty() { String::new() } else { found(view, ending) });
    let upstream = RwSignal::new(String::new());
    let note = RwSignal::new(get.join("; "));
    let who = RwSignal::new(state.who.get_untracked());
    let practice = state.practice.get_untracked();
    let repairs: Vec<Value> = list(&view["done"]).into_iter().filter(|d| d["repair"].is_string()).collect();
    let unrepaired = ending == "repaired" && repairs.is_empty();
    // Neither stops anybody: there may be a reason, and then it is written down.
    let unproved = ending == "repaired" && repairs.iter().any(|d| d["proved"] != true);
    let repaired_all_the_same = ending == "nothing_broken" && !repairs.is_empty();
    let unless_isolated = if ["made_safe", "cannot_tell"].contains(&ending) {
        "Nobody has reported it isolated. The bar at the top takes that report."
    } else {
        ""
    };
    let unsigned = move || !practice && who.with(|w| w.trim().is_empty());
    let close = move |_| {
        let filled = |s: RwSignal<String>| Some(s.get_untracked().trim().to_owned()).filter(|s| !s.is_empty());
        let with = json!({
            "ending": ending, "cause": filled(cause), "upstream": filled(upstream), "note": filled(note).unwrap_or_default(),
        });
        if let Some(name) = filled(who) {
            state.remember("who", name.clone());
            state.who.set(name);
        }
        spawn_local(async move {
            if state.happened("ended", with).await && practice {
                debrief::uncover(state).await;
            }
        });
    };
    let label = |id: &'static str, words: &'static str| view! { <label for=id>{words}</label> };
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">{state.practising()}"Close the job"</p>
            <h1 id="next" aria-live="polite">{title}</h1>
            {(!get.is_empty()).then(|| view! { <h2 class="minor">"To get"</h2><ul>{get.into_iter().map(|g| view! { <li>{g}</li> }).collect_view()}</ul> })}
            {unrepaired.then(|| view! { <p class="caution"><b>"No repair has been entered yet. "</b>"Enter it first, or choose another ending."</p> })}
            {unproved.then(|| view! { <p class="caution"><b>"Not every repair has been proved by a run. "</b>"Run it first, or say below why not."</p> })}
            {repaired_all_the_same.then(|| view! { <p class="caution"><b>"A repair has been entered. "</b>"Then something was broken: take the repair back, or choose another ending."</p> })}
            {account::done(view)}
            {account::leaves_something(ending).then(|| power::left(view, unless_isolated))}
            {(!asked.cause.is_empty()).then(|| view! {
                {label("close-cause", asked.cause)}
                <textarea id="close-cause" rows="2" prop:value=move || cause.get() on:input=move |e| cause.set(event_target_value(&e))></textarea>
            })}
            {asked.upstream.then(|| view! {
                {label("close-upstream", "Why it failed (if found)")}
                {hints(view, upstream)}
                <textarea id="close-upstream" rows="2" prop:value=move || upstream.get() on:input=move |e| upstream.set(event_target_value(&e))></textarea>
            })}
            {label("close-note", asked.note)}
            <textarea id="close-note" rows="2" prop:value=move || note.get() on:input=move |e| note.set(event_target_value(&e))></textarea>
            {(!practice).then(|| view! {
                {label("close-who", "Signed off by")}
                <input id="close-who" autocomplete="name" prop:value=move || who.get() on:input=move |e| who.set(event_target_value(&e))/>
                <p role="status">{move || unsigned().then_some("A name is needed to sign it off.")}</p>
            })}
            <button class="big lead" id="close" disabled=move || unrepaired || unsigned() on:click=close>"Close: "{asked.words.to_lowercase()}</button>
            {chosen.then(|| view! { <button id="not-so" on:click=move |_| state.closing.set(None)>"Back to what was proposed"</button> })}
        </section>
    }
    .into_any()
}

/// What was wrong, as far as the job knows: what the repairs put right, or who leads the suspects.
fn found(view: &Value, ending: &str) -> String {
    let repairs: Vec<Value> = list(&view["done"]).into_iter().filter(|d| d["repair"].is_string()).collect();
    if !repairs.is_empty() && (ending == "repaired" || ending == "stopgap") {
        let named: Vec<String> = repairs.iter().map(|d| text(&d["found"])).filter(|f| !f.is_empty()).collect();
        return named.join("; ");
    }
    let lead = &view["still_possible"]["suspects"][0];
    match lead["percent"].as_f64().unwrap_or(0.0) {
        p if p >= AS_GOOD_AS_SURE => text(&lead["name"]),
        p if p >= LIKELY => format!("most probably {}", text(&lead["name"])),
        _ => String::new(),
    }
}

/// What such a fault comes from, to be taken over with a touch where it was seen.
fn hints(view: &Value, upstream: RwSignal<String>) -> impl IntoView + use<> {
    let repairs: Vec<Value> = list(&view["done"]).into_iter().filter(|d| d["repair"].is_string()).collect();
    let of: Vec<Value> = if repairs.is_empty() { vec![view["still_possible"]["suspects"][0].clone()] } else { repairs };
    let mut words: Vec<String> = Vec::new();
    for one in &of {
        for key in ["brought_about_by", "cause", "upstream"] {
            // Several stand joined; each is a touch of its own, or more would be written down than was seen.
            for hint in text(&one[key]).split("; ") {
                if !hint.is_empty() && !words.iter().any(|w| w == hint) {
                    words.push(hint.to_owned());
                }
            }
        }
    }
    let add = move |hint: &str| {
        upstream.update(|u| {
            if !u.trim().is_empty() {
                u.push_str("; ");
            }
            u.push_str(hint);
        });
    };
    (!words.is_empty()).then(|| {
        let touches: Vec<_> = words
            .into_iter()
            .map(|hint| {
                let text = hint.clone();
                view! { <button type="button" class="wide" on:click=move |_| add(&hint)>{text}</button> }
            })
            .collect();
        view! {
            <p class="faint">"Such a fault mostly comes from one of these. Touch what you saw:"</p>
            <div class="row">{touches}</div>
        }
    })
}

pub fn closed(state: State, view: &Value) -> impl IntoView + use<> {
    let e = &view["ended"];
    let practice = state.practice.get_untracked();
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">"Closed by "{text(&e["by"])}</p>
            <h1 id="next" aria-live="polite">{text(&e["words"])}</h1>
            {account::found(view)}
            {account::done(view)}
            {account::to_come(view)}
            {account::power_left(view)}
            {account::signature(view)}
            {practice.then(|| view! { <button class="big lead" id="debrief" on:click=move |_| spawn_local(debrief::uncover(state))>"What was hidden"</button> })}
            {(!practice).then(|| view! { <button class="big lead" id="to-customer" on:click=move |_| { state.customer.set(true); to_top(); }>"Show it to the customer"</button> })}
            <button class="big" id="reopen" on:click=move |_| spawn_local(async move { state.ask(json!({ "ask": "undo" })).await; })>"Take the closing back"</button>
        </section>
    }
}
