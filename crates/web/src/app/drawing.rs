//! A drawing that can be enlarged: by buttons, by keys, by two fingers; moved by scrolling. The same stands beside it in
//! words.

use leptos::html;
use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use wasm_bindgen::JsCast;

use crate::state::{State, list, text};

/// Drawings of a job: how each is asked for, and its name.
const OF_JOB: [(&str, &str); 3] = [("wiring", "Wiring"), ("loop", "Loop"), ("cycle", "Cycle")];

/// Enlargement: least, most, and by how much at a press.
const LEAST: f64 = 0.3;
const MOST: f64 = 5.0;
const STEP: f64 = 1.3;
/// Where probes are shown, letters are read at arm's length.
const AT_PROBES: f64 = 1.3;

/// Buttons for the drawings of a job; the one that is open follows from test to test.
pub fn of_job(state: State, test: String) -> impl IntoView {
    let got = RwSignal::new(None::<Value>);
    let fetch = move |which: &'static str| {
        let test = test.clone();
        spawn_local(async move {
            let question = if which == "wiring" && !test.is_empty() {
                json!({ "ask": "drawing", "of": which, "test": test })
            } else {
                json!({ "ask": "drawing", "of": which })
            };
            if let Some(said) = state.ask(question).await {
                got.try_set(Some(said["drawing"].clone()));
            }
        });
    };
    if let Some(which) = state.drawing.get_untracked() {
        fetch(which);
    }
    let buttons = OF_JOB.map(|(which, name)| {
        let fetch = fetch.clone();
        view! {
            <button id=format!("draw-{which}") aria-expanded=move || (state.drawing.get() == Some(which)).to_string()
                on:click=move |_| {
                    got.set(None);
                    if state.drawing.get_untracked() == Some(which) {
                        state.drawing.set(None);
                    } else {
                        state.drawing.set(Some(which));
                        fetch(which);
                    }
                }>{name}</button>
        }
    });
    view! {
        <div class="row drawings" role="group" aria-label="Drawings">{buttons.into_iter().collect_view()}</div>
        {move || state.drawing.get().and_then(|_| got.get()).map(|d| pane(&d))}
    }
}

/// The drawing itself.
pub fn pane(drawing: &Value) -> impl IntoView + use<> {
    let number = |key: &str| drawing[key].as_f64().unwrap_or(390.0).max(1.0);
    let (width, height) = (number("width"), number("height"));
    let title = text(&drawing["title"]);
    let svg = text(&drawing["svg"]);
    let words = text(&drawing["words"]);
    let flags: Vec<(f64, f64)> =
        list(&drawing["flags"]).iter().map(|f| (f[0].as_f64().unwrap_or(0.0), f[1].as_f64().unwrap_or(0.0))).collect();
    let probes = flags.len();
    let zoom = RwSignal::new(if flags.is_empty() { 1.0 } else { AT_PROBES });
    let frame = NodeRef::<html::Div>::new();
    // About the middle of what is seen.
    let to = move |new: f64| {
        let new = new.clamp(LEAST, MOST);
        let Some(f) = frame.get_untracked() else { return };
        let (w, h) = (f64::from(f.client_width()), f64::from(f.client_height()));
        let (x, y) = (f64::from(f.scroll_left()) + w / 2.0, f64::from(f.scroll_top()) + h / 2.0);
        let by = new / zoom.get_untracked();
        zoom.set(new);
        request_animation_frame(move || scroll(frame, x * by - w / 2.0, y * by - h / 2.0));
    };
    let whole = move || {
        if let Some(f) = frame.get_untracked() {
            to(f64::from(f.client_width()) / width);
        }
    };
    // First the probes, or the whole width.
    Effect::new(move |_| {
        if frame.get().is_none() {
            return;
        }
        let flags = flags.clone();
        request_animation_frame(move || {
            let Some(f) = frame.get_untracked() else { return };
            if flags.is_empty() {
                zoom.set((f64::from(f.client_width()) / width).clamp(LEAST, MOST));
                return;
            }
            let middle = |all: &dyn Fn(&(f64, f64)) -> f64| {
                let (low, high) = flags.iter().map(all).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
                (low + high) / 2.0
            };
            let z = zoom.get_untracked();
            scroll(
                frame,
                middle(&|p| p.0) * z - f64::from(f.client_width()) / 2.0,
                middle(&|p| p.1) * z - f64::from(f.client_height()) / 2.0,
            );
        });
    });
    let spread = StoredValue::new(None::<(f64, f64)>);
    let fingers = move |e: &web_sys::TouchEvent| {
        let touches = e.touches();
        let (a, b) = (touches.get(0)?, touches.get(1)?);
        let (dx, dy) = (f64::from(a.client_x() - b.client_x()), f64::from(a.client_y() - b.client_y()));
        Some((dx * dx + dy * dy).sqrt().max(1.0))
    };
    let source = format!("data:image/svg+xml,{}", String::from(js_sys::encode_uri_component(&svg)));
    let label = format!("{title}: scroll to move, plus and minus to enlarge");
    view! {
        <figure class="drawing">
            <figcaption>{title.clone()}{(probes > 0).then(|| format!(" · probes at the flags 1 to {probes}"))}</figcaption>
            <div class="frame" node_ref=frame tabindex="0" role="group" aria-label=label
                on:keydown=move |e: web_sys::KeyboardEvent| match e.key().as_str() {
                    "+" | "=" => to(zoom.get_untracked() * STEP),
                    "-" => to(zoom.get_untracked() / STEP),
                    "0" => whole(),
                    _ => {}
                }
                on:touchstart=move |e: web_sys::TouchEvent| spread.set_value(fingers(&e).map(|d| (d, zoom.get_untracked())))
                on:touchmove=move |e: web_sys::TouchEvent| {
                    if let (Some((from, z)), Some(now)) = (spread.get_value(), fingers(&e)) {
                        e.prevent_default();
                        to(z * now / from);
                    }
                }
            >
                <img src=source alt=title width=move || format!("{:.0}", width * zoom.get())
                    height=move || format!("{:.0}", height * zoom.get())/>
            </div>
            <div class="row tools">
                <button aria-label="smaller" on:click=move |_| to(zoom.get_untracked() / STEP)>"−"</button>
                <button aria-label="larger" on:click=move |_| to(zoom.get_untracked() * STEP)>"+"</button>
                <button on:click=move |_| whole()>"Whole width"</button>
            </div>
            <details><summary>"The drawing in words"</summary><p class="words">{words}</p></details>
        </figure>
    }
}

fn scroll(frame: NodeRef<html::Div>, x: f64, y: f64) {
    if let Some(f) = frame.get_untracked() {
        let f: &web_sys::Element = f.unchecked_ref();
        f.set_scroll_left(x.round() as i32);
        f.set_scroll_top(y.round() as i32);
    }
}
