//! What has been said so far about a log looked at: it stands in the address, so that going back takes it back.
use super::form::Sent;
use super::page::escaped;
use serde_json::{Map, Value, json};
use trueplate_meters::logs::{Mapping, Options, Role, TimeKind, together};

/// What has been said so far.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// SHA-256 of the file.
    pub sha: String,
    /// Id of the test it is for; empty for none.
    pub test: String,
    /// Id of the instrument it is from; empty for none.
    pub instrument: String,
    /// Answers, laid over the mapping; an object.
    pub map: Value,
    /// Longest step that is no gap, s.
    pub gap_s: Option<f64>,
    /// Part of the trace to be seen closer, s from the first row.
    pub window: Option<(f64, f64)>,
}

impl State {
    /// From an address or a form.
    pub fn of(sha: &str, sent: &Sent) -> State {
        let number =
            |name: &str| sent.get(name).replace(',', ".").parse::<f64>().ok().filter(|x| x.is_finite());
        let map = serde_json::from_str::<Value>(sent.get("map")).ok().filter(Value::is_object);
        State {
            sha: sha.into(),
            test: sent.text("test"),
            instrument: sent.text("instrument"),
            map: map.unwrap_or_else(|| json!({})),
            gap_s: number("gap").filter(|g| *g > 0.0),
            window: number("from").zip(number("to")).filter(|(a, b)| b > a),
        }
    }

    /// Whether anybody has said anything.
    pub fn is_changed(&self) -> bool {
        self.gap_s.is_some() || self.map.as_object().is_some_and(|m| !m.is_empty())
    }

    /// With one more answer.
    pub fn with(mut self, more: &Value) -> State {
        self.map = together(&self.map, more);
        self
    }

    /// The address that says all of this.
    pub fn address(&self) -> String {
        let mut parts = Vec::new();
        let mut add = |name: &str, value: &str| {
            if !value.is_empty() {
                parts.push(format!("{name}={}", escaped(value)));
            }
        };
        add("test", &self.test);
        add("instrument", &self.instrument);
        if self.map.as_object().is_some_and(|m| !m.is_empty()) {
            add("map", &self.map.to_string());
        }
        if let Some(gap) = self.gap_s {
            add("gap", &gap.to_string());
        }
        if let Some((from, to)) = self.window {
            add("from", &format!("{from:.3}"));
            add("to", &format!("{to:.3}"));
        }
        let joint = if parts.is_empty() { "" } else { "?" };
        format!("/log/{}{joint}{}", escaped(&self.sha), parts.join("&"))
    }

    /// The same seen over another stretch.
    pub fn seen(&self, window: Option<(f64, f64)>) -> String {
        format!("{}#trace", State { window, ..self.clone() }.address())
    }

    /// How the log is summed up.
    pub fn options(&self) -> Options {
        Options { gap_s: self.gap_s, ..Options::default() }
    }
}

/// What was chosen in the form of columns, as a change of the mapping; `None` where the form was not sent.
pub fn of_columns(sent: &Sent, mapping: &Mapping) -> Option<Value> {
    if sent.0.iter().all(|(n, _)| n != "role-0") {
        return None;
    }
    let mut columns = mapping.columns.clone();
    for (n, column) in columns.iter_mut().enumerate() {
        let role = serde_json::from_value::<Role>(json!(sent.get(&format!("role-{n}"))));
        let unit = sent.get(&format!("unit-{n}"));
        let changed = role.as_ref().is_ok_and(|r| *r != column.role);
        column.role = role.unwrap_or(column.role);
        let as_before = column.unit.as_deref().unwrap_or_default() == unit;
        column.unit = match (changed && as_before).then(|| usual_unit(column.role)) {
            Some(usual) => usual.map(String::from),
            None => Some(unit.to_string()).filter(|u| !u.is_empty()),
        };
    }
    let time = time_of(&columns.iter().map(|c| c.role).collect::<Vec<_>>(), mapping.time);
    let mut patch = Map::new();
    if columns != mapping.columns {
        patch.insert("columns".into(), json!(columns));
        patch.insert("answered".into(), json!(COLUMN_QUESTIONS));
    }
    if time != mapping.time {
        patch.insert("time".into(), json!(time));
    }
    let order = Some(sent.get("date_order")).filter(|o| !o.is_empty());
    if json!(order) != json!(mapping.date_order) {
        patch.insert("date_order".into(), json!(order));
    }
    let decimal = sent.get("decimal");
    if !decimal.is_empty() && decimal != mapping.decimal.to_string() {
        patch.insert("decimal".into(), json!(decimal));
        patch.insert("thousands".into(), Value::Null);
    }
    let zone = Some(sent.text("zone")).filter(|z| !z.is_empty());
    if zone != mapping.zone {
        patch.insert("zone".into(), json!(zone));
    }
    Some(Value::Object(patch))
}

/// Questions that a look at the columns settles.
pub const COLUMN_QUESTIONS: [&str; 8] = [
    "columns",
    "power-unit",
    "energy-unit",
    "current-unit",
    "elapsed-unit",
    "counter-or-interval",
    "several-columns",
    "header-width",
];

fn usual_unit(role: Role) -> Option<&'static str> {
    Some(match role {
        Role::Power => "W",
        Role::EnergyCounter | Role::EnergyInterval => "W.h",
        Role::Voltage => "V",
        Role::Current => "A",
        Role::Temperature => "Cel",
        Role::Elapsed => "s",
        _ => return None,
    })
}

/// How time is written, when the columns hold these.
fn time_of(roles: &[Role], before: TimeKind) -> TimeKind {
    let has = |r: Role| roles.contains(&r);
    let keep = |fits: &[TimeKind], other: TimeKind| if fits.contains(&before) { before } else { other };
    if has(Role::Date) && has(Role::Clock) {
        TimeKind::DateAndClock
    } else if has(Role::Time) {
        keep(&[TimeKind::EpochSeconds, TimeKind::EpochMillis, TimeKind::Serial], TimeKind::Stamp)
    } else if has(Role::Elapsed) {
        keep(&[TimeKind::ElapsedClock], TimeKind::ElapsedNumber)
    } else if has(Role::Clock) {
        TimeKind::Clock
    } else {
        TimeKind::Missing
    }
}
