//! Serves the web app. The engine runs in the browser, so that this only hands out files and says that it is well.
//!
//! Everything that is answered carries headers that keep the page to itself: nothing from another host, no script
//! in the page, no frame around it.

mod assets;

use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use axum::body::Body;
use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Json, Router};
use serde_json::json;

pub use assets::{ASSETS, Asset};

/// What every answer carries.
const HEADERS: [(HeaderName, &str); 7] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; \
         connect-src 'self'; worker-src 'self'; manifest-src 'self'; font-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (
        HeaderName::from_static("permissions-policy"),
        "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=()",
    ),
];

/// The service: the app at `/`, `/api/v1/health` beside it.
pub fn router() -> Router {
    Router::new().route("/api/v1/health", get(health)).fallback(file).layer(middleware::from_fn(headers))
}

/// Listens until it is told to stop (Ctrl-C), and finishes what it is answering. `ready` is called with the address
/// once it listens: with port 0 the system chose the port.
///
/// # Errors
/// If it cannot listen there.
pub fn serve(address: SocketAddr, ready: impl FnOnce(SocketAddr)) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::bind(address).await?;
        ready(listener.local_addr()?);
        axum::serve(listener, router())
            .with_graceful_shutdown(async {
                // Where no signal can be waited for, it runs until it is ended.
                if tokio::signal::ctrl_c().await.is_err() {
                    std::future::pending::<()>().await;
                }
            })
            .await
    })
}

/// Writes the app as a folder that any web host can serve, and says which files.
///
/// # Errors
/// If a file cannot be written.
pub fn export(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut written = Vec::new();
    for asset in ASSETS {
        let path = folder.join(asset.path);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(&path, asset.plain)?;
        written.push(path);
    }
    Ok(written)
}

async fn health() -> Json<serde_json::Value> {
    Json(json!({ "status": "well", "version": env!("CARGO_PKG_VERSION"), "app": !ASSETS.is_empty() }))
}

/// An error that a program can read.
fn error(status: StatusCode, what: &str, hint: &str) -> Response {
    (status, Json(json!({ "error": { "what": what, "do": hint } }))).into_response()
}

async fn file(request: Request) -> Response {
    if request.method() != Method::GET && request.method() != Method::HEAD {
        return error(StatusCode::METHOD_NOT_ALLOWED, "files are only read here", "ask with GET");
    }
    let path = request.uri().path().trim_start_matches('/');
    let path = if path.is_empty() { "index.html" } else { path };
    let Some(asset) = ASSETS.iter().find(|a| a.path == path) else {
        return if ASSETS.is_empty() {
            error(
                StatusCode::NOT_FOUND,
                "the app is not in this program",
                "build it with the feature \"app\": ./job serve",
            )
        } else {
            error(StatusCode::NOT_FOUND, &format!("there is no file \"{path}\""), "open the address without a path")
        };
    };
    let packs = request.headers().get(header::ACCEPT_ENCODING).and_then(|v| v.to_str().ok()).is_some_and(takes_brotli);
    let keep = if asset.immutable { "public, max-age=31536000, immutable" } else { "no-cache" };
    let answer = Response::builder()
        .header(header::CONTENT_TYPE, asset.content_type)
        .header(header::CACHE_CONTROL, keep)
        .header(header::VARY, "Accept-Encoding");
    let answer = if packs {
        answer.header(header::CONTENT_ENCODING, "br").body(Body::from(asset.brotli))
    } else {
        answer.body(Body::from(asset.plain))
    };
    answer.unwrap_or_else(|_| error(StatusCode::INTERNAL_SERVER_ERROR, "the answer could not be made", "ask again"))
}

/// Whether `Accept-Encoding` names brotli and does not refuse it with `q=0` (RFC 9110, section 12.5.3).
fn takes_brotli(accepted: &str) -> bool {
    accepted.split(',').any(|one| {
        let mut parts = one.split(';').map(str::trim);
        parts.next() == Some("br")
            && parts.all(|p| p.strip_prefix("q=").is_none_or(|q| q.parse::<f32>().is_ok_and(|q| q > 0.0)))
    })
}

async fn headers(request: Request, next: Next) -> Response {
    let mut answer = next.run(request).await;
    for (name, value) in HEADERS {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

#[cfg(test)]
mod tests {
    use super::*;
    use http_body_util::BodyExt;
    use tower::ServiceExt;

    async fn ask(method: &str, path: &str) -> Response {
        let request = Request::builder().method(method).uri(path).body(Body::empty()).expect("a request");
        router().oneshot(request).await.expect("answers")
    }

    #[tokio::test]
    async fn it_says_that_it_is_well_and_keeps_the_page_to_itself() {
        let answer = ask("GET", "/api/v1/health").await;
        assert_eq!(answer.status(), StatusCode::OK);
        let policy = answer.headers()[header::CONTENT_SECURITY_POLICY].to_str().expect("text").to_owned();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe-inline"), "{policy}");
        // For hosts that set no headers the page states the same, but for what may only stand in a header (Content
        // Security Policy Level 3, W3C, section 3.3, from memory).
        let page = include_str!("../../web/static/index.html");
        let in_page = policy.strip_suffix("; frame-ancestors 'none'").expect("the part for headers last");
        assert!(page.contains(&format!("content=\"{in_page}\"")), "{policy}");
        let body = answer.into_body().collect().await.expect("body").to_bytes();
        let body: serde_json::Value = serde_json::from_slice(&body).expect("JSON");
        assert_eq!(body["status"], "well");
    }

    #[tokio::test]
    async fn what_is_not_there_is_an_error_that_a_program_can_read() {
        for (method, path, status) in [("GET", "/nothing", 404), ("POST", "/", 405), ("GET", "/../etc/passwd", 404)] {
            let answer = ask(method, path).await;
            assert_eq!(answer.status().as_u16(), status, "{method} {path}");
            let body = answer.into_body().collect().await.expect("body").to_bytes();
            let body: serde_json::Value = serde_json::from_slice(&body).expect("JSON");
            assert!(body["error"]["do"].is_string());
        }
    }

    /// RFC 9110, section 12.5.3: a weight of 0 means not acceptable.
    #[test]
    fn brotli_only_where_it_is_wanted() {
        assert!(takes_brotli("gzip, br") && takes_brotli("br;q=0.5"));
        assert!(!takes_brotli("gzip") && !takes_brotli("gzip, br;q=0") && !takes_brotli("brx"));
    }
}
