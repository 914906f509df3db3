//! What stands at instants of a trace: words over their marks, and parts with a time of their own.
use super::labels;
use super::trace::{FOOT, Plane, TOP, Trace};
use crate::piece::escape;
use std::fmt::Write;

impl Trace {
    /// Marks, each with its word where it has the room.
    pub(super) fn marks(&self, out: &mut String, plane: &Plane<'_>) {
        let size = plane.size;
        // Where the last word ends: two do not stand on each other.
        let mut free = 0.0;
        for (s, word) in self.marks.iter().filter(|m| self.within(m.0)) {
            let x = plane.x(*s);
            let _ = write!(out, "<path class=\"event\" d=\"M{x:.1} {TOP}V{}\"/>", size.high - FOOT);
            let wide = labels::width(word, size.type_size);
            // It begins at its mark, as a band does that begins there.
            let left = x.min(size.wide - wide).max(free);
            // A word that would have to move off its mark is left to the text.
            if word.is_empty() || left + wide > size.wide + 0.1 || left > x + 0.1 {
                continue;
            }
            free = left + wide + labels::width("  ", size.type_size);
            let (at, anchor) = if left < x - 0.1 { (left + wide, "end") } else { (left, "start") };
            let _ = write!(
                out,
                "<text class=\"lab\" x=\"{at:.1}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"{}\">{}</text>",
                TOP - 7.0,
                size.type_size,
                escape(word)
            );
        }
    }

    pub(super) fn within(&self, s: f64) -> bool {
        (self.window.0..=self.window.1).contains(&s)
    }

    /// Borders of parts, and the name of each where it has the room.
    pub(super) fn parts(&self, out: &mut String, plane: &Plane<'_>) {
        let size = plane.size;
        let x = |s: f64| plane.x(s.clamp(self.window.0, self.window.1));
        for (n, (begin, name)) in self.parts.iter().enumerate() {
            let end = self.parts.get(n + 1).map_or(self.window.1, |p| p.0);
            if end <= self.window.0 || *begin >= self.window.1 {
                continue;
            }
            let (left, right) = (x(*begin), x(end));
            // At the edge of the drawing there is nothing to part.
            if left > size.left + 0.5 {
                let _ = write!(out, "<path class=\"border\" d=\"M{left:.1} {TOP}V{}\"/>", size.high - FOOT);
            }
            let number = name.rsplit(' ').next().unwrap_or_default();
            let fits = |w: &&str| labels::width(w, size.type_size) + 10.0 < right - left;
            if let Some(word) = [name.as_str(), number].iter().find(|w| fits(w)) {
                let _ = write!(
                    out,
                    "<text class=\"lab part\" x=\"{:.1}\" y=\"{}\" font-size=\"{}\">{}</text>",
                    left + 5.0,
                    size.high - FOOT - 6.0,
                    size.type_size,
                    escape(word)
                );
            }
        }
    }
}
