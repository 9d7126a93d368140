//! Listening, answering, and coming to an end.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use axum::{Extension, Router};
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::{GracefulShutdown, Watcher};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

use crate::error::ServeError;
use crate::log::Peer;
use crate::network::Here;
use crate::service::Service;
use crate::tls::Shown;

/// Connections at once; further ones wait to be accepted.
const CONNECTIONS: usize = 256;

/// For a client to say what it wants: its TLS greeting, the head of a request, and the next one on the same connection.
const TO_ASK: Duration = Duration::from_secs(30);

/// What is being answered gets this long to be finished after the service is told to stop.
const TO_FINISH: Duration = Duration::from_secs(10);

/// How often the certificate is looked at.
const BETWEEN_LOOKS: Duration = Duration::from_secs(60);

/// What answers at a listener.
#[derive(Clone)]
pub struct Doors {
    /// To requests.
    main: Router,
    /// To requests without TLS where there is TLS.
    plain: Router,
    tls: Option<TlsAcceptor>,
}

impl std::fmt::Debug for Doors {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Doors").field("tls", &self.tls.is_some()).finish_non_exhaustive()
    }
}

impl Doors {
    /// With TLS if there is a certificate to show.
    ///
    /// # Errors
    /// If TLS cannot be set up.
    pub fn new(service: &Service, shown: Option<&Arc<Shown>>) -> Result<Doors, ServeError> {
        let tls = shown.map(|s| s.config()).transpose()?.map(|c| TlsAcceptor::from(Arc::new(c)));
        Ok(Doors { main: service.router(), plain: service.plain_router(), tls })
    }
}

/// Answers until `stop`, then finishes what is being answered: nobody new is let in, connections on which nothing is
/// asked are closed at once, others when they are answered or when time is up.
pub async fn run(listener: TcpListener, doors: Doors, stop: impl Future<Output = ()>) {
    let doors = Arc::new(doors);
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    let open = GracefulShutdown::new();
    tokio::pin!(stop);
    loop {
        let next = async {
            // Never closed.
            let place = Arc::clone(&places).acquire_owned().await;
            (place, listener.accept().await)
        };
        let (place, accepted) = tokio::select! {
            biased;
            () = &mut stop => break,
            next = next => next,
        };
        match accepted {
            Ok((stream, peer)) => {
                let (doors, watcher) = (Arc::clone(&doors), open.watcher());
                tokio::spawn(async move {
                    let _place = place;
                    connection(stream, peer, &doors, watcher).await;
                });
            }
            Err(e) => not_accepted(&e).await,
        }
    }
    drop(listener);
    tracing::info!("stopping");
    if timeout(TO_FINISH, open.shutdown()).await.is_err() {
        tracing::warn!("stopped after {} s with requests unanswered", TO_FINISH.as_secs());
    }
}

/// A client that gave up is nothing; a system that is short of something gets a moment.
async fn not_accepted(e: &io::Error) {
    use io::ErrorKind::{ConnectionAborted, ConnectionRefused, ConnectionReset};
    if !matches!(e.kind(), ConnectionAborted | ConnectionRefused | ConnectionReset) {
        tracing::warn!("cannot accept a connection: {e}");
        tokio::time::sleep(Duration::from_secs(1)).await;
    }
}

async fn connection(stream: TcpStream, peer: SocketAddr, doors: &Doors, watcher: Watcher) {
    /// The first byte of a TLS record with a handshake (RFC 8446, section 5.1). No request of HTTP begins with it.
    const HANDSHAKE: u8 = 0x16;
    let Some(tls) = &doors.tls else {
        return answer(stream, peer, doors.main.clone(), watcher).await;
    };
    let mut first = [0];
    match timeout(TO_ASK, stream.peek(&mut first)).await {
        Ok(Ok(1)) if first[0] == HANDSHAKE => match timeout(TO_ASK, tls.accept(stream)).await {
            Ok(Ok(stream)) => answer(stream, peer, doors.main.clone(), watcher).await,
            Ok(Err(e)) => tracing::info!(peer = %peer.ip().to_canonical(), "TLS was not agreed on: {e}"),
            Err(_) => {}
        },
        Ok(Ok(1)) => answer(stream, peer, doors.plain.clone(), watcher).await,
        _ => {}
    }
}

async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin + 'static,
    peer: SocketAddr,
    router: Router,
    watcher: Watcher,
) {
    let service = TowerToHyperService::new(router.layer(Extension(Peer(peer.ip()))));
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(TO_ASK)
        .serve_connection(TokioIo::new(stream), service);
    if let Err(e) = watcher.watch(connection).await {
        tracing::debug!(peer = %peer.ip().to_canonical(), "connection ended: {e}");
    }
}

/// Ends with the interrupt or request to terminate that comes as the `nth`, counted from 1 from this call on.
///
/// # Errors
/// If the system lets nobody wait for signals.
pub fn told_to_stop(nth: usize) -> io::Result<impl Future<Output = ()>> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
        Ok(async move {
            for _ in 0..nth {
                tokio::select! { _ = interrupt.recv() => {}, _ = terminate.recv() => {} }
            }
        })
    }
    #[cfg(not(unix))]
    Ok(async move {
        for _ in 0..nth {
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        }
    })
}

/// Looks after the certificate for as long as it is polled.
pub async fn keep_shown(shown: Arc<Shown>) {
    loop {
        tokio::time::sleep(BETWEEN_LOOKS).await;
        let here = Here::now();
        let addresses = here.addresses.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        match shown.renew(here, SystemTime::now()) {
            Ok(true) => tracing::warn!("new certificate, holds until {}; addresses: {addresses}", shown.until().date()),
            Ok(false) => {}
            Err(e) => tracing::warn!("the certificate could not be replaced, the old one is shown: {e}"),
        }
    }
}
