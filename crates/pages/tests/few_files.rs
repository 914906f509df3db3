//! What a changed reading changes in the folder of a bench with many stations.
mod many;

use std::sync::Arc;
use trueplate_core::notebook::{Change, Notebook};
use trueplate_core::record::Record;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;
use trueplate_pages::site::{Site, SiteOptions, site};

/// More than a page names, so that no page speaks of the others.
const STATIONS: usize = 120;

fn built(notebook: &Notebook) -> Site {
    let outcomes = outcomes(notebook);
    let report = report(Arc::new(notebook.clone()), Arc::new(outcomes), "2026-06-30");
    site(&report, &SiteOptions::default())
}

#[test]
fn among_many_stations_a_changed_reading_writes_ten_files_at_most() {
    let mut notebook = Notebook::default();
    many::ground(STATIONS).expect("the ground").into_iter().for_each(|r| notebook.put(r));
    for i in 0..STATIONS {
        many::tests(i).expect("its tests").into_iter().for_each(|r| notebook.put(r));
    }
    let before = built(&notebook);
    assert!(before.files.keys().filter(|p| p.starts_with("m/")).count() == STATIONS);
    let changed = many::changed(&notebook).expect("a test");
    let text = |n: &Notebook| {
        let typed = n.test(&changed.id).and_then(|t| t.entries.get("counter_end")).map(|e| e.text.clone());
        format!("\"{}\"", typed.expect("its counter"))
    };
    let old = text(&notebook);
    notebook.put(Record::Test(changed.clone()));
    notebook.changes.push(Change {
        seq: 1,
        stroke: 1,
        at: "2026-06-02T09:00:00Z".into(),
        record: "test".into(),
        id: changed.id.clone(),
        field: "/entries/counter_end/text".into(),
        old,
        new: text(&notebook),
        why: "typed wrong".into(),
    });
    let after = built(&notebook);
    let mut differ: Vec<&str> = Vec::new();
    for path in after.files.keys().filter(|p| before.files.get(*p) != after.files.get(*p)) {
        differ.push(path);
    }
    assert!(differ.len() <= 10, "{}: {differ:?}", differ.len());
    // The station's own page, the comparison, the answers, the correction and its feed, and the data.
    for path in ["index.html", "all.html", "run.html", "corrections.html", "corrections.atom", "facts.json"] {
        assert!(differ.contains(&path), "{path} is not among {differ:?}");
    }
}
