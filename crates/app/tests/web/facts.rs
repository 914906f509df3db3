//! The screen of facts and the files it hands over.
use super::bench::Served;
use super::client::{get, post};
use serde_json::Value as Json;

/// Links of the facts on a page, as a browser would ask for them.
fn links(page: &str) -> Vec<String> {
    let after = page.split("class=\"to\" href=\"").skip(1).filter_map(|rest| rest.split('"').next());
    after.map(|l| l.replace("&#38;", "&").replace("&amp;", "&")).collect()
}

#[test]
fn every_fact_of_the_demo_leads_to_something_that_is_there() {
    let s = Served::demo();
    let page = get(s.port, "/facts/U06").body;
    let (all, found) = (links(&page), page.matches("class=\"fact\"").count());
    assert!(found > 20 && all.len() >= found, "{found} facts, {} links", all.len());
    for link in &all {
        assert_eq!(get(s.port, link.split('#').next().unwrap_or_default()).status, 200, "{link}");
    }
    // A result leads to its trail, a price to the prices, a runtime to the curve.
    for part in ["/trail/U06/usable-energy?on.load=50%20%25", "/model/U06#prices", "/model/U06#runtime"] {
        assert!(all.iter().any(|l| l == part), "{part} is not in {all:#?}");
    }
    assert!(get(s.port, "/model/U06").body.contains("id=\"runtime\""));
    let list = get(s.port, "/facts").body;
    assert_eq!(list.matches("class=\"row\" href=\"/facts/").count(), 14);
}

#[test]
fn the_files_hold_what_the_screen_shows() {
    let s = Served::demo();
    let json = get(s.port, "/facts/U06/facts.json");
    assert!(json.header("content-disposition").starts_with("attachment"), "{}", json.head);
    let json: Json = serde_json::from_str(&json.body).expect("one document");
    let page = get(s.port, "/facts/U06").body;
    let (csv, md) = (get(s.port, "/facts/U06/facts.csv").body, get(s.port, "/facts/U06/facts.md").body);
    let facts = json["facts"].as_array().expect("facts");
    assert_eq!(page.matches("class=\"fact\"").count(), facts.len());
    for fact in facts {
        let id = fact["id"].as_str().expect("an id");
        let version = fact["version"].as_str().expect("a version");
        for (what, text) in [("page", &page), ("csv", &csv), ("md", &md)] {
            assert!(text.contains(id) && text.contains(version), "{id} is not in the {what}");
        }
        assert_eq!(fact["model"], "U06");
    }
    let whole: Json =
        serde_json::from_str(&get(s.port, "/facts/file/facts.json").body).expect("one document");
    assert!(whole["facts"].as_array().map_or(0, Vec::len) > facts.len());
    assert_eq!(get(s.port, "/facts/U06/facts.pdf").status, 404);
    assert_eq!(get(s.port, "/facts/nobody").status, 404);
}

#[test]
fn a_station_without_results_says_what_to_do_next() {
    let s = Served::empty();
    assert!(get(s.port, "/facts").body.contains("Add the first station"));
    post(s.port, "/model/new", &[("name", "Example 1000")]);
    let page = get(s.port, "/facts/example-1000").body;
    assert!(
        page.contains("Nothing is known of Example 1000 yet") && page.contains("Add the sample"),
        "{page}"
    );
    assert!(
        page.contains("000 ± 00 Wh") && !page.contains("class=\"copy\""),
        "a ghost of what will stand there"
    );
}

#[test]
fn a_statement_of_a_script_leads_to_the_readings_behind_it() {
    let s = Served::demo();
    let script = "The Fell 1010 gives about 906 watt-hours at half load. The Fell 1010 costs 1234 dollars.";
    let page = post(s.port, "/script", &[("script", script), ("format", "txt"), ("model", "")]).body;
    for part in ["/trail/U06/usable-energy?on.load=50%20%25", "/model/U06#prices"] {
        let found = page.replace("&#38;", "&").replace("&amp;", "&");
        assert!(found.contains(&format!("href=\"{part}\"")), "{part} is not in {page}");
    }
}
