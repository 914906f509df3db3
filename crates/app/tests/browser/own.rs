//! The browser harness tried on itself: a page that is right must pass, and each wrong page must fail.
use axum::Router;
use axum::response::Html;
use axum::routing::get;
use std::path::Path;
use std::process::Command;

use super::harness::{Browser, DESK, PHONE};
use super::program::Program;

const RIGHT: &str = r#"<!doctype html><html lang="en"><head><meta charset="utf-8"><title>A page</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="icon" href="data:,">
<style>body{font:1.1rem sans-serif;margin:1rem} input,select,button{font:inherit;display:block;max-width:100%}</style></head>
<body><h1>Energy out of the outlet</h1><p id="width"></p>
<form><label>Energy <small>Wh</small><input name="energy" inputmode="decimal"></label>
<label for="cause">Cause of stop</label><select id="cause"><option>by hand</option><option>low battery</option></select>
<label>Started <input type="datetime-local" name="start"></label>
<label><input type="checkbox" name="rested"> Full and rested</label><button type="button">Keep</button></form><p id="kept"></p>
<script>
document.getElementById("width").textContent = `${innerWidth} px wide`;
document.querySelector("button").onclick = () => setTimeout(() => {
  const f = document.forms[0];
  document.getElementById("kept").textContent =
    `kept ${f.energy.value} Wh, ${f.cause.value}, ${f.start.value}, ${f.rested.checked ? "rested" : "warm"}`;
}, 200);
</script></body></html>"#;

const WRONG: &str = r#"<!doctype html><html lang="en"><head><meta charset="utf-8"><title>A page</title>
<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="icon" href="data:,"></head>
<body><div style="width:700px">wide</div><input name="nameless"><script>console.error("a fault of its own")</script></body></html>"#;

/// Serves both pages on a thread of its own, because some steps of the harness block.
fn pages() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a loopback port");
    listener.set_nonblocking(true).expect("a listener that waits its turn");
    let address = format!("http://{}", listener.local_addr().expect("its address"));
    std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        runtime.block_on(async {
            let router = Router::new()
                .route("/", get(async || Html(RIGHT)))
                .route("/wrong", get(async || Html(WRONG)));
            let listener = tokio::net::TcpListener::from_std(listener).expect("the same listener");
            axum::serve(listener, router).await.expect("pages served");
        });
    });
    address
}

#[tokio::test]
async fn a_page_is_filled_in_and_read_back_on_a_phone() {
    let browser = Browser::start(PHONE).await;
    browser.open(&pages()).await;
    browser.wait_for("360 px wide").await;
    browser.fill("Energy", "911").await;
    browser.fill("Cause of stop", "low battery").await;
    browser.fill("Started", "2026-06-30T14:03").await;
    browser.press("Full and rested").await;
    browser.press("Keep").await;
    browser.wait_for("kept 911 Wh, low battery, 2026-06-30T14:03, rested").await;
    browser.assert_fits().await;
    browser.assert_labelled().await;
    browser.assert_quiet();
    let picture = std::fs::read(browser.picture("harness-phone").await).expect("the picture");
    // PNG: eight bytes of signature, then the header chunk with width and height (ISO/IEC 15948, 5.2 and 11.2.2).
    assert_eq!(picture[..4], *b"\x89PNG");
    // 360 CSS pixels at two device pixels each.
    assert_eq!(picture[16..20], 720u32.to_be_bytes());
}

#[tokio::test]
async fn a_screen_can_be_changed_and_the_network_lost() {
    let browser = Browser::start(DESK).await;
    let address = pages();
    browser.open(&address).await;
    browser.wait_for("1280 px wide").await;
    browser.picture("harness-desk").await;
    browser.screen(&PHONE);
    browser.open(&address).await;
    browser.wait_for("360 px wide").await;
    let reach = "return fetch('/').then(() => 'there', () => 'gone')";
    browser.offline(true);
    assert_eq!(browser.run(reach, vec![]).await, "gone");
    browser.offline(false);
    assert_eq!(browser.run(reach, vec![]).await, "there");
}

#[tokio::test]
#[should_panic(expected = "wider than the screen")]
async fn a_page_wider_than_the_phone_is_caught() {
    wrong().await.assert_fits().await;
}

#[tokio::test]
#[should_panic(expected = "no label")]
async fn a_field_without_a_label_is_caught() {
    wrong().await.assert_labelled().await;
}

#[tokio::test]
#[should_panic(expected = "a fault of its own")]
async fn a_fault_on_the_console_is_caught() {
    wrong().await.assert_quiet();
}

async fn wrong() -> Browser {
    let browser = Browser::start(PHONE).await;
    browser.open(&format!("{}/wrong", pages())).await;
    browser
}

#[test]
fn a_program_says_where_it_serves() {
    let mut stand_in = Command::new("sh");
    stand_in.args(["-c", "echo opening >&2; echo serving http://127.0.0.1:9/ >&2; exec sleep 60"]);
    assert_eq!(Program::start(stand_in).map(|p| p.address.clone()), Ok("http://127.0.0.1:9/".to_string()));
}

#[test]
fn a_program_that_cannot_serve_is_reported() {
    let answer = Program::serve(Path::new("no-such-bench.trueplate")).map(|p| p.address.clone());
    assert!(answer.is_err_and(|said| said.contains("did not say where it listens")));
}
