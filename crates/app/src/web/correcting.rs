//! Corrections: what was changed, what it did to verdicts and places, and who still carries the old number.
use super::Site;
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::words;
use crate::cli::publish::{known, pages_since};
use crate::desk::Besides;
use askama::Template;
use axum::extract::{Path, State};
use std::collections::BTreeMap;
use trueplate_core::corrections::effect::{Effect, effect};
use trueplate_core::corrections::spread::{StaleLine, lines, pinned, report_before};
use trueplate_core::corrections::{self, Correction, Of};
use trueplate_core::report::Report;
use trueplate_core::shown::capital;
use trueplate_pages::figure::{self, Form, Frame, Look};
use trueplate_pages::package::FACTS;
use trueplate_pages::site::Before;

#[derive(Template)]
#[template(path = "corrections.html")]
struct List {
    top: Top,
    lines: Vec<Line>,
}

struct Line {
    seq: i64,
    what: String,
    change: String,
    why: String,
    of: String,
    at: String,
}

fn line(ask: &Ask, c: &Correction) -> Line {
    let notebook = ask.notebook();
    let name = notebook.model(&c.model).map_or_else(String::new, |m| m.name.clone());
    let test = notebook.test(c.test()).map(words::kind_title);
    let of: Vec<String> = [Some(name), test].into_iter().flatten().filter(|s| !s.is_empty()).collect();
    Line {
        seq: c.seq,
        what: capital(&c.what),
        change: format!("{} → {}", c.old, if c.new.is_empty() { "nothing" } else { &c.new }),
        why: c.why.clone(),
        of: of.join(" · "),
        at: words::clock(&c.at, &notebook.settings),
    }
}

/// All of them, newest first.
pub async fn list(ask: Ask) -> Answer {
    let lines = corrections::all(ask.notebook()).iter().rev().map(|c| line(&ask, c)).collect();
    Ok(html(&List { top: ask.top(), lines }))
}

#[derive(Template)]
#[template(path = "correction.html")]
struct Page {
    top: Top,
    model: String,
    name: String,
    line: Line,
    link: String,
    effect: Option<Effect>,
    words: String,
    pages: Vec<String>,
    /// Files beside the pages: data, feed.
    data: Vec<String>,
    figures: Vec<Figure>,
    pictures: Vec<String>,
    stale: Vec<Stale>,
    scripts: usize,
    pinned: String,
}

/// A number that pictures made before carry.
struct Figure {
    title: String,
    change: String,
    /// Stands in the names of figures made from it: fact and version.
    mark: String,
}

struct Stale {
    link: String,
    title: String,
    place: String,
    says: String,
    record: String,
}

/// One correction with everything that hangs on it.
pub async fn show(ask: Ask, State(site): State<Site>, Path(seq): Path<i64>) -> Answer {
    let all = corrections::all(ask.notebook());
    let missing = || Fault::Missing(format!("There is no correction number {seq} on this bench."));
    let c = all.into_iter().find(|c| c.seq == seq).ok_or_else(missing)?;
    let scripts = site.with(|desk| Ok(desk.scripts()?)).await?;
    let (report, correction) = (ask.report.clone(), c.clone());
    let spread = tokio::task::spawn_blocking(move || Spread::of(&report, &correction, scripts));
    let spread = spread.await.map_err(|e| Fault::World(e.into()))?;
    let name = ask.notebook().model(&c.model).map_or_else(String::new, |m| m.name.clone());
    let link = match &c.of {
        Of::Test(id) if ask.notebook().test(id).is_some() => format!("{}/all", super::at::test(id)),
        Of::Claim(_) => format!("{}#claims", super::at::model(&c.model)),
        Of::Price => format!("{}#prices", super::at::model(&c.model)),
        Of::Test(_) => super::at::model(&c.model),
    };
    let stale = |l: &StaleLine| Stale {
        link: super::at::video(&c.model, &l.video),
        title: l.title.clone(),
        place: l.place(),
        says: l.says.clone(),
        record: l.record.clone(),
    };
    let text = spread.effect.as_ref().map_or_else(String::new, |e| pinned(&name, &c, e, &spread.lines));
    let (pages, data) = spread.pages.into_iter().partition(|p: &String| p.ends_with(".html"));
    Ok(html(&Page {
        top: Top { path: "/corrections".into(), ..ask.top() },
        model: c.model.clone(),
        name,
        line: line(&ask, &c),
        link,
        words: spread.effect.as_ref().map_or_else(String::new, Effect::words),
        figures: spread.effect.as_ref().map_or_else(Vec::new, figures),
        effect: spread.effect,
        pages,
        data,
        pictures: spread.pictures,
        stale: spread.lines.iter().map(stale).collect(),
        scripts: spread.scripts,
        pinned: text,
    }))
}

/// A figure, its interval and its unit stay on one line; "old → new" may break at the arrow.
fn together(change: &str) -> String {
    let side = |s: &str| match s.contains('±') {
        true => s.replace(' ', "\u{a0}"),
        false => s.replace(" = ", "\u{a0}=\u{a0}").replace(" < ", "\u{a0}<\u{a0}"),
    };
    change.split(" → ").map(side).collect::<Vec<_>>().join(" → ")
}

fn figures(effect: &Effect) -> Vec<Figure> {
    let one = |m: &trueplate_core::corrections::effect::Moved| Figure {
        title: m.title.clone(),
        change: together(&m.change()),
        mark: format!("{} {}", m.old.fact, m.old.version).trim_end().to_string(),
    };
    effect.facts.iter().map(one).collect()
}

/// Everything that carries the old number.
struct Spread {
    effect: Option<Effect>,
    /// Published files that read otherwise since.
    pages: Vec<String>,
    /// Pictures with the old number, by the names of their files at the usual size.
    pictures: Vec<String>,
    lines: Vec<StaleLine>,
    /// Kept scripts about the model.
    scripts: usize,
}

impl Spread {
    fn of(report: &Report, c: &Correction, scripts: BTreeMap<String, String>) -> Spread {
        let of_model = report.notebook.videos.iter().filter(|v| v.model == c.model);
        let kept: Vec<_> = of_model.filter_map(|v| Some((v, scripts.get(&v.script.sha256)?))).collect();
        let mut spread = Spread {
            effect: effect(report, c),
            pages: Vec::new(),
            pictures: Vec::new(),
            lines: Vec::new(),
            scripts: kept.len(),
        };
        let Some(before) = report_before(report, c) else { return spread };
        spread.lines = kept.into_iter().flat_map(|(v, text)| lines(report, &before, v, text)).collect();
        // The pages as they would be with the old number, held against those of now: nothing is guessed.
        // Pages that would be made from the same are the same, and not made at all.
        let as_now = Before { made: known(report, Besides::default()), ..Before::default() };
        let old = pages_since(&before, Besides::default(), &as_now);
        let facts = old.files.get(FACTS).map(|f| String::from_utf8_lossy(f).into_owned()).unwrap_or_default();
        let as_then = Before { made: old.made, facts, pieces: old.pieces, ..Before::default() };
        let new = pages_since(report, Besides::default(), &as_then);
        let moved = old.files.iter().filter(|(path, bytes)| new.files.get(*path) != Some(bytes));
        let pictures = |r: &Report| -> Vec<String> {
            let clear = Form { look: Look::Clear, layer: None };
            let all = figure::figures(r, &crate::figures::options(r), Some(&c.model));
            all.iter().map(|f| f.path(Frame::Hd, clear)).collect()
        };
        let now = pictures(report);
        spread.pictures = pictures(&before).into_iter().filter(|p| !now.contains(p)).collect();
        spread.pages = moved.map(|(path, _)| path.clone()).collect();
        spread
    }
}
