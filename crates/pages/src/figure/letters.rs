//! What the typeface of pictures has no letters for, and where it was written: said before a picture shows a replacement
//! sign instead.
use super::face;
use super::{Figure, Frame};
use crate::site::words;
use trueplate_core::disclosure;
use trueplate_core::finding::Finding;
use trueplate_core::report::Report;

/// The name of a station; its place is the id of the model.
pub const NAME: &str = "name-not-drawn";
/// Label or terms of a sample; its place is the id of the specimen.
pub const SAMPLE: &str = "sample-not-drawn";
/// What a load is called; its place is the id of the load.
pub const LOAD: &str = "load-not-drawn";
/// The tester, the site or the currency; its place is that word.
pub const SETTING: &str = "setting-not-drawn";
/// A picture of which nothing else says why; its place is its fact.
pub const PICTURE: &str = "picture-not-drawn";

/// Letters named one by one.
const NAMED: usize = 6;

/// A text that pictures show.
struct Shown<'a> {
    code: &'static str,
    place: &'a str,
    what: String,
    text: String,
    hint: &'static str,
}

/// Every text of the bench that pictures would show with a replacement sign. With `figures`, only texts that stand on one of
/// these; a picture that is damaged by none of them is named itself, so nothing is left out in silence.
pub fn undrawn(report: &Report, figures: Option<&[&Figure]>) -> Vec<Finding> {
    let texts: Vec<Shown> =
        shown(report).into_iter().filter(|s| !face::unwritable(&s.text).is_empty()).collect();
    let Some(figures) = figures else { return texts.iter().map(finding).collect() };
    let drawn: Vec<(&Figure, String)> = figures
        .iter()
        .map(|f| (*f, f.said(Frame::Hd).concat()))
        .filter(|(_, said)| said.contains(face::replacement()))
        .map(|(f, said)| (f, bare(&said)))
        .collect();
    // A line may end anywhere in a text and a long one is cut: what stands through the first such letters is looked for.
    let stands = |s: &Shown, said: &str| said.contains(&through_first(&s.text));
    let mut all: Vec<Finding> =
        texts.iter().filter(|s| drawn.iter().any(|(_, said)| stands(s, said))).map(finding).collect();
    let unknown = drawn.iter().filter(|(_, said)| !texts.iter().any(|s| stands(s, said)));
    all.extend(unknown.map(|(f, _)| {
        let text =
            format!("{}: a picture of {} shows a replacement sign for some of its letters", f.title, f.name);
        Finding::doubt(PICTURE, f.fact.as_str(), text, "write what stands on it in Latin letters")
    }));
    all
}

/// Without spaces, which wrapping takes away.
fn bare(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// A text as it is drawn, through the first letters that it lacks.
fn through_first(text: &str) -> String {
    let written = bare(&face::writable(text));
    let lost = |c: char| c == face::replacement();
    let Some(begins) = written.find(lost) else { return written };
    let ends = written[begins..].find(|c| !lost(c)).map_or(written.len(), |n| begins + n);
    written[..ends].to_string()
}

/// What the bench calls its things, as far as pictures show it.
fn shown(report: &Report) -> Vec<Shown<'_>> {
    const LATIN: &str = "give it a short name in Latin letters, as it is said aloud; what is on the box can stand in its note";
    const TERMS: &str = "write it in Latin letters, as it is said aloud";
    let (notebook, settings) = (&report.notebook, &report.notebook.settings);
    let mut all = Vec::new();
    for model in report.models.iter().filter(|m| m.gate.is_empty()) {
        let (place, text) = (model.id.as_str(), model.name.clone());
        all.push(Shown { code: NAME, place, what: format!("the station “{text}”"), text, hint: LATIN });
        let own = notebook.specimens.iter().filter(|s| s.model == model.id);
        for (i, s) in own.enumerate() {
            let label = words::specimen(s, i);
            let (place, hint) = (s.id.as_str(), TERMS);
            let what = format!("the label “{label}” of a sample of {}", model.name);
            all.push(Shown { code: SAMPLE, place, what, text: label, hint });
            let what = format!("how a sample of {} came", model.name);
            all.push(Shown { code: SAMPLE, place, what, text: disclosure::of_specimen(s), hint });
        }
    }
    for l in &notebook.loads {
        let what = format!("the load “{}”", l.name);
        all.push(Shown { code: LOAD, place: &l.id, what, text: l.name.clone(), hint: LATIN });
    }
    let own = [("tester", &settings.tester), ("site", &settings.site), ("currency", &settings.currency)];
    for (place, text) in own {
        let what = format!("“{text}”, the {place} in the settings");
        all.push(Shown { code: SETTING, place, what, text: text.clone(), hint: TERMS });
    }
    all
}

fn finding(s: &Shown) -> Finding {
    let letters = face::unwritable(&s.text);
    // A sign that turns a line around, alone on a page, would turn that line around.
    let one = |c: &char| match c.is_control() || face::steers(*c) {
        true => format!("U+{:04X}", u32::from(*c)),
        false => c.to_string(),
    };
    let named: Vec<String> = letters.iter().take(NAMED).map(one).collect();
    let more = letters.len().saturating_sub(NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let text = format!("pictures have no letter for {}{more} in {}", named.join(" "), s.what);
    Finding::doubt(s.code, s.place, text, format!("{}; until then a replacement sign stands there", s.hint))
}
