//! What is served, put together.

use std::sync::Arc;

use axum::Router;
use axum::http::{Method, Uri};
use axum::middleware;
use axum::routing::get;
use tokio::sync::Semaphore;

use crate::files::{self, File};
use crate::problem::Problem;
use crate::tls::AuthorityCertificate;
use crate::{Asset, api, headers, log, trust};

/// What every handler may look at.
#[derive(Debug, Clone)]
pub struct Service(Arc<Parts>);

#[derive(Debug)]
struct Parts {
    files: Vec<File>,
    authority: Option<AuthorityCertificate>,
    at_work: Arc<Semaphore>,
}

impl Service {
    /// Serves these files, and tells about the authority that vouches for this server, if it has one of its own.
    #[must_use]
    pub fn new(assets: &[Asset], authority: Option<AuthorityCertificate>) -> Service {
        let files = assets.iter().copied().map(File::new).collect();
        let at_once = std::thread::available_parallelism().map_or(1, usize::from);
        Service(Arc::new(Parts { files, authority, at_work: Arc::new(Semaphore::new(at_once)) }))
    }

    /// All files.
    pub(crate) fn files(&self) -> &[File] {
        &self.0.files
    }

    /// One of them.
    pub(crate) fn file(&self, path: &str) -> Option<&File> {
        self.0.files.iter().find(|f| f.asset.path == path)
    }

    /// The authority's certificate.
    pub(crate) fn authority(&self) -> Option<&AuthorityCertificate> {
        self.0.authority.as_ref()
    }

    /// Of which there are as many as views may be worked out at once.
    pub(crate) fn at_work(&self) -> &Arc<Semaphore> {
        &self.0.at_work
    }

    /// The app at `/`, its HTTP API beneath `/api/v1`, and how to trust this server.
    pub fn router(&self) -> Router {
        let mut router = Router::new();
        for (path, methods) in api::routes() {
            router = router.route(path, methods);
        }
        self.finish(trust::add(router).fallback(files::file))
    }

    /// For who has come without TLS to a server that has it: how to trust it, and the way to the app.
    pub fn plain_router(&self) -> Router {
        self.finish(trust::add(Router::new()).route("/", get(trust::page)).fallback(trust::to_https))
    }

    fn finish(&self, router: Router<Service>) -> Router {
        router
            .method_not_allowed_fallback(wrong_method)
            .layer(middleware::from_fn(headers::add))
            .layer(middleware::from_fn(log::request))
            .with_state(self.clone())
    }
}

async fn wrong_method(method: Method, uri: Uri) -> Problem {
    Problem::new(
        axum::http::StatusCode::METHOD_NOT_ALLOWED,
        format!("{method} is not understood here"),
        "the header Allow lists what is",
    )
    .at(uri.path())
}
