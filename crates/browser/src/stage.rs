//! What has to stand before a check can begin: the program that serves, the driver, a folder for the browser.

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::Res;

/// A process that ends with its owner.
struct Owned(Child);

impl Drop for Owned {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// `halfsplit serve` on a port that stays the same when it is stopped and started again.
pub struct Served {
    program: PathBuf,
    port: u16,
    running: Option<Owned>,
}

impl Served {
    /// Starts the program, which must have the app in it.
    pub fn start(program: &Path) -> Res<Served> {
        let mut served = Served { program: program.to_owned(), port: free_port()?, running: None };
        served.again()?;
        Ok(served)
    }

    /// Starts it again at the address it had.
    pub fn again(&mut self) -> Res<()> {
        let mut child = Command::new(&self.program)
            .args(["serve", "--port", &self.port.to_string()])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|e| format!("cannot start {}: {e}", self.program.display()))?;
        let mut said = String::new();
        if let Some(out) = child.stdout.take() {
            BufReader::new(out).read_line(&mut said)?;
        }
        self.running = Some(Owned(child));
        if !said.contains(&self.address()) {
            return Err(format!(
                "{} does not serve the app: build it with cargo build --release -p halfsplit --features app",
                self.program.display()
            )
            .into());
        }
        Ok(())
    }

    /// Where it is served.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// Stops it as Ctrl-C does, and sees that it ends by itself.
    pub fn stop(&mut self) -> Res<()> {
        let Some(mut running) = self.running.take() else { return Ok(()) };
        signal("-INT", running.0.id())?;
        let began = Instant::now();
        while began.elapsed() < Duration::from_secs(10) {
            if running.0.try_wait()?.is_some() {
                return Ok(());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Err("halfsplit serve did not end after an interrupt".into())
    }
}

/// The browser's driver.
pub struct Driver {
    port: u16,
    _running: Owned,
}

impl Driver {
    /// Starts it.
    pub fn start() -> Res<Driver> {
        let port = free_port()?;
        let child = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|e| format!("cannot start chromedriver (Debian: chromium-driver): {e}"))?;
        let driver = Driver { port, _running: Owned(child) };
        let began = Instant::now();
        while std::net::TcpStream::connect(("127.0.0.1", port)).is_err() {
            if began.elapsed() > Duration::from_secs(20) {
                return Err("chromedriver does not answer".into());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(driver)
    }

    /// Where it listens.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }
}

/// A folder for what a browser keeps, new and its own.
pub fn profile(of: &str) -> Res<PathBuf> {
    let folder = std::env::temp_dir().join(format!("halfsplit-browser-{}-{of}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder)?;
    Ok(folder)
}

/// Ends, without a chance to put anything in order, every process that was started with this folder.
pub fn crash(profile: &Path) -> Res<usize> {
    let mark = format!("--user-data-dir={}", profile.display());
    let mut ended = 0;
    for entry in fs::read_dir("/proc")?.flatten() {
        let Some(id) = entry.file_name().to_str().and_then(|n| n.parse::<u32>().ok()) else { continue };
        let Ok(line) = fs::read(entry.path().join("cmdline")) else { continue };
        // Arguments end in zero bytes; Chromium's children write theirs with blanks.
        if line.split(|b| *b == 0 || *b == b' ').any(|a| a == mark.as_bytes()) && signal("-KILL", id).is_ok() {
            ended += 1;
        }
    }
    if ended == 0 { Err("there was no browser to end".into()) } else { Ok(ended) }
}

fn signal(which: &str, id: u32) -> Res<()> {
    let done = Command::new("kill").args([which, &id.to_string()]).stderr(Stdio::null()).status()?;
    if done.success() { Ok(()) } else { Err(format!("kill {which} {id} failed").into()) }
}

fn free_port() -> Res<u16> {
    Ok(TcpListener::bind(("127.0.0.1", 0))?.local_addr()?.port())
}
