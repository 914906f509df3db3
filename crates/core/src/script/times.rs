//! Numbers worked out from others said beside them: so many times another number said beside it: "2.6 times the 2,184 it sustains", "3,830 against 174: 22 times as much".
use super::amount::Amount;
use super::judge::Desk;
use super::meaning::of_claim;
use super::scene::Scene;
use super::unit::What;
use crate::quantity::Dim;

/// The quotient of the two numbers a factor stands between or behind, how sure it is, and in words.
pub fn of_two(scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let (x, y) = behind(scene, a).or_else(|| before(scene, a))?;
    let (large, small) = if a.x >= 1.0 { (x.x.max(y.x), x.x.min(y.x)) } else { (x.x.min(y.x), x.x.max(y.x)) };
    if small <= 0.0 {
        return None;
    }
    let v = large / small;
    let doubt = v * 0.5 * (x.step / x.x + y.step / y.x);
    Some((v, doubt, format!("{v:.1} times")))
}

/// "1,144 watts, or 2.0 times the 559 it sustains": the number the factor is of stands directly behind it.
fn behind<'a>(scene: &'a Scene, a: &Amount) -> Option<(&'a Amount, &'a Amount)> {
    let small = |i: usize| matches!(scene.word(i), "times" | "the" | "its" | "those" | "as" | "a" | "of");
    let y = scene.amounts.iter().find(|b| {
        b.from >= a.to && b.from - a.to <= 3 && (a.to..b.from).all(small) && b.what != What::Factor
    })?;
    let like = |b: &&Amount| b.to <= a.from && (b.what == y.what || y.what == What::Bare) && measures(b);
    let x = scene.amounts.iter().rev().find(like)?;
    Some((x, y))
}

/// "3,830 watt-hours against 174: that is 22 times as much": two numbers of one sort before it, and no other of it.
fn before<'a>(scene: &'a Scene, a: &Amount) -> Option<(&'a Amount, &'a Amount)> {
    let given = |b: &&Amount| b.to <= a.from && (measures(b) || (b.what == What::Bare && b.x >= 20.0));
    let mut all = scene.amounts.iter().filter(given);
    let (x, y, None) = (all.next()?, all.next()?, all.next()) else { return None };
    // What it is times of stands behind it: another is meant.
    let other = scene.mentions.iter().any(|m| m.at >= a.to);
    let as_much = matches!(scene.word(a.to), "as" | "the" | "that" | "more" | "longer" | "");
    let alike = x.what == y.what || x.what == What::Bare;
    (alike && !other && as_much).then_some((x, y))
}

fn measures(a: &Amount) -> bool {
    matches!(a.what, What::Dim(d) if d != Dim::Ratio) || matches!(a.what, What::Money(_))
}

/// "A ratio of 1.87".
pub fn is_ratio(scene: &Scene, a: &Amount) -> bool {
    a.from > 1
        && scene.word(a.from - 1) == "of"
        && matches!(scene.word(a.from - 2), "ratio" | "factor" | "quotient")
}

/// "485 watt-hours into 7.5 kilograms, so 64.7 watt-hours per kilogram": the one energy and the one mass, or price, said.
pub fn per(scene: &Scene, a: &Amount, unit: &str) -> Option<(f64, f64, String)> {
    let energies = scene.amounts.iter().filter(|b| b.what == What::Dim(Dim::Energy));
    let by = |b: &&Amount| match unit {
        "kg" => b.what == What::Dim(Dim::Mass),
        _ => matches!(b.what, What::Money(_)),
    };
    let one = |mut all: Vec<&Amount>| if all.len() == 1 { all.pop().map(|b| (b.x, b.step)) } else { None };
    let (x, y) = (one(energies.collect())?, one(scene.amounts.iter().filter(by).collect())?);
    let v = x.0 / y.0;
    (y.0 > 0.0 && a.x > 0.0).then(|| (v, v * 0.5 * (x.1 / x.0 + y.1 / y.0), format!("{v:.1}")))
}

/// "174, 263 and 294, and you get 731": said to be the sum of the others.
pub fn is_sum(scene: &Scene, a: &Amount) -> bool {
    let adds = scene.says(&["add", "adds", "adding", "sum", "sums", "total", "totals", "together"]);
    let last = scene.amounts.iter().rfind(|b| b.what == a.what || b.what == What::Bare);
    adds && last.is_some_and(|b| b.at == a.at) && summands(scene, a).len() > 1
}

fn summands<'a>(scene: &'a Scene, a: &Amount) -> Vec<&'a Amount> {
    let energy = |b: &&Amount| b.to <= a.from && b.what == What::Dim(Dim::Energy);
    scene.amounts.iter().filter(energy).collect()
}

/// The sum of the energies said before it.
pub fn sum(scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let all = summands(scene, a);
    let v: f64 = all.iter().map(|b| b.x).sum();
    let doubt: f64 = all.iter().map(|b| 0.5 * b.step.min(1.0)).sum();
    (a.x >= 20.0).then(|| (v, doubt, format!("a sum of {v:.0} Wh")))
}

/// "Its claim there is 3,500 watts, so it delivers 80 percent of what it promises": a share of the one promise said.
pub fn of_promise(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let [model] = desk.models_at(scene, a.at)[..] else { return None };
    let marks = || desk.book.marks[model].iter();
    let promised = |b: &Amount| marks().find(|k| k.is_promise_of(b));
    let power = |b: &&Amount| b.what == What::Dim(Dim::Power);
    let made = scene.amounts.iter().filter(power).find_map(promised).filter(|_| of_claim(scene, a))?;
    let have = marks().find(|k| k.key == made.key && k.is_bench())?;
    let v = have.x / made.x;
    Some((v, 0.01 * v, format!("{} of {}", have.text(), made.text())))
}

/// "Ten eighty-five out of twelve sixty is about three quarters": the share of two numbers joined by no more than that.
pub fn out_of(scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let joined = |w: &&[Amount]| {
        let link = (w[0].to..w[1].from)
            .all(|i| matches!(scene.word(i), "out" | "of" | "over" | "from" | "the" | "its"));
        let number = |b: &Amount| b.what != What::Dim(Dim::Ratio) && b.x >= 20.0;
        let alike = w[0].what == w[1].what || w[0].what == What::Bare || w[1].what == What::Bare;
        link && w[1].at > w[0].to && w[1].at - w[0].to <= 3 && number(&w[0]) && number(&w[1]) && alike
    };
    let pair = scene.amounts.windows(2).find(joined)?;
    let v = pair[0].x / pair[1].x;
    (a.from >= pair[1].to && v < 1.0).then(|| (v, 0.005, format!("{:.0} %", 100.0 * v)))
}
