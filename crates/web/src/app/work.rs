//! At the machine: what to do next, large and first; everything else beneath.

use std::time::Duration;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::closing;
use crate::cut;
use crate::drawing;
use crate::entry;
use crate::photo;
use crate::power;
use crate::state::{State, list, minutes, percent, sentence, text, texts, to_top};

pub fn job(state: State) -> impl IntoView {
    view! {
        {move || card(state)}
        {move || state.beneath.get().map(|view| beneath(state, &view))}
    }
}

/// What to do next.
fn card(state: State) -> impl IntoView {
    let view = state.view.get().unwrap_or_default();
    let chosen = state.chosen.get();
    let next = chosen.clone().unwrap_or_else(|| view["next"].clone());
    let what = if chosen.is_some() { "test".to_owned() } else { text(&view["next"]["do"]) };
    let closing = state.closing.get();
    match what.as_str() {
            _ if closing.is_some() => closing::chosen(state, &view, closing.unwrap_or_default()),
            "test" => test(state, &next, chosen.is_some()).into_any(),
            "repair" => repair(state, &next).into_any(),
            "prove" => closing::prove(state, &next).into_any(),
            "end" => closing::proposed(state, &view),
            "closed" => closing::closed(state, &view).into_any(),
            _ => view! { <section class="card next"><h1>"This job can only be read"</h1><p>{text(&next["why"])}</p></section> }.into_any(),
        }
}

/// What stands beneath it: the cut, the readings, photos, any other reading and any other ending.
fn beneath(state: State, view: &Value) -> impl IntoView + use<> {
    let open = view["ended"].is_null();
    view! {
        <div class="beside">
            {doubts(state, view)}
            {if open {
                view! {
                    <section class="card" aria-labelledby="possible">
                        <h2 id="possible">"Still possible"</h2>
                        {cut::picture(view)}
                        {cut::suspects(state, view)}
                    </section>
                }
                .into_any()
            } else {
                view! {
                    <details class="card">
                        <summary><h2>"What was still possible at the end"</h2></summary>
                        {cut::picture(view)}
                        {cut::suspects(state, view)}
                    </details>
                }
                .into_any()
            }}
            {readings(state, view)}
            {photo::card(state, view)}
            {open.then(|| view! { {other(state)} {closing::endings(state)} })}
        </div>
        <nav class="row foot" aria-label="Job">
            {open.then(|| view! { <button id="undo" on:click=move |_| spawn_local(async move { state.ask(json!({ "ask": "undo" })).await; })>"Take back the last entry"</button> })}
            <button on:click=move |_| { state.customer.set(true); to_top(); }>"For the customer"</button>
            <button id="units" on:click=move |_| state.switch_units(state.units.get_untracked() != "us")>
                {move || if state.units.get() == "us" { "Show °C, bar, Pa" } else { "Show °F, psi, µm Hg" }}
            </button>
            <button id="leave" on:click=move |_| state.leave()>"All jobs"</button>
        </nav>
    }
}

/// What takes from the trust in all of this: said before anything that is built on it.
fn doubts(state: State, view: &Value) -> impl IntoView + use<> {
    let mut all = texts(&view["doubts"]);
    all.extend(list(&view["set_aside"]).iter().map(|s| format!("An entry could not be taken in: {}", text(&s["why"]))));
    all.extend(state.damage.get_untracked().into_iter().map(|d| format!("The record of this job is damaged. {d}")));
    (!all.is_empty()).then(|| {
        view! {
            <section class="card" id="doubts">
                <h2>"To be taken with care"</h2>
                <ul>{all.into_iter().map(|d| view! { <li>{sentence(&d)}</li> }).collect_view()}</ul>
            </section>
        }
    })
}

fn test(state: State, t: &Value, chosen: bool) -> impl IntoView + use<> {
    let missing = texts(&t["report_first"]);
    let id = text(&t["id"]);
    let kicker = match (chosen, t["run_in"].is_object(), t["proving"] == true) {
        (true, ..) => "You chose",
        (_, true, _) => "Run-in",
        (_, _, true) => "To prove it",
        _ => "Next",
    };
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">{state.practising()}{kicker}" · "{minutes(&t["minutes"])}</p>
            <h1 id="next" aria-live="polite">{sentence(&text(&t["title"]))}</h1>
            {t["run_in"].is_object().then(|| view! { <p>{sentence(&text(&t["run_in"]["words"]))}</p> })}
            <p class="where">{sentence(&text(&t["place"]))}</p>
            <p class="how">{text(&t["how"])}</p>
            {list(&t["cautions"]).iter().map(|c| view! { <p class="caution"><b>"Caution: "</b>{text(c)}</p> }).collect_view()}
            <ul class="first">
                {texts(&t["open"]).into_iter().map(|o| view! { <li>"Open: "{o}</li> }).collect_view()}
                {texts(&t["first"]).into_iter().map(|f| view! { <li>{f}</li> }).collect_view()}
            </ul>
            {drawing::of_job(state, id.clone())}
            {if missing.is_empty() {
                entry::entry(state, t)
            } else {
                view! { <h2 class="minor">"Before this is measured, report:"</h2><div class="row">{power::buttons(state, "step", Some(&missing))}</div> }.into_any()
            }}
            {later(state, t, id)}
            {chosen.then(|| view! { <button on:click=move |_| state.chosen.set(None)>"Back to what was proposed"</button> })}
        </section>
    }
}

/// What is read after the rest: it follows once that is painted.
fn later(state: State, t: &Value, id: String) -> impl IntoView + use<> {
    let t = t.clone();
    move || state.whole.get().then(|| view! { {outcomes(&t)} {skip(state, id.clone())} })
}

/// What each outcome would leave.
fn outcomes(t: &Value) -> impl IntoView + use<> {
    let rows: Vec<_> = list(&t["outcomes"])
        .into_iter()
        .map(|o| {
            let left: Vec<_> = list(&o["leaves"])
                .into_iter()
                .take(3)
                .map(|l| view! { <li>{text(&l["name"])}" "<span class="odds">{percent(&l["percent"])}</span></li> })
                .collect();
            view! { <li class="outcome"><b>{text(&o["shows"])}</b>" "<span class="odds">{percent(&o["percent"])}</span><ul>{left}</ul></li> }
        })
        .collect();
    let sum = |o: &Value| list(&o["leaves"]).iter().take(3).filter_map(|l| l["percent"].as_f64()).sum::<f64>();
    let more_than_all = list(&t["outcomes"]).iter().any(|o| sum(o) > 100.5);
    view! {
        <h2 class="minor">"What each outcome leaves"</h2>
        {t["if_healthy"].as_str().map(|h| view! { <p>"A sound machine: "<b>{h.to_owned()}</b></p> })}
        <ul class="outcomes">{rows}</ul>
        {more_than_all.then(|| view! { <p class="faint">"Two things can be broken at once: what one outcome leaves can come to more than 100 %."</p> })}
    }
}

const REASONS: [(&str, &str); 5] = [
    ("cannot_find", "Can't find it"),
    ("cannot_reach", "Can't reach it"),
    ("no_tool", "No tool for it"),
    ("unsafe", "Not safe here"),
    ("not_fitted", "Not fitted"),
];

fn skip(state: State, id: String) -> impl IntoView {
    let buttons = REASONS.map(|(reason, words)| {
        let id = id.clone();
        view! { <button on:click=move |_| state.event("skipped", json!({ "test": id, "reason": reason }))>{words}</button> }
    });
    view! { <details class="skipping"><summary>"Not this one …"</summary><div class="row">{buttons.into_iter().collect_view()}</div></details> }
}

fn repair(state: State, r: &Value) -> impl IntoView + use<> {
    let id = text(&r["id"]);
    view! {
        <section class="card next" aria-labelledby="next">
            <p class="kicker">{state.practising()}"Repair · "{minutes(&r["minutes"])}</p>
            <h1 id="next" aria-live="polite">{sentence(&text(&r["what"]))}</h1>
            <p>"Puts right what is wrong: "<b>{text(&r["odds"])}</b>", "{percent(&r["percent"])}</p>
            <ul>{texts(&r["puts_right"]).into_iter().map(|p| view! { <li>{p}</li> }).collect_view()}</ul>
            <p class="caution"><b>"Caution: "</b>"Before a hand goes behind a cover: isolate every supply, lock it, prove it dead, and bleed what holds a charge. The refrigerant loop is opened by certified people only; where the refrigerant burns, ventilate and keep ignition sources away."</p>
            {texts(&r["upstream"]).into_iter().map(|u| view! { <p class="caution"><b>"Look upstream: "</b>{u}</p> }).collect_view()}
            <p><b>"Proof: "</b>{text(&r["proof"])}</p>
            <button class="big lead" id="repaired" on:click=move |_| {
                let id = id.clone();
                spawn_local(async move { mended(state, id).await });
            }>"Done: it is repaired"</button>
        </section>
    }
}

/// Enters a repair, of one part or of several.
async fn mended(state: State, id: String) {
    for one in id.split(" and ") {
        let (part, what) = one.split_once('/').unwrap_or((one, "replace"));
        if state.practice.get_untracked() && state.ask(json!({ "ask": "practice_mend", "repair": one })).await.is_none()
        {
            return;
        }
        if !state.happened("repaired", json!({ "part": part, "what": what })).await {
            return;
        }
    }
}

/// After so long without a key, what stands in the field is looked up.
const PAUSE: Duration = Duration::from_millis(250);

/// Readings offered beside the next one before the rest is folded away.
const ALSO: usize = 4;

fn readings(state: State, view: &Value) -> impl IntoView + use<> {
    let rows: Vec<_> = list(&view["readings"])
        .into_iter()
        .rev()
        .map(|r| {
            view! {
                <li><span>{sentence(&text(&r["title"]))}</span>" "<b>{text(&r["understood"])}</b>
                    {r["if_healthy"].as_str().map(|h| view! { <span class="faint">" sound: "{h.to_owned()}</span> })}
                </li>
            }
        })
        .collect();
    let not_made: Vec<_> = list(&view["not_made"])
        .into_iter()
        .map(|n| {
            let id = text(&n["test"]);
            view! { <button class="wide" on:click=move |_| state.choose(id.clone())>{sentence(&text(&n["test"]))}" · "{text(&n["why"])}</button> }
        })
        .collect();
    let mut also: Vec<_> = list(&view["bundle"])
        .into_iter()
        .map(|b| {
            let id = text(&b["test"]);
            view! { <button class="wide" on:click=move |_| state.choose(id.clone())>{sentence(&text(&b["title"]))}" · "{minutes(&b["minutes"])}</button> }
        })
        .collect();
    let more = also.split_off(also.len().min(ALSO));
    let open = view["ended"].is_null();
    let covers = texts(&view["next"]["open"]);
    view! {
        {(!also.is_empty()).then(|| view! {
            <section class="card">
                <h2>{if covers.is_empty() { "While you are there" } else { "What to take while this cover is off" }}</h2>
                {also}
                {(!more.is_empty()).then(|| view! { <details><summary>{format!("{} more", more.len())}</summary>{more}</details> })}
            </section>
        })}
        <section class="card">
            <h2>{if open { "Readings so far" } else { "Readings" }}</h2>
            {if rows.is_empty() { view! { <p class="faint">"None yet."</p> }.into_any() } else { view! { <ul class="readings">{rows}</ul> }.into_any() }}
            {(!not_made.is_empty()).then(|| view! { <h2 class="minor">"Not made on this visit"</h2>{not_made} })}
        </section>
    }
}

/// Any other reading, found by words.
fn other(state: State) -> impl IntoView {
    let words = RwSignal::new(String::new());
    let found = RwSignal::new(None::<Vec<Value>>);
    let typed = StoredValue::new(0_u32);
    let look = move |typed_now: String| {
        words.set(typed_now.clone());
        typed.update_value(|n| *n += 1);
        let now = typed.get_value();
        set_timeout(
            move || {
                // Only a pause is looked up, and only while the field still stands there.
                if typed.try_get_value() == Some(now) {
                    spawn_local(async move {
                        if let Some(said) = state.ask(json!({ "ask": "tests", "words": typed_now })).await {
                            found.try_set(Some(list(&said["tests"]).into_iter().take(12).collect()));
                        }
                    });
                }
            },
            PAUSE,
        );
    };
    view! {
        <section class="card">
            <h2>"Another reading"</h2>
            <label for="search">"Words of it, like: volts relay"</label>
            <input id="search" type="search" autocomplete="off" prop:value=move || words.get() on:input=move |e| look(event_target_value(&e))/>
            <div id="found" role="status">
            {move || found.get().is_some_and(|f| f.is_empty()).then_some("Nothing is found by these words.")}
            {move || found.get().unwrap_or_default().into_iter().map(|f| {
                let id = text(&f["id"]);
                view! { <button class="wide" on:click=move |_| state.choose(id.clone())>{sentence(&text(&f["title"]))}<span class="faint">" "{text(&f["place"])}</span></button> }
            }).collect_view()}
            </div>
        </section>
    }
}
