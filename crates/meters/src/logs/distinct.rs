//! Telling apart what a header leaves open: two power columns, counters and intervals, columns without a name.
use super::header::Said;
use super::mapping::{Mapping, Question, Role, TimeKind};
use super::number::{Marks, Number, parse};
use super::shape::Shape;

/// The numbers of a column in the head of the file.
fn values(shape: &Shape, c: usize, marks: Marks) -> Vec<f64> {
    let number = |f: &String| if let Number::Value(v, _) = parse(f, marks) { Some(v) } else { None };
    shape.head.iter().filter_map(|r| number(&r[c])).collect()
}

fn middle(mut v: Vec<f64>) -> Option<f64> {
    v.retain(|x| *x != 0.0);
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied()
}

fn ask(code: &str, text: String, assumed: String) -> Question {
    Question { code: code.into(), text, answers: "columns".into(), assumed: Some(assumed) }
}

/// Settles roles and units by the numbers; every settlement that is not proven is a question.
pub(crate) fn settle(
    shape: &Shape,
    heads: &[Said],
    marks: Marks,
    mapping: &mut Mapping,
    questions: &mut Vec<Question>,
) {
    for c in 1..shape.width {
        let unit = shape.head.iter().find_map(|r| super::words::unit_of(&r[c]));
        if let (Role::UnitOfPrevious, Role::Other, Some(unit)) =
            (mapping.columns[c].role, mapping.columns[c - 1].role, unit)
        {
            mapping.columns[c - 1].role = unit.role;
            mapping.columns[c - 1].unit = Some(unit.ucum.into());
        }
    }
    nameless(shape, marks, mapping, questions);
    same_named_powers(shape, heads, marks, mapping, questions);
    power_by_volts_and_amps(shape, heads, marks, mapping, questions);
    counters(shape, heads, marks, mapping, questions);
    several(mapping, questions);
    header_width(shape, questions);
    implausible_current(shape, marks, mapping, questions);
    if mapping.zone.is_none()
        && matches!(mapping.time, TimeKind::Stamp | TimeKind::DateAndClock | TimeKind::Serial)
    {
        let written = shape
            .head
            .iter()
            .flatten()
            .any(|f| super::when::stamp(f, mapping.date_order).is_some_and(|s| s.offset.is_some()));
        if !written {
            questions.push(Question {
                code: "zone".into(),
                text: "which time zone does the meter's clock keep? The file does not say".into(),
                answers: "zone".into(),
                assumed: Some("the clock as written, without changes".into()),
            });
        }
    }
}

/// No header, or a name in no known language: the first column of numbers is taken for watts, and asked.
fn nameless(shape: &Shape, marks: Marks, mapping: &mut Mapping, questions: &mut Vec<Question>) {
    let measured = [Role::Power, Role::EnergyCounter, Role::EnergyInterval, Role::Voltage, Role::Current];
    if mapping.columns.iter().any(|c| measured.contains(&c.role) || c.role == Role::Temperature)
        || mapping.time == TimeKind::Missing
    {
        return;
    }
    let named =
        |c: usize| shape.header.is_some() && super::header::said(&mapping.columns[c].name).role.is_some();
    let open = (0..shape.width).find(|&c| {
        mapping.columns[c].role == Role::Other && !named(c) && !values(shape, c, marks).is_empty()
    });
    if let Some([volts, amps, watts]) = product(shape, marks, mapping) {
        for (c, role, unit) in
            [(volts, Role::Voltage, "V"), (amps, Role::Current, "A"), (watts, Role::Power, "W")]
        {
            (mapping.columns[c].role, mapping.columns[c].unit) = (role, Some(unit.into()));
        }
        let name = |c: usize| mapping.columns[c].name.clone();
        let text = format!(
            "are \"{}\", \"{}\" and \"{}\" volts, amperes and watts? The last is the product of the other two",
            name(volts),
            name(amps),
            name(watts)
        );
        questions.push(ask("volts-amps-watts", text, "volts, amperes, watts".into()));
        return;
    }
    // An oscilloscope's channels are volts, never watts.
    let scope =
        shape.header.as_ref().is_some_and(|h| h.1.iter().skip(1).any(|n| n.to_lowercase().starts_with("ch")));
    if let (Some(c), false) = (open, scope) {
        mapping.columns[c].role = Role::Power;
        mapping.columns[c].unit = Some("W".into());
        let name = &mapping.columns[c].name;
        questions.push(ask(
            "columns",
            format!("what is in \"{name}\"? Nothing in the file says"),
            "watts".into(),
        ));
    }
}

/// Three columns without a meaning, of which one is the product of the other two in every row: volts (the larger), amperes
/// and watts. Fewer than three rows, or powers below 20 W, prove nothing.
fn product(shape: &Shape, marks: Marks, mapping: &Mapping) -> Option<[usize; 3]> {
    let rows = shape.head.len();
    let whole = |c: usize| Some((c, values(shape, c, marks))).filter(|(_, v)| v.len() == rows && rows >= 3);
    let open = (1..shape.width).filter(|&c| mapping.columns[c].role == Role::Other).take(8);
    let open: Vec<(usize, Vec<f64>)> = open.filter_map(whole).collect();
    let fits = |p: f64, v: f64, a: f64| p > 20.0 && v > a && (p - v * a).abs() <= 0.02 * p;
    for (v, volts) in &open {
        for (a, amps) in &open {
            for (p, watts) in &open {
                let all = || (0..rows).all(|k| fits(watts[k], volts[k], amps[k]));
                if v != a && p != v && p != a && all() {
                    return Some([*v, *a, *p]);
                }
            }
        }
    }
    None
}

/// Two columns of power without units, a thousand apart: the small one is in kilowatts.
fn same_named_powers(
    shape: &Shape,
    heads: &[Said],
    marks: Marks,
    mapping: &mut Mapping,
    questions: &mut Vec<Question>,
) {
    let powers: Vec<usize> = (0..shape.width).filter(|&c| mapping.columns[c].role == Role::Power).collect();
    let [a, b] = powers[..] else { return };
    if heads[a].unit.is_some() || heads[b].unit.is_some() {
        return;
    }
    let (Some(x), Some(y)) = (middle(values(shape, a, marks)), middle(values(shape, b, marks))) else {
        return;
    };
    let (small, large, ratio) = if x < y { (a, b, y / x) } else { (b, a, x / y) };
    if (900.0..1100.0).contains(&ratio) {
        mapping.columns[small].unit = Some("kW".into());
        // The finer column is the one summed up.
        mapping.columns[small].role = Role::Other;
        let text = format!(
            "two columns hold power a factor {ratio:.0} apart: is column {} in kW and column {} in W?",
            small + 1,
            large + 1
        );
        questions.push(ask(
            "power-unit",
            text,
            format!("column {} in kW, column {} in W", small + 1, large + 1),
        ));
    }
}

/// A power column without a unit beside volts and amperes: their product tells W from kW.
fn power_by_volts_and_amps(
    shape: &Shape,
    heads: &[Said],
    marks: Marks,
    mapping: &mut Mapping,
    questions: &mut Vec<Question>,
) {
    let Some(p) = mapping.find(Role::Power).filter(|&p| heads[p].unit.is_none()) else { return };
    let Some(power) = middle(values(shape, p, marks)) else { return };
    let product = mapping
        .find(Role::Voltage)
        .zip(mapping.find(Role::Current))
        .and_then(|(v, i)| Some(middle(values(shape, v, marks))? * middle(values(shape, i, marks))?));
    let name = mapping.columns[p].name.clone();
    match product {
        Some(vi) if (200.0..20_000.0).contains(&(vi / power)) => {
            mapping.columns[p].unit = Some("kW".into());
            questions.push(ask(
                "power-unit",
                format!("is \"{name}\" in kW? Volts times amperes say so"),
                "kW".into(),
            ));
        }
        Some(_) => {}
        None if power.abs() < 4.0
            && shape.header.is_some()
            && questions.iter().all(|q| q.code != "columns") =>
        {
            questions.push(ask(
                "power-unit",
                format!("is \"{name}\" in W or kW? It is about {power} and has no unit"),
                "W".into(),
            ));
        }
        None => {}
    }
}

/// Energy that counts on, or energy of each interval: words first, then whether it ever falls.
fn counters(
    shape: &Shape,
    heads: &[Said],
    marks: Marks,
    mapping: &mut Mapping,
    questions: &mut Vec<Question>,
) {
    for (c, head) in heads.iter().enumerate() {
        if mapping.columns[c].role != Role::EnergyCounter {
            continue;
        }
        let v = values(shape, c, marks);
        let falls = v.windows(2).filter(|w| w[1] < w[0]).count();
        let steps: Vec<f64> = v.windows(2).map(|w| w[1] - w[0]).collect();
        // Between falls an interval column stays level; a counter that was reset climbs from nought again.
        let level = falls * 3 > steps.len();
        if head.counts == Some(false) || (head.counts.is_none() && level) {
            mapping.columns[c].role = Role::EnergyInterval;
        }
        let proven = head.counts.is_some() || (v.len() >= 20 && falls == 0 && v[0] < v[v.len() - 1] * 0.9);
        let power_too = mapping.find(Role::Power).is_some();
        if !proven && !power_too {
            let (name, interval) =
                (mapping.columns[c].name.clone(), mapping.columns[c].role == Role::EnergyInterval);
            let assumed = if interval { "energy of each interval" } else { "a counter" };
            let text = format!("does \"{name}\" count on, or hold the energy of each interval?");
            questions.push(ask("counter-or-interval", text, assumed.into()));
        }
    }
}

/// More amperes than any station carries: the header's unit is doubtful.
fn implausible_current(shape: &Shape, marks: Marks, mapping: &Mapping, questions: &mut Vec<Question>) {
    let Some(c) = mapping.find(Role::Current).filter(|&c| mapping.columns[c].unit.as_deref() == Some("A"))
    else {
        return;
    };
    if let Some(i) = middle(values(shape, c, marks)).filter(|i| i.abs() > 400.0) {
        let name = &mapping.columns[c].name;
        questions.push(ask(
            "current-unit",
            format!("\"{name}\" is about {i:.0} A: is it mA?"),
            "A, as the header says".into(),
        ));
    }
}

/// Several columns of one kind: only the first is summed up, and that is said.
fn several(mapping: &Mapping, questions: &mut Vec<Question>) {
    let power = mapping.find(Role::Power).is_some();
    for role in [Role::Power, Role::EnergyCounter, Role::EnergyInterval, Role::Voltage, Role::Current] {
        if power && matches!(role, Role::Voltage | Role::Current | Role::EnergyInterval) {
            continue;
        }
        let names: Vec<&str> =
            mapping.columns.iter().filter(|c| c.role == role).map(|c| c.name.as_str()).collect();
        if let [first, _, ..] = names[..] {
            let text =
                format!("several columns hold the same quantity: {}; which one counts?", names.join(", "));
            questions.push(ask("several-columns", text, format!("\"{first}\"")));
        }
    }
}

/// More fields than names: a decimal comma between commas falls into two fields. Nothing may be assumed then.
fn header_width(shape: &Shape, questions: &mut Vec<Question>) {
    let Some((line, header)) = &shape.header else { return };
    let filled = (header.len()..shape.width).any(|c| shape.head.iter().any(|r| !r[c].is_empty()));
    if header.len() < shape.width && filled {
        questions.push(Question {
            code: "header-width".into(),
            text: format!(
                "the header (line {line}) has {} names, the rows have {} fields: is the separator a decimal mark too?",
                header.len(),
                shape.width
            ),
            answers: "columns".into(),
            assumed: None,
        });
    }
}
