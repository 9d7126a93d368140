//! The description of the API, made from its handlers and from the types that they answer with (OpenAPI 3.1).

use axum::Json;
use halfsplit_workshop::View;
use schemars::generate::{Contract, SchemaSettings};
use serde_json::Value;
use utoipa::OpenApi;
use utoipa::openapi::{Ref, RefOr, Schema};

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
pub async fn document() -> Json<Value> {
    Json(described())
}

/// Views are described by the engine, which has no HTTP in it: by their JSON Schema, whose dialect is that of OpenAPI 3.1
/// (OpenAPI Specification 3.1.0, section 4.8.24).
fn described() -> Value {
    let mut settings = SchemaSettings::draft2020_12();
    settings.contract = Contract::Serialize;
    settings.definitions_path = "/components/schemas".into();
    let mut generator = settings.into_generator();
    generator.subschema_for::<View>();
    let mut document = serde_json::to_value(Described::openapi()).unwrap_or_default();
    if let Some(schemas) = document["components"]["schemas"].as_object_mut() {
        schemas.extend(generator.take_definitions(true));
    }
    document
}

/// A view, where it is described.
pub fn view() -> RefOr<Schema> {
    Ref::from_schema_name("View").into()
}
