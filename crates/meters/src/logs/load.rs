//! Understanding and reading together, and the last sum: from what was followed to what is said.
use super::choices;
use super::digest::Digest;
use super::energy::WH;
use super::feed::default_gap;
use super::guess::understand;
use super::log::{ColumnSummary, Cutoff, Gap, Log, PowerSummary};
use super::mapping::{
    Confirmed, Direction, Hints, Mapping, Options, Question, Role, RowOrder, TimeKind, Understanding,
};
use super::notes::Notes;
use super::read::read;
use super::rows::Rows;
use super::source::Source;
use super::when;
use super::zone;
use std::io::{self, Read, Seek};
use trueplate_core::finding::{Finding, Weight};

/// The rows of a spreadsheet, header included.
const SHEET_ROWS: u32 = 1_048_576;

/// A file, understood and read.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// How it was understood.
    pub understanding: Understanding,
    /// What it comes to; the questions are among its findings.
    pub log: Log,
}

/// Understands and reads a file. `open` gives a fresh reader from the first byte, as often as it is asked: once or
/// twice to look, once to read, once more where the first reading shows that the rows want sorting or another gap.
/// `patch` holds a person's answers, laid over the mapping (RFC 7386).
///
/// # Errors
/// When a reader fails, or (as `InvalidInput`) when the answers make no mapping.
pub fn load<R: Read + Seek>(
    mut open: impl FnMut() -> io::Result<R>,
    hints: &Hints,
    options: &Options,
    patch: Option<&serde_json::Value>,
) -> io::Result<Loaded> {
    let asked = patch.and_then(|p| p.get("part")).and_then(|p| p.as_str());
    let part = asked.or(hints.known.as_ref().and_then(|k| k.part.as_deref()));
    let mut source = match Source::find(&mut open, part)? {
        Ok(source) => source,
        Err(finding) => return Ok(nothing(finding)),
    };
    let (head, tail) = source.both_ends(&mut open)?;
    let mut understanding = understand(&head, &tail, hints);
    let taken = source.part.clone();
    for finding in source.findings.drain(..) {
        match finding.code.as_str() {
            "which-part" => understanding.questions.push(which_part(finding.text, taken.clone())),
            _ => understanding.findings.push(finding),
        }
    }
    understanding.mapping.part = taken;
    if !understanding.readable {
        let log = Log { findings: understanding.findings.clone(), ..Log::default() };
        return Ok(Loaded { understanding, log });
    }
    if let Some(patch) = patch {
        let said = |e| io::Error::new(io::ErrorKind::InvalidInput, e);
        let before = understanding.mapping.clone();
        understanding.questions.retain(|q| !choices::settles(patch, q, &before));
        understanding.mapping = before.with(patch).map_err(said)?;
        understanding
            .findings
            .retain(|f| f.code != "no-time-column" || understanding.mapping.time == TimeKind::Missing);
    }
    let asked: Vec<Finding> = understanding.questions.iter().map(asking).collect();
    if understanding.questions.iter().any(|q| q.assumed.is_none())
        || understanding.mapping.time == TimeKind::Missing
    {
        let mut findings = understanding.findings.clone();
        findings.extend(asked);
        let log = Log { findings, columns: plain_columns(&understanding.mapping), ..Log::default() };
        return Ok(Loaded { understanding, log });
    }
    finish(&source, open, understanding, asked, options)
}

/// Reads a file as a person confirmed it; the longest step that is no gap is theirs too.
///
/// # Errors
/// When a reader fails.
pub fn load_confirmed<R: Read + Seek>(
    mut open: impl FnMut() -> io::Result<R>,
    confirmed: &Confirmed,
    options: &Options,
) -> io::Result<Loaded> {
    let source = match Source::find(&mut open, confirmed.mapping.part.as_deref())? {
        Ok(source) => source,
        Err(finding) => return Ok(nothing(finding)),
    };
    let (head, tail) = source.both_ends(&mut open)?;
    let hints = Hints { known: Some(confirmed.mapping.clone()), ..Hints::default() };
    let mut understanding = understand(&head, &tail, &hints);
    if !understanding.readable {
        let log = Log { findings: understanding.findings.clone(), ..Log::default() };
        return Ok(Loaded { understanding, log });
    }
    understanding.mapping = confirmed.mapping.clone();
    // What was open then has been answered, and what was doubtful about the columns has been looked at.
    (understanding.questions, understanding.findings) = (Vec::new(), Vec::new());
    finish(&source, open, understanding, Vec::new(), &Options { gap_s: confirmed.gap_s, ..*options })
}

/// Reads the rows, again where the first reading shows how to do better.
fn finish<R: Read + Seek>(
    source: &Source,
    mut open: impl FnMut() -> io::Result<R>,
    mut understanding: Understanding,
    asked: Vec<Finding>,
    options: &Options,
) -> io::Result<Loaded> {
    let mut log = read(source.open(&mut open)?, &understanding.mapping, options)?;
    if let Some(order) = log.read_again_sorted {
        understanding.mapping.order = order;
        log = read(source.open(&mut open)?, &understanding.mapping, options)?;
    }
    if let Some(gap) = log.read_again_gap_s {
        log =
            read(source.open(&mut open)?, &understanding.mapping, &Options { gap_s: Some(gap), ..*options })?;
    }
    let mut findings = understanding.findings.clone();
    findings.extend(asked);
    findings.append(&mut log.findings);
    log.findings = findings;
    Ok(Loaded { understanding, log })
}

/// A question as a finding: it stands in the way, or an assumption was made.
fn asking(q: &Question) -> Finding {
    let hint = match &q.assumed {
        Some(assumed) => format!("taken for now: {assumed}; set \"{}\" in the mapping", q.answers),
        None => format!("nothing is computed until \"{}\" is set in the mapping", q.answers),
    };
    let weight = match (&q.assumed, q.code.as_str()) {
        (None, _) => Weight::Gap,
        (_, "zone" | "start-instant") => Weight::Note,
        _ => Weight::Doubt,
    };
    Finding::new(weight, &q.code, "mapping", q.text.clone(), hint)
}

/// Which file or sheet is meant: the names stand in quotation marks.
fn which_part(text: String, assumed: Option<String>) -> Question {
    Question { code: "which-part".into(), text, answers: "part".into(), assumed }
}

/// Nothing to read: the finding says why, or it is asked which of several files is meant.
fn nothing(finding: Finding) -> Loaded {
    let mut understanding = understand(&[], &[], &Hints::default());
    if finding.code == "which-part" {
        let question = which_part(finding.text, None);
        let log = Log { findings: vec![asking(&question)], ..Log::default() };
        (understanding.findings, understanding.questions) = (Vec::new(), vec![question]);
        understanding.readable = true;
        return Loaded { understanding, log };
    }
    understanding.findings = vec![finding.clone()];
    Loaded { understanding, log: Log { findings: vec![finding], ..Log::default() } }
}

fn plain_columns(mapping: &Mapping) -> Vec<ColumnSummary> {
    let summary = |c: &super::mapping::Column| ColumnSummary {
        name: c.name.clone(),
        role: c.role,
        unit: c.unit.clone(),
        range: None,
    };
    mapping.columns.iter().map(summary).collect()
}

/// Writes times the way the log allows.
pub(crate) struct Clock<'a> {
    mapping: &'a Mapping,
    rows: &'a Rows<'a>,
}

impl Clock<'_> {
    pub(crate) fn text(&self, t: i64) -> Option<String> {
        let dated = self.mapping.start.is_some();
        match self.mapping.time {
            TimeKind::Clock if !dated => Some(when::clock_text(t.rem_euclid(when::DAY))),
            TimeKind::ElapsedClock | TimeKind::ElapsedNumber if !dated => None,
            TimeKind::EpochSeconds | TimeKind::EpochMillis => {
                Some(self.rows.resolver.text(t).unwrap_or_else(|| zone::with_offset(t, 0)))
            }
            _ => Some(match (self.rows.resolver.text(t), self.rows.offset) {
                (Some(text), _) => text,
                (None, Some(offset)) => zone::with_offset(t, offset),
                (None, None) => when::civil_text(t),
            }),
        }
    }

    /// For gaps: seconds from the start where there is no instant to name.
    fn always(&self, t: i64, first: i64) -> String {
        self.text(t).unwrap_or_else(|| format!("{} s", (t - first) as f64 / 1e6))
    }
}

/// Everything followed through the rows, said.
pub(crate) fn sum_up(
    mut d: Digest,
    rows: &Rows<'_>,
    mapping: &Mapping,
    options: &Options,
    lines: u32,
    mut notes: Notes,
) -> Log {
    d.energy.finish(&mut notes);
    let clock = Clock { mapping, rows };
    let mut log = Log {
        rows: d.rows,
        intervals: d.spacing.histogram(24),
        columns: columns(&d, mapping, rows),
        ..Log::default()
    };
    let Some((low, high)) = d.ends else {
        let hint = "check how the columns were understood";
        notes.add(
            Weight::Gap,
            "no-rows",
            || format!("line {}", mapping.first_row),
            || "no row could be read".into(),
            hint,
        );
        log.findings = notes.findings();
        return log;
    };
    // Rows without power may stand before and after those with it.
    let (first, last) = match (d.energy.first, d.quiet) {
        (None, _) => (low, high),
        (Some(first), None) => (first, d.energy.last_t()),
        (Some(first), Some((a, b))) => (first.min(a), d.energy.last_t().max(b)),
    };
    log.first = clock.text(first);
    log.last = clock.text(last);
    log.span_s = Some((last - first) as f64 / 1e6);
    let powered = d.slots.power.is_some() || d.slots.interval.is_some() || d.slots.product().is_some();
    let some_power = powered && d.energy.sums.max >= d.energy.sums.min;
    log.covered_s = (some_power || d.slots.counter.is_some()).then_some(d.energy.sums.covered as f64 / 1e6);
    log.gap_s = Some(d.energy.gap as f64 / 1e6);
    log.gap_count = d.energy.sums.gaps;
    log.gaps = d
        .energy
        .list
        .iter()
        .map(|g| Gap {
            from: clock.always(g.0, first),
            to: clock.always(g.1, first),
            s: (g.1 - g.0) as f64 / 1e6,
        })
        .collect();
    log.energy_counter_wh = d.counter.total();
    if some_power {
        powers(&mut log, &d, &clock, first, last);
    }
    ways(&mut log, &d, mapping, &mut notes);
    again(&mut log, &d, options, mapping);
    super::doubts::look(&mut log, &d, mapping, lines, SHEET_ROWS, &mut notes);
    if some_power && log.power.is_some() {
        log.record = super::record::of(&log, &d, &clock).map(Box::new);
    }
    log.first_us = d.energy.first.filter(|_| some_power);
    log.trace = d.trace.points();
    log.findings = notes.findings();
    log
}

fn powers(log: &mut Log, d: &Digest, clock: &Clock<'_>, first: i64, last: i64) {
    let s = &d.energy.sums;
    if s.covered > 0 {
        log.energy_wh = Some(s.energy / WH);
    }
    if s.gaps > 0 {
        log.energy_bridged_wh = Some((s.energy + s.bridged) / WH);
    }
    if s.covered > 0 {
        log.power = Some(PowerSummary { mean: s.energy / s.covered as f64, min: s.min, max: s.max });
    }
    if !d.energy.ends_in_gap {
        log.cutoff = d.cutoff.cutoff(d.cycles.plateau(), last).map(|m| Cutoff {
            at: clock.text(m.t),
            elapsed_s: (m.t - first) as f64 / 1e6,
            energy_wh: m.sums.energy / WH,
        });
    }
    log.cycles = d.cycles.cycles();
}

fn ways(log: &mut Log, d: &Digest, mapping: &Mapping, notes: &mut Notes) {
    let Some(ways) = d.ways.as_ref().map(|w| w.ways(mapping.positive)) else { return };
    log.energy_in_wh = ways.energy_in;
    log.energy_out_wh = ways.energy_out;
    log.taper_at_s = ways.taper_s;
    log.time_to_80_percent_energy_s = ways.time_to_80_s;
    if ways.both {
        let what = || "the current has one sign, but the voltage both rises and falls: charging and discharging cannot be told apart";
        let hint = "split the log, or give the direction";
        notes.add(Weight::Gap, "direction-unknown", || "mapping".into(), || what().into(), hint);
    } else if let Some(found) = ways.found {
        let way = if found == Direction::In { "charging" } else { "discharging" };
        let what = || format!("positive current is taken for {way}, by the way the voltage goes");
        notes.add(
            Weight::Note,
            "direction",
            || "mapping".into(),
            what,
            "set \"positive\" in the mapping to confirm",
        );
    }
}

/// Whether a second reading would do better, and how.
fn again(log: &mut Log, d: &Digest, options: &Options, mapping: &Mapping) {
    let steps = d.rows.saturating_sub(1);
    // Newest first, or in no order; a clock put back once or a block that comes twice is not sorted.
    // One fall in a log of some length is a clock that lost its time: sorting would put its rows before all others.
    let often = d.energy.turned * 50 >= steps && (d.energy.turned > 1 || steps < 20);
    let disorder = d.energy.turned > 0 && (often || d.falls * 4 >= steps);
    if mapping.order == RowOrder::AsTimeGoes && disorder {
        log.read_again_sorted = Some(RowOrder::Sort);
    } else if let (None, Some(median)) = (options.gap_s, d.spacing.median()) {
        let (used, right) = (d.energy.gap as f64 / 1e6, default_gap(median));
        if (used - right).abs() > 1e-9 && d.spacing.any_between(used, right) {
            log.read_again_gap_s = Some(right);
        }
    }
}

fn columns(d: &Digest, mapping: &Mapping, rows: &Rows<'_>) -> Vec<ColumnSummary> {
    let mut out = plain_columns(mapping);
    for (slot, (c, role)) in rows.plan.slots.iter().enumerate() {
        let r = d.columns.ranges[slot];
        out[*c].range = (r.count > 0).then(|| (r.min, r.sum / r.count as f64, r.max));
        debug_assert!(*role != Role::Other);
    }
    out
}
