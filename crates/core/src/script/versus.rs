//! Two models compared: "heavier than the Fell", "beats the Hob", "as light as the Cairn", "the lighter of the two".
use super::amount::Amount;
use super::compare;
use super::judge::Desk;
use super::lexicon::Takes;
use super::order::{key_of, standing, value};
use super::rank::{line, other_than, ranked, subject};
use super::ranking::{Way, by_adjective};
use super::scene::{Scene, sort_of};
use super::unit::What;
use super::{Judgement, Line};
use crate::measurand::Better;
use crate::quantity::Dim;
use crate::rank::tied;
use crate::uncertain::Value;

/// A comparison with another model, or with all others.
pub fn comparative(
    desk: &Desk,
    scene: &Scene,
    i: usize,
    than: usize,
    (fixed, way): (&str, Way),
    done: &mut [bool],
) -> Option<Line> {
    let (fixed, way) = by_adjective(scene.word(i), scene.word(i + 1)).unwrap_or((fixed, way));
    let nothing = (0..i).any(|k| names_none(scene, k)) || finds_none(scene, i);
    let key = match by_difference(scene, i).or_else(|| key_of(scene, i, fixed)) {
        Some(key) => key,
        None => return nothing.then(|| best_at_what(scene, i)).flatten(),
    };
    let tail = || (than + 1..(than + 4).min(scene.tokens.len())).map(|k| scene.word(k));
    let everyone =
        tail().any(|w| matches!(w, "any" | "every" | "everything" | "all" | "others" | "anything"));
    let other = scene.mentions.iter().find(|m| m.at > than);
    if nothing && let Some(m) = other {
        // "Nothing weighs less than the Fell": the Fell is first in that direction.
        let s = standing(desk.book, scene, key, *m.models.first()?, way);
        return Some(ranked(scene, i, s));
    }
    let model = match other.filter(|_| than < i) {
        // The other was named first: the subject is whoever else is named.
        Some(o) => scene.mentions.iter().find(|m| m.models != o.models)?.models.first().copied()?,
        None => {
            let up = way.up(better(desk, key) == Better::More);
            let joint = || other.and_then(|o| least_of_joint(desk, scene, (i, key), *o.models.first()?, up));
            subject(desk, scene, i).or_else(joint)?
        }
    };
    if everyone && other.is_none() {
        return Some(ranked(scene, i, standing(desk.book, scene, key, model, way)));
    }
    let rival = match other {
        Some(o) => o.models.first().copied()?,
        None => rival_beside(scene, model)
            .or_else(|| desk.past.partner(model).filter(|_| than >= scene.tokens.len()))?,
    };
    let model = if model == rival { other_than(desk, rival)? } else { model };
    let pair = value(desk.book, scene, key, model).zip(value(desk.book, scene, key, rival));
    let to = than.max(i) + 3;
    let says = |judgement, record, hint: String| Some(line(scene, i, to, judgement, record, hint));
    let Some((x, y)) = pair else {
        let hint = "nothing was measured of both that would bear this";
        return says(Judgement::Unsupported, None, hint.into());
    };
    let up = way.up(better(desk, key) == Better::More);
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let difference = difference(scene, i, &x, &y, done);
    if tied(&x, &y) && x.has_u() {
        let hint = "the difference is within the error: they cannot be told apart";
        return says(Judgement::Unsupported, Some(record), hint.into());
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

/// "Both the Hob and the Lantern are lighter than the Fell": the one it holds least for.
fn least_of_joint(
    desk: &Desk,
    scene: &Scene,
    (i, key): (usize, &str),
    rival: usize,
    up: bool,
) -> Option<usize> {
    let joint = scene.mentions.iter().rev().find(|m| m.to <= i && m.models.len() > 1)?;
    let rival = value(desk.book, scene, key, rival)?;
    let far = |m: &usize| {
        let x = value(desk.book, scene, key, *m).map_or(f64::NEG_INFINITY, |v| v.x - rival.x);
        if up { x } else { -x }
    };
    joint.models.iter().min_by(|m, n| far(m).total_cmp(&far(n))).copied()
}

/// "With 9.4 ms faster than": whose it is, and no difference.
fn told_with(scene: &Scene, a: &Amount) -> bool {
    a.from.checked_sub(1).is_some_and(|k| matches!(scene.word(k), "with" | "at" | "having"))
}

/// Two times of some milliseconds: what is compared is how fast they switch.
fn short_times(scene: &Scene) -> bool {
    let short = |a: &&Amount| sort_of(&a.what) == Takes::Time && a.factor < 1e-6;
    scene.amounts.iter().filter(short).count() > 1
}

/// "Undercuts the Hob by 800 grams": the unit of the difference says in what.
fn by_difference(scene: &Scene, i: usize) -> Option<&'static str> {
    if short_times(scene) {
        return Some("switchover");
    }
    let by =
        |a: &&Amount| (a.to == i && !told_with(scene, a)) || (a.from > i && scene.word(a.from - 1) == "by");
    let sort = sort_of(&scene.amounts.iter().find(by)?.what);
    match sort {
        Takes::Mass => Some("mass"),
        Takes::Money => Some("price"),
        Takes::Level => Some("noise"),
        Takes::Energy | Takes::Power | Takes::Time => {
            // Of what is spoken of, the nearest that can differ by so much of this sort.
            let ranked = |c: &super::lexicon::Cue| match c.sense {
                super::lexicon::Sense::Topic(keys, _) => {
                    let fits = |k: &&&'static str| super::lexicon::takes(k) == sort;
                    super::order::ranked_of(&keys.iter().filter(fits).copied().collect::<Vec<_>>())
                }
                _ => None,
            };
            let near = |c: &&super::lexicon::Cue| c.at.abs_diff(i);
            let found = scene.cues.iter().filter(|c| ranked(c).is_some()).min_by_key(near).and_then(ranked);
            let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
            let found = found.map(|k| if fridge && k == "runtime" { "cycling-runtime" } else { k });
            let time = (sort == Takes::Time && fridge).then_some("cycling-runtime");
            found.or((sort == Takes::Energy).then_some("usable-energy")).or(time)
        }
        _ => None,
    }
}

/// Where the other side of a comparison begins: at "than", at a verb like "beats", at "compared with".
pub fn than_of(scene: &Scene, i: usize, word: &str) -> Option<usize> {
    if matches!(word, "beats" | "beat" | "outperforms" | "outlasts" | "outlasted") {
        return Some(i);
    }
    let near = i + 1..(i + 10).min(scene.tokens.len());
    let than = near.into_iter().find(|&k| scene.word(k) == "than").or_else(|| compared(scene));
    than.or_else(|| of_two(scene).then_some(scene.tokens.len()))
}

/// Two models are named, and one of them again or apart: "Between the Hob and the Lantern, the Hob is lighter".
fn of_two(scene: &Scene) -> bool {
    let linked = |w: &str| {
        matches!(w, "between" | "of" | "or" | "versus" | "vs" | "over" | "two" | "both" | "against")
    };
    let mut models: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
    models.sort_unstable();
    models.dedup();
    models.len() == 2 && scene.mentions.len() > 1 && scene.tokens.iter().any(|t| linked(&t.text))
}

/// The other of the two models that a sentence names.
fn rival_beside(scene: &Scene, model: usize) -> Option<usize> {
    let mut others = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).filter(|m| *m != model);
    let first = others.next()?;
    (of_two(scene) && others.all(|m| m == first)).then_some(first)
}

/// "You won't find a lighter station than the Fell".
pub fn finds_none(scene: &Scene, i: usize) -> bool {
    let find = |k: usize| matches!(scene.word(k), "find" | "get" | "buy" | "see" | "seen" | "found");
    (0..i).any(|k| find(k) && scene.negated(k))
}

/// "There is no better station than the Fell": at what is left open.
fn best_at_what(scene: &Scene, i: usize) -> Option<Line> {
    let station = matches!(
        scene.word(i + 1),
        "station" | "box" | "one" | "unit" | "choice" | "deal" | "model" | "than"
    );
    let hint = "say better at what: the bench ranks results, not stations".to_string();
    (station && matches!(scene.word(i), "better" | "worse") && !scene.mentions.is_empty())
        .then(|| line(scene, i, i + 3, Judgement::Unsupported, None, hint))
}

/// "The Fell is as light as the Cairn", "weighs as much as": the two are said to be equal, or with "not" less.
pub fn equals(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let word = scene.word(i + 1);
    if !matches!(scene.word(i), "as" | "so") || scene.asks || number_before(scene, i) {
        return None;
    }
    let to = (i + 2..i + 5).find(|k| scene.word(*k) == "as")?;
    let other = scene.mentions.iter().find(|m| m.at > to && m.at <= to + 3 && !m.maker)?;
    let rival = *other.models.first().filter(|_| other.models.len() == 1)?;
    let (fixed, way) = by_adjective("as", word).or(match word {
        "much" | "many" | "long" | "big" | "large" => Some(("", Way::Up)),
        "little" | "small" => Some(("", Way::Down)),
        "good" | "well" => Some(("", Way::Better)),
        _ => None,
    })?;
    let key = key_of(scene, i, if word == "long" { "time" } else { fixed })?;
    if (0..i).any(|k| names_none(scene, k)) {
        // "No other station weighs as little as the Cairn."
        return Some(ranked(scene, i, standing(desk.book, scene, key, rival, way)));
    }
    let model = subject(desk, scene, i).filter(|m| *m != rival)?;
    let (x, y) = value(desk.book, scene, key, model).zip(value(desk.book, scene, key, rival))?;
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let near = tied(&x, &y) || (x.x / y.x - 1.0).abs() < 0.02;
    let up = way.up(better(desk, key) == Better::More);
    let right = if scene.negated(i) { !near && (x.x < y.x) == up } else { near };
    let hint = if right { String::new() } else { format!("the bench has {record}") };
    let judgement = if right { Judgement::Agrees } else { Judgement::Unsupported };
    Some(line(scene, i, other.to, judgement, Some(record), hint))
}

/// "Twice as heavy as", "90 percent as much as": no equality.
fn number_before(scene: &Scene, i: usize) -> bool {
    let factor =
        |w: &str| matches!(w, "twice" | "half" | "times" | "double" | "almost" | "nearly" | "about" | "not");
    let word = i.checked_sub(1).map_or("", |k| scene.word(k));
    (factor(word) && word != "not") || scene.amounts.iter().any(|a| a.to == i)
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
    let said = |a: &Amount| {
        a.to == i
            && scene.tokens[i].after.is_none()
            && a.what != What::Bare
            && !end(a.from)
            && !told_with(scene, a)
    };
    // "beats the Hob by six and a half kilos"
    let by = |a: &Amount| a.from > i && scene.word(a.from - 1) == "by" && a.what != What::Bare;
    let j = scene.amounts.iter().position(said).or_else(|| scene.amounts.iter().position(by))?;
    if done[j] || scene.amounts[j].denied {
        return None;
    }
    let a = &scene.amounts[j];
    let share = (x.x / y.x - 1.0).abs();
    let (v, half) = match a.what {
        What::Dim(Dim::Ratio) => (share, 0.005),
        What::Factor => (x.x / y.x, 0.05),
        _ if sort_of(&a.what) == Takes::Other => return None,
        _ => ((x.x - y.x).abs(), x.minus(y).half95() / 2.0),
    };
    done[j] = true;
    Some((j, compare::follows(a, v, half)))
}

fn better(desk: &Desk, key: &str) -> Better {
    let of = |c: &crate::kind::Column| (c.result.key == key).then_some(c.result.better);
    desk.book.report.columns.iter().find_map(of).unwrap_or(
        if matches!(key, "runtime" | "usable-share" | "energy-per-kg") { Better::More } else { Better::Less },
    )
}
