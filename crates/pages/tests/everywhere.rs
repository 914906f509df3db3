//! What every published folder keeps: each kind, result and number has its place; pages are sound; nothing leaks out.
mod bench;
mod markup;

use markup::Tag;
use std::collections::{BTreeMap, BTreeSet};
use trueplate_core::kinds::KINDS;
use trueplate_core::notebook::{Came, Claim, Model, Notebook, Specimen, Test};
use trueplate_core::report::Report;
use trueplate_pages::site::{Site, SiteOptions, site};

/// The invented bench, with a station on which the example of every kind was made.
fn whole_notebook() -> Notebook {
    let mut notebook = bench::notebook();
    let example = KINDS[0].example().notebook;
    let (mut model, mut specimen) = (example.models[0].clone(), example.specimens[0].clone());
    (model.id, specimen.id, specimen.model) = ("every".into(), "every-a".into(), "every".into());
    notebook.models.push(model);
    notebook.specimens.push(specimen);
    notebook.instruments.extend(example.instruments.clone());
    notebook.loads.extend(example.loads.clone());
    for kind in KINDS {
        let test = kind.example().test;
        notebook.tests.push(Test { id: format!("every {}", test.kind), specimen: "every-a".into(), ..test });
    }
    notebook
}

fn built(notebook: Notebook) -> (Report, Site) {
    let report = bench::computed(notebook);
    let site = site(&report, &SiteOptions::default());
    (report, site)
}

fn page<'s>(site: &'s Site, path: &str) -> &'s str {
    std::str::from_utf8(&site.files[path]).expect("pages are UTF-8")
}

fn pages(site: &Site) -> BTreeMap<&str, Vec<Tag>> {
    let html = site.files.keys().filter(|p| p.ends_with(".html"));
    html.map(|p| (p.as_str(), markup::tags(page(site, p)).unwrap_or_else(|e| panic!("{p}: {e}")))).collect()
}

fn ids(tags: &[Tag]) -> Vec<&str> {
    tags.iter().filter_map(|t| t.attributes.get("id")).map(String::as_str).collect()
}

#[test]
fn every_kind_stands_in_the_handbook() {
    let (report, site) = built(whole_notebook());
    let handbook = markup::text(page(&site, "how.html"));
    for kind in &report.kinds {
        for line in kind.method.iter().chain(kind.cautions).chain([&kind.question, &kind.uncertainty]) {
            assert!(handbook.contains(line), "{}: {line}", kind.id);
        }
        assert!(handbook.contains(kind.does_not_tell), "{}", kind.id);
    }
    assert!(report.kinds.len() > 5);
}

#[test]
fn every_result_stands_on_its_page_and_in_the_comparison_and_leads_to_its_tests() {
    let (report, site) = built(whole_notebook());
    let every = report.models.iter().find(|m| m.id == "every").expect("the station of examples");
    let kinds_with_results = KINDS
        .iter()
        .filter(|k| every.rows.iter().any(|r| k.spec().results.iter().any(|s| s.key == r.result.key)));
    // A kind that only describes (earth and neutral) has no result to show.
    let measuring = KINDS.iter().filter(|k| !k.spec().results.is_empty()).count();
    assert_eq!(kinds_with_results.count(), measuring, "the example of every kind gives a result");
    let html = page(&site, "m/example-1000.html");
    let tags = markup::tags(html).unwrap();
    let (ids, text) = (ids(&tags), markup::text(html));
    for row in &every.rows {
        let shown = trueplate_core::shown::shown(
            &row.value,
            row.result.shown_in(),
            trueplate_core::shown::Style::POINT,
        );
        assert!(text.contains(&shown.line()), "{}: {}", row.result.key, shown.line());
        let at = format!("r-{}", row.result.key);
        assert!(ids.iter().any(|id| id.starts_with(&at)), "{at}");
        assert!(ids.iter().any(|id| id.starts_with(&format!("trail-{at}"))), "{at}");
        for test in &row.tests {
            let at = format!("t-{}", test.replace(' ', "-"));
            assert!(ids.contains(&at.as_str()), "{at}");
        }
    }
    let all = markup::text(page(&site, "all.html"));
    for column in &report.columns {
        assert!(all.contains(column.result.title), "{}", column.result.key);
    }
}

#[test]
fn the_bench_to_look_at_has_no_holes() {
    // A kind that asks something new must be answered here, or the pages are looked at without it.
    let report = bench::computed(bench::notebook());
    let fell = report.models.iter().find(|m| m.id == "u06").expect("the whole station");
    let gaps: Vec<_> =
        fell.findings.iter().filter(|(_, f)| f.weight == trueplate_core::finding::Weight::Gap).collect();
    assert!(gaps.is_empty(), "{gaps:#?}");
}

#[test]
fn an_unclear_claim_tells_the_reader_why_and_advises_nobody() {
    let (_, site) = built(bench::notebook());
    let text = markup::text(page(&site, "m/mothgarth-ember-480.html"));
    assert!(text.contains("`fast` does not start with a number") && text.contains("nothing to compare"));
    assert!(!text.contains("type a number"));
}

#[test]
fn entries_are_shown_as_typed() {
    let (report, site) = built(whole_notebook());
    let text = markup::text(page(&site, "m/tarnhobble-fell-1010.html"));
    for test in report.notebook.tests.iter().filter(|t| t.specimen == "u06a") {
        for entry in test.entries.values().filter(|e| !e.instrument.is_empty()) {
            assert!(text.contains(&entry.text), "{}: {}", test.id, entry.text);
        }
    }
    // Kept at 15:04:05 UTC, four hours later than the clock in New York in May.
    assert!(text.contains("2026-05-03 11:04:05") && text.contains("plug meter M1"));
}

#[test]
fn pages_are_well_formed_and_every_link_arrives() {
    let (_, site) = built(whole_notebook());
    let pages = pages(&site);
    for (path, tags) in &pages {
        let mut seen = BTreeSet::new();
        for id in ids(tags) {
            assert!(seen.insert(id), "{path}: id {id} twice");
        }
        for tag in tags {
            for key in ["href", "src"] {
                if let Some(address) = tag.attributes.get(key) {
                    arrives(&site, &pages, path, address);
                }
            }
        }
    }
}

fn arrives(site: &Site, pages: &BTreeMap<&str, Vec<Tag>>, from: &str, address: &str) {
    assert!(!address.contains(':') && !address.starts_with('/'), "{from}: {address} leaves the folder");
    let (file, place) = address.split_once('#').unwrap_or((address, ""));
    let path = match (file, file.strip_prefix("../")) {
        ("", _) => from.to_string(),
        (_, Some(up)) => up.to_string(),
        (down, None) => from.rsplit_once('/').map_or(down.into(), |(folder, _)| format!("{folder}/{down}")),
    };
    assert!(site.files.contains_key(&path), "{from}: {address} leads nowhere");
    if !place.is_empty() {
        let there = ids(&pages[path.as_str()]);
        assert!(there.contains(&place), "{from}: {address} has no such place");
    }
}

#[test]
fn only_the_folders_own_scripts_run_and_nothing_is_fetched_from_elsewhere() {
    let (_, site) = built(whole_notebook());
    for (path, tags) in pages(&site) {
        let policy = tags.iter().find(|t| t.attributes.contains_key("http-equiv")).expect("a policy");
        assert!(policy.attributes["content"].starts_with("default-src 'none';"), "{path}");
        for tag in &tags {
            let bad = tag.attributes.keys().find(|k| *k == "style" || k.starts_with("on"));
            assert!(bad.is_none(), "{path}: {bad:?} in <{}>", tag.name);
            assert!(tag.name != "style", "{path}: style inside the page");
            if tag.name == "script" {
                let kind = tag.attributes.get("type").map_or("", String::as_str);
                let data = ["application/ld+json", "application/json"].contains(&kind);
                let own = tag.attributes.get("src").is_some_and(|s| site.files.contains_key(s));
                assert!(data || own, "{path}: a script inside the page");
            }
        }
        let html = tags.iter().find(|t| t.name == "html").expect("html");
        assert_eq!(html.attributes["lang"], "en", "{path}");
    }
    for (path, bytes) in site.files.iter().filter(|(p, _)| p.ends_with(".css")) {
        let sheet = std::str::from_utf8(bytes).unwrap();
        assert!(!sheet.contains("http") && !sheet.contains("@import"), "{path}");
    }
}

#[test]
fn equal_reports_give_equal_bytes() {
    let (_, first) = built(whole_notebook());
    let (_, second) = built(whole_notebook());
    assert_eq!(first.files, second.files);
}

#[test]
fn what_is_private_stays_private() {
    let (_, site) = built(whole_notebook());
    for (path, bytes) in &site.files {
        let text = String::from_utf8_lossy(bytes);
        assert!(!text.contains("SN-PRIVATE") && !text.contains("private remark"), "{path}");
    }
}

#[test]
fn a_model_without_provenance_is_refused_by_name_and_shown_nowhere() {
    let (_, site) = built(whole_notebook());
    assert_eq!(site.refused.len(), 1);
    let (name, gate) = &site.refused[0];
    assert_eq!((name.as_str(), gate[0].code.as_str()), ("Trundlemere Barge 4230", "no-provenance"));
    for (path, bytes) in &site.files {
        assert!(!String::from_utf8_lossy(bytes).contains("Barge"), "{path}");
    }
}

/// What a hostile hand could type into every field.
const HOSTILE: &[&str] = &[
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "' onmouseover='alert(1)",
    "</title></script><!--",
    "=HYPERLINK(\"http://example.org\",\"x\")",
    "\u{202e}dlrow\u{2066}\u{0}\u{7}",
    "&amp;&lt;",
    "",
    "../../etc",
];

fn hostile(text: &str) -> Notebook {
    let mut n = whole_notebook();
    let t = || text.to_string();
    (n.settings.site, n.settings.tester, n.settings.currency) = (t(), t(), t());
    for model in &mut n.models {
        (model.name, model.chemistry, model.note) = (t(), t(), t());
        for claim in &mut model.claims {
            (claim.words, claim.source, claim.seen) = (t(), t(), t());
        }
        model.claims.push(Claim { id: t(), key: t(), text: t(), ..Claim::default() });
        model.claims.push(Claim { key: "mass".into(), text: t(), ..Claim::default() });
        for price in &mut model.prices {
            (price.currency, price.bundle, price.seller) = (t(), String::new(), t());
        }
    }
    for specimen in &mut n.specimens {
        (specimen.label, specimen.returned) = (t(), t());
        if specimen.came != Came::Unknown {
            specimen.provenance = format!("x{text}");
        }
        specimen.firmware.iter_mut().for_each(|f| f.version = t());
    }
    n.instruments.iter_mut().for_each(|i| (i.name, i.about) = (t(), t()));
    n.loads.iter_mut().for_each(|l| l.name = t());
    for (i, test) in n.tests.iter_mut().enumerate() {
        (test.id, test.note, test.firmware) = (format!("{text}{i}"), t(), t());
        test.entries.values_mut().for_each(|e| (e.note, e.at) = (t(), t()));
        if i % 3 == 0 {
            test.excluded = t();
        }
        let entry = test.entries.values().next().cloned().unwrap_or_default();
        test.entries.insert(t(), trueplate_core::notebook::Entry { text: t(), ..entry });
    }
    let id = n.tests[0].id.clone();
    n.changes.iter_mut().for_each(|c| {
        (c.id, c.at, c.why) = (id.clone(), t(), t());
        c.old = serde_json::to_string(&format!("{text}1")).unwrap();
    });
    n.models.push(Model { id: "named".into(), name: t(), ..Model::default() });
    n.specimens.push(Specimen {
        id: "named-a".into(),
        model: "named".into(),
        came: Came::Bought,
        provenance: format!("x{text}"),
        ..Specimen::default()
    });
    n
}

#[test]
fn hostile_text_never_breaks_a_page() {
    for text in HOSTILE {
        let (_, site) = built(hostile(text));
        let pages = pages(&site);
        for (path, tags) in &pages {
            let mut seen = BTreeSet::new();
            assert!(ids(tags).into_iter().all(|id| seen.insert(id)), "{text:?}: {path}: an id twice");
            for tag in tags {
                let own = tag.name != "img" && !tag.attributes.keys().any(|k| k.starts_with("on"));
                assert!(own, "{text:?}: {path}: <{}> came through", tag.name);
                if let Some(address) = tag.attributes.get("href") {
                    arrives(&site, &pages, path, address);
                }
            }
            let html = page(&site, path);
            assert!(!html.contains(['\u{202e}', '\u{2066}', '\u{0}', '\u{7}']), "{text:?}: {path}");
        }
        let names = site.files.keys().all(|k| !k.contains("..") && !k.contains('<'));
        assert!(names, "{text:?}: {:?}", site.files.keys());
        assert!(!page(&site, "corrections.atom").contains("<script"), "{text:?}");
    }
}
