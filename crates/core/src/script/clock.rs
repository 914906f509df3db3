//! Times of day as spoken, and the time between two of them.
use super::number;
use super::token::Token;
use super::unit::unit_at;

/// A time of day in a sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spoken {
    /// First token.
    pub at: usize,
    /// Token after it.
    pub to: usize,
    /// Minutes since midnight as said; 12-hour without half when `half` is unknown.
    pub minutes: u32,
    /// Which half of the day is known.
    pub sure: bool,
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// "am", "p.m.", "in the morning": hours to add on a 12-hour clock, and the token after it.
fn half(tokens: &[Token], i: usize) -> Option<(u32, usize)> {
    let (a, b, c) = (word(tokens, i), word(tokens, i + 1), word(tokens, i + 2));
    match (a, b, c) {
        ("am" | "a.m" | "a.m.", _, _) => Some((0, i + 1)),
        ("pm" | "p.m" | "p.m.", _, _) => Some((12, i + 1)),
        // Subtitles made by a machine have no points: "seven a m".
        ("a", "m", _) => Some((0, i + 2)),
        ("p", "m", _) => Some((12, i + 2)),
        (
            "in" | "the" | "that" | "this",
            "the" | "next" | "following" | "same" | "early",
            "morning" | "day",
        ) => Some((0, i + 3)),
        ("in", "the", "small" | "early") if word(tokens, i + 3) == "hours" => Some((0, i + 4)),
        ("next" | "this" | "that", "morning", _) => Some((0, i + 2)),
        ("in" | "the" | "that", "the" | "same" | "next" | "following", "afternoon" | "evening") => {
            Some((12, i + 3))
        }
        ("that" | "this", "afternoon" | "evening", _) => Some((12, i + 2)),
        ("at", "night", _) => Some((12, i + 2)),
        ("tonight", _, _) => Some((12, i + 1)),
        _ => None,
    }
}

/// Words before a bare hour that make it one: "from 8 until 3:48".
const BEFORE: &[&str] =
    &["at", "from", "by", "until", "till", "til", "since", "around", "before", "after", "between"];

/// "6:48", "06:48:10".
fn figure(text: &str) -> Option<(u32, u32)> {
    let parts: Option<Vec<u32>> = text.split(':').map(|p| p.parse().ok()).collect();
    match parts?.as_slice() {
        [h, m] | [h, m, _] if *h < 24 && *m < 60 => Some((*h, *m)),
        _ => None,
    }
}

/// "18.45" as the British write it; "0648" of a 24-hour clock.
fn other_figure(text: &str) -> Option<(u32, u32)> {
    if let Some((h, m)) = text.split_once('.') {
        return (m.len() == 2 && h.len() <= 2).then(|| figure(&format!("{h}:{m}"))).flatten();
    }
    let digits = text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| figure(&format!("{}:{}", &text[..2], &text[2..]))).flatten()
}

/// "from 18.00 to 19.33": two figures with a point, joined as times are and with no unit behind them.
fn dotted_pair(tokens: &[Token], i: usize) -> bool {
    let dotted = |k: usize| {
        let text = word(tokens, k);
        text.len() >= 4 && text.contains('.') && other_figure(text).is_some()
    };
    let joined = |k: usize| matches!(word(tokens, k), "to" | "until" | "till" | "til" | "and");
    let opens = |k: usize| k > 0 && matches!(word(tokens, k - 1), "from" | "between");
    let free = |k: usize| unit_at(tokens, k + 1).is_none();
    let first = dotted(i) && joined(i + 1) && dotted(i + 2) && opens(i) && free(i + 2);
    let second = i >= 2 && dotted(i - 2) && joined(i - 1) && dotted(i) && opens(i - 2) && free(i);
    // "Start 14.00, finish 14.46"
    const ENDS: &[&str] = &[
        "start", "started", "begin", "began", "begun", "on", "at", "end", "ended", "finish", "finished",
        "stop", "stopped", "off", "out", "empty", "full", "until",
    ];
    let ended = |k: usize| dotted(k) && k > 0 && ENDS.contains(&word(tokens, k - 1)) && free(k);
    let pair = ended(i) && (0..tokens.len()).filter(|k| ended(*k)).count() == 2;
    let opened = pair && tokens.iter().any(|t| t.text.starts_with("start") || t.text.starts_with("beg"));
    first || second || opened
}

/// All times of day in a sentence. `chapter` lines ("0:00 Intro") give none.
pub fn stamps(tokens: &[Token]) -> Vec<Spoken> {
    let mut out: Vec<Spoken> = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        match one(tokens, i) {
            Some(s) => {
                i = s.to;
                out.push(s);
            }
            None => i += 1,
        }
    }
    if !out.is_empty() {
        let taken = |i: usize| out.iter().any(|s| (s.at..s.to).contains(&i));
        let alone: Vec<Spoken> =
            (0..tokens.len()).filter(|i| !taken(*i)).filter_map(|i| bare_hour(tokens, i)).collect();
        out.extend(alone);
        out.sort_by_key(|s| s.at);
    }
    // One clock for all: "22:40 to 01:10" is a 24-hour clock.
    let day_clock = |s: &Spoken| !s.sure && (s.minutes >= 780 || tokens[s.at].text.starts_with('0'));
    if out.iter().any(day_clock) {
        out.iter_mut().for_each(|s| s.sure = true);
    }
    out
}

fn one(tokens: &[Token], i: usize) -> Option<Spoken> {
    let t = &tokens[i];
    let make = |minutes: u32, sure: bool, to: usize| Some(Spoken { at: i, to, minutes, sure });
    match t.text.as_str() {
        "noon" | "midday" => return make(720, true, i + 1),
        "midnight" => return make(0, true, i + 1),
        _ => {}
    }
    let placed = |h: u32, m: u32, next: usize| match half(tokens, next) {
        Some((add, to)) if (1..=12).contains(&h) => make((h % 12 + add) * 60 + m, true, to),
        _ => make(h * 60 + m, false, next),
    };
    if t.text.contains(':') {
        let (h, m) = figure(&t.text)?;
        let first = i == 0 || tokens[i - 1].line != t.line;
        let chapter = first
            && half(tokens, i + 1).is_none()
            && !matches!(word(tokens, i + 1), "to" | "until" | "till" | "on" | "off" | "start")
            && tokens.get(i + 1).is_none_or(|n| !n.text.contains(':'));
        let hours = usize::from(matches!(word(tokens, i + 1), "hrs" | "h"));
        return if chapter { None } else { placed(h, m, i + 1 + hours) };
    }
    let before = i.checked_sub(1).map_or("", |k| word(tokens, k));
    if let Some((h, m)) = other_figure(&t.text) {
        let hours = matches!(word(tokens, i + 1), "hours" | "hrs");
        let army = hours && (BEFORE.contains(&before) || t.text.starts_with('0')) && !t.text.contains('.');
        let said = half(tokens, i + 1).is_some() && !t.text.starts_with('0');
        if army || (said && t.text.contains('.')) || dotted_pair(tokens, i) {
            return placed(h, m, i + 1 + usize::from(army));
        }
    }
    if let Some(s) = past(tokens, i, before) {
        return placed(s.0, s.1, s.2);
    }
    let n = number::number(tokens, i)?;
    let clock = word(tokens, n.next) == "o'clock";
    let next = n.next + usize::from(clock);
    // "at six in the evening"; "12 in the morning" may be a count.
    let adjoining = half(tokens, next)
        .is_some_and(|(_, to)| to == next + 1 || clock || (n.x <= 12.0 && BEFORE.contains(&before)));
    if !(clock || adjoining) || n.x.fract() != 0.0 || n.x < 1.0 {
        return None;
    }
    let n = n.x as u32;
    match n {
        1..=12 => placed(n, 0, next),
        13..=23 if clock => make(n * 60, true, next),
        100..=1259 if n % 100 < 60 => placed(n / 100, n % 100, next),
        _ => None,
    }
}

/// "from 8 until 3:48": an hour alone, where another time of day stands in the sentence.
fn bare_hour(tokens: &[Token], i: usize) -> Option<Spoken> {
    let before = i.checked_sub(1).map_or("", |k| word(tokens, k));
    let n = number::number(tokens, i).filter(|n| n.x.fract() == 0.0 && (1.0..=12.0).contains(&n.x))?;
    let behind = word(tokens, n.next);
    let ends = tokens.get(n.next).is_none_or(|t| {
        t.after.is_some()
            || (behind == "on" && word(tokens, n.next + 2) == "dot")
            || matches!(
                behind,
                "sharp"
                    | "exactly"
                    | "precisely"
                    | "to"
                    | "until"
                    | "till"
                    | "til"
                    | "and"
                    | "it"
                    | "the"
                    | "i"
                    | "we"
            )
    });
    let hour = BEFORE.contains(&before) && ends && n.next == i + 1;
    hour.then_some(Spoken { at: i, to: n.next, minutes: n.x as u32 * 60, sure: false })
}

/// "half past six", "quarter to seven", "ten past six", the British "half six": hour, minute, token after.
fn past(tokens: &[Token], i: usize, before: &str) -> Option<(u32, u32, usize)> {
    let at = if word(tokens, i) == "a" { i + 1 } else { i };
    let placed = BEFORE.contains(&before) || matches!(before, "to" | "past");
    let spelt = |k: usize| matches!(word(tokens, k), "minutes" | "minute");
    let (minutes, link) = match word(tokens, at) {
        "half" => (30, at + 1),
        "quarter" => (15, at + 1),
        _ => {
            let n = number::number(tokens, at)?;
            (n.x as u32, n.next + usize::from(word(tokens, n.next) == "minutes"))
        }
    };
    let link_word = word(tokens, link);
    let short = word(tokens, at) == "half" && placed;
    let (to, hour_at) = match link_word {
        "past" | "after" | "gone" => (false, link + 1),
        "to" | "before" | "of" => (true, link + 1),
        _ if short => (false, link),
        _ => return None,
    };
    let named = match word(tokens, hour_at) {
        "midnight" => Some(0),
        "noon" | "midday" => Some(12),
        _ => None,
    };
    let (hour, next) = match named {
        Some(h) => (h, hour_at + 1),
        None => {
            let n = number::number(tokens, hour_at)?;
            let whole = n.x.fract() == 0.0 && (1.0..=12.0).contains(&n.x);
            (whole.then_some(n.x as u32)?, n.next)
        }
    };
    let known = half(tokens, next).is_some() || named.is_some();
    // "20 to 22 hours" is a range; without the half of the day only a quarter, a half, or five minutes "past" are said.
    let fives = minutes % 5 == 0 && placed && link_word != "of" && before != "from" && before != "between";
    let free = unit_at(tokens, next).is_none();
    let sure = (matches!(word(tokens, at), "half" | "quarter") && link_word != "of")
        || known
        || (fives && free)
        || (link > 0 && spelt(link - 1) && matches!(link_word, "past" | "to"));
    let odd =
        (to && word(tokens, at) == "half") || (link_word == "of" && !known) || !(1..=30).contains(&minutes);
    if !sure || odd || !free {
        return None;
    }
    let before_it = if hour == 0 { 23 } else { (hour + 10) % 12 + 1 };
    Some(if to { (before_it, 60 - minutes, next) } else { (hour, minutes, next) })
}

/// Hours that may lie between two times of day, over midnight if need be.
pub fn between(a: Spoken, b: Spoken) -> Vec<f64> {
    let ways = |s: Spoken| match s.sure {
        true => vec![s.minutes],
        false => vec![s.minutes % 720, s.minutes % 720 + 720],
    };
    let mut out: Vec<f64> = Vec::new();
    for x in ways(a) {
        for y in ways(b) {
            let minutes = (y + 1440 - x) % 1440;
            let hours = f64::from(if minutes == 0 { 1440 } else { minutes }) / 60.0;
            if !out.contains(&hours) {
                out.push(hours);
            }
        }
    }
    out.sort_by(f64::total_cmp);
    out
}

#[cfg(test)]
mod tests {
    use super::super::read::Piece;
    use super::super::token::sentences;
    use super::*;
    fn of(text: &str) -> Vec<u32> {
        let s = sentences(&[Piece { line: 1, text: text.into(), ends: true }]);
        stamps(&s[0].tokens).iter().map(|s| s.minutes).collect()
    }
    #[test]
    fn times_as_said() {
        assert_eq!(of("from 6:48 AM to 9:13 p.m. today"), [408, 1273]);
        assert_eq!(of("at noon and at midnight"), [720, 0]);
        assert_eq!(of("from 12:10 AM to 12:30 PM"), [10, 750]);
        assert_eq!(of("at half past six in the evening"), [1110]);
        assert_eq!(of("at quarter to seven in the morning"), [405]);
        assert_eq!(of("at six forty-eight AM"), [408]);
        assert_eq!(of("at 6am sharp"), [360]);
        assert_eq!(of("0:00 Intro"), Vec::<u32>::new());
        assert_eq!(of("runs 20 to 22 hours"), Vec::<u32>::new());
    }
    #[test]
    fn over_noon_and_midnight() {
        let s = |text: &str| {
            let s = sentences(&[Piece { line: 1, text: text.into(), ends: true }]);
            let t = stamps(&s[0].tokens);
            between(t[0], t[1])
        };
        assert_eq!(s("from 11:45 AM to 12:30 PM"), [0.75]);
        assert_eq!(s("from 10:15 PM to 6:45 AM"), [8.5]);
        assert_eq!(s("from 22:40 to 01:10"), [2.5]);
    }
}
