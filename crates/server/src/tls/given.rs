//! A certificate that was given.

use std::path::Path;

use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::sign::CertifiedKey;
use time::OffsetDateTime;

use super::authority::certified;
use super::validity::validity;
use crate::error::ServeError;

/// Reads a chain, this server's own certificate first, and its key; with the last moment that it holds.
pub fn read(certificate: &Path, key: &Path) -> Result<(CertifiedKey, OffsetDateTime), ServeError> {
    const CHAIN: &str = "give a PEM file: the server's certificate, then those that lead to its authority";
    let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(certificate)
        .and_then(Iterator::collect)
        .map_err(|e| ServeError::file("read the certificate", certificate, &e, CHAIN))?;
    let secret = PrivateKeyDer::from_pem_file(key)
        .map_err(|e| ServeError::file("read the key", key, &e, "give a PEM file with the certificate's private key"))?;
    let until = chain
        .first()
        .and_then(|c| validity(c))
        .map(|(_, until)| until)
        .ok_or_else(|| ServeError::new(format!("there is no certificate in {}", certificate.display()), CHAIN))?;
    let certified = certified(chain, &secret).ok_or_else(|| {
        ServeError::new(
            format!("{} is not the key of the first certificate in {}", key.display(), certificate.display()),
            "give the key that the certificate was made for",
        )
    })?;
    Ok((certified, until))
}
