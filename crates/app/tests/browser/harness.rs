//! What a person does in a browser: open, read, fill in, press, look. Each step waits for the page to be ready for it.
use fantoccini::elements::{Element, ElementRef};
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::driver::Driver;

/// How long a page may take to show what it is asked for.
const PATIENCE: Duration = Duration::from_secs(10);

/// A screen: width and height in CSS pixels, and whether it is a phone.
pub struct Screen(pub u32, pub u32, pub bool);
/// A small phone held upright.
pub const PHONE: Screen = Screen(360, 740, true);
/// A laptop.
pub const DESK: Screen = Screen(1280, 860, false);

/// The Tab key (WebDriver standard, "Keyboard actions").
pub const TAB: &str = "\u{e004}";
/// The Enter key.
pub const ENTER: &str = "\u{e007}";

/// A browser of one's own, closed when dropped.
pub struct Browser {
    client: Client,
    driver: Driver,
}

impl Browser {
    /// A fresh browser with the given screen.
    pub async fn start(screen: Screen) -> Browser {
        let mut driver = Driver::start();
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(driver.capabilities())
            .connect(&driver.address())
            .await
            .expect("a browser session");
        driver.adopt(client.session_id().await.expect("an answer").expect("a session"));
        let browser = Browser { client, driver };
        browser.screen(&screen);
        browser
    }

    /// Changes the screen. A window cannot be as narrow as a phone, so the screen is emulated.
    pub fn screen(&self, Screen(width, height, phone): &Screen) {
        let scale = if *phone { 2 } else { 1 };
        self.driver.devtools(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "screenWidth": width, "screenHeight": height, "deviceScaleFactor": scale,
                   "mobile": phone}),
        );
        self.driver.devtools("Emulation.setTouchEmulationEnabled", json!({"enabled": phone}));
    }

    /// Light or dark, as the person's system asks for it.
    pub fn scheme(&self, scheme: &str) {
        let features = json!([
            {"name": "prefers-color-scheme", "value": scheme},
            // A colour halfway through a transition would be looked at as it stands.
            {"name": "prefers-reduced-motion", "value": "reduce"},
        ]);
        self.driver.devtools("Emulation.setEmulatedMedia", json!({"features": features}));
    }

    /// Takes the network away, or gives it back: a phone that leaves the Wi-Fi and returns.
    pub fn offline(&self, offline: bool) {
        self.driver.devtools("Network.enable", json!({}));
        self.driver.devtools(
            "Network.emulateNetworkConditions",
            json!({"offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}),
        );
    }

    /// Lets scripts of pages opened from now on run, or not.
    pub fn scripts(&self, run: bool) {
        self.driver.devtools("Emulation.setScriptExecutionDisabled", json!({"value": !run}));
    }

    /// What the person has set for all pages: dark or light.
    pub fn dark(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        let features = json!([{"name": "prefers-color-scheme", "value": value}]);
        self.driver.devtools("Emulation.setEmulatedMedia", json!({"features": features}));
    }

    /// Opens an address and waits until it has loaded.
    pub async fn open(&self, address: &str) {
        self.client.goto(address).await.unwrap_or_else(|e| panic!("{address}: {e}"));
    }

    /// The text a person can see: whether a line may break at a space is not seen.
    pub async fn text(&self) -> String {
        let text = self.run("return document.body.innerText", vec![]).await;
        text.as_str().unwrap_or_default().replace('\u{a0}', " ")
    }

    /// Waits until `wanted` can be read on the page.
    pub async fn wait_for(&self, wanted: &str) {
        let started = Instant::now();
        while !self.text().await.contains(wanted) {
            let late = started.elapsed() > PATIENCE;
            assert!(!late, "{wanted:?} did not appear; the page says:\n{}", self.text().await);
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Answers the field with this label: types, picks the option with that text, or attaches the file at that path.
    pub async fn fill(&self, label: &str, answer: &str) {
        let field = self.wait_for_element("field", label).await;
        let kind = self.run("return arguments[0].type || ''", vec![reference(&field)]).await;
        let kind = kind.as_str().unwrap_or_default();
        match kind {
            "select-one" => field.select_by_label(answer).await,
            "file" => field.send_keys(answer).await,
            // The keys these accept depend on the machine's language; the value they hold does not.
            "date" | "time" | "datetime-local" | "range" | "color" => {
                self.run(include_str!("set_value.js"), vec![reference(&field), json!(answer)]).await;
                Ok(())
            }
            _ => match field.clear().await {
                Ok(()) => field.send_keys(answer).await,
                Err(e) => Err(e),
            },
        }
        .unwrap_or_else(|e| panic!("field {label:?} ({kind}): {e}"));
    }

    /// Presses the button, link, tick box or fold with this text.
    pub async fn press(&self, text: &str) {
        let element = self.wait_for_element("button", text).await;
        element.click().await.unwrap_or_else(|e| panic!("button {text:?}: {e}"));
    }

    /// Presses keys where the keyboard is: text, or one of the constants below.
    pub async fn keys(&self, keys: &str) {
        let element = self.client.active_element().await.expect("an element with the keyboard");
        element.send_keys(keys).await.unwrap_or_else(|e| panic!("keys {keys:?}: {e}"));
    }

    /// Goes on with the Tab key until the keyboard is where this text names it.
    pub async fn tab_to(&self, text: &str) {
        let mut seen = Vec::new();
        for _ in 0..150 {
            self.keys(TAB).await;
            let name = self.seen("focused", "").await.as_str().unwrap_or_default().to_string();
            if name.starts_with(text) {
                return;
            }
            seen.push(name);
        }
        panic!("the keyboard does not get to {text:?}; it went {seen:?}");
    }

    /// Saves what is on the screen as `target/screens/NAME.png`, to be looked at, and says where.
    pub async fn picture(&self, name: &str) -> PathBuf {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).with_file_name("screens");
        std::fs::create_dir_all(&folder).expect("a folder for pictures");
        let file = folder.join(format!("{name}.png"));
        let picture = self.client.screenshot().await.expect("a picture");
        std::fs::write(&file, picture).expect("the picture kept");
        file
    }

    /// Looks at the screen as a picky person would: nothing wider than it, everything named, nothing in the console. A
    /// picture of it is kept.
    pub async fn look(&self, name: &str) {
        self.assert_fits().await;
        self.assert_labelled().await;
        self.assert_quiet();
        self.picture(name).await;
    }

    /// Fails when the page has written a warning or an error to the console since the last look.
    pub fn assert_quiet(&self) {
        let loud: Vec<Value> = self.driver.console();
        let loud: Vec<_> = loud
            .iter()
            .filter(|l| l["level"] == "SEVERE" || l["level"] == "WARNING")
            .map(|l| &l["message"])
            .collect();
        assert!(loud.is_empty(), "the console says: {loud:#?}");
    }

    /// Lets go of what the console said so far, after a step that is meant to be refused.
    pub fn forget_console(&self) {
        drop(self.driver.console());
    }

    /// Fails when the page is wider than the screen, and names what sticks out.
    pub async fn assert_fits(&self) {
        let wide = self.list("too_wide").await;
        assert!(wide.is_empty(), "wider than the screen: {wide:#?}");
    }

    /// Fails when something that takes the keyboard has no name a screen reader could say.
    pub async fn assert_labelled(&self) {
        let nameless = self.list("nameless").await;
        assert!(nameless.is_empty(), "no label: {nameless:#?}");
    }

    /// Runs a script in the page; a reader of last resort for what a person would see otherwise.
    pub async fn run(&self, script: &str, arguments: Vec<Value>) -> Value {
        self.client.execute(script, arguments).await.unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    async fn list(&self, what: &str) -> Vec<String> {
        let found = self.seen(what, "").await;
        serde_json::from_value(found).expect("a list of texts")
    }

    async fn seen(&self, what: &str, text: &str) -> Value {
        self.run(include_str!("look.js"), vec![json!(what), json!(text)]).await
    }

    async fn wait_for_element(&self, what: &str, text: &str) -> Element {
        let started = Instant::now();
        loop {
            let found = self.seen(what, text).await;
            if let Some(id) = found.as_object().and_then(|o| o.values().next()?.as_str()) {
                return Element::from_element_id(self.client.clone(), ElementRef::from(id.to_string()));
            }
            let late = started.elapsed() > PATIENCE;
            assert!(!late, "no {what} {text:?}; there are {found}; the page says:\n{}", self.text().await);
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }
}

/// An element as an argument of a script (its key is fixed by the WebDriver standard, section "Elements").
fn reference(element: &Element) -> Value {
    json!({"element-6066-11e4-a52e-4f735466cecf": &*element.element_id()})
}
