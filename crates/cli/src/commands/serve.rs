//! Serving the web app.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;

use crate::failure::Failure;
use crate::screen::print;

const EXAMPLES: &str = "Examples:
  halfsplit serve                        the app at http://127.0.0.1:4180, for this device only
  halfsplit serve --export app           writes the app as a folder for any web host

The engine runs in the browser, and jobs are kept there. From the first load on the app works
without signal; a phone needs an address with HTTPS for that, such as a web host's.";

/// Serve the web app.
#[derive(clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Args {
    /// Address to listen at; by default nobody but this device gets in.
    #[arg(long, value_name = "IP", default_value = "127.0.0.1")]
    listen: IpAddr,
    /// Port; 0 lets the system choose.
    #[arg(long, value_name = "N", default_value_t = 4180)]
    port: u16,
    /// Write the app into this folder instead.
    #[arg(long, value_name = "FOLDER")]
    export: Option<PathBuf>,
}

/// Serves until Ctrl-C.
pub fn run(args: &Args) -> Result<(), Failure> {
    if halfsplit_server::ASSETS.is_empty() {
        return Err(Failure::Refused(
            "the app is not in this program\n  build it with the app: cargo build --release -p halfsplit --features app".into(),
        ));
    }
    if let Some(folder) = &args.export {
        let files = halfsplit_server::export(folder).map_err(|e| Failure::file("write the app to", folder, &e))?;
        return print(&format!("{} files in {}\n", files.len(), folder.display()));
    }
    let address = SocketAddr::new(args.listen, args.port);
    halfsplit_server::serve(address, |at| {
        let _ = print(&format!("halfsplit is at http://{at}\nCtrl-C stops it.\n"));
    })
    .map_err(|e| Failure::File(format!("cannot listen at {address}: {e}\n  choose another port with --port")))
}
