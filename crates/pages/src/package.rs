//! The data behind the pages for everybody's own programs: a Frictionless Data Package (version 2) of comma-separated
//! tables with units by the Unified Code for Units of Measure, a workbook of the same, the facts, and the original
//! files that tests used.
//!
//! Each table is one file, so that a changed reading changes few of them. The description names what is in them, not
//! their bytes: it stays as it is when a reading changes. The sums of all files stand in the list that publishing keeps in the folder.
mod archive;
mod bench;
mod results;
mod sheet;
mod table;
mod tests;

use crate::site::context::{Context, Shown};
use crate::site::{self, SiteOptions};
use archive::Packed;
use serde_json::{Value as Json, json};
use std::collections::BTreeMap;
use std::sync::Arc;
use table::{Lines, Open, Plan};
use trueplate_core::notebook::{Condition, FileRef, Notebook};
use trueplate_core::report::Report;

/// Licences of data that can be chosen: identifier of SPDX, in words, address of the text.
pub const LICENCES: &[(&str, &str, &str)] = &[
    (
        "CC-BY-4.0",
        "by anybody who names the bench (CC BY 4.0)",
        "https://creativecommons.org/licenses/by/4.0/",
    ),
    (
        "CC-BY-SA-4.0",
        "by anybody who names the bench, under the same terms (CC BY-SA 4.0)",
        "https://creativecommons.org/licenses/by-sa/4.0/",
    ),
    ("CC0-1.0", "by anybody, for anything (CC0 1.0)", "https://creativecommons.org/publicdomain/zero/1.0/"),
];

/// The tables, each `data/NAME.csv`.
pub const TABLES: [&str; 10] = [
    "models",
    "specimens",
    "tests",
    "readings",
    "results",
    "claims",
    "prices",
    "loads",
    "instruments",
    "calibrations",
];

/// Where the description of the package stands in the folder.
pub const DESCRIPTOR: &str = "datapackage.json";
/// Where the facts stand.
pub const FACTS: &str = "facts.json";
/// Where the workbook stands.
pub const WORKBOOK: &str = "data/bench.xlsx";

/// An original file that goes along: the bench holds its bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Original {
    /// Path within the folder, with forward slashes. The name it came with stays on the bench.
    pub path: String,
    /// SHA-256 of its bytes, lower-case hexadecimal.
    pub sha256: String,
    /// How many there are.
    pub bytes: u64,
    /// Media type.
    pub media: String,
}

/// "load=50 %; mode=fast".
fn condition(condition: &Condition) -> String {
    condition.iter().map(|(axis, value)| format!("{axis}={value}")).collect::<Vec<_>>().join("; ")
}

/// Files that tests of shown stations were computed from, among those the bench `kept` (SHA-256 and bytes). Photos
/// stay on the bench: they may show a serial number, or where they were taken.
pub(crate) fn originals(context: &Context, kept: &BTreeMap<String, u64>) -> Vec<Original> {
    let mut found = BTreeMap::new();
    for test in context.as_written().flat_map(|m| &m.tests) {
        let kind = context.kind(&test.kind);
        for (key, entry) in test.entries.iter().filter(|(_, entry)| !entry.files.is_empty()) {
            let log = kind.and_then(|k| k.field(key)).is_some_and(|f| f.shape.takes_files());
            for file in entry.files.iter().filter(|f| log || is_record(f)) {
                let Some(bytes) = kept.get(&file.sha256) else { continue };
                let path = format!(
                    "data/files/{}{}",
                    file.sha256.get(..16).unwrap_or(&file.sha256),
                    ending(&file.name)
                );
                let (sha256, media) = (file.sha256.clone(), media(&file.media));
                found.insert(sha256.clone(), Original { path, sha256, bytes: *bytes, media });
            }
        }
    }
    found.into_values().collect()
}

/// What an instrument writes, by its name; never a picture or a sound.
fn is_record(file: &FileRef) -> bool {
    let written = [".csv", ".tsv", ".txt", ".log", ".json", ".jsonl", ".gz", ".bin", ".wfm", ".isf"];
    let shows = ["image/", "video/", "audio/"].iter().any(|s| file.media.to_lowercase().starts_with(s));
    !shows && written.contains(&ending(&file.name).as_str())
}

/// ".csv" of a name; only short plain endings, nothing that a hostile name could smuggle in.
fn ending(name: &str) -> String {
    match name.rsplit_once('.') {
        Some((_, e)) if (1..=5).contains(&e.len()) && e.bytes().all(|b| b.is_ascii_alphanumeric()) => {
            format!(".{}", e.to_lowercase())
        }
        _ => String::new(),
    }
}

/// A media type that is one.
fn media(text: &str) -> String {
    let plain = |part: &str| {
        !part.is_empty() && part.bytes().all(|b| b.is_ascii_alphanumeric() || b"+-.".contains(&b))
    };
    match text.split_once('/') {
        Some((a, b)) if plain(a) && plain(b) => text.to_lowercase(),
        _ => "application/octet-stream".into(),
    }
}

/// The package of a whole bench, stations that may not be published yet included: for the tester, not for the world.
pub fn whole(report: &Report) -> BTreeMap<String, Vec<u8>> {
    let mut open = report.clone();
    open.models.iter_mut().for_each(|m| Arc::make_mut(&mut m.own).gate.clear());
    site::data(&open, &SiteOptions::default())
}

/// Some lines of a table as they stand in its file and, where it is a sheet too, in the workbook.
struct Piece {
    plan: &'static Plan,
    csv: String,
    count: u32,
    packed: Option<Packed>,
}

impl Piece {
    fn of(lines: Lines) -> Piece {
        let packed = lines.sheet.map(|rows| Packed::of(rows.as_bytes()));
        Piece { plan: lines.plan, csv: lines.csv, count: lines.count, packed }
    }
}

/// The lines of one station in every table that speaks of stations.
#[derive(Clone)]
pub(crate) struct Tables {
    alone: [Arc<Piece>; 7],
    /// Those of the results that say its places, without and with them. They stand before the others. Without them they are
    /// not known where they were taken from files.
    open: Option<Arc<Open>>,
    placed: Arc<Piece>,
}

impl Tables {
    /// Rests on the station, its address, the columns of the comparison, and its places in them.
    pub(crate) fn of(context: &Context, shown: &Shown) -> Tables {
        let all = [
            bench::models(context, shown),
            bench::specimens(shown),
            tests::tests(context, shown),
            tests::readings(context, shown),
            results::of_samples(shown),
            bench::claims(shown),
            bench::prices(context, shown),
        ];
        let open = Arc::new(results::of_station(context, shown));
        let placed = Arc::new(Piece::of(results::placed(&open, shown)));
        Tables { alone: all.map(|lines| Arc::new(Piece::of(lines))), open: Some(open), placed }
    }

    /// The same with other places.
    pub(crate) fn placed(&self, context: &Context, shown: &Shown) -> Tables {
        let open = self.open.clone().unwrap_or_else(|| Arc::new(results::of_station(context, shown)));
        let placed = Arc::new(Piece::of(results::placed(&open, shown)));
        Tables { alone: self.alone.clone(), open: Some(open), placed }
    }

    /// Those that stand in files; `None` where they do not stand there.
    pub(crate) fn taken(files: &BTreeMap<String, Vec<u8>>, at: &[At]) -> Option<Tables> {
        let mut at = at.iter();
        let (mut alone, mut placed) = (Vec::new(), None);
        for plan in PLANS {
            if std::ptr::eq(plan, &results::RESULTS) {
                placed = Some(Arc::new(Piece::taken(plan, files, at.next()?)?));
            }
            alone.push(Arc::new(Piece::taken(plan, files, at.next()?)?));
        }
        Some(Tables { alone: alone.try_into().ok()?, open: None, placed: placed? })
    }

    /// Its pieces of a table.
    fn of_table(&self, i: usize) -> impl Iterator<Item = &Piece> {
        let placed = std::ptr::eq(PLANS[i], self.placed.plan).then_some(&*self.placed);
        placed.into_iter().chain([&*self.alone[i]])
    }
}

/// Where a piece stands: in the file of its table, and packed in the workbook where it is there too. Begin and length of
/// either, how many lines, and check sum and length of what is packed.
pub(crate) type At = [u64; 7];

impl Piece {
    fn at(&self, csv: &mut usize, packed: &mut usize) -> At {
        let (long, sum, of) = self.packed.as_ref().map_or((0, 0, 0), |p| (p.bytes.len(), p.of.0, p.of.1));
        let at = [*csv, self.csv.len(), *packed, long].map(|n| n as u64);
        (*csv, *packed) = (*csv + self.csv.len(), *packed + long);
        [at[0], at[1], at[2], at[3], self.count.into(), sum.into(), of]
    }

    fn taken(plan: &'static Plan, files: &BTreeMap<String, Vec<u8>>, at: &At) -> Option<Piece> {
        let part = |path: &str, begin: u64, long: u64| {
            let (begin, long) = (usize::try_from(begin).ok()?, usize::try_from(long).ok()?);
            files.get(path)?.get(begin..begin.checked_add(long)?)
        };
        let [begin, long, packed_begin, packed_long, count, sum, of] = *at;
        let csv = String::from_utf8(part(&plan.path(), begin, long)?.to_vec()).ok()?;
        // A packed piece is never empty, not even that of nothing.
        let packed = match packed_long {
            0 => None,
            long => {
                let bytes = part(WORKBOOK, packed_begin, long)?.to_vec();
                Some(Packed { bytes, of: (u32::try_from(sum).ok()?, of) })
            }
        };
        Some(Piece { plan, csv, count: u32::try_from(count).ok()?, packed })
    }
}

/// Paths of the files that [`Tables`] can be taken from.
pub(crate) fn with_lines() -> impl Iterator<Item = String> {
    PLANS.iter().map(|plan| plan.path()).chain([WORKBOOK.to_string()])
}

/// The tables that speak of stations, in the order of [`Tables`].
static PLANS: [&Plan; 7] = [
    &bench::MODELS,
    &bench::SPECIMENS,
    &tests::TESTS,
    &tests::READINGS,
    &results::RESULTS,
    &bench::CLAIMS,
    &bench::PRICES,
];

/// A table put together: its plan and its pieces.
type Table<'a> = (&'static Plan, Vec<&'a Piece>);

fn csv((plan, pieces): &Table) -> Vec<u8> {
    let head = plan.head();
    let mut out = Vec::with_capacity(head.len() + pieces.iter().map(|p| p.csv.len()).sum::<usize>());
    out.extend(head.as_bytes());
    pieces.iter().for_each(|p| out.extend(p.csv.as_bytes()));
    out
}

fn as_sheet<'a>((plan, pieces): &Table<'a>) -> Option<sheet::Sheet<'a>> {
    let lines = pieces.iter().map(|p| p.packed.as_ref()).collect::<Option<Vec<_>>>()?;
    Some(sheet::Sheet { plan, count: pieces.iter().map(|p| p.count).sum(), lines })
}

/// Every other file of the package by its path, but the originals, which the bench holds; from the lines of the stations in
/// the order they were written down. With where the pieces of each station stand; nothing where there is no workbook.
pub(crate) fn files(context: &Context, stations: &[&Tables]) -> (BTreeMap<String, Vec<u8>>, Vec<Vec<At>>) {
    let common = [bench::loads(context), bench::instruments(context), bench::calibrations(context)];
    let common = common.map(Piece::of);
    let of_stations = PLANS
        .iter()
        .enumerate()
        .map(|(i, plan)| (*plan, stations.iter().flat_map(|s| s.of_table(i)).collect()));
    let tables: Vec<Table> = of_stations.chain(common.iter().map(|p| (p.plan, vec![p]))).collect();
    let mut files = BTreeMap::new();
    let title = title(context.notebook);
    let sheets: Vec<sheet::Sheet> = tables.iter().filter_map(as_sheet).collect();
    // A table beyond what the format holds has no workbook; the tables themselves are whole.
    let book = sheet::workbook(&title, &context.report.as_of, &sheets);
    let mut resources: Vec<Json> = tables.iter().map(|(plan, _)| plan.json()).collect();
    let other = |name: &str, title: &str, path: &str, format: &str, media: &str| json!({ "name": name, "title": title, "path": path, "format": format, "mediatype": media });
    let described = other(
        "facts",
        "Facts: every number that may be said, with its id and version",
        FACTS,
        "json",
        "application/json",
    );
    resources.push(described);
    let mut pieces = Vec::new();
    if let Some((book, begins)) = book {
        pieces = standing(stations, |plan| {
            let nth = sheets.iter().position(|s| std::ptr::eq(s.plan, plan));
            nth.and_then(|n| begins.get(n).copied()).unwrap_or_default()
        });
        let media = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
        let described = other("workbook", "The main tables as one spreadsheet", WORKBOOK, "xlsx", media);
        resources.push(described);
        files.insert(WORKBOOK.into(), book);
    }
    for original in &context.originals {
        let short = original.sha256.get(..16).unwrap_or(&original.sha256);
        resources.push(json!({
            "name": format!("file-{short}"),
            "title": "An original file of an instrument",
            "path": original.path,
            "mediatype": original.media,
            "bytes": original.bytes,
            "hash": format!("sha256:{}", original.sha256),
        }));
    }
    files.extend(tables.iter().map(|t| (t.0.path(), csv(t))));
    let mut text = format!("{:#}", descriptor(context, &title, resources)).into_bytes();
    text.push(b'\n');
    files.insert(DESCRIPTOR.into(), text);
    (files, pieces)
}

/// Where the pieces of each station stand, when the lines of each table begin in the workbook as said.
fn standing(stations: &[&Tables], begins: impl Fn(&'static Plan) -> usize) -> Vec<Vec<At>> {
    let mut found: Vec<Vec<At>> = stations.iter().map(|_| Vec::new()).collect();
    for (i, plan) in PLANS.iter().enumerate() {
        let (mut csv, mut packed) = (plan.head().len(), begins(plan));
        for (tables, found) in stations.iter().zip(&mut found) {
            found.extend(tables.of_table(i).map(|piece| piece.at(&mut csv, &mut packed)));
        }
    }
    found
}

fn title(notebook: &Notebook) -> String {
    let site = &notebook.settings.site;
    if site.is_empty() {
        "Tests of portable power stations".into()
    } else {
        format!("{site}: tests of portable power stations")
    }
}

/// The licence as the package states it: an identifier of the Open Definition list.
fn licence(id: &str) -> Json {
    match LICENCES.iter().find(|(known, ..)| *known == id) {
        Some((id, words, path)) => {
            json!({ "name": id, "title": format!("May be used {words}"), "path": path })
        }
        None => {
            json!({ "name": "notspecified", "title": "No licence is given: ask the tester before you pass the data on" })
        }
    }
}

fn descriptor(context: &Context, title: &str, resources: Vec<Json>) -> Json {
    let settings = &context.notebook.settings;
    let tester = if settings.tester.is_empty() { "the tester" } else { &settings.tester };
    let mut package = json!({
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "power-station-tests",
        "title": title,
        "description": format!(
            "Computed as of {}. u is a standard uncertainty, half_width that of the interval which holds the true value \
             with 95 %. Units are codes of the Unified Code for Units of Measure; a price has a currency instead. Where a \
             value is missing, a word says why. A text that a spreadsheet would take for a formula has one apostrophe in \
             front: take it away to have the text as it was. How each result is found stands in how.html, who got what \
             from whom in about.html.",
            context.report.as_of
        ),
        "version": context.report.as_of,
        "keywords": ["portable power station", "battery", "inverter", "measurement", "uncertainty"],
        "licenses": [licence(&settings.licence)],
        "contributors": [{ "title": tester, "roles": ["author"] }],
        "resources": resources,
    });
    if settings.demo {
        package["description"] = json!(format!(
            "A demonstration: makers, stations, tester and numbers are invented. {}",
            package["description"].as_str().unwrap_or_default()
        ));
    }
    package
}
