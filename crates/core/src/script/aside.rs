//! Numbers of somebody else's business: another thing's, a journey's, true of anything.
use super::amount::Amount;
use super::scene::Scene;
use super::unit::{What, unit_at};
use crate::quantity::Dim;

/// Words that make a number of somebody else's business.
const ASIDE: &[&str] = &[
    "warranty",
    "guarantee",
    "video",
    "waited",
    "waiting",
    "rest",
    "rested",
    "ago",
    "discount",
    "coupon",
    "minute-long",
    "subscribe",
    "chapter",
    "episode",
    "shipping",
    "delivery",
    "break",
    "viewers",
    "subscribers",
    "cord",
    "cable",
    "circuit",
    "breaker",
    "independent",
];

/// Somebody else's number, or the measure of a comparison.
pub fn aside(scene: &Scene, a: &Amount) -> bool {
    let next = scene.word(a.to);
    let discount = next == "off" && !matches!(a.what, What::Dim(Dim::Energy | Dim::Time | Dim::Mass));
    let class = discount || ["class", "category", "segment", "range", "size"].contains(&next);
    let than = [
        "more", "less", "lighter", "heavier", "longer", "shorter", "cheaper", "pricier", "faster", "slower",
        "louder", "quieter",
    ];
    let saved = ["save", "saves", "saved", "saving", "difference", "cheaper", "extra", "cord", "shipping"];
    let money = matches!(a.what, What::Money(_)) && scene.says_near(a.at, &saved);
    let of_other = next == "of"
        && (a.to..a.to + 4).any(|k| matches!(scene.word(k), "price" | "weight" | "size" | "cost" | "money"));
    let before = a.from.checked_sub(1).map_or("", |i| scene.word(i));
    // "another forty minutes", "four days later".
    let added = matches!(before, "another" | "further" | "additional")
        || (matches!(next, "later" | "afterwards" | "earlier" | "ago") && scene.tokens[a.at].after.is_none());
    let then = next == "last"
        && matches!(
            scene.word(a.to + 1),
            "year" | "winter" | "summer" | "week" | "month" | "spring" | "autumn" | "fall"
        );
    let added = added || then;
    let beside = added
        || matches!(next, "each" | "apiece" | "below" | "above" | "ahead" | "behind" | "short")
        || (next == "apart");
    // "a day of that"
    let that = next == "of" && matches!(scene.word(a.to + 1), "that" | "this");
    general(scene, a)
        || rested(scene, a)
        || (before == "of"
            && a.from > 1
            && matches!(scene.word(a.from - 2), "most" | "much" | "part" | "some"))
        || that
        || (a.what == What::Dim(Dim::Count) && matches!(before, "after" | "in" | "over" | "within"))
        || travels(scene, a)
        || of_stuff(scene, a)
        || of_things(scene, a)
        || class
        || (than.contains(&next) && scene.tokens[a.to].after.is_none())
        || beside
        || money
        || of_other
        || (scene.says_near(a.at, ASIDE) && !waits_for_it(scene, a))
        || not_alone(scene, a)
}

/// "With box and foam 19.5 kilos", "second-hand for 200 dollars": not the thing as it was weighed, nor as a shop sells it.
fn not_alone(scene: &Scene, a: &Amount) -> bool {
    let hand = (1..scene.tokens.len()).any(|i| scene.word(i) == "hand" && scene.word(i - 1) == "second");
    match a.what {
        What::Dim(Dim::Mass) => {
            let came_in = (1..scene.tokens.len()).any(|i| {
                scene.word(i) == "in"
                    && scene.word(i - 1) == "came"
                    && scene.word(i.saturating_sub(3)) == "box"
            });
            // What is printed on the carton is no part of what was weighed.
            const PACKED: &[&str] = &[
                "including",
                "packaging",
                "package",
                "parcel",
                "carton",
                "boxed",
                "foam",
                "wrapped",
                "packed",
            ];
            let printed = |i: usize| (1..=2).any(|k| i >= k && matches!(scene.word(i - k), "on" | "says"));
            came_in || (0..scene.tokens.len()).any(|i| PACKED.contains(&scene.word(i)) && !printed(i))
        }
        What::Money(_) => hand || scene.says(&["secondhand", "refurbished", "used"]),
        _ => false,
    }
}

/// "Two kilograms of brass": so much of something.
fn of_stuff(scene: &Scene, a: &Amount) -> bool {
    const OWN: &[&str] = &[
        "it", "weight", "mass", "battery", "station", "power", "lithium", "box", "gear", "kit", "load",
        "carry", "lifting",
    ];
    let stuff = scene.word(a.to + 1);
    let article = matches!(stuff, "the" | "its" | "a" | "this" | "that" | "my" | "our" | "what");
    a.what == What::Dim(Dim::Mass)
        && scene.word(a.to) == "of"
        && !article
        && !stuff.is_empty()
        && !OWN.contains(&stuff)
        && scene.mentions.is_empty()
}

/// "Two boxes of 15 and 16 kilos": the measure of things that were counted.
fn of_things(scene: &Scene, a: &Amount) -> bool {
    let first = scene.amounts.iter().find(|b| b.to + 1 == a.from && scene.word(b.to) == "and");
    let from = first.filter(|b| b.what == a.what).unwrap_or(a).from;
    // "two ports of 100 watts"
    const FITTED: &[&str] = &["port", "ports", "outlet", "outlets", "socket", "sockets", "panel", "panels"];
    if from > 1 && matches!(scene.word(from - 1), "of" | "from") && FITTED.contains(&scene.word(from - 2)) {
        return true;
    }
    if scene.measures_a_thing(from) {
        return true;
    }
    let tests = ["runs", "tests", "charges", "discharges", "cycles", "trials", "total"];
    let counted = |b: &Amount| b.what == What::Bare && b.to + 2 == from && !tests.contains(&scene.word(b.to));
    from > 1 && scene.word(from - 1) == "of" && scene.amounts.iter().any(counted)
}

/// "Waited until it gave up": the end is the station's.
fn waits_for_it(scene: &Scene, a: &Amount) -> bool {
    let until = |i: usize| matches!(scene.word(i), "until" | "till" | "for");
    (0..a.at).any(|i| matches!(scene.word(i), "waited" | "waiting") && until(i + 1) && i + 2 < a.from)
}

/// "Let it sit for half an hour": how long a tester left it alone.
fn rested(scene: &Scene, a: &Amount) -> bool {
    let word = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let sits = |w: &str| matches!(w, "sit" | "rest" | "cool" | "stand" | "settle" | "soak" | "relax" | "be");
    let let_it = (3..6).any(|k| matches!(word(k), "let" | "letting" | "lets"));
    a.what == What::Dim(Dim::Time) && word(1) == "for" && sits(word(2)) && let_it
}

/// "Four hours by car", "a twenty-minute walk".
fn travels(scene: &Scene, a: &Amount) -> bool {
    const BY: &[&str] = &["car", "train", "bus", "bike", "plane", "boat", "foot"];
    let (next, then) = (scene.word(a.to), scene.word(a.to + 1));
    let way = matches!(next, "by" | "on") && BY.contains(&then);
    a.what == What::Dim(Dim::Time) && (way || matches!(next, "drive" | "walk" | "flight" | "away"))
}

/// Words between the two sides of an equation.
const EQUALS: &[&str] = &["is", "are", "equals", "makes", "make", "means", "gives"];

/// "A kilowatt-hour is a thousand watt-hours", "five times twelve is sixty watts": true of anything.
fn general(scene: &Scene, a: &Amount) -> bool {
    let Some(is) = a.from.checked_sub(1).filter(|i| EQUALS.contains(&scene.word(*i))) else {
        // The other side: "1 kilowatt-hour is 1,000 watt-hours".
        let same = |b: &Amount| b.what == a.what && b.factor != a.factor && (b.x - a.x).abs() < 1e-9 * a.x;
        let right = |b: &Amount| b.from == a.to + 1 && same(b);
        return EQUALS.contains(&scene.word(a.to)) && scene.amounts.iter().any(right);
    };
    // A unit alone or one of it on the left side.
    let one = |k: usize| {
        let unit = unit_at(&scene.tokens, k).filter(|u| u.2 == is && u.0 == a.what);
        unit.is_some_and(|(_, factor, _)| factor != a.factor && (factor - a.x).abs() < 1e-9 * a.x)
    };
    let factors: Vec<f64> = scene.amounts.iter().filter(|b| b.to <= is).map(|b| b.x / b.factor).collect();
    let product = factors.len() > 1 && (factors.iter().product::<f64>() - a.x / a.factor).abs() < 1e-9 * a.x;
    (is.saturating_sub(3)..is).any(one) || (product && scene.mentions.is_empty())
}
