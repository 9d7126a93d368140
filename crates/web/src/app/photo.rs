//! Photos: taken, made small, kept on this device under the hash of their bytes, and shown.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Value, json};
use wasm_bindgen::prelude::*;

use crate::state::{State, list, text};

#[wasm_bindgen]
extern "C" {
    /// Keeps a file and gives JSON: its hash, or what went wrong.
    #[wasm_bindgen(js_name = halfsplitPhoto, js_namespace = globalThis, catch)]
    async fn keep_photo(file: web_sys::File) -> Result<JsValue, JsValue>;
    #[wasm_bindgen(js_name = halfsplitPhotoAt, js_namespace = globalThis, catch)]
    async fn photo_at(hash: String) -> Result<JsValue, JsValue>;
}

/// What is worth a photo at the machine.
const OF: [&str; 3] = ["nameplate", "wiring", "finding"];

/// A button that takes a photo of `what`; `kept` gets its hash.
pub fn take(state: State, what: &'static str, kept: impl Fn(String) + Clone + 'static) -> impl IntoView {
    let changed = move |e: web_sys::Event| {
        let Some(file) = event_target::<web_sys::HtmlInputElement>(&e).files().and_then(|f| f.get(0)) else { return };
        let kept = kept.clone();
        spawn_local(async move {
            let said = match keep_photo(file).await {
                Ok(said) => said.as_string().and_then(|s| serde_json::from_str(&s).ok()).unwrap_or(Value::Null),
                Err(e) => {
                    let why = js_sys::Reflect::get(&e, &"message".into()).ok().and_then(|m| m.as_string());
                    let why = format!("The photo was not kept: {}", why.unwrap_or_else(|| "it cannot be read".into()));
                    json!({ "error": { "what": why, "do": "Take it again, or choose another picture." } })
                }
            };
            match said.get("error") {
                Some(e) => state.complain(&text(&e["what"]), &text(&e["do"]), "photo"),
                None => {
                    state.succeeded("photo");
                    kept(text(&said["hash"]));
                }
            }
        });
    };
    view! {
        <label class="take">
            <input type="file" accept="image/*" capture="environment" on:change=changed/>
            <span>"Photo: "{what}</span>
        </label>
    }
}

/// A photo with what it shows, as soon as it is found on this device.
pub fn shown(hash: String, what: String) -> impl IntoView {
    let at = RwSignal::new(None::<String>);
    spawn_local(async move {
        let found = photo_at(hash).await.ok().and_then(|v| v.as_string()).unwrap_or_default();
        at.try_set(Some(found));
    });
    let alt = format!("Photo: {what}");
    view! {
        <figure class="photo">
            {move || at.get().map(|at| if at.is_empty() {
                view! { <span class="faint">"kept on another device"</span> }.into_any()
            } else {
                view! { <img src=at alt=alt.clone()/> }.into_any()
            })}
            <figcaption>{what}</figcaption>
        </figure>
    }
}

/// Photos that a job's notes tell of.
pub fn of_job(view: &Value) -> Vec<AnyView> {
    list(&view["notes"])
        .iter()
        .filter_map(|n| {
            let hash = text(&n["about"]).strip_prefix("photo ")?.to_owned();
            Some(shown(hash, text(&n["words"])).into_any())
        })
        .collect()
}

/// The photos of a job, and buttons for more.
pub fn card(state: State, view: &Value) -> impl IntoView + use<> {
    let takes =
        OF.map(|what| take(state, what, move |hash| state.event("photo", json!({ "hash": hash, "what": what }))));
    view! {
        <section class="card photos">
            <h2>"Photos"</h2>
            <div class="row noprint">{takes.into_iter().collect_view()}</div>
            <div class="thumbs">{of_job(view)}</div>
        </section>
    }
}
