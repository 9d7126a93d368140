//! Whether it is well.

use axum::Json;
use axum::extract::State;
use serde::Serialize;

use crate::assets::hex;
use crate::service::Service;

/// That it serves, and what.
#[derive(Serialize, utoipa::ToSchema)]
pub struct Health {
    /// "well": it answers.
    #[schema(example = "well")]
    status: &'static str,
    /// Version of the program.
    #[schema(example = "0.1.0")]
    version: &'static str,
    /// Version of the engine that works out views.
    #[schema(example = "0.1.0")]
    engine: &'static str,
    /// Whether the app is in this program.
    app: bool,
    /// Names this build of the app: changes when any of its files does.
    build: String,
}

/// Whether it is well.
#[utoipa::path(get, path = "/api/v1/health", operation_id = "health", responses((status = 200, body = Health)))]
pub async fn health(State(service): State<Service>) -> Json<Health> {
    let mut all = ring::digest::Context::new(&ring::digest::SHA256);
    for file in service.files() {
        all.update(file.asset.path.as_bytes());
        all.update(file.sha256.as_bytes());
    }
    Json(Health {
        status: "well",
        version: env!("CARGO_PKG_VERSION"),
        engine: halfsplit_workshop::ENGINE_VERSION,
        app: !service.files().is_empty(),
        build: hex(&all.finish().as_ref()[..8]),
    })
}
