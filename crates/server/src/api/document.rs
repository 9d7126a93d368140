//! The description of the API, made from its handlers (OpenAPI 3.1).

use axum::Json;
use utoipa::OpenApi;

use super::{files, health, machines, view};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "halfsplit",
        description = "What the server answers to programs. Errors are application/problem+json (RFC 9457) with a member \
                       \"do\" that says what to do next. Within version 1 members and paths are added; none changes its meaning."
    ),
    paths(health::health, document, files::files, files::authority, machines::machines, machines::sheet, view::view)
)]
struct Described;

/// This description.
#[utoipa::path(get, path = "/api/v1/openapi.json", operation_id = "openapi", responses(
    (status = 200, description = "OpenAPI 3.1.", body = Object),
))]
pub async fn document() -> Json<utoipa::openapi::OpenApi> {
    Json(Described::openapi())
}
