//! How a sentence is built: labels and adverbials before what is said, sentences that are no more than a fragment, and who
//! "she" is.
use super::amount::Amount;
use super::clock::Spoken;
use super::lexicon::{Cue, Firm, Sense};
use super::ranking::{THANS, TOPS};
use super::scene::Scene;
use super::token::Token;
use super::unit::What;
use super::who::Mention;

/// Words that begin an adverbial: "From the wall, the Pip took 223".
const PREPOSITIONS: &[&str] =
    &["from", "at", "under", "with", "on", "in", "off", "out", "after", "for", "into", "without", "to"];

/// The longest adverbial or label before what is said.
const LEAD: usize = 8;

/// Is the stop before token `i` none that parts what is said: behind a label ("Idle draw with the inverter on: 3.9 watts") or an
/// adverbial ("From the wall, it took 223")?
pub fn leads_in(tokens: &[Token], i: usize, numbers: &[usize], mentions: &[Mention]) -> bool {
    let free = !numbers.iter().any(|n| *n < i) && !tokens[1..i].iter().any(|t| t.after.is_some());
    let named = mentions.iter().any(|m| m.at < i);
    match tokens[i].after {
        Some(':') => free && i <= LEAD,
        Some(',') => free && !named && i <= 4 && PREPOSITIONS.contains(&tokens[0].text.as_str()),
        _ => false,
    }
}

/// Descriptions that are of another than the name before them: "The Pip, the tiny one, ..." is one station.
pub fn of_others(tokens: &[Token], named: &[Mention], mut described: Vec<Mention>) -> Vec<Mention> {
    let beside = |d: &Mention| {
        named.iter().any(|m| d.at >= m.to && d.at - m.to <= 1 && tokens[m.to].after == Some(','))
    };
    described.retain(|d| !beside(d));
    described
}

/// The cues of a sentence with those its build adds and takes away.
pub fn cues(tokens: &[Token], mut cues: Vec<Cue>) -> Vec<Cue> {
    she(tokens, &mut cues);
    compared(tokens, &mut cues);
    cues.retain(|c| !latest(tokens, c));
    // "From completely empty it needed 143 minutes": where a charge began, and no end of a discharge; "a quarter of its rated
    // power" is a load, and no output.
    let state = |c: &&Cue| matches!(c.sense, Sense::On("from", _) | Sense::On("load", "50 %" | "25 %"));
    let states: Vec<Cue> = cues.iter().filter(state).copied().collect();
    let inside = |c: &Cue| states.iter().any(|f| f.at <= c.at && c.to <= f.to);
    cues.retain(|c| !matches!(c.sense, Sense::Topic(..)) || !inside(c));
    cues
}

/// Words for people, beside whom "she" is no station.
const PEOPLE: &[&str] = &[
    "wife",
    "mother",
    "mum",
    "mom",
    "sister",
    "daughter",
    "aunt",
    "grandma",
    "grandmother",
    "niece",
    "neighbor",
    "neighbour",
    "girlfriend",
    "lady",
    "woman",
    "girl",
    "boss",
    "doctor",
    "nurse",
    "teacher",
    "friend",
    "partner",
    "reader",
    "viewer",
    "colleague",
    "cat",
    "dog",
];

/// "She'll pull 1,879 watts": a station, as a boat is one, unless somebody else is named whom the word may stand for.
fn she(tokens: &[Token], cues: &mut Vec<Cue>) {
    let people = tokens.iter().any(|t| PEOPLE.contains(&t.text.as_str()));
    let she = |i: usize| matches!(tokens[i].text.as_str(), "she" | "she's" | "she'll" | "she'd");
    if !people {
        let all = (0..tokens.len()).filter(|i| she(*i));
        cues.extend(all.map(|i| Cue { at: i, to: i + 1, sense: Sense::Station }));
    }
}

/// "Last year's", "the last watt": "last" that is no verb. Nor does "into 7.5 kilograms" speak of the wall.
fn latest(tokens: &[Token], c: &Cue) -> bool {
    const WHEN: &[&str] = &[
        "year", "year's", "years", "week", "month", "night", "time", "summer", "winter", "spring", "autumn",
        "fifth", "drop", "bit", "watt", "percent", "minute", "one", "few", "part", "of", "in", "video",
    ];
    let word = |i: usize| tokens.get(i).map_or("", |t| t.text.as_str());
    let article = c.at > 0 && matches!(word(c.at - 1), "the" | "this" | "my" | "our" | "at" | "very" | "his");
    // "Packs 485 watt-hours into 7.5 kilograms"
    if word(c.at) == "into" && c.to == c.at + 1 && word(c.to).starts_with(|d: char| d.is_ascii_digit()) {
        return true;
    }
    let before = |k: usize| c.at.checked_sub(k).map_or("", word);
    // "Before it switched itself off", "the side panel"
    let off = matches!(c.sense, Sense::Topic(["switch-off-below", ..], _));
    if off && before(1) == "it" && matches!(before(2), "before" | "until" | "till" | "when" | "then" | "and")
    {
        return true;
    }
    // "The 1,490 watt-hours on the sticker": no price.
    if word(c.at) == "sticker" && before(1) == "the" && matches!(c.sense, Sense::Topic(["price", ..], _)) {
        return true;
    }
    if word(c.at).starts_with("panel") && matches!(before(1), "side" | "front" | "back" | "rear" | "control")
    {
        return true;
    }
    word(c.at) == "last" && c.to == c.at + 1 && (article || WHEN.contains(&word(c.to)))
}

/// "Heavier than the Wayfarer, 13.25 against 10.55": a word that compares tells what the numbers behind it are.
fn compared(tokens: &[Token], cues: &mut Vec<Cue>) {
    for (i, t) in tokens.iter().enumerate() {
        let word = THANS.iter().chain(TOPS).find(|w| w.0 == t.text);
        let keys =
            word.filter(|w| matches!(w.1, "mass" | "noise")).and_then(|w| super::vocabulary::alone(w.1));
        let known = cues.iter().any(|c| c.at <= i && i < c.to && matches!(c.sense, Sense::Topic(..)));
        let firm = Firm::Weak;
        cues.extend(keys.filter(|_| !known).map(|k| Cue { at: i, to: i + 1, sense: Sense::Topic(k, firm) }));
    }
}

/// Words that make somebody else than the station the subject of a sentence.
const OTHERS: &[&str] = &[
    "i", "we", "you", "he", "they", "my", "our", "your", "his", "their", "who", "there", "i'm", "i'd",
    "i've", "we've", "me", "us",
];

/// A fragment has no more words.
const FRAGMENT: usize = 16;

impl Scene {
    /// "The Ember sits at 61 percent": a sentence that names no topic of its own goes on with those before it.
    pub fn goes_on_with(&self, keys: &[&'static [&'static str]], a: &Amount) -> bool {
        let other = self.tokens.iter().any(|t| OTHERS.contains(&t.text.as_str()));
        let strong = |c: &Cue| matches!(c.sense, Sense::Topic(_, Firm::Strong));
        let told = |t: &Token| THANS.iter().chain(TOPS).any(|w| w.0 == t.text && !matches!(w.1, "" | "time"));
        let own = self.cues.iter().any(strong) || self.tokens.iter().any(told);
        self.tokens.len() <= FRAGMENT && !keys.is_empty() && !own && !other && !self.asks && !self.stranger(a)
    }

    /// "A hundred watts for seventeen hours": a short line in which nobody else is spoken of.
    pub fn is_bare_line(&self) -> bool {
        let you = |t: &Token| matches!(t.text.as_str(), "you" | "you'd" | "you'll");
        let other = self.tokens.iter().any(|t| OTHERS.contains(&t.text.as_str()) && !you(t));
        self.tokens.len() <= 16 && !other && !self.asks && !self.amounts.iter().any(|a| self.stranger(a))
    }

    /// "Time to full from AC cut-off: 2 h 14 min", "80 percent after 53 minutes": nobody is named, and nothing else is spoken of
    /// than what the sentences before were about.
    pub fn is_fragment(&self, a: &Amount) -> bool {
        let short = self.tokens.len() <= FRAGMENT;
        let topic = self.cues.iter().any(|c| matches!(c.sense, Sense::Topic(..) | Sense::On(..)));
        let other = self.tokens.iter().any(|t| OTHERS.contains(&t.text.as_str()));
        // "A kilowatt-hour costs 30 cents": of the grid.
        let grid = matches!(a.what, What::Money(_) | What::MoneyPerWh(_))
            && self.says(&["kilowatt", "kilowatt-hour", "kilowatt-hours", "kwh", "tariff", "electricity"]);
        short && topic && !grid && !other && !self.asks && !self.stranger(a)
    }
}

/// The places where numbers and times of day stand.
pub fn places(amounts: &[Amount], stamps: &[Spoken]) -> Vec<usize> {
    amounts.iter().map(|a| a.from).chain(stamps.iter().map(|s| s.at)).collect()
}
