//! A real browser for the tests: headless Chromium, driven through its driver.
//!
//! `tests/run` installs both and sets `LEADSMAN_BROWSER=must`; without them a test says that it was skipped.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use fantoccini::wd::{Capabilities, WebDriverCompatibleCommand};
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

/// How long a page may take to come to what a test waits for, on a machine that is busy with other tests.
const PATIENCE: Duration = Duration::from_secs(30);

/// What the browser says where a network of the machine comes or goes while it waits for an answer, as it does when another
/// test lays one.
const INTERRUPTED: &str = "ERR_NETWORK_CHANGED";

/// A browser with a profile of its own, ended when dropped.
pub struct Browser {
    pub client: Client,
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

/// A command that only Chromium's driver has.
#[derive(Debug)]
struct Own {
    path: &'static str,
    body: Value,
}

impl WebDriverCompatibleCommand for Own {
    fn endpoint(&self, base: &url::Url, session: Option<&str>) -> Result<url::Url, url::ParseError> {
        base.join(&format!("session/{}/{}", session.unwrap_or_default(), self.path))
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.to_string()))
    }
}

/// Whether the machine was made ready for these tests, so that none may be skipped.
pub fn must() -> bool {
    std::env::var_os("LEADSMAN_BROWSER").is_some_and(|value| value == "must")
}

/// Whether there is a browser; where one must be, its absence fails the test.
pub fn is_there() -> bool {
    let there = ["chromium", "chromedriver"].iter().all(|program| {
        Command::new(program)
            .arg("--version")
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|status| status.success())
    });
    assert!(there || !must(), "tests/run has installed chromium and chromedriver, but they do not start");
    if !there {
        println!("skipped: there is no chromium with chromedriver here; tests/run installs them");
    }
    there
}

impl Browser {
    /// Starts a browser whose window is `width` wide.
    pub async fn start(width: u32) -> Self {
        Self::with(width, tempfile::tempdir().expect("a folder")).await
    }

    /// As [`Browser::start`], with a certificate that it trusts, as a device that was given it; `None`, with a printed
    /// line, where there is no certutil.
    pub async fn trusting(width: u32, certificate: &Path) -> Option<Self> {
        let profile = tempfile::tempdir().expect("a folder");
        let store = profile.path().join(".pki/nssdb");
        std::fs::create_dir_all(&store).expect("a folder");
        let store = format!("sql:{}", store.display());
        let certutil = |arguments: &[&str]| {
            let ran =
                Command::new("certutil").args(["-d", &store]).args(arguments).stdin(Stdio::null()).status();
            ran.is_ok_and(|status| status.success())
        };
        let file = certificate.to_str().expect("the tests' paths are text");
        let done = certutil(&["-N", "--empty-password"])
            && certutil(&["-A", "-n", "leadsman", "-t", "C,,", "-i", file]);
        if !done {
            assert!(!must(), "tests/run has installed certutil, but it takes no certificate");
            println!("skipped: there is no certutil here; tests/run installs it");
            return None;
        }
        Some(Self::with(width, profile).await)
    }

    async fn with(width: u32, profile: tempfile::TempDir) -> Self {
        let port = free_port();
        let driver = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .env("HOME", profile.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the driver starts");
        let mut arguments: Vec<String> = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-dev-shm-usage",
            "--no-proxy-server",
        ]
        .map(str::to_owned)
        .to_vec();
        arguments.push(format!("--user-data-dir={}", profile.path().join("profile").display()));
        let mut wanted = Capabilities::new();
        wanted.insert(
            "goog:chromeOptions".to_owned(),
            json!({
                "args": arguments,
                "mobileEmulation": { "deviceMetrics": { "width": width, "height": 800, "pixelRatio": 1.0, "touch": false } },
            }),
        );
        wanted.insert("goog:loggingPrefs".to_owned(), json!({ "browser": "ALL" }));
        let at = format!("http://127.0.0.1:{port}");
        let begun = Instant::now();
        let client = loop {
            let tried =
                ClientBuilder::new(HttpConnector::new()).capabilities(wanted.clone()).connect(&at).await;
            match tried {
                Ok(client) => break client,
                Err(error) if begun.elapsed() > PATIENCE => panic!("the browser does not start: {error}"),
                Err(_) => tokio::time::sleep(Duration::from_millis(100)).await,
            }
        };
        let session = client.session_id().await.expect("an answer").expect("a session");
        Self { client, driver, port, session, _profile: profile }
    }

    pub async fn go(&self, address: &str) {
        let begun = Instant::now();
        loop {
            match self.client.goto(address).await {
                Err(error) if error.to_string().contains(INTERRUPTED) && begun.elapsed() < PATIENCE => {}
                done => return done.expect("a page"),
            }
        }
    }

    /// Asks again for a page on whose way a network came or went.
    async fn go_on(&self) {
        let interrupted = format!("return document.body.innerText.includes('{INTERRUPTED}')");
        if self.client.execute(&interrupted, Vec::new()).await.ok() == Some(Value::Bool(true)) {
            // Where it fails the page still says so, and it is asked for once more.
            let _ = self.client.refresh().await;
        }
    }

    /// Runs a script in the page.
    pub async fn run(&self, script: &str) -> Value {
        self.client.execute(script, Vec::new()).await.unwrap_or_else(|error| panic!("{script}: {error}"))
    }

    /// The text of what a selector finds.
    pub async fn text(&self, selector: &str) -> String {
        let found = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(selector)).await;
        found.unwrap_or_else(|error| panic!("{selector}: {error}")).text().await.expect("text")
    }

    /// Clicks, as a person does: what the bar at the bottom covers is moved up first.
    pub async fn click(&self, selector: &str) {
        let found = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(selector)).await;
        let found = found.unwrap_or_else(|error| panic!("{selector}: {error}"));
        self.run(&format!("document.querySelector(\"{selector}\").scrollIntoView({{ block: 'center' }})"))
            .await;
        found.click().await.unwrap_or_else(|error| panic!("{selector}: {error}"));
    }

    pub async fn type_in(&self, selector: &str, text: &str) {
        let found = self.client.wait().at_most(PATIENCE).for_element(Locator::Css(selector)).await;
        found.unwrap_or_else(|error| panic!("{selector}: {error}")).send_keys(text).await.expect("keys");
    }

    /// Waits until a script gives true.
    #[track_caller]
    pub fn until(&self, script: &str) -> impl Future<Output = ()> {
        let script = format!("return Boolean({script})");
        async move {
            let begun = Instant::now();
            while self.client.execute(&script, Vec::new()).await.ok() != Some(Value::Bool(true)) {
                if begun.elapsed() > PATIENCE {
                    let page = "return [location.href, document.readyState, document.body.innerText, \
                                ...[...document.querySelectorAll('textarea')].map((e) => e.value)]";
                    let page = self.run(page).await;
                    panic!("waited in vain for {script}; the page: {page}");
                }
                self.go_on().await;
                tokio::time::sleep(Duration::from_millis(100)).await;
            }
        }
    }

    /// What the console has that is an error or a warning, since it was last asked.
    pub async fn complaints(&self) -> Vec<String> {
        let log = self.client.issue_cmd(Own { path: "se/log", body: json!({ "type": "browser" }) }).await;
        let log = log.expect("a log");
        log.as_array()
            .into_iter()
            .flatten()
            .filter(|line| line["level"] == "SEVERE" || line["level"] == "WARNING")
            .map(|line| line["message"].to_string())
            .collect()
    }

    /// Asks the browser itself, by its own protocol.
    pub async fn devtools(&self, command: &str, params: Value) -> Value {
        // A browser that has much to do beside gives up printing; it is asked again then.
        const TIMES: usize = 4;
        let mut asked = 1;
        loop {
            let body = json!({ "cmd": command, "params": params });
            match self.client.issue_cmd(Own { path: "goog/cdp/execute", body }).await {
                Err(error) if asked < TIMES && error.to_string().contains("Printing failed") => {
                    asked += 1;
                    tokio::time::sleep(Duration::from_secs(2)).await;
                }
                found => return found.expect("the driver knows it"),
            }
        }
    }

    /// The pages that the page fills on paper of a size in centimetres.
    pub async fn printed_pages(&self, width: f64, height: f64) -> usize {
        let inches = |cm: f64| cm / 2.54;
        let wish = json!({
            "paperWidth": inches(width), "paperHeight": inches(height), "preferCSSPageSize": false,
            "printBackground": false,
        });
        let pdf = self.devtools("Page.printToPDF", wish).await;
        let pdf = base64(pdf["data"].as_str().expect("a PDF"));
        // Skia, which writes the file, has one plain dictionary a page: "/Type /Page" without an s behind it.
        let text = String::from_utf8_lossy(&pdf);
        text.matches("/Type /Page").count() - text.matches("/Type /Pages").count()
    }
}

/// Decodes base 64 (RFC 4648, section 4), as the driver gives files.
fn base64(text: &str) -> Vec<u8> {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = Vec::new();
    let (mut bits, mut held) = (0_u32, 0);
    for sign in text.bytes().filter(|sign| *sign != b'=') {
        let value = SIGNS.iter().position(|known| *known == sign).expect("base 64") as u32;
        bits = bits << 6 | value;
        held += 6;
        if held >= 8 {
            held -= 8;
            out.push((bits >> held) as u8);
            bits &= (1 << held) - 1;
        }
    }
    out
}

impl Drop for Browser {
    fn drop(&mut self) {
        // A session that is deleted (WebDriver, section 8.2) takes its browser with it; one whose driver is only ended
        // may leave it running.
        if let Ok(mut driver) = TcpStream::connect(("127.0.0.1", self.port)) {
            driver.set_read_timeout(Some(PATIENCE)).ok();
            let line = format!("DELETE /session/{} HTTP/1.1", self.session);
            let asked =
                write!(driver, "{line}\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", self.port);
            asked.and_then(|()| driver.read(&mut [0; 64])).ok();
        }
        let id = self.driver.id().to_string();
        Command::new("kill").args(["-TERM", &id]).status().ok();
        self.driver.wait().ok();
    }
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").and_then(|socket| socket.local_addr()).expect("a free port").port()
}
