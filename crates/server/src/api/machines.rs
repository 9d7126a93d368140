//! The machines that come with the program.

use axum::Json;
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use halfsplit_workshop::machine::Machine;
use halfsplit_workshop::machine::examples::{EXAMPLES, example};
use serde::Serialize;

use crate::problem::Problem;

/// The machines.
#[derive(Serialize, utoipa::ToSchema)]
pub struct Machines {
    /// The demo machine first.
    machines: Vec<ListedMachine>,
}

/// A machine.
#[derive(Serialize, utoipa::ToSchema)]
pub struct ListedMachine {
    /// Short name.
    #[schema(example = "water-heater")]
    name: &'static str,
    /// What it is called.
    title: String,
    /// Where its sheet is.
    #[schema(example = "/api/v1/machines/water-heater")]
    sheet: String,
    /// How many parts it has.
    parts: usize,
    /// In how many ways it can go wrong.
    modes: usize,
    /// How many tests there are.
    tests: usize,
}

/// The machines that come with the program. All of them are invented.
#[utoipa::path(get, path = "/api/v1/machines", operation_id = "machines", responses((status = 200, body = Machines)))]
pub async fn machines() -> Json<Machines> {
    let machines = EXAMPLES
        .iter()
        .filter_map(|e| {
            let m = Machine::build(e.text).ok()?;
            Some(ListedMachine {
                name: e.name,
                title: m.sheet.machine.name.clone(),
                sheet: format!("/api/v1/machines/{}", e.name),
                parts: m.parts.len(),
                modes: m.modes.len(),
                tests: m.tests.len(),
            })
        })
        .collect();
    Json(Machines { machines })
}

/// The sheet of a machine: a text in TOML, as described in docs/machine-sheet.md.
#[utoipa::path(get, path = "/api/v1/machines/{name}", operation_id = "machine", params(
    ("name" = String, Path, description = "Short name, or \"demo\".", example = "demo"),
), responses(
    (status = 200, body = String, content_type = "application/toml"),
    (status = 404, description = "No machine has this name.", body = Problem, content_type = "application/problem+json"),
))]
pub async fn sheet(Path(name): Path<String>) -> Response {
    match example(&name) {
        // Registered with IANA since TOML 1.0 (from memory).
        Some(e) => ([(header::CONTENT_TYPE, "application/toml")], e.text).into_response(),
        None => Problem::new(
            StatusCode::NOT_FOUND,
            format!("no machine is called \"{name}\""),
            "GET /api/v1/machines lists them",
        )
        .at("/api/v1/machines")
        .into_response(),
    }
}
