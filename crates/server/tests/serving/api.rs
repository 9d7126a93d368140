//! The HTTP API and its description.

use std::io::{Read, Write};

use super::client::{ASSETS, Served};

/// A name may be any; this is one that is there.
fn filled(path: &str) -> String {
    path.replace("{name}", "demo")
}

/// OpenAPI Specification 3.1.0, sections 4.8.1, 4.8.8 and 4.8.17: the members that have to be there. The text itself is
/// kept as a snapshot, so that a change of the API is seen.
#[test]
fn the_description_is_whole() {
    let served = Served::plain(ASSETS);
    let answer = served.get("/api/v1/openapi.json");
    assert_eq!((answer.status, answer.header("content-type")), (200, Some("application/json")));
    let document = answer.json();
    assert!(document["openapi"].as_str().is_some_and(|v| v.starts_with("3.1.")));
    assert!(document["info"]["title"].is_string() && document["info"]["version"].is_string());
    let mut ids = Vec::new();
    for (path, item) in document["paths"].as_object().expect("paths") {
        assert!(path.starts_with("/api/v1/"), "{path}");
        for (method, operation) in item.as_object().expect("operations") {
            ids.push(operation["operationId"].as_str().expect("an id").to_owned());
            let answers = operation["responses"].as_object().expect("responses");
            assert!(answers.contains_key("200"), "{method} {path}");
        }
    }
    let count = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), count, "an operation's id is its own");
    references(&document, &document);
    insta::assert_snapshot!("openapi", format!("{document:#}"));
}

/// Every reference leads somewhere (RFC 6901, without escapes).
fn references(at: &serde_json::Value, document: &serde_json::Value) {
    match at {
        serde_json::Value::Object(members) => {
            if let Some(to) = members.get("$ref").and_then(|r| r.as_str()) {
                let pointer = to.strip_prefix('#').expect("within the document");
                assert!(document.pointer(pointer).is_some(), "{to} leads nowhere");
            }
            members.values().for_each(|v| references(v, document));
        }
        serde_json::Value::Array(all) => all.iter().for_each(|v| references(v, document)),
        _ => {}
    }
}

/// What is described is answered, by the methods described and no others; what is answered is described.
#[test]
fn the_description_and_the_answers_are_of_one_mind() {
    let served = Served::plain(ASSETS);
    let document = served.get("/api/v1/openapi.json").json();
    let described = document["paths"].as_object().expect("paths");
    let mut paths: Vec<&str> = described.keys().map(String::as_str).collect();
    let mut routes: Vec<&str> = halfsplit_server::api_paths().collect();
    paths.sort_unstable();
    routes.sort_unstable();
    assert_eq!(paths, routes);
    for (path, item) in described {
        let methods: Vec<String> = item.as_object().expect("operations").keys().map(|m| m.to_uppercase()).collect();
        // OPTIONS is no method that any path here has: the answer lists those that it has.
        let allowed = served.ask("OPTIONS", &filled(path), &[], b"");
        assert_eq!(allowed.status, 405, "{path}");
        let mut allowed: Vec<&str> = allowed.header("allow").expect("a list").split(',').collect();
        // HEAD follows from GET.
        allowed.retain(|m| *m != "HEAD");
        assert_eq!(allowed, methods, "{path}");
        for method in &methods {
            let status = served.ask(method, &filled(path), &[], b"").status;
            let answers = item[method.to_lowercase()]["responses"].as_object().expect("responses");
            assert!(answers.contains_key(&status.to_string()), "{method} {path}: {status} is not described");
        }
    }
}

#[test]
fn it_says_that_it_is_well_and_which_build_it_is() {
    let with = Served::plain(ASSETS).get("/api/v1/health").json();
    let without = Served::plain(&[]).get("/api/v1/health").json();
    assert_eq!((&with["status"], &with["app"], &without["app"]), (&"well".into(), &true.into(), &false.into()));
    assert_ne!(with["build"], without["build"]);
}

/// The hashes are those that coreutils' sha256sum gives for the two texts.
#[test]
fn a_mirror_can_check_itself() {
    let files = Served::plain(ASSETS).get("/api/v1/files").json();
    let files = files["files"].as_array().expect("a list");
    assert_eq!(files.len(), ASSETS.len());
    assert_eq!(files[0]["path"], "index.html");
    assert_eq!(files[0]["bytes"], 17);
    assert_eq!(files[0]["sha256"], "5d37867d3ad973a7f906d9ab0dddb1eec56e77255b4c0559142f4395b2dc76fe");
    assert_eq!(files[1]["sha256"], "4161a6c365a469fe496cc5023ecf952f52076041a1f629583b563f80a1a7755f");
}

#[test]
fn the_machines_come_with_their_sheets() {
    let served = Served::plain(&[]);
    let list = served.get("/api/v1/machines").json();
    let machines = list["machines"].as_array().expect("a list");
    assert!(machines.len() >= 6);
    for machine in machines {
        let sheet = served.get(machine["sheet"].as_str().expect("a path"));
        assert_eq!((sheet.status, sheet.header("content-type")), (200, Some("application/toml")));
        let title = machine["title"].as_str().expect("a title");
        assert!(sheet.text().contains(title), "{title}");
    }
    let unknown = served.get("/api/v1/machines/toaster");
    assert_eq!(unknown.status, 404);
    assert!(unknown.json()["detail"].as_str().is_some_and(|d| d.contains("toaster")));
}

/// RFC 9110, section 15.5.14: too much, said before it is taken in where the client says how much it is, and else when it
/// has become too much.
#[test]
fn a_journal_is_not_endless() {
    let served = Served::plain(&[]);
    let length = [("Content-Length", "3000000")];
    assert_eq!(served.ask("POST", "/api/v1/view", &length, b"").status, 413);
    let mut chunked = format!("{:x}\r\n", 2 * 1024 * 1024 + 1).into_bytes();
    chunked.extend(vec![b' '; 2 * 1024 * 1024 + 1]);
    let request = [
        b"POST /api/v1/view HTTP/1.1\r\nHost: bench.local\r\nConnection: close\r\nTransfer-Encoding: chunked\r\n\r\n"
            .as_slice(),
        &chunked,
    ]
    .concat();
    let mut stream = served.connect();
    // It may stop reading before all is sent.
    let _ = stream.write_all(&request);
    let mut head = [0; 12];
    stream.read_exact(&mut head).expect("answered");
    assert_eq!(&head, b"HTTP/1.1 413");
}

#[test]
fn what_is_no_journal_is_refused_with_the_reason() {
    let served = Served::plain(&[]);
    for body in [b"nothing of the kind".as_slice(), b"{}", b"\xff\xfe\n"] {
        let answer = served.ask("POST", "/api/v1/view", &[], body);
        assert_eq!((answer.status, answer.header("content-type")), (422, Some("application/problem+json")));
        assert_eq!(answer.json()["kind"], "journal");
    }
}
