//! The demo bench and the folder it publishes, walked at a desk and on a phone, in light and dark.
use super::harness::Browser;
use super::made::{DESK, PHONE, demo, published, trueplate};
use super::program::Program;

/// Screens of the app that a tester opens every day.
pub const SCREENS: &[(&str, &str)] = &[
    ("", "bench"),
    ("models", "stations"),
    ("model/U06", "station"),
    ("model/U03", "bad-station"),
    ("compare", "compare"),
    ("test/U06-A%2Fusable-energy%2F1", "test"),
    ("trail/U06/usable-energy?on.load=50%20%25", "trail"),
    ("answer?devices=router%2C%2012%20W&days=1", "answer"),
    ("script", "script"),
    ("facts", "facts-list"),
    ("facts/U06", "facts"),
    ("instruments", "instruments"),
    ("loads", "loads"),
    ("handbook/usable-energy", "handbook"),
    ("history", "history"),
    ("publish", "publish"),
    ("settings", "settings"),
    ("model/U06#out", "going-out"),
    ("questions", "questions"),
    ("question/cairn-energy", "question"),
    ("question/cairn-solar", "question-open"),
    ("question/wayfarer-night", "question-new"),
    ("retests", "retests"),
    ("corrections", "corrections"),
    ("model/U06/letter/u06-2026-05-13", "letter"),
    ("model/U10/letter/new", "letter-new"),
    ("model/U08/disclosure", "disclosure"),
    ("model/U10/video/cairn-1985-tested", "video"),
    ("specimen/U06-A", "sample"),
    ("captures/U09-A%2Fswitchover%2F1", "captures"),
];

#[tokio::test]
async fn the_demo_bench_at_both_widths() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = demo(folder.path());
    let program = Program::serve(&bench).expect("the program serves");
    let browser = Browser::start(DESK).await;
    for (screen, size) in [(&DESK, "desk"), (&PHONE, "phone")] {
        browser.screen(screen);
        for (path, name) in SCREENS {
            browser.open(&format!("{}{path}", program.address)).await;
            browser.look(&format!("demo-{size}-{name}")).await;
        }
    }
}

#[tokio::test]
async fn the_published_folder_opens_without_a_server() {
    let site = published();
    let browser = Browser::start(DESK).await;
    let at = |page: &str| format!("file://{}/{page}", site.display());
    let model = std::fs::read_dir(site.join("m")).expect("the stations' pages");
    let model =
        model.flatten().map(|e| e.file_name().to_string_lossy().into_owned()).find(|n| n.contains("fell"));
    let model = format!("m/{}", model.expect("the page of the Fell"));
    let pages = [
        ("index.html", "index"),
        (model.as_str(), "model"),
        ("all.html", "all"),
        ("run.html", "run"),
        ("how.html", "how"),
        ("corrections.html", "corrections"),
        ("questions.html", "questions"),
        ("about.html", "about"),
    ];
    for (screen, size) in [(&DESK, "desk"), (&PHONE, "phone")] {
        browser.screen(screen);
        for (page, name) in pages {
            browser.open(&at(page)).await;
            browser.look(&format!("site-{size}-{name}")).await;
        }
    }
}

#[tokio::test]
async fn a_script_gets_its_marks_and_devices_their_answer() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = demo(folder.path());
    let program = Program::serve(&bench).expect("the program serves");
    let browser = Browser::start(DESK).await;
    browser.open(&format!("{}script", program.address)).await;
    let script = "The Fell 1010 gives about 906 watt-hours at half load. It claims 1010 watts per hour.";
    browser.fill("Script or subtitles", script).await;
    browser.press("Check it").await;
    browser.wait_for("agrees: about 906 watt-hours").await;
    browser.wait_for("wrong unit: 1010 watts per hour").await;
    browser.look("demo-desk-script-checked").await;
    browser.screen(&PHONE);
    browser.look("demo-phone-script-checked").await;
    browser.open(&format!("{}answer", program.address)).await;
    browser.fill("Devices, one a line", "router, 12 W").await;
    browser.press("Ask the bench").await;
    browser.wait_for("switches off after 60 min: 12 W is below its 15 W threshold").await;
    browser.wait_for("Cheapest that suffices").await;
    browser.fill("Devices, one a line", "lamp, 60 Wh").await;
    browser.press("Ask the bench").await;
    browser.wait_for("here a power is asked").await;
    browser.look("demo-phone-answer-wrong").await;
}

/// A reading changed on the bench of the demo: the correction leads to the line of the script, the text to pin, the page
/// and the feed.
#[tokio::test]
async fn a_changed_reading_is_followed_to_everything_that_carries_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = demo(folder.path());
    let program = Program::serve(&bench).expect("the program serves");
    let browser = Browser::start(DESK).await;
    browser.open(&format!("{}test/U10-A%2Fmass%2F1/all", program.address)).await;
    browser.fill("scale reading", "24.55 kg").await;
    browser.fill("Why it is changed", "the scale stood on a mat").await;
    browser.press("Keep").await;
    browser.open(&format!("{}corrections", program.address)).await;
    browser.press("Scale reading: 23.55 kg → 24.55 kg").await;
    browser.wait_for("Gorsefell Cairn 1985: what comes out of it, 5:04: 23.55 kilograms").await;
    browser.wait_for("m/gorsefell-cairn-1985.html").await;
    browser.look("demo-desk-correction").await;
    browser.screen(&PHONE);
    browser.look("demo-phone-correction").await;
    browser.press("Copy").await;
    browser.wait_for("Cop").await;
    drop(program);
    trueplate(folder.path(), &["publish", "demo.trueplate", "--to", "site"]);
    let read = |page: &str| std::fs::read_to_string(folder.path().join("site").join(page)).expect("the page");
    let (page, feed) = (read("corrections.html"), read("corrections.atom"));
    assert!(page.contains("at 5:04") && page.contains("23.55 kilograms"), "the minute is not on the page");
    assert!(feed.contains("Scale reading: 23.55 kg → 24.55 kg. The scale stood on a mat."), "{feed}");
}
