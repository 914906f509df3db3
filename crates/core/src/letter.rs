//! The letter to a maker: the measured facts beside the maker's own figures, and the question what is wrong in them.
//! Facts only: figures, conditions, dates and the verdicts' fixed words; no adjectives, no conclusions.
use crate::claims::ClaimRow;
use crate::facts::{self, Fact, Sort};
use crate::judge::Verdict;
use crate::notebook::Notebook;
use crate::outgoing::{Carried, Letter, Reply};
use crate::report::{ModelReport, Report, condition_words, titled};
use crate::shown::{Style, decimal, probability};
use crate::stamp::{day_words, days_between};

/// Days a maker is given to answer when nothing else is asked (common practice: 5 to 10 working days).
pub const DAYS_TO_ANSWER: i64 = 14;

/// A letter ready to be sent.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// The whole text.
    pub text: String,
    /// The facts in it, as they stand.
    pub facts: Vec<Carried>,
}

/// Writes the letter about one model; `to` and `answer_by` (ISO 8601) as far as they are known.
pub fn draft(report: &Report, model: &ModelReport, to: &str, answer_by: &str) -> Draft {
    let settings = &report.notebook.settings;
    let facts = facts::of_model(report, model);
    let mut text = String::new();
    if !to.is_empty() {
        text.push_str(&format!("To: {to}\n"));
    }
    text.push_str(&format!("About: {}, figures measured as of {}\n\n", model.name, day_words(&report.as_of)));
    text.push_str(&samples(&report.notebook, model));
    let mut carried = Vec::new();
    beside(report, model, &facts, &mut text, &mut carried);
    others(report, model, &facts, &mut text, &mut carried);
    text.push_str(&format!(
        "\nThe verdicts follow from one rule, set before the measurements: met from a probability of {} that the claim is \
         kept, probably met from {}, the same mirrored for not met, cannot tell between. ± is the half-width of the \
         95 % interval.\n",
        decimal(settings.met_from, 2, Style::POINT),
        decimal(settings.probably_from, 2, Style::POINT)
    ));
    text.push_str(&method(report, model));
    let by = match answer_by {
        "" => "Please answer".to_string(),
        day => format!("Please answer by {}", day_words(day)),
    };
    text.push_str(&format!(
        "\n{by}: which of these figures or conditions is wrong, and what shows it? The answer is published word for word \
         beside the figures. Without an answer the page says that none came.\n"
    ));
    if !settings.tester.is_empty() {
        text.push_str(&format!("\n{}\n", settings.tester));
    }
    Draft { text, facts: carried }
}

/// How many samples, how each came, on which firmware. Serial numbers stay here.
fn samples(notebook: &Notebook, model: &ModelReport) -> String {
    let all: Vec<_> = notebook.specimens.iter().filter(|s| s.model == model.id).collect();
    let mut text = match all.len() {
        0 => return "No sample is written down.\n".into(),
        1 => "One sample was tested.\n".to_string(),
        n => format!("{n} samples were tested.\n"),
    };
    for (i, s) in all.iter().enumerate() {
        let name = if s.label.is_empty() { format!("sample {}", i + 1) } else { s.label.clone() };
        let firmware = match s.firmware_now() {
            "" => String::new(),
            f => format!(" Firmware {f}."),
        };
        text.push_str(&format!("- {name}: {}{firmware}\n", crate::disclosure::of_specimen(s)));
    }
    text
}

fn carry(fact: &Fact) -> Carried {
    Carried { fact: fact.id.clone(), version: fact.version.clone(), rounded: fact.rounded.clone() }
}

/// Each claim with what was measured of it.
fn beside(
    report: &Report,
    model: &ModelReport,
    facts: &[Fact],
    text: &mut String,
    carried: &mut Vec<Carried>,
) {
    if model.claims.is_empty() {
        return;
    }
    text.push_str("\nYour figures, and what was measured:\n");
    for row in &model.claims {
        let title = row.result.map_or(row.claim.key.clone(), |r| titled(r, &row.claim.condition));
        let source = [
            row.claim.source.clone(),
            if row.claim.seen.is_empty() { String::new() } else { format!("seen {}", row.claim.seen) },
        ];
        let source: Vec<String> = source.into_iter().filter(|s| !s.is_empty()).collect();
        let source = if source.is_empty() { String::new() } else { format!(" ({})", source.join(", ")) };
        text.push_str(&format!(
            "- {title}: stated {}{source}; {}.\n",
            row.claim.text,
            found(report, model, row, facts, carried)
        ));
    }
}

fn found(
    report: &Report,
    model: &ModelReport,
    row: &ClaimRow,
    facts: &[Fact],
    carried: &mut Vec<Carried>,
) -> String {
    let stated = facts.iter().filter(|f| {
        matches!(f.sort, Sort::Claimed | Sort::Count)
            && f.key == row.claim.key
            && f.condition == row.claim.condition
    });
    carried.extend(stated.map(carry).filter(|c| !c.fact.ends_with("/beyond")));
    let verdict = row.verdict.words();
    let tests = match row.tests.len() {
        1 => "one test".to_string(),
        n => format!("{n} tests"),
    };
    if let Some(c) = &row.counted {
        return format!("{} of {} trials beyond it ({tests}); {verdict}", c.k, c.n);
    }
    let measured = facts
        .iter()
        .find(|f| f.sort == Sort::Measured && f.key == row.claim.key && f.condition == row.condition);
    let Some(f) = measured.filter(|_| row.measured.is_some()) else {
        return match row.verdict {
            Verdict::NotTested => "not tested".into(),
            _ if row.why.is_empty() => verdict.into(),
            _ => format!("{verdict}: {}", row.why.split("; ").next().unwrap_or_default()),
        };
    };
    let again = carry(f);
    if !carried.contains(&again) {
        carried.push(again);
    }
    let mut under = Vec::new();
    if row.condition != row.claim.condition {
        under.push(condition_words(&row.condition));
    }
    under.extend(firmware(report, model, row));
    under.push(tests);
    let p = row.p.map_or_else(String::new, |p| format!(" ({})", probability(p)));
    format!("measured {} ({}); {verdict}{p}", f.rounded, under.join("; "))
}

/// The firmware it was measured on, where the sample has had several.
fn firmware(report: &Report, model: &ModelReport, row: &ClaimRow) -> Option<String> {
    let several = report.notebook.specimens.iter().any(|s| s.model == model.id && s.firmware.len() > 1);
    let on = model.current(&row.claim.key).find(|r| r.condition == row.condition && !r.firmware.is_empty());
    on.filter(|_| several).map(|r| format!("firmware {}", r.firmware))
}

/// What else was measured.
fn others(
    report: &Report,
    model: &ModelReport,
    facts: &[Fact],
    text: &mut String,
    carried: &mut Vec<Carried>,
) {
    let claimed = |f: &&Fact| {
        model
            .claims
            .iter()
            .any(|c| c.measured.is_some() && c.claim.key == f.key && c.condition == f.condition)
    };
    let mut rest: Vec<&Fact> = facts
        .iter()
        .filter(|f| f.sort == Sort::Measured && f.key != "usable-share")
        .filter(|f| !claimed(f))
        .collect();
    // In the order of the handbook.
    let place = |f: &&Fact| report.kinds.iter().position(|k| k.results.iter().any(|r| r.key == f.key));
    rest.sort_by_key(place);
    if rest.is_empty() {
        return;
    }
    text.push_str("\nAlso measured, without a figure of yours to put beside it:\n");
    for f in rest {
        text.push_str(&format!("- {}: {}\n", f.title, f.rounded));
        carried.push(carry(f));
    }
}

/// The kinds of test behind it.
fn method(report: &Report, model: &ModelReport) -> String {
    let made = |id: &str| {
        report.notebook.tests.iter().any(|t| {
            t.kind == id
                && crate::repeat::counts(t)
                && report.notebook.model_of(&t.specimen).is_some_and(|m| m.id == model.id)
        })
    };
    let titles: Vec<&str> = report.kinds.iter().filter(|k| made(k.id)).map(|k| k.title).collect();
    match titles.is_empty() {
        true => String::new(),
        false => {
            format!("Kinds of test: {}. Their methods stand in the published handbook.\n", titles.join("; "))
        }
    }
}

/// How a letter stands on a day, in one sentence for the page; empty for a draft.
pub fn standing(letter: &Letter, as_of: &str) -> String {
    if letter.sent.is_empty() {
        return String::new();
    }
    let mut text = format!("Asked on {}", day_words(&letter.sent));
    if !letter.answer_by.is_empty() {
        text.push_str(&format!(", answer by {}", day_words(&letter.answer_by)));
    }
    let late = overdue(letter, as_of);
    match (letter.answered.as_str(), late) {
        ("", true) => text.push_str("; no answer."),
        ("", false) => text.push_str("; no answer yet."),
        (day, _) => text.push_str(&format!("; answered {}.", day_words(day))),
    }
    text.push_str(reply_words(letter.reply));
    text
}

/// What the answer came to, with a blank before it.
fn reply_words(reply: Reply) -> &'static str {
    match reply {
        Reply::Open => "",
        Reply::Accepted => " The maker has no objection to the figures.",
        Reply::Disputed => " The maker objects; it has not been tested again yet.",
        Reply::Stands => " The maker objected; tested again, the figures stand.",
        Reply::Corrected => " The maker objected; the figures were corrected.",
    }
}

/// Sent, not answered, and the day has passed.
pub fn overdue(letter: &Letter, as_of: &str) -> bool {
    let past = days_between(&letter.answer_by, as_of).is_some_and(|d| d > 0);
    !letter.sent.is_empty() && letter.answered.is_empty() && past
}

/// Facts of a sent letter whose number is another today: what it speaks of, as sent, and as it is now (empty when there is
/// none). An interval that grew or shrank by itself changes nothing that was said.
pub fn changed_since(report: &Report, letter: &Letter) -> Vec<(String, String, String)> {
    let Some(model) = report.models.iter().find(|m| m.id == letter.model) else { return Vec::new() };
    let now = facts::of_model(report, model);
    let number = |text: &str| text.split(" ± ").next().unwrap_or_default().to_string();
    let of = |c: &Carried| {
        let fact = now.iter().find(|f| f.id == c.fact);
        let same = fact.is_some_and(|f| number(&f.rounded) == number(&c.rounded));
        let title = fact.map_or_else(|| c.fact.clone(), |f| f.title.clone());
        (!same).then(|| (title, c.rounded.clone(), fact.map_or_else(String::new, |f| f.rounded.clone())))
    };
    letter.facts.iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn letter(sent: &str, by: &str, answered: &str) -> Letter {
        Letter { sent: sent.into(), answer_by: by.into(), answered: answered.into(), ..Letter::default() }
    }

    #[test]
    fn a_letter_says_how_it_stands() {
        assert_eq!(standing(&letter("", "", ""), "2026-06-30"), "");
        let open = letter("2026-05-12", "2026-05-26", "");
        assert_eq!(
            standing(&open, "2026-05-26"),
            "Asked on 12 May 2026, answer by 26 May 2026; no answer yet."
        );
        assert_eq!(standing(&open, "2026-05-27"), "Asked on 12 May 2026, answer by 26 May 2026; no answer.");
        let mut done = letter("2026-05-12", "2026-05-26", "2026-05-20");
        done.reply = Reply::Disputed;
        assert_eq!(
            standing(&done, "2026-06-30"),
            "Asked on 12 May 2026, answer by 26 May 2026; answered 20 May 2026. The maker objects; it has not been tested again yet."
        );
        assert!(
            overdue(&open, "2026-05-27") && !overdue(&open, "2026-05-26") && !overdue(&done, "2027-01-01")
        );
    }
}
