//! Facts to say: read, copied by keyboard, at a desk and on a phone, in light and dark.
use super::harness::{Browser, Screen};
use super::program::Program;
use serde_json::json;

const DESK: Screen = Screen(1440, 1700, false);
const PHONE: Screen = Screen(360, 1700, true);

#[tokio::test]
async fn facts_are_copied_by_keyboard_and_it_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = folder.path().join("demo.trueplate");
    trueplate::demo::write(&bench).expect("the demo bench");
    let program = Program::serve(&bench).expect("the program serves");
    let browser = Browser::start(DESK).await;
    browser.open(&format!("{}facts/U06", program.address)).await;
    browser.wait_for("Stated by the maker").await;
    // The first copy button takes the focus as Tab would give it, and Enter presses it.
    let wanted = browser
        .run("const b = document.querySelector('button.copy'); b.focus(); return b.dataset.text", vec![])
        .await;
    browser.keys("\u{e007}").await;
    browser.wait_for("Copied").await;
    let said =
        browser.run("return document.querySelector('p.unseen[role=status]').textContent", vec![]).await;
    assert_eq!(said, json!(format!("Copied: {}", wanted.as_str().expect("a text"))));
    let kept = browser.run("return document.activeElement.className", vec![]).await;
    assert_eq!(kept, "copy", "the focus stays where it was");
    let pasted = browser
        .run(
            "const t = document.body.appendChild(document.createElement('textarea')); t.id = 'paste'; \
             t.setAttribute('aria-label', 'paste'); t.focus(); return 1",
            vec![],
        )
        .await;
    assert_eq!(pasted, 1);
    browser.keys("\u{e009}v\u{e000}").await;
    let text = browser
        .run("const t = document.getElementById('paste'); const v = t.value; t.remove(); return v", vec![]);
    assert_eq!(text.await, wanted, "what was copied can be pasted");
    for (screen, size) in [(&DESK, "desk"), (&PHONE, "phone")] {
        browser.screen(screen);
        for scheme in ["light", "dark"] {
            browser.scheme(scheme);
            for (path, name) in [("facts/U06", "facts"), ("facts", "facts-list"), ("script", "script")] {
                browser.open(&format!("{}{path}", program.address)).await;
                browser.assert_fits().await;
                browser.assert_labelled().await;
                browser.assert_quiet();
                browser.picture(&format!("{name}-{size}-{scheme}")).await;
            }
        }
    }
}
