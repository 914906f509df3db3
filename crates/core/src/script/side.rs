//! A number held against the promise said behind it: "45.15 kilograms, within the 44 the maker claims".
use super::amount::Amount;
use super::judge::Desk;
use super::scene::Scene;
use super::unit::What;
use super::{Judgement, Line};

const UP: &[&str] = &["above", "over", "beyond", "past"];
const DOWN: &[&str] = &["within", "under", "below", "inside"];

/// A number that is said to stand on one side of what the maker promises, and does not.
pub fn beside_promise(desk: &Desk, scene: &Scene) -> Option<Line> {
    if scene.asks {
        return None;
    }
    let here = || pair(desk, scene).map(|[x, y]| (x.x, scene.text(x.at, x.to), x.to, y));
    let (x, says, from, y) = before(desk, scene).or_else(here)?;
    let word = (from..y.at).map(|i| scene.word(i)).find(|w| UP.contains(w) || DOWN.contains(w))?;
    let right = if UP.contains(&word) { x >= y.x } else { x <= y.x };
    let hint = format!("{says} is not {word} {}", scene.text(y.at, y.to));
    (!right && !scene.negated(y.at)).then(|| desk.line(scene, y, Judgement::Unsupported, None, hint))
}

/// "It weighs 45.15 kilograms. That is within the 44 the maker states.": the one number of the sentence before, and the
/// maker's figure with the token its side is told from.
fn before<'s>(desk: &Desk, scene: &'s Scene) -> Option<(f64, String, usize, &'s Amount)> {
    let [y] = scene.amounts.as_slice() else { return None };
    let x = desk.past.lone(&y.what).filter(|_| desk.made(scene, y))?;
    Some((x, "the number before it".into(), y.at.saturating_sub(2), y))
}

/// A number and the maker's figure directly behind it.
fn pair<'s>(desk: &Desk, scene: &'s Scene) -> Option<[&'s Amount; 2]> {
    let close = |w: &&[Amount]| {
        let (x, y) = (&w[0], &w[1]);
        let near = y.at > x.to && y.at - x.to <= 4;
        x.what == y.what && x.what != What::Bare && near && desk.made(scene, y) && !desk.made(scene, x)
    };
    scene.amounts.windows(2).find(close).map(|w| [&w[0], &w[1]])
}
