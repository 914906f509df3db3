//! The words a script is read with, by what they speak of.
//!
//! Of topics and claims every form of a word is known by one of them ("charge": charges, charged, charging); a word
//! behind `=` and all other senses stand as written.
use super::lexicon::{Firm, Sense};
use Firm::{Strong, Weak};
use Sense::{Claim, Measured, Not, On, Once, Station, Topic};

const ENERGY: &[&str] = &["usable-energy", "stored-energy", "usable-share"];
/// Energy that comes out.
pub const USABLE: &[&str] = &["usable-energy", "usable-share"];
/// A station holds an energy, and it holds a load.
const HOLDS: &[&str] = &["usable-energy", "usable-share", "sustained-output"];
/// Energy that goes in.
pub const WALL: &[&str] = &["wall-energy"];
const FILL: &[&str] = &["wall-energy", "time-to-full"];
const MEAN: &[&str] = &["cycling-mean"];
/// On with nothing to feed: what it draws, and how long.
pub const IDLE: &[&str] = &["idle-draw", "runtime"];
const OUTPUT: &[&str] = &["sustained-output"];
/// What it takes to start a load.
pub const START: &[&str] = &["starting-power"];
const SWITCH: &[&str] = &["switchover"];
const EIGHTY: &[&str] = &["time-to-80"];
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
const DC: &[&str] = &[
    "dc-energy",
    "dc-voltage",
    "port-power",
    "dc-power",
    "port-current",
    "dc-current",
    "port-time",
    "usb-c-output",
];
const OFF: &[&str] = &["switch-off-below", "switch-off-after"];
const CAR: &[&str] = &["car-time", "car-power"];
const RETAINED: &[&str] = &["retained-energy"];
const TOUCH: &[&str] = &["touch-temperature"];
const VOLTAGE: &[&str] = &["outlet-voltage"];
const THD: &[&str] = &["thd"];
const RIDES: &[&str] = &["rides-through"];
const SHARE: &[&str] = &["usable-share"];

/// The topic that is this result alone.
pub fn alone(key: &str) -> Option<&'static [&'static str]> {
    const OF_CYCLES: &[&str] = &["cycling-runtime"];
    let all = [USABLE, WALL, IDLE, OUTPUT, START, SWITCH, EIGHTY, FULL, MASS, NOISE, PRICE, OF_CYCLES];
    all.into_iter().find(|t| t[0] == key)
}

/// Alternatives, separated by `|`, and what they mean.
type Group = (&'static str, Sense);

/// Phrases by sense.
pub static PHRASES: &[Group] = &[
    ("capacity|=stores|=stored|holds energy|battery size|nameplate energy|stash|tank", Topic(ENERGY, Strong)),
    (
        "usable|usable energy|usable capacity|out of the outlet|at the outlet|out of the ac|out of its outlet|from the outlet|out of the socket|at the socket|out of the plug|energy out|of energy|energy",
        Topic(USABLE, Strong),
    ),
    (
        "deliver|give|squeeze|get out of|come out|put out|manage|gets you|=pulled|yield|end up with|hand|hand over|supply|provide|produce|offer|spit out|pump out|push out|dish out|serve up|cough up|extract|draw from|drew out|obtain|give back|get back|return|get from|wring|coax|poured out|was good for|turn out|work out to",
        Topic(USABLE, Weak),
    ),
    ("=into|=wall", Topic(WALL, Weak)),
    (
        "charger of|charger here|charger on|best charger|fastest charger|quickest charger|slowest charger|done after|done in",
        Topic(CHARGE, Weak),
    ),
    ("battery|cells", Topic(ENERGY, Weak)),
    ("=got|=get|=left|outlet|=squeezed", Topic(USABLE, Weak)),
    ("hold", Topic(HOLDS, Weak)),
    (
        "from the wall|out of the wall|off the wall|wall energy|at the wall|swallow|take in|=took in|went in|goes in|energy in|energy into|put into|pumped into|poured into|from the mains|off the mains|out of the mains|from the grid|wall socket|gulped|guzzled|absorb|suck in|soak up|goes into|went into|from the plug|at the plug|off the plug|from the socket",
        Topic(WALL, Strong),
    ),
    ("to refill|to fill|=filling|=refilling|fill it|fill itself", Topic(FILL, Strong)),
    ("on average|averaged|averages|mean draw|average draw|mean power|average power", Topic(MEAN, Weak)),
    (
        "idle|=idles|=idling|idle draw|idle power|own consumption|standby consumption|stand-by consumption|idle current|no-load draw|quiescent|idle consumption|standby|stand-by|no load|no-load|self consumption|parasitic|vampire|on its own|by itself doing nothing|overhead",
        Topic(IDLE, Strong),
    ),
    (
        "leave the ac on|leave it on|left on|left it on|left switched on|leave it switched on|everything off|nothing attached|nothing hooked up|nothing running|nothing plugged in|plug nothing in|nothing on it|nothing connected|nothing attached|do nothing|just being on|just sit|sit there|sits there|without a load|without any load|without load|empty-handed|switched on with nothing|just to be on|just staying on|stand idle|stood idle|to itself|twiddling its thumbs|for itself|for its own|keep itself|for nothing|unloaded|at rest|=rests|=resting|forget to turn|forgot to turn|forget to switch|in stillness|dozing|=dozes|slumber|keeps watch|keep watch|nothing to do",
        Topic(IDLE, Strong),
    ),
    (
        "waste|burn|sip|lose|=drains|=draws|nibble|slurp|drink|eat|chew|munch|guzzle|consume|use up|leak|bleed",
        Topic(IDLE, Weak),
    ),
    (
        "sustain|continuous|continuously|sustained output|output|rated output|rated power|keep that up|keep it up|held until|hold until|until it was empty|until it's empty|until it is empty|until it ran dry|until it runs dry|keep up|until empty|down to empty|non-stop|nonstop|full power|continuous rating|continuous output|hold steady|steady",
        Topic(OUTPUT, Strong),
    ),
    ("=inverter|power station|sustained", Topic(OUTPUT, Weak)),
    (
        "surge|=starting power|=starting surge|=start a|=start your|=start the|=start any|=starts a|=starts an|=starts any|=starting a|=starting load|peak power|=peak|=peaks|inrush|start-up power|startup power|start things|start something|start anything|hard start|heavy start|start of something|for starting",
        Topic(START, Strong),
    ),
    (
        "split second|for an instant|half a second|half second|momentarily|for a moment|a fraction of a second",
        Topic(START, Weak),
    ),
    (
        "=switches in|=switched in|=switches faster|=switches slower|=switches quicker|switchover|switch over|=switched in|=switches in|switch to battery|switch to the battery|transfer|transfer time|changeover|change over|=ups|take over|cut over|dead time|switching over|switching time|flip over|handover|jump in|kick in|step in",
        Topic(SWITCH, Strong),
    ),
    (
        "=charge|=charges|=charged|=charging|recharge|recharging|top itself up|fill itself up|plugged into the wall|top up|topped up|refill|fill up|on the mains|charging time|charge time",
        Topic(CHARGE, Strong),
    ),
    (
        "to 80|to eighty|80 percent|80 per cent|80 %|80 pct|eighty percent|eighty per cent|eighty pct|four fifths|empty to eighty|zero to eighty|flat to eighty|empty to 80|zero to 80|flat to 80|nothing to eighty",
        Topic(EIGHTY, Weak),
    ),
    (
        "ready in|ready after|is ready|was ready|finished charging|done charging|full charging|full charge|complete charge|whole charge|entire charge|fully charged|to full|charged full|completely full|fills up completely|charge to full|until full|until it stopped charging|minutes until it stopped|from empty to full|from flat to full|from zero to full|full at|full after|full in|full up|=full|to the end|until the end|to finish|to the top|to completion|end of charge|charge ends|charge complete|a hundred percent|to a hundred|to one hundred|to 100|100 percent|100 %|topped off|brim|charge complete|completely charged",
        Topic(FULL, Weak),
    ),
    (
        "from a full charge|on a full charge|with a full charge|on one charge|on a single charge|per charge|from one charge|run|runtime|run time|last|going for|going|keep|stay on|go for|will go|goes for|died after|die after|is empty after|=powers|=powered|alive|count on|good for|enough for|stay lit|stays up|stay up|flat in|flat after|dead in|dead after|empty in|empty after|drained in|drained after|hours of|feed|carry|empty|dead|flat|survive|light for|keep on|end after|discharge|lights out|went dark|lights went out|of light|of cold|hold out|soldier on|goes dark|run dry|runs down|depleted",
        Topic(RUN, Weak),
    ),
    (
        "=tripped|=trips|=trip|shut down after|give up|cut out|overheat|throw in the towel|throw in the sponge|call it quits|bail out|bow out|shut off|switch off|quit|shut itself down|fold",
        Topic(TRIP, Weak),
    ),
    (
        "weigh|weight|heavy|tip the scale|scale|mass|heft|lug|chunk|on the scale|in the hand|to carry|light|lump|kerb weight",
        Topic(MASS, Strong),
    ),
    ("noise|noisy|loud|loudness|quiet|=fan|=fans|sound level|whisper|hum", Topic(NOISE, Weak)),
    (
        "full sun|bright sun|solar|solar input|with the sun|from the sun|by the sun|of sun|in the sun|panel|=pv|sunshine|photovoltaic",
        Topic(SOLAR, Strong),
    ),
    (
        "price|cost|how much for|how much is|what do they want for|sits at|on sale at|on sale for|on offer at|on offer for|listed at|priced at|available for|available at|to be had for|for sale at|in the sale|went for|sit at|sitting at|sells for|sell for|goes for|list price|retail|=asking|for sale|right now|=pay|=paid|runs you|sets you back|set me back|listed at|is listed|=list|=lists|they want|=wants|they ask|=ask|=asks|grab|buy|sticker|tag|price tag|for only|yours for|yours today|yours now|buy one|get one|own one|have it for|have the|steal|bargain|pick up|charge for|they charge|came down|dropped to|money",
        Topic(PRICE, Weak),
    ),
    ("=usb|usb-c|12 volt|twelve volt|dc output|=dc|=port|=ports|=socket|barrel", Topic(DC, Weak)),
    (
        "12 v port|12 v socket|12 v outlet|12v port|12v socket|usb-c port|usb port|usb ports|12 volt socket|twelve volt socket|12 volt port|twelve volt port|dc socket|dc port|cigarette socket|barrel port",
        Topic(DC, Strong),
    ),
    (
        "switches itself off|switches off below|turns itself off|power saving|eco mode|auto off",
        Topic(OFF, Strong),
    ),
    ("=car", Topic(CAR, Weak)),
    (
        "car adapter|car charger|car socket|from the car|in the car|off the car|car outlet|cigarette lighter|alternator",
        Topic(CAR, Strong),
    ),
    ("cycles|cycle life|=cycle", Topic(CYCLES, Strong)),
    (
        "retain|retention|of its original|of the original|capacity left|degrade|fade|aged|health",
        Topic(RETAINED, Strong),
    ),
    (
        "surface|casing|housing|case temperature|=shell|shell temperature|hot to the touch|handle temperature|its skin|its shell|the shell",
        Topic(TOUCH, Strong),
    ),
    (
        "output voltage|outlet voltage|voltage at the outlet|volts at the outlet|sags to|sagged to|volts out",
        Topic(VOLTAGE, Strong),
    ),
    ("=hot|heat up|warm up|=handle|=handles|=lid|=vents", Topic(TOUCH, Weak)),
    ("distortion|thd|harmonic|harmonics", Topic(THD, Strong)),
    (
        "computer|pc|desktop|kept alive|rode through|ride through|stayed on|stayed up|stayed alive|kept running",
        Topic(RIDES, Weak),
    ),
    ("efficiency|efficient|round trip|round-trip", Topic(EFFICIENCY, Strong)),
    (
        "share of label|share of the label|share of its label|share of claim|share of the claim|share of rated|share of nameplate|delivered vs claimed|delivered versus claimed|claimed vs delivered|claimed versus delivered|usable vs claimed|usable share|of label|of the label|of its label|of claim|of rated|of spec|of the claimed|of the claim|of its claim|of the stated|of the rated|of the advertised|of what they claim|of what it claims|of what they say|of what they promise|of what is claimed|of its claimed|of its rated|of its stated|of its advertised|of nameplate|of the nameplate|of the capacity|of its capacity|of the number on the box|of what it says|of the figure on the box|of the promised|of what's printed|of what's on the box|of the printed|of what they print|of what they promised|of what they advertise|of what's claimed|of what's advertised|of the maker's figure|of the figure|of what was promised",
        Topic(SHARE, Strong),
    ),
    (
        "claim|told me|told us|they told|=rated|=rates|rating|advertise|promise|quote|on the box|that word|their word|its word|product page|side panel|the box says|spec sheet|specs|=spec|specify|=stated|=states|supposed to|nameplate|according to|on paper|brochure|data sheet|datasheet|catalogue|catalog|leaflet|the manual|the label|on the label|label|sticker|the maker says|they say|marketing|'s box|it says|=says|print|maker|manufacturer|swear|swears by|on the tin|officially|allegedly|boast|vow|guarantee|announce|publish|nominal|nominally|reckon|so they|the ad|advert|packaging|website|label reads|box reads|plate reads|sticker reads|box shows|label shows|sheet reads",
        Claim,
    ),
    (
        "measured|measure|measures|got|get|gave|saw|see|came out|in reality|in practice|actually|on my scale|on our scale|scale|scales|on my bench|on the bench|on our bench|we pulled|clocked|ended up|managed|delivered|delivers|came in|in our test|in my test|in the test|our test|my meter|our meter|squeezed|put out|kept|tipped|in real life|median|we loaded|we timed|ran|real|took|needed|weighed|i say|we say|tested|i timed|i found|we found|found|recorded|logged|obtained|display reads|meter displays|scale says|scales say|meter says|scale shows|meter shows|scale said|meter said|scale reads|meter reads|stopwatch says|stopwatch said|in truth|truly|really|handed|i could|we could|for me|mine",
        Measured,
    ),
    (
        "half of its rated power|a half of its rated power|half its rated power|half of its power|half of its rated output|a half of its rated output|half its rated output|half of its output|half of its rated load|a half of its rated load|half its rated load|half of its load|half load|half power|half of its power|half its power|half the rated|half the load|half of its rating|half its rating|half of the rating|half rated load",
        On("load", "50 %"),
    ),
    (
        "quarter of its rated power|a quarter of its rated power|quarter its rated power|quarter of its power|quarter of its rated output|a quarter of its rated output|quarter its rated output|quarter of its output|quarter of its rated load|a quarter of its rated load|quarter its rated load|quarter of its load|quarter load|a quarter load|quarter power|a quarter of its power|a quarter of its rating|quarter of its rating|a quarter of the rating|a quarter of rated",
        On("load", "25 %"),
    ),
    ("full load|full power|full blast|flat out", On("load", "100 %")),
    ("fast mode|turbo mode|turbo|fast charging|fast charge|fastest mode", On("mode", "fast")),
    ("quiet mode|silent mode|slow mode|night mode", On("mode", "quiet")),
    (
        "as delivered|default mode|default settings|factory settings|the way it's delivered|the way it is delivered|the way it comes|as it comes|the way it came|as it came|left alone|normal mode|standard mode|ordinary mode|usual mode",
        On("mode", "as delivered"),
    ),
    (
        "completely dead|completely empty|totally empty|entirely empty|fully drained|completely drained|fully empty|dead flat|stone dead",
        On("from", "fully empty"),
    ),
    ("with cables|with its cables|with the cables|cables included", On("with", "with cables")),
    ("warm start|started warm|already warm|still warm", On("start", "warm")),
    (
        "corrected|correction|typing error|typo|a mistake|by mistake|was wrong|first number|old number|earlier number|old value|withdrawn|no longer|outdated|misprint|mistyped|old firmware|before the update|before the firmware|used to|previously|originally|earlier firmware|first firmware|back then|at first|was once|formerly|until the update|before that update|old version|out of the box firmware|older firmware|on the old|down from|up from|came down from|fell from|dropped from|rose from",
        Once,
    ),
    (
        "it|its|it's|it'll|it'd|itself|buy one|get one|own one|this one|that one|this thing|this box|the box|the station|the unit|this unit|this station|that's|they|the little one|the big one|this machine|the machine|this power station|that box",
        Station,
    ),
    (
        "not|won't|wouldn't|couldn't|aren't|weren't|haven't|hasn't|isnt|doesnt|didnt|wont|wasnt|cant|dont|isn't|wasn't|doesn't|didn't|never|no|hardly|don't|cannot|can't|nor",
        Not,
    ),
];
