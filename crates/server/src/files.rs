//! Handing out files: packed as the client likes it, and not again where it has the same already.

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};

use crate::Asset;
use crate::encoding::Encoding;
use crate::problem::Problem;
use crate::service::Service;

/// A file with the name of its content.
#[derive(Debug, Clone)]
pub struct File {
    /// The file.
    pub asset: Asset,
    /// Its SHA-256.
    pub sha256: String,
}

impl File {
    /// Works out the hash.
    pub fn new(asset: Asset) -> File {
        File { asset, sha256: asset.sha256() }
    }

    fn bytes(&self, encoding: Encoding) -> &'static [u8] {
        match encoding {
            Encoding::Brotli => self.asset.brotli,
            Encoding::Gzip => self.asset.gzip,
            Encoding::Identity => self.asset.plain,
        }
    }

    /// Packed differently it is another representation, with a tag of its own (RFC 9110, section 8.8.3.3).
    fn tag(&self, encoding: Encoding) -> String {
        match encoding.name() {
            Some(name) => format!("\"{}-{name}\"", self.sha256),
            None => format!("\"{}\"", self.sha256),
        }
    }

    fn answer(&self, method: &Method, asked: &HeaderMap) -> Response {
        let encoding = Encoding::wanted(&joined(asked, &header::ACCEPT_ENCODING));
        let tag = self.tag(encoding);
        let keep = if self.asset.immutable { "public, max-age=31536000, immutable" } else { "no-cache" };
        let answer = Response::builder()
            .header(header::CACHE_CONTROL, keep)
            .header(header::VARY, "Accept-Encoding")
            .header(header::ETAG, &tag);
        let made = if has_it_already(&joined(asked, &header::IF_NONE_MATCH), &tag) {
            answer.status(StatusCode::NOT_MODIFIED).body(Body::empty())
        } else {
            let bytes = self.bytes(encoding);
            let mut answer = answer
                .header(header::CONTENT_TYPE, self.asset.content_type)
                .header(header::CONTENT_LENGTH, bytes.len());
            if let Some(name) = encoding.name() {
                answer = answer.header(header::CONTENT_ENCODING, name);
            }
            answer.body(if method == Method::HEAD { Body::empty() } else { Body::from(bytes) })
        };
        made.unwrap_or_else(|_| {
            Problem::new(StatusCode::INTERNAL_SERVER_ERROR, "the answer could not be made", "ask again").into_response()
        })
    }
}

/// Everything that has no route of its own.
pub async fn file(State(service): State<Service>, request: Request) -> Response {
    let (method, path) = (request.method(), request.uri().path());
    if method != Method::GET && method != Method::HEAD {
        let problem =
            Problem::new(StatusCode::METHOD_NOT_ALLOWED, "files are only read here", "ask with GET or HEAD").at(path);
        // RFC 9110, section 15.5.6: with the list of what is allowed.
        return ([(header::ALLOW, "GET,HEAD")], problem).into_response();
    }
    let name = path.trim_start_matches('/');
    let name = if name.is_empty() { "index.html" } else { name };
    if let Some(file) = service.file(name) {
        return file.answer(method, request.headers());
    }
    let (what, hint) = if path.starts_with("/api/") {
        ("there is no such question".to_owned(), "GET /api/v1/openapi.json lists what can be asked")
    } else if service.files().is_empty() {
        ("the app is not in this program".to_owned(), "build it with the feature \"app\": ./job serve")
    } else {
        (format!("there is no file \"{name}\""), "open the address without a path")
    };
    Problem::new(StatusCode::NOT_FOUND, what, hint).at(path).into_response()
}

/// All lines of a header as one list (RFC 9110, section 5.3).
fn joined(headers: &HeaderMap, name: &header::HeaderName) -> String {
    headers.get_all(name).iter().filter_map(|v| v.to_str().ok()).collect::<Vec<_>>().join(",")
}

/// By weak comparison (RFC 9110, sections 8.8.3.2 and 13.1.2). Our tags hold no comma and no quotation mark.
fn has_it_already(if_none_match: &str, tag: &str) -> bool {
    if_none_match.split(',').map(str::trim).any(|t| t == "*" || t.strip_prefix("W/").unwrap_or(t) == tag)
}
