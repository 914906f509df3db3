//! One streaming pass over the rows: bytes in, a [`Log`] out, in constant memory.
use super::batch::{Batch, ROWS};
use super::columns::Columns;
use super::ending::Ending;
use super::fast::Fast;
use super::feed::Feed;
use super::form;
use super::lines::{LONGEST, Lines};
use super::log::Log;
use super::mapping::{Mapping, Options, TimeKind};
use super::notes::Notes;
use super::rows::Rows;
use super::text::{Utf8, unpack};
use super::when::Stamp;
use crate::relay::{Parses, Shelves, relay};
use std::io::{self, Read};
use trueplate_core::finding::{Finding, Weight};

/// Lines up to which rows are read together: behind it their numbers could run over.
const LAST_TOGETHER: u32 = u32::MAX - ROWS as u32;

/// Reads the rows once. Gzip is unpacked on the way. Memory stays below 32 MB whatever the length of the file.
///
/// # Errors
/// Only when the source fails; whatever is wrong inside the file is a finding.
pub fn read<R: Read>(source: R, mapping: &Mapping, options: &Options) -> io::Result<Log> {
    let Some(rows) = Rows::new(mapping) else {
        return Ok(refused(
            "unknown-zone",
            "the time zone is not an IANA name",
            "give a zone such as Europe/Berlin",
        ));
    };
    if mapping.time == TimeKind::Missing {
        return Ok(refused("no-time-column", "no column holds a time", "say which column is the time"));
    }
    let written = matches!(mapping.time, TimeKind::Stamp | TimeKind::DateAndClock | TimeKind::Clock);
    let wall_clock = written && mapping.zone.is_none();
    let mut feed = Feed::new(rows.plan.clone(), mapping.order, options.gap_s, wall_clock);
    feed.window = options.window;
    let slots = rows.plan.slots.len();
    let pass = Pass {
        fast: Fast::of(mapping, &rows.plan),
        first_row: mapping.first_row,
        offset: rows.fast_offset(),
        rows,
        batch: Batch::new(slots),
        shelves: Shelves::new(),
        columns: Columns::of(&feed.plan),
        notes: Notes::default(),
        no: 0,
        mapping,
        ending: Ending::default(),
    };
    let text = form::rows(Utf8::new(unpack(source)?, &mapping.encoding), mapping);
    let mut lines = Lines::new(text, mapping.cr_only);
    let mut pass = relay(&mut lines, pass, |batch| feed.take(batch))?;
    if let Some(error) = lines.error {
        pass.stopped(error)?;
    }
    pass.rows.finish(&mut pass.notes);
    pass.columns.see(&mut pass.batch, &mut pass.notes);
    feed.take(&mut pass.batch);
    feed.finish();
    let Some(mut digest) = feed.digest else {
        let text = "the rows are not in order of time, and too many to be sorted here";
        return Ok(refused("too-long-to-sort", text, "sort the file by time and read it again"));
    };
    digest.columns = pass.columns;
    pass.notes.append(feed.notes);
    Ok(super::load::sum_up(digest, &pass.rows, mapping, options, pass.no, pass.notes))
}

fn refused(code: &str, text: &str, hint: &str) -> Log {
    Log { findings: vec![Finding::gap(code, "mapping", text, hint)], ..Log::default() }
}

/// The state of a pass over the lines.
struct Pass<'m> {
    rows: Rows<'m>,
    fast: Option<Fast>,
    first_row: u32,
    offset: Option<i32>,
    batch: Batch,
    shelves: Shelves<Batch>,
    columns: Columns,
    notes: Notes,
    /// Line number, from 1.
    no: u32,
    mapping: &'m Mapping,
    ending: Ending,
}

impl Parses for Pass<'_> {
    type Batch = Batch;

    fn block(&mut self, bytes: &[u8], end: u8, unfinished: bool) -> bool {
        if unfinished && self.ending.cuts(bytes, self.mapping) {
            self.no = self.no.saturating_add(1);
            self.rows.cut_off(bytes, self.no, &mut self.notes);
            return false;
        }
        self.ending.look(bytes, end, self.mapping);
        self.lines(bytes, end, unfinished);
        true
    }

    fn too_long(&mut self) {
        let no = self.no + 1;
        let what = || format!("a line longer than {LONGEST} bytes; the rest of the file is not read");
        self.notes.add(Weight::Gap, "line-too-long", || format!("line {no}"), what, "is this a log?");
    }

    fn shelves(&mut self) -> &mut Shelves<Batch> {
        &mut self.shelves
    }
}

impl Pass<'_> {
    fn lines(&mut self, bytes: &[u8], end: u8, unfinished: bool) {
        let slots = self.rows.plan.slots.len();
        let mut at = 0;
        while at < bytes.len() {
            if !unfinished && self.alike(bytes, &mut at) {
                continue;
            }
            self.no = self.no.saturating_add(1);
            if self.no >= self.first_row
                && !unfinished
                && let Some(fast) = &mut self.fast
                && let Some((local, next)) = fast.row(bytes, at)
            {
                at = next;
                self.rows.rows_follow(&mut self.notes);
                let t = match self.rows.plainly(local) {
                    Some(t) => t,
                    None => self.rows.settle(Stamp { local, offset: self.offset }, self.no, &mut self.notes),
                };
                self.batch.push(self.no, t, &fast.values[..slots]);
            } else {
                let stop = memchr::memchr(end, &bytes[at..]).map_or(bytes.len(), |n| at + n);
                if self.no >= self.first_row {
                    self.rows.line(&bytes[at..stop], self.no, unfinished, &mut self.batch, &mut self.notes);
                }
                at = stop + 1;
            }
            self.pass_on();
        }
    }

    /// Rows that are written like the one before, read together; `false` where there are none.
    fn alike(&mut self, bytes: &[u8], at: &mut usize) -> bool {
        let Some(fast) = self.fast.as_mut().filter(|_| self.no < LAST_TOGETHER) else { return false };
        let rows = &self.rows;
        let (taken, length) =
            fast.alike(&bytes[*at..], &mut self.batch, |local| rows.plainly(local).is_some());
        if taken == 0 {
            return false;
        }
        self.rows.rows_follow(&mut self.notes);
        *at += taken * length;
        let to = self.no + taken as u32;
        self.batch.line.extend(self.no + 1..=to);
        self.no = to;
        self.pass_on();
        true
    }

    /// A full batch goes on.
    fn pass_on(&mut self) {
        if self.batch.is_full() {
            self.columns.see(&mut self.batch, &mut self.notes);
            let empty = self.shelves.empty.pop().unwrap_or_else(|| Batch::new(self.batch.slots.len()));
            self.shelves.full.push(std::mem::replace(&mut self.batch, empty));
        }
    }

    /// The source stopped early: a damaged packed file is a finding, anything else an error of the world.
    fn stopped(&mut self, error: io::Error) -> io::Result<()> {
        use io::ErrorKind::{InvalidData, InvalidInput, UnexpectedEof};
        if !matches!(error.kind(), UnexpectedEof | InvalidData | InvalidInput) {
            return Err(error);
        }
        let no = self.no;
        let what = || format!("the packed file is damaged or cut off: {error}");
        self.notes.add(Weight::Gap, "file-cut", || format!("line {no}"), what, "copy the file again");
        Ok(())
    }
}
