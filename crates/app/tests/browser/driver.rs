//! Chromium's driver as a child process, and the two requests to it that the WebDriver client does not offer.
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use super::program::announced;

/// A running driver on a loopback port of its own. Ended, with its browser, when dropped.
pub struct Driver {
    child: Child,
    port: u16,
    session: Option<String>,
    profile: tempfile::TempDir,
}

impl Driver {
    /// Starts the driver and waits until it answers. A driver left to choose takes a free port of one protocol and
    /// gives up when somebody else holds the same number in the other; so it is started again, a few times.
    pub fn start() -> Driver {
        let mut refused = String::new();
        for _ in 0..5 {
            match Driver::try_start() {
                Ok(driver) => return driver,
                Err(why) if why.contains("port not available") => refused = why,
                Err(why) => panic!("the driver's port: {why}"),
            }
        }
        panic!("the driver found no port: {refused}")
    }

    fn try_start() -> Result<Driver, String> {
        let program = find("CHROMEDRIVER", &["chromedriver"]);
        let mut child = Command::new(&program)
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|e| format!("cannot start {}: {e}", program.display()))?;
        let said = child.stdout.take().expect("a piped standard output");
        let profile = tempfile::tempdir().expect("a folder for the browser's profile");
        let mut driver = Driver { child, port: 0, session: None, profile };
        let port = announced(said, |line| {
            let (_, port) = line.split_once("started successfully on port ")?;
            Some(port.trim_end_matches('.').to_string())
        })?;
        driver.port = port.parse().map_err(|e| format!("{port:?}: {e}"))?;
        Ok(driver)
    }

    /// Where a WebDriver client finds it.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// What a new session asks for: no window, no network chatter of the browser's own, console lines kept.
    pub fn capabilities(&self) -> serde_json::Map<String, Value> {
        let browser = find("CHROMIUM", &["chromium", "chromium-browser", "google-chrome"]);
        let profile = format!("--user-data-dir={}", self.profile.path().display());
        let wanted = json!({
            "goog:chromeOptions": {"binary": browser, "args": [
                "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                "--disable-dev-shm-usage", "--lang=en-GB", profile,
            ]},
            "goog:loggingPrefs": {"browser": "ALL"},
        });
        wanted.as_object().expect("an object").clone()
    }

    /// Remembers the session, so that the browser is closed even when a test panics.
    pub fn adopt(&mut self, session: String) {
        self.session = Some(session);
    }

    /// One command of the browser's own protocol, e.g. `Emulation.setDeviceMetricsOverride`.
    pub fn devtools(&self, command: &str, parameters: Value) -> Value {
        self.in_session("/goog/cdp/execute", json!({"cmd": command, "params": parameters}))
    }

    /// Console lines since the last call, each `{level, message}`.
    pub fn console(&self) -> Vec<Value> {
        self.in_session("/se/log", json!({"type": "browser"})).as_array().cloned().unwrap_or_default()
    }

    fn in_session(&self, path: &str, body: Value) -> Value {
        let session = self.session.as_deref().expect("a session");
        let answer = self.request("POST", &format!("/session/{session}{path}"), Some(body));
        answer.unwrap_or_else(|why| panic!("{path}: {why}"))
    }

    /// Plain blocking HTTP, because it must also work while a panic unwinds.
    fn request(&self, method: &str, path: &str, body: Option<Value>) -> Result<Value, String> {
        let body = body.map(|b| b.to_string()).unwrap_or_default();
        let mut line = TcpStream::connect(("127.0.0.1", self.port)).map_err(|e| e.to_string())?;
        line.set_read_timeout(Some(Duration::from_secs(20))).map_err(|e| e.to_string())?;
        write!(
            line,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            self.port,
            body.len()
        )
        .map_err(|e| e.to_string())?;
        let (ok, text) = answer(BufReader::new(line)).map_err(|e| e.to_string())?;
        let value: Value = serde_json::from_slice(&text).map_err(|e| e.to_string())?;
        if ok { Ok(value["value"].clone()) } else { Err(value.to_string()) }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // Ending the driver alone would leave its browser behind.
        if let Some(session) = &self.session {
            let _ = self.request("DELETE", &format!("/session/{session}"), None);
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Whether the request was granted, and the body. The driver leaves the line open, so the length decides where it ends.
fn answer(mut line: impl BufRead) -> std::io::Result<(bool, Vec<u8>)> {
    let (mut ok, mut length, mut head) = (false, 0, String::new());
    while line.read_line(&mut head)? > 2 {
        ok |= head.starts_with("HTTP/1.1 200");
        if let Some(n) = head.to_ascii_lowercase().strip_prefix("content-length:") {
            length = n.trim().parse().unwrap_or(0);
        }
        head.clear();
    }
    let mut body = vec![0; length];
    line.read_exact(&mut body)?;
    Ok((ok, body))
}

/// A program named by an environment variable, or the first of `names` on the search path.
fn find(variable: &str, names: &[&str]) -> PathBuf {
    if let Some(path) = std::env::var_os(variable) {
        return PathBuf::from(path);
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)))
        .find(|candidate| is_file(candidate))
        .unwrap_or_else(|| {
            panic!("`{}` is not installed: run ./check, which installs it, or set {variable}", names[0])
        })
}

fn is_file(path: &Path) -> bool {
    path.metadata().is_ok_and(|m| m.is_file())
}
