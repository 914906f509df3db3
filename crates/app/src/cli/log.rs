//! `trueplate log`: one meter's log, no bench needed.
use super::{Ended, Stop, out, out_json};
use serde_json::{Value, json};
use std::fs::File;
use std::path::PathBuf;
use trueplate_core::finding::Weight;
use trueplate_core::shown::{Style, duration_words, four_digits};
use trueplate_meters::logs::{self, Hints, Loaded, Mapping, Options, Question, choices, load};

#[derive(clap::Args)]
pub struct Arguments {
    /// The meter's file: delimited text, JSON objects, .xlsx or .ods; also packed with gzip or zip.
    file: PathBuf,
    /// Time zone of the meter's clock, as Europe/Berlin.
    #[arg(long)]
    zone: Option<String>,
    /// Answers to what the file cannot tell, as JSON laid over the mapping.
    #[arg(long)]
    map: Option<String>,
    /// Steps longer than this many seconds are gaps; default the larger of 5 s and 3.5 usual steps.
    #[arg(long)]
    gap: Option<f64>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

pub fn run(a: &Arguments) -> Ended {
    if let Some(gap) = a.gap.filter(|g| !(*g > 0.0 && g.is_finite())) {
        return Err(Stop::Usage(format!("--gap {gap}: seconds, more than 0")));
    }
    if let Some(zone) = a.zone.as_ref().filter(|z| jiff::tz::TimeZone::get(z).is_err()) {
        return Err(Stop::Usage(format!(
            "--zone {zone}: no such time zone; write it as Europe/Berlin or UTC"
        )));
    }
    let patch = match &a.map {
        Some(text) => Some(serde_json::from_str(text).map_err(|e| {
            Stop::Usage(format!("--map: this is no JSON ({e}); for example {{\"date_order\":\"day-first\"}}"))
        })?),
        None => None,
    };
    let at = |e: std::io::Error| Stop::unread(&a.file, &e);
    if a.file.is_dir() {
        return Err(Stop::Usage(format!("{}: this is a folder; name one file", a.file.display())));
    }
    let hints = Hints {
        file_name: a.file.file_name().map(|n| n.to_string_lossy().into_owned()),
        zone: a.zone.clone(),
        known: None,
    };
    let loaded =
        load(|| File::open(&a.file), &hints, &Options { gap_s: a.gap, ..Options::default() }, patch.as_ref())
            .map_err(at)?;
    if a.json {
        out_json(&logs::json(&loaded.log))?;
    } else {
        out(&text(&loaded))?;
    }
    if !loaded.understanding.readable {
        return Err(Stop::Usage(format!(
            "{}: not understood as a log; what was noticed is listed above",
            a.file.display()
        )));
    }
    let open = loaded.understanding.questions.iter().filter(|q| q.assumed.is_none()).count();
    if open > 0 {
        return Err(Stop::No(format!(
            "{}: {open} of the questions must be answered before there is a sum",
            a.file.display()
        )));
    }
    Ok(())
}

fn energy(wh: f64) -> String {
    format!("{} Wh", four_digits(wh, Style::PLAIN))
}

/// A question as a document, with its ready answers.
pub(super) fn question(q: &Question, mapping: &Mapping) -> Value {
    let ready = choices(q, mapping).into_iter().map(|c| json!({"says": c.label, "map": c.patch}));
    json!({"code": q.code, "text": q.text, "answers": q.answers, "assumed": q.assumed, "choices": ready.collect::<Vec<_>>()})
}

/// A unit as people write it.
fn unit(ucum: &str) -> String {
    ucum.replace("W.h", "Wh").replace("Cel", "°C")
}

/// Gaps listed one by one; the rest is counted.
const GAPS_LISTED: usize = 20;

pub(super) fn text(loaded: &Loaded) -> String {
    let log = &loaded.log;
    let mut t = String::new();
    let mut add = |label: &str, value: String| t.push_str(&format!("{label:<18}{value}\n"));
    add("rows", log.rows.to_string());
    if let (Some(first), Some(last)) = (&log.first, &log.last) {
        add("from", first.clone());
        add("to", last.clone());
    }
    for (label, s) in [("span", log.span_s), ("covered", log.covered_s)] {
        if let Some(s) = s {
            add(label, duration_words(s / 3600.0));
        }
    }
    for (label, wh) in [
        ("energy, covered", log.energy_wh),
        ("gaps bridged", log.energy_bridged_wh),
        ("by the counter", log.energy_counter_wh),
        ("charged", log.energy_in_wh),
        ("discharged", log.energy_out_wh),
    ] {
        if let Some(wh) = wh {
            add(label, energy(wh));
        }
    }
    if let Some(p) = &log.power {
        let w = |x: f64| four_digits(x, Style::PLAIN);
        add("power", format!("{} W on average, {} to {} W", w(p.mean), w(p.min), w(p.max)));
    }
    if log.gap_count > 0 {
        let longer = log.gap_s.map_or_else(String::new, |s| format!(", steps longer than {s} s"));
        add("gaps", format!("{}{longer}", log.gap_count));
        for g in log.gaps.iter().take(GAPS_LISTED) {
            add("", format!("{} to {}, {}", g.from, g.to, duration_words(g.s / 3600.0)));
        }
        if log.gap_count as usize > GAPS_LISTED {
            add("", format!("and {} more", log.gap_count as usize - GAPS_LISTED));
        }
    }
    if let Some(c) = &log.cutoff {
        let at = c.at.as_ref().map_or_else(String::new, |at| format!("{at}, "));
        let (after, wh) = (duration_words(c.elapsed_s / 3600.0), energy(c.energy_wh));
        add("cut-off", format!("{at}{after} after the first row; {wh} until then"));
    }
    for (label, text) in cycles(log) {
        add(label, text);
    }
    t.push_str("columns\n");
    for c in &log.columns {
        t.push_str(&format!(
            "  {:<28}{:<18}{}\n",
            c.name,
            serde_json::to_value(c.role).ok().and_then(|v| v.as_str().map(String::from)).unwrap_or_default(),
            c.unit.as_deref().map(unit).unwrap_or_default()
        ));
    }
    for f in &log.findings {
        let weight = match f.weight {
            Weight::Note => "note ",
            Weight::Doubt => "doubt",
            Weight::Gap => "gap  ",
        };
        t.push_str(&format!("{weight}  {}: {}; {}\n", f.place, f.text, f.hint));
    }
    asks(loaded, &mut t);
    t
}

/// What the file cannot tell, each with its answers ready to type.
fn asks(loaded: &Loaded, t: &mut String) {
    for q in &loaded.understanding.questions {
        let assumed =
            q.assumed.as_ref().map_or("must be answered".to_string(), |a| format!("taken for now: {a}"));
        t.push_str(&format!("asks   {} ({assumed})\n", q.text));
        let ready = choices(q, &loaded.understanding.mapping);
        for c in &ready {
            t.push_str(&format!("       {}:\n         --map '{}'\n", c.label, quoted(&c.patch)));
        }
        if ready.is_empty() || matches!(q.answers.as_str(), "zone" | "start") {
            t.push_str(&format!(
                "       in your own words: --map '{{\"{}\": \"{}\"}}'\n",
                q.answers,
                example(&q.answers)
            ));
        }
    }
}

/// A patch as it can be pasted between single quotes into a shell.
fn quoted(patch: &Value) -> String {
    patch.to_string().replace('\'', "'\\''")
}

/// What an answer of one's own looks like.
fn example(key: &str) -> &'static str {
    match key {
        "zone" => "Europe/Berlin",
        "start" => "2026-05-02T23:58:10",
        _ => "…",
    }
}

/// Of a load that switches itself: its cycles, and a fridge's thawing.
fn cycles(log: &logs::Log) -> Vec<(&'static str, String)> {
    let Some(c) = &log.cycles else { return Vec::new() };
    let on = c.duty * 100.0;
    let mut out =
        vec![("cycles", format!("{} starts, {} whole, on {on:.0} % of the time", c.starts, c.whole))];
    if let Some(d) = c.defrosts {
        let length = duration_words(d.length_s / 3600.0);
        out.push(("defrosting", format!("{} times, {length} at {:.0} W", d.times, d.mean_w)));
    }
    out
}
