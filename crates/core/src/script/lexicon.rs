//! What words speak of: which results, the maker's figure or the bench's, under which condition.
use super::token::Token;
use crate::claims;
use crate::quantity::Dim;
use std::collections::BTreeMap;

/// How firmly a word speaks of its topic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Firm {
    /// A number with it is a statement about the station.
    Strong,
    /// Only in company of the station.
    Weak,
}

/// What a word or phrase does to the numbers near it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sense {
    /// It speaks of these results.
    Topic(&'static [&'static str], Firm),
    /// The maker says so.
    Claim,
    /// The bench says so.
    Measured,
    /// A condition: axis and value.
    On(&'static str, &'static str),
    /// It was so once.
    Once,
    /// A word for the station itself.
    Station,
    /// Not.
    Not,
}

/// A sense found in a sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cue {
    /// First token.
    pub at: usize,
    /// Token after it.
    pub to: usize,
    /// What it means.
    pub sense: Sense,
}

use Firm::{Strong, Weak};
use Sense::{Claim, Measured, Not, On, Once, Station, Topic};

const ENERGY: &[&str] = &["usable-energy", "stored-energy", "usable-share"];
const USABLE: &[&str] = &["usable-energy", "usable-share"];
const WALL: &[&str] = &["wall-energy"];
const IDLE: &[&str] = &["idle-draw", "runtime"];
const OUTPUT: &[&str] = &["sustained-output"];
const START: &[&str] = &["starting-power"];
const SWITCH: &[&str] = &["switchover"];
const CHARGE: &[&str] = &["time-to-80", "time-to-full"];
const FULL: &[&str] = &["time-to-full"];
const RUN: &[&str] = &["runtime", "cycling-runtime", "appliance-runtime"];
const TRIP: &[&str] = &["time-held"];
const MASS: &[&str] = &["mass"];
const NOISE: &[&str] = &["noise"];
const SOLAR: &[&str] = &["solar-input"];
const PRICE: &[&str] = &["price", "price-per-wh"];
const CYCLES: &[&str] = &["cycles"];
const EFFICIENCY: &[&str] = &["round-trip", "efficiency"];
const DC: &[&str] =
    &["dc-energy", "port-power", "dc-power", "port-current", "dc-current", "port-time", "usb-c-output"];
const OFF: &[&str] = &["switch-off-below", "switch-off-after"];
const CAR: &[&str] = &["car-time", "car-power"];
const SHARE: &[&str] = &["usable-share"];

type Group = (&'static str, Sense);

/// Phrases by sense; alternatives separated by `|`.
static PHRASES: &[Group] = &[
    ("capacity|stores|stored|holds energy|battery size|nameplate energy|stash", Topic(ENERGY, Strong)),
    (
        "usable|usable energy|usable capacity|out of the outlet|at the outlet|of energy|energy",
        Topic(USABLE, Strong),
    ),
    (
        "delivers|delivered|deliver|gave|gives|give|squeezed|squeeze|get out of|got out of|came out|comes out|put out|puts out|managed|gets you|pulled|yielded|yields|ended up with",
        Topic(USABLE, Weak),
    ),
    ("got|get|holds|held|saw|left", Topic(USABLE, Weak)),
    (
        "from the wall|out of the wall|wall energy|at the wall|to refill|to fill|swallowed|took in",
        Topic(WALL, Strong),
    ),
    (
        "idle|idles|idling|idle draw|idle power|standby|stand-by|no load|no-load|self consumption|parasitic|vampire|on its own",
        Topic(IDLE, Strong),
    ),
    (
        "leave the ac on|leave it on|leaving it on|left on|left it on|everything off|nothing attached|nothing hooked up|nothing running|nothing plugged in|nothing on it|nothing connected|doing nothing|just being on|just sitting|sitting there|sit there|without a load|empty-handed|switched on with nothing|just to be on|just staying on",
        Topic(IDLE, Strong),
    ),
    ("wasted|wastes|wasting|burns|burned|burning|sips|sipped|loses|lost|drains", Topic(IDLE, Weak)),
    (
        "sustain|sustains|continuous|continuously|sustained|output|rated output|rated power|kept that up|kept it up|held until|until it was empty|non-stop|nonstop|full power",
        Topic(OUTPUT, Strong),
    ),
    ("inverter|power station", Topic(OUTPUT, Weak)),
    (
        "surge|surges|starting power|starting surge|peak power|peak|inrush|start-up power",
        Topic(START, Strong),
    ),
    (
        "switchover|switchovers|switches over|switch over|switched over|transfer|transfers|transfer time|changeover|changes over|ups|took over|takes over|cut over|cuts over|dead time|switching over|switching time",
        Topic(SWITCH, Strong),
    ),
    (
        "charge|charges|charged|charging|recharge|recharges|recharged|recharging|topped itself up|tops itself up|filled itself up|fills itself up|plugged into the wall|top up|topped up|refill|fills up|filled up|fill up",
        Topic(CHARGE, Strong),
    ),
    ("80 percent|80 %|eighty percent", Topic(&["time-to-80"], Weak)),
    (
        "full charge|fully charged|to full|charged full|completely full|fills up completely|charge to full|until full|from empty to full|from flat to full|from zero to full",
        Topic(FULL, Strong),
    ),
    (
        "runs|run|ran|running|runtime|run time|lasts|last|lasted|going for|kept|keeps|keep|stayed on|stays on|went for|died after|dies after|is empty after|powers|powered|alive|count on|good for|enough for|stays lit|stay lit|stays up|flat in|flat after|dead in|dead after|empty in|drained in|drained after|hours of",
        Topic(RUN, Weak),
    ),
    ("tripped|trips|trip|shut down after|gave up|gives up|cut out|overheated", Topic(TRIP, Strong)),
    (
        "weighs|weigh|weighed|weight|heavy|weighs in|tips the scales|tip the scales|scale|scales|mass|heft|lug",
        Topic(MASS, Strong),
    ),
    ("noise|noisy|loud|loudness|quiet|fan|fans|sound level", Topic(NOISE, Weak)),
    ("solar|solar input|panels|panel|pv", Topic(SOLAR, Strong)),
    (
        "price|prices|priced|costs|cost|sells for|sell for|goes for|list price|retails|asking|for sale|right now|pay|paid|runs you|sets you back|listed at|is listed|list|they want|wants|they ask",
        Topic(PRICE, Weak),
    ),
    ("usb|usb-c|12 volt|dc output|dc|port|ports|socket", Topic(DC, Weak)),
    (
        "switches itself off|switches off below|turns itself off|power saving|eco mode|auto off",
        Topic(OFF, Strong),
    ),
    ("car|car socket|cigarette lighter", Topic(CAR, Weak)),
    ("cycles|cycle life", Topic(CYCLES, Strong)),
    ("efficiency|efficient|round trip|round-trip", Topic(EFFICIENCY, Strong)),
    (
        "of the claimed|of the claim|of its claim|of the stated|of the rated|of the advertised|of what they claim|of what it claims|of what they say|of what they promise|of what is claimed|of its claimed|of its rated|of its stated|of its advertised|of nameplate|of the nameplate|of the capacity|of its capacity|of the number on the box|of what it says|of the figure on the box|of the promised|of what's printed|of what's on the box|of the printed|of what they print|of what they promised|of what they advertise|of what's claimed|of what's advertised|of the maker's figure",
        Topic(SHARE, Strong),
    ),
    (
        "claims|claim|claimed|rated|rates|advertised|advertise|advertises|promises|promised|promise|quotes|quoted|on the box|spec sheet|specs|spec|specified|stated|states|supposed to|nameplate|according to|on paper|brochure|the manual|the label|the maker says|they say|marketing|'s box|it says|says|rates",
        Claim,
    ),
    (
        "measured|measure|measures|got|get|gave|saw|see|came out|in reality|in practice|actually|on my scale|on our scale|scale|on my bench|on the bench|we pulled|clocked|ended up|managed|delivered|delivers|came in|in our test|in my test|in the test|our test|my meter|squeezed|put out|kept|tipped|in real life|median|we loaded|we timed|ran|real|took|needed|weighed",
        Measured,
    ),
    (
        "half load|half power|half of its power|half its power|half the rated|half the load",
        On("load", "50 %"),
    ),
    ("quarter load|a quarter load|quarter power|a quarter of its power", On("load", "25 %")),
    ("full load|full power|full blast|flat out", On("load", "100 %")),
    ("fast mode|turbo mode|turbo|fast charging|fast charge|fastest mode", On("mode", "fast")),
    ("quiet mode|silent mode|slow mode|night mode", On("mode", "quiet")),
    ("as delivered|default mode|default settings|factory settings", On("mode", "as delivered")),
    ("completely dead|fully empty|dead flat|stone dead", On("from", "fully empty")),
    ("with cables|with its cables|with the cables|cables included", On("with", "with cables")),
    ("warm start|started warm|already warm|still warm", On("start", "warm")),
    (
        "old firmware|before the update|before the firmware|used to|previously|originally|earlier firmware|first firmware|back then|at first|was once|formerly|until the update|before that update",
        Once,
    ),
    (
        "it|its|it's|itself|this one|that one|this thing|this box|the box|the station|the unit|this unit|this station|that's|they",
        Station,
    ),
    ("not|isn't|wasn't|doesn't|didn't|never|no|hardly|don't|cannot|can't|nor", Not),
];

/// Phrases by their first word, longest first.
pub struct Lexicon(BTreeMap<&'static str, Vec<(Vec<&'static str>, Sense)>>);

impl Lexicon {
    /// Sorts the phrases for looking up.
    pub fn new() -> Lexicon {
        let mut map: BTreeMap<&'static str, Vec<(Vec<&'static str>, Sense)>> = BTreeMap::new();
        for (phrases, sense) in PHRASES {
            for phrase in phrases.split('|') {
                // Hyphens part words when a script is read, so they do here.
                let words: Vec<&str> = phrase.split([' ', '-']).collect();
                map.entry(words[0]).or_default().push((words, *sense));
            }
        }
        map.values_mut().for_each(|v| v.sort_by_key(|(w, _)| std::cmp::Reverse(w.len())));
        Lexicon(map)
    }
    /// Every cue of a sentence; of topics at one place only the longest.
    pub fn cues(&self, tokens: &[Token]) -> Vec<Cue> {
        let mut out: Vec<Cue> = Vec::new();
        for at in 0..tokens.len() {
            let Some(list) = self.0.get(tokens[at].text.as_str()) else { continue };
            for (words, sense) in list {
                let fits =
                    words.iter().enumerate().all(|(k, w)| tokens.get(at + k).is_some_and(|t| t.text == *w));
                let to = at + words.len();
                let kind = std::mem::discriminant(sense);
                let inside =
                    out.iter().any(|c| c.to > at && c.to >= to && std::mem::discriminant(&c.sense) == kind);
                if fits && !inside {
                    out.push(Cue { at, to, sense: *sense });
                }
            }
        }
        out
    }
}

/// The dimension-like sort of amounts a key takes.
pub fn takes(key: &str) -> Takes {
    match key {
        "usable-energy" | "stored-energy" | "wall-energy" => Takes::Energy,
        "idle-draw" | "sustained-output" | "starting-power" | "solar-input" | "cycling-mean" => Takes::Power,
        "switchover" | "time-to-80" | "time-to-full" | "runtime" | "cycling-runtime"
        | "appliance-runtime" | "time-held" | "overload-time" => Takes::Time,
        "usable-share" | "efficiency" | "round-trip" | "shown-at-end" | "rides-through" | "starts" => {
            Takes::Ratio
        }
        "mass" => Takes::Mass,
        "noise" => Takes::Level,
        "price" => Takes::Money,
        "price-per-wh" => Takes::MoneyPerWh,
        "cycles" => Takes::Count,
        _ => claims::spec_of(key).map_or(Takes::Other, |spec| match spec.dim {
            Dim::Energy => Takes::Energy,
            Dim::Power => Takes::Power,
            Dim::Time => Takes::Time,
            Dim::Ratio => Takes::Ratio,
            _ => Takes::Other,
        }),
    }
}

/// See [`takes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    /// Watt-hours.
    Energy,
    /// Watts.
    Power,
    /// Hours.
    Time,
    /// Shares.
    Ratio,
    /// Kilograms.
    Mass,
    /// Decibels.
    Level,
    /// Money.
    Money,
    /// Money per Wh.
    MoneyPerWh,
    /// A count.
    Count,
    /// Anything else.
    Other,
}
