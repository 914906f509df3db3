//! The page of a log: what was understood, what it comes to, what was noticed, and what can be said about it.
use super::log_state::State;
use super::logs::{attached, field_of, label};
use super::page::{Ask, Top};
use askama::Template;
use trueplate_core::finding::Weight;
use trueplate_core::notebook::{FileRef, Notebook};
use trueplate_core::quantity::Dim;
use trueplate_core::recording::{LogRecord, Mark};
use trueplate_core::shown::{Style, duration_words, four_digits};
use trueplate_meters::logs::{DateOrder, Loaded, Log, Mapping, Role, TimeKind, choices, recording};
use trueplate_pages::chart::{bar, trace::Trace};

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
    figure: String,
    trace_says: String,
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

/// Gaps listed on the page.
const GAPS_SHOWN: usize = 200;
/// Steps between rows listed, and rows shown.
const STEPS_SHOWN: usize = 6;

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
        figure: figure(state, log, record.as_ref()),
        trace_says: "Pull over a stretch to see it closer; arrow keys move the cursor.".into(),
        zooms: zooms(state, record.as_ref()),
        sums: sums(log, record.as_ref(), style),
        intervals: intervals(log, style),
        gap_rule: gap_rule(log, style),
        gap_words: format!("{} gaps", log.gap_count),
        gaps: gaps(log),
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
        choices: choices(q, mapping).into_iter().map(|c| (upper(&c.label), c.patch.to_string())).collect(),
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
    facts.extend(log.first.clone().map(|t| ("from", t)));
    facts.extend(log.last.clone().map(|t| ("to", t)));
    let between = match mapping.delimiter {
        '\t' => "tabs".into(),
        ' ' => "spaces".into(),
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
        marks: marks.into_iter().filter_map(|(m, w)| Some((m?.elapsed_s, w))).collect(),
        window,
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

fn instant(mark: &Mark, first: &Mark) -> String {
    let after = duration_words((mark.elapsed_s - first.elapsed_s) / 3600.0);
    if mark.at.is_empty() { format!("after {after}") } else { mark.at.replace('T', " ") }
}

fn sums(log: &Log, record: Option<&LogRecord>, style: Style) -> Vec<(&'static str, String, String)> {
    let number = |x: f64, unit: &str| format!("{} {unit}", four_digits(x, style));
    let mut out: Vec<(&'static str, String, String)> = Vec::new();
    let mut add = |label: &'static str, value: Option<String>, note: String| {
        out.extend(value.map(|v| (label, v, note)))
    };
    add("time from first to last row", log.span_s.map(|s| duration_words(s / 3600.0)), String::new());
    add("of it covered by readings", log.covered_s.map(|s| duration_words(s / 3600.0)), String::new());
    add(
        "energy over the covered time",
        log.energy_wh.map(|e| number(e, "Wh")),
        "power over time, trapezoid".into(),
    );
    add("with the gaps bridged", log.energy_bridged_wh.map(|e| number(e, "Wh")), "by straight lines".into());
    let power = log.energy_bridged_wh.or(log.energy_wh);
    let off = power.zip(log.energy_counter_wh).filter(|(p, _)| *p != 0.0).map(|(p, c)| 100.0 * (c / p - 1.0));
    let against = off.map_or_else(String::new, |o| format!("{o:+.2} % against power over time"));
    add("by its own counter", log.energy_counter_wh.map(|e| number(e, "Wh")), against);
    add("charged", log.energy_in_wh.map(|e| number(e, "Wh")), String::new());
    add("discharged", log.energy_out_wh.map(|e| number(e, "Wh")), String::new());
    let spread = |p: &trueplate_meters::logs::PowerSummary| {
        format!("{} to {}", four_digits(p.min, style), number(p.max, "W"))
    };
    add(
        "mean power",
        log.power.map(|p| number(p.mean, "W")),
        log.power.as_ref().map(spread).unwrap_or_default(),
    );
    if let Some(r) = record {
        add("load on", r.on.as_ref().map(|m| instant(m, &r.first)), String::new());
        let lasting = "below 5 W or 2 % of the usual power, for good".to_string();
        add("off", r.off.as_ref().map(|m| instant(m, &r.first)), lasting);
        let end = r.off.as_ref().unwrap_or(&r.last);
        let at_80 = r.reached(0.8, end).map(|s| duration_words(s / 3600.0));
        add("80 % of the energy after", at_80, String::new());
        add(
            "power falls off after",
            r.taper(end).map(|s| duration_words(s / 3600.0)),
            "below 95 % of its plateau for good".into(),
        );
    }
    if let Some(c) = &log.cycles {
        let note = format!(
            "{} starts, on {:.0} % of the time, {} while on",
            c.starts,
            100.0 * c.duty,
            number(c.running_w, "W")
        );
        add("cycle of the load", Some(duration_words(c.period_s / 3600.0)), note);
        add("mean over whole cycles", Some(number(c.mean_w, "W")), format!("{} whole cycles", c.whole));
    }
    out
}

fn intervals(log: &Log, style: Style) -> Vec<(String, String, String)> {
    let mut all = log.intervals.clone();
    all.sort_by_key(|i| std::cmp::Reverse(i.count));
    let most = all.first().map_or(1, |i| i.count) as f64;
    all.truncate(STEPS_SHOWN);
    all.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let row = |i: &trueplate_meters::logs::IntervalShare| {
        (
            format!("{} s", four_digits(i.seconds, style)),
            format!("{} ×", i.count),
            bar::svg(i.count as f64, 0.0, most),
        )
    };
    all.iter().map(row).collect()
}

fn gap_rule(log: &Log, style: Style) -> String {
    let Some(gap) = log.gap_s else { return String::new() };
    let found = if log.gap_count == 0 { "there is none" } else { "their energy is counted apart" };
    format!("Longer than {} s is a gap; {found}.", four_digits(gap, style))
}

fn gaps(log: &Log) -> Vec<(String, String, String)> {
    let clock = |t: &str| t.replace('T', " ");
    let row = |g: &trueplate_meters::logs::Gap| (clock(&g.from), clock(&g.to), duration_words(g.s / 3600.0));
    log.gaps.iter().take(GAPS_SHOWN).map(row).collect()
}

fn columns(mapping: &Mapping, log: &Log, style: Style) -> Vec<Column> {
    let range = |n: usize| {
        let (low, _, high) = log.columns.get(n).and_then(|c| c.range)?;
        Some(format!("{} to {}", four_digits(low, style), four_digits(high, style)))
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
    let number = |f: &String| f.starts_with(|c: char| c.is_ascii_digit() || "-+−.,".contains(c));
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
