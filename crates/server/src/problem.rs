//! Errors that a program can read: `application/problem+json` (RFC 9457).

use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// What went wrong, where, and what to do next. `type` is left out, which stands for `about:blank`: the status says
/// what kind of trouble it is (RFC 9457, sections 3.1.1 and 4.2.1).
#[derive(Debug, Clone, Serialize, utoipa::ToSchema)]
pub struct Problem {
    /// The status in words.
    #[schema(example = "Unprocessable Content")]
    title: &'static str,
    /// The status.
    #[schema(example = 422)]
    status: u16,
    /// What is wrong.
    detail: String,
    /// The path that was asked for.
    #[serde(skip_serializing_if = "String::is_empty")]
    instance: String,
    /// What to do next.
    #[serde(rename = "do")]
    hint: String,
    /// Of a job: the kind of trouble, as in docs/json-lines.md.
    #[serde(skip_serializing_if = "Option::is_none")]
    kind: Option<String>,
}

impl Problem {
    /// `detail` says what is wrong, `hint` what to do next.
    pub fn new(status: StatusCode, detail: impl Into<String>, hint: impl Into<String>) -> Problem {
        let title = match status {
            // RFC 9110, sections 15.5.14 and 15.5.21, have given these new names.
            StatusCode::PAYLOAD_TOO_LARGE => "Content Too Large",
            StatusCode::UNPROCESSABLE_ENTITY => "Unprocessable Content",
            _ => status.canonical_reason().unwrap_or_default(),
        };
        let (detail, hint) = (detail.into(), hint.into());
        Problem { title, status: status.as_u16(), detail, instance: String::new(), hint, kind: None }
    }

    /// Where.
    pub fn at(mut self, path: &str) -> Problem {
        path.clone_into(&mut self.instance);
        self
    }

    /// What kind of trouble it is for a job.
    pub fn of_kind(mut self, kind: impl Into<String>) -> Problem {
        self.kind = Some(kind.into());
        self
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut answer = (status, Json(self)).into_response();
        answer.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        answer.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        answer
    }
}
