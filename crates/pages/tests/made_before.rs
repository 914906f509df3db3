//! Whoever leaves out what was made before from the same has the same, whatever was changed meanwhile: outcomes and report
//! from those before, pages from those before.
mod bench;
mod many;

use std::collections::BTreeMap;
use std::sync::Arc;
use trueplate_core::notebook::{Change, Notebook, Price, Specimen, Test};
use trueplate_core::outgoing::{Letter, ReaderQuestion};
use trueplate_core::record::Record;
use trueplate_core::recording::Recordings;
use trueplate_core::repeat;
use trueplate_core::report::{ModelReport, Own, Report, since};
use trueplate_pages::json;
use trueplate_pages::site::{Before, Pieces, SiteOptions, of_all, site, site_since};

/// Numbers that look like chance and are the same each time (Numerical Recipes' linear congruential generator).
struct Chance(u32);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 8) as usize % n.max(1)
    }
}

fn computed(notebook: &Notebook) -> Report {
    bench::computed(notebook.clone())
}

/// The report of a notebook from the one before; with how many models were shared with that.
fn computed_since(notebook: &Notebook, before: &Report) -> (Report, usize) {
    let none = Recordings::new();
    let outcomes = repeat::outcomes_since(notebook, &none, (&before.notebook, &before.outcomes));
    let now = since(Arc::new(notebook.clone()), Arc::new(outcomes), "2026-06-30", before);
    let was: BTreeMap<&str, &Arc<Own>> = before.models.iter().map(|m| (m.id.as_str(), &m.own)).collect();
    let same = |m: &&ModelReport| was.get(m.id.as_str()).is_some_and(|own| Arc::ptr_eq(own, &m.own));
    let shared = now.models.iter().filter(same).count();
    (now, shared)
}

/// A change of a test's entry as the bench file would tell it.
fn told(notebook: &mut Notebook, id: &str, field: &str, old: &str, new: &str) {
    let n = notebook.changes.len() as i64 + 1;
    notebook.changes.push(Change {
        seq: n,
        stroke: n,
        at: "2026-06-02T09:00:00Z".into(),
        record: "test".into(),
        id: id.into(),
        field: field.into(),
        old: format!("{old:?}"),
        new: format!("{new:?}"),
        why: "typed wrong".into(),
    });
}

/// One number of a text a little larger.
fn larger(text: &str) -> String {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    match text[..end].parse::<u64>() {
        Ok(n) => format!("{}{}", n + n / 50 + 1, &text[end..]),
        Err(_) => format!("{text} "),
    }
}

/// A reading typed anew, with or without a word of it in the history.
fn retyped(n: &mut Notebook, chance: &mut Chance, why: bool) {
    let at = chance.below(n.tests.len());
    let (id, keys): (String, Vec<String>) =
        (n.tests[at].id.clone(), n.tests[at].entries.keys().cloned().collect());
    let Some(key) = keys.get(chance.below(keys.len())) else { return };
    let Some(entry) = n.tests[at].entries.get_mut(key) else { return };
    let (old, new) = (entry.text.clone(), larger(&entry.text));
    entry.text.clone_from(&new);
    if why {
        told(n, &id, &format!("/entries/{key}/text"), &old, &new);
    }
}

/// A model with a sample and one test like another's.
fn newcomer(n: &mut Notebook, chance: &mut Chance) {
    let (m, k) = (chance.below(n.models.len()), n.models.len());
    let mut model = n.models[m].clone();
    // Now and then under the name of another, whose pages then have another address.
    if chance.below(2) == 0 {
        model.name = format!("Newcomer {k}");
    }
    model.id = format!("new{k}");
    let mut specimen = n.specimens[chance.below(n.specimens.len())].clone();
    (specimen.id, specimen.model) = (format!("new{k}a"), model.id.clone());
    let test = Test {
        id: format!("new{k}/t"),
        specimen: specimen.id.clone(),
        ..n.tests[chance.below(n.tests.len())].clone()
    };
    n.models.insert(chance.below(k), model);
    n.specimens.push(specimen);
    n.tests.push(test);
}

/// What somebody may do at a bench.
fn edit(n: &mut Notebook, what: usize, chance: &mut Chance) {
    let m = chance.below(n.models.len());
    let model = n.models[m].id.clone();
    match what {
        0 => retyped(n, chance, true),
        1 => retyped(n, chance, false),
        2 => {
            // The same test once more: the scatter of the whole bench.
            let test = n.tests[chance.below(n.tests.len())].clone();
            n.tests.push(Test { id: format!("{}-again{}", test.id, n.tests.len()), ..test });
        }
        3 => drop(n.tests.remove(chance.below(n.tests.len()))),
        4 => newcomer(n, chance),
        5 => n.models[m].claims.iter_mut().take(1).for_each(|c| c.text = larger(&c.text)),
        6 => {
            let currency = ["USD", "EUR"][chance.below(2)].to_string();
            let (amount, on) = (500.0 + chance.below(300) as f64, "2026-06-12".to_string());
            let kind = "list".to_string();
            n.models[m].prices.push(Price { amount, currency, on, kind, ..Price::default() });
        }
        7 => {
            let i = chance.below(n.instruments.len());
            n.instruments[i].accuracy.iter_mut().for_each(|a| a.of_reading *= 1.1);
        }
        8 => n.settings.tester.push('x'),
        9 => n.settings.as_of = format!("2026-0{}-30", 6 + chance.below(4)),
        10 => n.loads.iter_mut().take(1).for_each(|l| l.name.push('x')),
        11 => {
            let i = chance.below(n.specimens.len());
            n.specimens[i].provenance.push_str(", as said");
        }
        12 => {
            let text = "The figures.".to_string();
            let (id, sent) = (format!("l{}", n.letters.len()), "2026-05-01".to_string());
            n.letters.push(Letter { id, model, sent, text, ..Letter::default() });
        }
        13 => {
            let (id, about) = (format!("q{}", n.questions.len()), "usable-energy".to_string());
            let text = "How much comes out?".to_string();
            n.questions.push(ReaderQuestion { id, model, about, text, ..ReaderQuestion::default() });
        }
        14 => {
            let i = chance.below(n.tests.len());
            n.tests[i].excluded = "somebody opened the window".into();
        }
        15 => n.models[m].name.push_str(" II"),
        16 => {
            let id = format!("second{}", n.specimens.len());
            n.specimens.push(Specimen { id, model, ..n.specimens[0].clone() });
        }
        _ => n.settings.repeatability *= 1.1,
    }
}

const EDITS: usize = 18;

/// Edits a bench again and again; each time the report from the one before is the report from nothing, and what was left
/// out and what was made give the whole site. How many pages were left out, and how many models taken over.
fn edited(mut notebook: Notebook, options: &SiteOptions, order: &[usize], seed: u32) -> (usize, usize) {
    let mut chance = Chance(seed);
    let (mut files, mut before): (BTreeMap<_, _>, _) = (BTreeMap::new(), Before::default());
    let (mut taken, mut last): (_, Option<Report>) = ((0, 0), None);
    for (step, what) in [usize::MAX].iter().chain(order).enumerate() {
        if *what != usize::MAX {
            edit(&mut notebook, *what, &mut chance);
        }
        let report = computed(&notebook);
        let whole = site(&report, options).files;
        let (since, shared) = last.as_ref().map_or((report.clone(), 0), |l| computed_since(&notebook, l));
        assert_eq!(json::report(&since), json::report(&report), "step {step}, edit {what}");
        let renewed = site_since(&since, options, &before);
        let mut now = renewed.files;
        for path in &renewed.same {
            let old: &Vec<u8> = files.get(path).expect("it was made before");
            assert!(now.insert(path.clone(), old.clone()).is_none(), "{path} was made and left out");
        }
        taken = (taken.0 + renewed.same.len(), taken.1 + shared);
        last = Some(since);
        let differ: Vec<&String> =
            whole.keys().chain(now.keys()).filter(|p| whole.get(*p) != now.get(*p)).collect();
        assert!(differ.is_empty(), "step {step}, edit {what}: {differ:?}");
        let facts = String::from_utf8(now["facts.json"].clone()).expect("text");
        // What was worked out is remembered, as in the running program, or not.
        let pieces = if step % 4 == 3 { Pieces::default() } else { renewed.pieces };
        let stand = now.keys().cloned().collect();
        let of_all = of_all().filter_map(|path| Some((path.clone(), now.get(&path)?.clone()))).collect();
        (files, before) = (now, Before { made: renewed.made, facts, files: of_all, pieces, stand });
    }
    taken
}

#[test]
fn every_edit_of_a_bench_whose_pages_name_each_other() {
    let order: Vec<usize> = (0..EDITS).chain((0..EDITS).rev()).collect();
    let (taken, shared) = edited(bench::notebook(), &SiteOptions::default(), &order, 7);
    assert!(taken > EDITS, "only {taken} pages were left out");
    assert!(shared > EDITS, "only {shared} models were taken over");
    // Cards, too, and the addresses in them.
    let options = SiteOptions {
        base: "https://bench.example/".into(),
        cards: Some(BTreeMap::new()),
        ..SiteOptions::default()
    };
    edited(bench::notebook(), &options, &[0, 5, 8, 15, 4], 8);
}

#[test]
fn every_edit_of_a_bench_with_many_stations() {
    let mut notebook = bench::notebook();
    // More than a page names.
    const MORE: usize = 53;
    many::ground(MORE).expect("the ground").into_iter().for_each(|record| match record {
        Record::Settings(_) => (),
        other => notebook.put(other),
    });
    for i in 0..MORE {
        many::tests(i).expect("its tests").into_iter().take(3).for_each(|r| notebook.put(r));
    }
    notebook.put(Record::Test(many::changed(&notebook).expect("its test")));
    let order = [0, 4, 5, 3, 15, 13, 0];
    let (taken, shared) = edited(notebook, &SiteOptions::default(), &order, 9);
    // A station more or a reading changed leaves nearly all pages as they were.
    assert!(taken > order.len() / 2 * MORE, "only {taken} pages were left out");
    assert!(shared > order.len() / 2 * MORE, "only {shared} models were taken over");
}

/// One and the same change of what all share leaves no page out.
#[test]
fn what_all_share_is_in_every_sum() {
    for what in [7, 8, 10] {
        let mut notebook = bench::notebook();
        let options = SiteOptions::default();
        let before = site_since(&computed(&notebook), &options, &Before::default());
        assert!(!before.made.is_empty() && before.same.is_empty());
        edit(&mut notebook, what, &mut Chance(1));
        let before = Before { made: before.made, pieces: before.pieces, ..Before::default() };
        assert!(site_since(&computed(&notebook), &options, &before).same.is_empty(), "edit {what}");
    }
}

/// What stands in the files of all is taken from them: a letter that somebody put there shows.
#[test]
fn what_stands_in_files_at_hand_is_not_worked_out_again() {
    let (report, options) = (computed(&bench::notebook()), SiteOptions::default());
    let first = site_since(&report, &options, &Before::default());
    for (path, after) in
        [("data/readings.csv", "\r\n"), ("data/results.csv", "\r\n"), ("run.html", "\"models\":[{")]
    {
        let mut files = first.files.clone();
        let bytes = files.get_mut(path).expect("a file of all");
        let at =
            bytes.windows(after.len()).position(|w| w == after.as_bytes()).expect("a line") + after.len();
        bytes[at + 1] = b'#';
        let want = bytes.clone();
        let before = Before { made: first.made.clone(), files, ..Before::default() };
        let again = site_since(&report, &options, &before).files;
        assert!(again.get(path) == Some(&want), "{path}");
    }
}
