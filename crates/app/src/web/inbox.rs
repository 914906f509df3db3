//! Readers' questions: written down as they come, mapped to what answers them, answered by what was measured.
use super::Site;
use super::fault::Fault;
use super::form::{Pick, Reader, Sent, Troubles, stand, typed, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::words;
use crate::desk::{Deed, free_id, today};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::claims::claimable;
use trueplate_core::inbox::{self, DEVICES, NOTHING, RUNTIME, Standing};
use trueplate_core::notebook::{Condition, Settings};
use trueplate_core::outgoing::{ReaderQuestion, Wants};
use trueplate_core::quantity::Dim;
use trueplate_core::record::Record;
use trueplate_core::report::{Report, condition_words};

#[derive(Template)]
#[template(path = "questions.html")]
struct List {
    top: Top,
    unsorted: Vec<Line>,
    open: Vec<Line>,
    answered: Vec<Line>,
    reports: Vec<Line>,
    today: String,
    typed: Sent,
    troubles: Troubles,
}

struct Line {
    id: String,
    text: String,
    about: String,
    reply: String,
    missing: String,
}

fn about(report: &Report, q: &ReaderQuestion) -> String {
    let name = report.models.iter().find(|m| m.id == q.model).map(|m| m.name.clone());
    let mut said: Vec<String> = name.into_iter().collect();
    said.extend([q.place.clone(), q.on.clone()].into_iter().filter(|s| !s.is_empty()));
    said.extend((q.times > 1).then(|| format!("asked {} times", q.times)));
    said.extend(q.private.then(|| "not published".to_string()));
    said.join(" · ")
}

fn page(ask: &Ask, typed: Sent, troubles: Vec<(String, String)>) -> List {
    let mut list = List {
        top: ask.top(),
        unsorted: Vec::new(),
        open: Vec::new(),
        answered: Vec::new(),
        reports: Vec::new(),
        today: today(ask.notebook()),
        typed,
        troubles: Troubles(troubles),
    };
    for (q, standing) in inbox::in_order(&ask.report) {
        let mut line = Line {
            id: q.id.clone(),
            text: q.text.clone(),
            about: about(&ask.report, q),
            reply: String::new(),
            missing: String::new(),
        };
        let to = match standing {
            _ if q.wants == Wants::Report && !q.settled => &mut list.reports,
            Standing::Unsorted => &mut list.unsorted,
            Standing::NotTested { why, title, .. } => {
                line.reply = why;
                line.missing = title;
                &mut list.open
            }
            Standing::Answered { paragraph, .. } => {
                line.reply = words::unbroken(&paragraph);
                &mut list.answered
            }
        };
        to.push(line);
    }
    list
}

/// All questions, those to be looked at first.
pub async fn list(ask: Ask) -> Answer {
    Ok(html(&page(&ask, Sent::default(), Vec::new())))
}

/// Writes a question down, and goes on to sorting it.
pub async fn add(ask: Ask, State(site): State<Site>, sent: Sent) -> Answer {
    let mut r = Reader::new(&sent, &ask.notebook().settings);
    let question = ReaderQuestion {
        text: r.needed("text", "Write the question in the reader's words"),
        place: sent.text("place"),
        on: r.day("on"),
        times: 1,
        ..ReaderQuestion::default()
    };
    if !r.troubles.is_empty() {
        let troubles = r.troubles;
        return Ok(refused(&page(&ask, sent, troubles)));
    }
    let done = site.act(move |notebook| {
        let id = free_id(notebook, "question", &question.text);
        let question = ReaderQuestion { id: id.clone(), ..question };
        Ok(Deed { records: vec![Record::Question(question)], why: String::new(), then: id })
    });
    let done = done.await?;
    Ok(kept(&super::at::question(&done.then.unwrap_or_default()), done.stroke))
}

#[derive(Template)]
#[template(path = "question.html")]
struct Form {
    top: Top,
    question: ReaderQuestion,
    times: String,
    wants: Vec<Pick>,
    models: Vec<Pick>,
    abouts: Vec<Pick>,
    conditions: Vec<Pick>,
    watts: String,
    /// The words proposed something that is not kept yet.
    proposed: bool,
    paragraph: String,
    why: String,
    missing: String,
    begin: String,
    stand: String,
    troubles: Troubles,
}

fn form(ask: &Ask, question: ReaderQuestion, troubles: Vec<(String, String)>) -> Form {
    let settings = &ask.notebook().settings;
    // What the words seem to ask stands ready in the form until the person keeps it.
    let mut shown = question.clone();
    let proposed = question.about.is_empty() && troubles.is_empty() && propose(&ask.report, &mut shown);
    let (mut paragraph, mut why, mut missing, mut begin) = Default::default();
    match inbox::standing(&ask.report, &shown) {
        Standing::Unsorted => (),
        Standing::Answered { paragraph: said, .. } => paragraph = said,
        Standing::NotTested { kind, title, why: said } => {
            let specimens = &ask.notebook().specimens;
            let here = specimens.iter().find(|s| s.model == shown.model && s.returned.is_empty());
            if let (Some(s), false) = (here, kind.is_empty()) {
                begin = format!("{}&kind={}", super::at::new_test(&s.id), super::page::escaped(&kind));
            }
            (why, missing) = (said, title);
        }
    }
    Form {
        top: Top { path: "/questions".into(), ..ask.top() },
        times: if shown.times > 1 { shown.times.to_string() } else { "1".into() },
        wants: vec![
            Pick::new("answer", "asks something", shown.wants == Wants::Answer),
            Pick::new(
                "report",
                "reports what another station of this model did",
                shown.wants == Wants::Report,
            ),
        ],
        models: models(&ask.report, &shown.model),
        abouts: abouts(&shown.about),
        conditions: conditions(&ask.report, &shown),
        watts: typed(shown.watts, "W", settings),
        proposed,
        paragraph,
        why,
        missing,
        begin,
        stand: stand(&question),
        question: shown,
        troubles: Troubles(troubles),
    }
}

fn models(report: &Report, now: &str) -> Vec<Pick> {
    let none = Pick::new("", "none, or all of them", now.is_empty());
    let each = report.models.iter().map(|m| Pick::new(&m.id, &m.name, m.id == now));
    std::iter::once(none).chain(each).collect()
}

fn abouts(now: &str) -> Vec<Pick> {
    let mut all = vec![
        Pick::new("", "not sorted yet", now.is_empty()),
        Pick::new(RUNTIME, "how long it runs at a load", now == RUNTIME),
        Pick::new(DEVICES, "whether it runs devices", now == DEVICES),
    ];
    all.extend(claimable().iter().map(|r| Pick::new(r.key, r.title, r.key == now)));
    all.push(Pick::new(NOTHING, "nothing that is tested here", now == NOTHING));
    all
}

/// "load=50 %;mode=fast": a condition as one choice of a list.
fn condition_key(condition: &Condition) -> String {
    condition.iter().map(|(k, v)| format!("{k}={v}")).collect::<Vec<_>>().join(";")
}

/// The conditions under which the result asked about was measured somewhere on the bench.
fn conditions(report: &Report, q: &ReaderQuestion) -> Vec<Pick> {
    let mut all: Vec<&Condition> = Vec::new();
    for row in report.models.iter().flat_map(|m| m.current(&q.about)) {
        if !row.condition.is_empty() && !all.contains(&&row.condition) {
            all.push(&row.condition);
        }
    }
    let now = condition_key(&q.condition);
    let none = Pick::new("", "the usual one", now.is_empty());
    let each = all.into_iter().map(|c| {
        let key = condition_key(c);
        let on = key == now;
        Pick::new(key, condition_words(c), on)
    });
    std::iter::once(none).chain(each).collect()
}

/// Puts what the words seem to ask into a question; says whether there was anything.
fn propose(report: &Report, q: &mut ReaderQuestion) -> bool {
    let guess = inbox::guess(report, &q.text);
    if q.model.is_empty() {
        q.model.clone_from(&guess.model);
    }
    let known = |key: &&&str| **key == RUNTIME || claimable().iter().any(|r| r.key == **key);
    // Words for hours with a power beside them ask for a runtime.
    let runtime = guess.watts.filter(|_| guess.keys.contains(&RUNTIME));
    let key = match runtime {
        Some(watts) => {
            q.watts = f64::from(watts);
            Some(RUNTIME)
        }
        None => guess.keys.iter().find(known).copied(),
    };
    q.about = key.unwrap_or_default().into();
    key.is_some()
}

fn known(ask: &Ask, id: &str) -> Result<ReaderQuestion, Fault> {
    let found = ask.notebook().question(id).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no question `{id}` on this bench.")))
}

/// One question with its answer, or what is missing.
pub async fn edit(ask: Ask, Path(id): Path<String>) -> Answer {
    let question = known(&ask, &id)?;
    Ok(html(&form(&ask, question, Vec::new())))
}

fn read(
    sent: &Sent,
    settings: &Settings,
    report: &Report,
    old: &ReaderQuestion,
) -> (ReaderQuestion, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    let times = r.plain("times");
    let mut question = ReaderQuestion {
        id: old.id.clone(),
        text: r.needed("text", "Write the question in the reader's words"),
        place: sent.text("place"),
        on: r.day("on"),
        times: (times.round() as u32).max(1),
        wants: if sent.get("wants") == "report" { Wants::Report } else { Wants::Answer },
        model: sent.text("model"),
        about: sent.text("about"),
        condition: Condition::new(),
        watts: r.quantity("watts", Dim::Power, "W"),
        devices: sent.text("devices"),
        answer: sent.text("answer"),
        settled: sent.ticked("settled"),
        private: sent.ticked("private"),
    };
    let wanted = sent.get("condition");
    let rows = report.models.iter().flat_map(|m| m.current(&question.about));
    let condition = rows.map(|row| &row.condition).find(|c| condition_key(c) == wanted).cloned();
    question.condition = condition.filter(|_| !wanted.is_empty()).unwrap_or_default();
    if !question.model.is_empty() && !report.models.iter().any(|m| m.id == question.model) {
        r.trouble("model", "Choose a station of this bench");
    }
    if question.about == DEVICES && question.devices.is_empty() {
        r.trouble(
            "devices",
            "Write the devices, one a line, for example: fridge, 85 W, start 900 W, avg 38 W",
        );
    }
    (question, r.troubles)
}

/// Keeps how a question is sorted and answered, or takes it out.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let old = known(&ask, &id)?;
    if sent.ticked("delete") {
        unchanged(&old, &sent)?;
        let stroke = site.with(move |desk| Ok(desk.take_out("question", &id, &sent.text("why"))?)).await?;
        return Ok(kept("/questions", stroke));
    }
    let (question, troubles) = read(&sent, &ask.notebook().settings, &ask.report, &old);
    if !troubles.is_empty() {
        let mut shown = form(&ask, question, troubles);
        shown.stand = sent.get("stand").into();
        return Ok(refused(&shown));
    }
    let back = super::at::question(&id);
    let done = site.act(move |notebook| {
        let old = notebook.question(&id).ok_or_else(|| Fault::Missing("The question is gone.".into()))?;
        unchanged(old, &sent)?;
        Ok(Deed { records: vec![Record::Question(question)], why: sent.text("why"), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}
