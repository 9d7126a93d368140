//! Files: packing, tags, methods, headers. By RFC 9110 (HTTP semantics) and RFC 9111 (caching).

use super::client::{ASSETS, Served};

/// RFC 9110, sections 8.4, 8.6, 12.5.3 and 12.5.5.
#[test]
fn a_file_comes_packed_as_the_client_likes_it() {
    let served = Served::plain(ASSETS);
    for (accepted, encoding, body) in [
        ("gzip, deflate, br, zstd", Some("br"), "the page by brotli"),
        ("gzip, br;q=0", Some("gzip"), "the page by gzip"),
        ("identity", None, "the page as it is"),
    ] {
        let answer = served.ask("GET", "/", &[("Accept-Encoding", accepted)], b"");
        assert_eq!(answer.status, 200);
        assert_eq!(answer.header("content-encoding"), encoding, "{accepted}");
        assert_eq!(answer.header("content-length"), Some(body.len().to_string().as_str()));
        assert_eq!(answer.header("content-type"), Some("text/html; charset=utf-8"));
        assert_eq!(answer.header("vary"), Some("Accept-Encoding"));
        assert_eq!(answer.text(), body);
    }
    assert_eq!(served.get("/").text(), "the page as it is");
}

/// RFC 9111, section 5.2.2.4, and RFC 8246 (immutable).
#[test]
fn what_never_changes_is_kept_and_the_rest_asked_for_anew() {
    let served = Served::plain(ASSETS);
    assert_eq!(served.get("/index.html").header("cache-control"), Some("no-cache"));
    assert_eq!(served.get("/v/1/app.js").header("cache-control"), Some("public, max-age=31536000, immutable"));
}

/// RFC 9110, section 8.8.3.3: packed differently, another tag. Sections 13.1.2 and 15.4.5: what was fetched already is
/// not sent again, by weak comparison, and the answer repeats what a cache needs.
#[test]
fn what_the_client_has_is_not_sent_again() {
    let served = Served::plain(ASSETS);
    let tag = |accepted: &str| {
        let answer = served.ask("GET", "/", &[("Accept-Encoding", accepted)], b"");
        answer.header("etag").expect("a tag").to_owned()
    };
    let (br, gzip, plain) = (tag("br"), tag("gzip"), tag("identity"));
    assert!(br != gzip && gzip != plain && br != plain);
    let again = |known: &str| served.ask("GET", "/", &[("Accept-Encoding", "br"), ("If-None-Match", known)], b"");
    for known in [br.clone(), format!("W/{br}"), format!("\"other\", {br}"), "*".to_owned()] {
        let answer = again(&known);
        assert_eq!((answer.status, answer.body.len()), (304, 0), "{known}");
        assert_eq!(answer.header("etag"), Some(br.as_str()));
        assert_eq!(answer.header("vary"), Some("Accept-Encoding"));
        assert_eq!(answer.header("cache-control"), Some("no-cache"));
        assert_eq!(answer.header("content-encoding"), None);
    }
    for other in [plain.as_str(), gzip.as_str(), "\"\"", "br"] {
        assert_eq!(again(other).status, 200, "{other}");
    }
}

/// RFC 9110, section 9.3.2: as GET, without the content.
#[test]
fn head_tells_what_get_would_send() {
    let served = Served::plain(ASSETS);
    for path in ["/", "/v/1/app.js", "/nothing", "/api/v1/health", "/api/v1/machines/demo"] {
        let (head, get) = (served.ask("HEAD", path, &[("Accept-Encoding", "br")], b""), {
            served.ask("GET", path, &[("Accept-Encoding", "br")], b"")
        });
        assert_eq!((head.status, head.body.len()), (get.status, 0), "{path}");
        for name in ["content-type", "content-length", "content-encoding", "etag", "cache-control", "vary"] {
            assert_eq!(head.header(name), get.header(name), "{path}: {name}");
        }
    }
}

/// RFC 9110, section 15.5.6: with the list of what is allowed. RFC 9457: the errors.
#[test]
fn what_cannot_be_done_is_an_error_that_a_program_can_read() {
    let served = Served::plain(ASSETS);
    for (method, path, status, allowed) in [
        ("GET", "/nothing", 404, None),
        ("GET", "/../etc/passwd", 404, None),
        ("GET", "/api/v1/weather", 404, None),
        ("GET", "/api/v2/health", 404, None),
        ("POST", "/", 405, Some("GET,HEAD")),
        ("DELETE", "/v/1/app.js", 405, Some("GET,HEAD")),
        ("POST", "/api/v1/health", 405, Some("GET,HEAD")),
        ("GET", "/api/v1/view", 405, Some("POST")),
    ] {
        let answer = served.ask(method, path, &[], b"");
        assert_eq!(answer.status, status, "{method} {path}");
        assert_eq!(answer.header("allow"), allowed, "{method} {path}");
        assert_eq!(answer.header("content-type"), Some("application/problem+json"));
        let problem = answer.json();
        assert_eq!((problem["status"].as_u64(), &problem["instance"]), (Some(u64::from(status)), &path.into()));
        for member in ["title", "detail", "do"] {
            assert!(problem[member].as_str().is_some_and(|s| !s.is_empty()), "{method} {path}: {member}");
        }
    }
}

#[test]
fn every_answer_keeps_the_page_to_itself() {
    let served = Served::plain(ASSETS);
    for path in ["/", "/nothing", "/api/v1/health"] {
        let answer = served.get(path);
        let policy = answer.header("content-security-policy").expect("a policy");
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe-inline"), "{policy}");
        // For hosts that set no headers the page states the same, but for what may only stand in a header (Content
        // Security Policy Level 3, W3C, section 3.3, from memory).
        let page = include_str!("../../../web/static/index.html");
        let in_page = policy.strip_suffix("; frame-ancestors 'none'").expect("the part for headers last");
        assert!(page.contains(&format!("content=\"{in_page}\"")), "{policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"));
    }
}

#[test]
fn without_the_app_it_says_how_to_get_it() {
    let answer = Served::plain(&[]).get("/");
    assert_eq!(answer.status, 404);
    assert!(answer.json()["do"].as_str().is_some_and(|s| s.contains("./job serve")));
}
