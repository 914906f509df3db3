//! Will it run mine: devices typed a line each, held against every station.
use super::page::{Answer, Ask, Top, html};
use super::words::unbroken;
use askama::Template;
use trueplate_core::answer::{Grounds, Misread, Sheet, Typed, ask_on, known};
use trueplate_core::reading::marks_of;

/// What stands in the empty field.
const EXAMPLE: &str = "router, 12 W\nfridge, 85 W, start 900 W, avg 38 W";

#[derive(Template)]
#[template(path = "answer.html")]
struct Page {
    top: Top,
    typed: String,
    example: &'static str,
    days: String,
    solar: String,
    disabled: bool,
    troubles: Vec<(String, String)>,
    shown: Option<Sheet>,
}

/// The question, and the answer where something was asked.
pub async fn show(page: Ask) -> Answer {
    let typed = page.query.get("devices").replace("\r\n", "\n");
    let (days, solar) = (page.query.text("days"), page.query.text("solar"));
    let disabled = page.query.ticked("disabled");
    let asked = Typed {
        devices: typed.lines().map(String::from).collect(),
        time: days.clone(),
        solar: solar.clone(),
        switch_off_disabled: disabled,
        ..Typed::default()
    };
    let (question, misread) = asked.read(&known(page.notebook()), marks_of(&page.notebook().settings));
    let troubles =
        misread.into_iter().map(|m| (where_typed(&m), format!("{}; {}", m.text, m.hint))).collect::<Vec<_>>();
    let answered = !question.devices.is_empty() && troubles.is_empty();
    let shown = answered.then(|| {
        let grounds = Grounds::of(&page.report);
        let mut sheet = Sheet::of(&ask_on(&grounds, &question), &grounds);
        for row in &mut sheet.rows {
            row.why = unbroken(&row.why);
            row.limits.iter_mut().for_each(|l| l.text = unbroken(&l.text));
            row.more.iter_mut().for_each(|m| *m = unbroken(m));
        }
        sheet.choices.iter_mut().for_each(|c| c.why = unbroken(&c.why));
        sheet.paragraph = unbroken(&sheet.paragraph);
        sheet
    });
    let days = if days.is_empty() { "1".into() } else { days };
    Ok(html(&Page { top: page.top(), typed, example: EXAMPLE, days, solar, disabled, troubles, shown }))
}

/// "Line 2: lamp, 60 Wh".
fn where_typed(misread: &Misread) -> String {
    let mut place = misread.place.chars();
    let first = place.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}: {}", place.as_str(), misread.typed)
}
