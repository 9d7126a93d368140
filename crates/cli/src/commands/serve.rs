//! Serving the web app and its HTTP API.

use std::io::IsTerminal;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::SystemTime;

use halfsplit_server::{Authority, Certificate, Format, Here, ServeError, Shown};

use crate::failure::Failure;
use crate::screen::{Screen, print};
use crate::serving::{Serving, announce};
use crate::store;

const EXAMPLES: &str = "Examples:
  halfsplit serve                        the app at http://127.0.0.1:4180, for this device only
  halfsplit serve --network              for phones on the local network, encrypted
  halfsplit serve --network --certificate shop.pem --key shop.key
  halfsplit serve --network --log json 2>> requests.log
  halfsplit serve --export app           writes the app as a folder for any web host

The engine runs in the browser, and jobs are kept there: from the first load on the app works
without signal. A browser allows that only where it trusts the server's certificate. With
--network one is made and signed by an authority of this device's own, which is made once and
kept in $XDG_DATA_HOME/halfsplit (~/.local/share/halfsplit); what is printed says how a phone
comes to trust it. Ctrl-C or SIGTERM stops: what is being answered is finished, for 10 s at
most; a second one stops at once.

Only warnings are logged unless --log asks for every request. Programs find what they may ask
at /api/v1/openapi.json.";

/// Serve the web app.
#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Let the local network in, encrypted: listen at every address of this device.
    #[arg(long, conflicts_with = "listen")]
    network: bool,
    /// Address to listen at; by default nobody but this device gets in.
    #[arg(long, value_name = "IP", default_value = "127.0.0.1")]
    listen: IpAddr,
    /// Port; 0 lets the system choose.
    #[arg(long, value_name = "N", default_value_t = 4180)]
    port: u16,
    /// Certificate to show, with the chain to its authority (PEM), in place of one that is made.
    #[arg(long, value_name = "FILE", requires = "key")]
    certificate: Option<PathBuf>,
    /// The certificate's private key (PEM).
    #[arg(long, value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
    /// Let others in without encryption: behind a proxy that adds HTTPS. A phone could not work without signal, and
    /// everybody on the network could read and change what passes.
    #[arg(long, conflicts_with = "certificate")]
    without_encryption: bool,
    /// Show the address as a QR code: on a terminal, always, or never.
    #[arg(long, value_name = "WHEN", value_enum, default_value_t = Qr::Terminal)]
    qr: Qr,
    /// Log every request to standard error, one line each: method, path, status, bytes, milliseconds, address.
    #[arg(long, value_name = "FORMAT", value_enum)]
    log: Option<Log>,
    /// Serve the HTTP API for programs alone: also where the app is not in this program.
    #[arg(long)]
    api_only: bool,
    /// Write the app into this folder instead.
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["network", "api_only"])]
    export: Option<PathBuf>,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Qr {
    /// Where a terminal shows the output.
    Terminal,
    /// Also into a file or a pipe.
    Always,
    /// Not at all.
    Never,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Log {
    /// Words.
    Plain,
    /// A JSON object a line.
    Json,
}

impl From<ServeError> for Failure {
    fn from(e: ServeError) -> Failure {
        Failure::File(e.to_string())
    }
}

/// Serves until it is told to stop.
pub fn run(args: &Args) -> Result<(), Failure> {
    if halfsplit_server::ASSETS.is_empty() && !args.api_only {
        return Err(Failure::Refused(
            "the app is not in this program\n  build it with the app: cargo build --release -p halfsplit --features app\n  \
             or serve the HTTP API alone: --api-only"
                .into(),
        ));
    }
    if let Some(folder) = &args.export {
        let files = halfsplit_server::export(folder).map_err(|e| Failure::file("write the app to", folder, &e))?;
        return print(&format!("{} files in {}\n", files.len(), folder.display()));
    }
    halfsplit_server::start_log(args.log.map(|l| match l {
        Log::Plain => Format::Plain,
        Log::Json => Format::Json,
    }));
    let listen = if args.network { IpAddr::V6(Ipv6Addr::UNSPECIFIED) } else { args.listen };
    let here = here(listen);
    let shown = shown(args, listen, &here)?.map(Arc::new);
    let screen = Screen::here();
    let qr = match args.qr {
        Qr::Terminal => screen.wide_characters && std::io::stdout().is_terminal(),
        Qr::Always => true,
        Qr::Never => false,
    };
    let assets = if args.api_only { &[] } else { halfsplit_server::ASSETS };
    halfsplit_server::serve(SocketAddr::new(listen, args.port), assets, shown.clone(), |at| {
        let serving = Serving { at, here, shown: shown.as_deref() };
        // Who closed the output wants to be served all the same.
        let _ = announce(&serving, &screen, qr);
    })?;
    Ok(())
}

/// The addresses under which it will be found when it listens there; none where only this device gets in.
fn here(listen: IpAddr) -> Here {
    if listen.is_loopback() {
        return Here::default();
    }
    let mut here = Here::now();
    if listen == IpAddr::V4(Ipv4Addr::UNSPECIFIED) {
        here.addresses.retain(IpAddr::is_ipv4);
    } else if !listen.is_unspecified() {
        here.addresses = vec![listen];
    }
    here
}

/// What certificate to show; none for this device alone, and where that was said in so many words.
fn shown(args: &Args, listen: IpAddr, here: &Here) -> Result<Option<Shown>, Failure> {
    let source = match (&args.certificate, &args.key) {
        (Some(certificate), Some(key)) => Certificate::Given { certificate: certificate.clone(), key: key.clone() },
        _ if listen.is_loopback() || args.without_encryption => return Ok(None),
        _ => Certificate::Made(Box::new(Authority::open(&store::data_dir()?, SystemTime::now())?)),
    };
    Ok(Some(Shown::new(source, here.clone(), SystemTime::now())?))
}
