//! What publishing does to a folder, and what it leaves alone.
use super::*;
fn pages(list: &[(&str, &str)]) -> BTreeMap<String, Vec<u8>> {
    list.iter().map(|(p, t)| ((*p).to_string(), t.as_bytes().to_vec())).collect()
}
#[test]
fn unchanged_pages_keep_their_bytes_and_foreign_files_stay() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("site");
    let first =
        write(&pages(&[("index.html", "a"), ("m/one.html", "b"), ("m/two.html", "c")]), &site).unwrap();
    assert_eq!(first, Published { written: 3, ..Published::default() });
    fs::write(site.join("CNAME"), "bench.example").unwrap();
    fs::create_dir(site.join("mine")).unwrap();
    fs::write(site.join("mine/photo.jpg"), "x").unwrap();
    let second = write(&pages(&[("index.html", "a2"), ("m/one.html", "b")]), &site).unwrap();
    assert_eq!(second, Published { written: 1, kept: 1, dropped: 1, foreign: 2 });
    assert_eq!(fs::read_to_string(site.join("index.html")).unwrap(), "a2");
    assert_eq!(fs::read_to_string(site.join("mine/photo.jpg")).unwrap(), "x");
    assert!(site.join("CNAME").exists() && !site.join("m/two.html").exists());
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1, "something was left beside the folder");
}
#[test]
fn a_folder_of_somebody_else_is_refused_untouched() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("taxes.txt"), "1").unwrap();
    let refused = write(&pages(&[("index.html", "a")]), dir.path()).unwrap_err().to_string();
    assert!(refused.contains("not published from here"), "{refused}");
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    let file = dir.path().join("taxes.txt");
    assert!(write(&pages(&[("index.html", "a")]), &file).unwrap_err().to_string().contains("no folder"));
}
#[test]
fn an_edited_page_is_written_anew_and_a_foreign_one_is_not_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("site");
    write(&pages(&[("index.html", "a")]), &site).unwrap();
    fs::remove_file(site.join("index.html")).unwrap();
    fs::write(site.join("index.html"), "edited").unwrap();
    fs::write(site.join("new.html"), "mine").unwrap();
    assert_eq!(write(&pages(&[("index.html", "a")]), &site).unwrap().written, 1);
    let clash = write(&pages(&[("index.html", "a"), ("new.html", "ours")]), &site).unwrap_err().to_string();
    assert!(clash.contains("new.html"), "{clash}");
    assert_eq!(fs::read_to_string(site.join("new.html")).unwrap(), "mine");
}
#[test]
fn no_page_lies_outside() {
    let dir = tempfile::tempdir().unwrap();
    for path in ["../x.html", "/x.html", "a/../../x.html"] {
        assert!(write(&pages(&[(path, "a")]), &dir.path().join("site")).is_err(), "{path}");
    }
}
#[test]
fn comparing_touches_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("site");
    assert_eq!(compare(&pages(&[("a", "1")]), &[], &site).unwrap().written, 1);
    assert!(!site.exists());
    write(&pages(&[("a", "1"), ("b", "2")]), &site).unwrap();
    assert_eq!(
        compare(&pages(&[("a", "1")]), &[], &site).unwrap(),
        Published { kept: 1, dropped: 1, ..Published::default() }
    );
}
