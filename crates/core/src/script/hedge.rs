//! Hedges: "about", "just under", "or so".
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
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// Hedges that stand before a number, longest first.
const BEFORE: &[(&str, Hedge)] = &[
    ("somewhere in the region of", Hedge::About),
    ("in the neighborhood of", Hedge::About),
    ("in the ballpark of", Hedge::About),
    ("in the region of", Hedge::About),
    ("a little less than", Hedge::JustUnder),
    ("a little more than", Hedge::JustOver),
    ("slightly less than", Hedge::JustUnder),
    ("slightly more than", Hedge::JustOver),
    ("a bit less than", Hedge::JustUnder),
    ("a bit more than", Hedge::JustOver),
    ("a hair less than", Hedge::JustUnder),
    ("a touch less than", Hedge::JustUnder),
    ("something like", Hedge::About),
    ("no more than", Hedge::Under),
    ("no less than", Hedge::Over),
    ("not more than", Hedge::Under),
    ("a little under", Hedge::JustUnder),
    ("a little below", Hedge::JustUnder),
    ("a little over", Hedge::JustOver),
    ("a little above", Hedge::JustOver),
    ("slightly under", Hedge::JustUnder),
    ("slightly below", Hedge::JustUnder),
    ("slightly over", Hedge::JustOver),
    ("slightly above", Hedge::JustOver),
    ("a touch under", Hedge::JustUnder),
    ("a touch over", Hedge::JustOver),
    ("a hair under", Hedge::JustUnder),
    ("a hair below", Hedge::JustUnder),
    ("a hair over", Hedge::JustOver),
    ("a hair above", Hedge::JustOver),
    ("a shade under", Hedge::JustUnder),
    ("a shade over", Hedge::JustOver),
    ("a bit under", Hedge::JustUnder),
    ("a bit below", Hedge::JustUnder),
    ("a bit over", Hedge::JustOver),
    ("a bit above", Hedge::JustOver),
    ("just shy of", Hedge::JustUnder),
    ("just short of", Hedge::JustUnder),
    ("just north of", Hedge::JustOver),
    ("just under", Hedge::JustUnder),
    ("just below", Hedge::JustUnder),
    ("just over", Hedge::JustOver),
    ("just above", Hedge::JustOver),
    ("barely over", Hedge::JustOver),
    ("well over", Hedge::WellOver),
    ("well above", Hedge::WellOver),
    ("well under", Hedge::WellUnder),
    ("well below", Hedge::WellUnder),
    ("far less than", Hedge::WellUnder),
    ("far more than", Hedge::WellOver),
    ("more than", Hedge::Over),
    ("less than", Hedge::Under),
    ("fewer than", Hedge::Under),
    ("at least", Hedge::Over),
    ("at most", Hedge::Under),
    ("up to", Hedge::Under),
    ("as much as", Hedge::Under),
    ("north of", Hedge::Over),
    ("south of", Hedge::Under),
    ("upwards of", Hedge::Over),
    ("close to", Hedge::About),
    ("closer to", Hedge::About),
    ("near enough", Hedge::About),
    ("shy of", Hedge::JustUnder),
    ("not quite", Hedge::JustUnder),
    ("a good", Hedge::JustOver),
    ("in under", Hedge::Under),
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
    ("barely", Hedge::About),
    ("over", Hedge::Over),
    ("above", Hedge::Over),
    ("beyond", Hedge::Over),
    (">", Hedge::Over),
    ("≥", Hedge::Over),
    ("under", Hedge::Under),
    ("below", Hedge::Under),
    ("within", Hedge::Under),
    ("<", Hedge::Under),
    ("≤", Hedge::Under),
];

/// Hedges that stand behind an amount.
const BEHIND: &[(&str, Hedge)] = &[
    ("or so", Hedge::About),
    ("give or take", Hedge::About),
    ("more or less", Hedge::About),
    ("and change", Hedge::JustOver),
    ("and some", Hedge::JustOver),
    ("plus", Hedge::JustOver),
    ("or more", Hedge::Over),
    ("or better", Hedge::Over),
    ("or less", Hedge::Under),
    ("at most", Hedge::Under),
    ("tops", Hedge::Under),
    ("ish", Hedge::About),
];

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

/// The hedge that ends before token `at`, and where it starts.
pub fn hedge_before(tokens: &[Token], at: usize) -> (Hedge, usize) {
    let skip =
        usize::from(at > 0 && matches!(word(tokens, at - 1), "a" | "an" | "the" | "$" | "€" | "£" | "only"));
    for end in [at, at - skip] {
        let Some(list) = end.checked_sub(1).and_then(|i| BY_LAST.get(word(tokens, i))) else { continue };
        let fits = |(p, h): &(&str, Hedge)| phrase_ends(tokens, end, p).map(|f| (*h, f));
        // "5 hours over the weekend": a comma between parts them.
        if let Some(found) = list.iter().find_map(fits)
            && tokens.get(end).is_none_or(|t| t.after.is_none())
        {
            return found;
        }
    }
    (Hedge::Plain, at)
}

/// The hedge that starts at token `to`, and where it ends.
pub fn hedge_behind(tokens: &[Token], to: usize) -> Option<(Hedge, usize)> {
    BEHIND.iter().find_map(|(p, h)| {
        let end = to + p.split(' ').count();
        (phrase_ends(tokens, end, p) == Some(to)).then_some((*h, end))
    })
}
