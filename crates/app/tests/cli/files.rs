//! `new`, `verify`, `backup`, `restore`, versions, and a newcomer's slips.
use super::run::trueplate;
use std::fs;

#[test]
fn no_arguments_explain_themselves() {
    let dir = tempfile::tempdir().unwrap();
    let run = trueplate(dir.path(), &[]);
    assert_eq!(run.code, 2);
    for command in ["new", "verify", "law"] {
        assert!(run.err.contains(command), "{}", run.err);
    }
    trueplate(dir.path(), &["lawn"]).stopped(2, &["lawn"]);
}

#[test]
fn versions_are_one_document() {
    let dir = tempfile::tempdir().unwrap();
    let json = trueplate(dir.path(), &["--version", "--json"]).json();
    assert_eq!(json["program"], env!("CARGO_PKG_VERSION"));
    let sqlite: Vec<u32> = json["sqlite"].as_str().unwrap().split('.').map(|n| n.parse().unwrap()).collect();
    // 3.51.3 mends the bug of resetting the log while another connection checkpoints.
    assert!(sqlite >= vec![3, 51, 3], "{sqlite:?}");
}

#[test]
fn a_bench_is_begun_checked_copied_and_put_back() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(trueplate(dir.path(), &["new", "b.trueplate"]).code, 0);
    trueplate(dir.path(), &["new", "b.trueplate"]).stopped(2, &["b.trueplate", "already"]);
    let verified = trueplate(dir.path(), &["verify", "b.trueplate", "--json"]);
    assert_eq!(verified.json()["ok"], true);
    assert_eq!(trueplate(dir.path(), &["backup", "b.trueplate", "c.trueplate"]).code, 0);
    trueplate(dir.path(), &["backup", "b.trueplate", "c.trueplate"]).stopped(2, &["c.trueplate"]);
    assert_eq!(trueplate(dir.path(), &["restore", "c.trueplate", "d.trueplate"]).code, 0);
    assert_eq!(trueplate(dir.path(), &["verify", "d.trueplate"]).code, 0);
}

#[test]
fn what_is_no_bench_is_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("letter.trueplate"), "Dear bench,").unwrap();
    trueplate(dir.path(), &["verify", "letter.trueplate"]).stopped(2, &["letter.trueplate", "not a bench"]);
    assert_eq!(fs::read_to_string(dir.path().join("letter.trueplate")).unwrap(), "Dear bench,");
    trueplate(dir.path(), &["verify", "nothing.trueplate"])
        .stopped(2, &["nothing.trueplate", "no such file"]);
    assert!(!dir.path().join("nothing.trueplate").exists());
    trueplate(dir.path(), &["verify", "."]).stopped(2, &["."]);
}

#[test]
fn an_acknowledged_id_that_is_not_there_is_named() {
    let dir = tempfile::tempdir().unwrap();
    trueplate(dir.path(), &["new", "b.trueplate"]);
    fs::write(dir.path().join("acked"), "phone-17\n").unwrap();
    let run = trueplate(dir.path(), &["verify", "b.trueplate", "--acked", "acked"]);
    assert_eq!(run.code, 1);
    assert!(run.err.contains("phone-17"), "{}", run.err);
}
