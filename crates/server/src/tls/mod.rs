//! TLS: which certificate is shown, and where it comes from.

mod authority;
mod folder;
mod given;
mod shown;
mod validity;

pub use authority::{Authority, AuthorityCertificate};
pub use shown::{Certificate, Shown};
