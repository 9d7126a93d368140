//! A view from a journal.

use std::sync::Arc;
use std::time::Duration;

use axum::Json;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use halfsplit_workshop::journal::decode_bytes;
use halfsplit_workshop::{Job, JobError, View};
use serde::Serialize;
use tokio::time::timeout;

use crate::problem::Problem;
use crate::service::Service;

const PATH: &str = "/api/v1/view";

/// A journal has a sheet, a few tens of kilobytes, and some hundred bytes for an event.
const MOST_BYTES: usize = 2 * 1024 * 1024;

/// For a body to come in.
const TO_SEND: Duration = Duration::from_secs(30);

/// For others' views to be done.
const TO_WAIT: Duration = Duration::from_secs(20);

/// The view of a job.
#[derive(Serialize, utoipa::ToSchema)]
pub struct Viewed {
    /// The job as it stands.
    #[schema(schema_with = super::document::view)]
    view: View,
    /// What is wrong with the journal's text; left out where it is sound. Everything else in it is used.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    damage: Vec<String>,
}

/// The view that follows from a journal: what is still possible, what to do next, and why. It is worked out from the
/// journal alone, to the last bit as in the terminal and in the app, and nothing is kept.
#[utoipa::path(post, path = "/api/v1/view", operation_id = "view", request_body(
    content = String, content_type = "application/jsonl",
    description = "A journal: its header and one checked event a line, as in a job's file. At most 2 MiB.",
), responses(
    (status = 200, body = Viewed),
    (status = 408, description = "The journal did not come in within 30 s.", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "It is longer than 2 MiB.", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "It is no journal, or cannot be replayed.", body = Problem, content_type = "application/problem+json"),
    (status = 503, description = "As many views as this server works out at once are being worked out.", body = Problem, content_type = "application/problem+json"),
))]
pub async fn view(State(service): State<Service>, request: Request) -> Response {
    let journal = match body(request).await {
        Ok(bytes) => bytes,
        Err(problem) => return problem.at(PATH).into_response(),
    };
    let Ok(Ok(place)) = timeout(TO_WAIT, Arc::clone(service.at_work()).acquire_owned()).await else {
        let problem =
            Problem::new(StatusCode::SERVICE_UNAVAILABLE, "other views are being worked out", "ask again later");
        let mut answer = problem.at(PATH).into_response();
        answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("20"));
        return answer;
    };
    // The planner's budget bounds the time. Who hangs up does not end it, so the place is given back only afterwards.
    let worked_out = tokio::task::spawn_blocking(move || {
        let _place = place;
        replay(&journal)
    });
    match worked_out.await {
        Ok(Ok(viewed)) => ([(header::CACHE_CONTROL, "no-store")], Json(viewed)).into_response(),
        Ok(Err(problem)) => problem.at(PATH).into_response(),
        Err(e) => {
            tracing::error!("a view could not be worked out: {e}");
            let hint = "keep the journal: what is in it cannot be computed by this version";
            Problem::new(StatusCode::INTERNAL_SERVER_ERROR, "the view could not be worked out", hint)
                .at(PATH)
                .into_response()
        }
    }
}

async fn body(request: Request) -> Result<Vec<u8>, Problem> {
    let declared = request.headers().get(header::CONTENT_LENGTH).and_then(|v| v.to_str().ok()?.parse::<u64>().ok());
    if declared.is_some_and(|n| n > MOST_BYTES as u64) {
        return Err(too_long());
    }
    match timeout(TO_SEND, axum::body::to_bytes(Body::new(request.into_body()), MOST_BYTES)).await {
        Ok(Ok(bytes)) => Ok(bytes.into()),
        Ok(Err(_)) => Err(too_long()),
        Err(_) => Err(Problem::new(
            StatusCode::REQUEST_TIMEOUT,
            format!("the journal did not come in within {} s", TO_SEND.as_secs()),
            "send it again",
        )),
    }
}

fn too_long() -> Problem {
    Problem::new(
        StatusCode::PAYLOAD_TOO_LARGE,
        format!("the journal is longer than {MOST_BYTES} bytes"),
        "replay it in the terminal: halfsplit job --continue FILE",
    )
}

fn replay(bytes: &[u8]) -> Result<Viewed, Problem> {
    let decoded = decode_bytes(bytes);
    let damage: Vec<String> = decoded.damage.iter().map(ToString::to_string).collect();
    let journal = decoded.into_journal().ok_or_else(|| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            format!("this is no journal: {}", damage.join("; ")),
            "send a job's file as it is: its first line is the header",
        )
        .of_kind("journal")
    })?;
    let view = Job::replay(&journal).map_err(|e| refused(&e))?.view();
    Ok(Viewed { view, damage })
}

fn refused(e: &JobError) -> Problem {
    let kind = serde_json::to_value(e.kind).ok().and_then(|k| k.as_str().map(str::to_owned)).unwrap_or_default();
    Problem::new(StatusCode::UNPROCESSABLE_ENTITY, e.what.clone(), e.hint.clone()).of_kind(kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9110, sections 15.6.4 and 10.2.3. The clock of the test stands still until everybody waits, and then jumps.
    #[tokio::test(start_paused = true)]
    async fn where_everybody_is_at_work_it_says_when_to_ask_again() {
        let service = Service::new(&[], None);
        let places = service.at_work().available_permits();
        assert!(places > 0);
        let _all = Arc::clone(service.at_work()).acquire_many_owned(u32::try_from(places).expect("few")).await;
        let answer = view(State(service.clone()), Request::new(Body::from("{}"))).await;
        assert_eq!(answer.status(), StatusCode::SERVICE_UNAVAILABLE);
        assert_eq!(answer.headers()[header::RETRY_AFTER], "20");
    }

    /// RFC 9110, section 15.5.9.
    #[tokio::test(start_paused = true)]
    async fn who_never_finishes_a_journal_is_not_waited_for() {
        let never = Body::new(NeverEnds);
        let answer = view(State(Service::new(&[], None)), Request::new(never)).await;
        assert_eq!(answer.status(), StatusCode::REQUEST_TIMEOUT);
    }

    struct NeverEnds;

    impl hyper::body::Body for NeverEnds {
        type Data = hyper::body::Bytes;
        type Error = std::convert::Infallible;

        fn poll_frame(
            self: std::pin::Pin<&mut Self>,
            _: &mut std::task::Context<'_>,
        ) -> std::task::Poll<Option<Result<hyper::body::Frame<Self::Data>, Self::Error>>> {
            std::task::Poll::Pending
        }
    }
}
