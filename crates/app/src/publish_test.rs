//! What publishing does to a folder, and what it leaves alone.
use super::*;
use trueplate_pages::site::{Known, Made, Pieces};
fn write(files: &BTreeMap<String, Vec<u8>>, folder: &Path) -> Result<Published, Error> {
    write_for(SITE, files, &Elsewhere { files: &[], fetch: &|_, _| Ok(()) }, folder)
}
fn site(files: BTreeMap<String, Vec<u8>>) -> Site {
    let (same, made) = (BTreeSet::new(), Known::new());
    Site { files, same, made, pieces: Pieces::default(), originals: Vec::new(), refused: Vec::new() }
}
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
    let folder = dir.path().join("site");
    assert_eq!(compare(&site(pages(&[("a", "1")])), &Kept::default(), &folder).unwrap().written, 1);
    assert!(!folder.exists());
    write(&pages(&[("a", "1"), ("b", "2")]), &folder).unwrap();
    assert_eq!(
        compare(&site(pages(&[("a", "1")])), &Kept::default(), &folder).unwrap(),
        Published { kept: 1, dropped: 1, ..Published::default() }
    );
}

/// A site of two pages of models and one page made each time; `left_out` are not made again.
fn two(index: &str, left_out: &[&str], kept: &Kept, folder: &Path) -> Site {
    let mut all = site(pages(&[("index.html", index), ("m/one.html", "b"), ("m/two.html", "c")]));
    let known = kept.before(folder).made;
    for name in ["one", "two"] {
        let path = format!("m/{name}.html");
        if left_out.contains(&name) && known.contains_key(name) {
            all.files.remove(&path);
            all.same.insert(path.clone());
        }
        all.made.insert(name.into(), Made { from: "x".into(), files: vec![path], ..Made::default() });
    }
    all
}
fn nothing() -> Elsewhere<'static> {
    Elsewhere { files: &[], fetch: &|_, _| Ok(()) }
}
/// So long that another writing shows.
fn settle() {
    std::thread::sleep(std::time::Duration::from_millis(40));
}
fn published(folder: &Path, index: &str) -> Published {
    let kept = Kept::of(folder);
    let (done, rest) = renew(&two(index, &["one", "two"], &kept, folder), &nothing(), &kept, folder).unwrap();
    let _kept_beside_the_folder = rest.done();
    settle();
    done
}
#[test]
fn pages_that_were_not_made_again_are_there_and_an_edited_one_is_made() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("site");
    assert_eq!(published(&folder, "a").written, 3);
    // The first files were written a moment before they were looked at; from the second time on they are known.
    published(&folder, "a");
    assert_eq!(Kept::of(&folder).before(&folder).made.len(), 2);
    let third = published(&folder, "a3");
    assert_eq!(third, Published { written: 1, kept: 2, ..Published::default() });
    assert_eq!(fs::read_to_string(folder.join("m/one.html")).unwrap(), "b");
    // As long as before, and dated back.
    let page = folder.join("m/one.html");
    let times = fs::metadata(&page).unwrap().modified().unwrap();
    let file = fs::OpenOptions::new().write(true).open(&page).unwrap();
    std::io::Write::write_all(&mut &file, b"x").unwrap();
    file.set_modified(times).unwrap();
    let known = Kept::of(&folder).before(&folder).made;
    #[cfg(unix)]
    assert_eq!(known.keys().collect::<Vec<_>>(), ["two"]);
    #[cfg(unix)]
    assert_eq!(published(&folder, "a3").written, 1);
    #[cfg(unix)]
    assert_eq!(fs::read_to_string(&page).unwrap(), "b");
    drop(known);
}
#[test]
fn a_page_changed_in_the_middle_is_no_page_to_take_over() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("site");
    published(&folder, "a");
    published(&folder, "a");
    let kept = Kept::of(&folder);
    let site = two("a", &["one", "two"], &kept, &folder);
    assert_eq!(site.same.len(), 2);
    fs::write(folder.join("m/two.html"), "edited").unwrap();
    let refused = renew(&site, &nothing(), &kept, &folder).unwrap_err();
    assert!(matches!(refused, Error::Changed { .. }), "{refused}");
    assert_eq!(fs::read_to_string(folder.join("m/two.html")).unwrap(), "edited");
}
#[test]
fn what_was_kept_counts_only_while_it_is_whole() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("site");
    published(&folder, "a");
    published(&folder, "a");
    let beside = dir.path().join(".site.kept");
    let text = fs::read_to_string(&beside).unwrap();
    let known = |text: &str| {
        fs::write(&beside, text).unwrap();
        Kept::of(&folder).before(&folder).made.len()
    };
    assert_eq!(known(&text), 2);
    assert_eq!(known(&text.replacen("\"x\"", "\"y\"", 1)), 0, "damaged");
    assert_eq!(known(&text.replacen("trueplate ", "trueplate 9", 1)), 0, "of another build");
    assert_eq!(known(&text[..text.len() / 2]), 0, "cut off");
    fs::remove_file(&beside).unwrap();
    assert_eq!(Kept::of(&folder).before(&folder).made.len(), 0);
    assert_eq!(published(&folder, "a").kept, 3);
}
