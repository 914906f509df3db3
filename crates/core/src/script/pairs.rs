//! As many numbers as names: "$699 / $749 for Fell and Hob", "the Fell and the Cairn gave 911 and 484 watt-hours".
use super::amount::Amount;
use super::token::Token;
use super::who::Mention;

/// May these words stand between two members of a list?
fn links(tokens: &[Token], from: usize, to: usize, small: &[&str]) -> bool {
    from <= to
        && to - from <= 2
        && tokens.get(from..to).is_some_and(|t| t.iter().all(|t| small.contains(&t.text.as_str())))
}

/// The longest run of members that `joined` holds together, two at least; `None` where there are two such runs.
fn run<T>(all: &[T], joined: impl Fn(&T, &T) -> bool) -> Option<&[T]> {
    let mut found: Option<&[T]> = None;
    let mut from = 0;
    for i in 1..=all.len() {
        if i == all.len() || !joined(&all[i - 1], &all[i]) {
            if i - from >= 2 {
                if found.is_some() {
                    return None;
                }
                found = Some(&all[from..i]);
            }
            from = i;
        }
    }
    found
}

/// The numbers of a list with the model each belongs to, by the order of the names. `mentions` are not joined yet.
pub fn pairs(tokens: &[Token], amounts: &[Amount], mentions: &[Mention]) -> Vec<(usize, Mention)> {
    let alike = |a: &Amount, b: &Amount| {
        a.what == b.what
            && a.to <= b.from
            && links(tokens, a.to, b.from, &["and", "/", "or", "vs", "versus", "against"])
    };
    let beside = |m: &Mention, n: &Mention| {
        m.to <= n.at && links(tokens, m.to, n.at, &["and", "/", "or", "the", "vs", "versus", "against"])
    };
    let (Some(numbers), Some(names)) = (run(amounts, alike), run(mentions, beside)) else {
        return Vec::new();
    };
    let single = names.iter().all(|m| m.models.len() == 1 && !m.maker);
    if numbers.len() != names.len() || names.len() != mentions.len() || !single {
        return Vec::new();
    }
    numbers.iter().zip(names).map(|(a, m)| (a.at, m.clone())).collect()
}
