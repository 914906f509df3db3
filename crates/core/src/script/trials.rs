//! k of n trials: "seven of the twenty switchovers", "not one of the Hob's twenty", "all twenty stayed inside".
use super::amount::Amount;
use super::compare::follows;
use super::judge::Desk;
use super::lemma::root;
use super::lexicon::Takes;
use super::scene::{Scene, sort_of};
use super::unit::What;
use super::{Judgement, Line};

/// Words for a trial.
const TRIALS: &[&str] = &[
    "switchovers",
    "switchover",
    "trials",
    "times",
    "tries",
    "attempts",
    "transfers",
    "pulls",
    "outages",
    "cuts",
    "runs",
    "changeovers",
    "blackouts",
    "switches",
    "tests",
    "drops",
    "goes",
    "switchings",
    "switchbacks",
    "handovers",
    "interruptions",
    "trips",
];
/// Roots of words for a trial beyond the claim, and for one that kept it.
const BEYOND: &[&str] = &[
    "slow", "slower", "long", "longer", "over", "above", "beyond", "exceed", "overran", "overrun", "mis",
    "miss", "fail", "failur", "late", "more", "break", "brok", "crash", "reboot", "restart", "di", "die",
    "dead", "dark", "too", "outsid", "violat", "blew", "past", "top",
];
const KEPT: &[&str] = &[
    "within", "insid", "under", "below", "faster", "quicker", "pas", "pass", "keep", "met", "meet", "mak",
    "hold", "stay", "surviv", "cover", "bridg", "aliv", "fin", "beat", "honour", "honor", "good", "ok",
    "okay", "well",
];

/// What is said: k, n where it is said, and where.
struct Count {
    k: f64,
    n: Option<f64>,
    from: usize,
    to: usize,
}

/// What the bench has: k beyond or kept, of n where n is known.
struct Have {
    beyond: Option<(f64, f64)>,
    kept_share: Option<f64>,
    fact: Option<String>,
}

/// "The compressor started 35 times": counted while it ran.
fn starts(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    if !scene.says(&["fridge", "freezer", "refrigerator", "compressor"]) {
        return;
    }
    let started = scene
        .says(&["start", "starts", "started", "cycles", "cycled", "kicked", "kicks", "switched", "times"]);
    for (i, a) in scene.amounts.iter().enumerate() {
        let count = matches!(a.what, What::Bare | What::Factor | What::Dim(crate::quantity::Dim::Count));
        let near = |k: usize| {
            matches!(super::lemma::root(scene.word(k)), "start" | "cycl" | "kick" | "compressor" | "switch")
        };
        let started = started && (a.from.saturating_sub(6)..a.to + 6).any(near);
        let said = (a.to.saturating_sub(1)..a.to + 2)
            .any(|k| matches!(scene.word(k), "times" | "starts" | "cycles" | "compressor"));
        let models = desk.models_at(scene, a.from);
        let mut marks = models.iter().flat_map(|&m| &desk.book.marks[m]);
        let Some(mark) = marks.find(|k| k.key == "compressor-starts") else { continue };
        if done[i] || !count || !said || !started {
            continue;
        }
        done[i] = true;
        let right = follows(a, mark.x, 0.0);
        let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
        let hint = if right { String::new() } else { format!("the bench has {}", mark.text()) };
        let line = desk.line(scene, a, judgement, Some(mark), hint);
        desk.lines.push(line);
    }
}

/// Checks every count of trials in a sentence.
pub fn counts(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    starts(desk, scene, done);
    shares(desk, scene, done);
    for count in found(scene) {
        let models = desk.models_at(scene, count.from);
        let Some(have) = models.iter().find_map(|&m| have(desk, scene, m)) else { continue };
        let short = scene.amounts.iter().any(|a| sort_of(&a.what) == Takes::Time && a.factor < 1e-6);
        let about = scene.speaks_of("switchover") || scene.speaks_of("rides-through") || short;
        let same_n = have.beyond.is_some_and(|(n, _)| count.n == Some(n));
        // "Of all eleven stations that switch over": stations are counted.
        const STATIONS: &[&str] =
            &["stations", "station", "models", "units", "boxes", "devices", "of", "i", "i've", "we", "we've"];
        if (!about && !same_n) || STATIONS.contains(&scene.word(count.to)) {
            continue;
        }
        let right = have.agrees(scene, &count);
        let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
        let record = have.words();
        let hint = if right { String::new() } else { format!("the bench has {record}") };
        let line = scene.tokens[count.from].line;
        let says = scene.text(count.from, count.to);
        desk.lines.push(Line { line, says, fact: have.fact.clone(), record: Some(record), judgement, hint });
        spend(desk, scene, &count, &have, &models, done);
    }
}

/// "35 percent of its switchovers were slower than claimed", "alive in 10 percent of cases".
fn shares(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    let of_trials = |a: &Amount| {
        let cases =
            |i: usize| TRIALS.contains(&scene.word(i)) || matches!(scene.word(i), "cases" | "time" | "tests");
        scene.word(a.to) == "of" && (a.to + 1..a.to + 6).any(cases)
    };
    for (i, a) in scene.amounts.iter().enumerate() {
        if a.what != What::Dim(crate::quantity::Dim::Ratio) || done[i] || !of_trials(a) {
            continue;
        }
        let about = scene.speaks_of("switchover") || scene.speaks_of("rides-through");
        let models = desk.models_at(scene, a.from);
        let Some(have) = models.iter().find_map(|&m| have(desk, scene, m)).filter(|_| about) else {
            continue;
        };
        let count = Count { k: a.x, n: Some(1.0), from: a.from, to: a.to };
        let late = have.beyond.map(|(n, k)| k / n).or(have.kept_share.map(|s| 1.0 - s));
        let Some(late) = late else { continue };
        let kept = kept(scene, &count).unwrap_or(have.beyond.is_none());
        let right = follows(a, if kept { 1.0 - late } else { late }, 0.005);
        let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
        let record = have.words();
        let hint = if right { String::new() } else { format!("the bench has {record}") };
        let line = desk.line(scene, a, judgement, None, hint);
        desk.lines.push(Line { fact: have.fact.clone(), record: Some(record), ..line });
        spend(desk, scene, &count, &have, &models, done);
    }
}

impl Have {
    fn words(&self) -> String {
        match (self.beyond, self.kept_share) {
            (Some((n, k)), _) => format!("{k:.0} of {n:.0} beyond the claim"),
            (_, share) => format!("{:.0} % kept running", 100.0 * share.unwrap_or(0.0)),
        }
    }
    fn agrees(&self, scene: &Scene, count: &Count) -> bool {
        match (self.beyond, self.kept_share) {
            (Some((n, k)), _) => {
                let said_n = count.n.unwrap_or(n);
                let want = if kept(scene, count).unwrap_or(false) { n - k } else { k };
                said_n == n && count.k.min(said_n) == want
            }
            (_, Some(share)) => {
                let n = count.n.unwrap_or(1.0);
                let share = if kept(scene, count).unwrap_or(true) { share } else { 1.0 - share };
                (count.k.min(n) - share * n).abs() < 0.01
            }
            _ => false,
        }
    }
}

fn have(desk: &Desk, scene: &Scene, m: usize) -> Option<Have> {
    let (marks, counts) = (&desk.book.marks[m], &desk.book.counts[m]);
    let rides = marks.iter().find(|k| k.key == "rides-through");
    let counted = counts.iter().find(|c| scene.speaks_of(&c.0) || c.0 == "switchover");
    match (counted, rides) {
        (Some((_, n, k, id)), _) => {
            Some(Have { beyond: Some((*n, *k)), kept_share: None, fact: Some(id.clone()) })
        }
        (_, Some(mark)) => Some(Have { beyond: None, kept_share: Some(mark.x), fact: mark.fact.clone() }),
        _ => None,
    }
}

/// Does the count speak of trials that kept the claim? The first word for it behind the count says, else the last before.
fn kept(scene: &Scene, count: &Count) -> Option<bool> {
    let inside = |i: usize| scene.cues.iter().any(|c| c.at <= i && i < c.to && c.to - c.at > 1);
    let tells = |i: usize| {
        // "over" of "switched over" is no limit.
        if inside(i) && scene.word(i) == "over" {
            return None;
        }
        let w = root(scene.word(i));
        let says = if BEYOND.contains(&w) { Some(false) } else { KEPT.contains(&w).then_some(true) };
        let denied = (1..=3).any(|k| i.checked_sub(k).is_some_and(|j| j >= count.to && scene.is_not(j)));
        says.map(|s| s != denied)
    };
    // "Failed eighteen of twenty times to keep it alive"
    let fails = |i: usize| matches!(root(scene.word(i)), "fail" | "mis" | "miss" | "crash" | "lost" | "los");
    if (count.from.saturating_sub(3)..count.from).any(fails) {
        return Some(false);
    }
    // In its own clause first.
    let here = |i: &usize| scene.clause[*i] == scene.clause[count.from];
    let own = (count.to..scene.tokens.len()).filter(here).find_map(tells);
    let own = own.or_else(|| (0..count.to).rev().filter(here).find_map(tells));
    let behind = || (count.to..scene.tokens.len()).find_map(tells);
    own.or_else(behind).or_else(|| (0..count.to).rev().find_map(tells))
}

/// Every "k of n" of a sentence.
fn found(scene: &Scene) -> Vec<Count> {
    let mut out: Vec<Count> = (0..scene.tokens.len()).filter_map(|i| none_or_all(scene, i)).collect();
    for pair in scene.amounts.windows(2) {
        let (k, n) = (&pair[0], &pair[1]);
        let covered = out.iter().any(|c| c.from <= k.at && k.at < c.to);
        if let Some(count) = turned(scene, k, n).filter(|_| !covered) {
            out.push(count);
            continue;
        }
        if !covered && links(scene, k, n) {
            out.push(Count { k: k.x, n: Some(n.x), from: k.from, to: n.to });
        }
    }
    out
}

fn is_count(a: &Amount) -> bool {
    matches!(a.what, What::Bare | What::Factor) && a.hi.is_none() && a.x.fract() == 0.0 && a.x <= 1000.0
}

/// "seven of the twenty switchovers", "seven times out of twenty", "2 in 20 runs".
fn links(scene: &Scene, k: &Amount, n: &Amount) -> bool {
    if !is_count(k) || !is_count(n) || n.at < k.to || n.at > k.to + 6 || k.x > n.x {
        return false;
    }
    let named = |i: usize| scene.mentions.iter().any(|m| m.at <= i && i < m.to);
    let link: Vec<&str> = (k.to..n.at).filter(|i| !named(*i)).map(|i| scene.word(i)).collect();
    let small = ["of", "out", "in", "the", "my", "our", "its", "times", "time", "these", "those", "all", "/"];
    // "nine failures in twenty tries"
    let told = |w: &str| BEYOND.contains(&root(w)) || KEPT.contains(&root(w));
    let of = link.contains(&"of")
        || link == ["/"]
        || link == ["in"]
        || matches!(link.as_slice(), [w, "in"] if told(w))
        || link == ["times", "in"]
        || link == ["time", "in"];
    // "three of our twenty were over that": whether so many were tried is asked of the record.
    let short = (n.to..scene.tokens.len()).any(|i| told(scene.word(i)));
    let trials = short
        || n.what == What::Factor
        || k.what == What::Factor
        || (n.to..n.to + 2).any(|t| TRIALS.contains(&scene.word(t)))
        || scene.says(&["trials", "attempts", "tries", "switchovers", "transfers", "changeovers"])
        || scene.speaks_of("switchover")
        || scene.speaks_of("rides-through");
    of && trials && link.iter().all(|w| small.contains(w) || TRIALS.contains(w) || told(w))
}

/// "20 trials, survived: 2", "twenty switchovers, seven too slow": the whole before the part.
fn turned(scene: &Scene, n: &Amount, k: &Amount) -> Option<Count> {
    let trials = (n.to..n.to + 2).any(|t| TRIALS.contains(&scene.word(t))) || n.what == What::Factor;
    let tells = |i: usize| BEYOND.contains(&root(scene.word(i))) || KEPT.contains(&root(scene.word(i)));
    // "twenty cuts, and seven of them took longer"
    let them = scene.word(k.to) == "of" && matches!(scene.word(k.to + 1), "them" | "these" | "those");
    let told = (k.to..k.to + if them { 9 } else { 3 }).any(tells)
        || (k.at.saturating_sub(4).max(n.to)..k.at).any(tells);
    let parts = is_count(n) && is_count(k) && k.x <= n.x && n.x > 1.0 && k.at > n.to;
    (parts && trials && told).then_some(Count { k: k.x, n: Some(n.x), from: n.from, to: k.to })
}

/// "none of the twenty", "not one of its switchovers", "all twenty", "every single one of the 20".
fn none_or_all(scene: &Scene, i: usize) -> Option<Count> {
    let (a, b, c) = (scene.word(i), scene.word(i + 1), scene.word(i + 2));
    let (none, next) = match (a, b, c) {
        ("none", _, _) => (true, i + 1),
        ("not" | "never", "one" | "once", _) => (true, i + 2),
        ("not", "a", "single") => (true, i + 3),
        ("all", _, _) => (false, i + 1),
        ("every", "one", _) | ("every", "single", _) => (false, i + 2),
        ("each" | "every", _, _) => (false, i + 1),
        _ => return None,
    };
    let number = scene.amounts.iter().find(|x| x.at >= next && x.at <= next + 5 && is_count(x) && x.x > 1.0);
    let end = number.map_or(next + 4, |n| n.to);
    let trial = (next..end + 2).find(|&k| TRIALS.contains(&scene.word(k)) && scene.word(k) != "times");
    let known = number.is_some() && (scene.speaks_of("switchover") || scene.speaks_of("rides-through"));
    let to = match (trial, number) {
        (Some(t), n) => (t + 1).max(n.map_or(0, |n| n.to)),
        (None, Some(n)) if known => n.to,
        // "of its twenty switchovers, not one"
        _ => {
            let trials = |x: &&Amount| (x.to..x.to + 2).any(|k| TRIALS.contains(&scene.word(k)));
            let whole = |x: &&Amount| x.to <= i && is_count(x) && x.x > 1.0 && scene.word(next) != "the";
            let n = scene.amounts.iter().rev().filter(whole).find(trials)?;
            let k = if none { 0.0 } else { f64::INFINITY };
            return Some(Count { k, n: Some(n.x), from: n.from, to: next });
        }
    };
    let n = number.map(|n| n.x);
    Some(Count { k: if none { 0.0 } else { f64::INFINITY }, n, from: i, to: to.min(scene.tokens.len()) })
}

/// The numbers a count has dealt with: its own, the rest of the trials, the claimed limit, the share it makes.
fn spend(desk: &mut Desk, scene: &Scene, count: &Count, have: &Have, models: &[usize], done: &mut [bool]) {
    let n = count.n.or(have.beyond.map(|b| b.0));
    for (j, a) in scene.amounts.iter().enumerate() {
        let inside = a.at >= count.from && a.at < count.to;
        let before = a.from.checked_sub(1).map_or("", |i| scene.word(i));
        let rest = matches!(before, "other" | "remaining") && n.is_some_and(|n| a.x == n - count.k);
        let mut marks = models.iter().flat_map(|&m| &desk.book.marks[m]);
        let limit = marks.any(|m| m.key == "switchover" && m.fact.is_some() && (m.x - a.x).abs() < 1e-9);
        done[j] |= inside || rest || limit;
        let share = n.filter(|n| *n > 0.0).map(|n| count.k.min(n) / n);
        if let (What::Dim(crate::quantity::Dim::Ratio), Some(v), false) = (&a.what, share, done[j])
            && follows(a, v, 0.005)
        {
            done[j] = true;
            let line = desk.line(scene, a, Judgement::Agrees, None, String::new());
            desk.lines.push(Line { record: Some(format!("{:.0} %", v * 100.0)), ..line });
        }
    }
}
