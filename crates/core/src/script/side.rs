//! A number held against the promise said behind it: "45.15 kilograms, within the 44 the maker claims".
use super::amount::Amount;
use super::judge::Desk;
use super::scene::Scene;
use super::unit::What;
use super::{Judgement, Line};

/// A number that is said to stand on one side of what the maker promises, and does not.
pub fn beside_promise(desk: &Desk, scene: &Scene) -> Option<Line> {
    if let Some(line) = before(desk, scene) {
        return Some(line);
    }
    let [x, y] = pair(desk, scene)?;
    let word = (x.to..y.at).map(|i| scene.word(i)).find(|w| UP.contains(w) || DOWN.contains(w))?;
    let right = if UP.contains(&word) { x.x >= y.x } else { x.x <= y.x };
    if right || scene.asks || scene.negated(y.at) {
        return None;
    }
    let hint = format!("{} is not {word} {}", scene.text(x.at, x.to), scene.text(y.at, y.to));
    Some(desk.line(scene, y, Judgement::Unsupported, None, hint))
}

/// "It weighs 45.15 kilograms. That is within the 44 the maker states.": the one number of the sentence before.
fn before(desk: &Desk, scene: &Scene) -> Option<Line> {
    let [y] = scene.amounts.as_slice() else { return None };
    let x = desk.past.lone(&y.what).filter(|_| desk.made(scene, y) && !scene.asks)?;
    let near = (y.at.saturating_sub(2)..y.at).map(|i| scene.word(i));
    let word = near.into_iter().find(|w| UP.contains(w) || DOWN.contains(w))?;
    let right = if UP.contains(&word) { x >= y.x } else { x <= y.x };
    let hint = format!("the number before it is not {word} {}", scene.text(y.at, y.to));
    (!right && !scene.negated(y.at)).then(|| desk.line(scene, y, Judgement::Unsupported, None, hint))
}

const UP: &[&str] = &["above", "over", "beyond", "past"];
const DOWN: &[&str] = &["within", "under", "below", "inside"];

/// A number and the maker's figure directly behind it.
fn pair<'s>(desk: &Desk, scene: &'s Scene) -> Option<[&'s Amount; 2]> {
    let close = |w: &&[Amount]| {
        let (x, y) = (&w[0], &w[1]);
        let near = y.at > x.to && y.at - x.to <= 4;
        x.what == y.what && x.what != What::Bare && near && desk.made(scene, y) && !desk.made(scene, x)
    };
    scene.amounts.windows(2).find(close).map(|w| [&w[0], &w[1]])
}
