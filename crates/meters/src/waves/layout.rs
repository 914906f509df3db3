//! How a capture's rows are to be read: which column is the time, how far apart samples are, what a number means.
use super::keys::Keys;
use super::table::{Table, cut, unit, unit_in};
use crate::logs::text::{decode, encoding_of, not_text};
use encoding_rs::UTF_8;
use trueplate_core::finding::Finding;

/// What a column is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Use {
    /// The time, in so many seconds.
    Time(f64),
    /// The samples of a channel.
    Samples(usize),
    /// Nothing.
    Skip,
}

/// A channel as the head describes it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Channel {
    pub(crate) name: String,
    /// `V`, `A`, or unknown.
    pub(crate) unit: Option<char>,
    /// A sample in V or A is `(number − zero) · scale`.
    pub(crate) zero: f64,
    pub(crate) scale: f64,
    pub(crate) stated_probe: Option<f64>,
}

/// How to read the rows.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Layout {
    pub(crate) encoding: String,
    pub(crate) cr_only: bool,
    pub(crate) delimiter: Option<char>,
    pub(crate) decimal: u8,
    /// Line of the first row, from 1.
    pub(crate) first_row: u64,
    /// By column.
    pub(crate) uses: Vec<Use>,
    pub(crate) channels: Vec<Channel>,
    /// Seconds from sample to sample (a pair is one sample).
    pub(crate) interval_s: f64,
    /// The largest step of time in the head, s; steps much beyond it are breaks.
    pub(crate) usual_step_s: f64,
    pub(crate) start_s: f64,
    /// Lowest and highest value of each interval in two rows of the same time.
    pub(crate) pairs: bool,
    pub(crate) findings: Vec<Finding>,
}

/// The most channels that are read.
const CHANNELS: usize = 16;

impl Layout {
    /// The same with one channel only; `None` where there is no such channel.
    pub(crate) fn alone(mut self, channel: usize) -> Option<Layout> {
        self.channels = vec![self.channels.get(channel)?.clone()];
        for of in &mut self.uses {
            *of = match *of {
                Use::Samples(n) if n == channel => Use::Samples(0),
                Use::Samples(_) => Use::Skip,
                other => other,
            };
        }
        while self.uses.last() == Some(&Use::Skip) {
            self.uses.pop();
        }
        Some(self)
    }
}

fn refused(code: &str, text: &str, hint: &str) -> Vec<Finding> {
    vec![Finding::gap(code, "file", text, hint)]
}

/// The times of the rows of the head.
struct Times {
    /// Place among the numeric columns, and its unit in s.
    column: usize,
    factor: f64,
    interval_s: Option<f64>,
    usual_step_s: f64,
    start_s: f64,
    pairs: bool,
    /// Steps of nothing between rows, in runs longer than two: printed too coarsely.
    coarse: bool,
}

/// Looks at the head of a file.
pub(crate) fn understand(head: &[u8]) -> Result<Layout, Vec<Finding>> {
    if let Some(what) = not_text(head) {
        return Err(refused(
            "not-text",
            &format!("{what}, not a capture in text"),
            "export the capture as CSV",
        ));
    }
    let encoding = encoding_of(head);
    let text = decode(head, encoding);
    let cr_only = !text.contains('\n') && text.contains('\r');
    let end = if cr_only { '\r' } else { '\n' };
    let mut lines: Vec<&str> = text.split(end).map(|l| l.trim_end_matches(['\r', '\0'])).collect();
    // The head may end inside a line.
    if lines.len() > 20 {
        lines.pop();
    }
    let hint = "a capture holds rows of numbers, with the time in a column or its step in the header";
    let table = Table::of(&lines).ok_or_else(|| refused("no-rows", "no rows of numbers are found", hint))?;
    let keys = keys_of(&lines, &table);
    let times = times(&table);
    let mut findings = Vec::new();
    let (interval_s, start_s) = step(&table, &keys, times.as_ref(), &mut findings)?;
    let pairs = times.as_ref().is_some_and(|t| t.pairs);
    if pairs {
        findings.push(Finding::note(
            "peak-pairs",
            "time",
            "two rows for each time: the lowest and the highest value of an interval",
            "their middle is taken for rms, distortion and times, their width is added to the peak; a capture without peak detection says more",
        ));
    }
    let (uses, channels) = columns(&table, &keys, times.as_ref(), &mut findings);
    if channels.is_empty() {
        return Err(refused("no-channel", "there is a time column and no column of samples", hint));
    }
    Ok(Layout {
        encoding: if encoding == UTF_8 { "utf-8".into() } else { encoding.name().into() },
        cr_only,
        delimiter: table.delimiter,
        decimal: table.decimal,
        first_row: table.first as u64 + 1,
        uses,
        channels,
        interval_s,
        usual_step_s: times.map_or(interval_s, |t| t.usual_step_s),
        start_s,
        pairs,
        findings,
    })
}

/// Keys above the rows, and beside them in columns that hold no numbers.
fn keys_of(lines: &[&str], table: &Table) -> Keys {
    let mut keys = Keys::default();
    let mut out = Vec::new();
    for line in &lines[..table.first] {
        let mark = [';', '\t', ',', ':', '='].into_iter().find(|m| line.contains(*m));
        cut(line, mark, &mut out);
        keys.line(&out, table.decimal);
    }
    let beside = table.numeric.first().copied().unwrap_or(0);
    if beside >= 2 {
        for line in lines.iter().skip(table.first).take(40) {
            cut(line, table.delimiter, &mut out);
            keys.line(&out[..beside.min(out.len())], table.decimal);
        }
    }
    keys
}

/// Is the first column of numbers the time? By its name, or because it rises evenly.
fn times(table: &Table) -> Option<Times> {
    let column = *table.numeric.first()?;
    let name = table.names.get(column).map_or("", String::as_str);
    let said = table.units.get(column).and_then(|u| unit(u)).or_else(|| unit_in(name));
    let named = crate::logs::header::said(name).time || said.is_some();
    if said.is_some_and(|u| u.0 != 's') || (table.numeric.len() < 2 && !named) {
        return None;
    }
    let factor = said.map_or(1.0, |u| u.1);
    let t: Vec<f64> = table.rows.iter().map(|r| r[0] * factor).collect();
    let steps: Vec<f64> = t.windows(2).map(|w| w[1] - w[0]).collect();
    let largest = steps.iter().copied().fold(0.0, f64::max);
    // A later segment in the head may begin anew.
    let falls = steps.iter().filter(|s| **s < 0.0).count();
    let mut sorted = steps.clone();
    sorted.sort_by(f64::total_cmp);
    let median = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    let even =
        steps.iter().filter(|s| (**s - median).abs() <= 0.6 * median.abs().max(largest * 1e-3)).count();
    let halves = steps.chunks_exact(2).filter(|c| c[0] == 0.0 && c[1] > 0.0).count();
    let pairs = t.len() >= 4 && halves * 2 * 10 >= steps.len().saturating_sub(1) * 9;
    let rises = falls * 20 <= steps.len() && largest > 0.0;
    if !(rises && (named || pairs || even * 10 >= steps.len() * 9)) {
        return None;
    }
    let coarse = !pairs && sorted.iter().filter(|s| **s == 0.0).count() * 4 > sorted.len();
    let positive: Vec<f64> = sorted.iter().copied().filter(|s| *s > 0.0).collect();
    // Where times rise evenly their whole span tells the step best; breaks in the head must not spoil it.
    let per = if pairs { 2.0 } else { 1.0 };
    let span_step = |t: &[f64]| (t[t.len() - 1] - t[0]) / ((t.len() as f64 / per).ceil() - 1.0);
    let usual = positive.get(positive.len() / 2).copied().unwrap_or(0.0);
    let unbroken = falls == 0 && (coarse || largest < 1.9 * usual);
    let interval = if unbroken { span_step(&t) } else { usual };
    Some(Times {
        column,
        factor,
        interval_s: (interval > 0.0 && interval.is_finite()).then_some(interval),
        usual_step_s: if coarse { largest } else { usual },
        start_s: t.first().copied().unwrap_or(0.0),
        pairs,
        coarse,
    })
}

/// The step from sample to sample and the time of the first.
fn step(
    table: &Table,
    keys: &Keys,
    times: Option<&Times>,
    findings: &mut Vec<Finding>,
) -> Result<(f64, f64), Vec<Finding>> {
    let usable = |s: f64| (1e-12..1e3).contains(&s);
    let stated = keys.interval_s.filter(|s| usable(*s));
    let seen = times.and_then(|t| t.interval_s).filter(|s| usable(*s));
    let start = times.map(|t| t.start_s).or(keys.start_s);
    let interval = match (stated, seen) {
        (None, None) => {
            return Err(refused(
                "no-time-base",
                &format!(
                    "{} rows of numbers, and neither a column of times nor a sample interval",
                    table.rows.len()
                ),
                "export with the time column or the header, or add a first line such as: Sample Interval,0.00002,s",
            ));
        }
        (Some(stated), None) => stated,
        (None, Some(seen)) => {
            if times.is_some_and(|t| t.coarse) {
                findings.push(Finding::doubt(
                    "times-coarse",
                    "time",
                    "many rows carry the same time: it is written with too few digits, and no sample interval is stated",
                    "frequencies and durations rest on the mean step; export with more digits or with the header",
                ));
            }
            seen
        }
        // They agree: the stated one is not rounded.
        (Some(stated), Some(seen)) if (stated / seen - 1.0).abs() < 0.01 => stated,
        (Some(stated), Some(_)) if times.is_some_and(|t| t.coarse) => stated,
        (Some(stated), Some(seen)) => {
            let text = format!(
                "the header states {stated:e} s from sample to sample, the times are {seen:e} s apart"
            );
            let hint =
                "the times are taken; was the capture thinned out on export? Then its peaks may be missing";
            findings.push(Finding::doubt("interval-differs", "time", text, hint));
            seen
        }
    };
    let start = start.unwrap_or_else(|| keys.trigger.map_or(0.0, |t| -t * interval));
    Ok((interval, if start.is_finite() { start } else { 0.0 }))
}

/// What each column is for, and what its numbers mean.
fn columns(
    table: &Table,
    keys: &Keys,
    times: Option<&Times>,
    findings: &mut Vec<Finding>,
) -> (Vec<Use>, Vec<Channel>) {
    let width = table.numeric.last().map_or(0, |c| c + 1);
    let mut uses = vec![Use::Skip; width];
    let mut channels = Vec::new();
    if let Some(t) = times {
        uses[t.column] = Use::Time(t.factor);
    }
    for (place, &column) in table.numeric.iter().enumerate() {
        let named = table.names.get(column).cloned().unwrap_or_default();
        // Some write the time again before each channel.
        let again = times.is_some() && place > 0 && table.rows.iter().all(|r| r[place] == r[0]);
        if uses[column] != Use::Skip || again {
            continue;
        }
        if channels.len() == CHANNELS {
            let text = format!("more than {CHANNELS} columns of samples; the first are read");
            findings.push(Finding::doubt("many-channels", "columns", text, "is this a capture?"));
            break;
        }
        uses[column] = Use::Samples(channels.len());
        let channel = channel(table, keys, place, channels.len(), named, findings);
        channels.push(channel);
    }
    (uses, channels)
}

fn channel(
    table: &Table,
    keys: &Keys,
    place: usize,
    n: usize,
    named: String,
    findings: &mut Vec<Finding>,
) -> Channel {
    let column = table.numeric[place];
    let name = if named.trim().is_empty() { format!("CH{}", n + 1) } else { named.trim().to_string() };
    let written = table.units.get(column).and_then(|u| unit(u)).or_else(|| unit_in(&named));
    let stated = keys.units.get(n).or_else(|| keys.units.first()).and_then(|u| unit(u));
    let (letter, factor) = written.or(stated).map_or((None, 1.0), |(u, f)| (Some(u), f));
    let whole = table.rows.iter().all(|r| r[place].fract() == 0.0 && r[place].abs() < 1e6);
    let volts_a_step = Keys::of(&keys.steps, n).or_else(|| {
        Some(Keys::of(&keys.divisions, n)? / Keys::of(&keys.steps_a_division, n).filter(|s| *s > 0.0)?)
    });
    let (zero, scale) = match volts_a_step.filter(|_| whole) {
        Some(step) => (Keys::of(&keys.zeros, n).unwrap_or(0.0), step),
        None => (0.0, factor),
    };
    if volts_a_step.is_some() && whole {
        let text = format!("whole numbers are converter steps: {scale} V each, {zero} means nothing");
        findings.push(Finding::note("steps-scaled", &name, text, "check the voltage against a meter's"));
    } else if whole && letter.is_none() && !keys.divisions.is_empty() {
        let text = "whole numbers, and the header does not say how many steps make a division";
        findings.push(Finding::doubt("no-scale", &name, text, "voltages are in steps; export in volts"));
    }
    Channel { name, unit: letter, zero, scale, stated_probe: Keys::of(&keys.probes, n) }
}
