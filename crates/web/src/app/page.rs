//! The page.

use leptos::prelude::*;

/// Puts the page up.
pub fn open() {
    mount_to_body(|| view! { <main><h1>"halfsplit:"</h1></main> });
}
