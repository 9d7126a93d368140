//! A server on a thread of its own, and a client that shows everything that comes back.

use std::io::{Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;

use halfsplit_server::{Asset, Doors, Service, Shown, run};
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};
use tokio::sync::oneshot;

/// What the app is made of in these tests.
pub const ASSETS: &[Asset] = &[
    Asset {
        path: "index.html",
        content_type: "text/html; charset=utf-8",
        immutable: false,
        plain: b"the page as it is",
        brotli: b"the page by brotli",
        gzip: b"the page by gzip",
    },
    Asset {
        path: "v/1/app.js",
        content_type: "text/javascript; charset=utf-8",
        immutable: true,
        plain: b"the program as it is",
        brotli: b"the program by brotli",
        gzip: b"the program by gzip",
    },
];

/// A server that stops when it is dropped.
pub struct Served {
    pub at: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

impl Served {
    /// Without TLS.
    pub fn plain(assets: &[Asset]) -> Served {
        Served::start(&Service::new(assets, None), None)
    }

    /// With TLS.
    pub fn with(shown: &Arc<Shown>) -> Served {
        Served::start(&Service::new(ASSETS, shown.authority().cloned()), Some(shown))
    }

    fn start(service: &Service, shown: Option<&Arc<Shown>>) -> Served {
        let doors = Doors::new(service, shown).expect("TLS can be set up");
        let (stop, stopped) = oneshot::channel();
        let (told, at) = std::sync::mpsc::channel();
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
            runtime.block_on(async {
                let listener = tokio::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.expect("a port");
                told.send(listener.local_addr().expect("an address")).expect("waited for");
                run(listener, doors, async { drop(stopped.await) }).await;
            });
        });
        Served { at: at.recv().expect("listens"), stop: Some(stop), thread: Some(thread) }
    }

    /// Tells it to stop.
    pub fn stop(&mut self) {
        self.stop.take();
    }

    /// Waits until it has.
    pub fn wait(&mut self) {
        if let Some(thread) = self.thread.take() {
            thread.join().expect("ended well");
        }
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.at).expect("listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
        stream
    }

    /// Asks once.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        ask(self.connect(), method, path, headers, body)
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], b"")
    }

    /// Asks by TLS under a name or an address, trusting these authorities and nobody else.
    pub fn get_as(&self, name: &str, roots: &[CertificateDer<'static>], path: &str) -> Result<Answer, String> {
        let stream = greeted(self.connect(), name, roots)?;
        Ok(ask(stream, "GET", path, &[], b""))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop();
        self.wait();
    }
}

pub type Tls = StreamOwned<ClientConnection, TcpStream>;

/// A connection on which the certificate was found good.
pub fn greeted(stream: TcpStream, name: &str, roots: &[CertificateDer<'static>]) -> Result<Tls, String> {
    let mut store = RootCertStore::empty();
    for root in roots {
        store.add(root.clone()).expect("a certificate");
    }
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ClientConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_root_certificates(store)
        .with_no_client_auth();
    let name = ServerName::try_from(name.to_owned()).expect("a name or an address");
    let mut tls = StreamOwned::new(ClientConnection::new(Arc::new(config), name).expect("a client"), stream);
    while tls.conn.is_handshaking() {
        tls.conn.complete_io(&mut tls.sock).map_err(|e| e.to_string())?;
    }
    Ok(tls)
}

/// Asks once on a connection, and reads to its end.
pub fn ask(mut on: impl Read + Write, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let mut head = format!("{method} {path} HTTP/1.1\r\nHost: bench.local:4180\r\nConnection: close\r\n");
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    if !body.is_empty() {
        head.push_str(&format!("Content-Length: {}\r\n", body.len()));
    }
    head.push_str("\r\n");
    on.write_all(head.as_bytes()).and_then(|()| on.write_all(body)).expect("sent");
    let mut all = Vec::new();
    on.read_to_end(&mut all).expect("answered");
    Answer::from(&all)
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn from(bytes: &[u8]) -> Answer {
        let end = bytes.windows(4).position(|w| w == b"\r\n\r\n").expect("a head");
        let head = std::str::from_utf8(&bytes[..end]).expect("text");
        let mut lines = head.split("\r\n");
        let status = lines.next().and_then(|l| l.split(' ').nth(1)?.parse().ok()).expect("a status");
        let headers = lines
            .map(|l| l.split_once(": ").expect("a header"))
            .map(|(name, value)| (name.to_ascii_lowercase(), value.to_owned()))
            .collect();
        Answer { status, headers, body: bytes[end + 4..].to_vec() }
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(n, _)| n == name).map(|(_, value)| value.as_str())
    }

    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.body).expect("text")
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).expect("JSON")
    }
}
