//! Who still carries the old number: lines of kept scripts with their minute in the video, and the text to pin there.
use super::effect::{self, Effect};
use super::{Correction, Of};
use crate::examine;
use crate::facts;
use crate::kinds;
use crate::notebook::Test;
use crate::outgoing::Video;
use crate::repeat::Outcomes;
use crate::report::{Report, since};
use crate::script::{Checked, Format, Judgement, check, said_at};
use crate::stamp;
use std::sync::Arc;

/// A line of a kept script that said what the bench said before the correction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StaleLine {
    /// Id of the video.
    pub video: String,
    /// Its title.
    pub title: String,
    /// Line in the script, 1 is first.
    pub line: usize,
    /// When it is said, ms from the start; `None` where the script has no times.
    pub at_ms: Option<u64>,
    /// What it says: "1.97 kilowatt-hours".
    pub says: String,
    /// What the bench says now; empty when it says nothing.
    pub record: String,
}

impl StaleLine {
    /// "4:12", or "line 7" for a script without times.
    pub fn place(&self) -> String {
        self.at_ms.map_or_else(|| format!("line {}", self.line), clock)
    }
}

/// A moment of a video: "4:12", "1:02:03".
pub fn clock(ms: u64) -> String {
    let s = ms / 1000;
    match (s / 3600, s / 60 % 60, s % 60) {
        (0, m, s) => format!("{m}:{s:02}"),
        (h, m, s) => format!("{h}:{m:02}:{s:02}"),
    }
}

/// The whole bench computed as if the record of a correction still stood as before it; nothing when its past cannot be
/// read.
pub fn report_before(now: &Report, correction: &Correction) -> Option<Report> {
    let notebook = effect::notebook_before(now, correction)?;
    let touched = |t: &Test| match &correction.of {
        Of::Test(id) => t.id == *id,
        Of::Claim(_) | Of::Price => notebook.model_of(&t.specimen).is_some_and(|m| m.id == correction.model),
    };
    let one = |t: &Test| {
        let kept = now.outcomes.get(&t.id).filter(|_| !touched(t)).cloned();
        Some((
            t.id.clone(),
            kept.or_else(|| Some(Arc::new(examine::run(kinds::find(&t.kind)?, t, &notebook))))?,
        ))
    };
    let outcomes: Outcomes = notebook.tests.iter().filter_map(one).collect();
    Some(since(notebook.clone(), Arc::new(outcomes), &now.as_of, now))
}

/// Lines of a script that agreed with the bench `before` the correction and do not agree `now`.
pub fn lines(now: &Report, before: &Report, video: &Video, text: &str) -> Vec<StaleLine> {
    let format = Format::of_name(&video.script.name);
    let judged = |r: &Report| check(r, text, format, Some(&video.model));
    let (old, new): (Checked, Checked) = (judged(before), judged(now));
    let at = said_at(text, format);
    let facts = facts::facts(now);
    let stale = |l: &crate::script::Line| {
        let same = |o: &&crate::script::Line| o.line == l.line && o.says == l.says;
        let was = old.lines.iter().find(same).filter(|o| o.judgement == Judgement::Agrees)?;
        // What the same fact says now; where the line is called stale its record is the old one.
        let fact = was.fact.as_ref().and_then(|id| facts.iter().find(|f| f.id == *id));
        let record = l.record.clone().filter(|_| l.judgement != Judgement::Stale);
        Some(StaleLine {
            video: video.id.clone(),
            title: video.title.clone(),
            line: l.line,
            at_ms: at.get(&l.line).copied(),
            says: l.says.clone(),
            record: fact.map(|f| f.rounded.clone()).or(record).unwrap_or_default(),
        })
    };
    new.lines.iter().filter(|l| l.judgement != Judgement::Agrees).filter_map(stale).collect()
}

/// The text to pin under a video that carries the old number. Facts only.
pub fn pinned(name: &str, correction: &Correction, effect: &Effect, lines: &[StaleLine]) -> String {
    let day = stamp::day_words(&correction.at);
    let mut out = format!("Correction, {day}: {name}.\n");
    for l in lines {
        let record = match l.record.as_str() {
            "" => "the record holds no such number now".to_string(),
            record => format!("the record says {record}"),
        };
        out.push_str(&format!("At {}: “{}” – {record}.\n", l.place(), l.says));
    }
    let why = match correction.why.as_str() {
        "" => String::new(),
        why => format!(" Why: {}.", why.trim_end_matches('.')),
    };
    let what = format!("{}{}", correction.what[..1].to_uppercase(), &correction.what[1..]);
    out.push_str(&format!("{what}: {} → {}.{why}\n", correction.old, correction.new));
    for m in effect.facts.iter().filter(|m| said(&m.old.fact)) {
        out.push_str(&format!("{}: {}.\n", m.title, m.change()));
    }
    out.push_str(&effect.words());
    out.push_str("\nEvery correction stands on the page of corrections, with its date.");
    out
}

/// Facts a viewer heard of: what was measured, stated or paid, not the probabilities behind a verdict.
fn said(fact: &str) -> bool {
    !fact.contains("/verdict") && !fact.contains("/runtime/")
}
