//! `halfsplit serve` as a process: signals, logs, what is printed, TLS, and views that are those of the terminal.

mod common;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdout, Stdio};
use std::time::Duration;

use common::{command, journal, place, run, text};
use serde_json::Value;

/// A server on a port that the system chose, killed when it is dropped.
struct Served {
    child: Child,
    out: BufReader<ChildStdout>,
    said: String,
    port: u16,
}

impl Served {
    fn start(place: &Path, args: &[&str]) -> Served {
        let all = [&["serve", "--api-only", "--port", "0"], args].concat();
        let mut child = command(place, &all)
            .env("XDG_DATA_HOME", place)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut out = BufReader::new(child.stdout.take().expect("a pipe"));
        let mut said = String::new();
        // The last line comes when it listens.
        while !said.ends_with("Ctrl-C stops it.\n") {
            assert_ne!(out.read_line(&mut said).expect("read"), 0, "it ended: {said}");
        }
        let port =
            said.split("://").find_map(|s| s.split('/').next()?.rsplit(':').next()?.parse().ok()).expect("a port");
        Served { child, out, said, port }
    }

    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
        stream
    }

    fn ask(&self, request: &str) -> String {
        let mut stream = self.connect();
        stream.write_all(request.as_bytes()).expect("sent");
        rest(stream)
    }

    fn signal(&self, name: &str) {
        let pid = self.child.id().to_string();
        // By the shell, which has it built in.
        let kill = format!("kill -s {name} {pid}");
        assert!(std::process::Command::new("sh").args(["-c", &kill]).status().expect("a shell").success());
    }

    /// Waits for its end: exit code, and what it logged.
    fn ended(mut self) -> (Option<i32>, String) {
        let mut logged = String::new();
        self.child.stderr.take().expect("a pipe").read_to_string(&mut logged).expect("text");
        self.out.read_to_string(&mut self.said).expect("text");
        (self.child.wait().expect("ends").code(), logged)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn rest(mut stream: TcpStream) -> String {
    let mut all = String::new();
    stream.read_to_string(&mut all).expect("text");
    all
}

fn get(path: &str) -> String {
    format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
}

fn post(journal: &str) -> String {
    format!(
        "POST /api/v1/view HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Length: {}\r\n\r\n{journal}",
        journal.len()
    )
}

fn body(answer: &str) -> Value {
    serde_json::from_str(answer.split_once("\r\n\r\n").expect("a head").1).expect("JSON")
}

/// A journal, and the last view that the terminal gave of it.
fn job(place: &Path) -> (String, Value) {
    let input = "{\"kind\":\"opened\",\"with\":{\"machine_age_years\":8}}\n\
                 {\"kind\":\"reading\",\"with\":{\"test\":\"microfarads CRUN\",\"as_typed\":\"1.2 nF\"}}\n\
                 {\"kind\":\"safety_report\",\"with\":{\"kind\":\"isolated\",\"who\":\"Ada\"}}\n{\"ask\":\"view\"}\n";
    let out = run(place, &["job", "--json"], input);
    let last = text(&out.stdout).lines().last().expect("an answer").to_owned();
    (std::fs::read_to_string(journal(place)).expect("the journal"), serde_json::from_str(&last).expect("JSON"))
}

#[test]
fn a_view_by_http_is_the_view_of_the_terminal() {
    let place = place("serve-view");
    let (journal, view) = job(&place);
    let served = Served::start(&place, &[]);
    let answer = served.ask(&post(&journal));
    assert!(answer.starts_with("HTTP/1.1 200 "), "{answer}");
    assert_eq!(body(&answer), view);
    // The same again, with a line that was cut off: used without it, and that is said.
    let cut = &journal[..journal.len() - 20];
    let damaged = body(&served.ask(&post(cut)));
    assert_eq!(damaged["damage"].as_array().map(Vec::len), Some(1), "{damaged}");
    assert_eq!(damaged["view"]["events"].as_u64(), view["view"]["events"].as_u64().map(|n| n - 1));
    // Without its opening it is no job.
    let header = journal.lines().next().expect("a header");
    let refused = served.ask(&post(&format!("{header}\n")));
    assert!(refused.starts_with("HTTP/1.1 422 "), "{refused}");
    assert_eq!(body(&refused)["kind"], "journal");
}

/// POSIX.1-2024, kill: TERM is how services are told to end.
#[test]
fn told_to_terminate_it_finishes_what_it_answers_and_lets_nobody_in() {
    let place = place("serve-term");
    let (journal, view) = job(&place);
    let served = Served::start(&place, &["--log", "json"]);
    let request = post(&journal);
    let (first, second) = request.split_at(request.len() - 10);
    let mut asking = served.connect();
    asking.write_all(first.as_bytes()).expect("sent");
    // A connection on which nothing is asked, and one that was answered and is kept alive.
    let silent = served.connect();
    let mut kept = served.connect();
    kept.write_all(b"GET /api/v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n").expect("sent");
    let mut start = [0; 12];
    kept.read_exact(&mut start).expect("answered");
    assert_eq!(&start, b"HTTP/1.1 200");
    served.signal("TERM");
    // Those two are closed: their ends come, without time running out.
    assert_eq!(rest(silent), "");
    let _ = rest(kept);
    // It is no longer listening.
    assert!(TcpStream::connect(("127.0.0.1", served.port)).is_err());
    asking.write_all(second.as_bytes()).expect("sent");
    let answer = rest(asking);
    assert!(answer.starts_with("HTTP/1.1 200 "), "{answer}");
    assert_eq!(body(&answer), view);
    let (code, logged) = served.ended();
    assert_eq!(code, Some(0), "{logged}");
    let lines: Vec<Value> = logged.lines().map(|l| serde_json::from_str(l).expect("JSON")).collect();
    let view = lines.iter().find(|l| l["path"] == "/api/v1/view").expect("a line for the view");
    assert_eq!((&view["method"], &view["status"], &view["peer"]), (&"POST".into(), &200.into(), &"127.0.0.1".into()));
    assert!(view["bytes"].as_u64().is_some_and(|b| b > 1000) && view["ms"].is_u64(), "{view}");
    assert!(lines.iter().any(|l| l["message"] == "stopping"), "{logged}");
}

#[test]
fn a_second_signal_ends_it_at_once() {
    let place = place("serve-twice");
    let served = Served::start(&place, &[]);
    let mut asking = served.connect();
    asking.write_all(b"POST /api/v1/view HTTP/1.1\r\nHost: localhost\r\nContent-Length: 10\r\n\r\n").expect("sent");
    // Answered on another connection: by then the request above is being read.
    served.ask(&get("/api/v1/health"));
    served.signal("INT");
    while TcpStream::connect(("127.0.0.1", served.port)).is_ok() {
        std::thread::sleep(Duration::from_millis(5));
    }
    served.signal("INT");
    // Left to itself it would have waited for the rest of the request, and said so in the end.
    assert_eq!(served.ended(), (Some(0), String::new()));
}

#[test]
fn only_what_needs_looking_after_is_logged_unless_asked() {
    let place = place("serve-quiet");
    let served = Served::start(&place, &[]);
    served.ask(&get("/api/v1/health"));
    served.signal("INT");
    assert_eq!(served.ended(), (Some(0), String::new()));
}

#[test]
fn plain_lines_hold_what_was_asked_but_not_the_query() {
    let place = place("serve-plain-log");
    let served = Served::start(&place, &["--log", "plain"]);
    served.ask(&get("/api/v1/health?name=somebody"));
    served.signal("TERM");
    let logged = served.ended().1;
    assert!(logged.contains("method=GET path=\"/api/v1/health\" status=200 bytes="), "{logged}");
    assert!(!logged.contains("somebody"), "{logged}");
}

#[test]
fn on_the_network_it_is_encrypted_and_says_how_to_trust_it() {
    let place = place("serve-network");
    let served = Served::start(&place, &["--network"]);
    let key = place.join("halfsplit/authority.pem");
    assert!(served.said.contains("SHA-256 fingerprint"), "{}", served.said);
    let kept = served.said.replace("\n", " ").contains(&key.display().to_string());
    assert!(kept, "{}", served.said);
    // No terminal: no picture, no colours.
    assert!(!served.said.contains('█') && !served.said.contains('\x1b'));
    // Without TLS there is the way to it, not the API.
    assert!(served.ask(&get("/api/v1/health")).starts_with("HTTP/1.1 308 "));
    assert!(served.ask(&get("/trust")).starts_with("HTTP/1.1 200 "));
    // The fingerprint is the same the next time: phones go on trusting it.
    let fingerprint =
        |said: &str| said.lines().filter(|l| l.trim().split(':').count() > 15).collect::<Vec<_>>().join("");
    let first = fingerprint(&served.said);
    drop(served);
    let again = Served::start(&place, &["--network", "--qr", "always"]);
    assert!(!first.is_empty() && fingerprint(&again.said) == first, "{}", again.said);
}

#[test]
fn without_encryption_only_when_told_in_so_many_words() {
    let place = place("serve-open");
    let served = Served::start(&place, &["--listen", "0.0.0.0", "--without-encryption"]);
    assert!(served.said.contains("Nothing is encrypted"), "{}", served.said);
    assert!(served.ask(&get("/api/v1/health")).starts_with("HTTP/1.1 200 "));
    drop(served);
    // Otherwise an address of others means TLS.
    let served = Served::start(&place, &["--listen", "0.0.0.0"]);
    assert!(served.ask(&get("/api/v1/health")).starts_with("HTTP/1.1 308 "));
}

#[test]
fn what_does_not_go_together_is_refused_with_what_to_do() {
    let place = place("serve-refused");
    for (args, code, words) in [
        (&["serve"][..], 1, "build it with the app"),
        (&["serve", "--certificate", "c.pem"], 2, "--key"),
        (&["serve", "--network", "--listen", "127.0.0.1"], 2, "cannot be used with"),
        (
            &["serve", "--api-only", "--certificate", "none.pem", "--key", "none.key"],
            3,
            "cannot read the certificate none.pem",
        ),
        (&["serve", "--api-only", "--listen", "192.0.2.77"], 3, "choose another port with --port"),
    ] {
        let out = command(&place, args).env("XDG_DATA_HOME", &place).output().expect("it runs");
        assert_eq!(out.status.code(), Some(code), "{args:?}: {}", text(&out.stderr));
        assert!(text(&out.stderr).contains(words), "{args:?}: {}", text(&out.stderr));
    }
}
