//! A phone is let in by the link on the computer's screen, is put out in the middle of a test, and loses nothing.
use std::time::{Duration, Instant};

use super::first_thread::{begin, empty_bench, notebook, set_up, skip_to};
use super::harness::{Browser, DESK, PHONE, Screen};
use super::program::Program;

/// The link on the computer's screen.
async fn link(computer: &Browser) -> String {
    let text = computer.run("return document.getElementById('pair-link').textContent", vec![]).await;
    text.as_str().expect("the link").to_string()
}

#[tokio::test]
async fn a_phone_is_let_in_put_out_and_loses_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = empty_bench(folder.path());
    let program = Program::serve(&file).expect("the program serves");
    let computer = Browser::start(PHONE).await;
    set_up(&computer, &program.address).await;
    begin(&computer).await;
    computer.screen(&DESK);
    computer.open(&format!("{}phone", program.address)).await;
    computer.look("phone-shut").await;
    computer.press("Let a phone in").await;
    computer.wait_for("A phone may come in").await;
    computer.look("phone-open").await;
    computer.screen(&Screen(360, 740, false));
    computer.look("phone-open-narrow").await;
    computer.screen(&DESK);

    let phone = Browser::start(PHONE).await;
    let first = link(&computer).await;
    let bench = first.split("pair?k=").next().expect("an address").to_string();
    phone.open(&bench).await;
    phone.wait_for("This device is not let in").await;
    phone.forget_console();
    phone.look("phone-stranger").await;
    phone.open(&first).await;
    phone.wait_for("This device is let in").await;
    phone.look("phone-let-in").await;
    phone.press("To the bench").await;
    phone.wait_for("Running").await;
    let test = notebook(&file).tests[0].id.clone();
    phone.open(&format!("{bench}test/{test}")).await;
    phone.press("full: the charger stopped by itself").await;
    let arrived = |n: usize| notebook(&file).tests[0].entries.len() == n;
    let started = Instant::now();
    while !arrived(1) {
        assert!(started.elapsed().as_secs() < 10, "the first answer did not arrive");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }

    computer.open(&format!("{}phone", program.address)).await;
    computer.wait_for("One device was let in").await;
    computer.press("Put all devices out").await;
    computer.wait_for("A phone may come in").await;
    let second = link(&computer).await;
    assert_ne!(first, second);
    let counter = "What does the energy counter show?";
    skip_to(&phone, counter).await;
    phone.fill(counter, "0.12").await;
    phone.press("Keep this reading").await;
    phone.wait_for("1 answer waits on this device").await;
    phone.forget_console();
    assert!(arrived(1), "nothing was taken from a device that was put out");
    phone.open(&second).await;
    phone.wait_for("This device is let in").await;
    phone.open(&bench).await;
    let started = Instant::now();
    while phone.text().await.contains("on this device for the bench") || !arrived(2) {
        assert!(started.elapsed().as_secs() < 10, "what waited did not arrive");
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
}
