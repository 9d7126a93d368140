//! A small authority of this device: phones that trust it take the certificates that it signs for this server.
//!
//! What a phone has been told to trust should be able to do little. This authority may sign for servers on a local
//! network only: its certificate states that the names it vouches for end in one of [`LOCAL_NAMES`], so that even
//! with its key nobody can pose as a site of the internet by name. Numeric addresses are not limited: which ones a
//! local network uses cannot be told beforehand.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::path::PathBuf;

use rcgen::{
    BasicConstraints, CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa,
    Issuer, KeyPair, KeyUsagePurpose, NameConstraints, SanType,
};
use ring::digest::{SHA256, digest};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use rustls::sign::CertifiedKey;
use time::{Duration, OffsetDateTime};

use super::validity::validity;
use crate::assets::hex;
use crate::error::ServeError;
use crate::network::Here;

/// Endings of names that never lead to the internet: mDNS (RFC 6762), this device (RFC 6761), home networks (RFC 8375),
/// private use (ICANN board resolution 2024.07.29.06, from memory); `lan` and `home` are common practice, no source.
pub const LOCAL_NAMES: [&str; 6] = ["local", "localhost", "home.arpa", "internal", "lan", "home"];

/// How long the authority holds. It cannot be replaced without asking every phone to trust anew.
const AUTHORITY_DAYS: i64 = 3650;

/// How long a certificate of this server holds. Browsers bound it: 825 days for authorities that a person has added
/// (Apple, "Requirements for trusted certificates in iOS 13", from memory), 398 days and from March 2027 on 100 days for
/// public ones (CA/Browser Forum, Baseline Requirements, section 6.3.2, ballot SC-081v3, from memory).
const LEAF_DAYS: i64 = 90;

/// A certificate is replaced when it has less than this to go.
pub const RENEW_DAYS: i64 = 30;

/// A phone's clock may be behind.
const CLOCK_SLACK: Duration = Duration::DAY;

/// The authority, with its key.
#[derive(Debug)]
pub struct Authority {
    key: KeyPair,
    certificate: AuthorityCertificate,
    /// Certificate and key as text.
    pem: String,
}

/// What the world may know of the authority.
#[derive(Debug, Clone)]
pub struct AuthorityCertificate {
    der: CertificateDer<'static>,
    until: OffsetDateTime,
    kept_in: Option<PathBuf>,
}

impl AuthorityCertificate {
    /// The certificate in DER.
    #[must_use]
    pub fn der(&self) -> &[u8] {
        &self.der
    }

    /// SHA-256 of the certificate in pairs of hexadecimal digits, as phones and browsers show it.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let digits = hex(digest(&SHA256, &self.der).as_ref()).to_uppercase();
        let pairs: Vec<&str> = (0..digits.len() / 2).map(|i| &digits[2 * i..2 * i + 2]).collect();
        pairs.join(":")
    }

    /// The last moment that it holds.
    #[must_use]
    pub fn until(&self) -> OffsetDateTime {
        self.until
    }

    /// The file with its key; none if it lives in memory only.
    #[must_use]
    pub fn kept_in(&self) -> Option<&std::path::Path> {
        self.kept_in.as_deref()
    }
}

impl Authority {
    /// Makes one that holds from now on. It is not kept anywhere; [`Authority::open`] does that.
    ///
    /// # Errors
    /// If there is no chance to be had from the system.
    pub fn make(now: impl Into<OffsetDateTime>) -> Result<Authority, ServeError> {
        let now = now.into();
        let key = KeyPair::generate().map_err(|e| not_made(&e))?;
        let mut params = described(&key);
        params.not_before = now - CLOCK_SLACK;
        params.not_after = now + Duration::days(AUTHORITY_DAYS);
        let made = params.self_signed(&key).map_err(|e| not_made(&e))?;
        let (der, pem) = (made.der().clone(), format!("{}{}", made.pem(), key.serialize_pem()));
        // As written: whole seconds.
        let until = validity(&der).map_or(params.not_after, |(_, until)| until);
        Ok(Authority { key, certificate: AuthorityCertificate { der, until, kept_in: None }, pem })
    }

    /// The certificate and the key as text (RFC 7468).
    pub(super) fn pem(&self) -> &str {
        &self.pem
    }

    /// Reads what [`Authority::pem`] has given; `file` says where it stands. None if it is something else, or the
    /// two do not belong together.
    pub(super) fn from_pem(text: &str, file: PathBuf) -> Option<Authority> {
        let der = CertificateDer::from_pem_slice(text.as_bytes()).ok()?;
        let key = PrivateKeyDer::from_pem_slice(text.as_bytes()).ok()?;
        let (_, until) = validity(&der)?;
        certified(vec![der.clone()], &key)?;
        let key = KeyPair::try_from(&key).ok()?;
        let certificate = AuthorityCertificate { der, until, kept_in: Some(file) };
        Some(Authority { key, certificate, pem: text.to_owned() })
    }

    /// What the world may know.
    #[must_use]
    pub fn certificate(&self) -> &AuthorityCertificate {
        &self.certificate
    }

    /// Signs a certificate for this device as it can be reached now, with a key that lives in memory only. Answers with
    /// the last moment that it holds, too.
    ///
    /// # Errors
    /// If there is no chance to be had from the system.
    pub(super) fn sign(&self, here: &Here, now: OffsetDateTime) -> Result<(CertifiedKey, OffsetDateTime), ServeError> {
        let key = KeyPair::generate().map_err(|e| not_made(&e))?;
        let mut params = CertificateParams::default();
        params.distinguished_name = DistinguishedName::new();
        params.distinguished_name.push(DnType::CommonName, "halfsplit");
        let mut names = vec!["localhost".to_owned()];
        names.extend(here.name.clone());
        for name in names {
            let name = name.as_str().try_into().map_err(|e| not_made(&e))?;
            params.subject_alt_names.push(SanType::DnsName(name));
        }
        let loopback = [IpAddr::V4(Ipv4Addr::LOCALHOST), IpAddr::V6(Ipv6Addr::LOCALHOST)];
        let addresses = loopback.iter().chain(&here.addresses).copied();
        params.subject_alt_names.extend(addresses.map(SanType::IpAddress));
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        params.is_ca = IsCa::ExplicitNoCa;
        params.not_before = now - CLOCK_SLACK;
        params.not_after = (now + Duration::days(LEAF_DAYS)).min(self.certificate.until);
        let issuer = Issuer::new(described(&self.key), &self.key);
        let der = params.signed_by(&key, &issuer).map_err(|e| not_made(&e))?.der().clone();
        let secret = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        let certified = certified(vec![der], &secret)
            .ok_or_else(|| ServeError::new("the certificate that was made cannot be used", "start it again"))?;
        Ok((certified, params.not_after))
    }
}

/// What the authority's certificate says; all of it follows from the key, but for the dates.
fn described(key: &KeyPair) -> CertificateParams {
    let mut params = CertificateParams::default();
    let mark = hex(&digest(&SHA256, key.public_key_raw()).as_ref()[..4]);
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, format!("halfsplit, local network only ({mark})"));
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign];
    params.name_constraints = Some(NameConstraints {
        permitted_subtrees: LOCAL_NAMES.iter().map(|n| GeneralSubtree::DnsName((*n).to_owned())).collect(),
        excluded_subtrees: Vec::new(),
    });
    params
}

/// A chain with its key, if the two belong together.
pub(super) fn certified(chain: Vec<CertificateDer<'static>>, key: &PrivateKeyDer<'_>) -> Option<CertifiedKey> {
    let key = rustls::crypto::ring::sign::any_supported_type(key).ok()?;
    let certified = CertifiedKey::new(chain, key);
    certified.keys_match().is_ok().then_some(certified)
}

fn not_made(e: &dyn std::fmt::Display) -> ServeError {
    ServeError::new(format!("a certificate cannot be made: {e}"), "give one with --certificate and --key")
}
