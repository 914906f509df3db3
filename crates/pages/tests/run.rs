//! Will it run, as published: what a page carries gives the answers of the bench; the table stands without scripts; numbers
//! in either way of writing tell the same.
mod bench;
mod markup;

use trueplate_core::answer::{Grounds, Published, Reply, Sheet, Typed, ask};
use trueplate_core::number::Marks;
use trueplate_core::shown::Style;
use trueplate_pages::site::{Site, SiteOptions, site};

fn page(site: &Site, path: &str) -> String {
    String::from_utf8(site.files[path].clone()).expect("pages are UTF-8")
}

fn built(decimal_comma: bool) -> (trueplate_core::report::Report, Site) {
    let mut notebook = bench::notebook();
    notebook.settings.decimal_comma = decimal_comma;
    let report = bench::computed(notebook);
    let style = Style::of(decimal_comma);
    let site = site(&report, &SiteOptions { style, ..SiteOptions::default() });
    (report, site)
}

/// What the page's script reads.
fn carried(site: &Site) -> Published {
    let html = page(site, "run.html");
    let from = html.split_once("id=\"grounds\">").expect("the data").1;
    let json: serde_json::Value = serde_json::from_str(from.split_once("</script>").unwrap().0).unwrap();
    assert!(
        json["pages"]
            .as_object()
            .is_some_and(|p| p.values().all(|v| site.files.contains_key(v.as_str().unwrap())))
    );
    serde_json::from_value(json["published"].clone()).expect("it reads back")
}

const ASKED: &[(&[&str], &str, &str)] = &[
    (&["router, 12 W"], "", ""),
    (&["fridge, 85 W, start 900 W, avg 38 W", "laptop, 60 W, 8 h/day"], "2", "200 W"),
    (&["kettle, 1400 W, 15 min/day", "fridge-freezer"], "36 h", ""),
    (&["PC, 250 W, needs 15 ms, needs sine, 4 h/day"], "", ""),
    (&["CPAP with heating"], "3", ""),
    (&["oven, 9 kW"], "", ""),
];

fn typed((devices, time, solar): (&[&str], &str, &str)) -> Typed {
    Typed {
        devices: devices.iter().map(|d| d.to_string()).collect(),
        time: time.into(),
        solar: solar.into(),
        ..Typed::default()
    }
}

#[test]
fn what_a_page_carries_gives_the_answers_of_the_bench() {
    let (report, site) = built(false);
    let published = carried(&site);
    // Only stations that may be shown are in it.
    assert!(published.grounds.models.iter().all(|m| m.id != "u14") && published.grounds.models.len() == 3);
    for asked in ASKED {
        let typed = typed(*asked);
        let (question, misread) = typed.read(&published.devices, Marks::Point);
        assert!(misread.is_empty(), "{misread:?}");
        let mut whole = ask(&report, &question);
        let Reply::Answers(of_page) = published.ask(&typed) else { panic!("{asked:?}: no answer") };
        // The bench answers for the refused station too.
        whole.models.retain(|m| m.id != "u14");
        let of_bench = Sheet::of(&whole, &Grounds::of(&report));
        assert_eq!(of_page.rows, of_bench.rows, "{asked:?}");
        assert_eq!((&of_page.choices, &of_page.caution), (&of_bench.choices, &of_bench.caution));
    }
    assert_eq!(published.ask(&Typed::default()), Reply::Nothing);
    assert!(matches!(published.ask(&typed((&["lamp, 60 Wh"], "", ""))), Reply::Misread(m) if m.len() == 1));
}

#[test]
fn the_table_stands_without_scripts() {
    let (_, site) = built(false);
    let html = page(&site, "run.html");
    let text = markup::text(&html);
    for part in ["Runtimes at steady loads", "at 10 W", "at 1000 W", "Tarnhobble Fell 1010", "not known"] {
        assert!(text.contains(part), "{part}");
    }
    let tags = markup::tags(&html).expect("well formed");
    let cells = tags.iter().filter(|t| t.name == "td" && t.attributes.contains_key("data-label"));
    assert_eq!(cells.count(), 3 * 5, "three stations at five loads");
    assert!(html.contains("<form id=\"ask\" class=\"question\" hidden>"));
    // No place a thing was bought at, no serial number.
    assert!(
        carried(&site).grounds.models.iter().all(|m| m.price.as_ref().is_none_or(|p| p.seller.is_empty()))
    );
}

#[test]
fn both_ways_of_writing_numbers_tell_the_same() {
    let (_, point) = built(false);
    let (_, comma) = built(true);
    let of = |site: &Site, path: &str| markup::text(&page(site, path));
    for path in ["index.html", "all.html", "run.html", "m/tarnhobble-fell-1010.html"] {
        let (a, b) = (of(&point, path), of(&comma, path));
        assert_ne!(a, b, "{path}");
        // The same digits in the same order, and the same words: only marks between digits differ.
        let bare = |text: &str| text.replace(['.', ','], "");
        let without = |text: &str| bare(text.split("{\"pages\"").next().unwrap_or(text));
        assert_eq!(without(&a), without(&b), "{path}");
    }
}
