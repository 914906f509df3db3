//! One line to one row, the careful way; every oddity is noted with its line.
use super::batch::{Batch, Plan, Use};
use super::field::{noted_number, shown};
use super::mapping::{Form, Mapping, Role, TimeKind};
use super::notes::Notes;
use super::number::{Marks, Number, parse};
use super::shape::fields;
use super::when::{self, DAY, SECOND, Stamp};
use super::words::{Unit, unit_of};
use super::zone::{Fit, Resolver};
use trueplate_core::finding::Weight;

/// Plausible years of a log; a clock that lost its battery starts at 1970 or 2000 (common practice).
const YEARS: std::ops::Range<i64> = 631_152_000 * SECOND..4_102_444_800 * SECOND;

/// Times beyond this (about the year 9999), µs, are no times.
pub(crate) const FARTHEST: i64 = 260_000_000_000 * SECOND;

/// Turns lines into rows.
pub(crate) struct Rows<'m> {
    mapping: &'m Mapping,
    pub(crate) plan: Plan,
    marks: Marks,
    pub(crate) resolver: Resolver,
    start: i64,
    /// Times are instants already.
    plain: bool,
    day: i64,
    clock: i64,
    last: Option<i64>,
    /// Offset written in the first stamp that has one, s.
    pub(crate) offset: Option<i32>,
    /// Lines that are no rows, until it is known whether rows follow: they are a footer if none do.
    pending: Vec<(u32, String)>,
    device: Option<String>,
    header: Vec<String>,
    values: Vec<f64>,
    /// Units seen row by row, by slot.
    pub(crate) row_units: Vec<Option<Unit>>,
}

impl<'m> Rows<'m> {
    /// `None` when the mapping names an unknown zone.
    pub(crate) fn new(mapping: &'m Mapping) -> Option<Self> {
        let plan = Plan::of(mapping);
        let mut resolver = Resolver::new(mapping.zone.as_deref())?;
        let start = mapping.start.as_deref().and_then(|s| when::stamp(s, None));
        let start = start.map_or(0, |s| {
            if mapping.time == TimeKind::Clock { s.local } else { resolver.instant(s, None).0 }
        });
        let slots = plan.slots.len();
        Some(Rows {
            mapping,
            plan,
            marks: Marks {
                decimal: if mapping.decimal == ',' { b',' } else { b'.' },
                thousands: mapping.thousands.filter(char::is_ascii).map(|c| c as u8),
            },
            resolver,
            start,
            plain: mapping.zone.is_none() && mapping.time == TimeKind::Stamp,
            day: start.div_euclid(DAY),
            clock: i64::MIN,
            last: None,
            offset: None,
            pending: Vec::new(),
            device: mapping.device.clone(),
            header: mapping.columns.iter().map(|c| c.name.clone()).collect(),
            values: vec![f64::NAN; slots],
            row_units: vec![None; slots],
        })
    }

    /// Reads a line into the batch. `unfinished`: the file ends without a line end behind it.
    pub(crate) fn line(
        &mut self,
        bytes: &[u8],
        no: u32,
        unfinished: bool,
        batch: &mut Batch,
        notes: &mut Notes,
    ) {
        let place = || format!("line {no}");
        let text = String::from_utf8_lossy(bytes);
        let nul = text.contains('\0');
        let text = text.trim_end_matches(['\r', '\n', '\0']);
        if text.trim().is_empty() && !nul {
            return;
        }
        let mut cut = Vec::new();
        fields(text, self.mapping.delimiter, &mut cut);
        let width = self.mapping.columns.len();
        while cut.len() > width && cut.last().is_some_and(|f| f.is_empty()) {
            cut.pop();
        }
        if unfinished && (cut.len() < width || nul) {
            self.cut_off(text.as_bytes(), no, notes);
            return;
        }
        if nul {
            let what = || "the line holds NUL bytes, as after a power failure of the logger".to_string();
            notes.add(
                Weight::Doubt,
                "nul-bytes",
                place,
                what,
                "the line is left out; export the log again if you can",
            );
            return;
        }
        if text.trim_start().starts_with('#') {
            notes.add(
                Weight::Note,
                "comment-line",
                place,
                || format!("comment: \"{}\"", shown(text)),
                "nothing to do",
            );
            return;
        }
        if cut.len() == width
            && self.mapping.header_line > 0
            && cut.iter().zip(&self.header).all(|(a, b)| a == b)
        {
            let what = || "the header stands here again".to_string();
            notes.add(
                Weight::Note,
                "header-again",
                place,
                what,
                "several exports in one file? Check the gaps",
            );
            return;
        }
        self.row(text, &cut, no, batch, notes);
    }

    /// The file ends inside this line.
    pub(crate) fn cut_off(&self, line: &[u8], no: u32, notes: &mut Notes) {
        let what =
            || format!("the last line is cut off: \"{}\"", shown(String::from_utf8_lossy(line).trim_end()));
        let hint = "the line is left out; export the log again if the end matters";
        notes.add(Weight::Doubt, "last-line-cut", || format!("line {no}"), what, hint);
    }

    fn row(&mut self, text: &str, cut: &[&str], no: u32, batch: &mut Batch, notes: &mut Notes) {
        let place = || format!("line {no}");
        let time = self.time(cut).filter(|s| s.local.unsigned_abs() < FARTHEST.unsigned_abs());
        if time.is_none() || cut.len() != self.mapping.columns.len() {
            let timed =
                time.is_some() || cut.first().is_some_and(|f| f.starts_with(|c: char| c.is_ascii_digit()));
            // Among JSON objects there is no footer: what is none was one.
            let json = matches!(self.mapping.form, Form::JsonLines | Form::JsonObjects);
            if !timed && !json {
                if self.pending.len() < 64 {
                    self.pending.push((no, shown(text)));
                }
            } else if cut.len() == self.mapping.columns.len()
                && !cut.iter().all(|f| f.starts_with(['{', '[']))
            {
                let hint = "the row is left out; check how the time is written";
                notes.add(
                    Weight::Doubt,
                    "bad-time",
                    place,
                    || format!("no time can be read in \"{}\"", shown(text)),
                    hint,
                );
            } else {
                let what = || {
                    format!(
                        "{} fields instead of {}: \"{}\"",
                        cut.len(),
                        self.mapping.columns.len(),
                        shown(text)
                    )
                };
                notes.add(
                    Weight::Doubt,
                    "broken-line",
                    place,
                    what,
                    "the row is left out; compare with the meter or export again",
                );
            }
            return;
        }
        let Some(stamp) = time else { return };
        self.rows_follow(notes);
        if !self.numbers(cut, no, notes) {
            return;
        }
        let t = self.settle(stamp, no, notes);
        batch.push(no, t, &self.values);
    }

    /// The time of a row: as written, before zones.
    fn time(&mut self, cut: &[&str]) -> Option<Stamp> {
        let at = self.plan.uses.iter().position(|u| *u == Use::Time)?;
        let field = *cut.get(at)?;
        let plain = |local| Some(Stamp { local, offset: Some(0) });
        let number = || match parse(field, self.marks) {
            Number::Value(v, _) if v.abs() < 1e15 => Some(v),
            _ => None,
        };
        match self.mapping.time {
            TimeKind::Stamp => when::stamp(field, self.mapping.date_order),
            TimeKind::DateAndClock => {
                let clock = self.plan.uses.iter().position(|u| *u == Use::Clock)?;
                let midnight = when::date_only(field, self.mapping.date_order)?;
                Some(Stamp { local: midnight + when::clock_only(cut.get(clock)?)?, offset: None })
            }
            TimeKind::Clock => when::clock_only(field).and_then(plain),
            TimeKind::EpochSeconds => plain((number()? * 1e6).round() as i64),
            TimeKind::EpochMillis => plain((number()? * 1e3).round() as i64),
            // 1970-01-01 is day 25569 of the spreadsheets' count.
            TimeKind::Serial => {
                Some(Stamp { local: ((number()? - 25_569.0) * 86_400e6).round() as i64, offset: None })
            }
            TimeKind::ElapsedNumber => plain((self.elapsed(field)? * 1e6).round() as i64),
            TimeKind::ElapsedClock => when::elapsed_clock(field)
                .or_else(|| number().map(|s| (s * 1e6) as i64))
                .or_else(|| self.elapsed(field).map(|s| (s * 1e6).round() as i64))
                .and_then(plain),
            TimeKind::Missing => None,
        }
    }

    /// A number of seconds, perhaps with its unit behind it (`3723 s`).
    fn elapsed(&self, field: &str) -> Option<f64> {
        match parse(field, self.marks) {
            Number::Value(v, None) => Some(v * self.plan.time_unit),
            Number::Value(v, Some(u)) if u.role == Role::Elapsed => Some(v * u.factor),
            _ => None,
        }
        .filter(|v| v.abs() < 1e12)
    }

    /// The commonest case of `settle`: a plausible time with no zone and no start to think of.
    #[inline]
    pub(crate) fn plainly(&self, local: i64) -> Option<i64> {
        (self.plain && YEARS.contains(&local)).then_some(local)
    }

    /// From the time as written to microseconds on the log's own axis.
    pub(crate) fn settle(&mut self, stamp: Stamp, no: u32, notes: &mut Notes) -> i64 {
        let place = || format!("line {no}");
        let t = match self.mapping.time {
            TimeKind::Clock => {
                // A clock without a date that goes back by half a day or more has passed midnight.
                if self.clock != i64::MIN && stamp.local + DAY / 2 < self.clock {
                    self.day += 1;
                    let what = || "the clock passes midnight; a day is added".to_string();
                    notes.add(Weight::Note, "midnight", place, what, "nothing to do");
                }
                self.clock = stamp.local;
                self.day * DAY + stamp.local
            }
            TimeKind::ElapsedClock | TimeKind::ElapsedNumber => self.start + stamp.local,
            _ => {
                if self.mapping.time == TimeKind::Stamp && self.offset.is_none() {
                    self.offset = stamp.offset;
                }
                let (t, fit) = self.resolver.instant(stamp, self.last);
                let hour = |what: &str| format!("{} {what} in the time zone", when::civil_text(stamp.local));
                match fit {
                    Fit::Clear => {}
                    Fit::Twice => {
                        let hint = "the first of the two was taken; check against the meter's counter";
                        notes.add(Weight::Doubt, "dst-hour-twice", place, || hour("comes twice"), hint);
                    }
                    Fit::Never => {
                        let hint = "is this the meter's zone? Its clock shows an hour that zone skips";
                        notes.add(Weight::Doubt, "dst-hour-skipped", place, || hour("never comes"), hint);
                    }
                }
                if !YEARS.contains(&t) {
                    let what = || format!("the date is {}", when::civil_text(t));
                    notes.add(
                        Weight::Doubt,
                        "implausible-date",
                        place,
                        what,
                        "did the meter lose its clock?",
                    );
                }
                t
            }
        };
        self.last = Some(t);
        t
    }

    /// The numbers of a row; `false` where the row is of another device.
    fn numbers(&mut self, cut: &[&str], no: u32, notes: &mut Notes) -> bool {
        for (c, how) in self.plan.uses.iter().enumerate() {
            let field = cut[c];
            match *how {
                Use::Number { slot, factor } => {
                    let place = || format!("line {no}, column {} ({})", c + 1, self.mapping.columns[c].name);
                    self.values[slot] = noted_number(field, factor, self.marks, place, notes);
                }
                Use::UnitOf(slot) => {
                    if let (Some(unit), Some((_, role))) = (unit_of(field), self.plan.slots.get(slot)) {
                        let place = || format!("line {no}");
                        if *role != unit.role {
                            let what = || format!("the unit {field} does not fit the column");
                            notes.add(Weight::Doubt, "unit-of-row", place, what, "say what the column holds");
                            self.values[slot] = f64::NAN;
                        } else {
                            // The slot's own factor is taken off: the row's unit rules.
                            let Use::Number { factor, .. } = self.plan.uses[self.plan.slots[slot].0] else {
                                continue;
                            };
                            self.values[slot] *= unit.factor / factor;
                            if self.row_units[slot].is_some_and(|u| u.ucum != unit.ucum) {
                                let what = || {
                                    "the unit changes from row to row; every row is read in its own"
                                        .to_string()
                                };
                                notes.add(Weight::Note, "unit-changes", place, what, "nothing to do");
                            }
                            self.row_units[slot] = Some(unit);
                        }
                    }
                }
                Use::Device => {
                    let mine = self.device.get_or_insert_with(|| field.to_string());
                    if mine != field {
                        let what = || {
                            format!("rows of another device, \"{field}\", are left out; read is \"{mine}\"")
                        };
                        notes.add(
                            Weight::Doubt,
                            "several-devices",
                            || format!("line {no}"),
                            what,
                            "say which device to read",
                        );
                        return false;
                    }
                }
                Use::Time | Use::Clock | Use::Skip => {}
            }
        }
        true
    }

    /// A row stands behind the lines that are none: they are not the footer.
    #[inline]
    pub(crate) fn rows_follow(&mut self, notes: &mut Notes) {
        if self.pending.is_empty() {
            return;
        }
        for (at, text) in std::mem::take(&mut self.pending) {
            let what = || format!("no row: \"{text}\"");
            let hint = "the line is left out; look at what it says";
            notes.add(Weight::Doubt, "not-a-row", || format!("line {at}"), what, hint);
        }
    }

    /// The offset that goes with a time read the short way: none for a local clock, UTC for a count.
    pub(crate) fn fast_offset(&self) -> Option<i32> {
        (self.mapping.time != TimeKind::Stamp).then_some(0)
    }

    /// Lines left over at the end of the file are its footer.
    pub(crate) fn finish(&mut self, notes: &mut Notes) {
        for (at, text) in std::mem::take(&mut self.pending) {
            let what = || format!("the file ends with lines that are no rows: \"{text}\"");
            notes.add(Weight::Note, "footer", || format!("line {at}"), what, "nothing to do");
        }
    }
}
