//! From the head and tail of a file to a mapping: the whole of the understanding.
use super::header::{Said, said};
use super::mapping::{Column, Hints, Mapping, Question, Role, RowOrder, TimeKind, Understanding};
use super::number::{Marks, Number, parse};
use super::numbers;
use super::shape::{Looks, Shape, looks, shape};
use super::text;
use super::times;
use super::when;
use super::words::{fold, unit_of};
use trueplate_core::finding::Finding;

/// The most columns that are read.
const WIDEST: usize = 256;

/// Understands a file from its first and last bytes (64 KB each are plenty; of a short file, the whole twice).
/// Pure: what it cannot know from the bytes and hints comes back as a question.
pub fn understand(head: &[u8], tail: &[u8], hints: &Hints) -> Understanding {
    let refuse = |code: &str, what: String, hint: &str| Understanding {
        mapping: empty_mapping(hints),
        questions: Vec::new(),
        findings: vec![Finding::gap(code, "line 1", what, hint)],
        preview: Vec::new(),
        readable: false,
    };
    if head.is_empty() {
        return refuse("empty-file", "the file is empty".into(), "export the log again");
    }
    if let Some(what) = text::not_text(head) {
        return refuse("not-a-text-log", format!("the file is {what}"), "export or save the log as CSV");
    }
    let encoding = text::encoding_of(head);
    let (head_text, tail_text) = (text::decode(head, encoding), text::decode(tail, encoding));
    if head_text.trim_start().starts_with(['{', '[']) {
        return refuse(
            "json-log",
            "the file holds JSON, which is not read yet".into(),
            "export the log as CSV",
        );
    }
    let cr_only = head_text.contains('\r') && !head_text.contains('\n');
    let Some(shape) = shape(&head_text, &tail_text, cr_only) else {
        return refuse(
            "not-a-table",
            "no table of rows with times and numbers was found".into(),
            "type the readings in by hand, or export the log as CSV",
        );
    };
    if shape.width > WIDEST {
        return refuse(
            "too-many-columns",
            format!("{} columns; at most {WIDEST} are read", shape.width),
            "export fewer columns",
        );
    }
    if is_prose(&shape) {
        return refuse(
            "hand-notes",
            format!("this looks like notes, not a log: \"{}\"", shape.head[0].join(" ")),
            "type the notes in as readings: the date, each clock time and what was read",
        );
    }
    build(&shape, encoding.name().to_lowercase(), cr_only, hints)
}

fn empty_mapping(hints: &Hints) -> Mapping {
    Mapping {
        encoding: "utf-8".into(),
        delimiter: ',',
        decimal: '.',
        thousands: None,
        cr_only: false,
        header_line: 0,
        first_row: 1,
        columns: Vec::new(),
        time: TimeKind::Missing,
        date_order: None,
        zone: hints.zone.clone(),
        start: None,
        order: RowOrder::AsTimeGoes,
        positive: None,
        device: None,
    }
}

/// Words between the numbers and no header: notes by hand.
fn is_prose(shape: &Shape) -> bool {
    let words = |c: usize| shape.head.iter().filter(|r| looks(&r[c]) == Looks::Word).count();
    shape.delimiter == ' ' && shape.header.is_none() && (0..shape.width).any(|c| words(c) > 0)
}

fn build(shape: &Shape, encoding: String, cr_only: bool, hints: &Hints) -> Understanding {
    let numbers = shape.head.iter().chain(&shape.tail).flatten().filter(|f| looks(f) == Looks::Number);
    let found = numbers::marks(numbers.map(String::as_str), shape.delimiter);
    let marks = Marks {
        decimal: found.decimal as u8,
        thousands: found.thousands.filter(char::is_ascii).map(|c| c as u8),
    };
    let names: Vec<String> = (0..shape.width).map(|c| name_of(shape, c)).collect();
    let heads: Vec<Said> = (0..shape.width).map(|c| head_of(shape, c)).collect();
    let known_order = hints.known.as_ref().and_then(|k| k.date_order);
    let time = times::find(shape, &heads, marks, known_order);
    let mut questions: Vec<Question> = found.question.into_iter().chain(time.questions).collect();
    let mut columns: Vec<Column> = Vec::new();
    for (c, name) in names.iter().enumerate() {
        let role = time.columns.iter().find(|t| t.0 == c).map(|t| t.1);
        let role = role.unwrap_or_else(|| role_of(shape, c, &heads[c], marks));
        let unit = heads[c].unit.map(|u| u.ucum.to_string()).or_else(|| default_unit(role));
        columns.push(Column { name: name.clone(), role, unit });
    }
    let mut mapping = Mapping {
        encoding,
        delimiter: shape.delimiter,
        decimal: found.decimal,
        thousands: found.thousands,
        cr_only,
        header_line: shape.header.as_ref().map_or(0, |h| h.0),
        first_row: shape.first_row,
        columns,
        time: time.kind,
        date_order: time.order,
        ..empty_mapping(hints)
    };
    let mut findings = Vec::new();
    zone_in_header(&mut mapping);
    super::distinct::settle(shape, &heads, marks, &mut mapping, &mut questions);
    start_of(hints, &mut mapping, &mut questions);
    let all_known = match &hints.known {
        Some(known) => remember(known, &mut mapping, &mut questions, &mut findings),
        None => false,
    };
    if !all_known {
        units_not_said(shape, &heads, marks, &mapping, &mut questions, &mut findings);
    }
    if mapping.time == TimeKind::Missing {
        findings.push(Finding::gap(
            "no-time-column",
            format!("line {}", shape.first_row),
            "no column holds a time",
            "say which column is the time, or how far apart the rows are",
        ));
    }
    Understanding {
        mapping,
        questions,
        findings,
        preview: shape.head.iter().take(8).cloned().collect(),
        readable: true,
    }
}

fn name_of(shape: &Shape, c: usize) -> String {
    let header = shape.header.as_ref().and_then(|h| h.1.get(c)).filter(|n| !n.is_empty());
    header.cloned().unwrap_or_else(|| format!("column {}", c + 1))
}

fn head_of(shape: &Shape, c: usize) -> Said {
    let mut head = match shape.header.as_ref().and_then(|h| h.1.get(c)) {
        Some(name) => said(name),
        None => Said { role: None, unit: None, counts: None, time: false },
    };
    // A row of units under the header.
    let unit = shape
        .units
        .as_ref()
        .and_then(|u| u.get(c))
        .and_then(|u| unit_of(u.trim_matches(['(', ')', '[', ']'])));
    if let Some(unit) = unit {
        head.role = head.role.filter(|r| *r == unit.role).or(Some(unit.role));
        head.unit = Some(unit);
    }
    head
}

fn default_unit(role: Role) -> Option<String> {
    let unit = match role {
        Role::Power => "W",
        Role::Voltage => "V",
        Role::Current => "A",
        Role::EnergyCounter | Role::EnergyInterval => "W.h",
        Role::Elapsed => "s",
        _ => return None,
    };
    Some(unit.into())
}

/// The role of a column that is not the time.
fn role_of(shape: &Shape, c: usize, head: &Said, marks: Marks) -> Role {
    let share = |k: Looks| shape.head.iter().filter(|r| looks(&r[c]) == k).count() * 2 > shape.head.len();
    let words = share(Looks::Word);
    match head.role {
        Some(Role::Elapsed) => Role::Other,
        Some(Role::Device | Role::UnitOfPrevious) => head.role.unwrap_or(Role::Other),
        Some(role) if !words => role,
        _ if words
            && c > 0
            && shape.head.iter().filter(|r| unit_of(&r[c]).is_some()).count() * 2 > shape.head.len() =>
        {
            Role::UnitOfPrevious
        }
        // A unit behind every number says what a column is where the header does not.
        _ => shape
            .head
            .iter()
            .find_map(|r| {
                if let Number::Value(_, Some(unit)) = parse(&r[c], marks) { Some(unit.role) } else { None }
            })
            .unwrap_or(Role::Other),
    }
}

/// Power without a unit is taken for watts, which is said; energy without one may as well be kW·h, which is asked.
fn units_not_said(
    shape: &Shape,
    heads: &[Said],
    marks: Marks,
    mapping: &Mapping,
    questions: &mut Vec<Question>,
    findings: &mut Vec<Finding>,
) {
    let asked = questions.iter().any(|q| matches!(q.code.as_str(), "columns" | "power-unit"));
    for (c, column) in mapping.columns.iter().enumerate() {
        let behind = shape.head.iter().any(|r| matches!(parse(&r[c], marks), Number::Value(_, Some(_))));
        let row_by_row = mapping.columns.get(c + 1).is_some_and(|n| n.role == Role::UnitOfPrevious);
        if heads[c].unit.is_some() || behind || row_by_row {
            continue;
        }
        match column.role {
            Role::Power if !asked => findings.push(Finding::note(
                "unit-assumed",
                format!("column {}", c + 1),
                format!("\"{}\" has no unit; taken for watts", column.name),
                "set the unit in the mapping if it is another",
            )),
            Role::EnergyCounter | Role::EnergyInterval => questions.push(Question {
                code: "energy-unit".into(),
                text: format!("is \"{}\" in W·h or kW·h? It has no unit", column.name),
                answers: "columns".into(),
                assumed: Some("W·h".into()),
            }),
            _ => {}
        }
    }
}

/// `Time (UTC)` says its zone; `UTC+2` says something else.
fn zone_in_header(mapping: &mut Mapping) {
    let name = mapping.find(Role::Time).or(mapping.find(Role::Clock)).map(|c| fold(&mapping.columns[c].name));
    let says =
        |n: &String| ["utc", "gmt"].iter().any(|z| n.contains(z)) && !n.contains(['+', '-', '\u{2212}']);
    if mapping.zone.is_none() && name.as_ref().is_some_and(says) {
        mapping.zone = Some("UTC".into());
    }
}

/// The start instant in the name of the file: `log_20260502_235810.csv`, `2026-05-02 23.58.10`.
fn start_of(hints: &Hints, mapping: &mut Mapping, questions: &mut Vec<Question>) {
    let without_date =
        matches!(mapping.time, TimeKind::ElapsedClock | TimeKind::ElapsedNumber | TimeKind::Clock);
    if !without_date {
        return;
    }
    let name = hints.file_name.as_deref().unwrap_or("");
    let digits = |n: usize| {
        name.char_indices().find_map(|(at, _)| {
            let text = name.get(at..at + n)?;
            let alone = !name[..at].ends_with(|c: char| c.is_ascii_digit());
            let stamp =
                if alone { when::stamp(&text.replace("T", " ").replace('_', " "), None) } else { None };
            stamp.map(|s| when::civil_text(s.local))
        })
    };
    mapping.start = digits(15).or_else(|| digits(19));
    if mapping.start.is_none() {
        questions.push(Question {
            code: "start-instant".into(),
            text: "the log has no date: when did it start?".into(),
            answers: "start".into(),
            assumed: Some("times stay relative".into()),
        });
    }
}

/// Lays what was confirmed for this instrument over a new file, column by column by name. Whether every column was known.
fn remember(
    known: &Mapping,
    mapping: &mut Mapping,
    questions: &mut Vec<Question>,
    findings: &mut Vec<Finding>,
) -> bool {
    let before = |name: &str| known.columns.iter().find(|k| fold(&k.name) == fold(name));
    let all = mapping.columns.iter().all(|c| before(&c.name).is_some());
    if all {
        for column in &mut mapping.columns {
            if let Some(k) = before(&column.name) {
                (column.role, column.unit) = (k.role, k.unit.clone());
            }
        }
        mapping.time = known.time;
        questions.retain(|q| !matches!(q.answers.as_str(), "columns" | "time" | "decimal"));
    } else {
        let place = format!("line {}", mapping.header_line.max(1));
        findings.push(Finding::doubt(
            "header-changed",
            place,
            "the columns are named differently from those confirmed for this instrument",
            "check what each column is",
        ));
    }
    mapping.zone = mapping.zone.take().or_else(|| known.zone.clone());
    mapping.date_order = mapping.date_order.or(known.date_order);
    mapping.positive = known.positive;
    mapping.device = mapping.device.take().or_else(|| known.device.clone());
    if mapping.date_order.is_some() {
        questions.retain(|q| q.code != "date-order");
    }
    all
}
