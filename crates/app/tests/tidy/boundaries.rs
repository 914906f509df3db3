//! Rules between rooms: who may know whom, what the pure rooms may not touch, the order core is read in.
use std::collections::BTreeSet;

use super::tree::{Source, manifests, read, rust};

/// Whom a crate may depend on, of ours and of the crates that mark a room. Nothing else of either.
const EDGES: &[(&str, &[&str])] = &[
    ("core", &[]),
    ("meters", &["core"]),
    ("store", &["core", "rusqlite"]),
    ("pages", &["core"]),
    ("page-engine", &["core"]),
    ("twin", &["core"]),
    ("app", &["core", "meters", "pages", "store", "twin", "askama", "axum", "tokio", "clap"]),
];
/// Crates that only certain rooms may have.
const MARKS: &[&str] = &["rusqlite", "askama", "axum", "tokio", "clap"];
/// Rooms without files, network, environment, clock or printing.
const PURE: &[&str] = &["core", "meters", "page-engine", "pages"];

/// Which of ours and of the marked crates a manifest names, as (section, name).
fn named(manifest: &str) -> BTreeSet<(String, String)> {
    let (mut section, mut found) = (String::new(), BTreeSet::new());
    for line in manifest.lines() {
        if line.starts_with('[') {
            section = line.trim_matches(['[', ']']).to_string();
        }
        if !section.contains("dependencies") {
            continue;
        }
        let words = line.split(|c: char| !c.is_alphanumeric() && c != '-' && c != '_');
        for word in words {
            let ours = word.strip_prefix("trueplate-").or_else(|| MARKS.contains(&word).then_some(word));
            found.extend(ours.map(|name| (section.clone(), name.to_string())));
        }
    }
    found
}

fn forbidden_edges(name: &str, manifest: &str) -> Vec<String> {
    let Some((_, allowed)) = EDGES.iter().find(|(n, _)| *n == name) else {
        return vec![format!("{name}: not in EDGES")];
    };
    let mut broken = Vec::new();
    for (section, other) in named(manifest) {
        // Tests may run anything pure against the twin, whose truth they know, and may use what drives a browser.
        let in_tests = section.starts_with("dev-") && (other == "twin" || MARKS.contains(&other.as_str()));
        if !allowed.contains(&other.as_str()) && !in_tests {
            broken.push(format!("{name} may not depend on {other} ([{section}])"));
        }
    }
    // What a browser is to find by name has to be exported, which counts as unsafe: denied there, not forbidden.
    let own = name == "page-engine" && manifest.contains("unsafe_code = \"deny\"");
    if !own && !manifest.contains("[lints]\nworkspace = true") {
        broken.push(format!("{name}: the manifest does not take the workspace's lints"));
    }
    broken
}

fn room(source: &Source) -> Option<&str> {
    let (room, rest) = source.path.strip_prefix("crates/")?.split_once('/')?;
    rest.starts_with("src/").then_some(room)
}

/// What a pure room's code reaches for that it must not.
fn impure(source: &Source) -> Option<String> {
    PURE.contains(&room(source)?).then_some(())?;
    // Without white space, so that a grouped `use std::{fs, …}` reads like any other.
    let code: String = source.code().split_whitespace().collect();
    let groups = code.split("std::{").skip(1).filter_map(|g| g.split_once("};"));
    let grouped: Vec<String> = groups
        .flat_map(|(g, _)| g.split(',').map(|part| format!("std::{part}")).collect::<Vec<_>>())
        .collect();
    let mut modules = vec!["std::fs", "std::net", "std::env", "std::process"];
    // A long log is summed up on a second thread, and one module does work for many abreast; that touches nothing outside.
    let threads = room(source) == Some("meters") || source.path == "crates/core/src/abreast.rs";
    modules.extend((!threads).then_some("std::thread"));
    let calls = ["::now(", "SystemTime", "println!", "eprintln!", "print!(", "stdin()"];
    let hit = modules.iter().find(|m| code.contains(**m) || grouped.iter().any(|g| g.starts_with(**m)));
    hit.or_else(|| calls.iter().find(|c| code.contains(**c))).map(|what| format!("a pure room uses `{what}`"))
}

/// SQL stands in the store alone, and the twin is known to the demo alone.
fn out_of_its_room(source: &Source) -> Option<String> {
    let room = room(source)?;
    let code = source.code();
    let sql =
        ["INSERT INTO ", "CREATE TABLE ", "DELETE FROM ", "PRAGMA "].iter().find(|w| code.contains(**w));
    if let Some(word) = sql.filter(|_| room != "store") {
        return Some(format!("SQL outside the store: {word}"));
    }
    let demo = source.path.split('/').any(|part| part.starts_with("demo"));
    let twin = code.contains("trueplate_twin") && room != "twin" && !(room == "app" && demo);
    if twin {
        return Some("only the demo may know the twin".into());
    }
    // Pages show a report; they never look at the list of kinds.
    (room == "pages" && code.contains("kinds::")).then(|| "pages name the list of kinds".into())
}

/// Modules of core stand in `lib.rs` in reading order; each may use only those above it.
fn reads_upwards(source: &Source, order: &[String]) -> Option<String> {
    let inside = source.path.strip_prefix("crates/core/src/")?;
    let module = inside.split(['/', '.']).next()?;
    let mine = order.iter().position(|m| m == module)?;
    let code: String = source.code().split_whitespace().collect();
    let below = |name: &str| order.iter().position(|m| m == name).is_some_and(|theirs| theirs > mine);
    used_modules(&code)
        .into_iter()
        .find(|m| below(m))
        .map(|m| format!("uses `{m}`, which stands below it in lib.rs"))
}

/// First names after `crate::`, one by one or in braces, in code without white space.
fn used_modules(code: &str) -> Vec<String> {
    let name = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut found = Vec::new();
    for rest in code.split("crate::").skip(1) {
        let Some(group) = rest.strip_prefix('{') else {
            found.push(name(rest));
            continue;
        };
        let (mut depth, mut at_start) = (1, true);
        for (at, c) in group.char_indices() {
            if at_start {
                found.push(name(&group[at..]));
            }
            depth += i32::from(c == '{') - i32::from(c == '}');
            at_start = c == ',' && depth == 1;
            if depth == 0 {
                break;
            }
        }
    }
    found
}

fn reading_order(lib: &str) -> Vec<String> {
    let names =
        lib.lines().filter_map(|l| l.trim_start_matches("pub ").strip_prefix("mod ")?.strip_suffix(';'));
    names.map(String::from).collect()
}

/// Every kind of test says how it computes, how well, and what it cannot say.
fn kind_without_headings(source: &Source) -> Option<String> {
    let inside = source.path.strip_prefix("crates/core/src/kinds/")?;
    if inside == "mod.rs" {
        return None;
    }
    let headings = ["//! Formula:", "//! Uncertainty:", "//! Does not tell:"];
    headings.iter().find(|h| !source.text.contains(**h)).map(|h| format!("no line `{h}`"))
}

fn check(rule: impl Fn(&Source) -> Option<String>) {
    let broken: Vec<_> = rust().iter().filter_map(|s| Some(format!("{}: {}", s.path, rule(s)?))).collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn crates_know_only_whom_they_may() {
    let broken: Vec<_> = manifests().iter().flat_map(|(name, text)| forbidden_edges(name, text)).collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn pure_rooms_touch_nothing() {
    check(impure);
}

#[test]
fn sql_twin_and_kinds_stay_in_their_rooms() {
    check(out_of_its_room);
}

#[test]
fn core_reads_from_top_to_bottom() {
    let order = reading_order(&read("crates/core/src/lib.rs"));
    assert!(order.contains(&"finding".to_string()), "{order:?}");
    check(|source| reads_upwards(source, &order));
}

#[test]
fn kinds_say_formula_uncertainty_and_limits() {
    check(kind_without_headings);
}

#[test]
fn the_rules_for_rooms_can_fail() {
    let lints = "[lints]\nworkspace = true\n";
    let edges = |name, text: &str| forbidden_edges(name, &format!("{lints}{text}")).len();
    assert_eq!(edges("pages", "[dependencies]\ntrueplate-store.workspace = true\n"), 1);
    assert_eq!(edges("store", "[dependencies.trueplate-twin]\nworkspace = true\n"), 1);
    assert_eq!(edges("app", "[dependencies]\nrusqlite.workspace = true\n"), 1);
    assert_eq!(edges("meters", "[dev-dependencies]\ntrueplate-twin.workspace = true\n"), 0);
    assert_eq!(edges("newcomer", ""), 1);
    let bad = |rule: fn(&Source) -> Option<String>, path, text| rule(&Source::new(path, text)).is_some();
    let core = "crates/core/src/a.rs";
    for text in
        ["let t = Timestamp::now();", "use std::{\n    fmt,\n    fs,\n};", "std::env::var(x)", "println!()"]
    {
        assert!(bad(impure, core, text), "{text}");
    }
    assert!(!bad(impure, "crates/core/tests/a.rs", "use std::fs;"));
    assert!(!bad(impure, core, "// reads no std::fs\nuse std::{fmt, iter};"));
    assert!(bad(out_of_its_room, "crates/app/src/web/a.rs", "\"INSERT INTO record\""));
    assert!(bad(out_of_its_room, "crates/app/src/web/a.rs", "use trueplate_twin::Station;"));
    assert!(!bad(out_of_its_room, "crates/app/src/cli/demo.rs", "use trueplate_twin::Station;"));
    assert!(bad(out_of_its_room, "crates/pages/src/a.rs", "core::kinds::all()"));
    assert!(bad(kind_without_headings, "crates/core/src/kinds/a.rs", "//! A kind.\n//! Formula: E = Pt\n"));
    let order = reading_order("//! Core\npub mod a;\nmod b;\npub mod c;\n");
    assert_eq!(order, ["a", "b", "c"]);
    let reads = |text| reads_upwards(&Source::new("crates/core/src/b.rs", text), &order).is_some();
    assert!(reads("use crate::c::Thing;") && reads("use crate::{\n    a::{self, X},\n    c,\n};"));
    assert!(
        !reads("use crate::a::c;") && !reads("use crate::{a::{c, d}};") && !reads("/// See [`crate::c`].\n")
    );
}
