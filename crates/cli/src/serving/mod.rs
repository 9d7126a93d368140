//! What is said when the app is served: where, and how a phone comes to trust it.

mod qr;

use std::net::{IpAddr, SocketAddr};

use halfsplit_server::{AuthorityCertificate, Here, Shown, TRUST_PATH};

use crate::failure::Failure;
use crate::screen::{Screen, print};

/// A service that listens.
pub struct Serving<'a> {
    /// Where.
    pub at: SocketAddr,
    /// Under which addresses others find it; empty where only this device gets in.
    pub here: Here,
    /// The certificate, where there is one.
    pub shown: Option<&'a Shown>,
}

/// Says where it is served.
pub fn announce(serving: &Serving<'_>, screen: &Screen, qr: bool) -> Result<(), Failure> {
    screen.say(&serving.words(screen))?;
    if qr && let Some(address) = serving.for_phones() {
        // In blocks that a locale without them cannot show; who asked for it knows.
        print(&qr::drawn(&address, screen.weight))?;
    }
    print("Ctrl-C stops it.\n")
}

impl Serving<'_> {
    fn words(&self, screen: &Screen) -> String {
        let scheme = if self.shown.is_some() { "https" } else { "http" };
        let port = self.at.port();
        if self.at.ip().is_loopback() {
            return format!("halfsplit is at {scheme}://{}/, for this device only.\n", self.at);
        }
        let mut out = String::from("halfsplit is on the local network:\n\n");
        for address in &self.here.addresses {
            out.push_str(&format!("  {}\n", address_line(scheme, *address, port)));
        }
        if let Some(name) = &self.here.name {
            out.push_str(&format!("  {scheme}://{name}:{port}/  (where names are found by multicast DNS)\n"));
        }
        if self.here.addresses.is_empty() {
            out.push_str("  This device has no address there now. It is listening for when it has.\n");
        }
        out.push('\n');
        match self.shown.map(Shown::authority) {
            None => out.push_str(&screen.paragraph(
                0,
                "Nothing is encrypted: everybody on the network can read and change what passes, and a phone cannot keep \
                 the app for where there is no signal.",
            )),
            Some(None) => {}
            Some(Some(authority)) => out.push_str(&self.trusting(authority, screen)),
        }
        out.push('\n');
        out
    }

    /// How a phone comes to trust the authority.
    fn trusting(&self, authority: &AuthorityCertificate, screen: &Screen) -> String {
        let mut out = String::new();
        if let Some(first) = self.for_phones() {
            out.push_str(&screen.paragraph(
                0,
                "A phone that comes for the first time does not know whose certificate that is. Open on it, with http as it \
                 stands here:",
            ));
            out.push_str(&format!("\n  {first}\n\n"));
        }
        out.push_str(&screen.paragraph(
            0,
            "The page says how the phone is told to trust this computer, what that means and how it is taken back. Agree \
             only if the phone shows this SHA-256 fingerprint of the certificate:",
        ));
        let fingerprint = authority.fingerprint();
        // In the middle: two lines of sixteen pairs.
        let (first, second) = fingerprint.split_at(fingerprint.len() / 2 + 1);
        out.push_str(&format!("\n  {}\n  {}\n\n", screen.strong(first), screen.strong(second)));
        let key = authority.kept_in().map(|p| p.display().to_string()).unwrap_or_default();
        out.push_str(&screen.paragraph(
            0,
            &format!(
                "From then on the phone believes certificates signed with the key in {key} for numeric addresses and for names \
                 of local networks; names of the internet are ruled out. Let nobody copy that file.",
            ),
        ));
        out
    }

    /// What a phone opens first; none where it cannot come.
    fn for_phones(&self) -> Option<String> {
        let likeliest = *self.here.addresses.first()?;
        let port = self.at.port();
        Some(match self.shown.map(Shown::authority) {
            None => address_line("http", likeliest, port),
            Some(None) => address_line("https", likeliest, port),
            Some(Some(_)) => {
                format!("{}{}", address_line("http", likeliest, port), TRUST_PATH.trim_start_matches('/'))
            }
        })
    }
}

/// An address in a URL: IPv6 in brackets (RFC 3986, section 3.2.2).
fn address_line(scheme: &str, address: IpAddr, port: u16) -> String {
    format!("{scheme}://{}/", SocketAddr::new(address, port))
}
