//! The HTTP API, version 1: what programs may ask. `/api/v1/openapi.json` describes it, made from what stands here.
//!
//! Within a version members and paths are added; none is removed, and none changes its meaning.

mod document;
mod files;
mod health;
mod machines;
mod view;

use axum::routing::{MethodRouter, get, post};

use crate::service::Service;

/// Every path of the API and what it answers. The document is held against this list by a test.
pub fn routes() -> [(&'static str, MethodRouter<Service>); 7] {
    [
        ("/api/v1/health", get(health::health)),
        ("/api/v1/openapi.json", get(document::document)),
        ("/api/v1/files", get(files::files)),
        ("/api/v1/authority", get(files::authority)),
        ("/api/v1/machines", get(machines::machines)),
        ("/api/v1/machines/{name}", get(machines::sheet)),
        ("/api/v1/view", post(view::view)),
    ]
}
