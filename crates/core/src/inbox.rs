//! Readers' questions: each mapped to a result that answers it, or to "not tested" with the missing kind of test.
//! The mapping is the tester's; the answer is computed, so a question answers itself once the test is made.
use crate::answer::{self, Question, Word, device, known};
use crate::claims;
use crate::facts::{self, Fact, Sort};
use crate::kind::Spec;
use crate::notebook::Condition;
use crate::outgoing::{ReaderQuestion, Wants};
use crate::reading::marks_of;
use crate::report::{ModelReport, Report};
use crate::script::topics;

/// What a question about hours at a load is mapped to.
pub const RUNTIME: &str = "runtime";
/// What a question about devices is mapped to.
pub const DEVICES: &str = "devices";
/// What a question is mapped to that no test here tells of.
pub const NOTHING: &str = "nothing";

/// How a question stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not mapped to anything yet.
    Unsorted,
    /// A paragraph ready to be pasted under the question, and the tests behind it.
    Answered {
        /// The paragraph.
        paragraph: String,
        /// Result or fact it rests on; empty for the tester's own words.
        key: String,
        /// Ids of tests.
        tests: Vec<String>,
    },
    /// Not tested, and what is missing.
    NotTested {
        /// The kind of test that would tell; empty when none here does.
        kind: String,
        /// Its title.
        title: String,
        /// Why there is no answer, without full stop.
        why: String,
    },
}

/// How a question stands today.
pub fn standing(report: &Report, question: &ReaderQuestion) -> Standing {
    let own = question.answer.trim();
    let computed = match question.about.as_str() {
        "" => Standing::Unsorted,
        NOTHING => not_tested(None, "no kind of test here tells of it"),
        DEVICES => devices(report, question),
        RUNTIME => of_models(report, question, runtime),
        _ => of_models(report, question, result),
    };
    match computed {
        _ if own.is_empty() => computed,
        Standing::Answered { key, tests, .. } => Standing::Answered { paragraph: own.into(), key, tests },
        _ => Standing::Answered { paragraph: own.into(), key: String::new(), tests: Vec::new() },
    }
}

fn not_tested(kind: Option<&Spec>, why: &str) -> Standing {
    Standing::NotTested {
        kind: kind.map_or(String::new(), |k| k.id.into()),
        title: kind.map_or(String::new(), |k| k.title.into()),
        why: why.into(),
    }
}

/// The kind of test whose result a key is. Stored energy is bracketed by a recharge from fully empty, a runtime comes
/// from discharges.
fn kind_of<'r>(report: &'r Report, key: &str) -> Option<&'r Spec> {
    let key = match key {
        "stored-energy" => "wall-energy",
        RUNTIME => "usable-energy",
        key => key,
    };
    report.kinds.iter().copied().find(|k| k.results.iter().any(|r| r.key == key))
}

/// One model's answer: sentence and tests; or why there is none.
type Said = Result<(String, Vec<String>), String>;

/// The model asked about, or all of them in order.
fn of_models(
    report: &Report,
    question: &ReaderQuestion,
    one: fn(&Report, &ModelReport, &ReaderQuestion) -> Said,
) -> Standing {
    let kind = kind_of(report, &question.about);
    if !question.model.is_empty() {
        let Some(model) = report.models.iter().find(|m| m.id == question.model) else {
            return not_tested(kind, "its station is not on this bench");
        };
        return match one(report, model, question) {
            Ok((paragraph, tests)) => Standing::Answered { paragraph, key: question.about.clone(), tests },
            Err(why) => not_tested(kind, &format!("{}: {why}", model.name)),
        };
    }
    let found: Vec<(String, Vec<String>)> =
        report.models.iter().filter_map(|m| one(report, m, question).ok()).collect();
    if found.is_empty() {
        return not_tested(kind, "no station here was tested for it");
    }
    let tests = found.iter().flat_map(|(_, t)| t.iter().cloned()).collect();
    let paragraph = found.into_iter().map(|(p, _)| p).collect::<Vec<_>>().join("\n");
    Standing::Answered { paragraph, key: question.about.clone(), tests }
}

fn result(report: &Report, model: &ModelReport, question: &ReaderQuestion) -> Said {
    let all = facts::of_model(report, model);
    let of_key = |f: &&Fact| f.sort == Sort::Measured && f.key == question.about;
    let wanted: Condition = question.condition.clone();
    let fits = |f: &&Fact| wanted.iter().all(|(axis, value)| f.condition.get(axis) == Some(value));
    let found: Vec<&Fact> = all.iter().filter(of_key).filter(fits).collect();
    let judged = |f: &Fact| {
        let row = model.claims.iter().find(|c| c.claim.key == f.key && c.condition == f.condition)?;
        Some(format!(" The maker states {}: {}.", row.claim.text, row.verdict.words()))
    };
    if let Some(first) = found.first() {
        // The usual condition comes first; others are told beside it.
        let others: Vec<String> =
            found.iter().skip(1).map(|f| format!("{} {}", lower(&f.title), f.rounded)).collect();
        let others = if others.is_empty() { String::new() } else { format!(" Also: {}.", others.join("; ")) };
        let tests = match first.trail.len() {
            1 => " One test.".to_string(),
            n => format!(" {n} tests."),
        };
        let text = format!("{}{}{tests}{others}", first.wording, judged(first).unwrap_or_default());
        return Ok((text, first.trail.clone()));
    }
    let counted = model.claims.iter().find(|c| c.claim.key == question.about && c.counted.is_some());
    if let Some((row, c)) = counted.and_then(|r| Some((r, r.counted.as_ref()?))) {
        let text = format!(
            "{}: {} of {} trials beyond the claimed {}; claim {}.",
            model.name,
            c.k,
            c.n,
            row.claim.text,
            row.verdict.words()
        );
        return Ok((text, row.tests.clone()));
    }
    let title = claims::spec_of(&question.about).map_or(question.about.clone(), |r| lower(r.title));
    Err(match all.iter().any(|f| of_key(&f)) {
        true => format!("{title} was tested, but not under this condition"),
        false => format!("{title} was not tested"),
    })
}

fn runtime(report: &Report, model: &ModelReport, question: &ReaderQuestion) -> Said {
    let Some(fact) = facts::runtime(report, model, question.watts) else {
        return Err(format!("the runtime at {:.0} W does not follow from what was tested", question.watts));
    };
    let unless: Vec<String> =
        fact.do_not_say.iter().filter(|d| d.starts_with("without power saving")).cloned().collect();
    let unless = unless.first().map_or(String::new(), |d| format!(" Not {d}."));
    Ok((format!("{}{unless}", fact.wording), fact.trail.clone()))
}

fn lower(title: &str) -> String {
    let mut chars = title.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + chars.as_str())
}

/// "Will it run my devices": by the same answers as everywhere.
fn devices(report: &Report, question: &ReaderQuestion) -> Standing {
    let marks = marks_of(&report.notebook.settings);
    let library = known(&report.notebook);
    let mut asked = Question::default();
    for line in question.devices.lines().map(str::trim).filter(|l| !l.is_empty()) {
        match device(line, &library, marks) {
            Ok(found) => asked.devices.push(found),
            Err(f) => return not_tested(None, &format!("{}; {}", f.text, f.hint)),
        }
    }
    if asked.devices.is_empty() {
        return not_tested(None, "no device is written down with the question");
    }
    let answers = answer::ask(report, &asked);
    let caution = if answers.caution.is_empty() { String::new() } else { format!("{} ", answers.caution) };
    if question.model.is_empty() {
        let paragraph = match answers.paragraph.contains(&answers.caution) {
            true => answers.paragraph,
            false => format!("{caution}{}", answers.paragraph),
        };
        return Standing::Answered { paragraph, key: DEVICES.into(), tests: Vec::new() };
    }
    let Some(of) = answers.models.iter().find(|m| m.id == question.model) else {
        return not_tested(None, "its station is not on this bench");
    };
    if of.answer == Word::Unknown {
        // The reason ends with the test that would tell, by its title.
        let why = of.why.to_lowercase();
        let kind = report.kinds.iter().copied().find(|k| why.contains(&k.title.to_lowercase()));
        let reason = of.why.split("; the missing test").next().filter(|_| kind.is_some());
        return not_tested(kind, &format!("{}: {}", of.name, reason.unwrap_or(&of.why)));
    }
    let paragraph = format!("{caution}{}: {}; {}.", of.name, of.answer.words(), of.why);
    Standing::Answered { paragraph, key: DEVICES.into(), tests: Vec::new() }
}

/// What a question seems to ask: the model named in it, and keys of results its words speak of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Guess {
    /// Id of the one model named; empty when none or several are.
    pub model: String,
    /// Keys of results, the likeliest first.
    pub keys: Vec<&'static str>,
    /// A load named, in W.
    pub watts: Option<u32>,
}

/// Reads a question as the script check reads a sentence. A proposal, never kept by itself.
pub fn guess(report: &Report, text: &str) -> Guess {
    let found = topics(report, text);
    Guess {
        model: match found.models.as_slice() {
            [one] => report.models[*one].id.clone(),
            _ => String::new(),
        },
        keys: found.keys,
        watts: found.watts.filter(|w| *w > 0.0 && *w < 1e5).map(|w| w.round() as u32),
    }
}

/// Questions in the order they should be looked at: unsorted first, then not tested, those asked most often first.
pub fn in_order(report: &Report) -> Vec<(&ReaderQuestion, Standing)> {
    let mut all: Vec<_> = report.notebook.questions.iter().map(|q| (q, standing(report, q))).collect();
    let place = |s: &Standing| match s {
        Standing::Unsorted => 0,
        Standing::NotTested { .. } => 1,
        Standing::Answered { .. } => 2,
    };
    all.sort_by_key(|(q, s)| (place(s), std::cmp::Reverse(q.times.max(1)), std::cmp::Reverse(q.on.clone())));
    all
}

/// May stand on the published pages: sorted, not private, and a question, not a report.
pub fn published(question: &ReaderQuestion, standing: &Standing) -> bool {
    !question.private && question.wants == Wants::Answer && *standing != Standing::Unsorted
}

#[cfg(test)]
#[path = "inbox_test.rs"]
mod tests;
