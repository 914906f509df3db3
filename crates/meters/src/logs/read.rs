//! One streaming pass over the rows: bytes in, a [`Log`] out, in constant memory.
use super::batch::{Batch, Plan, ROWS};
use super::digest::Digest;
use super::fast::Fast;
use super::lines::{Block, LONGEST, Lines};
use super::log::Log;
use super::mapping::{Mapping, Options, RowOrder, TimeKind};
use super::notes::Notes;
use super::rows::Rows;
use super::spacing::Spacing;
use super::text::{Utf8, unpack};
use super::when::Stamp;
use std::io::{self, Read};
use trueplate_core::finding::{Finding, Weight};

/// Rows from which the usual step is found before anything is summed up.
const WARM_BATCHES: usize = 2;
/// The most rows that are sorted.
const SORTED: usize = 400_000;

/// Batches on their way to the digest: held back until the usual step is known, or until all are there to be sorted.
struct Feed {
    plan: Plan,
    order: RowOrder,
    gap_s: Option<f64>,
    wall_clock: bool,
    held: Vec<Batch>,
    batch: Batch,
    digest: Option<Digest>,
    too_many: bool,
}

impl Feed {
    fn full(&mut self, notes: &mut Notes) {
        if let Some(digest) = &mut self.digest {
            digest.take(&mut self.batch, notes);
            self.batch.clear();
            return;
        }
        let fresh = Batch::new(self.plan.slots.len());
        self.held.push(std::mem::replace(&mut self.batch, fresh));
        match self.order {
            RowOrder::AsTimeGoes if self.held.len() >= WARM_BATCHES => self.begin(notes),
            RowOrder::Sort if self.held.len() * ROWS >= SORTED => self.too_many = true,
            _ => {}
        }
    }

    /// The usual step is known now; what was held back goes in.
    fn begin(&mut self, notes: &mut Notes) {
        let mut held = std::mem::take(&mut self.held);
        if self.order == RowOrder::Sort {
            held = vec![sorted(&held, self.plan.slots.len())];
        }
        let mut spacing = Spacing::new();
        let times = held.iter().flat_map(|b| &b.t);
        let mut before = None;
        for &t in times {
            if let Some(b) = before
                && t >= b
            {
                spacing.add(t - b);
            }
            before = Some(t);
        }
        let usual = spacing.median().unwrap_or(0.0);
        let gap = self.gap_s.unwrap_or_else(|| default_gap(usual));
        let mut digest = Digest::new(&self.plan, (gap * 1e6) as i64, (usual * 1e6) as i64, self.wall_clock);
        held.iter_mut().for_each(|b| digest.take(b, notes));
        self.digest = Some(digest);
    }
}

/// The step beyond which there is a gap: the larger of 5 s and 3.5 × the median step.
pub(crate) fn default_gap(median_s: f64) -> f64 {
    (3.5 * median_s).max(5.0)
}

fn sorted(held: &[Batch], slots: usize) -> Batch {
    let mut order: Vec<(i64, usize, usize)> = Vec::new();
    for (b, batch) in held.iter().enumerate() {
        order.extend(batch.t.iter().enumerate().map(|(k, t)| (*t, b, k)));
    }
    order.sort();
    let mut all = Batch::new(slots);
    let mut values = vec![f64::NAN; slots];
    for (t, b, k) in order {
        for (v, slot) in values.iter_mut().zip(&held[b].slots) {
            *v = slot[k];
        }
        all.push(held[b].line[k], t, &values);
    }
    all
}

/// Reads the rows once. Gzip is unpacked on the way. Memory stays below 32 MB whatever the length of the file.
///
/// # Errors
/// Only when the source fails; whatever is wrong inside the file is a finding.
pub fn read<R: Read>(source: R, mapping: &Mapping, options: &Options) -> io::Result<Log> {
    let refuse = |code: &str, text: &str, hint: &str| {
        Ok(Log { findings: vec![Finding::gap(code, "mapping", text, hint)], ..Log::default() })
    };
    let Some(mut rows) = Rows::new(mapping) else {
        return refuse(
            "unknown-zone",
            "the time zone is not an IANA name",
            "give a zone such as Europe/Berlin",
        );
    };
    if mapping.time == TimeKind::Missing {
        return refuse("no-time-column", "no column holds a time", "say which column is the time");
    }
    let written = matches!(mapping.time, TimeKind::Stamp | TimeKind::DateAndClock | TimeKind::Clock);
    let mut notes = Notes::default();
    let mut feed = Feed {
        plan: rows.plan.clone(),
        order: mapping.order,
        gap_s: options.gap_s,
        wall_clock: written && mapping.zone.is_none(),
        held: Vec::new(),
        batch: Batch::new(rows.plan.slots.len()),
        digest: None,
        too_many: false,
    };
    let mut lines = Lines::new(Utf8::new(unpack(source)?, &mapping.encoding), mapping.cr_only);
    let mut fast = Fast::of(mapping, &rows.plan);
    let mut no = 0u32;
    loop {
        match lines.next_block() {
            Block::End => break,
            Block::TooLong => {
                let what = || format!("a line longer than {LONGEST} bytes; the rest of the file is not read");
                notes.add(
                    Weight::Gap,
                    "line-too-long",
                    || format!("line {}", no + 1),
                    what,
                    "is this a log?",
                );
                break;
            }
            Block::Lines { from, to, unfinished } => {
                let (bytes, end) = (lines.bytes(from, to), lines.end_byte());
                block(bytes, end, unfinished, &mut no, &mut rows, fast.as_mut(), &mut feed, &mut notes);
            }
        }
        if feed.too_many {
            return refuse(
                "too-long-to-sort",
                "the rows are not in order of time, and too many to be sorted here",
                "sort the file by time and read it again",
            );
        }
    }
    if let Some(error) = lines.error {
        if !matches!(
            error.kind(),
            io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput
        ) {
            return Err(error);
        }
        let what = || format!("the packed file is damaged or cut off: {error}");
        notes.add(Weight::Gap, "file-cut", || format!("line {no}"), what, "copy the file again");
    }
    rows.finish(&mut notes);
    if feed.batch.len() > 0 {
        feed.full(&mut notes);
    }
    if feed.digest.is_none() {
        feed.begin(&mut notes);
    }
    let Some(digest) = feed.digest else { return Ok(Log::default()) };
    Ok(super::load::sum_up(digest, &rows, mapping, options, no, notes))
}

/// All lines of a block.
#[allow(clippy::too_many_arguments)]
fn block(
    bytes: &[u8],
    end: u8,
    unfinished: bool,
    no: &mut u32,
    rows: &mut Rows<'_>,
    mut fast: Option<&mut Fast>,
    feed: &mut Feed,
    notes: &mut Notes,
) {
    let slots = feed.plan.slots.len();
    let first_row = rows.first_row();
    let offset = rows.fast_offset();
    let mut at = 0;
    while at < bytes.len() {
        *no = no.saturating_add(1);
        if *no >= first_row
            && !unfinished
            && let Some(fast) = fast.as_mut()
            && let Some((local, next)) = fast.row(bytes, at)
        {
            at = next;
            rows.rows_follow(notes);
            let t = match rows.plainly(local) {
                Some(t) => t,
                None => rows.settle(Stamp { local, offset }, *no, notes),
            };
            feed.batch.push(*no, t, &fast.values[..slots]);
        } else {
            let stop = memchr::memchr(end, &bytes[at..]).map_or(bytes.len(), |n| at + n);
            if *no >= first_row {
                rows.line(&bytes[at..stop], *no, unfinished, &mut feed.batch, notes);
            }
            at = stop + 1;
        }
        if feed.batch.is_full() {
            feed.full(notes);
        }
    }
}
