//! What a log comes to, in rows of words and numbers for its page.
use trueplate_core::recording::{LogRecord, Mark};
use trueplate_core::shown::{Style, duration_words, four_digits, signed};
use trueplate_meters::logs::Log;
use trueplate_pages::chart::bar;

/// Gaps listed on the page.
const GAPS_SHOWN: usize = 200;
/// Steps between rows listed.
const STEPS_SHOWN: usize = 6;

fn instant(mark: &Mark, first: &Mark) -> String {
    let after = duration_words((mark.elapsed_s - first.elapsed_s) / 3600.0);
    if mark.at.is_empty() { format!("after {after}") } else { clock(&mark.at) }
}

/// Everything it comes to: label, value, and a remark under the label.
pub fn sums(log: &Log, record: Option<&LogRecord>, style: Style) -> Vec<(&'static str, String, String)> {
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
    let off = power.zip(log.energy_counter_wh).filter(|(p, _)| *p != 0.0).map(|(p, c)| c / p);
    let against = off.map_or_else(String::new, |o| match (0.5..2.0).contains(&o) {
        true => format!("{} % against power over time", signed(100.0 * (o - 1.0), 2, style)),
        false => format!("{} times what power over time gives", four_digits(o, style)),
    });
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
        if let Some(d) = c.defrosts {
            let every =
                d.every_s.map_or(String::new(), |s| format!(", every {}", duration_words(s / 3600.0)));
            let note = format!(
                "{} for {}{every}; in the mean where it falls into whole cycles",
                super::words::plural(d.times as usize, "time", "times"),
                duration_words(d.length_s / 3600.0)
            );
            add("defrosting", Some(number(d.mean_w, "W")), note);
        }
    }
    out
}

/// The commonest steps between rows, with how often each comes and a bar for the eye.
pub fn intervals(log: &Log, style: Style) -> Vec<(String, String, String)> {
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

/// What counts as a gap here.
pub fn gap_rule(log: &Log, style: Style) -> String {
    let Some(gap) = log.gap_s else { return String::new() };
    let found = if log.gap_count == 0 { "there is none" } else { "their energy is counted apart" };
    format!("Longer than {} s is a gap; {found}.", four_digits(gap, style))
}

/// An instant as it is read: without the offset, which is the same throughout.
pub fn clock(text: &str) -> String {
    text.get(..19).filter(|_| text.contains('T')).unwrap_or(text).replace('T', " ")
}

/// Gaps: from, to, how long.
pub fn gaps(log: &Log) -> Vec<(String, String, String)> {
    let row = |g: &trueplate_meters::logs::Gap| (clock(&g.from), clock(&g.to), duration_words(g.s / 3600.0));
    log.gaps.iter().take(GAPS_SHOWN).map(row).collect()
}
