//! A claim against what was measured: the interval mark, large, and the verdict as a word.
use super::canvas::{self, Anchor, Canvas, Run, corners, run};
use super::face::{self, BODY, CAP, LEADING, SMALL, Tone};
use super::head::{Head, Number, lines};
use crate::chart::labels::Area;
use crate::piece::mark::Scale;
use trueplate_core::judge::Verdict;

/// What it says.
pub struct Claimed {
    /// Of which station.
    pub name: String,
    /// What is claimed.
    pub title: String,
    /// "at least 1150 W".
    pub stated: String,
    /// "1162 ± 9 W", or the counted trials in words.
    pub measured: Measured,
    /// The claimed limit, in the unit its dimension is kept in.
    pub limit: f64,
    /// It binds from below.
    pub minimum: bool,
    /// Half-width of the interval; 0 where it is not known.
    pub half: f64,
    /// The value, of counted trials the worst.
    pub x: f64,
    /// What is said of it.
    pub verdict: Verdict,
    /// Why, where the word alone does not say it.
    pub why: String,
}

/// What stands under the mark.
pub enum Measured {
    /// A value.
    Value(Number),
    /// "7 of 20 trials beyond it, the worst 13.1 ms", and each trial.
    Trials(String, Vec<f64>),
}

const PAD: f64 = 60.0;
/// Size of the verdict.
const VERDICT: f64 = 108.0;
/// From the head to the middle of the mark, and from there to the top of the verdict.
const ABOVE: f64 = 190.0;
const BELOW: f64 = 190.0;
/// Half-heights of the claim's tick, of the bar, and of its ends.
const TICK: f64 = 66.0;
const BAR: f64 = 15.0;
const END: f64 = 38.0;

impl Claimed {
    /// Layers: the claim on its scale; what was measured; the verdict.
    pub fn draw(&self, canvas: &mut Canvas) {
        let room = canvas.room;
        let inner = room.wide() - 2.0 * PAD;
        let head = Head::new(&self.name, &self.title, inner);
        let why = face::wrap(&face::writable(&face::short(&self.why, 90)), SMALL, false, inner);
        let why_high = if why.is_empty() { 0.0 } else { 34.0 + why.len() as f64 * SMALL * LEADING };
        let (stated, found) = (self.stated_lines(inner), self.found_lines(inner));
        let (above, below) = (ABOVE + between(&stated), BELOW + between(&found));
        let high = head.high() + above + below + VERDICT * CAP + why_high + 2.0 * PAD;
        let top = (room.y0 + room.y1 - high) / 2.0;
        canvas.plate(Area { y0: top, y1: top + high, ..room });
        let (x0, x1) = (room.x0 + PAD, room.x1 - PAD);
        canvas.layer();
        let middle = head.draw(canvas, x0, top + PAD) + above;
        let scale = self.scale(x1 - x0);
        self.claim(canvas, (x0, x1), middle, &scale);
        let at = (x0 + scale.at(self.limit), middle - TICK - 30.0 - between(&stated));
        beside(canvas, (x0, x1), at, &stated);
        canvas.layer();
        self.found(canvas, x0, middle, &scale);
        let at = (x0 + scale.at(self.x), middle + TICK + 34.0 + BODY * CAP);
        beside(canvas, (x0, x1), at, &found);
        canvas.layer();
        let base = middle + below + VERDICT * CAP;
        canvas.text(
            (x0 - 4.0, base),
            Anchor::Start,
            &[run(self.verdict.words(), VERDICT).bold().tone(self.tone())],
        );
        lines(canvas, (x0, base + 34.0 + SMALL * LEADING * 0.82), &why, SMALL, |r| r.tone(Tone::Quiet));
    }

    fn tone(&self) -> Tone {
        match self.verdict {
            v if v.against() => Tone::Alert,
            Verdict::Met | Verdict::ProbablyMet => Tone::Accent,
            _ => Tone::Ink,
        }
    }

    fn stated_lines(&self, wide: f64) -> Vec<Vec<Run>> {
        told("claimed", vec![run(&self.stated, BODY).bold()], wide)
    }

    fn found_lines(&self, wide: f64) -> Vec<Vec<Run>> {
        match &self.measured {
            Measured::Value(number) => told("measured", number.runs(BODY, BODY), wide),
            Measured::Trials(words, _) => {
                face::wrap(words, BODY, true, wide).iter().map(|l| vec![run(l, BODY).bold()]).collect()
            }
        }
    }

    fn scale(&self, wide: f64) -> Scale {
        let trials = match &self.measured {
            Measured::Trials(_, all) => all.as_slice(),
            Measured::Value(_) => &[],
        };
        let ends = [self.limit, self.x - self.half, self.x + self.half];
        Scale::of(ends.iter().chain(trials).copied().filter(|v| v.is_finite()), wide)
    }

    fn claim(&self, canvas: &mut Canvas, (x0, x1): (f64, f64), y: f64, scale: &Scale) {
        let at = x0 + scale.at(self.limit);
        let (keeps, fails) = if self.minimum { (x1, x0) } else { (x0, x1) };
        canvas.dots(&[(fails, y), (at, y)], Tone::Hair, 5.0);
        canvas.line(&[(at, y), (keeps, y)], Tone::Hair, 5.0);
        canvas.line(&[(at, y - TICK), (at, y + TICK)], Tone::Ink, 9.0);
    }

    fn found(&self, canvas: &mut Canvas, x0: f64, y: f64, scale: &Scale) {
        let tone = if self.verdict.against() { Tone::Alert } else { Tone::Accent };
        let at = x0 + scale.at(self.x);
        match &self.measured {
            Measured::Trials(_, all) => {
                for trial in all {
                    let x = x0 + scale.at(*trial);
                    let over = if self.minimum { *trial < self.limit } else { *trial > self.limit };
                    let tone = if over { Tone::Alert } else { Tone::Accent };
                    let reach = if over { END + 8.0 } else { END - 8.0 };
                    canvas.line(&[(x, y - reach), (x, y + reach)], tone, 7.0);
                }
            }
            Measured::Value(_) => {
                if self.half > 0.0 {
                    let (from, to) = (x0 + scale.at(self.x - self.half), x0 + scale.at(self.x + self.half));
                    let half = ((to - from) / 2.0).max(5.0);
                    let (from, to) = ((from + to) / 2.0 - half, (from + to) / 2.0 + half);
                    canvas.area(&corners(Area { x0: from, y0: y - BAR, x1: to, y1: y + BAR }), tone, 1.0);
                    for x in [from, to] {
                        canvas.line(&[(x, y - END), (x, y + END)], tone, 8.0);
                    }
                } else {
                    canvas.disc((at, y), 20.0, tone, false);
                }
            }
        }
    }
}

/// "measured 1162 ± 9 W" in one line where it fits, else the word above the number.
fn told(word: &str, number: Vec<Run>, wide: f64) -> Vec<Vec<Run>> {
    let word = run(word, BODY).tone(Tone::Quiet);
    let mut one = vec![word.clone(), run(" ", BODY)];
    one.extend(number.iter().cloned());
    if canvas::width(&one) <= wide { vec![one] } else { vec![vec![word], number] }
}

/// From the first base line to the last.
fn between(lines: &[Vec<Run>]) -> f64 {
    lines.len().saturating_sub(1) as f64 * BODY * LEADING
}

/// Lines centred on a place, each moved so that it stays between two edges.
fn beside(canvas: &mut Canvas, (x0, x1): (f64, f64), at: (f64, f64), lines: &[Vec<Run>]) {
    for (i, line) in lines.iter().enumerate() {
        let half = (canvas::width(line) / 2.0).min((x1 - x0) / 2.0);
        let x = at.0.clamp(x0 + half, x1 - half);
        canvas.text((x, at.1 + i as f64 * BODY * LEADING), Anchor::Middle, line);
    }
}
