//! Superlatives and comparisons against the ranks: "the lightest", "more than the other", "twice as long".
//!
//! A superlative needs the whole range of ranks at that end of the column; a comparison a difference outside its 95 %
//! interval, shared influences cancelling; a multiple the ratio within 5 % (10 % with "about", one-sided with "nearly" or
//! "more than").
use super::hedge::{Hedge, hedge_before};
use super::judge::Desk;
use super::lexicon::Sense;
use super::order::{Standing, key_of, standing_without, value};
use super::ranking::{self, BEYOND, IDIOM, THANS, TOPS, Way, by_adjective};
use super::scene::{Scene, sort_of};
use super::unit::What;
use super::versus::{comparative, equals, than_of};
use super::{Judgement, Line, alone};

/// Every superlative and comparison of a sentence.
pub fn superlatives(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    if scene.asks {
        return;
    }
    for i in 0..scene.tokens.len() {
        let word = scene.word(i);
        let few =
            matches!(word, "most" | "more" | "less" | "least" | "worse" | "beats" | "beat" | "outperforms");
        let odd = matches!(word, "as" | "so" | "only" | "second" | "but")
            || word.starts_with("unbeat")
            || word.starts_with("outlast");
        let times = matches!(word, "twice" | "double" | "triple" | "half")
            || scene.amounts.iter().zip(&*done).any(|(a, done)| a.at == i && !done);
        let verb = ranking::verb(scene, i);
        if !(verb.is_some() || word.ends_with("st") || word.ends_with("er") || few || odd || times) {
            continue;
        }
        let line = if matches!(word, "as" | "so") {
            equals(desk, scene, i)
        } else if let Some(top) = TOPS.iter().find(|t| t.0 == word) {
            superlative(desk, scene, i, *top)
        } else if let Some((_, fixed, way)) = THANS.iter().find(|t| t.0 == word) {
            match than_of(scene, i, word) {
                _ if alone::belongs_to_only(scene, i) => None,
                Some(than) if matches!(scene.word(than + 1), "that" | "this" | "it" | "") => {
                    let none = alone::none_ahead(desk, scene, i, fixed, *way);
                    none.or_else(|| comparative(desk, scene, i, than, (*fixed, *way), done))
                }
                Some(_) if let Some(line) = alone::only_than(desk, scene, i) => Some(line),
                Some(than) => comparative(desk, scene, i, than, (*fixed, *way), done),
                None if of_the_pair(desk, scene, i) => {
                    comparative(desk, scene, i, scene.tokens.len(), (*fixed, *way), done)
                }
                None => alone::none_ahead(desk, scene, i, fixed, *way),
            }
        } else if let Some((fixed, way, than)) = verb {
            comparative(desk, scene, i, than, (fixed, way), done)
        } else if matches!(word, "only" | "but") {
            only(desk, scene, i).or_else(|| alone::only_but(desk, scene, i))
        } else if word == "second" {
            alone::runner_up(desk, scene, i)
        } else {
            multiple(desk, scene, i)
        };
        desk.lines.extend(line);
    }
}

/// "So the Granary is the cheaper one": of the two models spoken of together.
fn of_the_pair(desk: &Desk, scene: &Scene, i: usize) -> bool {
    let subject = subject(desk, scene, i).and_then(|m| desk.past.partner(m));
    let next = scene.word(i + 1);
    let ends = scene.tokens.get(i + 1).is_none_or(|t| t.after.is_some());
    let one = ends || matches!(next, "one" | "of" | "station" | "box" | "machine" | "unit" | "per" | "at");
    subject.is_some() && i > 0 && scene.word(i - 1) == "the" && one
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
    let before = scene.mentions.iter().rev().find(|m| m.to <= i && !m.foil);
    let before = before.or_else(|| scene.mentions.iter().rev().find(|m| m.to <= i && desk.models.is_empty()));
    let than = (i..scene.tokens.len()).find(|&k| scene.word(k) == "than").unwrap_or(usize::MAX);
    let it = scene.goes_on_with_it(i) && !desk.models.is_empty();
    let behind = || {
        let named = |m: &&super::who::Mention| m.at >= i && m.at < than && !m.foil;
        scene.mentions.iter().find(|m| named(m) && (!it || scene.named_after_all(m)))
    };
    match before.or_else(behind) {
        Some(m) => m.models.first().copied().filter(|_| m.models.len() == 1),
        None => desk.models.first().copied().filter(|_| desk.models.len() == 1),
    }
}

/// "it", where the only model named is the one it is compared with: the one spoken of before.
pub fn other_than(desk: &Desk, rival: usize) -> Option<usize> {
    desk.models.first().copied().filter(|m| *m != rival).or(desk.before).filter(|m| *m != rival)
}

/// Does a superlative at token `i` rank what it stands with: by its article, by "of the four", by what it is?
fn ranks_all(scene: &Scene, i: usize, fixed: &str) -> bool {
    let (word, next) = (scene.word(i), scene.word(i + 1));
    let before = i.checked_sub(1).map_or("", |k| scene.word(k));
    let article = before.ends_with("'s")
        || matches!(before, "the" | "our" | "its" | "is" | "my" | "clear" | "overall")
        || matches!(word, "unbeatable" | "unbeaten")
        || (before.is_empty() && (next == "of" || stands_for_station(next)))
        || (matches!(fixed, "" | "time") && verb_before(scene, i) && !scene.mentions.is_empty())
        || (scene.starts_clause(i) && !scene.mentions.is_empty() && topic_behind(scene, i))
        || (ranking::of_all(scene, i) && !scene.mentions.is_empty())
        || (!matches!(fixed, "" | "time") && !scene.mentions.is_empty());
    let second = i >= 2 && scene.word(i - 2) == "the" && word == "winner";
    (article || second) && !matches!(before, "a" | "an" | "second" | "third" | "fourth" | "next")
}

/// "Quietest thing in the shed": the one spoken of before.
fn stands_for_station(word: &str) -> bool {
    matches!(word, "thing" | "one" | "box" | "station" | "unit" | "machine")
}

/// "Charges fastest", "weighs least": a word for the result stands directly before.
fn verb_before(scene: &Scene, i: usize) -> bool {
    let topic = |c: &super::lexicon::Cue| c.to == i && matches!(c.sense, Sense::Topic(..));
    scene.cues.iter().any(topic) && i > 0 && scene.word(i - 1).ends_with('s')
}

fn superlative(desk: &Desk, scene: &Scene, i: usize, (word, fixed, way): (&str, &str, Way)) -> Option<Line> {
    let next = scene.word(i + 1);
    let told = by_adjective(word, next).filter(|_| word == "least" || next != "time");
    let (fixed, way) = told.unwrap_or((fixed, way));
    let article = ranks_all(scene, i, fixed);
    if of_something_else(scene, i) || of_its_own(scene, i) || of_no_result(scene, i) {
        return None;
    }
    let one_of = i >= 3 && scene.word(i - 3) == "one" && scene.word(i - 2) == "of";
    let says_what = !matches!(fixed, "" | "time");
    if told.is_none() && !says_what && IDIOM.contains(&next) && !(next == "of" && word != "most")
        || !article
        || one_of
    {
        return None;
    }
    let key = key_of(scene, i, fixed);
    let topical = key.is_some() || !scene.mentions.is_empty();
    let station = scene.says(&["station", "stations", "tested", "bench", "bunch", "unit", "units"]);
    let station = station || (i == 0 && stands_for_station(next) && !desk.models.is_empty());
    let bench = !scene.mentions.is_empty() || (scene.of_station() && topical) || station;
    if !bench || (matches!(way, Way::Up | Way::Down)) && key.is_none() {
        return None;
    }
    let says = |judgement, record, hint: String| {
        Some(line(scene, i.saturating_sub(1), i + 3, judgement, record, hint))
    };
    if reaches_beyond(scene) {
        return says(
            Judgement::Unsupported,
            None,
            "the bench knows only what was tested on it; say \"of those tested here\"".into(),
        );
    }
    // "Last year's winner" may be anything.
    let subject = subject(desk, scene, i);
    if subject.is_none() && scene.mentions.is_empty() && !station {
        return None;
    }
    let Some(model) = subject else {
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
    let standing = standing_without(desk.book, scene, key, model, way, &scene.left_out());
    // Among some of them, or among its own trials, it may be first without being first of all.
    let among =
        |s: &Standing| ranking::of_fewer(scene, i, s.of()).or(ranking::of_some(scene, i).then_some(2));
    let fewer = |s: &Standing| !s.first() && among(s).is_some_and(|n| s.leads(n));
    if standing.as_ref().is_some_and(fewer) || (key == "switchover" && own_trial(desk, scene, model)) {
        return None;
    }
    match standing {
        Some(s) if s.first() != scene.negated(i) => says(Judgement::Agrees, Some(s.words()), String::new()),
        Some(s) => {
            let hint = format!("the bench has it at {}{}", s.words(), s.tied_words());
            says(Judgement::Unsupported, Some(s.words()), hint)
        }
        None => says(Judgement::Unsupported, None, "nothing was measured that would rank this".into()),
    }
}

/// "The highest honour this house can give": of a thing that no result tells.
fn of_no_result(scene: &Scene, i: usize) -> bool {
    let next = scene.word(i + 1);
    let small = matches!(next, "of" | "in" | "here" | "on" | "one" | "among" | "for" | "");
    matches!(scene.word(i), "highest" | "lowest")
        && !small
        && !topic_behind(scene, i)
        && scene.mentions.is_empty()
}

/// "1,401 is the most it held": its own most. "The least left when it quits": of what a display shows nothing is ranked.
fn of_its_own(scene: &Scene, i: usize) -> bool {
    let they = |k: usize| matches!(scene.word(k), "it" | "i" | "we");
    let big = matches!(scene.word(i), "biggest" | "largest" | "highest" | "heaviest") && they(i + 2);
    let most = matches!(scene.word(i), "most" | "least" | "best" | "worst") || big;
    let own = matches!(scene.word(i + 1), "it" | "i" | "we" | "you" | "they" | "i've" | "we've");
    let own = own || big;
    (most && own) || scene.amounts.iter().any(|a| scene.shown_at_end(a))
}

/// "The cheapest station I ever bought" is one of his own; of "the biggest inverter" no result tells.
fn of_something_else(scene: &Scene, i: usize) -> bool {
    let own = (i + 1..i + 5).any(|k| matches!(scene.word(k), "i" | "i've" | "we've" | "he" | "she"));
    let part = ["inverter", "fan", "screen", "display", "handle", "cable", "carton"];
    // "The lightest I have on the bench", "the fastest switchover I have recorded"
    let tested = scene.says(&["recorded", "measured", "tested", "timed", "weighed", "bench", "here"]);
    part.contains(&scene.word(i + 1)) || (own && !tested && scene.mentions.is_empty())
}

/// "The best on the market": more than was tested; "the cheapest to buy" is not.
pub fn reaches_beyond(scene: &Scene) -> bool {
    let beyond = |k: usize| {
        let for_sale = scene.word(k) == "buy" && k > 0 && scene.word(k - 1) == "to";
        BEYOND.contains(&scene.word(k)) && !for_sale
    };
    (0..scene.tokens.len()).any(beyond) && !scene.says(&["tested", "bench", "here"])
}

/// "Lowest price per usable Wh: Hob": what is ranked follows directly.
fn topic_behind(scene: &Scene, i: usize) -> bool {
    let ranks = |keys: &[&'static str]| super::order::ranked_of(keys).is_some();
    let topic = |c: &super::lexicon::Cue| matches!(c.sense, Sense::Topic(keys, _) if ranks(keys));
    scene.cues.iter().any(|c| c.at > i && c.at <= i + 3 && topic(c))
}

/// "The slowest of its switchovers took 18.3 milliseconds": a single trial of the model.
fn own_trial(desk: &Desk, scene: &Scene, model: usize) -> bool {
    let marks = || desk.book.marks[model].iter().filter(|k| k.key == "switchover");
    let is = |a: &super::amount::Amount, k: &super::book::Mark| (k.x - a.x).abs() <= 0.5 * a.step;
    scene.amounts.iter().filter(|a| sort_of(&a.what) == super::lexicon::Takes::Time).any(|a| {
        marks().any(|k| k.whose == super::book::Whose::Test && is(a, k))
            && !marks().any(|k| k.whose == super::book::Whose::Bench && is(a, k))
    })
}

pub fn ranked(scene: &Scene, i: usize, standing: Option<Standing>) -> Line {
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

/// "twice as much as", "half of what", "three times as long as".
fn multiple(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let next = scene.word(i + 1);
    let (factor, to) = match scene.word(i) {
        "twice" | "double" => (2.0, i + 1),
        "triple" => (3.0, i + 1),
        "half" if scene.tokens.get(i + 1).is_none_or(|t| t.after.is_some()) => return None,
        "half" if matches!(next, "as" | "of" | "what" | "the") => (0.5, i + 1),
        _ => {
            let of_other = |a: &super::amount::Amount| {
                let named = scene.mentions.iter().any(|m| !m.maker && m.at > a.to && m.at <= a.to + 5);
                let charge =
                    matches!(scene.word(a.to + 2), "charge" | "capacity") || scene.word(a.to + 1) == "charge";
                a.what == What::Dim(crate::quantity::Dim::Ratio)
                    && scene.word(a.to) == "of"
                    && named
                    && !charge
            };
            let factor = |a: &&super::amount::Amount| a.at == i && (a.what == What::Factor || of_other(a));
            let a = scene.amounts.iter().find(factor)?;
            (a.x, a.to)
        }
    };
    // "Twice as much out of the Lantern as out of the Cairn": the other stands behind the second "as".
    let second = (to + 1..scene.tokens.len()).find(|&k| scene.word(k) == "as" && scene.word(to) == "as");
    let behind = |k: usize| scene.mentions.iter().find(|m| m.at >= k);
    let rival = second.and_then(behind).or_else(|| behind(to))?.models.first().copied()?;
    let inside = || scene.mentions.iter().find(|m| m.at >= to && !m.models.contains(&rival));
    let inside = || inside().and_then(|m| m.models.first().copied());
    let model = subject(desk, scene, i).filter(|m| *m != rival);
    let model = model.or_else(inside).or_else(|| other_than(desk, rival))?;
    let long = (to..to + 3).any(|k| matches!(scene.word(k), "long" | "longer"));
    let key = match long {
        true => key_of(scene, i, "time").unwrap_or("runtime"),
        false => key_of(scene, i, "").or_else(|| desk.ranked_before())?,
    };
    let says = |judgement, record, hint: String| Some(line(scene, i, to + 3, judgement, record, hint));
    // Where the usual condition was not tested of both, each has its own.
    let own = |m: usize| {
        let mark = desk.book.marks[m].iter().find(|k| k.key == key && k.is_bench()).map(|k| k.measured());
        value(desk.book, scene, key, m).or(mark)
    };
    let Some((x, y)) = own(model).zip(own(rival)) else {
        let hint = "nothing was measured of both that would bear this";
        return says(Judgement::Unsupported, None, hint.into());
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
    // "2.6 times what the Cairn gives" is a number; "twice as much" a comparison.
    let number = scene
        .amounts
        .iter()
        .any(|a| a.at == i && (a.x.fract() != 0.0 || a.x > 3.0 || scene.tokens[i].is_figure()));
    let judgement = match (fits, number) {
        (true, _) => Judgement::Agrees,
        (_, true) => Judgement::Differs,
        _ => Judgement::Unsupported,
    };
    let hint = if fits { String::new() } else { format!("it is {ratio:.2} times: {record}") };
    says(judgement, Some(record), hint)
}

/// "the only one that kept its claim": every rival's verdict must speak against it.
fn only(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let the = i > 0
        && scene.word(i) == "only"
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
