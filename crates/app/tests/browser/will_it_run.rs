//! Will it run yours, on the published page: the same answers as on the bench, from a folder and from a server; a table
//! where scripts do not run; stations put in order and chosen.
use super::harness::{Browser, Screen};
use super::made::{DESK, PHONE, published};
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::time::Instant;
use trueplate_core::answer::{Published, Reply, Sheet, Typed};

/// Serves a folder on a loopback port until the tests end.
fn served(folder: PathBuf) -> String {
    let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a port");
    let address = format!("http://{}", listener.local_addr().expect("its address"));
    std::thread::spawn(move || {
        for stream in listener.incoming().flatten() {
            let folder = folder.clone();
            std::thread::spawn(move || {
                let mut asked = String::new();
                let mut reader = BufReader::new(&stream);
                let _closed = reader.read_line(&mut asked);
                let path = asked.split(' ').nth(1).unwrap_or("/").split(['?', '#']).next().unwrap_or("/");
                let kind = match path.rsplit('.').next() {
                    Some("html") => "text/html",
                    Some("js") => "text/javascript",
                    Some("css") => "text/css",
                    _ => "application/octet-stream",
                };
                let body = std::fs::read(folder.join(path.trim_start_matches('/'))).unwrap_or_default();
                let mut out = &stream;
                let head = format!(
                    "HTTP/1.1 200 OK\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
                    body.len()
                );
                let _gone = out.write_all(head.as_bytes()).and_then(|()| out.write_all(&body));
            });
        }
    });
    address
}

fn typed(devices: &[&str], time: &str, solar: &str) -> Typed {
    Typed {
        devices: devices.iter().map(|d| d.to_string()).collect(),
        time: time.into(),
        solar: solar.into(),
        ..Typed::default()
    }
}

/// Questions that touch every limit, energy, sun, switch-off and the words for each.
fn questions() -> Vec<Typed> {
    vec![
        typed(&["router, 12 W"], "", ""),
        typed(&["router, 20 W", "laptop, 60 W, 8 h/day"], "36 h", ""),
        typed(&["fridge, 85 W, start 900 W, avg 38 W"], "3", "200 W"),
        typed(&["kettle, 1.4 kW, 15 min/day", "fridge-freezer"], "2 d", "1 kW"),
        typed(&["saw, 1500 W, start 4500 W, 15 min/day"], "", ""),
        typed(&["PC, 250 W, needs 15 ms, needs sine, 4 h/day", "lamp, 8 W, 5 h/day"], "", ""),
        typed(&["heater, 2200 W, 30 min/day, 120 V"], "", ""),
        typed(&["CPAP with heating"], "2", ""),
        typed(&["oven, 9 kW"], "", ""),
        Typed { switch_off_disabled: true, ..typed(&["clock, 3 W"], "30", "") },
        Typed { outlet_stays_on: false, ..typed(&["television, 85 W, 4 h/day"], "4", "100") },
        typed(&["tools, 700 W, 3 h/day", "charger, 120 W, 2 h/day"], "1", ""),
    ]
}

fn address(base: &str, typed: &Typed) -> String {
    let plain = |text: &str| text.replace('%', "%25").replace('&', "%26").replace(' ', "%20");
    let mut all: Vec<String> = typed.devices.iter().map(|d| format!("device={}", plain(d))).collect();
    all.push(format!("time={}&solar={}", plain(&typed.time), plain(&typed.solar)));
    all.extend(typed.switch_off_disabled.then(|| "disabled=1".into()));
    all.extend((!typed.outlet_stays_on).then(|| "off=1".into()));
    // A new query each time, so that the page is loaded anew and not only its place changed.
    format!("{base}/run.html?{}#{}", typed.devices.len() * 1000 + typed.time.len(), all.join("&"))
}

/// What stands in the answer table: name, word, hours, why.
const ROWS: &str = "return [...document.querySelectorAll('#said table tbody tr')].map((r) => \
    [0, 1, 2, 3].map((i) => r.cells[i].querySelector('a, bdi, b, span')?.textContent ?? r.cells[i].firstChild?.textContent ?? ''))";
const WHY: &str = "return [...document.querySelectorAll('#said table tbody tr')].map((r) => r.cells[3].firstChild?.textContent ?? '')";

async fn rows(browser: &Browser) -> Vec<[String; 4]> {
    let (cells, why) = (browser.run(ROWS, vec![]).await, browser.run(WHY, vec![]).await);
    let text = |v: &Value| v.as_str().unwrap_or_default().to_string();
    let all = cells.as_array().cloned().unwrap_or_default();
    all.iter().enumerate().map(|(i, r)| [text(&r[0]), text(&r[1]), text(&r[2]), text(&why[i])]).collect()
}

fn expected(sheet: &Sheet) -> Vec<[String; 4]> {
    sheet.rows.iter().map(|r| [r.name.clone(), r.word.into(), r.hours.clone(), r.why.clone()]).collect()
}

/// What the page carries, read by the same core natively.
fn carried(site: &Path) -> Published {
    let html = std::fs::read_to_string(site.join("run.html")).expect("the page");
    let data =
        html.split_once("id=\"grounds\">").expect("its data").1.split_once("</script>").expect("an end").0;
    let json: Value = serde_json::from_str(data).expect("JSON");
    serde_json::from_value(json["published"].clone()).expect("what was published")
}

#[tokio::test]
async fn a_page_answers_as_the_bench_does_from_a_folder_and_from_a_server() {
    let site = published();
    let native = carried(&site);
    let browser = Browser::start(DESK).await;
    let mut words = std::collections::BTreeSet::new();
    for base in [format!("file://{}", site.display()), served(site.clone())] {
        for question in questions() {
            browser.open("about:blank").await;
            browser.open(&address(&base, &question)).await;
            browser.wait_for("stations run all of it").await;
            let Reply::Answers(sheet) = native.ask(&question) else { panic!("{question:?}") };
            assert_eq!(rows(&browser).await, expected(&sheet), "{base}: {question:?}");
            words.extend(sheet.rows.iter().map(|r| r.word));
            let text = browser.text().await;
            assert!(sheet.caution.is_empty() || text.contains(&sheet.caution));
            for choice in &sheet.choices {
                assert!(text.contains(&format!("{} · {}", choice.price, choice.why)), "{}", choice.why);
            }
        }
    }
    assert!(words.len() >= 3, "the questions tell too little apart: {words:?}");
    browser.assert_quiet();
}

#[tokio::test]
async fn somebody_asks_on_the_published_page() {
    let site = published();
    let browser = Browser::start(DESK).await;
    browser.open(&format!("file://{}/run.html", site.display())).await;
    browser.look("run-desk-empty").await;
    let began = Instant::now();
    browser.press("fridge-freezer").await;
    browser.wait_for("stations run all of it").await;
    println!("time from the first press to the first answer: {:.0?}", began.elapsed());
    browser.press("laptop").await;
    browser.wait_for("Taken for granted").await;
    browser.look("run-desk-answered").await;
    browser.screen(&PHONE);
    browser.look("run-phone-answered").await;
    browser.dark(true);
    browser.look("run-phone-dark").await;
    browser.screen(&DESK);
    browser.look("run-desk-dark").await;
    browser.dark(false);
    // What is not understood is named and stays; what was removed comes back.
    browser.press("Add a device of your own").await;
    browser
        .run(
            "const i = document.activeElement; i.value = 'lamp, 60 Wh'; i.dispatchEvent(new Event('input'))",
            vec![],
        )
        .await;
    browser.wait_for("Not understood: lamp, 60 Wh").await;
    browser.look("run-desk-misread").await;
    browser.run("[...document.querySelectorAll('#lines button')].pop().click()", vec![]).await;
    browser.wait_for("Put back: lamp").await;
    browser.wait_for("stations run all of it").await;
    browser.press("Put back: lamp").await;
    browser.wait_for("Not understood: lamp, 60 Wh").await;
    // The question stands in the address: a reload asks again.
    let address = browser.run("return location.href", vec![]).await;
    browser.open("about:blank").await;
    browser.open(address.as_str().expect("an address")).await;
    browser.wait_for("Not understood: lamp, 60 Wh").await;
    browser.assert_quiet();
}

#[tokio::test]
async fn without_scripts_the_table_stands_and_with_them_stations_are_ordered_and_chosen() {
    let site = published();
    let browser = Browser::start(DESK).await;
    let at = |page: &str| format!("file://{}/{page}", site.display());
    browser.scripts(false);
    browser.open(&at("run.html")).await;
    browser.picture("run-desk-no-scripts").await;
    browser.scripts(true);
    browser.open(&at("run.html")).await;
    browser.wait_for("Runtimes at steady loads").await;
    browser.open(&at("index.html")).await;
    let column = "return [...document.querySelectorAll('table.sorts tbody tr')].filter((r) => !r.hidden).map((r) => \
        [r.dataset.id, r.cells[arguments[0]].dataset.v ?? null])";
    let first = browser.run(column, vec![json!(2)]).await;
    browser.run("document.querySelectorAll('th .sort')[4].click()", vec![]).await;
    let ordered = browser.run(column, vec![json!(5)]).await;
    let values: Vec<Option<f64>> =
        ordered.as_array().expect("rows").iter().map(|r| r[1].as_str().map(|v| v.parse().unwrap())).collect();
    let known: Vec<f64> = values.iter().map_while(|v| *v).collect();
    // The price per watt-hour: less is better, so the first press puts the least first and what is not known last.
    assert!(known.len() > 3 && known.is_sorted(), "{values:?}");
    assert!(values[known.len()..].iter().all(Option::is_none), "{values:?}");
    let sorted =
        browser.run("return document.querySelector('th[aria-sort]').getAttribute('aria-sort')", vec![]).await;
    assert_eq!(sorted, "ascending");
    browser.look("index-desk-ordered").await;
    browser.run("document.querySelectorAll('th .sort')[1].click()", vec![]).await;
    assert_eq!(
        browser.run(column, vec![json!(2)]).await,
        first,
        "the first order is by energy, largest first"
    );
    browser.look("index-desk-ties").await;
    // A condition leaves out what was not tested, and says so: a missing figure is not zero.
    browser.fill("whose", "Output held to empty, start cold").await;
    browser.fill("value", "1500").await;
    browser.wait_for("not tested there, so not known to fit").await;
    let kept = browser.run(column, vec![json!(3)]).await;
    let kept = kept.as_array().expect("rows");
    let fits = |r: &Value| r[1].as_str().is_some_and(|v| v.parse::<f64>().expect("a number") >= 1500.0);
    assert!(kept.len() > 2 && kept.iter().all(fits), "{kept:?}");
    browser.fill("whose", "any").await;
    browser.fill("Only stations named", "tarnhobble").await;
    browser.wait_for("1 of ").await;
    browser.screen(&PHONE);
    browser.look("index-phone-chosen").await;
    browser.open(&at("index.html?phone")).await;
    browser.wait_for("Order and choose").await;
    browser.look("index-phone-folded").await;
}

/// The ring is 3 px wide and 1 px away: it reaches 4 px beyond the button on each side.
#[tokio::test]
async fn the_ring_around_a_head_that_has_the_focus_is_whole() {
    let site = published();
    let browser = Browser::start(Screen(900, 700, false)).await;
    browser.open(&format!("file://{}/index.html", site.display())).await;
    browser.wait_for("Only stations named").await;
    let heads = browser.run("return document.querySelectorAll('th .sort').length", vec![]).await;
    for at in 1..heads.as_u64().expect("a number") {
        let cut = "const b = document.querySelectorAll('th .sort')[arguments[0]]; b.focus(); \
            const r = b.getBoundingClientRect(), s = b.closest('.scroll').getBoundingClientRect(); \
            const o = getComputedStyle(b), reach = parseFloat(o.outlineWidth) + parseFloat(o.outlineOffset); \
            return [reach, s.right - r.right - reach, r.left - reach - s.left]";
        let said = browser.run(cut, vec![json!(at)]).await;
        let number = |i: usize| said[i].as_f64().expect("a number");
        assert_eq!(number(0), 4.0, "head {at}: {said}");
        // Half a pixel: edges of cells fall between pixels.
        assert!(number(1) > -0.5 && number(2) > -0.5, "head {at} is cut: {said}");
    }
}
