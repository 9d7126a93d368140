//! What is logged, and how. To standard error; of who asks, nothing but the address.

use std::net::IpAddr;
use std::time::Instant;

use axum::extract::Request;
use axum::middleware::Next;
use axum::response::Response;
use tracing::Level;
use tracing_subscriber::fmt::MakeWriter;

/// How a line of the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Words for people.
    Plain,
    /// A JSON object for programs.
    Json,
}

/// Begins to log: every request and whatever else happens in the format asked for, or, without one, only what needs
/// looking after, as words. Only the first call has an effect.
pub fn start(format: Option<Format>) {
    start_to(format, std::io::stderr);
}

fn start_to<W>(format: Option<Format>, to: W)
where
    W: for<'w> MakeWriter<'w> + Send + Sync + 'static,
{
    let _ = tracing::dispatcher::set_global_default(dispatch(format, to));
}

fn dispatch<W>(format: Option<Format>, to: W) -> tracing::Dispatch
where
    W: for<'w> MakeWriter<'w> + Send + Sync + 'static,
{
    let level = if format.is_some() { Level::INFO } else { Level::WARN };
    let lines = tracing_subscriber::fmt().with_max_level(level).with_target(false).with_ansi(false).with_writer(to);
    match format {
        Some(Format::Json) => lines.json().flatten_event(true).with_current_span(false).with_span_list(false).into(),
        Some(Format::Plain) | None => lines.into(),
    }
}

/// The other end of a connection, put into every request.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub IpAddr);

/// One line for a request, when its answer is ready: its headers are, and its length is known. The query, which may
/// hold anything, is left out.
pub async fn request(request: Request, next: Next) -> Response {
    let began = Instant::now();
    let method = request.method().clone();
    let path = request.uri().path().to_owned();
    let peer = request.extensions().get::<Peer>().map(|p| p.0.to_canonical());
    let answer = next.run(request).await;
    let bytes = if method == axum::http::Method::HEAD { Some(0) } else { length(&answer) };
    let ms = u64::try_from(began.elapsed().as_millis()).unwrap_or(u64::MAX);
    let peer = peer.map(|p| p.to_string()).unwrap_or_default();
    let status = answer.status().as_u16();
    tracing::info!(%method, path, status, bytes, ms, peer, "answered");
    answer
}

fn length(answer: &Response) -> Option<u64> {
    axum::body::HttpBody::size_hint(answer.body()).exact()
}

#[cfg(test)]
mod tests {
    use std::io::Write;
    use std::sync::{Arc, Mutex};

    use super::*;

    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
            self.0.lock().expect("not poisoned").extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }

    fn logged(format: Option<Format>) -> String {
        let kept = Kept::default();
        let writer = kept.clone();
        tracing::dispatcher::with_default(&dispatch(format, move || writer.clone()), || {
            tracing::info!(path = "/", status = 200, "answered");
            tracing::warn!("look here");
        });
        let bytes = kept.0.lock().expect("not poisoned").clone();
        String::from_utf8(bytes).expect("text")
    }

    #[test]
    fn without_a_format_only_what_needs_looking_after() {
        let lines = logged(None);
        assert_eq!(lines.lines().count(), 1);
        assert!(lines.contains("WARN look here"), "{lines}");
    }

    #[test]
    fn each_line_is_an_object_for_programs() {
        let lines = logged(Some(Format::Json));
        let all: Vec<serde_json::Value> = lines.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
        assert_eq!((all.len(), &all[0]["path"], &all[0]["status"]), (2, &"/".into(), &200.into()));
        assert_eq!(all[1]["level"], "WARN");
        assert!(all[0]["timestamp"].is_string());
    }

    #[test]
    fn words_for_people() {
        let lines = logged(Some(Format::Plain));
        assert!(lines.contains("INFO answered path=\"/\" status=200"), "{lines}");
    }
}
