//! What only several tests together show: a start too soon, two tests at once, repeats that differ, figures that no
//! station of this trade has. Doubts and notes, never errors.
use crate::claims::spec_of;
use crate::condition::condition_words;
use crate::field::Shape;
use crate::finding::Finding;
use crate::judge::is_minimum;
use crate::kind::claimed;
use crate::kinds;
use crate::named::{named, named_in};
use crate::notebook::{Bound, Claim, Model, Notebook, Specimen, Test};
use crate::number;
use crate::quantity::Dim;
use crate::reading::{marks_of, zone_of};
use crate::repeat::{Outcomes, ResultRow, counts};
use crate::shown::duration_words;
use crate::stamp::{self, Stamp};
use crate::stats::agreement::e_n;
use jiff::tz::TimeZone;
use std::collections::BTreeSet;

/// Rest after the charger stopped, h (common practice).
const REST_H: f64 = 0.5;
/// Cooling before a start counts as cold, h (common practice).
const COOL_H: f64 = 1.0;
/// Repeats further apart than this share are asked about (common practice).
const REPEATS: f64 = 0.03;
/// Usable share of the stated energy that is plausible (common practice).
const USABLE: (f64, f64) = (0.55, 0.97);
/// Idle draw as a share of the stated power that is plausible (common practice).
const IDLE: (f64, f64) = (0.003, 0.03);
/// Wall energy of a whole recharge over the usable energy that is plausible (common practice).
const RECHARGE: (f64, f64) = (1.05, 1.45);

/// A test with the first and the last moment written in it.
struct Span<'a> {
    test: &'a Test,
    from: Stamp,
    to: Stamp,
}

/// What the tests of one model show together; the test id is empty for what belongs to none of them.
pub fn findings(
    notebook: &Notebook,
    outcomes: &Outcomes,
    model: &Model,
    rows: &[ResultRow],
) -> Vec<(String, Finding)> {
    let zone = zone_of(&notebook.settings);
    let mut out = Vec::new();
    for specimen in notebook.specimens.iter().filter(|s| s.model == model.id) {
        of_specimen(notebook, specimen, &mut out);
        let mut spans: Vec<Span> = notebook
            .tests
            .iter()
            .filter(|t| t.specimen == specimen.id && t.excluded.is_empty())
            .filter_map(|t| span(t, &zone))
            .collect();
        spans.sort_by_key(|s| s.from.at);
        in_order(&spans, &zone, &mut out);
        older_firmware(specimen.firmware_now(), &specimen.id, rows, &mut out);
    }
    same_file(notebook, model, &mut out);
    repeats(notebook, outcomes, rows, &mut out);
    samples(notebook, model, rows, &mut out);
    plausible(notebook, model, rows, &mut out);
    contradicting(notebook, model, &mut out);
    if let Some(price) = model.prices.iter().find(|p| p.on.is_empty()) {
        let text = format!("the price of {} {:.0} has no date", price.currency, price.amount);
        let hint = "write the day it was seen; until then it is not printed and nothing is computed from it";
        out.push((String::new(), Finding::gap("price-undated", "prices", text, hint)));
    }
    out
}

/// One file under two tests that both count: it can be of one run only.
fn same_file(notebook: &Notebook, model: &Model, out: &mut Vec<(String, Finding)>) {
    let of_model = |t: &&Test| notebook.model_of(&t.specimen).is_some_and(|m| m.id == model.id) && counts(t);
    let logs = |t: &'_ Test| -> Vec<(String, String, String)> {
        let fields = kinds::find(&t.kind).map(|k| k.spec().fields).unwrap_or_default();
        let named = fields.iter().filter(|f| f.shape.takes_files()).flat_map(|f| {
            let files = t.entries.get(f.key).map_or(&[][..], |e| &e.files);
            // Of logs the last one counts.
            let from = if f.shape == Shape::Log { files.len().saturating_sub(1) } else { 0 };
            files[from..].iter().map(|file| (f.key.to_string(), file.sha256.clone(), file.name.clone()))
        });
        named.collect()
    };
    let all: Vec<_> = notebook.tests.iter().filter(of_model).map(|t| (t, logs(t))).collect();
    for (n, (test, own)) in all.iter().enumerate() {
        for (key, sha, name) in own {
            let before = all[..n].iter().find(|(_, other)| other.iter().any(|o| o.1 == *sha));
            let Some((other, _)) = before else { continue };
            let text = format!("{name} belongs to another test too, of {}", other.day);
            let hint = "take it out of the one it does not belong to";
            out.push((test.id.clone(), Finding::doubt("same-file-twice", key.as_str(), text, hint)));
        }
    }
}

/// One serial number twice, and a sample that is no longer here.
fn of_specimen(notebook: &Notebook, specimen: &Specimen, out: &mut Vec<(String, Finding)>) {
    if let Some(other) = notebook.same_serial(specimen).filter(|other| other.id < specimen.id) {
        let text = format!("{} and {} stand under one serial number", other.named(), specimen.named());
        let hint =
            "look at the labels on both; if it is one sample, put its tests together and delete the other";
        out.push((String::new(), Finding::doubt("same-serial", "specimens", text, hint)));
    }
    if !specimen.returned.is_empty() {
        let text =
            format!("{} was sent back on {} and cannot be retested", specimen.named(), specimen.returned);
        let hint = "a challenge of its results needs another sample, or this one back";
        out.push((String::new(), Finding::note("cannot-be-retested", "specimens", text, hint)));
    }
}

/// Two claims of one figure under one condition that cannot both bind. Only claims that bind the same way are compared.
fn contradicting(notebook: &Notebook, model: &Model, out: &mut Vec<(String, Finding)>) {
    let figure = |c: &Claim| {
        let result = spec_of(&c.key)?;
        let marks = marks_of(&notebook.settings);
        let typed = number::quantity(&c.text, result.dim, result.shown_in(), marks).ok()?;
        (c.bound != Bound::Unclear).then(|| (typed.kept, is_minimum(result, c.bound), result))
    };
    let said = |c: &Claim| match c.source.as_str() {
        "" => c.text.clone(),
        source => format!("{} ({source})", c.text),
    };
    for (i, one) in model.claims.iter().enumerate() {
        for other in &model.claims[i + 1..] {
            let same = one.key == other.key && one.condition == other.condition;
            let (Some((a, min_a, result)), Some((b, min_b, _)), true) = (figure(one), figure(other), same)
            else {
                continue;
            };
            if min_a == min_b && (a - b).abs() > 1e-9 * a.abs().max(b.abs()) {
                let title = match one.condition.is_empty() {
                    true => result.title.to_lowercase(),
                    false => format!("{}, {}", result.title.to_lowercase(), condition_words(&one.condition)),
                };
                let text = format!("the maker says two things of {title}: {} and {}", said(one), said(other));
                let hint = "look at both places once more; if both stand there, keep both with their source, and say so in the letter";
                out.push((String::new(), Finding::doubt("claims-contradict", one.id.as_str(), text, hint)));
            }
        }
    }
}

fn span<'a>(test: &'a Test, zone: &TimeZone) -> Option<Span<'a>> {
    let fields = kinds::find(&test.kind)?.spec().fields;
    let day = test.day.parse().ok();
    let mut stamps: Vec<Stamp> = Vec::new();
    for field in fields.iter().filter(|f| f.shape == Shape::Stamp) {
        let Some(entry) = test.entries.get(field.key) else { continue };
        let Ok(mut s) = stamp::stamp(&entry.text, day, zone) else { continue };
        if s.day_assumed && stamps.first().is_some_and(|first| s.at < first.at) {
            s = stamp::next_day(s, zone)?;
        }
        stamps.push(s);
    }
    let from = *stamps.iter().min_by_key(|s| s.at)?;
    let to = *stamps.iter().max_by_key(|s| s.at)?;
    Some(Span { test, from, to })
}

/// What stands wrong between one test of a specimen and the next.
fn in_order(spans: &[Span], zone: &TimeZone, out: &mut Vec<(String, Finding)>) {
    let says = |t: &Test, key: &str, text: &str| t.entries.get(key).is_some_and(|e| e.text.trim() == text);
    for pair in spans.windows(2) {
        let (before, now) = (&pair[0], &pair[1]);
        let pause = stamp::hours_between(before.to, now.from);
        let mut add = |finding| out.push((now.test.id.clone(), finding));
        // Times written to the minute may touch.
        if pause < -1.5 / 60.0 {
            let text = format!("it begins before {} has ended", named(before.test, zone));
            let hint = "look at the times of both: one station can do one test at a time";
            add(Finding::doubt("tests-overlap", "start", text, hint));
            continue;
        }
        if before.test.kind == "recharge" && pause < REST_H && says(now.test, "start_state", "full-rested") {
            let text = format!(
                "it began {} after the charger stopped, and says full and rested",
                duration_words(pause.max(0.0))
            );
            let hint =
                "rest 30 minutes; or say that it was charged until just now, which widens the interval";
            add(Finding::doubt("not-rested", "start_state", text, hint));
        }
        let drained = before.test.kind != "recharge";
        if drained && pause < COOL_H && says(now.test, "temperature_state", "cold") {
            let text = format!(
                "it began {} after {}, and says cold",
                duration_words(pause.max(0.0)),
                named(before.test, zone)
            );
            let hint = "say warm, or let it cool for an hour and repeat";
            add(Finding::doubt("warm-start-unmarked", "temperature_state", text, hint));
        }
    }
}

fn older_firmware(now: &str, specimen: &str, rows: &[ResultRow], out: &mut Vec<(String, Finding)>) {
    let old = |r: &&ResultRow| r.specimen == specimen && r.firmware != now && !r.superseded;
    let touched = |r: &&ResultRow| r.result.varies || r.result.at_least || r.result.counted;
    let mut titles: Vec<&str> = Vec::new();
    for row in rows.iter().filter(|r| old(r) && touched(r)) {
        if !titles.contains(&row.result.title) {
            titles.push(row.result.title);
        }
    }
    let Some(first) = rows.iter().find(|r| old(r) && touched(r)) else { return };
    let text = format!(
        "measured on firmware {}, the station carries {now} now: {}",
        first.firmware,
        titles.join(", ").to_lowercase()
    );
    let hint = "repeat what the update may have changed; the idle draw and the switchover first";
    out.push((String::new(), Finding::note("measured-on-older-firmware", "firmware", text, hint)));
}

fn is_zero(text: &str) -> bool {
    !text.bytes().any(|b| b.is_ascii_digit() && b != b'0')
}

/// The instruments whose counter some test began at zero.
pub fn reset_counters(notebook: &Notebook) -> BTreeSet<&str> {
    let starts = notebook.tests.iter().filter_map(|t| t.entries.get("counter_start"));
    starts.filter(|e| is_zero(&e.text) && !e.instrument.is_empty()).map(|e| e.instrument.as_str()).collect()
}

/// A counter that other tests began at zero, and this one did not.
pub fn counter_not_reset(reset: &BTreeSet<&str>, test: &Test) -> Option<(String, Finding)> {
    let start = test.entries.get("counter_start").filter(|e| !is_zero(&e.text))?;
    if !reset.contains(start.instrument.as_str()) {
        return None;
    }
    let text = format!("the counter began at {}, not at zero; the rise is what counts", start.text);
    let hint = "nothing to do if both readings are right; a reset would spare one step of doubt";
    Some((test.id.clone(), Finding::note("counter-not-reset", "counter_start", text, hint)))
}

/// Equal tests with results too far apart.
fn repeats(notebook: &Notebook, outcomes: &Outcomes, rows: &[ResultRow], out: &mut Vec<(String, Finding)>) {
    for row in rows.iter().filter(|r| r.result.varies && r.tests.len() > 1) {
        let found = |id: &String| {
            let mut all = outcomes.get(id)?.results.iter();
            all.find(|f| f.result.key == row.result.key && f.condition == row.condition).map(|f| f.value.x)
        };
        let values: Vec<f64> = row.tests.iter().filter_map(found).collect();
        let (low, high) = values.iter().fold((f64::INFINITY, 0.0f64), |(l, h), x| (l.min(*x), h.max(*x)));
        if high > low * (1.0 + REPEATS)
            && let Some(last) = row.tests.last()
        {
            let text = format!(
                "{}: equal tests differ by {:.1} % ({})",
                row.result.title.to_lowercase(),
                100.0 * (high / low - 1.0),
                row.tests.iter().map(|id| named_in(notebook, id)).collect::<Vec<_>>().join(", ")
            );
            let hint = "look for a start that was not full, a warm start, another mode, a wrong reading";
            out.push((last.clone(), Finding::doubt("repeats-differ", row.result.key, text, hint)));
        }
    }
}

/// Two samples that differ by more than the measurement of both allows: E_n beyond 1, what they share taken out.
fn samples(notebook: &Notebook, model: &Model, rows: &[ResultRow], out: &mut Vec<(String, Finding)>) {
    let now = |r: &&ResultRow| r.result.varies && !r.superseded && r.value.has_u();
    let own: Vec<&ResultRow> = rows.iter().filter(now).collect();
    let label = |id: &str| notebook.specimen(id).map_or("", Specimen::named);
    for (i, one) in own.iter().enumerate() {
        let same = |o: &&&ResultRow| {
            o.specimen != one.specimen
                && (o.result.key, &o.condition, &o.firmware)
                    == (one.result.key, &one.condition, &one.firmware)
        };
        for other in own[i + 1..].iter().filter(same) {
            let between = one.value.minus(&other.value);
            let Some(e_n) = e_n(between.x, &[2.0 * between.u()]).filter(|e_n| e_n.abs() > 1.0) else {
                continue;
            };
            let text = format!(
                "{}: {} and {} differ by {:.1} %, {:.1} times what their measurement allows (E_n, k = 2)",
                one.result.title.to_lowercase(),
                label(&one.specimen),
                label(&other.specimen),
                100.0 * (between.x / other.value.x).abs(),
                e_n.abs()
            );
            let hint = format!("say so on the page of {}: one sample does not speak for all", model.name);
            let test = other.tests.last().cloned().unwrap_or_default();
            out.push((test, Finding::note("samples-differ", one.result.key, text, hint)));
        }
    }
}

/// Figures outside what stations of this trade show.
fn plausible(notebook: &Notebook, model: &Model, rows: &[ResultRow], out: &mut Vec<(String, Finding)>) {
    let now = |key: &'static str| rows.iter().filter(move |r| r.result.key == key && !r.superseded);
    let mut ask = |row: &ResultRow, code: &str, share: f64, (low, high): (f64, f64), of: &str| {
        if (low..=high).contains(&share) {
            return;
        }
        let text = format!(
            "{}: {:.1} % of {of}; {:.1} to {:.1} % is usual",
            row.result.title.to_lowercase(),
            100.0 * share,
            100.0 * low,
            100.0 * high
        );
        let hint = "look at the readings once more; if they are right, it is worth a sentence on the page";
        let test = row.tests.last().cloned().unwrap_or_default();
        out.push((test, Finding::note(code, row.result.key, text, hint)));
    };
    if let Some(stated) = claimed(notebook, model, "stored-energy", Dim::Energy).filter(|x| *x > 0.0) {
        // A small load leaves most to the idle draw: only shares of the stated power are asked about.
        let usual = |r: &&ResultRow| r.condition.len() == 1 && r.condition.values().all(|v| v.ends_with('%'));
        for row in now("usable-energy").filter(usual) {
            ask(row, "usable-share", row.value.x / stated, USABLE, "the stated energy");
        }
    }
    if let Some(rated) = claimed(notebook, model, "sustained-output", Dim::Power).filter(|x| *x > 0.0) {
        for row in now("idle-draw") {
            ask(row, "idle-share", row.value.x / rated, IDLE, "the stated power");
        }
    }
    let half =
        |r: &&ResultRow| r.condition.len() == 1 && r.condition.get("load").is_some_and(|l| l == "50 %");
    for row in now("wall-energy").filter(|r| r.condition.get("from").is_some_and(|f| f == "AC cut-off")) {
        if let Some(given) = now("usable-energy").filter(half).find(|u| u.specimen == row.specimen) {
            ask(row, "recharge-share", row.value.x / given.value.x, RECHARGE, "what half load gets out");
        }
    }
}
