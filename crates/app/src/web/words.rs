//! Names and answers in the words a tester uses.
use super::page::style;
use trueplate_core::examine;
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::kind::{Outcome, Spec};
use trueplate_core::kinds;
use trueplate_core::notebook::{Came, Condition, Entry, Load, LoadSort, Notebook, Settings, Specimen, Test};
use trueplate_core::number::Trouble;
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::reading::{self, Desk, Reading, zone_of};
use trueplate_core::recording::Recordings;
use trueplate_core::shown::{self, usual};
use trueplate_core::stamp;
use trueplate_core::uncertain::Value;

/// The kind of a test.
pub fn spec_of(test: &Test) -> Option<&'static Spec> {
    kinds::find(&test.kind).map(|k| k.spec())
}

/// "Usable energy".
pub fn kind_title(test: &Test) -> String {
    spec_of(test).map_or_else(|| test.kind.clone(), |s| s.title.into())
}

/// "Tarnhobble Fell 1010, sample A".
pub fn specimen_name(notebook: &Notebook, id: &str) -> String {
    let Some(specimen) = notebook.specimen(id) else { return format!("no specimen `{id}`") };
    sample_of(notebook.model(&specimen.model).map_or(specimen.model.as_str(), |m| &m.name), specimen)
}

/// The same where the model's name is at hand.
pub fn sample_of(model: &str, specimen: &Specimen) -> String {
    if specimen.label.is_empty() { model.into() } else { format!("{model}, {}", specimen.label) }
}

/// How a specimen came, in a word.
pub fn came(came: Came) -> &'static str {
    match came {
        Came::Unknown => "not written down yet",
        Came::Bought => "bought",
        Came::Lent => "lent",
        Came::Given => "given",
        Came::Paid => "paid",
    }
}

/// Which of a model's specimens; "sample" when it is the only one.
pub fn label(specimen: &Specimen) -> &str {
    if specimen.label.is_empty() { "the sample" } else { &specimen.label }
}

/// How a load behaves, in words.
pub fn load_sort(sort: LoadSort) -> &'static str {
    match sort {
        LoadSort::Resistive => "steady heat, no thermostat",
        LoadSort::Cycling => "switches itself on and off",
        LoadSort::Motor => "motor",
        LoadSort::Electronic => "electronics",
    }
}

/// Switches itself on and off.
pub fn switches(load: &Load) -> bool {
    load.sort == LoadSort::Cycling
}

/// "load 50 %, mode fast".
pub fn condition(condition: &Condition) -> String {
    unbroken(&trueplate_core::report::condition_words(condition))
}

pub use trueplate_pages::piece::unbroken;

/// An instant on the clock of the bench, without its day when that is `day`.
pub fn clock_on(at: &str, day: &str, settings: &Settings) -> String {
    let wall = clock(at, settings);
    wall.strip_prefix(day).map_or(wall.clone(), |rest| rest.trim().to_string())
}

/// An instant kept as RFC 3339, on the clock of the bench: "2026-05-03 11:04:52".
pub fn clock(at: &str, settings: &Settings) -> String {
    match at.parse::<jiff::Timestamp>() {
        Ok(instant) => stamp::wall(instant, &zone_of(settings)),
        Err(_) => at.into(),
    }
}

/// An answer as a person reads it: the label of a choice, the name of a load, else as typed.
pub fn answer(field: &FieldSpec, entry: &Entry, notebook: &Notebook, test: &Test) -> String {
    match reading::read(field, entry, &Desk::new(notebook, test), &mut Vec::new()) {
        Ok(Reading::Choice(key)) => choice_label(field, key).into(),
        Ok(Reading::Load(load)) => load.name,
        Ok(Reading::Stamp(s)) => {
            let wall = stamp::wall(s.at, &zone_of(&notebook.settings));
            let wall = wall.strip_prefix(&format!("{} ", test.day)).unwrap_or(&wall).to_string();
            if s.step_s == 60 { wall.trim_end_matches(":00").into() } else { wall }
        }
        Ok(Reading::Log(logged)) => logged.file.name,
        Ok(Reading::Captures(captured)) => plural(captured.files.len(), "capture", "captures"),
        _ => entry.text.clone(),
    }
}

/// The label of an answer out of a closed list.
pub fn choice_label(field: &FieldSpec, key: &str) -> &'static str {
    match field.shape {
        Shape::Choice(choices) => choices.iter().find(|c| c.key == key).map_or("", |c| c.label),
        _ => "",
    }
}

/// The unit people read a value of this size in.
pub fn unit_for(dim: Dim, x: f64) -> &'static Unit {
    let symbol = match dim {
        Dim::Time if x * 3600.0 < 1.0 => "ms",
        Dim::Time if x * 60.0 < 1.0 => "s",
        Dim::Time if x < 1.0 => "min",
        _ => return usual(dim),
    };
    Unit::of(symbol, dim).unwrap_or(dim.kept_in())
}

/// What an entry is understood as: "890 Wh", "09:02:00".
pub fn understood(
    field: &FieldSpec,
    entry: &Entry,
    notebook: &Notebook,
    test: &Test,
) -> Result<String, Trouble> {
    let read = reading::read(field, entry, &Desk::new(notebook, test), &mut Vec::new())?;
    let style = style(&notebook.settings);
    let in_unit = |v: &Value, unit| shown::shown(v, unit, style).line();
    Ok(match read {
        Reading::Quantity(v) => in_unit(&v, unit_for(v.dim, v.x)),
        Reading::List(all) => {
            let by_size = |a: &&Value, b: &&Value| a.x.total_cmp(&b.x);
            let (Some(low), Some(high)) = (all.iter().min_by(by_size), all.iter().max_by(by_size)) else {
                return Ok(String::new());
            };
            let unit = unit_for(high.dim, high.x);
            let bare = |v: &Value| shown::four_digits(unit.shown(v.x), style);
            format!(
                "{}, {} to {} {}",
                plural(all.len(), "number", "numbers"),
                bare(low),
                bare(high),
                unit.symbol
            )
        }
        Reading::Stamp(s) => {
            let wall = stamp::wall(s.at, &zone_of(&notebook.settings));
            wall.strip_prefix(test.day.as_str()).map_or(wall.clone(), |rest| rest.trim().to_string())
        }
        _ => answer(field, entry, notebook, test),
    })
}

/// The outcome of a test as it would be with one more answer.
pub fn outcome_with(
    test: &Test,
    key: &str,
    entry: &Entry,
    notebook: &Notebook,
    recordings: &Recordings,
) -> Option<Outcome> {
    let mut test = test.clone();
    test.entries.insert(key.into(), entry.clone());
    Some(examine::run_with(kinds::find(&test.kind)?, &test, notebook, recordings))
}

/// "about 1 h", "about 20 min", "about 30 days".
pub fn about(minutes: u32) -> String {
    match minutes {
        60 => "about 1 h".into(),
        m if m >= 48 * 60 && m % (24 * 60) == 0 => format!("about {} days", m / (24 * 60)),
        m => format!("about {}", shown::duration_words(f64::from(m) / 60.0)),
    }
}

/// "1 thing", "3 things".
pub fn plural(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
