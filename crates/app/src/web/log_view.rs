//! The page of a log: what was understood, what it comes to, what was noticed, and what can be said about it.
use super::log_state::State;
use super::log_sums;
use super::logs::{attached, field_of, label};
use super::page::{Ask, Top};
use askama::Template;
use trueplate_core::finding::Weight;
use trueplate_core::notebook::{FileRef, Notebook};
use trueplate_core::quantity::Dim;
use trueplate_core::recording::LogRecord;
use trueplate_core::shown::{Style, duration_words, four_digits};
use trueplate_meters::logs::{DateOrder, Loaded, Log, Mapping, Role, TimeKind, choices, recording};
use trueplate_pages::chart::trace::Trace;

/// A file as read, and what was said about it.
pub struct Seen<'a> {
    pub state: &'a State,
    pub loaded: &'a Loaded,
    pub file: &'a FileRef,
    /// Bytes.
    pub bytes: u64,
}

#[derive(Template)]
#[template(path = "log.html")]
pub struct Page {
    top: Top,
    name: String,
    sha: String,
    test: String,
    trouble: String,
    readable: bool,
    answer: String,
    facts: Vec<(&'static str, String)>,
    already: Vec<(String, String)>,
    questions: Vec<Asked>,
    open: usize,
    /// There is something in it that a test can use.
    usable: bool,
    figure: String,
    zooms: Vec<(&'static str, String)>,
    sums: Vec<(&'static str, String, String)>,
    intervals: Vec<(String, String, String)>,
    gap_rule: String,
    gap_words: String,
    gaps: Vec<(String, String, String)>,
    findings: Vec<(&'static str, String, String)>,
    columns: Vec<Column>,
    rows: Vec<Vec<(String, bool)>>,
    has_ranges: bool,
    orders: Options,
    decimals: Options,
    zone: String,
    gap: String,
    gap_usual: String,
    changed: bool,
    anew: String,
    hidden: String,
    hidden_map: String,
    tests: Vec<(String, String, bool)>,
    instruments: Vec<(String, String, bool)>,
}

type Options = Vec<(&'static str, &'static str, bool)>;

struct Asked {
    text: String,
    assumed: String,
    stops: bool,
    choices: Vec<(String, String)>,
    /// Key of the mapping that may be answered in words of one's own; empty when not.
    free: &'static str,
    free_label: &'static str,
    example: &'static str,
}

struct Column {
    n: usize,
    name: String,
    roles: Options,
    units: Options,
    range: String,
}

const ROLES: [(Role, &str, &str); 14] = [
    (Role::Time, "time", "time"),
    (Role::Elapsed, "elapsed", "time since the start"),
    (Role::Date, "date", "date"),
    (Role::Clock, "clock", "time of day"),
    (Role::Power, "power", "power"),
    (Role::EnergyCounter, "energy-counter", "energy, counting on"),
    (Role::EnergyInterval, "energy-interval", "energy of each interval"),
    (Role::Voltage, "voltage", "voltage"),
    (Role::Current, "current", "current"),
    (Role::PowerFactor, "power-factor", "power factor"),
    (Role::Temperature, "temperature", "temperature"),
    (Role::Device, "device", "which device"),
    (Role::UnitOfPrevious, "unit-of-previous", "unit of the column before"),
    (Role::Other, "other", "not used"),
];

const UNITS: [(&str, &str); 15] = [
    ("", "no unit"),
    ("W", "W"),
    ("kW", "kW"),
    ("mW", "mW"),
    ("W.h", "Wh"),
    ("kW.h", "kWh"),
    ("mW.h", "mWh"),
    ("V", "V"),
    ("mV", "mV"),
    ("A", "A"),
    ("mA", "mA"),
    ("s", "s"),
    ("min", "min"),
    ("h", "h"),
    ("Cel", "°C"),
];

/// "1.4 MB".
pub fn size(bytes: u64) -> String {
    let scaled = [(1e9, "GB"), (1e6, "MB"), (1e3, "kB")].into_iter().find(|(k, _)| bytes as f64 >= *k);
    scaled.map_or(format!("{bytes} bytes"), |(k, unit)| format!("{:.1} {unit}", bytes as f64 / k))
}

/// Builds the page.
pub fn page(ask: &Ask, seen: &Seen<'_>, trouble: String) -> Page {
    let (state, log) = (seen.state, &seen.loaded.log);
    let (mapping, questions) = (&seen.loaded.understanding.mapping, &seen.loaded.understanding.questions);
    let style = ask.style();
    let notebook = ask.notebook();
    let record = recording(seen.loaded);
    let readable = seen.loaded.understanding.readable;
    let asked: Vec<Asked> = questions.iter().map(|q| asked(q, mapping)).collect();
    let known = asked.iter().map(|a| a.text.to_lowercase()).collect::<Vec<_>>();
    // A question stands above; its finding would say it again.
    let findings = log.findings.iter().filter(|f| !known.contains(&f.text.to_lowercase()));
    let columns: Vec<Column> = if readable { columns(mapping, log, style) } else { Vec::new() };
    Page {
        top: Top { path: "/log".into(), ..ask.top() },
        name: seen.file.name.clone(),
        sha: state.sha.clone(),
        test: state.test.clone(),
        trouble,
        readable,
        answer: answer(log, record.as_ref(), &asked, style),
        facts: facts(seen, mapping),
        already: attached(notebook, &state.sha),
        open: asked.iter().filter(|a| a.stops).count(),
        questions: asked,
        usable: record.is_some(),
        figure: figure(state, log, record.as_ref()),
        zooms: zooms(state, record.as_ref()),
        sums: log_sums::sums(log, record.as_ref(), style),
        intervals: log_sums::intervals(log, style),
        gap_rule: log_sums::gap_rule(log, style),
        gap_words: if log.gap_count == 1 { "One gap".into() } else { format!("{} gaps", log.gap_count) },
        gaps: log_sums::gaps(log),
        findings: findings.map(|f| (weight(f.weight), placed(&f.place, &f.text), f.hint.clone())).collect(),
        has_ranges: columns.iter().any(|c| !c.range.is_empty()),
        rows: rows(&seen.loaded.understanding.preview),
        columns,
        orders: orders(mapping),
        decimals: vec![(".", "a point", mapping.decimal == '.'), (",", "a comma", mapping.decimal == ',')],
        zone: mapping.zone.clone().unwrap_or_default(),
        gap: state.gap_s.map_or_else(String::new, |g| g.to_string()),
        gap_usual: log.gap_s.map_or_else(String::new, |g| four_digits(g, style)),
        changed: state.is_changed(),
        anew: State { test: state.test.clone(), sha: state.sha.clone(), ..State::default() }.address(),
        hidden: hidden(state, true),
        hidden_map: hidden(state, false),
        tests: tests(notebook, state),
        instruments: instruments(notebook, state),
    }
}

fn weight(weight: Weight) -> &'static str {
    match weight {
        Weight::Gap => "gap",
        Weight::Doubt => "doubt",
        Weight::Note => "note",
    }
}

fn placed(place: &str, text: &str) -> String {
    if place.starts_with("line") { upper(&format!("{place}: {text}")) } else { upper(text) }
}

fn upper(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |c| c.to_uppercase().chain(rest).collect())
}

/// What was said so far, as hidden fields of a form.
fn hidden(state: &State, whole: bool) -> String {
    let field = |name: &str, value: &str| match value {
        "" => String::new(),
        v => {
            format!("<input type=\"hidden\" name=\"{name}\" value=\"{}\">", trueplate_pages::piece::escape(v))
        }
    };
    let map = if state.map.as_object().is_some_and(|m| m.is_empty()) {
        String::new()
    } else {
        state.map.to_string()
    };
    let gap = state.gap_s.map_or_else(String::new, |g| g.to_string());
    let said = field("map", &map);
    match whole {
        true => said + &field("test", &state.test) + &field("instrument", &state.instrument),
        false => said + &field("gap", &gap),
    }
}

/// A label on a button; a unit alone keeps its letters.
fn tapped(label: &str) -> String {
    if label.len() > 4 { upper(label) } else { label.into() }
}

fn asked(q: &trueplate_meters::logs::Question, mapping: &Mapping) -> Asked {
    let (free, free_label, example) = match q.answers.as_str() {
        "zone" => ("zone", "Another zone", "Europe/Berlin"),
        "start" => ("start", "It started", "2026-05-02 23:58:10"),
        _ => ("", "", ""),
    };
    Asked {
        text: upper(&q.text),
        assumed: q.assumed.clone().unwrap_or_default(),
        stops: q.assumed.is_none(),
        choices: choices(q, mapping).into_iter().map(|c| (tapped(&c.label), c.patch.to_string())).collect(),
        free,
        free_label,
        example,
    }
}

/// The result in one sentence, before everything else.
fn answer(log: &Log, record: Option<&LogRecord>, asked: &[Asked], style: Style) -> String {
    if asked.iter().any(|a| a.stops) {
        return "One thing the file cannot tell must be answered before there is a sum.".into();
    }
    let Some(record) = record else {
        return match log.energy_counter_wh {
            Some(wh) => format!("{} Wh by its counter; there is no power in it.", four_digits(wh, style)),
            None => "There is no power in it that could be summed up.".into(),
        };
    };
    let (from, to) =
        (record.on.as_ref().unwrap_or(&record.first), record.off.as_ref().unwrap_or(&record.last));
    let sum = record.between(from, to);
    let energy = four_digits(sum.energy_wh + sum.bridged_wh, style);
    let span = duration_words((to.elapsed_s - from.elapsed_s) / 3600.0);
    let how = match (&record.on, &record.off) {
        (None, _) => "no load was on",
        (_, Some(_)) => "from the load going on to its going off",
        _ => "from the load going on to the last row",
    };
    let gaps = match sum.gaps {
        0 => "no gaps".into(),
        1 => "one gap".into(),
        n => format!("{n} gaps"),
    };
    format!("{energy} Wh in {span}, {how}; {gaps}.")
}

fn facts(seen: &Seen<'_>, mapping: &Mapping) -> Vec<(&'static str, String)> {
    let log = &seen.loaded.log;
    let mut facts = vec![("size", size(seen.bytes))];
    if !seen.loaded.understanding.readable {
        return facts;
    }
    facts.push(("rows", log.rows.to_string()));
    facts.extend(log.first.as_ref().map(|t| ("from", log_sums::clock(t))));
    facts.extend(log.last.as_ref().map(|t| ("to", log_sums::clock(t))));
    let between = match mapping.delimiter {
        '\t' => "tabs".into(),
        ' ' => "spaces".into(),
        ';' => "semicolons".into(),
        ',' => "commas".into(),
        c => format!("`{c}`"),
    };
    facts.push(("columns parted by", between));
    facts.push(("text in", mapping.encoding.to_uppercase()));
    facts
}

fn figure(state: &State, log: &Log, record: Option<&LogRecord>) -> String {
    let (Some(record), Some(first)) = (record, log.first_us) else { return String::new() };
    let seconds = |us: i64| (us - first) as f64 / 1e6;
    let window = state.window.unwrap_or((0.0, record.last.elapsed_s));
    let marks = [(record.on.as_ref(), "load on"), (record.off.as_ref(), "off")];
    let trace = Trace {
        points: log.trace.iter().map(|p| (seconds(p.at_us), p.min, p.max)).collect(),
        gaps: record.gaps.clone(),
        marks: marks.into_iter().filter_map(|(m, w)| Some((m?.elapsed_s, w.to_string()))).collect(),
        window,
        ..Trace::default()
    };
    trace.figure()
}

/// Links that show less or more of the time; without scripts too.
fn zooms(state: &State, record: Option<&LogRecord>) -> Vec<(&'static str, String)> {
    let Some(end) = record.map(|r| r.last.elapsed_s).filter(|e| *e > 0.0) else { return Vec::new() };
    let (a, b) = state.window.unwrap_or((0.0, end));
    let (wide, middle) = (b - a, (a + b) / 2.0);
    let at = |from: f64, to: f64| state.seen(Some((from.max(0.0), to.min(end))));
    let mut links = vec![("Closer", at(middle - wide / 4.0, middle + wide / 4.0))];
    if state.window.is_some() {
        links.push(("Earlier", at((a - wide / 2.0).max(0.0), (a - wide / 2.0).max(0.0) + wide)));
        links.push(("Later", at((b + wide / 2.0).min(end) - wide, (b + wide / 2.0).min(end))));
        links.push(("Wider", at(middle - wide, middle + wide)));
        links.push(("All of it", state.seen(None)));
    }
    links
}

fn columns(mapping: &Mapping, log: &Log, style: Style) -> Vec<Column> {
    let range = |n: usize| {
        let (low, _, high) = log.columns.get(n).and_then(|c| c.range)?;
        let unit = match mapping.columns.get(n)?.role {
            Role::Power => " W",
            Role::EnergyCounter | Role::EnergyInterval => " Wh",
            Role::Voltage => " V",
            Role::Current => " A",
            Role::Temperature => " °C",
            _ => "",
        };
        Some(format!("{} to {}{unit}", four_digits(low, style), four_digits(high, style)))
    };
    let one = |(n, c): (usize, &trueplate_meters::logs::Column)| Column {
        n,
        name: c.name.clone(),
        roles: ROLES.iter().map(|(r, k, w)| (*k, *w, *r == c.role)).collect(),
        units: UNITS.iter().map(|(k, w)| (*k, *w, c.unit.as_deref().unwrap_or_default() == *k)).collect(),
        range: range(n).unwrap_or_default(),
    };
    mapping.columns.iter().enumerate().map(one).collect()
}

fn rows(preview: &[Vec<String>]) -> Vec<Vec<(String, bool)>> {
    let number = |f: &String| {
        f.starts_with(|c: char| c.is_ascii_digit() || "-+−.,".contains(c)) && !f.contains([':', '/'])
    };
    preview.iter().map(|r| r.iter().map(|f| (f.clone(), number(f))).collect()).collect()
}

fn orders(mapping: &Mapping) -> Options {
    let written = matches!(mapping.time, TimeKind::Stamp | TimeKind::DateAndClock);
    let on = |o: Option<DateOrder>| mapping.date_order == o;
    let none = if written { "not known" } else { "not written" };
    vec![
        ("", none, on(None)),
        ("day-first", "day first", on(Some(DateOrder::DayFirst))),
        ("month-first", "month first", on(Some(DateOrder::MonthFirst))),
        ("year-first", "year first", on(Some(DateOrder::YearFirst))),
    ]
}

fn tests(notebook: &Notebook, state: &State) -> Vec<(String, String, bool)> {
    let mut all: Vec<_> = notebook.tests.iter().filter(|t| field_of(t).is_some()).collect();
    all.sort_by(|a, b| b.day.cmp(&a.day));
    all.iter().map(|t| (t.id.clone(), label(notebook, t), t.id == state.test)).collect()
}

fn instruments(notebook: &Notebook, state: &State) -> Vec<(String, String, bool)> {
    let fits = notebook.instruments.iter().filter(|i| i.measures(Dim::Power) || i.id == state.instrument);
    fits.map(|i| (i.id.clone(), i.name.clone(), i.id == state.instrument)).collect()
}
