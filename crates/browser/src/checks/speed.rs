//! How heavy and how fast: figures for people, with bounds so wide that only something broken exceeds them.
//!
//! The browser slows down the page by a factor; its workers it leaves alone. What the engine computes in its worker is
//! therefore taken apart, and counted as often as the page is slowed down. What the store takes to write is not: it is
//! no matter of the processor.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::json;

use super::{FULL, Stage, must};
use crate::Res;
use crate::hand::Hand;
use crate::page::{PHONE, Page};
use crate::stage;
use crate::visit::Visit;

const SLOWER: f64 = 4.0;

/// Between a proposal and the reading that it asks for.
const TAKEN: Duration = Duration::from_secs(4);

/// How long the page is left alone after an entry: whoever looks on takes time from it.
const ALONE: Duration = Duration::from_millis(1500);

/// Notes when a job can be opened; after an entry, when the next step has been painted and when all has been, and what
/// the engine had computed by then.
const WATCH: &str = "
    window.halfsplitUsable = null;
    const look = () => {
        const open = document.getElementById('open');
        if (open && !open.disabled) { window.halfsplitUsable = [performance.now(), window.halfsplitComputed]; return; }
        requestAnimationFrame(look);
    };
    look();
    let ask;
    Object.defineProperty(globalThis, 'halfsplitAsk', {
        configurable: true,
        get: () => ask,
        set: (real) => {
            ask = async (question) => {
                const said = await real(question);
                if (said.includes('\"view\":')) window.halfsplitViews += 1;
                return said;
            };
        },
    });
    window.halfsplitViews = 0;
    window.halfsplitEntry = null;
    document.addEventListener('click', (e) => {
        if (!e.target.closest('.next, #open')) return;
        const began = performance.now(), computed = window.halfsplitComputed;
        const since = () => [performance.now() - began, window.halfsplitComputed - computed];
        const views = window.halfsplitViews;
        let there = false, first = null;
        window.halfsplitEntry = null;
        const painted = new MessageChannel();
        painted.port1.onmessage = () => { first = since(); };
        const look = () => {
            // What was told before a frame is laid out and painted in it, and has been at the next turn after that.
            if (!there && window.halfsplitViews > views) {
                there = true;
                painted.port2.postMessage(null);
            }
            if (first && document.querySelector('main').getAttribute('aria-busy') === 'false') {
                window.halfsplitEntry = [...first, ...since()];
            } else if (performance.now() - began < 60000) requestAnimationFrame(look);
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
    let mut visit = Visit::open_at_leisure(&page, Hand::Finger, Stage::hidden(FULL)?, ALONE).await?;
    let opened = entry(&page).await?.map_or(0.0, |[_, _, all, in_all]| slowed(all, in_all));
    let (mut next, mut whole, mut engine) = (Vec::new(), Vec::new(), Vec::new());
    let mut each = String::from("what was entered: next step, whole page, of it the engine (unslowed), milliseconds\n");
    loop {
        // Whoever takes a reading takes longer than this; meanwhile the worker thinks ahead.
        tokio::time::sleep(TAKEN).await;
        let entered = page.heading().await?;
        if !visit.step().await? {
            break;
        }
        page.wait(
            "the entry's time",
            "return window.halfsplitEntry !== null || document.getElementById('open') !== null",
        )
        .await?;
        if let Some([first, by_then, all, in_all]) = entry(&page).await? {
            each += &format!("{entered}: {:.0}, {:.0}, {by_then:.0}\n", slowed(first, by_then), slowed(all, in_all));
            next.push(slowed(first, by_then));
            whole.push(slowed(all, in_all));
            engine.push(by_then);
        }
    }
    page.close().await?;
    std::fs::write(stage.settings.artefacts.join("speed.txt"), each)?;
    must(next.len() > 3, || "no entry was timed".into())?;
    let entries = next.len();
    let [next, whole, engine] = [next, whole, engine].map(middle_and_most);
    must(first < 20_000.0 && next.1 < 20_000.0, || format!("first screen {first:.0} ms, update {:.0} ms", next.1))?;
    Ok(format!(
        "{:.0} kB brotli; slowed down {SLOWER:.0} times: usable after {first:.0} ms, from the store {again:.0} ms; \
         a job opened after {opened:.0} ms; {entries} entries, middle and most: next step after {:.0} and {:.0} ms, the whole page after {:.0} and {:.0} ms; \
         of it the engine computes {:.0} and {:.0} ms unslowed",
        weight as f64 / 1000.0,
        next.0,
        next.1,
        whole.0,
        whole.1,
        engine.0,
        engine.1
    ))
}

/// When the next step was painted after the last entry, and what the engine had computed by then; the same for all of the
/// page. None where nothing was entered.
async fn entry(page: &Page) -> Res<Option<[f64; 4]>> {
    let took = page.script("return window.halfsplitEntry", vec![]).await?;
    let took: Vec<f64> = (0..4).filter_map(|i| took[i].as_f64()).collect();
    Ok(took.try_into().ok())
}

/// A time in which the engine computed so long, with that counted as often as the page is slowed down.
fn slowed(milliseconds: f64, computed: f64) -> f64 {
    milliseconds + (SLOWER - 1.0) * computed
}

fn middle_and_most(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() - 1])
}

/// Milliseconds from asking for the address until a job can be opened, the engine's part counted as often as the page
/// is slowed down.
async fn usable(page: &Page, address: &str) -> Res<f64> {
    page.goto(address).await?;
    page.wait("a usable page", "return window.halfsplitUsable !== null").await?;
    let said = page.script("return window.halfsplitUsable", vec![]).await?;
    Ok(slowed(said[0].as_f64().unwrap_or(f64::MAX), said[1].as_f64().unwrap_or(0.0)))
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
