//! The pictures for the video: seen as they will look, and downloaded in each size and form.
use super::Site;
use super::at;
use super::fault::Fault;
use super::page::{Answer, Ask, Top, escaped, html};
use crate::cli::publish::in_the_way;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;
use trueplate_core::finding::Finding;
use trueplate_core::notebook::Notebook;
use trueplate_pages::figure::{Figure, Form, Frame, Look, letters};

#[derive(Template)]
#[template(path = "figures.html")]
struct Page {
    top: Top,
    name: String,
    model: String,
    gate: Vec<(String, String, String)>,
    /// Link, text and hint of each text with letters that pictures lack.
    undrawn: Vec<(String, String, String)>,
    groups: Vec<Group>,
}

struct Group {
    title: &'static str,
    about: &'static str,
    wide: bool,
    pictures: Vec<Picture>,
}

struct Picture {
    title: String,
    says: String,
    clear: String,
    /// Size as read, then links with their words.
    files: Vec<(String, Vec<(String, String)>)>,
    layers: Vec<(String, Vec<(String, String)>)>,
}

#[derive(Template)]
#[template(path = "figures_list.html")]
struct ListPage {
    top: Top,
    models: Vec<(String, String, String)>,
}

/// Sorts of figure in the order of a video, with what to say of them.
const SORTS: [(&str, &str, &str); 6] = [
    ("disclosure", "Disclosure", "show it early, and say it aloud"),
    ("strip", "One number", "a strip at the foot of the picture"),
    ("claim", "Claim against measured", "the tick is the claim, the bar is 95 % of what was measured"),
    ("bars", "Compared", "with the stations nearest to it"),
    ("runtime", "How long it runs", "against the load"),
    ("discharge", "A discharge", "the area is the energy"),
];

fn size_words(frame: Frame) -> String {
    let (wide, high) = frame.pixels();
    format!("{wide} × {high}")
}

fn form_words(form: Form) -> String {
    match (form.look, form.layer) {
        (Look::Clear, None) => "transparent".into(),
        (Look::Plate, None) => "on a plate".into(),
        (Look::Clear, Some(n)) => format!("transparent {n}"),
        (Look::Plate, Some(0)) => "the plate".into(),
        (Look::Plate, Some(n)) => format!("on the plate {n}"),
    }
}

/// The address of one picture. It names the version, so that a browser may keep it.
fn address(figure: &Figure, frame: Frame, form: Form) -> String {
    let (fact, version) = (escaped(&figure.fact), &figure.version);
    let (kind, size, form) = (figure.kind(), frame.key(), form.key());
    format!(
        "{}/picture?fact={fact}&kind={kind}&size={size}&form={form}&v={version}",
        at::model(&figure.model)
    )
}

fn picture(figure: &Figure) -> Picture {
    let forms = figure.forms();
    let links = |frame: Frame, layers: bool| {
        let of = forms.iter().filter(|f| f.layer.is_some() == layers);
        of.map(|f| (address(figure, frame, *f), form_words(*f))).collect::<Vec<_>>()
    };
    let sizes = |layers: bool| Frame::ALL.map(|frame| (size_words(frame), links(frame, layers))).to_vec();
    Picture {
        title: figure.title.clone(),
        says: figure.said(Frame::Hd).join(", "),
        clear: address(figure, Frame::Hd, Form { look: Look::Clear, layer: None }),
        files: sizes(false),
        layers: sizes(true),
    }
}

fn missing(id: &str) -> Fault {
    Fault::Missing(format!("There is no station `{id}` on this bench."))
}

fn model_name<'n>(notebook: &'n Notebook, id: &str) -> Result<&'n str, Fault> {
    notebook.model(id).map(|m| m.name.as_str()).ok_or_else(|| missing(id))
}

/// Where a text with letters that pictures lack can be written anew.
pub fn written_at(f: &Finding) -> String {
    match f.code.as_str() {
        letters::NAME => format!("{}/edit", at::model(&f.place)),
        letters::SAMPLE => at::specimen(&f.place),
        letters::LOAD => at::load(&f.place),
        letters::SETTING => "/settings".into(),
        _ => String::new(),
    }
}

/// Stations and how many pictures each has.
pub async fn list(ask: Ask, State(site): State<Site>) -> Answer {
    let all = site.with(|desk| Ok(desk.figures()?)).await?;
    let line = |m: &trueplate_core::report::ModelReport| {
        let count = all.iter().filter(|f| f.model == m.id).count();
        let words = match (m.gate.first(), count) {
            (Some(_), _) => "none without disclosure".to_string(),
            (None, 0) => "nothing measured yet".into(),
            (None, n) => super::words::plural(n, "picture", "pictures"),
        };
        (format!("{}/figures", at::model(&m.id)), m.name.clone(), words)
    };
    let models = ask.report.models.iter().map(line).collect();
    Ok(html(&ListPage { top: ask.top(), models }))
}

/// The pictures of one station.
pub async fn show(ask: Ask, State(site): State<Site>, Path(id): Path<String>) -> Answer {
    let name = model_name(ask.notebook(), &id)?.to_string();
    let blocked = in_the_way(&ask.report, Some(&id));
    let link = |code: &str, place: &str| match code {
        "no-provenance" => at::specimen(place),
        _ => at::new_specimen(&id),
    };
    let gate = blocked.iter().flat_map(|(_, findings)| findings);
    let gate = gate.map(|f| (link(&f.code, &f.place), f.text.clone(), f.hint.clone())).collect();
    let all = site.with(|desk| Ok(desk.figures()?)).await?;
    let own: Vec<&Figure> = all.iter().filter(|f| f.model == id).collect();
    let undrawn = letters::undrawn(&ask.report, Some(&own));
    let undrawn = undrawn.into_iter().map(|f| (written_at(&f), f.text, f.hint)).collect();
    let group = |(kind, title, about): (&str, &'static str, &'static str)| {
        let of = all.iter().filter(|f| f.model == id && f.kind() == kind);
        Group { title, about, wide: kind != "strip", pictures: of.map(picture).collect() }
    };
    let groups = SORTS.into_iter().map(group).filter(|g| !g.pictures.is_empty()).collect();
    Ok(html(&Page { top: ask.top(), name, model: at::model(&id), gate, undrawn, groups }))
}

/// One picture as a file.
pub async fn file(ask: Ask, State(site): State<Site>, Path(id): Path<String>) -> Answer {
    model_name(ask.notebook(), &id)?;
    let asked = |key: &str| ask.query.get(key).to_string();
    let (fact, kind, size, form) = (asked("fact"), asked("kind"), asked("size"), asked("form"));
    let version = asked("v");
    let drawn = site.with(move |desk| {
        let all = desk.figures()?;
        let same = |f: &&Figure| f.model == id && f.fact == fact && f.kind() == kind;
        let found = all.iter().find(same).filter(|f| version.is_empty() || f.version == version);
        let frame = Frame::ALL.into_iter().find(|f| f.key() == size);
        let (Some(figure), Some(frame)) = (found, frame) else { return Ok(None) };
        let Some(form) = figure.forms().into_iter().find(|f| f.key() == form) else { return Ok(None) };
        let path = figure.path(frame, form);
        let png = figure.png(frame, form).map_err(anyhow::Error::from)?;
        Ok(Some((path.rsplit('/').next().unwrap_or_default().to_string(), png)))
    });
    let gone = "This picture is no longer what the bench says. Go back and reload the page of pictures.";
    let (name, png) = drawn.await?.ok_or_else(|| Fault::Missing(gone.into()))?;
    let headers = [
        (header::CONTENT_TYPE, "image/png".to_string()),
        (header::CONTENT_DISPOSITION, format!("inline; filename*=UTF-8''{}", escaped(&name))),
        (header::CACHE_CONTROL, "private, max-age=86400".to_string()),
    ];
    Ok((headers, png).into_response())
}
