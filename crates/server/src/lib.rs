//! Serves the web app to this device or to the local network, and what programs may ask by HTTP.
//!
//! The app's engine runs in the browser, so that for the app this only hands out files. For programs it answers with
//! views, as a client of the engine like the terminal: it knows sockets, certificates and HTTP, and nothing of machines.

mod api;
mod assets;
mod encoding;
mod error;
mod files;
mod headers;
mod log;
mod network;
mod problem;
mod run;
mod service;
mod tls;
mod trust;

use std::io;
use std::net::{Ipv4Addr, Ipv6Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tokio::net::TcpListener;

pub use assets::{ASSETS, Asset};
pub use error::ServeError;
pub use log::{Format, start as start_log};
pub use network::Here;
pub use run::{Doors, run};
pub use service::Service;
pub use tls::{Authority, AuthorityCertificate, Certificate, Shown};
pub use trust::{CERTIFICATE as CERTIFICATE_PATH, PAGE as TRUST_PATH};

/// Serves the app and the API until an interrupt (Ctrl-C) or a request to terminate (SIGTERM), and finishes what is
/// being answered; a second signal ends it at once. With a certificate to show, by TLS only. `ready` is called with the
/// address once it listens: with port 0 the system chose the port.
///
/// # Errors
/// If it cannot listen there, or TLS cannot be set up.
pub fn serve(
    address: SocketAddr,
    assets: &[Asset],
    shown: Option<Arc<Shown>>,
    ready: impl FnOnce(SocketAddr),
) -> Result<(), ServeError> {
    let service = Service::new(assets, shown.as_ref().and_then(|s| s.authority().cloned()));
    let doors = Doors::new(&service, shown.as_ref())?;
    let system = |e: io::Error| ServeError::new(format!("the system refuses: {e}"), "start it again");
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(system)?;
    let served = runtime.block_on(async {
        let listener = listen(address).await.map_err(|e| {
            let hint = "choose another port with --port, or one of this device's own addresses";
            ServeError::new(format!("cannot listen at {address}: {e}"), hint)
        })?;
        // Waited for before anybody is told that it serves.
        let (stop, at_once) = (run::told_to_stop(1).map_err(system)?, run::told_to_stop(2).map_err(system)?);
        ready(listener.local_addr().map_err(system)?);
        if let Some(shown) = shown {
            tokio::spawn(run::keep_shown(shown));
        }
        tokio::select! {
            () = run(listener, doors, stop) => {}
            () = at_once => {}
        }
        Ok(())
    });
    // A view that is still being worked out has nobody left who waits for it.
    runtime.shutdown_background();
    served
}

/// "Every address" is both kinds where the system has both.
async fn listen(address: SocketAddr) -> io::Result<TcpListener> {
    if address.ip() == Ipv6Addr::UNSPECIFIED {
        if let Ok(listener) = TcpListener::bind(address).await {
            return Ok(listener);
        }
        return TcpListener::bind((Ipv4Addr::UNSPECIFIED, address.port())).await;
    }
    TcpListener::bind(address).await
}

/// Every path of the HTTP API.
pub fn api_paths() -> impl Iterator<Item = &'static str> {
    api::routes().into_iter().map(|(path, _)| path)
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
