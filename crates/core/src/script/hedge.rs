//! Hedges: "about", "just under", "or so".
use super::lemma::root;
use super::token::Token;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How a number was hedged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hedge {
    /// Not at all.
    Plain,
    /// "about", "roughly".
    About,
    /// "just under", "nearly".
    JustUnder,
    /// "just over", "a bit more than".
    JustOver,
    /// "over", "at least".
    Over,
    /// "under", "less than", "up to".
    Under,
    /// "well over".
    WellOver,
    /// "well under".
    WellUnder,
    /// "and a bit", behind a whole number of units.
    AndSome,
    /// "exactly".
    Exact,
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// Words for a side, before a number; longest first.
const SIDES: &[(&str, bool)] = &[
    ("in excess of", true),
    ("on the far side of", true),
    ("the right side of", false),
    ("more than", true),
    ("north of", true),
    ("upwards of", true),
    ("less than", false),
    ("fewer than", false),
    ("lighter than", false),
    ("shorter than", false),
    ("longer than", true),
    ("south of", false),
    ("short of", false),
    ("shy of", false),
    ("over", true),
    ("above", true),
    ("beyond", true),
    ("past", true),
    ("under", false),
    ("below", false),
    ("beneath", false),
];

/// How little beyond it, with an article or without.
const LITTLE: &[&str] = &[
    "little",
    "bit",
    "hair",
    "touch",
    "shade",
    "whisker",
    "smidge",
    "smidgen",
    "tad",
    "fraction",
    "sliver",
    "slightly",
    "just",
    "barely",
    "marginally",
    "fractionally",
    "hardly",
    "narrowly",
    "tick",
    "notch",
];

/// How much beyond it.
const MUCH: &[&str] = &["well", "far", "way", "much", "considerably", "significantly", "comfortably"];

/// Other hedges that stand before a number, longest first.
const BEFORE: &[(&str, Hedge)] = &[
    ("somewhere in the region of", Hedge::About),
    ("in the neighborhood of", Hedge::About),
    ("in the neighbourhood of", Hedge::About),
    ("in the ballpark of", Hedge::About),
    ("the better part of", Hedge::JustUnder),
    ("in the region of", Hedge::About),
    ("the best part of", Hedge::JustUnder),
    ("the thick end of", Hedge::JustUnder),
    ("on the order of", Hedge::About),
    ("getting on for", Hedge::JustUnder),
    ("something like", Hedge::About),
    ("no more than", Hedge::Under),
    ("no less than", Hedge::Over),
    ("not more than", Hedge::Under),
    ("not less than", Hedge::Over),
    ("as much as", Hedge::Under),
    ("to the tune of", Hedge::About),
    ("at least", Hedge::Over),
    ("at most", Hedge::Under),
    ("up to", Hedge::Under),
    ("close to", Hedge::About),
    ("closer to", Hedge::About),
    ("close on", Hedge::JustUnder),
    ("near enough", Hedge::About),
    ("more like", Hedge::About),
    ("bang on", Hedge::Exact),
    ("spot on", Hedge::Exact),
    ("dead on", Hedge::Exact),
    ("not quite", Hedge::JustUnder),
    ("a good", Hedge::JustOver),
    ("in under", Hedge::Under),
    ("not far off", Hedge::About),
    ("not far from", Hedge::About),
    ("better than", Hedge::Over),
    ("about", Hedge::About),
    ("around", Hedge::About),
    ("roughly", Hedge::About),
    ("approximately", Hedge::About),
    ("approx", Hedge::About),
    ("some", Hedge::About),
    ("circa", Hedge::About),
    ("ca", Hedge::About),
    ("maybe", Hedge::About),
    ("near", Hedge::About),
    ("say", Hedge::About),
    ("~", Hedge::About),
    ("≈", Hedge::About),
    ("nearly", Hedge::JustUnder),
    ("almost", Hedge::JustUnder),
    ("practically", Hedge::About),
    ("basically", Hedge::About),
    ("pushing", Hedge::JustUnder),
    ("barely", Hedge::About),
    ("exactly", Hedge::Exact),
    ("precisely", Hedge::Exact),
    (">", Hedge::Over),
    ("≥", Hedge::Over),
    ("within", Hedge::Under),
    ("inside", Hedge::Under),
    ("<", Hedge::Under),
    ("≤", Hedge::Under),
];

/// Verbs that take "over" and its like with them: "handed over nine hundred".
const TAKES_OVER: &[&str] =
    &["hand", "switch", "take", "carr", "chang", "cut", "turn", "com", "go", "flip", "transfer", "start"];

/// Hedges that stand behind an amount.
const BEHIND: &[(&str, Hedge)] = &[
    ("or so", Hedge::About),
    ("approximately", Hedge::About),
    ("approx", Hedge::About),
    ("give or take", Hedge::About),
    ("more or less", Hedge::About),
    ("and change", Hedge::AndSome),
    ("and some", Hedge::AndSome),
    ("and then some", Hedge::AndSome),
    ("and a bit", Hedge::AndSome),
    ("and a little", Hedge::AndSome),
    ("plus", Hedge::AndSome),
    ("odd", Hedge::About),
    ("or thereabouts", Hedge::About),
    ("on the dot", Hedge::Exact),
    ("on the button", Hedge::Exact),
    ("dead by", Hedge::Exact),
    ("dead on", Hedge::Exact),
    ("on the nose", Hedge::Exact),
    ("to be exact", Hedge::Exact),
    ("to be precise", Hedge::Exact),
    ("at least", Hedge::Over),
    ("or under", Hedge::Under),
    ("or over", Hedge::Over),
    ("a little more", Hedge::JustOver),
    ("a bit more", Hedge::JustOver),
    ("a whisker more", Hedge::JustOver),
    ("a touch more", Hedge::JustOver),
    ("a hair more", Hedge::JustOver),
    ("a little less", Hedge::JustUnder),
    ("a bit less", Hedge::JustUnder),
    ("a whisker less", Hedge::JustUnder),
    ("a touch less", Hedge::JustUnder),
    ("a hair less", Hedge::JustUnder),
    ("or more", Hedge::Over),
    ("or better", Hedge::Over),
    ("or less", Hedge::Under),
    ("at most", Hedge::Under),
    ("tops", Hedge::Under),
    ("ish", Hedge::About),
];

/// "a touch", "a hair": so little beyond something.
pub fn is_little(word: &str) -> bool {
    LITTLE.contains(&word)
}

fn phrase_ends(tokens: &[Token], end: usize, phrase: &str) -> Option<usize> {
    let n = phrase.split(' ').count();
    let from = end.checked_sub(n)?;
    phrase.split(' ').enumerate().all(|(k, w)| word(tokens, from + k) == w).then_some(from)
}

/// The same by their last word.
static BY_LAST: LazyLock<BTreeMap<&str, Vec<(&str, Hedge)>>> = LazyLock::new(|| {
    let mut map: BTreeMap<&str, Vec<(&str, Hedge)>> = BTreeMap::new();
    for (phrase, hedge) in BEFORE {
        map.entry(phrase.rsplit(' ').next().unwrap_or(phrase)).or_default().push((phrase, *hedge));
    }
    map
});

/// A side before token `end`, with how far: "just under", "well over", "a whisker more than".
fn side_before(tokens: &[Token], end: usize) -> Option<(Hedge, usize)> {
    let last = word(tokens, end.checked_sub(1)?);
    let sides = SIDES.iter().filter(|(p, _)| p.ends_with(last));
    let (from, over) =
        sides.into_iter().find_map(|(p, over)| phrase_ends(tokens, end, p).map(|f| (f, *over)))?;
    let before = |k: usize| from.checked_sub(k).map_or("", |i| word(tokens, i));
    if TAKES_OVER.contains(&root(before(1))) && end == from + 1 {
        return None;
    }
    let article = usize::from(before(2) == "a" || before(2) == "only");
    let close = matches!(word(tokens, from), "shy" | "short");
    Some(match (LITTLE.contains(&before(1)), MUCH.contains(&before(1)), over) {
        (true, _, true) => (Hedge::JustOver, from - 1 - article),
        (true, _, false) => (Hedge::JustUnder, from - 1 - article),
        (_, true, true) => (Hedge::WellOver, from - 1),
        (_, true, false) => (Hedge::WellUnder, from - 1),
        (_, _, false) if close => (Hedge::JustUnder, from),
        (_, _, true) => (Hedge::Over, from),
        (_, _, false) => (Hedge::Under, from),
    })
}

/// The hedge that ends before token `at`, and where it starts.
pub fn hedge_before(tokens: &[Token], at: usize) -> (Hedge, usize) {
    let skip =
        usize::from(at > 0 && matches!(word(tokens, at - 1), "a" | "an" | "the" | "$" | "€" | "£" | "only"));
    for end in [at, at - skip] {
        // "5 hours over the weekend": a comma between parts them.
        if end == 0 || tokens.get(end).is_some_and(|t| t.after.is_some()) {
            continue;
        }
        let fits = |(p, h): &(&str, Hedge)| phrase_ends(tokens, end, p).map(|f| (*h, f));
        let other = || BY_LAST.get(word(tokens, end - 1)).and_then(|list| list.iter().find_map(fits));
        let negated = |(_, from): &(Hedge, usize)| {
            let before = from.checked_sub(1).map_or("", |i| word(tokens, i));
            matches!(before, "no" | "not") && word(tokens, end - 1) == "than"
        };
        if let Some(found) = side_before(tokens, end).filter(|f| !negated(f)).or_else(other) {
            return found;
        }
    }
    (Hedge::Plain, at)
}

/// The hedge that starts at token `to`, and where it ends.
pub fn hedge_behind(tokens: &[Token], to: usize) -> Option<(Hedge, usize)> {
    let first = word(tokens, to);
    BEHIND.iter().filter(|(p, _)| p.starts_with(first) && !first.is_empty()).find_map(|(p, h)| {
        let end = to + p.split(' ').count();
        (phrase_ends(tokens, end, p) == Some(to)).then_some((*h, end))
    })
}
