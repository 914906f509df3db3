//! A channel for the eye: lowest and highest sample of each piece of a window, however long the capture is.
use super::load::{Follows, one_channel};
use std::io::{self, Read};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Time of the first sample of a piece, s, its lowest and its highest sample, in V or A as written.
pub type Point = (f64, f32, f32);

/// Gathers the pieces.
struct Pieces {
    start_s: f64,
    rate_hz: f64,
    window: (f64, f64),
    most: f64,
    count: u64,
    piece: f64,
    points: Vec<Point>,
    /// The window is behind: nobody needs the rest.
    enough: Arc<AtomicBool>,
}

/// A file that ends when enough of it was seen.
struct Until<R> {
    source: R,
    enough: Arc<AtomicBool>,
}

impl<R: Read> Read for Until<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.enough.load(Ordering::Relaxed) { Ok(0) } else { self.source.read(into) }
    }
}

impl Follows for Pieces {
    fn take(&mut self, samples: &[f32]) {
        let (from, to) = self.window;
        if self.start_s + self.count as f64 / self.rate_hz > to {
            self.enough.store(true, Ordering::Relaxed);
            return;
        }
        for v in samples {
            let t = self.start_s + self.count as f64 / self.rate_hz;
            self.count += 1;
            if !(from..=to).contains(&t) {
                continue;
            }
            let piece = ((t - from) / (to - from) * self.most).floor();
            match self.points.last_mut().filter(|_| piece <= self.piece) {
                Some(last) => (last.1, last.2) = (last.1.min(*v), last.2.max(*v)),
                None => self.points.push((t, *v, *v)),
            }
            self.piece = piece;
        }
    }
}

/// A channel (from 0) between two times in at most about `most` pieces; no sample in the window is lost to the eye. Empty
/// where the file is not understood.
///
/// # Errors
/// Only when a reader fails.
pub fn trace<R: Read>(
    mut open: impl FnMut() -> io::Result<R>,
    channel: usize,
    window: (f64, f64),
    most: usize,
) -> io::Result<Vec<Point>> {
    let enough = Arc::new(AtomicBool::new(false));
    let open = || Ok(Until { source: open()?, enough: enough.clone() });
    let begin = |rate_hz, start_s| Pieces {
        start_s,
        rate_hz,
        window,
        most: most as f64,
        count: 0,
        piece: f64::NEG_INFINITY,
        points: Vec::new(),
        enough: enough.clone(),
    };
    Ok(one_channel(open, channel, begin)?.map_or_else(Vec::new, |p| p.points))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten thousand samples a millisecond apart, all 1 but one of 9 and one of −9; the second channel is ten times that.
    fn rows() -> String {
        let v = |i: u32| {
            if i == 4321 {
                9
            } else if i == 6789 {
                -9
            } else {
                1
            }
        };
        let row = |i: u32| format!("{:.3},{},{}\n", f64::from(i) / 1e3, v(i), 10 * v(i));
        std::iter::once("TIME (s),A,B\n".to_string()).chain((0..10_000).map(row)).collect()
    }

    #[test]
    fn the_lone_samples_are_there_at_every_width() {
        let text = rows();
        let of = |channel, window, most| trace(|| Ok(text.as_bytes()), channel, window, most).unwrap();
        for (channel, k) in [(0, 1.0), (1, 10.0)] {
            for most in [10, 333, 100_000] {
                let points = of(channel, (0.0, 9.999), most);
                assert!(points.len() <= most + 1 && points.iter().any(|p| p.2 == 9.0 * k));
                assert!(points.iter().any(|p| p.1 == -9.0 * k));
            }
        }
        // Closer: each sample by itself, at its own time.
        let close = of(0, (4.320, 4.322), 600);
        assert_eq!(close.len(), 3);
        assert!((close[1].0 - 4.321).abs() < 1e-9 && close[1].2 == 9.0);
        assert!(of(2, (0.0, 1.0), 10).is_empty(), "there is no third channel");
        assert!(trace(|| Ok(&b"no capture"[..]), 0, (0.0, 1.0), 10).unwrap().is_empty());
    }
}
