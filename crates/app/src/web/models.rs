//! Stations as sold: the list, and one with everything known of it.
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::stage::stage;
use super::words;
use askama::Template;
use axum::extract::Path;
use std::collections::BTreeMap;
use trueplate_core::claims::ClaimRow;
use trueplate_core::finding::{Finding, Weight};
use trueplate_core::judge::Verdict;
use trueplate_core::notebook::{Condition, Model, Notebook, Price};
use trueplate_core::report::{ModelReport, titled};
use trueplate_core::shown::{capital, shown};
use trueplate_pages::chart::runtime::{self, load_of};
use trueplate_pages::piece::{self, Lane, Mark};

#[derive(Template)]
#[template(path = "models.html")]
struct ListPage {
    top: Top,
    models: Vec<Line>,
}

struct Line {
    id: String,
    name: String,
    energy: String,
    verdicts: String,
    tests: String,
}

/// Half load, the condition under which usable energy is quoted first.
pub fn half_load() -> Condition {
    Condition::from([("load".to_string(), "50 %".to_string())])
}

/// All stations.
pub async fn list(ask: Ask) -> Answer {
    // Counted once for all: a question per station and test would be too many on a large bench.
    let mut tests: BTreeMap<&str, usize> = BTreeMap::new();
    for model in ask.notebook().tests.iter().filter_map(|t| ask.notebook().model_of(&t.specimen)) {
        *tests.entry(model.id.as_str()).or_default() += 1;
    }
    let line = |m: &ModelReport| Line {
        id: m.id.clone(),
        name: m.name.clone(),
        energy: m.current("usable-energy").next().map_or_else(String::new, |r| {
            format!(
                "{} <small>{}</small>",
                piece::number(&r.value, r.result.shown_in(), ask.style()),
                words::condition(&r.condition)
            )
        }),
        verdicts: piece::tally(&m.claims),
        tests: words::plural(tests.get(m.id.as_str()).copied().unwrap_or(0), "test", "tests"),
    };
    let models = ask.report.models.iter().map(line).collect();
    Ok(html(&ListPage { top: ask.top(), models }))
}

fn belongs(notebook: &Notebook, specimen: &str, model: &str) -> bool {
    notebook.specimen(specimen).is_some_and(|s| s.model == model)
}

#[derive(Template)]
#[template(path = "model.html")]
struct ShowPage {
    top: Top,
    model: Model,
    answer: String,
    facts: String,
    claims: Vec<Claimed>,
    curves: Vec<(String, String)>,
    results: Vec<Resulted>,
    specimens: Vec<SpecimenLine>,
    tests: Vec<TestLine>,
    findings: Vec<FindingLine>,
    prices: Vec<PriceLine>,
    per_wh: String,
    /// Price per kWh over the stated life; empty without.
    per_life: String,
    carried: Vec<trueplate_core::transport::Carried>,
    corrections: Vec<super::history::ChangeLine>,
    earlier: Vec<(String, String, String)>,
    out: super::going_out::Out,
}

struct Claimed {
    id: String,
    title: String,
    about: String,
    stated: String,
    measured: String,
    mark: String,
    verdict: String,
    why: String,
}
struct Resulted {
    title: String,
    about: String,
    value: String,
    link: String,
    superseded: bool,
}
struct SpecimenLine {
    /// It is here and can be tested.
    here: bool,
    id: String,
    label: String,
    about: String,
}
struct TestLine {
    id: String,
    title: String,
    day: String,
    state: String,
    known: bool,
}
struct FindingLine {
    link: String,
    weight: &'static str,
    text: String,
    hint: String,
}
struct PriceLine {
    at: usize,
    text: String,
    about: String,
    old: bool,
}

/// Name of a weight on the page.
pub fn weight(finding: &Finding) -> &'static str {
    match finding.weight {
        Weight::Gap => "gap",
        Weight::Doubt => "doubt",
        Weight::Note => "note",
    }
}

/// One station with everything known of it.
pub async fn show(ask: Ask, Path(id): Path<String>) -> Answer {
    let notebook = ask.notebook();
    let found = |id: &str| Some((notebook.model(id)?, ask.report.models.iter().find(|m| m.id == id)?));
    let (model, report) = found(&id).ok_or_else(|| missing(&id))?;
    let tests = notebook.tests.iter().rev().filter(|t| belongs(notebook, &t.specimen, &id));
    let test = |t: &trueplate_core::notebook::Test| TestLine {
        id: t.id.clone(),
        title: words::kind_title(t),
        day: t.day.clone(),
        known: words::spec_of(t).is_some(),
        state: match words::spec_of(t) {
            _ if !t.excluded.is_empty() => format!("does not count: {}", t.excluded),
            _ if t.conditioning => "first cycle, not counted".into(),
            Some(spec) => stage(t, spec).words().into(),
            None => "of a kind this program does not know".into(),
        },
    };
    // A running test is not scolded for what is still to come.
    let told = report
        .findings
        .iter()
        .filter(|(test, f)| f.code != "missing" || notebook.test(test).is_some_and(super::stage::is_done));
    let findings = told.map(|(test, f)| FindingLine {
        link: super::at::finding(test, &f.place),
        weight: weight(f),
        text: capital(&f.text),
        hint: f.hint.clone(),
    });
    let page = ShowPage {
        top: ask.top(),
        model: model.clone(),
        answer: answer(&ask, report),
        facts: facts(&ask, model, report),
        claims: claims(&ask, report),
        curves: curves(notebook, report),
        results: results(&ask, report),
        specimens: specimens(notebook, &id),
        tests: tests.map(test).collect(),
        findings: findings.collect(),
        prices: prices(model, report),
        per_life: report.price.lifetime.as_ref().map_or_else(String::new, |life| {
            let per = shown(&life.per_kwh, life.per_kwh.dim.kept_in(), ask.style()).line();
            format!("{per} {} per kWh over {}", notebook.settings.currency, life.words())
        }),
        carried: report.carried(),
        per_wh: report.price.per_wh.as_ref().map_or_else(String::new, |v| {
            format!(
                "{} {} per usable Wh at half load",
                shown(v, v.dim.kept_in(), ask.style()).line(),
                notebook.settings.currency
            )
        }),
        corrections: super::history::corrections(notebook, &id),
        earlier: super::tables::earlier(model),
        out: super::going_out::of(&ask.report, report),
    };
    Ok(html(&page))
}

/// The page opens with the answer.
fn answer(ask: &Ask, report: &ModelReport) -> String {
    let said = |value, unit, condition: &str| {
        format!("Gives {} at the outlet{condition}.", piece::number(value, unit, ask.style()))
    };
    if let Some(row) = report.current("usable-energy").find(|r| r.condition == half_load()) {
        return said(&row.value, row.result.shown_in(), " at half load");
    }
    match report.current("usable-energy").next() {
        Some(row) => {
            let under = piece::escape(&format!(" at {}", words::condition(&row.condition)));
            said(&row.value, row.result.shown_in(), &under)
        }
        None => "Nothing is measured that says how much it gives.".into(),
    }
}

fn facts(ask: &Ask, model: &Model, report: &ModelReport) -> String {
    let notebook = ask.notebook();
    let specimens: Vec<_> = notebook.specimens.iter().filter(|s| s.model == model.id).collect();
    let tests = notebook.tests.iter().filter(|t| belongs(notebook, &t.specimen, &model.id)).count();
    let mut said = vec![words::plural(specimens.len(), "sample", "samples")];
    let mut firmware: Vec<&str> =
        specimens.iter().map(|s| s.firmware_now()).filter(|f| !f.is_empty()).collect();
    firmware.dedup();
    said.extend(firmware.iter().map(|f| format!("firmware {f}")));
    said.push(words::plural(tests, "test", "tests"));
    if model.mains_v > 0.0 {
        let hz = if model.mains_hz > 0.0 { format!(" {:.0} Hz", model.mains_hz) } else { String::new() };
        said.push(format!("{:.0} V{hz}", model.mains_v));
    }
    if !model.chemistry.is_empty() {
        said.push(model.chemistry.clone());
    }
    said.push(match &report.price.price {
        Some(p) => format!("{} {} seen {}", p.amount, p.currency, p.on),
        None => report.price.why.clone(),
    });
    said.join(" · ")
}

fn claims(ask: &Ask, report: &ModelReport) -> Vec<Claimed> {
    let style = ask.style();
    let shown_of = |c: &ClaimRow| Some(shown(c.measured.as_ref()?, c.result?.shown_in(), style));
    let all: Vec<_> = report.claims.iter().filter_map(shown_of).collect();
    let lane = Lane::of(&all);
    let one = |c: &ClaimRow| {
        let mark = match (c.result, c.limit, &c.measured) {
            (Some(result), Some(limit), Some(measured)) => Mark {
                limit,
                minimum: c.minimum,
                measured,
                trials: &[],
                verdict: c.verdict,
                unit: result.shown_in(),
                style,
            }
            .svg(),
            _ => String::new(),
        };
        let row = c.result.and_then(|r| report.current(r.key).find(|row| row.condition == c.condition));
        let number = shown_of(c).map_or_else(String::new, |s| lane.cell(&s));
        let measured = match row {
            Some(row) if !number.is_empty() => {
                format!(
                    "<a class=\"to\" href=\"{}\">{number}</a>",
                    piece::escape(&super::trail::address(&report.id, row))
                )
            }
            _ => number,
        };
        let measured = match &c.counted {
            Some(n) => format!("<b>{} of {}</b> beyond it; worst {measured}", n.k, n.n),
            None => measured,
        };
        Claimed {
            id: c.claim.id.clone(),
            title: c.result.map_or_else(|| c.claim.key.clone(), |r| words::unbroken(r.title)),
            about: words::condition(&c.claim.condition),
            stated: words::unbroken(&c.claim.text),
            measured,
            mark,
            verdict: piece::verdict(c.verdict),
            why: why(c),
        }
    };
    report.claims.iter().map(one).collect()
}

fn why(c: &ClaimRow) -> String {
    match c.verdict {
        Verdict::ConditionsDiffer => {
            format!("measured under {}", words::condition(&c.condition))
        }
        _ => words::unbroken(&c.why),
    }
}

fn results(ask: &Ask, report: &ModelReport) -> Vec<Resulted> {
    let all: Vec<_> = report.rows.iter().map(|r| shown(&r.value, r.result.shown_in(), ask.style())).collect();
    let lane = Lane::of(&all);
    let several = report.rows.iter().any(|r| r.specimen != report.rows[0].specimen);
    let about = |r: &trueplate_core::repeat::ResultRow| {
        let mut said = vec![words::plural(r.tests.len(), "test", "tests")];
        if !r.firmware.is_empty() {
            said.push(format!("firmware {}", r.firmware));
        }
        if several && let Some(s) = ask.notebook().specimen(&r.specimen) {
            said.push(words::label(s).into());
        }
        said.join(", ")
    };
    let rows = report.rows.iter().zip(&all);
    rows.map(|(r, s)| Resulted {
        title: words::unbroken(&titled(r.result, &r.condition)),
        about: about(r),
        value: lane.cell(s),
        link: super::trail::address(&report.id, r),
        superseded: r.superseded,
    })
    .collect()
}

/// Which sample, and what is said of how long it runs: the curve and what was noticed about it.
fn curves(notebook: &Notebook, report: &ModelReport) -> Vec<(String, String)> {
    let label = |test: &str| load_of(notebook, test);
    let several = notebook.specimens.iter().filter(|s| s.model == report.id).count() > 1;
    let current = report.drains.iter().filter(|d| !d.superseded);
    let one = |d: &trueplate_core::drain::Drain| {
        let whose = notebook.specimen(&d.specimen).filter(|_| several).map_or("", words::label);
        (whose.to_string(), runtime::said(d, label))
    };
    current.map(one).filter(|(_, said)| !said.is_empty()).collect()
}

fn specimens(notebook: &Notebook, model: &str) -> Vec<SpecimenLine> {
    let one = |s: &trueplate_core::notebook::Specimen| {
        let how = words::came(s.came);
        // "bought online" says it already.
        let twice = s.provenance.to_lowercase().starts_with(how);
        let mut said: Vec<String> = (!twice).then(|| how.to_string()).into_iter().collect();
        said.extend((!s.provenance.is_empty()).then(|| s.provenance.clone()));
        said.extend((!s.firmware_now().is_empty()).then(|| format!("firmware {}", s.firmware_now())));
        said.extend(
            (!s.returned.is_empty()).then(|| format!("sent back {}: cannot be retested", s.returned)),
        );
        SpecimenLine {
            here: s.returned.is_empty(),
            id: s.id.clone(),
            label: words::label(s).into(),
            about: said.join(" · "),
        }
    };
    notebook.specimens.iter().filter(|s| s.model == model).map(one).collect()
}

fn prices(model: &Model, report: &ModelReport) -> Vec<PriceLine> {
    let one = |(at, p): (usize, &Price)| PriceLine {
        at,
        text: format!("{} {}", p.amount, p.currency),
        about: [
            p.kind.clone(),
            if p.on.is_empty() { "no date: never printed".into() } else { format!("seen {}", p.on) },
            if p.with_tax { "tax inside".into() } else { "without tax".into() },
            if p.bundle.is_empty() { String::new() } else { format!("with {}", p.bundle) },
            p.seller.clone(),
        ]
        .into_iter()
        .filter(|s| !s.is_empty())
        .collect::<Vec<_>>()
        .join(" · "),
        old: report.price.old && report.price.price.as_ref() == Some(p),
    };
    model.prices.iter().enumerate().map(one).collect()
}

/// No such station.
pub fn missing(id: &str) -> Fault {
    Fault::Missing(format!("There is no station `{id}` on this bench."))
}
