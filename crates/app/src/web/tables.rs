//! A tester's old table: sent, its columns looked at and corrected, taken over at one stroke.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::upload;
use crate::desk::Deed;
use crate::old_table;
use askama::Template;
use axum::extract::{Multipart, Path, State};
use axum::response::{IntoResponse, Redirect};
use trueplate_core::claims::claimable;
use trueplate_core::measurand::ResultSpec;
use trueplate_core::notebook::{Condition, Earlier, Model, Notebook};
use trueplate_core::table::{self, Meaning, Plan, Table};

/// Largest table sent, in bytes.
pub const LARGEST: u64 = 16 << 20;

#[derive(Template)]
#[template(path = "import.html")]
struct Page {
    top: Top,
    /// Hash of the file looked at; empty before one was sent.
    sha: String,
    name: String,
    trouble: String,
    answer: String,
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
    findings: Vec<(String, String, String)>,
    /// Nothing would change.
    nothing: bool,
    /// Most bytes sent at once.
    most: u64,
}

struct Column {
    n: usize,
    name: String,
    meanings: Vec<(String, String, bool)>,
}

/// Where a table is sent to.
pub async fn new(ask: Ask) -> Answer {
    Ok(html(&empty(&ask, String::new())))
}

fn empty(ask: &Ask, trouble: String) -> Page {
    Page {
        top: Top { path: "/import".into(), ..ask.top() },
        sha: String::new(),
        name: String::new(),
        trouble,
        answer: String::new(),
        columns: Vec::new(),
        rows: Vec::new(),
        findings: Vec::new(),
        nothing: true,
        most: LARGEST,
    }
}

/// Takes a table and shows what its columns are taken for.
pub async fn keep(State(site): State<Site>, form: Multipart) -> Answer {
    let Some(arrived) = upload::read(&site, form, LARGEST).await?.files.into_iter().next_back() else {
        let ask = Ask::of(site.report().await?, Sent::default());
        return Ok(refused(&empty(&ask, "The file is empty, or none was chosen.".into())));
    };
    let file = site.with(move |desk| arrived.keep(desk)).await?;
    Ok(Redirect::to(&format!("/import/{}", file.sha256)).into_response())
}

/// The rows of a kept file and its name.
async fn rows(site: &Site, sha: &str) -> Result<(String, Vec<Vec<String>>), Fault> {
    let sha = sha.to_string();
    site.with(move |desk| {
        let missing = || Fault::Missing("No file with this mark is kept here.".into());
        let name = desk.kept_file(&sha)?.ok_or_else(missing)?.file.name;
        Ok((name, old_table::rows(&desk.file(&sha)?)))
    })
    .await
}

/// The table with what the form says of its columns; `None` where it is no table of stations.
fn understood(rows: &[Vec<String>], sent: &Sent) -> Option<Table> {
    let mut table = table::understand(rows)?;
    for (n, column) in table.columns.iter_mut().enumerate() {
        if let Some(meaning) = Meaning::of_key(sent.get(&format!("column-{n}"))) {
            *column = table::column(&column.name, meaning);
        }
    }
    Some(table)
}

/// A table as it is understood, and what it would become.
pub async fn show(State(site): State<Site>, Path(sha): Path<String>, ask: Ask) -> Answer {
    let (name, rows) = rows(&site, &sha).await?;
    Ok(html(&page(&ask, &sha, name, &rows, &ask.query)))
}

fn page(ask: &Ask, sha: &str, name: String, rows: &[Vec<String>], sent: &Sent) -> Page {
    let Some(table) = understood(rows, sent) else {
        let trouble = "No row of it looks like a header with the names of stations. It is kept; put a header such as \
                       “Model; Capacity Wh; Usable energy Wh” above the rows and send it again.";
        return Page { name, ..empty(ask, trouble.into()) };
    };
    let plan = table::plan(&table, rows, ask.notebook(), &name);
    let nameless = table.columns.iter().all(|c| c.meaning != Meaning::Name);
    let columns = table.columns.iter().enumerate().map(|(n, c)| Column {
        n,
        name: if c.name.is_empty() { format!("column {}", n + 1) } else { c.name.clone() },
        meanings: meanings(&c.meaning),
    });
    Page {
        top: Top { path: "/import".into(), ..ask.top() },
        sha: sha.into(),
        trouble: if nameless {
            "Say which column holds the names of the stations.".into()
        } else {
            String::new()
        },
        answer: format!("{}.", old_table::words(&plan)),
        columns: columns.collect(),
        rows: old_table::sample(&table, rows).cloned().collect(),
        findings: findings(&plan),
        nothing: plan.models.is_empty(),
        most: LARGEST,
        name,
    }
}

fn findings(plan: &Plan) -> Vec<(String, String, String)> {
    let one = |f: &trueplate_core::finding::Finding| {
        (super::models::weight(f).to_string(), format!("{}: {}", f.place, f.text), f.hint.clone())
    };
    plan.findings.iter().map(one).collect()
}

/// Everything a column can hold, the chosen one marked; one that stands under a condition is offered beside the rest.
fn meanings(chosen: &Meaning) -> Vec<(String, String, bool)> {
    let plain = ["skip", "name", "price", "price-date", "currency", "mains", "chemistry", "note"];
    let mut all: Vec<Meaning> = plain.into_iter().filter_map(Meaning::of_key).collect();
    let of = |sort: fn(&'static ResultSpec, Condition) -> Meaning| {
        claimable().iter().map(move |s| sort(s, Condition::new()))
    };
    all.extend(of(Meaning::Earlier));
    all.extend(of(Meaning::Claim));
    if !all.contains(chosen) {
        all.insert(0, chosen.clone());
    }
    all.iter().map(|m| (m.key(), m.words(), m == chosen)).collect()
}

/// Takes the table over: one stroke, so that it can be taken back whole.
pub async fn take(State(site): State<Site>, Path(sha): Path<String>, sent: Sent) -> Answer {
    let (name, rows) = rows(&site, &sha).await?;
    let done = site.act(move |notebook: &Notebook| {
        let table = understood(&rows, &sent)
            .filter(|t| t.columns.iter().any(|c| c.meaning == Meaning::Name))
            .ok_or_else(|| Fault::Unreadable("Say which column holds the names of the stations.".into()))?;
        let plan = table::plan(&table, &rows, notebook, &name);
        let why = format!("taken over from {name}");
        Ok(Deed { records: old_table::records(&plan, notebook), why, then: () })
    });
    Ok(kept("/models", done.await?.stroke))
}

/// A station's earlier results of which only the summary is left: what, how much, where it stood.
pub fn earlier(model: &Model) -> Vec<(String, String, String)> {
    let titled = |e: &Earlier| {
        let spec = trueplate_core::claims::spec_of(&e.key);
        spec.map_or_else(
            || e.key.clone(),
            |s| super::words::unbroken(&trueplate_core::report::titled(s, &e.condition)),
        )
    };
    model.earlier.iter().map(|e| (titled(e), e.text.clone(), e.source.clone())).collect()
}
