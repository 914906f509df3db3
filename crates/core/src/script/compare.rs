//! When a spoken number agrees with the record.
//!
//! v is the record, U the half-width of its 95 % interval, x what is said, to the place `step`.
//! - Unhedged: v rounds to x at that place (or x is within a tenth of U, the place the record is printed to; or v was
//!   cut off there and x lies within U), and x lies within U or within 2 % of v. If x lies outside U and a claim
//!   between v and x changes sides by the rounding, or x is 2 to 15 % off, it is over-rounded: the form for saying a
//!   result aloud is its shortest rounding inside the interval, and 2 % is what a plug meter leaves open.
//! - "about", "roughly": within U or within 2 %; hours and minutes, which are told by quarters and halves, within 3 %, or a
//!   rounding within 5 %. A coarser rounding up to 35 % off is over-rounded.
//! - "just over", "nearly": on that side, within 5 %, of a coarse number within a quarter of its place up to 8 %. "over", "under": on that side, within 25 % (limits that less is
//!   better of, at any distance); further away it is over-rounded. "well over", "well under": on that side.
//! - A range holds v, or holds one record at each end.
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::hedge::Hedge;
use super::lexicon::Takes;

/// How a spoken number stands to a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// It may be said so.
    Agrees,
    /// Rounded too far.
    OverRounded,
    /// It is another number.
    Differs,
}

/// A rounding that leaves the interval by more than this is heard as another number.
const HEARD: f64 = 0.02;
/// Within this share a hedged rounding does not matter.
const NEAR: f64 = 0.05;
/// "just over" a coarse number reaches so far.
const A_LITTLE: f64 = 0.08;
/// Beyond this share a rounding is another number.
const FAR: f64 = 0.15;
/// Beyond this share a number told as "about" is another, however round it is.
const ROUND: f64 = 0.35;
/// "exactly", where no interval is known.
const EXACT: f64 = 0.005;
/// "about" and its like.
const ABOUT: f64 = 0.03;
/// "over" and "under" say something within this share.
const SIDE: f64 = 0.25;
/// Roundings at the edge of a side are not counted against it.
const EDGE: f64 = 0.002;

/// Holds an amount against a mark. `limits` are the claims on the same result.
pub fn fit(a: &Amount, m: &Mark, limits: &[f64]) -> Fit {
    let (x, v) = (a.x, m.x);
    if let Some(hi) = a.hi {
        let edge = a.step / 2.0 + 1e-9;
        return if (x - edge..=hi + edge).contains(&v) { Fit::Agrees } else { Fit::Differs };
    }
    let off = (x - v).abs();
    let share = off / v.abs().max(f64::MIN_POSITIVE);
    let rounds = off <= a.step / 2.0 * (1.0 + 1e-9)
        || m.within(off, 0.1)
        || (x < v && off < a.step && m.within(off, 1.0));
    let maker = matches!(m.whose, Whose::Maker(_));
    let side = |ok: bool, reach: f64| match ok {
        true if a.bounded && !maker => Fit::Agrees,
        false => Fit::Differs,
        // A claim is a limit itself: "15 ms at most" is not the claim of 10.
        true if maker && share > SIDE => Fit::Differs,
        true if share <= reach || m.whose != Whose::Bench => Fit::Agrees,
        true => Fit::OverRounded,
    };
    let less_is_better = matches!(m.key.as_str(), "switchover" | "noise" | "idle-draw");
    // "Just over an hour and a half" was said to the half-hour: a quarter of that place, and no more than a little.
    let just = (NEAR * x).max((a.step / 4.0).min(A_LITTLE * x));
    // "About fifteen hours": the fives are round too.
    let fives = (x / a.step / 5.0).fract() == 0.0 && x / a.step < 20.0;
    let coarse = off <= a.step / 2.0 * if fives { 5.0 } else { 1.0 } * (1.0 + 1e-9);
    // Hours and minutes are told by quarters and halves; other quantities to the place the record bears.
    let (about, near) = if m.takes == Takes::Time { (ABOUT, NEAR) } else { (HEARD, HEARD) };
    match a.hedge {
        Hedge::Plain if rounds => rounded(a, m, share, limits),
        Hedge::Plain => Fit::Differs,
        Hedge::Exact if m.within(off, 1.0) || share <= EXACT => Fit::Agrees,
        Hedge::Exact => Fit::Differs,
        Hedge::About if share <= about || m.within(off, 1.0) || (rounds && share <= near) => Fit::Agrees,
        Hedge::About if coarse && share <= ROUND && !maker => Fit::OverRounded,
        Hedge::About => Fit::Differs,
        Hedge::JustUnder if v <= x * (1.0 + EDGE) && v >= x - just => Fit::Agrees,
        Hedge::JustOver if v >= x * (1.0 - EDGE) && (v <= x + just || m.within(v - x - just, 1.0)) => {
            Fit::Agrees
        }
        Hedge::AndSome if v >= x * (1.0 - EDGE) && v <= x + (a.step / 2.0).max(NEAR * x) => Fit::Agrees,
        Hedge::JustUnder | Hedge::JustOver | Hedge::AndSome => Fit::Differs,
        Hedge::Over => side(v >= x * (1.0 - EDGE), SIDE),
        Hedge::Under => side(v <= x * (1.0 + EDGE), if less_is_better { f64::INFINITY } else { SIDE }),
        Hedge::WellOver => side(v >= x * 1.02, f64::INFINITY),
        Hedge::WellUnder => side(v <= x * 0.98, f64::INFINITY),
    }
}

fn rounded(a: &Amount, m: &Mark, share: f64, limits: &[f64]) -> Fit {
    let (x, v) = (a.x, m.x);
    if m.within((x - v).abs(), 1.0) {
        return Fit::Agrees;
    }
    let crosses = limits.iter().any(|l| (v.min(x) < *l && *l <= v.max(x)) && share > 0.005);
    match share {
        s if s > FAR || (s > NEAR && matches!(m.whose, Whose::Maker(_))) => Fit::Differs,
        s if crosses || (s > HEARD && !matches!(m.whose, Whose::Maker(_))) => Fit::OverRounded,
        _ => Fit::Agrees,
    }
}

/// A number worked out from others spoken beside it: equal as far as both were said.
pub fn follows(a: &Amount, v: f64, doubt: f64) -> bool {
    let (x, off) = (a.x, (a.x - v).abs());
    if let Some(hi) = a.hi {
        return v >= x - doubt && v <= hi + doubt;
    }
    let place = a.step / 2.0 + doubt;
    match a.hedge {
        Hedge::Plain | Hedge::Exact => off <= place.min(NEAR * v.abs()) + 1e-9,
        Hedge::About => off <= (ABOUT * v.abs()).max(place.min(NEAR * v.abs())),
        Hedge::JustUnder => v <= x + doubt && v >= x * (1.0 - NEAR) - doubt,
        Hedge::JustOver | Hedge::AndSome => v >= x - doubt && v <= x * (1.0 + NEAR) + doubt,
        Hedge::Over | Hedge::WellOver => v >= x - doubt && v <= x * (1.0 + SIDE),
        Hedge::Under | Hedge::WellUnder => v <= x + doubt && v >= x * (1.0 - SIDE),
    }
}
