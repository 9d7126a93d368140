//! The page in the browser: finding things on it, reading it, and what the browser says about it.

use std::path::Path;
use std::time::{Duration, Instant};

use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use crate::Res;
use crate::command::Post;
use crate::stage::Driver;

/// Longest wait for anything.
const PATIENCE: Duration = Duration::from_secs(60);

/// A screen, in CSS pixels.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    pub width: u32,
    pub height: u32,
    /// Fingers instead of a mouse.
    pub touch: bool,
}

pub const PHONE: Screen = Screen { width: 390, height: 844, touch: true };
pub const TABLET: Screen = Screen { width: 820, height: 1180, touch: true };
pub const DESK: Screen = Screen { width: 1440, height: 900, touch: false };

/// A browser with one page.
pub struct Page {
    client: Client,
}

impl Page {
    /// Opens a browser that keeps what it keeps in `profile`; with `net_log` it writes down every request that is made by
    /// anything in it.
    pub async fn open(driver: &Driver, profile: &Path, screen: Screen, net_log: Option<&Path>) -> Res<Page> {
        let mut arguments = vec![
            "--headless=new".to_owned(),
            // Chromium refuses its sandbox to root; the page is our own.
            "--no-sandbox".to_owned(),
            "--disable-gpu".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            "--disable-dev-shm-usage".to_owned(),
            format!("--user-data-dir={}", profile.display()),
        ];
        if let Some(file) = net_log {
            arguments.push(format!("--log-net-log={}", file.display()));
        }
        let mut options = json!({ "args": arguments });
        if screen.touch {
            options["mobileEmulation"] = json!({
                "deviceMetrics": { "width": screen.width, "height": screen.height, "pixelRatio": 1.0, "touch": true, "mobile": true },
            });
        }
        let wanted = json!({
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": { "browser": "ALL" },
            "timeouts": { "script": 60_000 },
        });
        let wanted = wanted.as_object().cloned().unwrap_or_default();
        let client = ClientBuilder::new(HttpConnector::new()).capabilities(wanted).connect(&driver.address()).await?;
        let page = Page { client };
        page.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": NO_CHANCE })).await?;
        page.sized(screen).await?;
        Ok(page)
    }

    /// Ends the browser in good order.
    pub async fn close(self) -> Res<()> {
        Ok(self.client.close().await?)
    }

    pub fn client(&self) -> &Client {
        &self.client
    }

    /// Goes to an address and waits until the app is there.
    pub async fn goto(&self, address: &str) -> Res<()> {
        self.client.goto(address).await?;
        self.settled().await
    }

    pub async fn reload(&self) -> Res<()> {
        self.client.refresh().await?;
        self.settled().await
    }

    /// Runs a script in the page.
    pub async fn script(&self, script: &str, arguments: Vec<Value>) -> Res<Value> {
        Ok(self.client.execute(script, arguments).await?)
    }

    /// Runs the body of an async function in the page.
    pub async fn later(&self, body: &str, arguments: Vec<Value>) -> Res<Value> {
        let script = format!(
            "const told = arguments[arguments.length - 1]; \
             (async (...args) => {{ {body} }})(...Array.from(arguments).slice(0, -1)).then((v) => told({{ gave: v ?? null }}), (e) => told({{ failed: String(e) }}));"
        );
        let said = self.client.execute_async(&script, arguments).await?;
        match said["failed"].as_str() {
            Some(why) => Err(format!("a script failed in the page: {why}").into()),
            None => Ok(said["gave"].clone()),
        }
    }

    /// A command of the browser's own protocol for developers.
    pub async fn devtools(&self, command: &str, parameters: Value) -> Res<Value> {
        let post = Post { path: "goog/cdp/execute", body: json!({ "cmd": command, "params": parameters }) };
        Ok(self.client.issue_cmd(post).await?)
    }

    pub async fn sized(&self, screen: Screen) -> Res<()> {
        let metrics =
            json!({ "width": screen.width, "height": screen.height, "deviceScaleFactor": 1, "mobile": screen.touch });
        self.devtools("Emulation.setDeviceMetricsOverride", metrics).await?;
        Ok(())
    }

    /// What the browser complained of since it was last asked: errors and warnings of page, workers and network.
    pub async fn complaints(&self) -> Res<Vec<String>> {
        let log = self.client.issue_cmd(Post { path: "se/log", body: json!({ "type": "browser" }) }).await?;
        let entries = log.as_array().cloned().unwrap_or_default();
        Ok(entries
            .iter()
            .filter(|e| e["level"] == "SEVERE" || e["level"] == "WARNING")
            .map(|e| e["message"].as_str().unwrap_or_default().to_owned())
            .collect())
    }

    /// Waits until a script gives something that is true.
    pub async fn wait(&self, what: &str, script: &str) -> Res<()> {
        let began = Instant::now();
        loop {
            if self.script(script, vec![]).await? == true {
                return Ok(());
            }
            if began.elapsed() > PATIENCE {
                return Err(format!("waited a minute for {what}; the page shows: {}", self.text("body").await?).into());
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    /// Waits until the app is there and the engine has nothing more to do, two looks in a row: an entry can be followed
    /// by another.
    pub async fn settled(&self) -> Res<()> {
        let idle = "const m = document.querySelector('main'); \
                    return !!m && m.getAttribute('aria-busy') === 'false' && !document.getElementById('starting')";
        for _ in 0..2 {
            self.wait("the engine", idle).await?;
            tokio::time::sleep(Duration::from_millis(60)).await;
        }
        self.wait("the engine", idle).await
    }

    /// Waits until everything is kept for working without signal.
    pub async fn kept(&self) -> Res<()> {
        self.later("await navigator.serviceWorker.ready; return true", vec![]).await?;
        Ok(())
    }

    /// The text of the first element that matches; empty where there is none.
    pub async fn text(&self, selector: &str) -> Res<String> {
        let said =
            self.script("return document.querySelector(arguments[0])?.innerText ?? ''", vec![json!(selector)]).await?;
        Ok(said.as_str().unwrap_or_default().trim().to_owned())
    }

    /// The first heading.
    pub async fn heading(&self) -> Res<String> {
        self.text("h1").await
    }

    /// Whether something that can be seen matches, with this text if one is given.
    pub async fn shows(&self, selector: &str, text: Option<&str>) -> Res<bool> {
        Ok(self.script(FIND, vec![json!(selector), json!(text)]).await? == true)
    }

    /// Settles on an element, for the hand to go to.
    pub async fn aim(&self, selector: &str, text: Option<&str>) -> Res<()> {
        if self.shows(selector, text).await? {
            return Ok(());
        }
        Err(format!("there is no {selector} with the text {text:?}; the page shows: {}", self.text("body").await?)
            .into())
    }

    /// The job that is open, and its journal as the browser keeps it.
    pub async fn journal(&self) -> Res<String> {
        let text = self.later(JOURNAL, vec![]).await?;
        Ok(text.as_str().unwrap_or_default().to_owned())
    }
}

/// Chance that is the same every time: what a practice hides and what a job is called must not change from run to run.
/// Numerical Recipes' generator (Press et al., 3rd edition, section 7.1, "quick and dirty", from memory).
const NO_CHANCE: &str = "
    let drawn = 1;
    Math.random = () => (drawn = (Math.imul(drawn, 1664525) + 1013904223) >>> 0) / 4294967296;";

/// Finds what can be seen and remembers it as `halfsplitAim`.
const FIND: &str = "
    const [selector, text] = arguments;
    const plain = (e) => e.textContent.replace(/\\s+/g, ' ').trim();
    const found = [...document.querySelectorAll(selector)].find((e) => e.checkVisibility() && (text === null || plain(e) === text));
    window.halfsplitAim = found ?? null;
    return !!found;";

/// Reads the browser's store beside the app.
const JOURNAL: &str = "
    const of = (request) => new Promise((yes, no) => { request.onsuccess = () => yes(request.result); request.onerror = () => no(request.error); });
    const db = await of(indexedDB.open('halfsplit'));
    const job = (await of(db.transaction('small').objectStore('small').get('open')))?.value;
    if (!job) { db.close(); return ''; }
    const lines = await of(db.transaction('lines').objectStore('lines').getAll(IDBKeyRange.bound([job, 0], [job, Infinity])));
    db.close();
    return lines.map((l) => l.line + '\\n').join('');";
