//! The cut: a run of pipe filled with what is still possible, a section per suspect, parted where the next test
//! parts them. Sections are told apart by letter as well as by colour; the list beneath says the same in words.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};

use crate::state::{State, list, percent, sentence, text};

/// Suspects that get a section of their own.
const SECTIONS: usize = 6;
const WIDTH: f64 = 600.0;

/// The picture: what each outcome would keep, side by side along the pipe.
pub fn picture(view: &Value) -> impl IntoView + use<> {
    let suspects = list(&view["still_possible"]["suspects"]);
    let outcomes = list(&view["next"]["outcomes"]);
    let share = |s: &Value| s["percent"].as_f64().unwrap_or(0.0);
    // Where a suspect stands: at the outcome that he makes likeliest.
    let stands = |id: &Value| {
        let weight = |o: &Value| {
            let left = list(&o["leaves"]).iter().find(|l| &l["id"] == id).map_or(0.0, share);
            left * share(o)
        };
        (0..outcomes.len())
            .max_by(|a, b| weight(&outcomes[*a]).total_cmp(&weight(&outcomes[*b])).then(b.cmp(a)))
            .unwrap_or(0)
    };
    let mut sections: Vec<(usize, usize, f64)> =
        suspects.iter().take(SECTIONS).enumerate().map(|(i, s)| (stands(&s["id"]), i, share(s))).collect();
    sections.sort_by_key(|(outcome, i, _)| (*outcome, *i));
    // What has no letter fills the pipe's end, so that a short row of suspects does not look like all there is.
    let named: f64 = sections.iter().map(|s| s.2).sum();
    let unnamed = (100.0 - named).max(0.0);
    let sound = share(&json!({ "percent": view["still_possible"]["nothing_broken"] })).min(unnamed);
    let total = named + unnamed;
    let parts = sections.chunk_by(|a, b| a.0 == b.0).count().max(1);
    let room = WIDTH - 8.0 - 14.0 * (parts - 1) as f64;
    let (mut x, mut before, mut drawn) = (4.0, None, Vec::new());
    for (outcome, i, share) in &sections {
        if before.is_some_and(|b| b != *outcome) {
            drawn.push(view! { <path class="blade" d=format!("M{:.1} 0V96", x + 7.0)/> }.into_any());
            x += 14.0;
        }
        before = Some(*outcome);
        let width = share / total * room;
        drawn.push(
            view! {
                <rect class=format!("section s{i}") x=format!("{x:.1}") y="22" width=format!("{width:.1}") height="52"/>
                {(width > 20.0).then(|| view! { <text class="letter" x=format!("{:.1}", x + width / 2.0) y="56" text-anchor="middle">{letter(*i)}</text> })}
            }
            .into_any(),
        );
        x += width;
    }
    for (share, class, words) in [(sound, "sound", "sound"), (unnamed - sound, "rest", "others")] {
        let width = share / total * room;
        drawn.push(
            view! {
                <rect class=class x=format!("{x:.1}") y="23" width=format!("{:.1}", width.max(0.0)) height="50"/>
                {(width > 92.0).then(|| view! { <text class="unlettered" x=format!("{:.1}", x + width / 2.0) y="56" text-anchor="middle">{words}</text> })}
            }
            .into_any(),
        );
        x += width;
    }
    let words: Vec<String> = suspects
        .iter()
        .take(SECTIONS)
        .enumerate()
        .map(|(i, s)| format!("{} {}, {}", letter(i), text(&s["name"]), percent(&s["percent"])))
        .collect();
    let label = format!(
        "The cut. Still possible: {}; nothing broken {sound:.0} %; anything else {:.0} %.",
        words.join("; "),
        unnamed - sound
    );
    view! {
        <svg class="cut" viewBox="0 0 600 96" role="img" aria-label=label>
            <path class="pipe" d="M0 20H600M0 76H600"/>
            {drawn}
        </svg>
    }
}

/// What each reading said about a suspect, and what would prove it wrong: asked for when somebody opens it.
fn why(state: State, suspect: String) -> (impl Fn() + 'static, impl IntoView + use<>) {
    let why = RwSignal::new(None::<Value>);
    let ask = move || {
        if why.get_untracked().is_some() {
            return;
        }
        let suspect = suspect.clone();
        spawn_local(async move {
            if let Some(said) = state.ask(json!({ "ask": "why", "suspect": suspect })).await {
                why.set(Some(said["why"].clone()));
            }
        });
    };
    let shown = move || {
        let why = why.get()?;
        let said: Vec<_> = list(&why["readings"])
            .into_iter()
            .map(|r| view! { <li>{sentence(&text(&r["test"]))}" = "{text(&r["read"])}": "{text(&r["words"])}</li> })
            .collect();
        let since = if said.is_empty() { "." } else { "; since then:" };
        let wrong = &why["proved_wrong_by"];
        let wrong = wrong.is_object().then(|| {
            format!(
                "{}, if it shows {} ({}). That would leave this {}.",
                sentence(&text(&wrong["title"])),
                text(&wrong["shows"]),
                percent(&wrong["percent"]),
                percent(&wrong["leaves"])
            )
        });
        Some(view! {
            <p>"Before any reading "{percent(&why["before"])}{since}</p>
            <ul class="why">{said}</ul>
            {wrong.map(|w| view! { <p>"Proved wrong by: "{w}</p> })}
        })
    };
    (ask, shown)
}

/// Who is still possible, with letters, odds and causes.
pub fn suspects(state: State, view: &Value) -> impl IntoView + use<> {
    let open = view["ended"].is_null();
    let possible = view["still_possible"].clone();
    let suspects = list(&possible["suspects"]);
    let hardly = suspects.iter().take(8).filter(|s| s["percent"].as_f64().unwrap_or(0.0) < 1.0).count();
    let mut rows: Vec<_> = suspects
        .into_iter()
        .take(8)
        .enumerate()
        .map(|(i, s)| {
            let (ask, because) = why(state, text(&s["id"]));
            view! {
                <li>
                    <details on:toggle=move |_| if open { ask() }>
                        <summary>
                            <span class=format!("mark s{i}") aria-hidden="true">{letter(i)}</span>
                            <span class="name">{text(&s["name"])}</span>
                            <span class="odds">{percent(&s["percent"])}</span>
                        </summary>
                        <p>{text(&s["odds"])}". "{text(&s["degree"])}</p>
                        <p>"Comes from: "{text(&s["cause"])}</p>
                        <p>"Put right by: "{text(&s["repair"])}</p>
                        {because}
                    </details>
                </li>
            }
        })
        .collect();
    // They are the last: most probable first.
    let folded = rows.split_off(rows.len() - hardly);
    let built: Vec<_> = list(&possible["how_built"])
        .into_iter()
        .map(|h| {
            let ways: Vec<String> =
                list(&h["ways"]).iter().map(|w| format!("{} {}", text(&w["says"]), percent(&w["percent"]))).collect();
            view! { <p class="faint">{text(&h["question"])}" "{ways.join(" · ")}</p> }
        })
        .collect();
    let like = possible["not_described_like"].as_str().map(|like| format!(", much like “{like}”"));
    view! {
        <ol class="suspects">{rows}</ol>
        {(!folded.is_empty()).then(|| view! {
            <details class="part"><summary>{format!("{hardly} more, each under 1 %")}</summary><ol class="suspects">{folded}</ol></details>
        })}
        <p class="faint">
            "Nothing broken: "{percent(&possible["nothing_broken"])}
            " · something not described: "{percent(&possible["not_described"])}{like}
        </p>
        {built}
    }
}

fn letter(i: usize) -> String {
    char::from(b'A' + u8::try_from(i.min(25)).unwrap_or(25)).to_string()
}
