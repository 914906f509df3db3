//! Numbers as spoken: figures, words, fractions.
//!
//! The step of a number is the place it was said to: "911" 1, "nine hundred and ten" 10, "9.4" 0.1, "nine and a half"
//! 0.5. A round number was rounded as far as its zeros go, except that 10 is 10.
use super::token::Token;
use crate::number::{Marks, number as figures};

/// A number with the place it was said to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// Its value.
    pub x: f64,
    /// Value of the last place said.
    pub step: f64,
    /// Token after it.
    pub next: usize,
}

/// Number words below twenty, and those for tens from twenty on.
const UNITS: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 8] = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/// The value of a number word below hundred.
fn small(word: &str) -> Option<u32> {
    let unit = UNITS.iter().position(|w| *w == word).map(|i| i as u32);
    unit.or_else(|| TENS.iter().position(|w| *w == word).map(|i| (i as u32 + 2) * 10))
}

/// The denominator of "thirds", "quarter", "tenths".
fn denominator(word: &str) -> Option<f64> {
    let word = word.strip_suffix('s').unwrap_or(word);
    let names = ["half", "third", "quarter", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];
    names.iter().position(|n| *n == word).map(|i| i as f64 + 2.0)
}

/// The place a whole number was said to.
pub fn step_of(x: f64) -> f64 {
    if x.fract() != 0.0 || x == 0.0 || x.abs() < 20.0 {
        return 1.0;
    }
    let mut step = 1.0;
    while x % (step * 10.0) == 0.0 {
        step *= 10.0;
    }
    step
}

/// The number that starts at token `i`.
pub fn number(tokens: &[Token], i: usize) -> Option<Number> {
    let first = tokens.get(i)?;
    if let Some(dozen) = dozen(tokens, i) {
        return Some(dozen);
    }
    let plain =
        if first.is_figure() { figure(tokens, i) } else { fraction(tokens, i).or_else(|| words(tokens, i)) };
    Some(and_a_half(tokens, plain?))
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// "a dozen", "half a dozen", "two dozen"; "a couple of" is two.
fn dozen(tokens: &[Token], i: usize) -> Option<Number> {
    let (a, b, c) = (word(tokens, i), word(tokens, i + 1), word(tokens, i + 2));
    let (x, next) = match (a, b, c) {
        ("a", "dozen", _) => (12.0, i + 2),
        ("half", "a", "dozen") => (6.0, i + 3),
        ("a", "couple", "of") => (2.0, i + 3),
        (_, "dozen", _) => (12.0 * f64::from(small(a)?), i + 2),
        _ => return None,
    };
    Some(Number { x, step: 1.0, next })
}

fn figure(tokens: &[Token], i: usize) -> Option<Number> {
    let (mut x, mut step) = figures(&tokens[i].text, Marks::Point)?;
    let mut next = i + 1;
    if step >= 1.0 {
        step = step_of(x);
    }
    if word(tokens, next) == "/" && tokens.get(next + 1).is_some_and(|t| t.glued && t.is_figure()) {
        // "3/4" is a number, "7/20 transfers" and "911/1010" are two.
        let over = figures(&tokens[next + 1].text, Marks::Point).map_or(0.0, |(d, _)| d);
        if over > 1.0 && over <= 10.0 && x < over {
            return Some(Number { x: x / over, step: x / over * 0.1, next: of_a(tokens, next + 2) });
        }
        return Some(Number { x, step, next });
    }
    let factor = match word(tokens, next) {
        "k" if tokens[next].glued => 1e3,
        "hundred" => 1e2,
        "thousand" => 1e3,
        "million" => 1e6,
        _ => 1.0,
    };
    if factor > 1.0 {
        (x, step, next) = (x * factor, step * factor, next + 1);
    }
    if let Some(d) =
        denominator(word(tokens, next)).filter(|_| (1.0..10.0).contains(&x) && word(tokens, next + 1) == "of")
    {
        return Some(Number { x: x / d, step: x / d * 0.1, next: of_a(tokens, next + 1) });
    }
    Some(Number { x, step, next })
}

/// After "of a" or "of an", where it stands.
fn of_a(tokens: &[Token], i: usize) -> usize {
    match (word(tokens, i), word(tokens, i + 1)) {
        ("of", "a" | "an" | "one") => i + 2,
        ("a" | "an", _) => i + 1,
        _ => i,
    }
}

/// "a third of a", "two thirds of a", "half a", "three quarters of an".
fn fraction(tokens: &[Token], i: usize) -> Option<Number> {
    let (n, at) = match word(tokens, i) {
        "half" => (1.0, i),
        "a" | "an" | "one" => (1.0, i + 1),
        w => (f64::from(small(w).filter(|n| (2..10).contains(n))?), i + 1),
    };
    let d = denominator(word(tokens, at))?;
    let next = of_a(tokens, at + 1);
    // "half load" and "a third time" are no amounts.
    (next > at + 1).then_some(Number { x: n / d, step: n / d * 0.1, next })
}

/// "nine tenths of what they claim", "two thirds of the figure": a share, with the token of its "of".
pub fn share_of(tokens: &[Token], i: usize) -> Option<Number> {
    let (n, at) = match word(tokens, i) {
        "a" | "one" => (1.0, i + 1),
        w => (f64::from(small(w).filter(|n| (2..10).contains(n))?), i + 1),
    };
    let d = denominator(word(tokens, at)).filter(|d| *d > 2.0 && n < *d)?;
    let whole = matches!(word(tokens, at + 2), "what" | "the" | "its" | "their" | "that");
    let x = n / d;
    (word(tokens, at + 1) == "of" && whole).then_some(Number { x, step: (1.0 / d).min(0.1), next: at + 1 })
}

/// "A third is lost", "a quarter lighter": a share of what is clear without saying.
pub fn share_alone(tokens: &[Token], i: usize) -> Option<Number> {
    let (n, at) = match word(tokens, i) {
        "a" | "one" => (1.0, i + 1),
        w => (f64::from(small(w).filter(|n| (2..10).contains(n))?), i + 1),
    };
    let d = denominator(word(tokens, at)).filter(|d| *d > 2.0 && n < *d)?;
    let next = word(tokens, at + 1);
    let goes = matches!(next, "is" | "was" | "are" | "gets" | "goes" | "went" | "disappears" | "vanishes");
    let lost = matches!(word(tokens, at + 2), "lost" | "gone" | "wasted" | "missing" | "to" | "into");
    // "Loses nearly a fifth"
    let loses = |k: usize| {
        let before = i.checked_sub(k).map_or("", |j| word(tokens, j));
        matches!(super::lemma::root(before), "los" | "lost" | "lose" | "wast")
    };
    let fits = ((1..4).any(loses) && !matches!(next, "of" | "time"))
        || (goes && lost)
        || matches!(next, "disappears" | "vanishes" | "never" | "evaporates")
        || super::delta::BEHIND.contains(&next);
    let x = n / d;
    fits.then_some(Number { x, step: (1.0 / d).min(0.1), next: at + 1 })
}

/// "Sixteen nine" kilos: the comma is not spoken.
fn without_comma(whole: u64, tenths: u64, next: usize) -> Number {
    Number { x: whole as f64 + tenths as f64 / 10.0, step: 0.1, next }
}

/// 1 a single digit, 2 tens, 3 ten to nineteen.
fn kind_of(n: u64) -> u8 {
    match n {
        0..10 => 1,
        _ if n.is_multiple_of(10) && n >= 20 => 2,
        _ => 3,
    }
}

/// Nothing follows, or a mass: what may follow a number whose comma was not spoken.
fn ends(tokens: &[Token], i: usize) -> bool {
    let mass =
        |w: &str| matches!(w, "kilos" | "kilo" | "kg" | "kilograms" | "pounds" | "lbs" | "milliseconds");
    tokens.get(i).is_none_or(|t| t.after.is_some() || mass(&t.text))
}

/// "The 230-volt one, thirty kilograms": a comma parts two numbers.
fn unparted(t: &Token) -> bool {
    t.after.is_none_or(|c| c == '–')
}

/// "twelve hundred and forty", "nine eleven", "seven point five", "a thousand".
fn words(tokens: &[Token], i: usize) -> Option<Number> {
    let mut at = i;
    let (mut total, mut group) = (0u64, 0u64);
    let (mut any, mut scaled) = (false, false);
    // What the group last took: 1 a single digit, 2 tens, 3 ten to nineteen or a whole group of two digits.
    let mut took = 0;
    if matches!(word(tokens, at), "a" | "one") && matches!(word(tokens, at + 1), "hundred" | "thousand") {
        (group, any, took, at) = (1, true, 3, at + 1);
    }
    // "a good hundred hours"
    let one = |w: &str| matches!(w, "good" | "full" | "round" | "cool" | "solid" | "whole");
    if matches!(word(tokens, at), "hundred" | "thousand") && at > 0 && one(word(tokens, at - 1)) {
        (group, any, took) = (1, true, 3);
    }
    loop {
        let w = word(tokens, at);
        if w == "hundred" && any && group > 0 && group < 100 {
            (group, scaled, took) = (group * 100, true, 0);
        } else if w == "thousand" && any && total == 0 && group > 0 {
            (total, group, scaled, took) = (group * 1000, 0, true, 0);
        } else if w == "and" && scaled && took == 0 && small(word(tokens, at + 1)).is_some_and(|n| n > 0) {
            // "nine hundred and eleven"
        } else if matches!(w, "oh" | "o")
            && any
            && took == 1
            && !scaled
            && small(word(tokens, at + 1)).is_some_and(|n| n < 10)
        {
            // "nine oh four"
            group = group * 100 + u64::from(small(word(tokens, at + 1)).unwrap_or(0));
            (took, at) = (4, at + 1);
        } else if let Some(n) = small(w).map(u64::from) {
            let kind = kind_of(n);
            match (took, kind) {
                (0, _) => group += n,
                (2, 1) if n > 0 => group += n,
                (3, 1) if !scaled && group < 100 && n > 0 && ends(tokens, at + 1) => {
                    return Some(without_comma(group, n, at + 1));
                }
                // "nine eleven", "twelve fifty", "twenty twenty"
                (1..=3, 2 | 3) if !scaled && (1..100).contains(&group) && unparted(&tokens[at]) => {
                    group = group * 100 + n
                }
                _ => break,
            }
            // After "twelve fifty" a digit may follow; after "twelve fifty-five" nothing.
            took = match (took, kind) {
                (2, 1) => 3,
                (_, k) => k,
            };
            any = true;
        } else {
            break;
        }
        at += 1;
        if at > i + 12 {
            break;
        }
    }
    if !any {
        return None;
    }
    let whole = (total + group) as f64;
    if word(tokens, at) == "point" {
        return Some(decimals(tokens, whole, at));
    }
    Some(Number { x: whole, step: step_of(whole), next: at })
}

/// The digits after "point".
fn decimals(tokens: &[Token], whole: f64, point: usize) -> Number {
    let (mut x, mut step, mut at) = (whole, 1.0, point + 1);
    while let Some(n) = small(word(tokens, at)).or((word(tokens, at) == "oh").then_some(0)) {
        let tens = n >= 10;
        step /= if tens { 100.0 } else { 10.0 };
        x += f64::from(n) * step;
        at += 1;
        if tens || at > point + 7 {
            if n.is_multiple_of(10)
                && let Some(unit) = small(word(tokens, at)).filter(|u| (1..10).contains(u))
            {
                x += f64::from(unit) * step;
                at += 1;
            }
            break;
        }
    }
    match at == point + 1 {
        true => Number { x, step: step_of(x), next: point },
        false => Number { x: (x / step).round() * step, step, next: at },
    }
}

fn and_a_half(tokens: &[Token], n: Number) -> Number {
    let w = |k| word(tokens, n.next + k);
    match (w(0), w(1), w(2)) {
        ("½", _, _) => Number { x: n.x + 0.5, step: 0.5, next: n.next + 1 },
        ("¼", _, _) => Number { x: n.x + 0.25, step: 0.25, next: n.next + 1 },
        ("¾", _, _) => Number { x: n.x + 0.75, step: 0.25, next: n.next + 1 },
        ("and", "a", "half") => Number { x: n.x + 0.5, step: 0.5, next: n.next + 3 },
        ("and", "a", "quarter") => Number { x: n.x + 0.25, step: 0.25, next: n.next + 3 },
        ("and", "three", "quarters" | "quarter") => Number { x: n.x + 0.75, step: 0.25, next: n.next + 3 },
        // "one and a third", "two and two thirds"
        ("and", part, of) => {
            let parts = if part == "a" { Some(1) } else { small(part).filter(|p| (2..10).contains(p)) };
            let share = parts.zip(denominator(of)).map(|(p, d)| f64::from(p) / d).filter(|s| *s < 1.0);
            share.map_or(n, |s| Number { x: n.x + s, step: 0.1, next: n.next + 3 })
        }
        _ => n,
    }
}

#[cfg(test)]
mod tests {
    use super::super::read::Piece;
    use super::super::token::sentences;
    use super::*;
    fn of(text: &str) -> Option<(f64, f64)> {
        let piece = Piece { line: 1, text: text.into(), ends: true };
        let s = sentences(&[piece]);
        number(&s.first()?.tokens, 0).map(|n| (n.x, n.step))
    }
    /// A whole number in words, as said in English.
    fn spell(n: u32, and: &str) -> String {
        match n {
            0..=19 => UNITS[n as usize].into(),
            20..=99 if n.is_multiple_of(10) => TENS[(n / 10) as usize - 2].into(),
            20..=99 => format!("{}-{}", TENS[(n / 10) as usize - 2], UNITS[(n % 10) as usize]),
            100..=999 if n.is_multiple_of(100) => format!("{} hundred", UNITS[(n / 100) as usize]),
            100..=999 => format!("{} hundred {and}{}", UNITS[(n / 100) as usize], spell(n % 100, and)),
            _ if n.is_multiple_of(1000) => format!("{} thousand", spell(n / 1000, and)),
            _ if n % 1000 < 100 => format!("{} thousand {and}{}", spell(n / 1000, and), spell(n % 1000, and)),
            _ => format!("{} thousand {}", spell(n / 1000, and), spell(n % 1000, and)),
        }
    }
    #[test]
    fn every_number_to_9999_comes_back() {
        for n in 0..=9999 {
            for and in ["", "and "] {
                assert_eq!(of(&spell(n, and)).map(|v| v.0), Some(f64::from(n)), "{}", spell(n, and));
            }
            assert_eq!(of(&n.to_string()).map(|v| v.0), Some(f64::from(n)));
        }
    }
    #[test]
    fn short_speech_and_fractions() {
        for (text, x, step) in [
            ("twelve hundred and forty", 1240.0, 10.0),
            ("nine eleven", 911.0, 1.0),
            ("eleven fifty", 1150.0, 10.0),
            ("twelve seventy-five", 1275.0, 1.0),
            ("nine oh four", 904.0, 1.0),
            ("ten ten", 1010.0, 10.0),
            ("seven point five five", 7.55, 0.01),
            ("nine and a half", 9.5, 0.5),
            ("1.2 thousand", 1200.0, 100.0),
            ("13½", 13.5, 0.5),
            ("a thousand", 1000.0, 1000.0),
            ("10", 10.0, 1.0),
            ("90", 90.0, 10.0),
        ] {
            let (got, s) = of(text).unwrap();
            assert!((got - x).abs() < 1e-9 && (s - step).abs() < 1e-9, "{text}: {got} {s}");
        }
        assert!((of("a third of a kilowatt-hour").unwrap().0 - 1.0 / 3.0).abs() < 1e-12);
        assert!((of("nine tenths of a kilowatt-hour").unwrap().0 - 0.9).abs() < 1e-12);
        assert_eq!(of("half load"), None);
        assert_eq!(of("1.2.0"), None);
    }
}
