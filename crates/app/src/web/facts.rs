//! What may be said of a station: every publishable number with its forms, its safe wording, its trail, and what the
//! record does not support. To be read, copied, and taken along as a file.
use super::at;
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::words;
use askama::Template;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use trueplate_core::facts::{self, Fact, Facts, Sort};
use trueplate_core::report::ModelReport;

#[derive(Template)]
#[template(path = "facts_list.html")]
struct ListPage {
    top: Top,
    models: Vec<(String, String, String)>,
}

#[derive(Template)]
#[template(path = "facts.html")]
struct Page {
    top: Top,
    id: String,
    name: String,
    count: usize,
    as_of: String,
    groups: Vec<(&'static str, Vec<Line>)>,
    former: Vec<Line>,
    next: (String, &'static str),
}

struct Line {
    id: String,
    version: String,
    title: String,
    rounded: String,
    spoken: String,
    wording: String,
    do_not_say: Vec<String>,
    link: String,
    former: String,
}

fn line(ask: &Ask, fact: &Fact) -> Line {
    Line {
        id: fact.id.clone(),
        version: fact.version.clone(),
        title: words::unbroken(&fact.title),
        rounded: words::unbroken(&fact.rounded),
        // What is said aloud of a verdict or a place is its printed form already.
        spoken: if fact.spoken == fact.rounded { String::new() } else { fact.spoken.clone() },
        wording: if fact.may_be_printed() { fact.wording.clone() } else { String::new() },
        do_not_say: fact.do_not_say.clone(),
        link: at::fact(&ask.report, fact),
        former: fact.former.clone(),
    }
}

/// Headings in the order of a script: what was found, what it means for use, what was promised, what it costs.
const GROUPS: [(&str, &[Sort]); 5] = [
    ("Measured", &[Sort::Measured]),
    ("How long it runs", &[Sort::Runtime]),
    ("Stated by the maker, and what became of it", &[Sort::Claimed, Sort::Verdict, Sort::Count]),
    ("Price", &[Sort::Price]),
    ("Place among the stations", &[Sort::Rank]),
];

fn model<'a>(ask: &'a Ask, id: &str) -> Result<&'a ModelReport, Fault> {
    ask.report.models.iter().find(|m| m.id == id).ok_or_else(|| super::models::missing(id))
}

/// All stations, with how many facts each has.
pub async fn list(ask: Ask) -> Answer {
    let all = facts::facts(&ask.report);
    let one = |m: &ModelReport| {
        let n = all.iter().filter(|f| f.model == m.id).count();
        let said = if n == 0 { "nothing to say yet".into() } else { words::plural(n, "fact", "facts") };
        (at::facts(&m.id), m.name.clone(), said)
    };
    Ok(html(&ListPage { top: ask.top(), models: ask.report.models.iter().map(one).collect() }))
}

/// The facts of one station.
pub async fn show(ask: Ask, Path(id): Path<String>) -> Answer {
    let model = model(&ask, &id)?;
    let Facts { mut current, former } = facts::of(&ask.report, model);
    // In the order of the handbook, as on every other page.
    let kinds = &ask.report.kinds;
    current.sort_by_key(|f| kinds.iter().position(|k| k.results.iter().any(|r| r.key == f.key)));
    let group = |(title, sorts): &(&'static str, &[Sort])| {
        let lines = current.iter().filter(|f| sorts.contains(&f.sort)).map(|f| line(&ask, f));
        (*title, lines.collect::<Vec<_>>())
    };
    let specimen = ask.notebook().specimens.iter().find(|s| s.model == id);
    Ok(html(&Page {
        top: ask.top(),
        name: model.name.clone(),
        count: current.len(),
        as_of: ask.report.as_of.clone(),
        groups: GROUPS.iter().map(group).filter(|(_, lines)| !lines.is_empty()).collect(),
        former: former.iter().map(|f| line(&ask, f)).collect(),
        next: match specimen {
            Some(s) => (at::new_test(&s.id), "Begin a test"),
            None => (at::new_specimen(&id), "Add the sample on the bench"),
        },
        id,
    }))
}

/// The same as a file, of one station.
pub async fn file(ask: Ask, Path((id, name)): Path<(String, String)>) -> Answer {
    let found = facts::of(&ask.report, model(&ask, &id)?);
    written(&found, &name, &format!("facts-{}", facts::slug(&id)))
}

/// The same as a file, of all stations.
pub async fn whole_file(ask: Ask, Path(name): Path<String>) -> Answer {
    written(&facts::all(&ask.report), &name, "facts")
}

fn written(found: &Facts, name: &str, stem: &str) -> Answer {
    let (ending, media, text) = match name {
        "facts.md" => ("md", "text/markdown; charset=utf-8", facts::markdown(&found.current)),
        "facts.csv" => ("csv", "text/csv; charset=utf-8", facts::csv(&found.current)),
        "facts.json" => ("json", "application/json", trueplate_pages::json::facts(found)),
        other => {
            let words =
                format!("Facts are handed over as facts.md, facts.csv or facts.json, not as {other}.");
            return Err(Fault::Missing(words));
        }
    };
    let disposition =
        format!("attachment; filename*=UTF-8''{}", super::page::escaped(&format!("{stem}.{ending}")));
    let headers = [(header::CONTENT_TYPE, media), (header::CONTENT_DISPOSITION, disposition.as_str())];
    let answer: Response = (headers, text).into_response();
    Ok(answer)
}
