//! What independent checkers say of the pages: axe-core on every screen and every kind of page, light and dark, at a desk
//! and on a phone; the Nu HTML Checker on every published page.
//!
//! `./check` installs both under `target/audit`, pinned there. Without them these tests fail, they do not skip.
use super::demo_walk::SCREENS;
use super::harness::Browser;
use super::made::{DESK, PHONE, demo, published};
use super::program::Program;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A file of a checker.
fn tool(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/audit/node_modules").join(name);
    assert!(path.is_file(), "{name} is not there: run ./check once, which installs it under target/audit");
    path
}

/// The rules: WCAG 2.2 A and AA, and what axe calls best practice.
const RUN: &str = "return axe.run(document, {resultTypes: ['violations']}).then(r => r.violations.map(v => \
    v.id + ': ' + v.help + ' | ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 160)).join(' | ')))";

/// What axe finds wrong in the page that is open, by day and by night.
async fn violations(browser: &Browser, axe: &str) -> Vec<String> {
    let mut all = Vec::new();
    for theme in ["light", "dark"] {
        browser.scheme(theme);
        browser.run(axe, vec![]).await;
        let found = browser.run(RUN, vec![]).await;
        let found: Vec<String> = serde_json::from_value(found).expect("a list of texts");
        all.extend(found.into_iter().map(|f| format!("{theme}: {f}")));
    }
    all
}

#[tokio::test]
async fn no_violation_on_any_screen() {
    let axe = std::fs::read_to_string(tool("axe-core/axe.min.js")).expect("axe");
    let folder = tempfile::tempdir().expect("a folder");
    let bench = demo(folder.path());
    let program = Program::serve(&bench).expect("the program serves");
    let browser = Browser::start(DESK).await;
    let mut found = Vec::new();
    for (screen, size) in [(&DESK, "desk"), (&PHONE, "phone")] {
        browser.screen(screen);
        for (path, name) in SCREENS {
            browser.open(&format!("{}{path}", program.address)).await;
            let each = violations(&browser, &axe).await;
            found.extend(each.into_iter().map(|v| format!("{name}, {size}, {v}")));
        }
    }
    assert!(found.is_empty(), "{} found:\n{}", found.len(), found.join("\n"));
}

/// One page of each kind: those that lie at the top, and the first of each folder.
fn kinds_of_page(site: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![site.to_path_buf()];
    while let Some(folder) = folders.pop() {
        let mut entries: Vec<PathBuf> =
            std::fs::read_dir(&folder).expect("a folder").map(|e| e.expect("an entry").path()).collect();
        entries.sort();
        folders.extend(entries.iter().filter(|p| p.is_dir()).cloned());
        let pages = entries.into_iter().filter(|p| p.extension().is_some_and(|e| e == "html"));
        found.extend(pages.take(if folder == site { usize::MAX } else { 2 }));
    }
    found
}

#[tokio::test]
async fn no_violation_on_any_published_kind_of_page() {
    let axe = std::fs::read_to_string(tool("axe-core/axe.min.js")).expect("axe");
    let pages = kinds_of_page(&published());
    assert!(pages.len() > 4, "{pages:?}");
    let browser = Browser::start(DESK).await;
    let mut found = Vec::new();
    for (screen, size) in [(&DESK, "desk"), (&PHONE, "phone")] {
        browser.screen(screen);
        for page in &pages {
            browser.open(&format!("file://{}", page.display())).await;
            let each = violations(&browser, &axe).await;
            found.extend(each.into_iter().map(|v| format!("{}, {size}, {v}", page.display())));
        }
    }
    assert!(found.is_empty(), "{} found:\n{}", found.len(), found.join("\n"));
}

#[test]
fn published_html_is_valid() {
    let checked = Command::new("java")
        .arg("-jar")
        .arg(tool("vnu-jar/build/dist/vnu.jar"))
        .args(["--format", "json", "--skip-non-html"])
        .arg(published())
        .output()
        .expect("java runs: ./check installs it");
    let said: Value = serde_json::from_slice(&checked.stderr).expect("the checker's JSON");
    let errors: Vec<String> = said["messages"]
        .as_array()
        .expect("messages")
        .iter()
        .filter(|m| m["type"] == "error")
        .map(|m| format!("{}:{}: {}", m["url"], m["lastLine"], m["message"]))
        .collect();
    assert!(errors.is_empty(), "{} errors:\n{}", errors.len(), errors.join("\n"));
}
