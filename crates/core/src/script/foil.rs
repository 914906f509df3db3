//! Names that something is held against, and that the sentence is not about: "lighter than the Fell", "only the Pip takes
//! less", "twice what the Relay gave", "second only to the Granary". The number beside such a name is the subject's, and the
//! "it" of the next sentence is the subject too.
use super::amount::Amount;
use super::judge::Desk;
use super::lemma::root;
use super::ranking::THANS;
use super::scene::Scene;
use super::token::Token;
use super::who::Mention;

/// Words that may stand between a name and the word that sets something against it.
const DRESS: &[&str] = &[
    "the", "a", "my", "our", "its", "this", "that", "even", "big", "bigger", "large", "larger", "little",
    "small", "smaller", "old", "new", "heavy", "mighty", "much", "far", "on", "for", "from", "with", "of",
    "out",
];

/// Words that set something against what follows.
const AGAINST: &[&str] = &["than", "versus", "vs", "against", "unlike"];

/// Roots of verbs whose object is held against their subject.
const DEFEATS: &[&str] = &[
    "beat",
    "outlast",
    "outperform",
    "outweigh",
    "undercut",
    "outrun",
    "surpass",
    "exceed",
    "match",
    "equal",
    "trail",
    "outdo",
    "outclas",
];

/// Is there a word in this stretch that compares: "lighter", "less"?
fn compares(tokens: &[Token], from: usize, to: usize) -> bool {
    let word = |t: &Token| THANS.iter().any(|w| w.0 == t.text) || comparative_of_its_own(&t.text);
    tokens.get(from..to.min(tokens.len())).is_some_and(|t| t.iter().any(word))
}

/// "easier", "kinder": a comparative that no list holds. Only where a name alone stands before it.
fn comparative_of_its_own(word: &str) -> bool {
    const NOUNS: &[&str] = &[
        "power", "over", "under", "after", "other", "never", "ever", "number", "whether", "either", "per",
        "inverter", "meter", "charger", "paper", "order", "however", "together", "later", "water", "winter",
        "summer", "solar", "maker", "further", "rather", "router", "computer", "heater", "cooler",
    ];
    word.len() > 4 && word.ends_with("er") && !NOUNS.contains(&word)
}

/// The place of the "only" that leaves nothing but this name ahead, with no "than": "only the Pip takes less", "the only
/// quieter one is the Pip".
pub fn only_before(tokens: &[Token], m: &Mention) -> Option<usize> {
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let first = m.at.checked_sub(1)?;
    let at = (m.at.saturating_sub(3)..=first).rev().find(|i| !DRESS.contains(&word(*i)))?;
    let parted = |i: &usize| matches!(tokens[*i].after, Some(';' | ':' | '—' | '('));
    let end = (m.to..tokens.len()).find(parted).unwrap_or(tokens.len());
    // "Only the Fell is faster than its 5.8 milliseconds": than the one spoken of.
    let it = |i: usize| matches!(word(i), "it" | "its" | "this" | "that");
    let than = (m.to..end).any(|i| word(i) == "than" && !it(i + 1));
    if matches!(word(at), "is" | "was" | "are" | "were" | "being") {
        let only = (at.saturating_sub(6)..at).rev().find(|i| word(*i) == "only")?;
        return (!than && compares(tokens, only, at)).then_some(only);
    }
    let but = word(at) == "but" && at > 0 && matches!(word(at - 1), "nothing" | "none" | "nobody");
    let alone = word(at) == "only" || but;
    (alone && !than && compares(tokens, m.to, end.min(m.to + 8))).then_some(at)
}

/// "Second only to the Granary", "runner-up to the Pip": the place of "second".
pub fn second_to(tokens: &[Token], m: &Mention) -> Option<usize> {
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let first = m.at.checked_sub(1)?;
    let to = (m.at.saturating_sub(3)..=first).rev().find(|i| !DRESS.contains(&word(*i)))?;
    if word(to) != "to" || to < 2 {
        return None;
    }
    let at = if word(to - 1) == "only" { to - 2 } else { to - 1 };
    (word(at) == "second").then_some(at)
}

/// Is something held against this name?
fn held_against(tokens: &[Token], amounts: &[Amount], m: &Mention) -> bool {
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    if only_before(tokens, m).is_some() || second_to(tokens, m).is_some() {
        return true;
    }
    let Some(first) = m.at.checked_sub(1) else { return false };
    // "Neither it nor its big brother": the next "it" is the first of them.
    let beside = (m.at.saturating_sub(3)..=m.at).rev().find(|i| matches!(word(*i), "and" | "nor" | "or"));
    if beside.is_some_and(|i| i > 0 && matches!(word(i - 1), "it" | "this") && tokens[i].after.is_none()) {
        return true;
    }
    let open = |i: &usize| (*i + 1..=m.at).all(|k| tokens[k].after.is_none());
    let takes_up = |i: usize| match word(i) {
        "what" => true,
        // "that of the Pip"
        "that" | "those" => word(i + 1) == "of",
        _ => false,
    };
    let link = |i: &usize| takes_up(*i) || !DRESS.contains(&word(*i));
    let Some(i) = (m.at.saturating_sub(5)..=first).rev().filter(open).find(link) else { return false };
    if takes_up(i) {
        return part_of(tokens, amounts, i);
    }
    let prior = |k: usize| i.checked_sub(k).map_or("", word);
    match word(i) {
        w if AGAINST.contains(&w) || w == "behind" => true,
        // "as heavy as the Ember"
        "as" => (1..4).any(|k| matches!(prior(k), "as" | "so" | "same")) || prior(1) == "same",
        "to" => matches!(
            prior(1),
            "compared" | "next" | "close" | "equal" | "identical" | "superior" | "inferior"
        ),
        w => {
            let with = word(i + 1) == "with" && matches!(w, "compared" | "level" | "par" | "tied" | "even");
            let place =
                word(i + 1) == "of" && matches!(w, "ahead" | "short" | "shy" | "instead" | "north" | "south");
            let beside = matches!(w, "over" | "above" | "below" | "under" | "past" | "beyond")
                && beside_a_measure(tokens, amounts, i);
            // "cannot be told apart from the Relay"
            let apart = w == "apart" && prior(1) == "told" || w == "distinguished";
            with || place || beside || apart || DEFEATS.contains(&root(w))
        }
    }
}

/// "half of what", "twice what", "more than what": the word at `i` takes up a measure.
fn part_of(tokens: &[Token], amounts: &[Amount], i: usize) -> bool {
    let word = |k: usize| i.checked_sub(k).map_or("", |i| tokens[i].text.as_str());
    let measure = |k: usize| {
        matches!(
            word(k),
            "twice"
                | "double"
                | "triple"
                | "half"
                | "times"
                | "than"
                | "third"
                | "quarter"
                | "thirds"
                | "quarters"
                | "fifth"
                | "percent"
                | "%"
        ) || i.checked_sub(k).is_some_and(|j| amounts.iter().any(|a| a.from <= j && j < a.to))
    };
    measure(1)
        || (matches!(word(1), "of" | "from" | "over" | "under" | "above" | "below" | "as")
            && (2..4).any(measure))
        || matches!(word(1), "over" | "under" | "above" | "below" | "beyond")
}

/// "A touch over the Granary", "two kilos above the Fell".
fn beside_a_measure(tokens: &[Token], amounts: &[Amount], i: usize) -> bool {
    let little = i.checked_sub(1).is_some_and(|k| super::hedge::is_little(&tokens[k].text));
    little || amounts.iter().any(|a| a.to == i)
}

/// Marks the names that something is held against.
pub fn mark(tokens: &[Token], amounts: &[Amount], mentions: &mut [Mention]) {
    for m in mentions.iter_mut().filter(|m| !m.maker) {
        m.foil = held_against(tokens, amounts, m);
    }
}

/// Words for the station spoken of before.
const PRONOUNS: &[&str] = &[
    "it", "it's", "its", "it'll", "it'd", "itself", "they", "them", "their", "theirs", "she", "she's",
    "she'll", "she'd",
];

impl Scene {
    /// A word for the station spoken of before stands before token `at` or in its clause, and no name that the sentence is
    /// about before it.
    pub fn goes_on_with_it(&self, at: usize) -> bool {
        let here = self.clause.get(at);
        let named = self.mentions.iter().any(|m| m.to <= at && !m.foil && !m.maker);
        let it = |i: usize| {
            let one = matches!(self.word(i), "this" | "that")
                && matches!(self.word(i + 1), "one" | "thing" | "box" | "machine" | "unit" | "station");
            let near = i < at || self.clause.get(i) == here;
            let several = self.word(i).starts_with("the") && self.mentions.len() > 1;
            near && (one || (PRONOUNS.contains(&self.word(i)) && !several && !self.stands_for_nothing(i)))
        };
        !named && (0..self.tokens.len()).any(it)
    }

    /// "It's the Granary that", "it was 61 minutes before the Granary": this "it" is nobody.
    fn stands_for_nothing(&self, i: usize) -> bool {
        let next = i + 1 + usize::from(matches!(self.word(i + 1), "is" | "was" | "took" | "takes"));
        let named = |at: usize| self.mentions.iter().any(|m| m.at == at || m.at == at + 1);
        matches!(self.word(i), "it" | "it's") && named(next)
    }

    /// "52 kilos, the Barge": named at the end of the sentence, or between commas, for what was said before.
    pub fn named_after_all(&self, m: &Mention) -> bool {
        let article =
            m.at.checked_sub(1).filter(|i| matches!(self.word(*i), "the" | "this" | "that" | "our" | "my"));
        let from = article.unwrap_or(m.at);
        let comma = self.tokens[from].after.is_some();
        let ends = self.tokens.get(m.to).is_none_or(|t| t.after.is_some());
        comma && ends && from > 0 && !m.foil
    }

    /// The name that something is held against has a number of its own: "than the Ember with its 45.7", "the Granary's 14.9".
    pub fn owned_by(&self, a: &Amount) -> Option<&Mention> {
        let m = self.mentions.iter().rev().find(|m| m.to <= a.from)?;
        let between: Vec<&str> = (m.to..a.from).map(|i| self.word(i)).collect();
        let parted = (m.to..=a.from).any(|i| self.tokens[i].after.is_some_and(|c| c != '('));
        let which = between.first().is_some_and(|w| matches!(*w, "which" | "whose" | "who"));
        let small = |w: &&str| {
            matches!(*w, "with" | "its" | "at" | "on" | "has" | "and" | "only" | "just" | "having")
        };
        let link = between.is_empty()
            || (between.len() <= 2 && between.iter().all(small) && between.iter().any(|w| *w != "and"));
        (m.foil && ((link && !parted) || (which && between.len() <= 5))).then_some(m)
    }
}

impl Desk<'_> {
    /// The models a number may be of that stands behind a name something is held against: the subject, or that name.
    pub fn subject_or_foil(&self, scene: &Scene, at: usize) -> Option<Vec<usize>> {
        let a = scene.amounts.iter().find(|a| a.at == at)?;
        if let Some(two) = self.set_against(scene, a) {
            return Some(two);
        }
        let last = scene.mentions.iter().rev().find(|m| m.to <= a.from).filter(|m| m.foil)?;
        if let Some(own) = scene.owned_by(a) {
            return Some(own.models.clone());
        }
        let subject = scene.mentions.iter().rev().find(|m| m.to <= last.at && !m.foil && !m.maker);
        let mut models = subject.map_or_else(|| self.models.clone(), |m| m.models.clone());
        if models.is_empty() {
            return None;
        }
        // A verb or "it" between begins anew: the subject's.
        let anew = (last.to..a.from)
            .any(|i| PRONOUNS.contains(&scene.word(i)) || matches!(scene.word(i), "i" | "we" | "you"));
        if !anew {
            models.extend(last.models.iter().filter(|m| !models.contains(m)).copied().collect::<Vec<_>>());
        }
        Some(models)
    }

    /// "The Hob beats it, 44 minutes against 53": the second number is of whoever the first is held against.
    fn set_against(&self, scene: &Scene, a: &Amount) -> Option<Vec<usize>> {
        let link = a.from.checked_sub(1).filter(|i| matches!(scene.word(*i), "against" | "versus" | "vs"))?;
        scene.amounts.iter().find(|b| b.to == link && b.what == a.what)?;
        let mut named = scene.mentions.iter().filter(|m| !m.maker);
        let (one, None) = (named.next()?, named.next()) else { return None };
        let rest = self.models.iter().chain(&self.before).filter(|m| !one.models.contains(m));
        Some(one.models.iter().chain(rest).copied().collect())
    }

    /// The model "only" leaves nothing else ahead of: "only the Pip takes less".
    pub fn before_only(&self, scene: &Scene, i: usize) -> Option<usize> {
        let named = scene.mentions.iter().rev().find(|m| m.to <= i && !m.foil && !m.maker);
        let models = named.map_or(&self.models, |m| &m.models);
        models.first().copied().filter(|_| models.len() == 1)
    }
}
