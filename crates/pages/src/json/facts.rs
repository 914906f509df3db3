//! Facts as data for programs, one to a line, so that what changed between two publishings is a few lines.
use serde::Serialize;
use serde_json::{Value as Json, json};
use std::ops::Range;
use trueplate_core::facts::{Fact, Facts};
use trueplate_core::notebook::Condition;

/// One fact as it stands in a file.
#[derive(Serialize)]
struct Line<'a> {
    id: &'a str,
    version: &'a str,
    model: &'a str,
    name: &'a str,
    key: &'a str,
    title: &'a str,
    condition: &'a Condition,
    sort: &'static str,
    value: Amount<'a>,
    seen: Option<&'a str>,
    rounded: &'a str,
    spoken: &'a str,
    wording: &'a str,
    do_not_say: &'a [String],
    tests: &'a [String],
    as_of: &'a str,
    former: Option<&'a str>,
}

#[derive(Serialize)]
struct Amount<'a> {
    value: f64,
    u: Option<f64>,
    unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    currency: Option<&'a str>,
}

fn line(fact: &Fact) -> Line<'_> {
    let (value, u) = fact.number();
    let some = |text: &'_ str| !text.is_empty();
    Line {
        id: &fact.id,
        version: &fact.version,
        model: &fact.model,
        name: &fact.name,
        key: &fact.key,
        title: &fact.title,
        condition: &fact.condition,
        sort: fact.sort.key(),
        value: Amount {
            value,
            u,
            unit: fact.ucum(),
            currency: Some(fact.currency.as_str()).filter(|c| some(c)),
        },
        seen: Some(fact.seen.as_str()).filter(|s| some(s)),
        rounded: &fact.rounded,
        spoken: &fact.spoken,
        wording: &fact.wording,
        do_not_say: &fact.do_not_say,
        tests: &fact.trail,
        as_of: &fact.as_of,
        former: Some(fact.former.as_str()).filter(|f| some(f)),
    }
}

/// One fact. Money has a `currency` (ISO 4217) and the day it was `seen`; its `unit` is null, or what it is paid per.
pub fn fact(fact: &Fact) -> Json {
    json!(line(fact))
}

/// `{"facts": [..], "former": [..]}`: what holds, and what once held with the reason why it no longer does.
pub fn facts(facts: &Facts) -> String {
    join(&[(&lines(&facts.current), &lines(&facts.former))]).0
}

/// Facts as they stand in a file, without what stands around them.
pub fn lines<'a>(facts: impl IntoIterator<Item = &'a Fact>) -> String {
    let texts: Vec<String> = facts.into_iter().filter_map(|f| serde_json::to_string(&line(f)).ok()).collect();
    texts.join(",\n")
}

/// Where in the file some lines stand.
pub type Stretch = Range<usize>;

/// The file from what holds and what once held, piece by piece; and where each piece stands in it.
pub fn join(pieces: &[(&str, &str)]) -> (String, Vec<(Stretch, Stretch)>) {
    let mut out =
        String::with_capacity(pieces.iter().map(|(a, b)| a.len() + b.len() + 4).sum::<usize>() + 40);
    let put = |out: &mut String, texts: &mut dyn Iterator<Item = &str>| -> Vec<Stretch> {
        let mut first = true;
        let mut one = |text: &str| {
            if !text.is_empty() {
                out.push_str(if std::mem::take(&mut first) { "\n" } else { ",\n" });
            }
            let begin = out.len();
            out.push_str(text);
            begin..out.len()
        };
        texts.map(&mut one).collect()
    };
    out.push_str("{\"facts\": [");
    let current = put(&mut out, &mut pieces.iter().map(|p| p.0));
    out.push_str("],\n\"former\": [");
    let former = put(&mut out, &mut pieces.iter().map(|p| p.1));
    out.push_str("]}\n");
    (out, current.into_iter().zip(former).collect())
}
