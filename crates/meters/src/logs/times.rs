//! Which column is the time, how it is written, and what it cannot tell.
use super::header::Said;
use super::mapping::{DateOrder, Question, Role, TimeKind};
use super::number::{Marks, Number, parse};
use super::shape::Shape;
use super::when;

/// The time as understood.
pub(crate) struct TimeFound {
    pub(crate) kind: TimeKind,
    /// Column of the time (or date), and of the clock where it is apart.
    pub(crate) columns: Vec<(usize, Role)>,
    pub(crate) order: Option<DateOrder>,
    pub(crate) questions: Vec<Question>,
}

const ORDERS: [Option<DateOrder>; 4] =
    [None, Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst), Some(DateOrder::YearFirst)];

/// Orders in which a date without a four-digit year in front may be written.
const WRITTEN: [DateOrder; 3] = [DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst];

/// Whether at least four fifths of a column's filled fields pass.
fn mostly(shape: &Shape, column: usize, test: impl Fn(&str) -> bool) -> bool {
    let filled: Vec<&str> = shape.head.iter().map(|r| r[column].as_str()).filter(|f| !f.is_empty()).collect();
    !filled.is_empty() && filled.iter().filter(|f| test(f)).count() * 5 >= filled.len() * 4
}

/// Finds the time among the columns.
pub(crate) fn find(shape: &Shape, said: &[Said], marks: Marks, known: Option<DateOrder>) -> TimeFound {
    let columns = 0..shape.width;
    let has_clock = |f: &str| f.contains(':') || f.len() >= 13;
    let is_stamp = |c: &usize| {
        mostly(shape, *c, |f| has_clock(f) && ORDERS.iter().any(|o| when::stamp(f, *o).is_some()))
    };
    let is_date = |c: &usize| {
        mostly(shape, *c, |f| {
            f.len() > 5 && !f.contains(':') && ORDERS.iter().any(|o| when::date_only(f, *o).is_some())
        }) && mostly(shape, *c, |f| f.contains(['-', '/', '.']) && matches!(parse(f, marks), Number::Bad))
    };
    let is_clock = |c: &usize| mostly(shape, *c, |f| f.contains(':') && when::clock_only(f).is_some());
    let is_elapsed = |c: &usize| mostly(shape, *c, |f| f.contains(':') && when::elapsed_clock(f).is_some());
    if let Some(c) = columns.clone().find(is_stamp) {
        return dated(shape, TimeKind::Stamp, vec![(c, Role::Time)], known);
    }
    match (columns.clone().find(is_date), columns.clone().find(is_clock)) {
        (Some(d), Some(c)) => {
            return dated(shape, TimeKind::DateAndClock, vec![(d, Role::Date), (c, Role::Clock)], known);
        }
        (Some(d), None) => return dated(shape, TimeKind::Stamp, vec![(d, Role::Time)], known),
        _ => {}
    }
    if let Some(found) = numeric(shape, said, marks) {
        return found;
    }
    let elapsed = columns.clone().find(is_elapsed).filter(|&c| {
        said[c].role == Some(Role::Elapsed)
            || columns.clone().find(is_clock) != Some(c)
            || starts_at_zero(shape, c)
    });
    if let Some(c) = elapsed {
        return plain(TimeKind::ElapsedClock, vec![(c, Role::Elapsed)], Vec::new());
    }
    if let Some(c) = columns.clone().find(is_clock) {
        return plain(TimeKind::Clock, vec![(c, Role::Clock)], Vec::new());
    }
    plain(TimeKind::Missing, Vec::new(), Vec::new())
}

fn plain(kind: TimeKind, columns: Vec<(usize, Role)>, questions: Vec<Question>) -> TimeFound {
    TimeFound { kind, columns, order: None, questions }
}

fn starts_at_zero(shape: &Shape, column: usize) -> bool {
    shape.head.first().and_then(|r| when::elapsed_clock(&r[column])) == Some(0)
}

/// A time written as a plain number: epoch, spreadsheet serial, or time since the start.
fn numeric(shape: &Shape, said: &[Said], marks: Marks) -> Option<TimeFound> {
    let values = |c: usize| -> Vec<f64> {
        shape
            .head
            .iter()
            .filter_map(|r| if let Number::Value(v, _) = parse(&r[c], marks) { Some(v) } else { None })
            .collect()
    };
    let rises =
        |v: &[f64]| !v.is_empty() && v.windows(2).filter(|w| w[1] >= w[0]).count() * 10 >= (v.len() - 1) * 9;
    let falls =
        |v: &[f64]| v.len() > 2 && v.windows(2).filter(|w| w[1] <= w[0]).count() * 10 >= (v.len() - 1) * 9;
    let may = |c: &usize| {
        let s = &said[*c];
        s.role == Some(Role::Elapsed) || (s.role.is_none() && (s.time || shape.header.is_none()))
    };
    let column = (0..shape.width).filter(may).find(|&c| {
        let v = values(c);
        v.len() * 2 > shape.head.len() && (rises(&v) || falls(&v)) && (v.first() != v.last() || v.len() == 1)
    })?;
    let v = values(column);
    let first = v[0];
    let unit = said[column].unit.filter(|u| u.role == Role::Elapsed);
    let time = |kind| plain(kind, vec![(column, Role::Time)], Vec::new());
    if unit.is_none() && (1e8..5e9).contains(&first) {
        return Some(time(TimeKind::EpochSeconds));
    }
    if (unit.is_none() || unit.is_some_and(|u| u.ucum == "ms")) && (1e11..5e12).contains(&first) {
        return Some(time(TimeKind::EpochMillis));
    }
    let mut found = plain(TimeKind::ElapsedNumber, vec![(column, Role::Elapsed)], Vec::new());
    // Days from 2000 to 2100 in a spreadsheet's count.
    let serial = unit.is_none() && said[column].role.is_none() && (36_526.0..73_051.0).contains(&first);
    if serial && v.iter().any(|x| x.fract() != 0.0) {
        found = time(TimeKind::Serial);
        found.questions.push(Question {
            code: "serial-or-seconds".into(),
            text: format!("is {first} in the time column a spreadsheet's day count or a number of seconds?"),
            answers: "time".into(),
            assumed: Some("a spreadsheet's day count".into()),
        });
    } else if unit.is_none() {
        found.questions.push(Question {
            code: "elapsed-unit".into(),
            text: format!(
                "the time column is a plain number ({first}, …) without a unit: seconds, minutes or hours?"
            ),
            answers: "columns".into(),
            assumed: Some("seconds".into()),
        });
    }
    Some(found)
}

/// Dates: the order of day and month by every means that proves it, never by habit.
fn dated(shape: &Shape, kind: TimeKind, columns: Vec<(usize, Role)>, known: Option<DateOrder>) -> TimeFound {
    let c = columns[0].0;
    let clock = columns.get(1).map(|c| c.0);
    let texts: Vec<(String, &str)> = shape
        .head
        .iter()
        .chain(&shape.tail)
        .filter(|r| !r[c].is_empty())
        .map(|r| (clock.map_or_else(|| r[c].clone(), |k| format!("{} {}", r[c], r[k])), r[c].as_str()))
        .collect();
    let reads = |o| texts.iter().filter(|(t, _)| when::stamp(t, o).is_some()).count();
    let mut found = TimeFound { kind, columns, order: None, questions: Vec::new() };
    let counts = WRITTEN.map(|o| (o, reads(Some(o))));
    let most = counts.iter().map(|c| c.1).max().unwrap_or(0);
    if reads(None) == most {
        return found;
    }
    let may: Vec<DateOrder> = counts.iter().filter(|c| c.1 == most).map(|c| c.0).collect();
    found.order = match may[..] {
        [only] => Some(only),
        _ => known.filter(|k| may.contains(k)).or_else(|| by_midnight(&texts, &may)),
    };
    if found.order.is_none() {
        let seen = texts.first().map_or("", |t| t.1);
        found.questions.push(Question {
            code: "date-order".into(),
            text: format!("is \"{seen}\" day-first, month-first or year-first? No date in the file tells"),
            answers: "date_order".into(),
            assumed: None,
        });
    }
    found
}

/// Two rows on either side of midnight prove the order: one reading gives a step of minutes, the others of weeks.
fn by_midnight(texts: &[(String, &str)], may: &[DateOrder]) -> Option<DateOrder> {
    let near = |a: &str, b: &str, o| {
        let (a, b) = (when::stamp(a, Some(o))?.local, when::stamp(b, Some(o))?.local);
        Some((0..6 * 3600 * when::SECOND).contains(&(b - a)))
    };
    for pair in texts.windows(2).filter(|p| p[0].1 != p[1].1) {
        let (a, b) = (&pair[0].0, &pair[1].0);
        let fits: Vec<DateOrder> = may.iter().copied().filter(|o| near(a, b, *o) == Some(true)).collect();
        if let [only] = fits[..] {
            return Some(only);
        }
    }
    None
}
