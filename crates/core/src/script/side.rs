//! A number held against the promise said behind it: "45.15 kilograms, within the 44 the maker claims".
use super::amount::Amount;
use super::book::Whose;
use super::judge::Desk;
use super::scene::{Scene, sort_of};
use super::unit::What;
use super::{Judgement, Line};

/// A number that is said to stand on one side of what the maker promises, and does not.
pub fn beside_promise(desk: &Desk, scene: &Scene) -> Option<Line> {
    let [x, y] = pair(desk, scene)?;
    let word = (x.to..y.at).map(|i| scene.word(i)).find(|w| UP.contains(w) || DOWN.contains(w))?;
    let right = if UP.contains(&word) { x.x >= y.x } else { x.x <= y.x };
    if right || scene.asks || scene.negated(y.at) {
        return None;
    }
    let hint = format!("{} is not {word} {}", scene.text(x.at, x.to), scene.text(y.at, y.to));
    Some(desk.line(scene, y, Judgement::Unsupported, None, hint))
}

const UP: &[&str] = &["above", "over", "beyond", "past"];
const DOWN: &[&str] = &["within", "under", "below", "inside"];

/// A number and the maker's figure directly behind it.
fn pair<'s>(desk: &Desk, scene: &'s Scene) -> Option<[&'s Amount; 2]> {
    let made = |model: usize, a: &Amount| {
        let same = |k: &super::book::Mark| {
            matches!(k.whose, Whose::Maker(_)) && (k.x - a.x).abs() <= 1e-9 * k.x.abs()
        };
        let sort = sort_of(&a.what);
        desk.book.marks[model].iter().any(|k| k.takes == sort && same(k))
    };
    let close = |w: &&[Amount]| {
        let (x, y) = (&w[0], &w[1]);
        let [model] = desk.models_at(scene, y.at)[..] else { return false };
        x.what == y.what
            && x.what != What::Bare
            && y.at > x.to
            && y.at - x.to <= 4
            && made(model, y)
            && !made(model, x)
    };
    scene.amounts.windows(2).find(close).map(|w| [&w[0], &w[1]])
}
