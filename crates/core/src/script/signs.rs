//! Meanings that small words make together: "584 watt-hours in", "start a 7,790-watt load", "nothing is connected",
//! "from 17 watts to 11".
use super::amount::Amount;
use super::lexicon::{Cue, Firm, Sense};
use super::token::Token;
use super::unit::What;
use super::vocabulary::{IDLE, START, USABLE, WALL};
use crate::quantity::Dim;

/// "584 watt-hours in, 484 out": which way an amount went, said by one small word behind it.
pub fn ways(tokens: &[Token], amounts: &[Amount]) -> Vec<Cue> {
    let ends = |i: usize| {
        let small =
            |t: &Token| matches!(t.text.as_str(), "and" | "but" | "to" | "for" | "so" | "while" | "over");
        tokens.get(i).is_none_or(|t| t.after.is_some() || small(t))
    };
    let of = |a: &Amount| {
        let sense = match tokens.get(a.to)?.text.as_str() {
            "in" => Sense::Topic(WALL, Firm::Strong),
            "out" | "back" => Sense::Topic(USABLE, Firm::Weak),
            _ => return None,
        };
        ends(a.to + 1).then_some(Cue { at: a.to, to: a.to + 1, sense })
    };
    amounts.iter().filter_map(of).collect()
}

/// "It can start a 7,790-watt load": a power that is started.
pub fn started(tokens: &[Token], a: &Amount) -> Option<Cue> {
    let start = |i: &usize| super::lemma::root(&tokens[*i].text) == "start" && tokens[*i].text != "started";
    let at = (a.from.saturating_sub(4)..a.from).rev().find(start)?;
    let power = matches!(a.what, What::Dim(Dim::Power | Dim::Energy));
    // "From a cold start it held 1,159 watts"
    let noun = at > 0 && matches!(tokens[at - 1].text.as_str(), "cold" | "warm" | "a" | "the");
    let power = power && !noun;
    let whole = (at + 1..=a.from).all(|i| tokens[i].after.is_none());
    let sense = Sense::Topic(START, Firm::Strong);
    (power && whole).then_some(Cue { at, to: at + 1, sense })
}

/// "When nothing is connected", "without anything plugged in", "with no load on it": on with nothing to feed.
pub fn nothing_on(tokens: &[Token]) -> Vec<Cue> {
    const FED: &[&str] = &[
        "plug", "connect", "attach", "hook", "hang", "run", "draw", "pull", "switch", "load", "power",
        "feed", "fed", "us", "do", "ask",
    ];
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let none = |i: usize| match (word(i), word(i + 1)) {
        ("nothing", _) => Some(i + 1),
        ("without" | "not", "anything") | ("no", "load" | "loads" | "appliance" | "device") => Some(i + 2),
        ("not", "a") if word(i + 2) == "thing" => Some(i + 3),
        _ => None,
    };
    let small = |w: &str| {
        matches!(w, "is" | "was" | "at" | "all" | "else" | "being" | "to" | "on" | "it" | "whatsoever")
    };
    let of = |i: usize| {
        let from = none(i)?;
        let verb = (from..from + 4).find(|k| !small(word(*k)))?;
        let load = matches!(word(i + 1), "load" | "loads");
        let fed = FED.contains(&super::lemma::root(word(verb)));
        (fed || load).then_some(Cue {
            at: i,
            to: if fed { verb + 1 } else { from },
            sense: Sense::Topic(IDLE, Firm::Strong),
        })
    };
    // "just for being on", "by sitting there"
    let staying = |i: usize| {
        let be =
            ["be", "being", "stay", "staying", "sit", "sitting", "stand", "standing", "keeping", "having"];
        let why = matches!(word(i), "for" | "by" | "just" | "to" | "merely" | "simply" | "only");
        let at = (i + 2..i + 5)
            .find(|k| !matches!(word(*k), "it" | "switched" | "turned" | "powered" | "just"))?;
        let there = matches!(word(at), "on" | "there" | "around" | "idle");
        let ends = tokens
            .get(at + 1)
            .is_none_or(|t| t.after.is_some() || matches!(t.text.as_str(), "and" | "with" | "doing"));
        (why && be.contains(&word(i + 1)) && there && ends).then_some(Cue {
            at: i,
            to: at + 1,
            sense: Sense::Topic(IDLE, Firm::Strong),
        })
    };
    (0..tokens.len()).filter_map(|i| of(i).or_else(|| staying(i))).collect()
}

/// "from 17 watts to 11": the first was so before. A range of times or prices has its upper end in itself.
pub fn mark_former(tokens: &[Token], amounts: &mut [Amount]) {
    let before = |a: &Amount| a.from.checked_sub(1).map_or("", |i| tokens[i].text.as_str());
    for i in 1..amounts.len() {
        let (left, right) = amounts.split_at_mut(i);
        let (a, b) = (&mut left[i - 1], &right[0]);
        let same = a.what == b.what || a.what == What::Bare || b.what == What::Bare;
        a.was = same && a.hi.is_none() && before(a) == "from" && before(b) == "to";
    }
}
