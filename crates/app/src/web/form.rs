//! What a form sent: names and texts, read with care.
use super::fault::Fault;
use axum::Form;
use axum::extract::rejection::FormRejection;
use axum::extract::{FromRequest, Request};
use sha2::{Digest, Sha256};
use trueplate_core::notebook::Settings;
use trueplate_core::number;
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::reading::marks_of;
use trueplate_core::shown::{Style, four_digits};

/// Pairs as sent, in order.
#[derive(Clone, Debug, Default)]
pub struct Sent(pub Vec<(String, String)>);

impl<S: Send + Sync> FromRequest<S> for Sent {
    type Rejection = Fault;
    async fn from_request(request: Request, state: &S) -> Result<Self, Fault> {
        let read: Result<Form<Vec<(String, String)>>, FormRejection> =
            Form::from_request(request, state).await;
        match read {
            Ok(Form(pairs)) => Ok(Sent(pairs)),
            Err(e) => Err(Fault::Unreadable(format!("The form could not be read: {e}."))),
        }
    }
}

impl Sent {
    /// The text under a name, trimmed; empty when it was not sent.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().rev().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }
    /// The same, owned.
    pub fn text(&self, name: &str) -> String {
        // What a person types has lines at most, no other control characters.
        self.get(name).chars().filter(|c| !c.is_control() || *c == '\n').collect()
    }
    /// A ticked box.
    pub fn ticked(&self, name: &str) -> bool {
        !self.get(name).is_empty()
    }
    /// Every text under a name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(n, _)| n == name).map(|(_, v)| v.trim())
    }
}

/// One choice of a list.
pub struct Pick {
    /// What is sent.
    pub key: String,
    /// What is read.
    pub label: String,
    /// It is chosen.
    pub on: bool,
}

impl Pick {
    /// A choice.
    pub fn new(key: impl Into<String>, label: impl Into<String>, on: bool) -> Pick {
        Pick { key: key.into(), label: label.into(), on }
    }
}

/// Reads the texts of one form and remembers what could not be read, by name.
pub struct Reader<'a> {
    sent: &'a Sent,
    settings: &'a Settings,
    /// Name of the field and what is wrong, in words.
    pub troubles: Vec<(String, String)>,
}

impl<'a> Reader<'a> {
    /// A reader for one form.
    pub fn new(sent: &'a Sent, settings: &'a Settings) -> Self {
        Reader { sent, settings, troubles: Vec::new() }
    }
    /// Something that must be there.
    pub fn needed(&mut self, name: &str, words: &str) -> String {
        let text = self.sent.text(name);
        if text.is_empty() {
            self.trouble(name, words);
        }
        text
    }
    /// A quantity in the unit its dimension is kept in; 0 when nothing is typed.
    pub fn quantity(&mut self, name: &str, dim: Dim, unit: &str) -> f64 {
        let text = self.sent.get(name);
        if text.is_empty() {
            return 0.0;
        }
        let unit = Unit::of(unit, dim).unwrap_or(dim.kept_in());
        match number::quantity(text, dim, unit, marks_of(self.settings)) {
            Ok(typed) if typed.kept >= 0.0 && typed.kept <= 1e9 => typed.kept,
            Ok(_) => {
                self.trouble(name, &format!("`{text}` cannot be: type a number from 0 up"));
                0.0
            }
            Err(t) => {
                self.trouble(name, &format!("{}; {}", t.text, t.hint));
                0.0
            }
        }
    }
    /// A signed share, typed in per cent.
    pub fn share(&mut self, name: &str) -> f64 {
        let text = self.sent.get(name);
        if text.is_empty() {
            return 0.0;
        }
        let bare = text.trim_end_matches('%').trim_end();
        match number::number(bare, marks_of(self.settings)) {
            Some((x, _)) if x.abs() <= 100.0 => x / 100.0,
            _ => {
                self.trouble(name, &format!("`{text}` is not a share in per cent; type for example `0.9 %`"));
                0.0
            }
        }
    }
    /// A plain number from 0 up; 0 when nothing is typed.
    pub fn plain(&mut self, name: &str) -> f64 {
        let text = self.sent.get(name);
        match number::number(text, marks_of(self.settings)) {
            _ if text.is_empty() => 0.0,
            Some((x, _)) if (0.0..=1e9).contains(&x) => x,
            _ => {
                self.trouble(name, &format!("`{text}` is not a number from 0 up"));
                0.0
            }
        }
    }
    /// A day, ISO 8601; empty when nothing is typed.
    pub fn day(&mut self, name: &str) -> String {
        let text = self.sent.get(name);
        if !text.is_empty() && text.parse::<jiff::civil::Date>().is_err() {
            self.trouble(name, &format!("`{text}` is not a day; write it as 2026-05-03"));
        }
        text.into()
    }
    /// Remembers a trouble.
    pub fn trouble(&mut self, name: &str, words: &str) {
        self.troubles.push((name.into(), words.into()));
    }
}

/// The troubles of a form beside its fields.
#[derive(Default)]
pub struct Troubles(pub Vec<(String, String)>);

impl Troubles {
    /// What is wrong with a field; empty when nothing is.
    pub fn of(&self, name: impl AsRef<str>) -> &str {
        self.0.iter().find(|(n, _)| n == name.as_ref()).map_or("", |(_, words)| words)
    }
    /// Something is wrong.
    pub fn any(&self) -> bool {
        !self.0.is_empty()
    }
    /// How many.
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

/// A number as it is put into a field; empty for 0, which means "not known" there.
pub fn typed(x: f64, unit: &str, settings: &Settings) -> String {
    if x == 0.0 {
        return String::new();
    }
    let style = Style { decimal: if settings.decimal_comma { ',' } else { '.' }, group: '\0' };
    let number = four_digits(x, style);
    let number = if number.parse::<f64>().is_ok_and(|shown| (shown - x).abs() > x.abs() * 1e-9) {
        x.to_string().replace('.', &style.decimal.to_string())
    } else {
        number
    };
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// A kept number as it is put into a field, in a unit that suits its size; empty for 0.
pub fn typed_kept(x: f64, dim: Dim, settings: &Settings) -> String {
    let unit = match dim {
        Dim::Time => super::words::unit_for(dim, x),
        _ => dim.kept_in(),
    };
    // Twelve digits hide the last bit of a conversion and nothing that anybody typed.
    let shown = (unit.shown_step(x) * 1e12).round() / 1e12;
    typed(shown, unit.symbol, settings)
}

/// A short mark of how a record stood when a form was made, so that a change meanwhile is noticed.
pub fn stand<T: serde::Serialize>(record: &T) -> String {
    let text = serde_json::to_string(record).unwrap_or_default();
    Sha256::digest(text.as_bytes()).iter().take(8).map(|b| format!("{b:02x}")).collect()
}

/// Fails when the record is not what the form was made from.
pub fn unchanged<T: serde::Serialize>(record: &T, sent: &Sent) -> Result<(), Fault> {
    if sent.get("stand") == stand(record) {
        return Ok(());
    }
    Err(Fault::Stale(
        "Somebody changed this on another screen after you opened the form. Nothing was overwritten: \
         go back, load the page again, and enter your change once more."
            .into(),
    ))
}
