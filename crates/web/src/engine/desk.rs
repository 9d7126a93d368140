//! Where messages from the page arrive.

use wasm_bindgen::prelude::*;

/// Takes a message from the page.
#[wasm_bindgen]
pub fn take(message: JsValue) {
    let _ = halfsplit_workshop::Job::new("none").view();
    let scope: web_sys::DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let _ = scope.post_message(&message);
}
