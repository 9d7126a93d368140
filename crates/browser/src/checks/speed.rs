//! How heavy and how fast: figures for people, with bounds so wide that only something broken exceeds them.
//!
//! The browser slows down the page by a factor; its workers it leaves alone. The engine's own time is therefore taken
//! apart, and counted as often as the page is slowed down.

use std::io::{Read, Write};
use std::net::TcpStream;

use serde_json::json;

use super::{FULL, Stage, must};
use crate::Res;
use crate::hand::Hand;
use crate::page::{PHONE, Page};
use crate::stage;
use crate::visit::Visit;

const SLOWER: f64 = 4.0;

/// Notes when the page can be used, and what each question to the engine took.
const WATCH: &str = "
    window.halfsplitUsable = null;
    window.halfsplitEngine = 0;
    const look = () => {
        const open = document.getElementById('open');
        if (open && !open.disabled) { window.halfsplitUsable = performance.now(); return; }
        requestAnimationFrame(look);
    };
    look();
    let ask;
    Object.defineProperty(globalThis, 'halfsplitAsk', {
        configurable: true,
        get: () => ask,
        set: (real) => {
            ask = async (question) => {
                const began = performance.now();
                const said = await real(question);
                window.halfsplitEngine += performance.now() - began;
                return said;
            };
        },
    });
    window.halfsplitEntry = null;
    document.addEventListener('click', (e) => {
        if (!e.target.closest('.next')) return;
        const began = performance.now(), engine = window.halfsplitEngine;
        window.halfsplitEntry = null;
        let calm = 0;
        const old = document.getElementById('next');
        const look = () => {
            const now = document.getElementById('next');
            if (now && now !== old && document.querySelector('main').getAttribute('aria-busy') === 'false') {
                window.halfsplitEntry = [performance.now() - began, window.halfsplitEngine - engine];
            } else if (performance.now() - began < 20000) requestAnimationFrame(look);
        };
        requestAnimationFrame(look);
    }, true);";

pub async fn speed(stage: &Stage<'_>) -> Res<String> {
    let weight = weight(&stage.served.address())?;
    must(weight < 1_500_000, || format!("the app weighs {weight} bytes packed"))?;
    let page = Page::open(&stage.driver, &stage::profile("speed")?, PHONE, None).await?;
    page.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": WATCH })).await?;
    page.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
    let first = usable(&page, &stage.served.address()).await?;
    page.kept().await?;
    let again = usable(&page, &stage.served.address()).await?;
    let mut visit = Visit::open(&page, Hand::Finger, Stage::hidden(FULL)?).await?;
    let mut entries: Vec<(f64, f64)> = Vec::new();
    while visit.step().await? {
        let took = page.script("return window.halfsplitEntry", vec![]).await?;
        if let (Some(all), Some(engine)) = (took[0].as_f64(), took[1].as_f64()) {
            entries.push((all + (SLOWER - 1.0) * engine, engine));
        }
    }
    page.close().await?;
    must(entries.len() > 3, || "no entry was timed".into())?;
    entries.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (middle, longest) = (entries[entries.len() / 2], entries[entries.len() - 1]);
    must(first < 20_000.0 && longest.0 < 20_000.0, || {
        format!("first screen {first:.0} ms, update {:.0} ms", longest.0)
    })?;
    Ok(format!(
        "{:.0} kB brotli; slowed down {SLOWER:.0} times: usable after {first:.0} ms, from the store {again:.0} ms; \
         next test after {:.0} ms (middle of {}), {:.0} ms at most, engine's part {:.0} and {:.0} ms unslowed",
        weight as f64 / 1000.0,
        middle.0,
        entries.len(),
        longest.0,
        middle.1,
        longest.1
    ))
}

/// Milliseconds from asking for the address until a job can be opened, the engine's part counted as often as the page
/// is slowed down.
async fn usable(page: &Page, address: &str) -> Res<f64> {
    page.goto(address).await?;
    page.wait("a usable page", "return window.halfsplitUsable !== null").await?;
    let said = page.script("return [window.halfsplitUsable, window.halfsplitEngine]", vec![]).await?;
    Ok(said[0].as_f64().unwrap_or(f64::MAX) + (SLOWER - 1.0) * said[1].as_f64().unwrap_or(0.0))
}

/// Bytes of all files that the service worker keeps, as they are sent.
fn weight(address: &str) -> Res<usize> {
    let worker = fetch(address, "sw.js", false)?;
    let worker = String::from_utf8(worker)?;
    let list = worker.split_once("const files = [").and_then(|(_, rest)| rest.split_once("];"));
    let (list, _) = list.ok_or("sw.js lists no files")?;
    let files: Vec<String> = serde_json::from_str(&format!("[{list}]"))?;
    let mut sum = 0;
    for file in &files {
        sum += fetch(address, file, true)?.len();
    }
    must(files.len() > 5, || format!("only {} files are kept", files.len()))?;
    Ok(sum)
}

/// Gets a file, packed or plain, as it is sent.
fn fetch(address: &str, path: &str, packed: bool) -> Res<Vec<u8>> {
    let host = address.trim_start_matches("http://");
    let mut stream = TcpStream::connect(host)?;
    let accept = if packed { "br" } else { "identity" };
    write!(stream, "GET /{path} HTTP/1.1\r\nHost: {host}\r\nAccept-Encoding: {accept}\r\nConnection: close\r\n\r\n")?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer)?;
    let split = answer.windows(4).position(|w| w == b"\r\n\r\n").ok_or("no answer")?;
    let head = String::from_utf8_lossy(&answer[..split]).into_owned();
    must(head.starts_with("HTTP/1.1 200") && head.to_lowercase().contains("content-length"), || {
        format!("{path}: {head}")
    })?;
    Ok(answer[split + 4..].to_vec())
}
