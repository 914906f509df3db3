//! Beginning a test: which kind, on which sample; question, method and cautions before the start.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles};
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::words;
use crate::desk::{Deed, free_id, today};
use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect};
use trueplate_core::kind::Spec;
use trueplate_core::kinds;
use trueplate_core::notebook::Test;
use trueplate_core::record::Record;

#[derive(Template)]
#[template(path = "test_kinds.html")]
struct KindsPage {
    top: Top,
    specimens: Vec<(String, String, bool)>,
    specimen: String,
    kinds: Vec<KindLine>,
}

struct KindLine {
    id: &'static str,
    title: &'static str,
    question: &'static str,
    takes: String,
    attended: bool,
    judges: String,
}

#[derive(Template)]
#[template(path = "test_new.html")]
struct BeginPage {
    top: Top,
    specimen: String,
    name: String,
    spec: &'static Spec,
    takes: String,
    firmware: Vec<(String, bool)>,
    day: String,
    ticked: Vec<bool>,
    troubles: Troubles,
}

/// The kinds for a sample, or one kind with its cautions.
pub async fn choose(ask: Ask) -> Answer {
    let notebook = ask.notebook();
    let wanted = ask.query.get("specimen");
    let here = notebook.specimens.iter().filter(|s| s.returned.is_empty() || s.id == wanted);
    let here: Vec<_> = here.collect();
    if notebook.specimens.is_empty() {
        return Ok(Redirect::to("/?need=1").into_response());
    }
    let specimen = match wanted {
        "" => here.last().map_or(String::new(), |s| s.id.clone()),
        id => notebook.specimen(id).ok_or_else(|| no_specimen(id))?.id.clone(),
    };
    if let Some(kind) = kinds::find(ask.query.get("kind")) {
        return Ok(html(&begin_page(&ask, &specimen, kind.spec(), &Sent::default(), Vec::new())));
    }
    let claims: Vec<_> = notebook
        .model_of(&specimen)
        .map(|m| m.claims.iter().map(|c| c.key.clone()).collect())
        .unwrap_or_default();
    let line = |s: &&'static Spec| KindLine {
        id: s.id,
        title: s.title,
        question: s.question,
        takes: words::about(s.minutes),
        attended: s.attended,
        judges: s
            .results
            .iter()
            .filter(|r| claims.iter().any(|c| c == r.key))
            .map(|r| r.title.to_lowercase())
            .collect::<Vec<_>>()
            .join(", "),
    };
    let specimens = here
        .iter()
        .map(|s| (s.id.clone(), words::specimen_name(notebook, &s.id), s.id == specimen))
        .collect();
    let kinds = ask.report.kinds.iter().map(line).collect();
    Ok(html(&KindsPage { top: ask.top(), specimens, specimen, kinds }))
}

fn no_specimen(id: &str) -> Fault {
    Fault::Missing(format!("There is no sample `{id}` on this bench."))
}

fn begin_page(
    ask: &Ask,
    specimen: &str,
    spec: &'static Spec,
    sent: &Sent,
    troubles: Vec<(String, String)>,
) -> BeginPage {
    let notebook = ask.notebook();
    let known = notebook.specimen(specimen);
    let now = known.map_or("", |s| s.firmware_now());
    BeginPage {
        top: ask.top(),
        specimen: specimen.into(),
        name: words::specimen_name(notebook, specimen),
        spec,
        takes: words::about(spec.minutes),
        firmware: known
            .map(|s| s.firmware.iter().map(|f| (f.version.clone(), f.version == now)).collect())
            .unwrap_or_default(),
        day: if sent.get("day").is_empty() { today(notebook) } else { sent.get("day").into() },
        ticked: (0..spec.cautions.len()).map(|i| sent.ticked(&format!("caution-{i}"))).collect(),
        troubles: Troubles(troubles),
    }
}

/// Begins the test when every caution is ticked.
pub async fn begin(ask: Ask, State(site): State<Site>, sent: Sent) -> Answer {
    let kind = kinds::find(sent.get("kind"));
    let spec =
        kind.map(|k| k.spec()).ok_or_else(|| Fault::Missing("There is no such kind of test.".into()))?;
    let notebook = ask.notebook();
    let specimen = sent.get("specimen");
    let sample = notebook.specimen(specimen).ok_or_else(|| no_specimen(specimen))?;
    let mut r = Reader::new(&sent, &notebook.settings);
    let day = r.day("day");
    if !sample.returned.is_empty() && (day.is_empty() || day > sample.returned) {
        let words = format!(
            "This sample was sent back on {} and cannot be retested; a day before that can be written down later",
            sample.returned
        );
        r.trouble("day", &words);
    }
    let open = (0..spec.cautions.len()).filter(|i| !sent.ticked(&format!("caution-{i}"))).count();
    if open > 0 {
        r.trouble("cautions", "Read each caution and tick it; the test does not begin before");
    }
    if !r.troubles.is_empty() {
        let troubles = r.troubles;
        return Ok(refused(&begin_page(&ask, specimen, spec, &sent, troubles)));
    }
    let test = Test {
        kind: spec.id.into(),
        specimen: specimen.into(),
        firmware: sent.text("firmware"),
        revision: spec.revision,
        day: if day.is_empty() { today(notebook) } else { day },
        conditioning: sent.ticked("conditioning"),
        held_out: sent.ticked("held_out"),
        ..Test::default()
    };
    let done = site.act(move |notebook| {
        let id = free_id(notebook, "test", &format!("{} {}", test.kind, test.specimen));
        Ok(Deed {
            records: vec![Record::Test(Test { id: id.clone(), ..test })],
            why: String::new(),
            then: id,
        })
    });
    let done = done.await?;
    Ok(kept(&super::at::test(&done.then.unwrap_or_default()), done.stroke))
}
