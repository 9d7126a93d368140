//! TLS with a certificate of the device's own authority, judged by a client that trusts nothing else: the verifier of
//! rustls (webpki), which does not know how the certificates were made.

use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;

use halfsplit_server::{Authority, Certificate, Here, Shown};
use rustls::pki_types::CertificateDer;
use time::{Duration, OffsetDateTime};

use super::client::{Served, greeted};

fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    folder
}

fn now() -> OffsetDateTime {
    OffsetDateTime::now_utc()
}

fn here(addresses: &[&str]) -> Here {
    Here {
        addresses: addresses.iter().map(|a| a.parse::<IpAddr>().expect("an address")).collect(),
        name: Some("bench.local".into()),
    }
}

fn made(authority: Authority, here: Here) -> Arc<Shown> {
    Arc::new(Shown::new(Certificate::Made(Box::new(authority)), here, now()).expect("a certificate"))
}

fn root(shown: &Shown) -> CertificateDer<'static> {
    CertificateDer::from(shown.authority().expect("its own").der().to_vec())
}

/// RFC 5280, section 6 (the path), and RFC 9525, sections 4.1 and 6 (names and addresses are matched as what they are).
#[test]
fn who_trusts_the_authority_gets_in_under_every_name_and_address_and_no_other() {
    let shown = made(Authority::make(now()).expect("made"), here(&["192.168.1.20", "fd00::2"]));
    let served = Served::with(&shown);
    let roots = [root(&shown)];
    for name in ["localhost", "bench.local", "127.0.0.1", "::1", "192.168.1.20", "fd00::2"] {
        let answer = served.get_as(name, &roots, "/").unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((answer.status, answer.text()), (200, "the page as it is"));
    }
    for name in ["other.local", "example.com", "192.168.1.21", "fd00::3"] {
        let refused = served.get_as(name, &roots, "/").expect_err(name);
        assert!(refused.contains("not valid for name"), "{name}: {refused}");
    }
}

#[test]
fn who_does_not_trust_it_is_not_let_in() {
    let shown = made(Authority::make(now()).expect("made"), here(&[]));
    let served = Served::with(&shown);
    let other = made(Authority::make(now()).expect("made"), here(&[]));
    assert!(served.get_as("localhost", &[root(&other)], "/").expect_err("refused").contains("UnknownIssuer"));
    // The server goes on.
    assert_eq!(served.get_as("localhost", &[root(&shown)], "/").expect("let in").status, 200);
}

/// RFC 5280, section 4.2.1.10: the authority's certificate rules out names of the internet, whatever is signed with its
/// key. A host that calls itself so cannot be vouched for.
#[test]
fn the_authority_cannot_vouch_for_names_of_the_internet() {
    let here = Here { addresses: Vec::new(), name: Some("example.com".into()) };
    let shown = made(Authority::make(now()).expect("made"), here);
    let served = Served::with(&shown);
    for name in ["example.com", "localhost"] {
        let refused = served.get_as(name, &[root(&shown)], "/").expect_err("refused");
        assert!(refused.contains("NameConstraintViolation"), "{refused}");
    }
}

#[test]
fn the_authority_is_made_once_and_its_key_is_nobody_elses() {
    let folder = folder("authority-kept");
    let first = Authority::open(&folder, now()).expect("made");
    let again = Authority::open(&folder, now()).expect("read");
    assert_eq!(first.certificate().fingerprint(), again.certificate().fingerprint());
    let file = folder.join("authority.pem");
    assert_eq!(again.certificate().kept_in(), Some(file.as_path()));
    // Nothing unfinished is left beside it.
    assert_eq!(std::fs::read_dir(&folder).expect("there").count(), 1);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |p: &std::path::Path| std::fs::metadata(p).expect("there").permissions().mode() & 0o777;
        assert_eq!((mode(&file), mode(&folder)), (0o600, 0o700));
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).expect("set");
        let refused = Authority::open(&folder, now()).expect_err("others may read it");
        assert!(refused.what.contains("read by others") && refused.hint.contains("chmod 600"), "{refused}");
        std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o600)).expect("set");
    }
    // What it signs after it was read from its file is good for who has trusted it from the first.
    let root = CertificateDer::from(first.certificate().der().to_vec());
    let served = Served::with(&made(again, here(&[])));
    assert_eq!(served.get_as("bench.local", &[root], "/").expect("let in").status, 200);
}

#[test]
fn two_that_start_at_once_have_one_authority() {
    let folder = folder("authority-twice");
    let made: Vec<String> = std::thread::scope(|s| {
        let all: Vec<_> = (0..4).map(|_| s.spawn(|| Authority::open(&folder, now()).expect("made"))).collect();
        all.into_iter().map(|t| t.join().expect("ended").certificate().fingerprint()).collect()
    });
    assert!(made.iter().all(|f| *f == made[0]), "{made:?}");
}

#[test]
fn a_file_that_is_no_authority_and_one_at_its_end_are_refused_not_replaced() {
    let folder = folder("authority-bad");
    let long_ago = now() - Duration::days(3650 - 20);
    Authority::open(&folder, long_ago).expect("made");
    let refused = Authority::open(&folder, now()).expect_err("at its end");
    assert!(refused.what.contains("only") && refused.hint.contains("remove the file"), "{refused}");
    let file = folder.join("authority.pem");
    std::fs::write(&file, "nothing of the kind").expect("written");
    let refused = Authority::open(&folder, now()).expect_err("no authority");
    assert!(refused.what.contains("no authority's certificate"), "{refused}");
    assert_eq!(std::fs::read_to_string(&file).expect("still there"), "nothing of the kind");
}

/// At most 398 days: CA/Browser Forum, Baseline Requirements, section 6.3.2 (from memory), which browsers enforce.
#[test]
fn the_certificate_is_short_lived_and_replaced_when_it_has_to_be() {
    let shown = made(Authority::make(now()).expect("made"), here(&["192.168.1.20"]));
    let days = (shown.until() - now()).whole_days();
    assert!((31..=397).contains(&days), "{days}");
    let served = Served::with(&shown);
    let roots = [root(&shown)];
    // The same addresses, and long to go: kept.
    assert!(!shown.renew(here(&["192.168.1.20"]), now()).expect("kept"));
    // Another address: from the next connection on.
    assert!(served.get_as("10.0.0.7", &roots, "/").is_err());
    assert!(shown.renew(here(&["10.0.0.7"]), now()).expect("replaced"));
    assert_eq!(served.get_as("10.0.0.7", &roots, "/").expect("let in").status, 200);
    assert!(served.get_as("192.168.1.20", &roots, "/").is_err());
    // Nearly at its end.
    let later = now() + Duration::days(days - 5);
    assert!(shown.renew(here(&["10.0.0.7"]), later).expect("replaced"));
    assert!((shown.until() - later).whole_days() > 31);
}

/// A certificate that was given, made by other means than the authority here: self-signed by rcgen's own short cut.
#[test]
fn a_certificate_that_was_given_is_shown_and_read_again_when_it_changes() {
    let folder = folder("given");
    std::fs::create_dir_all(&folder).expect("a folder");
    let (certificate, key) = (folder.join("shop.pem"), folder.join("shop.key"));
    let place = |name: &str| {
        let made = rcgen::generate_simple_self_signed(vec![name.to_owned()]).expect("made");
        std::fs::write(&certificate, made.cert.pem()).expect("written");
        std::fs::write(&key, made.signing_key.serialize_pem()).expect("written");
        made.cert.der().clone()
    };
    let first = place("shop.example");
    let source = Certificate::Given { certificate: certificate.clone(), key: key.clone() };
    let shown = Arc::new(Shown::new(source, Here::default(), now()).expect("read"));
    let served = Served::with(&shown);
    assert_eq!(served.get_as("shop.example", &[first], "/").expect("let in").status, 200);
    // There is nothing to take in, and no page about it.
    assert!(shown.authority().is_none());
    for path in ["/trust", "/authority.crt"] {
        assert_eq!(served.get(path).status, 404, "{path}");
    }
    assert!(!shown.renew(Here::default(), now()).expect("unchanged"));
    let second = place("shop2.example");
    assert!(shown.renew(Here::default(), now()).expect("changed"));
    assert_eq!(served.get_as("shop2.example", std::slice::from_ref(&second), "/").expect("let in").status, 200);
    // Half replaced: the old one stays.
    let other = rcgen::KeyPair::generate().expect("a key");
    std::fs::write(&key, other.serialize_pem()).expect("written");
    let refused = shown.renew(Here::default(), now()).expect_err("not its key");
    assert!(refused.what.contains("is not the key of"), "{refused}");
    assert_eq!(served.get_as("shop2.example", &[second], "/").expect("let in").status, 200);
}

#[test]
fn files_that_cannot_be_shown_are_refused_at_the_start() {
    let folder = folder("given-bad");
    std::fs::create_dir_all(&folder).expect("a folder");
    let (certificate, key) = (folder.join("c.pem"), folder.join("k.pem"));
    let start = || {
        let source = Certificate::Given { certificate: certificate.clone(), key: key.clone() };
        Shown::new(source, Here::default(), now()).expect_err("refused").to_string()
    };
    assert!(start().contains("cannot read the certificate"), "{}", start());
    std::fs::write(&certificate, "").expect("written");
    std::fs::write(&key, "").expect("written");
    assert!(start().contains("cannot read the key"), "{}", start());
    let pair = rcgen::KeyPair::generate().expect("a key");
    std::fs::write(&key, pair.serialize_pem()).expect("written");
    assert!(start().contains("there is no certificate in"), "{}", start());
    let mut params = rcgen::CertificateParams::new(vec!["shop.example".to_owned()]).expect("a name");
    params.not_after = now() - Duration::days(1);
    std::fs::write(&certificate, params.self_signed(&pair).expect("signed").pem()).expect("written");
    assert!(start().contains("has ended on"), "{}", start());
}

/// What is served without TLS on the same port: how to trust it, and the way to the app; never the app itself.
#[test]
fn who_comes_without_tls_learns_how_to_trust_it() {
    let shown = made(Authority::make(now()).expect("made"), here(&["192.168.1.20"]));
    let served = Served::with(&shown);
    for path in ["/", "/trust"] {
        let page = served.get(path);
        assert_eq!((page.status, page.header("content-type")), (200, Some("text/html; charset=utf-8")));
        let fingerprint = shown.authority().expect("its own").fingerprint();
        assert!(page.text().replace("<wbr>", "").contains(&fingerprint));
        assert!(page.text().contains("href=\"https://bench.local:4180/\""), "{}", page.text());
        assert!(!page.text().contains('{'), "something is not filled in");
    }
    let certificate = served.get("/authority.crt");
    assert_eq!(certificate.header("content-type"), Some("application/x-x509-ca-cert"));
    assert_eq!(certificate.body, shown.authority().expect("its own").der());
    // RFC 9110, section 15.4.9: the same question again, there.
    let away = served.get("/api/v1/health?x=1");
    assert_eq!((away.status, away.header("location")), (308, Some("https://bench.local:4180/api/v1/health?x=1")));
    assert_eq!(served.get("/trust.css").status, 200);
}

#[test]
fn nothing_from_a_request_gets_into_the_page() {
    let shown = made(Authority::make(now()).expect("made"), here(&[]));
    let served = Served::with(&shown);
    for host in ["\"><script>", "a@b", "a/b", "a b"] {
        let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        let mut stream = served.connect();
        std::io::Write::write_all(&mut stream, request.as_bytes()).expect("sent");
        let mut answer = Vec::new();
        std::io::Read::read_to_end(&mut stream, &mut answer).expect("answered");
        let answer = String::from_utf8(answer).expect("text");
        assert!(!answer.contains(host), "{answer}");
    }
}

/// A client that says nothing, or nonsense, keeps nobody else out.
#[test]
fn silence_and_nonsense_keep_nobody_out() {
    let shown = made(Authority::make(now()).expect("made"), here(&[]));
    let served = Served::with(&shown);
    let silent = served.connect();
    let mut nonsense = served.connect();
    std::io::Write::write_all(&mut nonsense, b"\x16\x03\x01\x00\x05nonsense").expect("sent");
    assert!(greeted(served.connect(), "localhost", &[root(&shown)]).is_ok());
    drop(silent);
}
