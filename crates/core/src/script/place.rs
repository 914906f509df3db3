//! Places among the others: "second place out of three", "comes third of four", "the second lightest"; and which side
//! of a comparison a number stands on.
use super::Judgement;
use super::Line;
use super::judge::Desk;
use super::lexicon::Sense;
use super::number;
use super::order::{key_of, standing};
use super::rank::{line, other_than, subject};
use super::ranking::{TOPS, Way};
use super::scene::Scene;

const ORDINALS: &[&str] = &[
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
];
/// Verbs that a place follows: "comes third".
const TAKES_PLACE: &[&str] =
    &["comes", "came", "finishes", "finished", "ranks", "ranked", "lands", "landed", "places", "placed"];

/// Every place said in a sentence.
pub fn places(desk: &Desk, scene: &Scene, done: &mut [bool]) -> Vec<Line> {
    if scene.asks {
        return Vec::new();
    }
    let each = (0..scene.tokens.len()).map(|i| tops(desk, scene, i).or_else(|| place(desk, scene, i, done)));
    each.flatten().collect()
}

/// The place said at token `i` (none is the last one), and the token after it.
fn ordinal(scene: &Scene, i: usize) -> Option<(Option<usize>, usize)> {
    if scene.word(i) == "last" {
        return Some((None, i + 1));
    }
    let wins = matches!(scene.word(i), "wins" | "won" | "leads");
    if wins && matches!(scene.word(i + 1), "on" | "in" | "for" | "by" | "at") {
        return Some((Some(1), i + 1));
    }
    if let Some(k) = ORDINALS.iter().position(|w| *w == scene.word(i)) {
        return Some((Some(k + 1), i + 1));
    }
    let ending = matches!(scene.word(i + 1), "st" | "nd" | "rd" | "th") && scene.tokens[i + 1].glued;
    let k = scene.word(i).parse().ok().filter(|k| (1..=99).contains(k))?;
    ending.then_some((Some(k), i + 2))
}

/// Ways to say that one is first of all.
const TOP: &[&str] = &[
    "tops the list",
    "tops the table",
    "tops the field",
    "heads the list",
    "heads the table",
    "heads the field",
    "leads the field",
    "leads the pack",
    "comes out on top",
    "came out on top",
    "at the top",
    "number one",
    "takes the crown",
    "is the king",
    "is the champion",
    "is the leader",
    "is unmatched",
    "is unrivalled",
    "has no equal",
    "is second to none",
];

/// "The Lantern tops the list for usable energy".
fn tops(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let at = |p: &&&str| p.split(' ').enumerate().all(|(k, w)| scene.word(i + k) == w);
    let to = i + TOP.iter().find(at)?.split(' ').count();
    // "list" of "tops the list" is no price.
    let topic = |c: &super::lexicon::Cue| match c.sense {
        Sense::Topic(keys, _) if c.at >= to && c.at <= to + 5 => super::order::ranked_of(keys),
        Sense::Topic(keys, _) if c.to <= i && c.to + 5 >= i => super::order::ranked_of(keys),
        _ => None,
    };
    let key =
        scene.cues.iter().find_map(topic).filter(|_| !scene.mentions.is_empty() && !scene.negated(i))?;
    let standing = standing(desk.book, scene, key, subject(desk, scene, i)?, Way::Better)?;
    let hint = format!("the bench has it at {}{}", standing.words(), standing.tied_words());
    let (judgement, hint) = match standing.first() {
        true => (Judgement::Agrees, String::new()),
        false => (Judgement::Unsupported, hint),
    };
    Some(line(scene, i, to, judgement, Some(standing.words()), hint))
}

fn place(desk: &Desk, scene: &Scene, i: usize, done: &mut [bool]) -> Option<Line> {
    let (k, next) = ordinal(scene, i)?;
    let before = |n: usize| i.checked_sub(n).map_or("", |i| scene.word(i));
    let top = TOPS.iter().find(|t| t.0 == scene.word(next));
    let spot = matches!(scene.word(next), "place" | "spot" | "position");
    let verb = TAKES_PLACE.contains(&before(1)) || (before(1) == "in" && TAKES_PLACE.contains(&before(2)));
    // "in the first place" is a way of speaking; "the last time" ranks nothing.
    let idiom = spot && before(1) == "the" && before(2) == "in" && k == Some(1);
    // "third of three for switchover"; "the first of two tests" counts tests.
    let alone = before(1) != "the" && matches!(scene.word(next), "of" | "out");
    let whole = out_of(scene, next).filter(|_| alone).is_some_and(|(_, to)| {
        let small = matches!(scene.word(to), "" | "for" | "in" | "on" | "by" | "at");
        small || scene.tokens.get(to).is_some_and(|t| t.after.is_some())
    });
    let wins = matches!(scene.word(i), "wins" | "won" | "leads");
    // "is last in weight"
    let is = matches!(before(1), "is" | "was" | "are" | "dead")
        && matches!(scene.word(next), "in" | "on" | "by" | "for");
    if idiom || !(spot || verb || whole || wins || is || (top.is_some() && k.is_some())) || scene.negated(i) {
        return None;
    }
    let (fixed, way) = top.map_or(("", Way::Better), |t| (t.1, t.2));
    // "dead last in weight": what follows says in what.
    let from = if is || wins { next + 1 } else { i };
    let told = scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(..)) && c.at.abs_diff(from) <= 2);
    if (is || wins) && !told {
        return None;
    }
    let (model, key) = (subject(desk, scene, i)?, key_of(scene, from, fixed)?);
    // "The second heaviest of the fourteen": of the one spoken of before.
    let all = scene.word(next + 1) == "of"
        && (next + 2..next + 4)
            .any(|k| matches!(scene.word(k), "everything" | "all" | "them" | "lot" | "bunch"));
    let bare = top.is_some() && (all || out_of(scene, next + 1).is_some());
    if !scene.of_station() && !bare {
        return None;
    }
    let to = next + usize::from(spot || top.is_some());
    let (n, to) = out_of(scene, to).map_or((None, to), |(n, to)| (Some(n), to));
    let counted = scene.amounts.iter().zip(done).filter(|(a, _)| n.is_some() && (i..to).contains(&a.at));
    counted.for_each(|(_, done)| *done = true);
    let standing = standing(desk.book, scene, key, model, way)?;
    let right = standing.holds(k.unwrap_or(standing.of()), n);
    let hint = format!("the bench has it at {}{}", standing.words(), standing.tied_words());
    // Of equals nobody wins.
    let right = right && (!wins || standing.first());
    let alone = scene.says(&["outright", "alone"])
        || (0..scene.tokens.len()).any(|k| {
            scene.word(k) == "its" && scene.word(k + 1) == "own" && k > 0 && scene.word(k - 1) == "on"
        });
    let right = right && !(alone && standing.shared());
    // "Second place of four" is a number, "the second lightest" and "wins" a rank.
    let (judgement, hint) = match (right, wins || top.is_some()) {
        (true, _) => (Judgement::Agrees, String::new()),
        (_, true) => (Judgement::Unsupported, hint),
        _ => (Judgement::Differs, hint),
    };
    Some(line(scene, i, to, judgement, Some(standing.words()), hint))
}

/// "of four", "out of the three": how many there are, and the token after it.
fn out_of(scene: &Scene, at: usize) -> Option<(usize, usize)> {
    let link = |i: &usize| matches!(scene.word(*i), "out" | "of" | "the" | "all" | "among");
    let from = (at..at + 4).find(|i| !link(i)).filter(|from| *from > at)?;
    let n = number::number(&scene.tokens, from).filter(|n| n.x.fract() == 0.0 && n.x <= 99.0)?;
    Some((n.x as usize, n.next))
}

impl Desk<'_> {
    /// "Heavier than the Fell, 14.1 kilograms versus 13.3": the first number is of the one spoken of, the second of the
    /// one it is compared with. Numbers with a name of their own are not asked for.
    pub fn side_of_comparison(&self, scene: &Scene, at: usize) -> Option<usize> {
        let link = |i: &usize| scene.word(*i) == "than" || super::subject::EXCEPT.contains(&scene.word(*i));
        let than = (0..at).rev().find(link)?;
        let rival = scene.mentions.iter().find(|m| m.at > than && m.at <= than + 3 && !m.maker)?;
        let behind: Vec<_> = scene.amounts.iter().filter(|a| a.at >= rival.to).collect();
        let i = behind.iter().position(|a| a.at == at)?;
        let joined = |k: usize| {
            let (Some(x), Some(y)) = (behind.get(k), behind.get(k + 1)) else { return false };
            let link = ["versus", "vs", "against", "to", "compared"];
            let close = y.from >= x.to && y.from - x.to <= 2;
            close && x.what == y.what && (x.to..y.at).any(|i| link.contains(&scene.word(i)))
        };
        let alone = !scene.mentions.iter().any(|m| m.at >= rival.to);
        let [other] = rival.models.as_slice() else { return None };
        let first = subject(self, scene, than).filter(|m| m != other).or_else(|| other_than(self, *other));
        match (alone && joined(i), alone && i > 0 && joined(i - 1)) {
            (true, _) => first,
            (_, true) => first.map(|_| *other),
            _ => None,
        }
    }
}
