//! The runtime curve of a page: its labels stand apart, and what the tests leave open is said beneath it.
mod bench;

use trueplate_core::report::Report;
use trueplate_pages::chart::labels::width;
use trueplate_pages::chart::runtime::{self, Curve};
use trueplate_pages::site::{SiteOptions, site};

/// A text of a drawing as the box it fills: left, top, right, bottom; letters reach from 0.95 above the base line (the
/// ascender of the typeface rounded up, OS/2 table 0.78 plus accents) to 0.22 below it.
#[derive(Clone, Debug)]
struct Box {
    x: (f64, f64),
    y: (f64, f64),
    text: String,
}

/// The boxes of all texts of a drawing.
fn boxes(svg: &str) -> Vec<Box> {
    let value = |tag: &str, key: &str| {
        let after = tag.split(&format!(" {key}=\"")).nth(1).and_then(|rest| rest.split('"').next());
        after.unwrap_or_else(|| panic!("no {key} in {tag}")).to_string()
    };
    let number = |tag: &str, key: &str| value(tag, key).parse::<f64>().expect("a number");
    let one = |rest: &str| {
        let (tag, text) = rest.split_once('>').expect("a whole tag");
        let text = text.split('<').next().unwrap_or_default().replace("&lt;", "<").replace("&amp;", "&");
        let (x, y, size) = (number(tag, "x"), number(tag, "y"), number(tag, "font-size"));
        let wide = width(&text, size);
        let left = match value(tag, "text-anchor").as_str() {
            "end" => x - wide,
            "middle" => x - wide / 2.0,
            _ => x,
        };
        Box { x: (left, left + wide), y: (y - 0.95 * size, y + 0.22 * size), text }
    };
    svg.split("<text").skip(1).map(one).collect()
}

/// No two texts of a figure's drawings touch, and none leaves its drawing. How many there are.
fn apart(figure: &str) -> usize {
    let mut found = 0;
    for svg in figure.split("<svg").skip(1) {
        let wide: f64 =
            svg.split("viewBox=\"0 0 ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        let all = boxes(svg.split("</svg>").next().unwrap());
        for (i, a) in all.iter().enumerate() {
            assert!(a.x.0 >= -0.5 && a.x.1 <= wide + 0.5, "{a:?} leaves a drawing {wide} wide");
            for b in &all[..i] {
                let over = |a: (f64, f64), b: (f64, f64)| a.1.min(b.1) - a.0.max(b.0);
                let touch = over(a.x, b.x) > 0.1 && over(a.y, b.y) > 0.1;
                assert!(!touch, "{} stands on {}: {a:?}, {b:?}", a.text, b.text);
            }
        }
        found += all.len();
    }
    found
}

/// A store of 500 Wh with 6 W of idle draw: 500/(w + 6) h, ± 4 %.
fn curve(loads: &[f64], held: &[f64]) -> Curve {
    let hours = |w: f64| 500.0 / (w + 6.0);
    let point = |w: f64| (w, hours(w), hours(w) * 0.96, hours(w) * 1.04);
    let label = |h: f64| format!("{:.0} h {:.0} min", h.floor(), (h.fract() * 60.0).floor());
    Curve {
        points: (0..33).map(|i| point(10.0 * 60f64.powf(f64::from(i) / 32.0))).collect(),
        measured: loads.iter().map(|w| (*w, hours(*w), label(hours(*w)))).collect(),
        held_out: held
            .iter()
            .map(|w| (*w, hours(*w), hours(*w) * 1.01, "compressor fridge".into()))
            .collect(),
        idle: None,
    }
}

#[test]
fn labels_of_tests_that_lie_close_together_stand_apart() {
    let none = apart(&curve(&[], &[]).figure());
    // Three tests within a few units of each other, as where 80 %, 90 % and 100 % of a small station's power were run.
    for loads in [
        &[400.0, 420.0, 445.0][..],
        &[12.0, 13.0, 14.5],
        &[560.0, 580.0, 600.0],
        &[100.0, 150.0, 300.0, 480.0],
    ] {
        let found = apart(&curve(loads, &[]).figure());
        assert_eq!(found - none, 2 * loads.len(), "{loads:?}: each has its label in both sizes");
        apart(&curve(loads, &[loads[1] * 1.02, 30.0]).figure());
    }
    // More than there is room for: what cannot stand apart is left out, never the check.
    let many: Vec<f64> = (0..60).map(|i| 300.0 + f64::from(i) * 3.0).collect();
    let full = curve(&many, &[310.0]).figure();
    assert!(apart(&full) < none + 2 * many.len() && full.matches(">foretold ").count() == 2);
}

#[test]
fn a_long_name_of_a_load_stays_in_the_drawing() {
    let mut curve = curve(&[100.0, 400.0], &[30.0]);
    curve.held_out[0].3 =
        "the old fridge from the cellar with its door open a hand's breadth all night long".into();
    apart(&curve.figure());
}

fn page(report: &Report, slug: &str) -> String {
    let site = site(report, &SiteOptions::default());
    let path = format!("m/{slug}.html");
    String::from_utf8(site.files[&path].clone()).expect("pages are UTF-8")
}

/// Sample A was run at 276 W and 440 W, sample B at 276 W alone; the maker says 550 W, 80 % of which are 440 W.
#[test]
fn a_page_says_what_the_tests_leave_open() {
    let report = bench::computed(bench::notebook());
    let model = report.models.iter().find(|m| m.id == "u04").expect("it is there");
    let said: Vec<String> = model
        .drains
        .iter()
        .map(|d| runtime::said(d, |t: &str| t.to_string()).replace('\u{a0}', " "))
        .collect();
    assert_eq!(said.len(), 2);
    assert!(said[0].contains("<b>Missing:</b> <bdi>No full discharge was made below 2"), "{}", said[0]);
    assert!(said[0].contains("Runtimes are foretold between the loads tested only."), "{}", said[0]);
    assert!(!said[0].contains("for heavier ones"), "{}", said[0]);
    assert!(
        said[1].contains("<b>Missing:</b> <bdi>Every full discharge was made at about 27"),
        "{}",
        said[1]
    );
    assert!(said[1].contains("for heavier ones, charge full, then discharge at 440 W"), "{}", said[1]);
    // Both stand on the page, the second without a curve.
    let page = page(&report, "gorsefell-cairn-530");
    for drain in &model.drains {
        let told = runtime::said(drain, |t: &str| t.to_string());
        let told = told.split("<ul").nth(1).expect("something is said");
        assert!(page.contains(told), "{told}");
    }
    assert!(page.contains("id=\"runtime-2\""));
}
