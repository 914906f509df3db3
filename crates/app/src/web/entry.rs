//! The phone at the bench: one question at a time, made from the kind's fields. All questions are on the page, one in
//! sight, so that a phone that has lost the network can go on.
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::stage::{after, answered, before, now_asked, order, since};
use super::words;
use askama::Template;
use axum::extract::Path;
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::kind::Spec;
use trueplate_core::notebook::{Entry, LoadSort, Notebook, Test};
use trueplate_core::quantity::Dim;
use trueplate_core::report::titled;
use trueplate_pages::piece;

#[derive(Template)]
#[template(path = "entry.html")]
struct Page {
    top: Top,
    id: String,
    title: &'static str,
    specimen: String,
    questions: Vec<Question>,
    at: String,
    wait: Option<Wait>,
    done: Done,
    remarks: String,
}

struct Question {
    key: &'static str,
    label: &'static str,
    ask: &'static str,
    hint: &'static str,
    shape: Sort,
    /// Which keys a phone offers.
    keys: &'static str,
    /// What is wrong with what was just typed.
    trouble: String,
    unit: &'static str,
    units: Vec<(&'static str, bool)>,
    required: bool,
    text: String,
    was: String,
    last: String,
    understood: String,
    stamped: String,
    files: usize,
    /// Where its file is sent to, and the file attached with the page that shows it.
    attach: String,
    attached: Option<(String, String)>,
    /// It takes several files.
    many: bool,
    instruments: Vec<(String, String, bool)>,
    choices: Vec<Chosen>,
    back: String,
    next: &'static str,
    here: bool,
    answered: bool,
}

struct Chosen {
    key: String,
    label: String,
    about: String,
    on: bool,
}

/// How a question is put.
#[derive(PartialEq)]
enum Sort {
    Number,
    Several,
    Stamp,
    Pick,
    Words,
    File,
}

struct Wait {
    here: bool,
    running: bool,
    since: String,
    since_words: String,
    expected: String,
    takes: String,
    attended: bool,
    end: &'static str,
    answers: Vec<(String, &'static str, String)>,
}

struct Done {
    here: bool,
    results: Vec<Resulted>,
    verdicts: Vec<Judged>,
    findings: Vec<(&'static str, String, String)>,
    /// Files it rests on: name, and the page that shows how it is read.
    logs: Vec<(String, String)>,
    model: String,
}

struct Resulted {
    title: String,
    value: String,
    trail: String,
}

struct Judged {
    title: String,
    stated: String,
    verdict: String,
}

/// No such test.
pub fn missing(id: &str) -> Fault {
    Fault::Missing(format!("There is no test `{id}` on this bench."))
}

/// The test with this id and what its kind says of itself.
pub fn found<'a>(notebook: &'a Notebook, id: &str) -> Result<(&'a Test, &'static Spec), Fault> {
    let test = notebook.test(id).ok_or_else(|| missing(id))?;
    let spec = words::spec_of(test).ok_or_else(|| {
        Fault::Missing(format!("This program does not know the kind of test `{}`.", test.kind))
    })?;
    Ok((test, spec))
}

/// An answer that could not be kept, to be shown in its field with what is wrong.
pub struct Refused {
    /// Key of the field.
    pub field: &'static str,
    /// As typed.
    pub text: String,
    /// What is wrong and what to do.
    pub words: String,
}

/// The question asked now, or the one in the address.
pub async fn show(ask: Ask, Path(id): Path<String>) -> Answer {
    let wanted = ask.query.get("q").to_string();
    Ok(html(&page(&ask, &id, &wanted, None)?))
}

/// The page with the question `wanted`, or the one asked now.
pub fn page(ask: &Ask, id: &str, wanted: &str, refused: Option<Refused>) -> Result<impl Template, Fault> {
    let notebook = ask.notebook();
    let (test, spec) = found(notebook, id)?;
    let at = order(spec).into_iter().find(|k| *k == wanted).unwrap_or_else(|| now_asked(test, spec));
    let mut questions: Vec<_> = spec.fields.iter().map(|f| question(f, test, spec, notebook, at)).collect();
    if let Some(refused) = refused
        && let Some(question) = questions.iter_mut().find(|q| q.key == refused.field)
    {
        (question.text, question.trouble) = (refused.text, refused.words);
    }
    Ok(Page {
        top: ask.top(),
        id: id.into(),
        title: spec.title,
        specimen: words::specimen_name(notebook, &test.specimen),
        questions,
        at: at.into(),
        wait: order(spec).contains(&"wait").then(|| wait(ask, test, spec, at)),
        done: done(ask, test, at),
        remarks: test.note.clone(),
    })
}

/// Digits where digits do; colons and letters too where a time is typed.
fn keys(field: &FieldSpec) -> &'static str {
    match field.shape {
        Shape::Quantity(Dim::Time, _) => "text",
        Shape::Count => "numeric",
        _ => "decimal",
    }
}

fn question(
    field: &'static FieldSpec,
    test: &Test,
    spec: &'static Spec,
    notebook: &Notebook,
    at: &str,
) -> Question {
    let entry = answered(test, field.key);
    let shape = match field.shape {
        Shape::Quantity(..) | Shape::Count => Sort::Number,
        Shape::List(..) => Sort::Several,
        Shape::Stamp => Sort::Stamp,
        Shape::Choice(_) | Shape::Load => Sort::Pick,
        Shape::Text => Sort::Words,
        Shape::Log | Shape::Captures(_) => Sort::File,
    };
    let dim = field.measured().map(|(dim, _)| dim);
    // A log is read on a meter as a power is.
    let read_on = dim.or((field.shape == Shape::Log).then_some(Dim::Power));
    let unit = field.measured().map_or("", |(_, unit)| unit);
    let usual = last_unit(notebook, field).unwrap_or(unit);
    let (text, usual) = in_field(field, entry, usual);
    let last = order(spec).into_iter().take_while(|k| *k != field.key).filter_map(|k| {
        let (f, e) = (spec.field(k)?, answered(test, k)?);
        Some(format!("{}: {}", f.label, words::answer(f, e, notebook, test)))
    });
    Question {
        key: field.key,
        label: field.label,
        ask: field.question(),
        keys: keys(field),
        trouble: String::new(),
        hint: field.hint,
        unit: usual,
        units: dim.map(units_of).unwrap_or_default().into_iter().map(|u| (u, u == usual)).collect(),
        required: field.required,
        text,
        was: entry.map_or_else(String::new, |e| e.text.clone()),
        last: last.last().unwrap_or_default(),
        understood: entry.and_then(|e| words::understood(field, e, notebook, test).ok()).unwrap_or_default(),
        stamped: entry.map_or_else(String::new, |e| words::clock_on(&e.at, &test.day, &notebook.settings)),
        files: entry.map_or(0, |e| e.files.len()),
        attach: match field.shape {
            Shape::Captures(_) => super::at::captures(&test.id),
            _ => super::at::new_log(&test.id),
        },
        attached: attached(field, test),
        many: matches!(field.shape, Shape::Captures(_)),
        instruments: read_on.map(|d| instruments(notebook, d, entry)).unwrap_or_default(),
        choices: choices(field, entry, notebook),
        back: before(spec, field.key).unwrap_or_default().into(),
        next: after(spec, field.key),
        here: field.key == at,
        answered: entry.is_some(),
        shape,
    }
}

/// The files of a field in words, and the page that shows how they are read.
fn attached(field: &FieldSpec, test: &Test) -> Option<(String, String)> {
    let entry = answered(test, field.key)?;
    let last = entry.files.last()?;
    Some(match field.shape {
        Shape::Log => (last.name.clone(), super::at::log(&last.sha256, &test.id)),
        Shape::Captures(_) => {
            let said = words::plural(entry.files.len(), "capture", "captures");
            (said, super::at::captures(&test.id))
        }
        _ => return None,
    })
}

/// Units a meter may show a quantity in, those a bench of this trade meets.
fn units_of(dim: Dim) -> Vec<&'static str> {
    let symbols: Vec<&'static str> = dim.units().map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
    match dim {
        Dim::Energy => keep(symbols, &["Wh", "kWh"]),
        Dim::Power => keep(symbols, &["W", "kW"]),
        Dim::Time => keep(symbols, &["h", "min", "s", "ms"]),
        _ => symbols.into_iter().take(4).collect(),
    }
}

fn keep(symbols: Vec<&'static str>, wanted: &[&str]) -> Vec<&'static str> {
    symbols.into_iter().filter(|s| wanted.contains(s)).collect()
}

/// What is put into the field again, and the unit beside it.
fn in_field(field: &FieldSpec, entry: Option<&Entry>, usual: &'static str) -> (String, &'static str) {
    let text = match (field.shape, entry) {
        (_, None) | (Shape::Choice(_) | Shape::Load | Shape::Log | Shape::Captures(_), _) => {
            return (String::new(), usual);
        }
        (_, Some(entry)) => entry.text.clone(),
    };
    let Some((dim, _)) = field.measured() else { return (text, usual) };
    let number = |unit: &str| text.strip_suffix(unit).filter(|n| n.ends_with([' ', '\u{a0}'])).map(str::trim);
    let split = units_of(dim).into_iter().find_map(|u| Some((number(u)?.to_string(), u)));
    split.unwrap_or((text, usual))
}

/// The unit in which this field was answered last, so that a meter that shows Wh is not asked in kWh.
fn last_unit(notebook: &Notebook, field: &FieldSpec) -> Option<&'static str> {
    let (dim, _) = field.measured()?;
    let entry = notebook.tests.iter().rev().find_map(|t| answered(t, field.key))?;
    let symbol = entry.text.trim_start_matches(|c: char| !c.is_alphabetic() && c != '%' && c != '°').trim();
    units_of(dim).into_iter().find(|u| *u == symbol)
}

/// Instruments for a dimension; the one of this entry is chosen, else the one used last for such a reading.
pub fn instruments(notebook: &Notebook, dim: Dim, entry: Option<&Entry>) -> Vec<(String, String, bool)> {
    let used = |t: &Test| {
        let spec = words::spec_of(t)?;
        let of_dim = spec.fields.iter().filter(|f| f.measured().is_some_and(|(d, _)| d == dim));
        of_dim.filter_map(|f| answered(t, f.key)).map(|e| e.instrument.clone()).find(|i| !i.is_empty())
    };
    let fits: Vec<_> = notebook.instruments.iter().filter(|i| i.measures(dim)).collect();
    let chosen = match entry {
        Some(e) => e.instrument.clone(),
        None => notebook.tests.iter().rev().find_map(used).unwrap_or_else(|| match fits.as_slice() {
            [one] => one.id.clone(),
            _ => String::new(),
        }),
    };
    let rest = notebook.instruments.iter().filter(|i| !i.measures(dim) && i.id == chosen);
    fits.iter().copied().chain(rest).map(|i| (i.id.clone(), i.name.clone(), i.id == chosen)).collect()
}

fn choices(field: &FieldSpec, entry: Option<&Entry>, notebook: &Notebook) -> Vec<Chosen> {
    let on = |key: &str| entry.is_some_and(|e| e.text == key);
    match field.shape {
        Shape::Choice(all) => all
            .iter()
            .map(|c| Chosen { key: c.key.into(), label: c.label.into(), about: String::new(), on: on(c.key) })
            .collect(),
        Shape::Load => notebook
            .loads
            .iter()
            .map(|l| {
                let watts = if l.running_w > 0.0 { format!("{:.0} W, ", l.running_w) } else { String::new() };
                let warning = if l.sort == LoadSort::Cycling { ": not for energy" } else { "" };
                let about = format!("{watts}{}{warning}", words::load_sort(l.sort));
                Chosen { key: l.id.clone(), label: l.name.clone(), about, on: on(&l.id) }
            })
            .collect(),
        _ => Vec::new(),
    }
}

fn wait(ask: &Ask, test: &Test, spec: &'static Spec, at: &str) -> Wait {
    let notebook = ask.notebook();
    let since = since(test, spec, notebook).unwrap_or_default();
    let start = spec.fields.iter().filter(|f| !f.at_end);
    let said = |f: &&&'static FieldSpec| {
        let words = answered(test, f.key)
            .map_or_else(|| "not answered".into(), |e| words::answer(f, e, notebook, test));
        (f.label.to_string(), f.key, words)
    };
    Wait {
        here: at == "wait",
        running: !super::stage::is_done(test),
        expected: super::expect::until(&ask.report, test, spec, &since).unwrap_or_default(),
        since_words: words::clock(&since, &notebook.settings),
        since,
        takes: words::about(spec.minutes),
        attended: spec.attended,
        end: after(spec, "wait"),
        answers: start.map(|f| said(&f)).collect(),
    }
}

fn done(ask: &Ask, test: &Test, at: &str) -> Done {
    let report = &*ask.report;
    let outcome = report.outcomes.get(&test.id);
    let model = report.notebook.model_of(&test.specimen).map_or_else(String::new, |m| m.id.clone());
    let computed = report.models.iter().find(|m| m.id == model);
    let rows = computed.into_iter().flat_map(|m| &m.rows).filter(|r| r.tests.contains(&test.id));
    let result = |r: &trueplate_core::repeat::ResultRow| Resulted {
        title: words::unbroken(&titled(r.result, &r.condition)),
        value: piece::number(&r.value, r.result.shown_in(), ask.style()),
        trail: super::trail::address(&model, r),
    };
    let touched = computed.into_iter().flat_map(|m| &m.claims).filter(|c| c.tests.contains(&test.id));
    let judged = |c: &trueplate_core::claims::ClaimRow| Judged {
        title: c.result.map_or_else(String::new, |r| r.title.into()),
        stated: c.claim.text.clone(),
        verdict: piece::verdict(c.verdict),
    };
    let findings = outcome.into_iter().flat_map(|o| &o.findings);
    Done {
        here: at == "done",
        results: rows.map(result).collect(),
        verdicts: touched.map(judged).collect(),
        findings: findings.map(|f| (super::models::weight(f), f.text.clone(), f.hint.clone())).collect(),
        logs: words::spec_of(test)
            .into_iter()
            .flat_map(|s| s.fields)
            .filter_map(|f| attached(f, test))
            .collect(),
        model,
    }
}
