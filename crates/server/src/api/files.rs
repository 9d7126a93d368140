//! What is served: files that a mirror can compare, and who vouches for this server.

use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use crate::problem::Problem;
use crate::service::Service;
use crate::trust;

/// The app's files.
#[derive(Serialize, utoipa::ToSchema)]
pub struct Files {
    /// In the order of their paths.
    files: Vec<ListedFile>,
}

/// A file of the app.
#[derive(Serialize, utoipa::ToSchema)]
pub struct ListedFile {
    /// Relative to the address of the app.
    #[schema(example = "index.html")]
    path: &'static str,
    /// Media type.
    #[schema(example = "text/html; charset=utf-8")]
    content_type: &'static str,
    /// Its length, not packed.
    bytes: usize,
    /// Its length packed with brotli.
    brotli_bytes: usize,
    /// Its length packed with gzip.
    gzip_bytes: usize,
    /// SHA-256 of what is in it, not packed, in hexadecimal.
    sha256: String,
    /// The path changes whenever the content does, so that it may be kept for ever.
    immutable: bool,
}

/// The app's files with sizes and hashes, so that a mirror can check itself.
#[utoipa::path(get, path = "/api/v1/files", operation_id = "files", responses((status = 200, body = Files)))]
pub async fn files(State(service): State<Service>) -> Json<Files> {
    let mut files: Vec<ListedFile> = service
        .files()
        .iter()
        .map(|f| ListedFile {
            path: f.asset.path,
            content_type: f.asset.content_type,
            bytes: f.asset.plain.len(),
            brotli_bytes: f.asset.brotli.len(),
            gzip_bytes: f.asset.gzip.len(),
            sha256: f.sha256.clone(),
            immutable: f.asset.immutable,
        })
        .collect();
    files.sort_by_key(|f| f.path);
    Json(Files { files })
}

/// The authority of this server.
#[derive(Serialize, utoipa::ToSchema)]
pub struct AuthorityFacts {
    /// Where its certificate is, in DER.
    #[schema(example = "/authority.crt")]
    certificate: &'static str,
    /// SHA-256 of the certificate, as phones show it.
    #[schema(example = "0A:1B:2C")]
    fingerprint: String,
    /// The day that it holds until.
    #[schema(example = "2036-11-22", format = Date)]
    until: String,
}

/// The authority that vouches for this server, where the server has made one itself. The fingerprint proves nothing to
/// who asks here without trusting the server already: hold it against the terminal's.
#[utoipa::path(get, path = "/api/v1/authority", operation_id = "authority", responses(
    (status = 200, body = AuthorityFacts),
    (status = 404, description = "It has none.", body = Problem, content_type = "application/problem+json"),
))]
pub async fn authority(State(service): State<Service>) -> Response {
    match service.authority() {
        Some(a) => Json(AuthorityFacts {
            certificate: trust::CERTIFICATE,
            fingerprint: a.fingerprint(),
            until: a.until().date().to_string(),
        })
        .into_response(),
        None => Problem::new(
            StatusCode::NOT_FOUND,
            "this server has made no authority",
            "its certificate was given to it, or it serves without TLS: there is nothing to take in",
        )
        .at("/api/v1/authority")
        .into_response(),
    }
}
