//! Numbers that follow from others said beside them: the time between two clock times, a price by an energy, a share.
use super::amount::Amount;
use super::apart::{beyond_claim, by_change, changed, difference};
use super::book::Whose;
use super::clock::{Spoken, between};
use super::compare::{self, Fit, follows};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Sense, Takes};
use super::scene::Scene;
use super::unit::What;
use super::{Judgement, Line};
use crate::quantity::Dim;
use crate::shown::duration_words;

/// The pairs of clock times a duration of this sentence may lie between: those said in it, or just before.
fn spans(desk: &Desk, scene: &Scene) -> Vec<(Spoken, Spoken)> {
    let before = &desk.stamps;
    match (scene.stamps.as_slice(), before.as_slice()) {
        ([], [a, b]) if scene.tokens.len() < 14 => vec![(*a, *b)],
        ([], [_]) if scene.tokens.len() < 14 => desk.past.span.into_iter().collect(),
        // "18:00 start, 18:53 80 percent, 19:33 full. Total 93 minutes"
        ([], [a, .., b]) if scene.tokens.len() < 14 && scene.says(&["total", "altogether", "overall"]) => {
            vec![(*a, *b)]
        }
        ([one], [a]) => vec![(*a, *one)],
        ([end, start], _) if turned(scene, *end, *start) => vec![(*start, *end)],
        (all, _) => {
            let later = |i: usize| all[i + 1..].iter().map(move |b| (all[i], *b));
            (0..all.len().min(MOST_STAMPS)).flat_map(later).collect()
        }
    }
}

/// "It died at 8:23, we had begun at 6:48": the end is told first.
fn turned(scene: &Scene, first: Spoken, second: Spoken) -> bool {
    let before =
        |s: Spoken, words: &[&str]| (s.at.saturating_sub(4)..s.at).any(|i| words.contains(&scene.word(i)));
    let starts = ["begun", "began", "started", "start", "since", "beginning", "after", "from", "gone"];
    let ends = [
        "stops", "quits", "dies", "ends", "ready", "clock", "died", "stopped", "ended", "down", "quit",
        "off", "came", "finished", "end", "empty", "over", "full", "done",
    ];
    // "Stopped at 1:57 PM, which from 10:39 AM is": the word for the beginning stands between the two.
    let between = (first.to..second.at).any(|i| starts.contains(&scene.word(i)));
    between && before(second, &starts) && before(first, &ends)
}

/// More clock times than these in a sentence are a timetable.
const MOST_STAMPS: usize = 6;

/// Checks a duration against the clock times said with it or just before.
pub fn elapsed(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    let spans = spans(desk, scene);
    let whole = |x: &Amount| x.what == What::Dim(Dim::Time) && x.x >= 1.0 / 60.0 && !x.describes_next(scene);
    let last = scene.stamps.last().map_or(0, |s| s.to);
    let pick = |after: bool| {
        let here = |x: &Amount| whole(x) && (x.at >= last) == after && !scene.says_near(x.at, &["while"]);
        (0..scene.amounts.len()).filter(|&i| here(&scene.amounts[i])).collect::<Vec<_>>()
    };
    let behind = pick(true);
    let said = if behind.is_empty() { pick(false) } else { behind };
    let fits = |said: &Amount, h: f64| {
        // "About an hour and a half" may be an hour and 35 minutes; slips of the clock are larger.
        let about = said.hedge == Hedge::About && (said.x - h).abs() <= 0.07 * h;
        follows(said, h, 1.0 / 60.0) || about
    };
    let fit = |said: &Amount| {
        let ways = spans.iter().flat_map(|(a, b)| between(*a, *b).into_iter().map(|h| (*a, *b, h)));
        ways.into_iter().find(|w| fits(said, w.2))
    };
    let found: Vec<(usize, _)> = said.iter().filter_map(|&i| Some((i, fit(&scene.amounts[i])?))).collect();
    for (i, (a, b, hours)) in &found {
        done[*i] = true;
        let line = desk.line(scene, &scene.amounts[*i], Judgement::Agrees, None, String::new());
        desk.lines.push(Line { record: Some(span_words(*a, *b, *hours)), ..line });
    }
    if !of_a_span(desk, scene) || !goes_on(scene) {
        return;
    }
    if let (true, [(a, b)], Some(&i)) = (found.is_empty(), spans.as_slice(), said.first()) {
        let x = scene.amounts[i].x;
        let ways = between(*a, *b);
        let Some(hours) = ways.iter().min_by(|p, q| (*p - x).abs().total_cmp(&(*q - x).abs())) else {
            return;
        };
        // Nearly a day around the clock against an hour: the two times were not told as a beginning and an end.
        let models = desk.models_at(scene, scene.amounts[i].at);
        let mut marks = models.iter().flat_map(|&m| &desk.book.marks[m]);
        let recorded = scene.stamps.is_empty()
            && !scene.says(FOLLOWS)
            && marks.any(|k| {
                k.is_bench()
                    && k.takes == Takes::Time
                    && scene.speaks_of(&k.key)
                    && compare::fit(&scene.amounts[i], k, &[]) == Fit::Agrees
            });
        if recorded {
            return;
        }
        let each = scene.word(scene.amounts[i].to) == "each";
        if each || (b.minutes < a.minutes && *hours > 12.0 && x < hours / 4.0) {
            return;
        }
        done[i] = true;
        let record = span_words(*a, *b, *hours);
        let hint = format!("it is {record}; 12 am is midnight, 12 pm noon");
        let line = desk.line(scene, &scene.amounts[i], Judgement::WrongElapsed, None, hint);
        desk.lines.push(Line { record: Some(record), ..line });
    }
}

/// Words for a time that follows from two clock times.
const FOLLOWS: &[&str] =
    &["that's", "thats", "that", "so", "makes", "made", "total", "took", "which", "means", "altogether"];

/// A time without clock times beside it follows from those before it where it says so: "that's 53 minutes"; "it kept the
/// fridge cold for twenty hours" is another time.
fn goes_on(scene: &Scene) -> bool {
    let number = scene.amounts.iter().find(|a| a.what == What::Dim(Dim::Time)).map_or(0, |a| a.to - a.from);
    !scene.stamps.is_empty() || scene.says(FOLLOWS) || scene.tokens.len() <= 6.max(number + 6)
}

/// Two clock times and a duration belong together where a word joins them or a test is spoken of; "19:30, doors open at
/// 19:15, about ninety minutes" is an announcement.
fn of_a_span(desk: &Desk, scene: &Scene) -> bool {
    const BEGINS: &[&str] = &[
        "begun",
        "beginning",
        "start",
        "started",
        "starts",
        "began",
        "begun",
        "begins",
        "begin",
        "on",
        "in",
    ];
    const ENDS: &[&str] = &[
        "end", "finish", "ended", "ends", "finished", "stopped", "stops", "off", "out", "done", "died",
        "dead",
    ];
    let both = scene.says(BEGINS) && scene.says(ENDS);
    let told = !scene.mentions.is_empty() || !desk.models.is_empty();
    let before = |s: &Spoken| s.at.checked_sub(1).map_or("", |i| scene.word(i));
    let joined = scene.stamps.windows(2).any(|w| {
        let link = matches!(before(&w[1]), "to" | "until" | "till" | "til");
        let pair = matches!(before(&w[0]), "from" | "between") && before(&w[1]) == "and";
        (link || pair) && w[1].at - w[0].to <= 5
    });
    // Times of the sentence before, and the time between them in this one.
    let answer = scene.stamps.len() < 2;
    answer || told || joined || both || scene.of_station()
}

fn span_words(a: Spoken, b: Spoken, hours: f64) -> String {
    format!("{} from {} to {}", exact_words(hours), clock(a), clock(b))
}

/// "1 h 35 min" to the minute.
fn exact_words(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    if minutes < 60 { duration_words(hours) } else { format!("{} h {} min", minutes / 60, minutes % 60) }
}

fn clock(s: Spoken) -> String {
    format!("{:02}:{:02}", s.minutes / 60, s.minutes % 60)
}

impl Amount {
    /// "a 10-minute break".
    fn describes_next(&self, scene: &Scene) -> bool {
        self.describes
            && scene.tokens.get(self.to.saturating_sub(1)).is_some_and(|t| t.glued)
            && !scene.word(self.to).is_empty()
    }
}

/// Energies said in a sentence; a bare number beside "of the claimed" is one.
pub fn energies(scene: &Scene) -> Vec<&Amount> {
    let claimed = |a: &Amount| {
        let before = a.from.checked_sub(1).map_or("", |i| scene.word(i));
        // "85 percent of the 1,010 they print"
        let they = before == "the"
            && a.from >= 2
            && scene.word(a.from - 2) == "of"
            && matches!(
                scene.word(a.to),
                "they" | "claimed" | "printed" | "on" | "it" | "promised" | "advertised"
            );
        let of = scene.word(a.to) == "of"
            && matches!(scene.word(a.to + 2), "claimed" | "stated" | "advertised" | "rated" | "promised");
        let behind = matches!(
            scene.word(a.to),
            "claimed" | "stated" | "advertised" | "rated" | "promised" | "printed"
        ) && scene.tokens[a.to].after.is_none();
        a.what == What::Bare
            && a.x >= 20.0
            && (they
                || behind
                || matches!(before, "claimed" | "stated" | "advertised" | "rated" | "promised")
                || of)
    };
    scene.amounts.iter().filter(|a| a.what == What::Dim(Dim::Energy) || claimed(a)).collect()
}

/// A share of two energies, a price by an energy: worked out again from the numbers said.
pub fn quotients(desk: &mut Desk, scene: &Scene, done: &mut [bool]) {
    let mut worked_out = false;
    for (a, done) in scene.amounts.iter().zip(done.iter_mut()) {
        if *done || scene.is_tariff(a) {
            continue;
        }
        let found = match a.what {
            What::MoneyPerWh(_) => per_wh(desk, scene, a),
            _ if by_change(scene, a) => changed(desk, scene, a),
            What::Dim(Dim::Ratio) => difference(scene, a)
                .or_else(|| share(desk, scene, a))
                .or_else(|| super::times::of_promise(desk, scene, a))
                .or_else(|| super::times::out_of(scene, a)),
            What::Bare if super::times::is_sum(scene, a) => super::times::sum(scene, a),
            What::Dim(Dim::Energy) if super::times::is_sum(scene, a) => super::times::sum(scene, a),
            What::Dim(Dim::Energy) => difference(scene, a).or_else(|| product(desk, scene, a)),
            What::Dim(Dim::Mass | Dim::Time) => difference(scene, a).or_else(|| beyond_claim(desk, scene, a)),
            What::Money(_) if a.x < 3.0 && scene.says(&["each", "divide", "divided"]) => {
                per_wh(desk, scene, a)
            }
            What::Money(_) => difference(scene, a),
            What::Factor => super::times::of_two(scene, a),
            What::EnergyPer(unit) => super::times::per(scene, a, unit),
            What::Bare if super::times::is_ratio(scene, a) => super::times::of_two(scene, a),
            _ => None,
        };
        let Some((v, doubt, how)) = found else { continue };
        worked_out |= a.what == What::Dim(Dim::Energy) && follows(a, v, doubt);
        *done = true;
        let right = follows(a, v, doubt);
        let hint = if right { String::new() } else { format!("the numbers beside it give {how}") };
        let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
        let line = desk.line(scene, a, judgement, None, hint);
        desk.lines.push(Line { record: Some(how), ..line });
    }
    // The time an energy was worked out over is no result of its own.
    let time = |a: &Amount| a.what == What::Dim(Dim::Time);
    if worked_out && scene.amounts.iter().filter(|a| time(a)).count() == 1 {
        scene.amounts.iter().zip(done).filter(|(a, _)| time(a)).for_each(|(_, done)| *done = true);
    }
}

/// "10 watts over 24 hours, that's 240 watt-hours": only where it fits, for else another energy is meant.
fn product(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let of = |dim: Dim| scene.amounts.iter().filter(move |x| x.what == What::Dim(dim)).map(|x| x.x);
    let powers: Vec<f64> = of(Dim::Power).chain(desk.powers.iter().copied()).collect();
    // "In 24 hours of idling it loses 148 watt-hours": at the idle draw on record.
    let models = desk.models_at(scene, a.at);
    let marks = models.iter().flat_map(|&m| &desk.book.marks[m]);
    let idle =
        marks.filter(|k| k.key == "idle-draw" && k.whose == Whose::Bench && scene.speaks_of("idle-draw"));
    let powers: Vec<f64> = powers.into_iter().chain(idle.map(|k| k.x)).collect();
    let products = powers.iter().flat_map(|p| of(Dim::Time).map(move |t| p * t));
    let lone = scene.says(&["adds", "add"]) && energies(scene).len() == 1;
    let only = || products.clone().next().filter(|_| lone && products.clone().count() == 1);
    let fits = products.clone().find(|v| follows(a, *v, 0.01 * v)).or_else(only)?;
    Some((fits, 0.01 * fits, format!("{fits:.0} Wh")))
}

fn per_wh(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let price = scene.amounts.iter().find(|p| matches!(p.what, What::Money(_)) && p.at != a.at)?;
    // The energy of another station is no part of this quotient.
    let same = desk.energies_of == desk.models_at(scene, a.at);
    let before: &[(f64, f64)] = if same { &desk.energies } else { &[] };
    let said = energies(scene).first().map(|e| (e.x, e.step)).or_else(|| before.last().copied());
    let energy = match said {
        Some(energy) => energy,
        // With no energy said, the one on record: only where the quotient fits.
        None => {
            let marks = desk.models_at(scene, a.at).into_iter().flat_map(|m| &desk.book.marks[m]);
            let mut usable = marks.filter(|k| k.key == "usable-energy" && k.whose == Whose::Bench);
            let mark = usable.find(|k| follows(a, price.x / k.x, 0.005 * price.x / k.x))?;
            (mark.x, 0.01 * mark.x)
        }
    };
    if energy.0 <= 0.0
        || !matches!((&price.what, &a.what), (What::Money(p), What::MoneyPerWh(q) | What::Money(q)) if p == q || p.is_empty())
    {
        return None;
    }
    let v = price.x / energy.0;
    Some((v, v * 0.5 * energy.1 / energy.0, format!("{:.0} cents a watt-hour", v * 100.0)))
}

fn share(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let here = energies(scene);
    // "to 80 percent" is an end of a charge; "charging it took 1,088, so 84 percent comes back" is a share.
    let end = [0.8, 1.0].iter().any(|end| (a.x - end).abs() < 1e-9);
    let charge = end && scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(["time-to-80", ..], _)));
    if charge || scene.is_load_share(a) {
        return None;
    }
    let pair: Vec<(f64, f64)> = match here.as_slice() {
        [x, y] => vec![(x.x, x.step), (y.x, y.step)],
        [] if scene.tokens.len() < 12 && desk.energies.len() == 2 => desk.energies.clone(),
        [y] if desk.energies.len() == 1
            && (scene.word(a.to) == "of" && y.at > a.at || scene.word(0) == "out" && y.to <= a.from) =>
        {
            vec![desk.energies[0], (y.x, y.step)]
        }
        _ => return None,
    };
    let (small, large) = if pair[0].0 <= pair[1].0 { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
    const GONE: &[&str] =
        &["lost", "loses", "lose", "vanishes", "disappears", "never", "missing", "wasted", "heat"];
    let v = small.0 / large.0;
    let told_before = here.is_empty() && scene.says(GONE) && !scene.says(&["back", "left"]);
    let v = if told_before { 1.0 - v } else { v };
    // Two energies of two stations make no share.
    if scene.mentions.iter().filter(|m| !m.maker).count() > 1 || !(0.3..=1.0).contains(&(small.0 / large.0)) {
        return None;
    }
    Some((v, 0.5 * v * (small.1.min(1.0) / small.0), format!("{:.0} %", v * 100.0)))
}
