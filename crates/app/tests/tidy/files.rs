//! Rules for single files: short, headed, nothing left over, nothing forgotten.
use super::tree::{Source, read, root, rust, shipped};

const FILE_LINES_MAX: usize = 400;
const TEST_FILE_LINES_MAX: usize = 800;
const FN_LINES_MAX: usize = 70;
/// Tests hold tables of cases, which read best in one piece.
const TEST_FN_LINES_MAX: usize = 100;

fn check(rule: fn(&Source) -> Option<String>, sources: Vec<Source>) {
    let broken: Vec<_> = sources.iter().filter_map(|s| Some(format!("{}: {}", s.path, rule(s)?))).collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

fn too_long(source: &Source) -> Option<String> {
    let tests = source.path.contains("/tests/") || source.path.contains("/benches/");
    let most = if tests { TEST_FILE_LINES_MAX } else { FILE_LINES_MAX };
    let lines = source.text.lines().count();
    (lines > most).then(|| format!("{lines} lines, at most {most}: split it by concept"))
}

fn unheaded(source: &Source) -> Option<String> {
    (!source.text.starts_with("//! "))
        .then(|| "the first line does not say what the file is (`//! …`)".into())
}

fn left_over(source: &Source) -> Option<String> {
    let words = [
        concat!("FIX", "ME"),
        concat!("XX", "X"),
        concat!("dbg", "!("),
        concat!("todo", "!("),
        concat!("unimplemented", "!("),
        concat!("allow(dead", "_code"),
        // Left out with a reason is said; left out without one is forgotten.
        concat!("#[ign", "ore]"),
    ];
    words.iter().find(|w| source.text.contains(**w)).map(|w| format!("left over: {w}"))
}

/// Relies on rustfmt: a function ends at the `}` indented like its `fn`.
fn long_function(source: &Source) -> Option<String> {
    let lines: Vec<&str> = source.text.lines().collect();
    for (start, line) in lines.iter().enumerate().filter(|(_, l)| begins_function(l)) {
        // The first line that ends the head: a body, a body on one line, or none at all (a method of a trait).
        let head = lines[start..].iter().position(|l| l.ends_with(['{', '}', ';'])).unwrap_or(0);
        if !lines[start + head].ends_with('{') {
            continue;
        }
        let close = format!("{}}}", &line[..line.len() - line.trim_start().len()]);
        let length = lines[start..].iter().position(|l| *l == close).unwrap_or(0) + 1;
        let most = if source.path.contains("/tests/") { TEST_FN_LINES_MAX } else { FN_LINES_MAX };
        if length > most {
            return Some(format!("line {}: a function of {length} lines, at most {most}", start + 1));
        }
    }
    None
}

fn begins_function(line: &str) -> bool {
    let mut words = line.split_whitespace().skip_while(|word| {
        ["pub", "const", "async", "extern", "\"C\""].contains(word) || word.starts_with("pub(")
    });
    words.next() == Some("fn")
}

/// A module nobody declares is not compiled, and nobody notices.
fn forgotten(source: &Source) -> Option<String> {
    let (folder, name) = source.path.rsplit_once('/')?;
    let tops = ["lib.rs", "main.rs", "mod.rs", "build.rs"];
    let target = ["/tests", "/benches", "/examples", "/bin"].iter().any(|end| folder.ends_with(end));
    if tops.contains(&name) || target {
        return None;
    }
    let beside = ["mod.rs", "lib.rs", "main.rs"].map(|f| format!("{folder}/{f}"));
    let parents = beside.into_iter().chain([format!("{folder}.rs")]);
    let wanted = format!("mod {};", source.stem());
    let declared = parents.filter(|p| root().join(p).exists()).any(|p| read(&p).contains(&wanted));
    // Or by its file name, the way a file of tests stands beside the file it tests.
    let by_path = format!("#[path = \"{name}\"]");
    let declared = declared || rust().iter().any(|s| s.path.starts_with(folder) && s.text.contains(&by_path));
    (!declared).then(|| format!("no `{wanted}` declares it"))
}

/// Where packages come from and where this was written are nobody's business.
fn names_a_place(source: &Source) -> Option<String> {
    let hosts = [
        concat!("py", "pi.org"),
        concat!("npm", "js.org"),
        concat!("npm", "js.com"),
        concat!("deb.deb", "ian.org"),
        concat!("static.cra", "tes.io"),
        concat!("index.cra", "tes.io"),
    ];
    let folders = [concat!("/wo", "rk/"), concat!("/fa", "rm/"), concat!("/ro", "ot/")];
    let host = hosts.iter().find(|h| source.text.contains(**h));
    // As the start of a path only: `https://example.org/…` and `home-…` may contain the same letters.
    let folder = folders.iter().find(|f| {
        source.text.match_indices(**f).any(|(at, _)| {
            let before = source.text[..at].chars().next_back();
            before.is_none_or(|c| !c.is_alphanumeric() && !"._~-/*}".contains(c))
        })
    });
    host.or(folder).map(|place| format!("names a place: {place}"))
}

#[test]
fn files_are_short() {
    check(too_long, rust());
}

#[test]
fn files_say_what_they_are() {
    check(unheaded, rust());
}

#[test]
fn nothing_is_left_over() {
    check(left_over, rust());
}

#[test]
fn functions_fit_on_a_screen() {
    check(long_function, rust());
}

#[test]
fn no_file_is_forgotten() {
    check(forgotten, rust());
}

#[test]
fn no_registry_and_no_machine_is_named() {
    check(names_a_place, shipped());
}

#[test]
fn the_rules_for_files_can_fail() {
    let bad =
        |rule: fn(&Source) -> Option<String>, path, text: &str| rule(&Source::new(path, text)).is_some();
    assert!(bad(too_long, "crates/core/src/a.rs", &"\n".repeat(401)));
    assert!(!bad(too_long, "crates/core/tests/a.rs", &"\n".repeat(401)));
    assert!(bad(unheaded, "crates/core/src/a.rs", "use std::fmt;"));
    assert!(bad(left_over, "crates/core/src/a.rs", concat!("todo", "!()")));
    let body = "    x();\n".repeat(69);
    for head in ["fn f() {", "pub(crate) async fn f() {", "pub const fn f(\n    a: A,\n) {"] {
        assert!(bad(long_function, "crates/core/src/a.rs", &format!("{head}\n{body}}}\n")), "{head}");
    }
    assert!(!bad(
        long_function,
        "crates/core/src/a.rs",
        &format!("fn f() {{\n{}}}\n", "    x();\n".repeat(68))
    ));
    assert!(!bad(
        long_function,
        "crates/core/src/a.rs",
        &format!("    fn f(\n        &self,\n    );\n{body}    }}\n")
    ));
    assert!(bad(forgotten, "crates/core/src/nobody_declares_this.rs", ""));
    assert!(bad(names_a_place, "README.md", concat!("see /wo", "rk/notes")));
    assert!(bad(names_a_place, "README.md", concat!("from py", "pi.org")));
    assert!(!bad(names_a_place, "README.md", concat!("see docs/wo", "rk/notes")));
}
