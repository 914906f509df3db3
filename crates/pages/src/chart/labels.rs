//! Labels beside their points, moved until they stand on nothing else.
use crate::figure::face;

/// A rectangle: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x0: f64,
    /// Upper edge; the drawing's y grows downwards.
    pub y0: f64,
    /// Right edge.
    pub x1: f64,
    /// Lower edge.
    pub y1: f64,
}

impl Area {
    fn overlap(&self, other: &Area) -> f64 {
        let wide = self.x1.min(other.x1) - self.x0.max(other.x0);
        let high = self.y1.min(other.y1) - self.y0.max(other.y0);
        wide.max(0.0) * high.max(0.0)
    }
    fn inside(&self, frame: &Area) -> bool {
        self.x0 >= frame.x0 && self.x1 <= frame.x1 && self.y0 >= frame.y0 && self.y1 <= frame.y1
    }
    /// Width.
    pub fn wide(&self) -> f64 {
        self.x1 - self.x0
    }
    /// Height.
    pub fn high(&self) -> f64 {
        self.y1 - self.y0
    }
    /// A square around a point.
    pub fn around(x: f64, y: f64, reach: f64) -> Area {
        Area { x0: x - reach, y0: y - reach, x1: x + reach, y1: y + reach }
    }
}

/// Height of a line of text as a share of the size of type.
const LINE: f64 = 1.2;
/// How many steps away from its point a label may go.
const STEPS: usize = 16;
/// From so many steps on a line leads from the point to its label.
const LED: usize = 2;

/// Width of a text in the typeface of pages and pictures.
pub fn width(text: &str, size: f64) -> f64 {
    face::width(text, size, false)
}

/// Lines of text placed at the given spot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The area it covers.
    pub area: Area,
    /// Its lines stand at the right edge of the area instead of the left.
    pub right: bool,
    /// Where a line that leads from the point to it ends, when it stands too far away to do without.
    pub led: Option<(f64, f64)>,
}

/// Finds a place for `lines` near the point, inside the frame, on nothing taken and, where that can be, not across what is
/// `drawn`; the nearest first. Takes the place. `None` when all is full: a text that is not there is better than two that
/// stand on each other.
pub fn place(
    point: (f64, f64),
    lines: &[&str],
    size: f64,
    frame: &Area,
    drawn: &[Area],
    taken: &mut Vec<Area>,
) -> Option<Placed> {
    let wide = lines.iter().map(|l| width(l, size)).fold(0.0, f64::max);
    let high = lines.len() as f64 * size * LINE;
    let spots = || (0..=STEPS).flat_map(|step| around(point, (wide, high), size, frame, step));
    let free = |p: &Placed| {
        let led = p.led.map(|end| (point, end));
        p.area.inside(frame)
            && taken.iter().all(|t| t.overlap(&p.area) == 0.0)
            && led.is_none_or(|(from, to)| !crosses(from, to, taken))
    };
    let clear = |p: &Placed| drawn.iter().all(|d| d.overlap(&p.area) == 0.0);
    let found = spots().filter(free).find(clear).or_else(|| spots().find(free))?;
    taken.push(found.area);
    Some(found)
}

/// Where a line from a point to its label begins, `radius` away from the point.
pub fn lead(point: (f64, f64), end: (f64, f64), radius: f64) -> (f64, f64) {
    let far = (end.0 - point.0).hypot(end.1 - point.1);
    let share = if far > radius { radius / far } else { 1.0 };
    (point.0 + (end.0 - point.0) * share, point.1 + (end.1 - point.1) * share)
}

/// The places a number of steps away from a point: above right first, since a falling curve leaves that side free.
fn around(
    (x, y): (f64, f64),
    (wide, high): (f64, f64),
    size: f64,
    frame: &Area,
    step: usize,
) -> [Placed; 12] {
    let gap = (size * 0.7).max(9.0) + step as f64 * size * 0.6;
    let (side, lift) = (gap * 0.8, gap * 0.4);
    // Above, below and beside, moved along as far as the frame asks.
    let beside = (y - high / 2.0).min(frame.y1 - high).max(frame.y0);
    let middle = (x - wide / 2.0).min(frame.x1 - wide).max(frame.x0);
    let spots = [
        (x + side, y - lift - high, false),
        (x - side - wide, y + lift, true),
        (x + gap, beside, false),
        (x - gap - wide, beside, true),
        (x + side, y + lift, false),
        (x - side - wide, y - lift - high, true),
        (middle, y - gap - high, false),
        (middle, y + gap, false),
        (x + lift, y - side - high, false),
        (x - lift - wide, y + side, true),
        (x + lift, y + side, false),
        (x - lift - wide, y - side - high, true),
    ];
    spots.map(|(x0, y0, right)| {
        let area = Area { x0, y0, x1: x0 + wide, y1: y0 + high };
        let nearest = (x.clamp(area.x0, area.x1), y.clamp(area.y0, area.y1));
        Placed { area, right, led: (step >= LED).then_some(nearest) }
    })
}

/// Whether the way from a point to another goes over something taken; what lies around its beginning does not count.
fn crosses(from: (f64, f64), to: (f64, f64), taken: &[Area]) -> bool {
    let steps = ((to.0 - from.0).hypot(to.1 - from.1) / 2.0).ceil().max(1.0);
    let holds = |a: &Area, (x, y): (f64, f64)| x > a.x0 && x < a.x1 && y > a.y0 && y < a.y1;
    let on = |i: usize| {
        let t = i as f64 / steps;
        (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t)
    };
    let others = || taken.iter().filter(|a| !holds(a, from));
    (1..steps as usize).any(|i| others().any(|a| holds(a, on(i))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_avoid_each_other_and_the_edge() {
        let frame = Area { x0: 0.0, y0: 0.0, x1: 200.0, y1: 100.0 };
        let mut taken = Vec::new();
        let mut put = |at| place(at, &["3 h 9 min"], 12.0, &frame, &[], &mut taken).expect("room").area;
        let (a, b) = (put((100.0, 50.0)), put((104.0, 50.0)));
        assert_eq!(a.overlap(&b), 0.0);
        let corner = put((195.0, 4.0));
        assert!(corner.inside(&frame), "{corner:?}");
    }

    /// A frame as high as one line (12 · 1.2 = 14.4) and not as wide as two texts of nine signs, five of them 0.6 of 12 wide
    /// (36 each and more), beside a point at its left edge: there is room for one.
    #[test]
    fn what_finds_no_room_is_left_out() {
        let frame = Area { x0: 0.0, y0: 0.0, x1: 80.0, y1: 16.0 };
        let mut taken = Vec::new();
        let mut put = || place((0.0, 8.0), &["3 h 9 min"], 12.0, &frame, &[], &mut taken).is_some();
        assert_eq!([put(), put()], [true, false]);
    }
}
