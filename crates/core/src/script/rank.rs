//! Superlatives and comparisons against the ranks: "the lightest", "more than the other", "twice as long".
//!
//! A superlative needs the whole range of ranks at that end of the column; a comparison a difference outside its 95 %
//! interval, shared influences cancelling; a multiple the ratio within 5 % (10 % with "about", one-sided with "nearly" or
//! "more than").
use super::hedge::{Hedge, hedge_before};
use super::judge::Desk;
use super::lexicon::Sense;
use super::order::{Standing, key_of, standing, value};
use super::ranking::{BEYOND, IDIOM, THANS, TOPS, Way, by_adjective};
use super::scene::{Scene, sort_of};
use super::unit::What;
use super::{Judgement, Line, compare};
use crate::measurand::Better;
use crate::rank::tied;
use crate::uncertain::Value;

/// Every superlative and comparison of a sentence.
pub fn superlatives(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    if scene.asks {
        return;
    }
    for i in 0..scene.tokens.len() {
        let word = scene.word(i);
        let few =
            matches!(word, "most" | "more" | "less" | "least" | "worse" | "beats" | "beat" | "outperforms");
        let odd = word.starts_with("unbeat") || word.starts_with("outlast") || word == "only";
        let times =
            matches!(word, "twice" | "double" | "triple" | "half") || scene.amounts.iter().any(|a| a.at == i);
        if !(word.ends_with("st") || word.ends_with("er") || few || odd || times) {
            continue;
        }
        let line = if let Some(top) = TOPS.iter().find(|t| t.0 == word) {
            superlative(desk, scene, i, *top)
        } else if let Some(than) = THANS.iter().find(|t| t.0 == word) {
            comparative(desk, scene, i, *than, done)
        } else if word == "only" {
            only(desk, scene, i)
        } else {
            multiple(desk, scene, i)
        };
        desk.lines.extend(line);
    }
}

pub fn line(
    scene: &Scene,
    from: usize,
    to: usize,
    judgement: Judgement,
    record: Option<String>,
    hint: String,
) -> Line {
    let says = scene.text(from, to.min(scene.tokens.len()));
    Line { line: scene.tokens[from].line, says, fact: None, record, judgement, hint }
}

/// The model a statement at token `i` is about: named before it, else behind it, else the one before.
pub fn subject(desk: &Desk, scene: &Scene, i: usize) -> Option<usize> {
    let before = scene.mentions.iter().rev().find(|m| m.to <= i);
    let than = (i..scene.tokens.len()).find(|&k| scene.word(k) == "than").unwrap_or(usize::MAX);
    let behind = || scene.mentions.iter().find(|m| m.at >= i && m.at < than);
    match before.or_else(behind) {
        Some(m) => m.models.first().copied().filter(|_| m.models.len() == 1),
        None => desk.models.first().copied().filter(|_| desk.models.len() == 1),
    }
}

/// "it", where the only model named is the one it is compared with: the one spoken of before.
pub fn other_than(desk: &Desk, rival: usize) -> Option<usize> {
    desk.models.first().copied().filter(|m| *m != rival).or(desk.before).filter(|m| *m != rival)
}

fn superlative(desk: &Desk, scene: &Scene, i: usize, (word, fixed, way): (&str, &str, Way)) -> Option<Line> {
    let next = scene.word(i + 1);
    let before = i.checked_sub(1).map_or("", |k| scene.word(k));
    let told = by_adjective(word, next).filter(|_| word == "least" || next != "time");
    let (fixed, way) = told.unwrap_or((fixed, way));
    let article = matches!(before, "the" | "our" | "its" | "is" | "my" | "clear" | "overall")
        || matches!(word, "unbeatable" | "unbeaten")
        || (before.is_empty() && next == "of");
    let one_of = i >= 3 && scene.word(i - 3) == "one" && scene.word(i - 2) == "of";
    if told.is_none() && IDIOM.contains(&next) && !(next == "of" && word != "most") || !article || one_of {
        return None;
    }
    let key = key_of(scene, i, fixed);
    let topical = key.is_some() || !scene.mentions.is_empty();
    let bench = !scene.mentions.is_empty()
        || (scene.of_station() && topical)
        || scene.says(&["station", "stations", "tested", "bench", "bunch", "unit", "units"]);
    if !bench || (matches!(way, Way::Up | Way::Down)) && key.is_none() {
        return None;
    }
    let says = |judgement, record, hint: String| {
        Some(line(scene, i.saturating_sub(1), i + 3, judgement, record, hint))
    };
    if BEYOND.iter().any(|w| scene.says(&[w])) && !scene.says(&["tested", "bench", "here"]) {
        return says(
            Judgement::Unsupported,
            None,
            "the bench knows only what was tested on it; say \"of those tested here\"".into(),
        );
    }
    let Some(model) = subject(desk, scene, i) else {
        return says(
            Judgement::Unsupported,
            None,
            "name the model, so that its rank can be looked up".into(),
        );
    };
    let Some(key) = key else {
        return says(
            Judgement::Unsupported,
            None,
            "say best at what: the bench ranks results, not stations".into(),
        );
    };
    match standing(desk.book, scene, key, model, way) {
        Some(s) if s.first() != scene.negated(i) => says(Judgement::Agrees, Some(s.words()), String::new()),
        Some(s) => {
            let hint = format!("the bench has it at {}{}", s.words(), s.tied_words());
            says(Judgement::Unsupported, Some(s.words()), hint)
        }
        None => says(Judgement::Unsupported, None, "nothing was measured that would rank this".into()),
    }
}

/// A comparison with another model, or with all others.
fn comparative(
    desk: &Desk,
    scene: &Scene,
    i: usize,
    (word, fixed, way): (&str, &str, Way),
    done: &mut [bool],
) -> Option<Line> {
    let than = than_of(scene, i, word)?;
    let key = key_of(scene, i, fixed)?;
    let tail = || (than + 1..(than + 4).min(scene.tokens.len())).map(|k| scene.word(k));
    let everyone =
        tail().any(|w| matches!(w, "any" | "every" | "everything" | "all" | "others" | "anything"));
    let nothing = (0..i).any(|k| names_none(scene, k));
    let other = scene.mentions.iter().find(|m| m.at > than);
    if nothing && let Some(m) = other {
        // "Nothing weighs less than the Fell": the Fell is first in that direction.
        let s = standing(desk.book, scene, key, *m.models.first()?, way);
        return Some(ranked(scene, i, s));
    }
    let model = match other.filter(|_| than < i) {
        // The other was named first: the subject is whoever else is named.
        Some(o) => scene.mentions.iter().find(|m| m.models != o.models)?.models.first().copied()?,
        None => subject(desk, scene, i)?,
    };
    if everyone && other.is_none() {
        return Some(ranked(scene, i, standing(desk.book, scene, key, model, way)));
    }
    let rival = other?.models.first().copied()?;
    let model = if model == rival { other_than(desk, rival)? } else { model };
    let pair = value(desk.book, scene, key, model).zip(value(desk.book, scene, key, rival));
    let to = than.max(i) + 3;
    let says = |judgement, record, hint: String| Some(line(scene, i, to, judgement, record, hint));
    let Some((x, y)) = pair else {
        return says(
            Judgement::Unsupported,
            None,
            "nothing was measured of both that would bear this".into(),
        );
    };
    let up = match way {
        Way::Up => true,
        Way::Down => false,
        Way::Better => better(desk, key) == Better::More,
        Way::Worse => better(desk, key) != Better::More,
    };
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let difference = difference(scene, i, &x, &y, done);
    if tied(&x, &y) && x.has_u() {
        return says(
            Judgement::Unsupported,
            Some(record),
            "the difference is within the error: they cannot be told apart".into(),
        );
    }
    if (x.x > y.x) != up || x.x == y.x {
        let hint = format!("it is the other way round: {record}");
        return says(Judgement::Unsupported, Some(record), hint);
    }
    match difference {
        Some((said, fits)) if !fits => {
            let hint = format!("the difference is another: {record}");
            let a = &scene.amounts[said];
            Some(Line { record: Some(record), ..desk.line(scene, a, Judgement::Differs, None, hint) })
        }
        _ => says(Judgement::Agrees, Some(record), String::new()),
    }
}

/// Where the other side of a comparison begins: at "than", at a verb like "beats", at "compared with".
fn than_of(scene: &Scene, i: usize, word: &str) -> Option<usize> {
    if matches!(word, "beats" | "beat" | "outperforms" | "outlasts" | "outlasted") {
        return Some(i);
    }
    let near = i + 1..(i + 6).min(scene.tokens.len());
    near.into_iter().find(|&k| scene.word(k) == "than").or_else(|| compared(scene))
}

/// "Nothing is lighter than", "no other station"; "no wait, it is lighter" names none.
fn names_none(scene: &Scene, k: usize) -> bool {
    const SPEECH: &[&str] = &["wait", "sorry", "actually", "it", "i", "that's", "really"];
    match scene.word(k) {
        "nothing" | "none" | "nobody" | "neither" => true,
        "no" => !SPEECH.contains(&scene.word(k + 1)),
        _ => false,
    }
}

/// "Compared with the Lantern, the Fell is lighter": where the other is named.
fn compared(scene: &Scene) -> Option<usize> {
    (0..scene.tokens.len()).find(|&k| match scene.word(k) {
        "compared" => matches!(scene.word(k + 1), "with" | "to"),
        "against" => scene.mentions.iter().any(|m| m.at > k && m.at <= k + 3),
        "next" => scene.word(k + 1) == "to",
        _ => false,
    })
}

/// "20 watt-hours more than": is the difference, or the share, the one said?
fn difference(scene: &Scene, i: usize, x: &Value, y: &Value, done: &mut [bool]) -> Option<(usize, bool)> {
    // "charges to 80 percent faster" says no difference.
    let end = |at: usize| at.checked_sub(1).is_some_and(|k| scene.word(k) == "to");
    let said = |a: &super::amount::Amount| a.to == i && a.what != What::Bare && !end(a.from);
    // "beats the Hob by six and a half kilos"
    let by = |a: &super::amount::Amount| a.from > i && scene.word(a.from - 1) == "by" && a.what != What::Bare;
    let j = scene.amounts.iter().position(said).or_else(|| scene.amounts.iter().position(by))?;
    let a = &scene.amounts[j];
    let share = (x.x / y.x - 1.0).abs();
    let (v, half) = match a.what {
        What::Dim(crate::quantity::Dim::Ratio) => (share, 0.005),
        What::Factor => (x.x / y.x, 0.05),
        _ if sort_of(&a.what) == super::lexicon::Takes::Other => return None,
        _ => ((x.x - y.x).abs(), x.minus(y).half95() / 2.0),
    };
    done[j] = true;
    Some((j, compare::follows(a, v, half)))
}

fn ranked(scene: &Scene, i: usize, standing: Option<Standing>) -> Line {
    match standing {
        Some(s) if s.first() => line(scene, i, i + 4, Judgement::Agrees, Some(s.words()), String::new()),
        Some(s) => {
            let hint = format!("the bench has it at {}{}", s.words(), s.tied_words());
            line(scene, i, i + 4, Judgement::Unsupported, Some(s.words()), hint)
        }
        None => line(
            scene,
            i,
            i + 4,
            Judgement::Unsupported,
            None,
            "nothing was measured that would rank this".into(),
        ),
    }
}

fn better(desk: &Desk, key: &str) -> Better {
    let of = |c: &crate::kind::Column| (c.result.key == key).then_some(c.result.better);
    desk.book.report.columns.iter().find_map(of).unwrap_or(if key == "runtime" {
        Better::More
    } else {
        Better::Less
    })
}

/// "twice as much as", "half of what", "three times as long as".
fn multiple(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let next = scene.word(i + 1);
    let (factor, to) = match scene.word(i) {
        "twice" | "double" => (2.0, i + 1),
        "triple" => (3.0, i + 1),
        "half" if matches!(next, "as" | "of" | "what" | "the") => (0.5, i + 1),
        _ => {
            let a = scene.amounts.iter().find(|a| a.at == i && a.what == What::Factor)?;
            (a.x, a.to)
        }
    };
    let rival = scene.mentions.iter().find(|m| m.at >= to)?.models.first().copied()?;
    let model = subject(desk, scene, i).filter(|m| *m != rival).or_else(|| other_than(desk, rival))?;
    let long = (to..to + 3).any(|k| matches!(scene.word(k), "long" | "longer"));
    let key = if long { "runtime" } else { key_of(scene, i, "")? };
    let says = |judgement, record, hint: String| Some(line(scene, i, to + 3, judgement, record, hint));
    let Some((x, y)) = value(desk.book, scene, key, model).zip(value(desk.book, scene, key, rival)) else {
        return says(
            Judgement::Unsupported,
            None,
            "nothing was measured of both that would bear this".into(),
        );
    };
    let ratio = x.x / y.x;
    let fits = match hedge_before(&scene.tokens, i).0 {
        Hedge::Plain | Hedge::Exact => (ratio / factor - 1.0).abs() <= 0.05,
        Hedge::About => (ratio / factor - 1.0).abs() <= 0.10,
        Hedge::JustUnder => ratio <= factor && ratio >= 0.85 * factor,
        Hedge::JustOver | Hedge::AndSome | Hedge::Over | Hedge::WellOver => {
            ratio >= factor && ratio <= 1.5 * factor
        }
        Hedge::Under | Hedge::WellUnder => ratio <= factor && ratio >= 0.5 * factor,
    };
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let judgement = if fits { Judgement::Agrees } else { Judgement::Unsupported };
    let hint = if fits { String::new() } else { format!("it is {ratio:.2} times: {record}") };
    says(judgement, Some(record), hint)
}

/// "the only one that kept its claim": every rival's verdict must speak against it.
fn only(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let the = i > 0
        && scene.word(i - 1) == "the"
        && matches!(scene.word(i + 1), "one" | "station" | "unit" | "model");
    let kept =
        scene.says(&["kept", "keeps", "met", "meets", "held", "holds", "passed", "passes", "beat", "beats"]);
    let claim = scene.cues.iter().any(|c| c.sense == Sense::Claim);
    if !the || !kept || !claim || scene.asks {
        return None;
    }
    let model = subject(desk, scene, i)?;
    let keys = scene.cues.iter().find_map(|c| match c.sense {
        Sense::Topic(keys, super::lexicon::Firm::Strong) => Some(keys),
        _ => None,
    })?;
    let verdicts =
        |m: usize| desk.book.report.models[m].claims.iter().filter(|c| keys.contains(&c.claim.key.as_str()));
    let met = |m: usize| verdicts(m).any(|c| c.verdict == crate::judge::Verdict::Met);
    let failed = |m: usize| verdicts(m).all(|c| c.verdict.against());
    let rivals = (0..desk.book.report.models.len()).filter(|r| *r != model);
    let right = met(model) && rivals.clone().all(failed);
    let words = verdicts(model).next().map(|c| format!("claim {}", c.verdict.words()));
    let hint = if right {
        String::new()
    } else {
        "the verdicts do not say so: others kept it, or it did not".into()
    };
    Some(line(scene, i, i + 4, if right { Judgement::Agrees } else { Judgement::Unsupported }, words, hint))
}
