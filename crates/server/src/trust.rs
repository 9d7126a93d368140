//! For phones that do not trust this server yet: its authority's certificate and how to take it in.
//!
//! These pages are also answered without TLS, since they are for who has none yet. What is fetched so could have been
//! exchanged by somebody on the way: the fingerprint that the terminal shows is what to hold it against.

use axum::extract::{Request, State};
use axum::http::{StatusCode, header, uri::Authority};
use axum::response::{Html, IntoResponse, Response};
use axum::{Router, routing::get};

use crate::problem::Problem;
use crate::service::Service;

/// Where the authority's certificate is.
pub const CERTIFICATE: &str = "/authority.crt";

/// Where it is said how to trust it.
pub const PAGE: &str = "/trust";

const STYLE: &str = "/trust.css";

/// Adds the routes.
pub fn add(router: Router<Service>) -> Router<Service> {
    router.route(PAGE, get(page)).route(CERTIFICATE, get(certificate)).route(STYLE, get(style))
}

async fn certificate(State(service): State<Service>) -> Response {
    match service.authority() {
        // The media type that phones open with their own dialogue for certificates; common practice.
        Some(authority) => (
            [
                (header::CONTENT_TYPE, "application/x-x509-ca-cert"),
                (header::CONTENT_DISPOSITION, "attachment; filename=\"halfsplit-authority.crt\""),
                (header::CACHE_CONTROL, "no-cache"),
            ],
            authority.der().to_vec(),
        )
            .into_response(),
        None => no_authority(CERTIFICATE).into_response(),
    }
}

async fn style() -> impl IntoResponse {
    (
        [(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")],
        include_str!("trust.css"),
    )
}

/// How to trust this server, with the way to the app.
pub async fn page(State(service): State<Service>, request: Request) -> Response {
    let Some(authority) = service.authority() else { return no_authority(PAGE).into_response() };
    let app = secure(&request).unwrap_or_else(|| "/".to_owned());
    let filled = include_str!("trust.html")
        .replace("{app}", &app)
        .replace("{fingerprint}", &authority.fingerprint().replace(':', ":<wbr>"))
        .replace("{until}", &authority.until().date().to_string());
    ([(header::CACHE_CONTROL, "no-cache")], Html(filled)).into_response()
}

/// Sends who came without TLS to the same place with it.
pub async fn to_https(State(service): State<Service>, request: Request) -> Response {
    if request.uri().path() == "/" && service.authority().is_some() {
        return page(State(service), request).await;
    }
    match secure(&request) {
        Some(address) => {
            let path = request.uri().path_and_query().map_or("", |p| p.as_str()).trim_start_matches('/');
            let target = format!("{address}{path}");
            (StatusCode::PERMANENT_REDIRECT, [(header::LOCATION, target), (header::CACHE_CONTROL, "no-store".into())])
                .into_response()
        }
        None => Problem::new(
            StatusCode::BAD_REQUEST,
            "the request does not say which host it is for",
            "ask with the header Host, by HTTPS",
        )
        .at(request.uri().path())
        .into_response(),
    }
}

fn no_authority(path: &str) -> Problem {
    Problem::new(
        StatusCode::NOT_FOUND,
        "this server has no authority of its own",
        "there is nothing to take in: open the app's address",
    )
    .at(path)
}

/// The app's address as the client knows this server. Only what can be a host and a port comes back, so that nothing
/// else from a request reaches a page.
fn secure(request: &Request) -> Option<String> {
    let host = request.headers().get(header::HOST)?.to_str().ok()?;
    let authority: Authority = host.parse().ok()?;
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | ':' | '-' | '[' | ']');
    (authority.as_str().chars().all(plain)).then(|| format!("https://{authority}/"))
}
