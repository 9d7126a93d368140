//! The certificate that is shown to who connects, replaced while serving when it has to be.

use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock};

use rustls::ServerConfig;
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use time::{Duration, OffsetDateTime};

use super::authority::{Authority, AuthorityCertificate, RENEW_DAYS};
use super::{folder, given};
use crate::error::ServeError;
use crate::network::Here;

/// Where the certificate comes from.
#[derive(Debug)]
pub enum Certificate {
    /// From files (PEM). They are read again when they change.
    Given {
        /// The chain.
        certificate: PathBuf,
        /// The key of its first certificate.
        key: PathBuf,
    },
    /// Signed by this device's own authority, for the addresses that it has; again when these change, and in time before
    /// it ends.
    Made(Box<Authority>),
}

/// A certificate and what is needed to replace it.
#[derive(Debug)]
pub struct Shown {
    source: Certificate,
    now_shown: RwLock<Now>,
}

#[derive(Debug, Clone)]
struct Now {
    certified: Arc<CertifiedKey>,
    until: OffsetDateTime,
    here: Here,
}

impl Shown {
    /// Reads or signs the certificate.
    ///
    /// # Errors
    /// If it cannot be read or made, or has ended.
    pub fn new(source: Certificate, here: Here, now: impl Into<OffsetDateTime>) -> Result<Shown, ServeError> {
        let now = now.into();
        if let Certificate::Given { certificate, key } = &source {
            if folder::others_may_read(key) {
                tracing::warn!("{} can be read by others: chmod 600 it", key.display());
            }
            let (_, until) = given::read(certificate, key)?;
            if until < now {
                return Err(ServeError::new(
                    format!("the certificate in {} has ended on {}", certificate.display(), until.date()),
                    "give one that holds",
                ));
            }
        }
        let now_shown = RwLock::new(source.now(here, now)?);
        Ok(Shown { source, now_shown })
    }

    /// Replaces it if these are other addresses than it was made for, if it ends soon, or if its files have changed.
    /// Answers whether it was replaced.
    ///
    /// # Errors
    /// If that fails; the old one stays.
    pub fn renew(&self, here: Here, now: impl Into<OffsetDateTime>) -> Result<bool, ServeError> {
        let now = now.into();
        let old = self.now_shown.read().unwrap_or_else(PoisonError::into_inner).clone();
        let holds = old.here == here && old.until - now > Duration::days(RENEW_DAYS);
        if holds && matches!(self.source, Certificate::Made(_)) {
            return Ok(false);
        }
        let new = self.source.now(here, now)?;
        let changed = new.certified.cert != old.certified.cert;
        *self.now_shown.write().unwrap_or_else(PoisonError::into_inner) = new;
        Ok(changed)
    }

    /// The last moment that it holds.
    #[must_use]
    pub fn until(&self) -> OffsetDateTime {
        self.now_shown.read().unwrap_or_else(PoisonError::into_inner).until
    }

    /// The authority that signs it, where it is this device's own.
    #[must_use]
    pub fn authority(&self) -> Option<&AuthorityCertificate> {
        match &self.source {
            Certificate::Given { .. } => None,
            Certificate::Made(authority) => Some(authority.certificate()),
        }
    }

    /// For the listener. HTTP/1.1 is all that is spoken.
    pub(crate) fn config(self: &Arc<Shown>) -> Result<ServerConfig, ServeError> {
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let mut config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .map_err(|e| ServeError::new(format!("TLS cannot be set up: {e}"), "build the program anew"))?
            .with_no_client_auth()
            .with_cert_resolver(Arc::clone(self) as Arc<dyn ResolvesServerCert>);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(config)
    }
}

impl ResolvesServerCert for Shown {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.now_shown.read().unwrap_or_else(PoisonError::into_inner).certified))
    }
}

impl Certificate {
    fn now(&self, here: Here, now: OffsetDateTime) -> Result<Now, ServeError> {
        let (certified, until) = match self {
            Certificate::Given { certificate, key } => given::read(certificate, key)?,
            Certificate::Made(authority) => authority.sign(&here, now)?,
        };
        Ok(Now { certified: Arc::new(certified), until, here })
    }
}
