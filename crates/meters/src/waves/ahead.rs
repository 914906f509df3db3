//! The later part of a block of rows, read on another core while the earlier one is taken.
//!
//! Reading the digits is the most of the work of a large capture; what the rows mean hangs on those before and stays in
//! order on one thread.
use super::row::{Row, WIDEST};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::{available_parallelism, spawn};

/// Blocks from this size on are shared, bytes.
pub(super) const SHARED_FROM: usize = 1 << 16;

/// Rows as read, up to the first that needs the long way.
#[derive(Default)]
pub(super) struct Part {
    bytes: Vec<u8>,
    /// Time in s and samples of each row, one after another.
    numbers: Vec<f64>,
    /// Bytes that were read.
    pub(super) read: usize,
}

/// The other thread. It ends when this is dropped.
pub(super) struct Ahead {
    to: SyncSender<Part>,
    back: Receiver<Part>,
    /// The part that is not under way.
    spare: Part,
    channels: usize,
}

impl Ahead {
    /// `None` on a single core.
    pub(super) fn new(mut row: Row, channels: usize) -> Option<Ahead> {
        if available_parallelism().map_or(1, usize::from) < 2 {
            return None;
        }
        let (to, parts) = sync_channel::<Part>(1);
        let (done, back) = sync_channel(1);
        spawn(move || {
            for mut part in parts {
                let mut at = 0;
                while at < part.bytes.len()
                    && let Some(next) = row.read(&part.bytes, at)
                {
                    part.numbers.push(row.time);
                    part.numbers.extend_from_slice(&row.values[..channels]);
                    at = next;
                }
                part.read = at;
                if done.send(part).is_err() {
                    return;
                }
            }
        });
        Some(Ahead { to, back, spare: Part::default(), channels })
    }

    /// Gives these whole lines away to be read. False when the other thread is gone.
    pub(super) fn send(&mut self, bytes: &[u8]) -> bool {
        let mut part = std::mem::take(&mut self.spare);
        part.bytes.clear();
        part.bytes.extend_from_slice(bytes);
        part.numbers.clear();
        self.to.send(part).is_ok()
    }

    /// Hands out the rows of what was sent, in order; how many bytes they were. What was lost counts as none: it is read
    /// here then.
    pub(super) fn rows(&mut self, mut row: impl FnMut(f64, &[f64; WIDEST])) -> usize {
        let Ok(part) = self.back.recv() else { return 0 };
        let mut values = [0.0; WIDEST];
        for numbers in part.numbers.chunks_exact(1 + self.channels) {
            values[..self.channels].copy_from_slice(&numbers[1..]);
            row(numbers[0], &values);
        }
        let read = part.read;
        self.spare = part;
        read
    }
}

#[cfg(test)]
mod tests {
    use super::super::layout::understand;
    use super::*;

    /// Row n says n µs and n/8 V, by how it is made; once a line of words stands among them.
    #[test]
    fn rows_come_in_order_up_to_the_first_that_is_none() {
        let line = |n: usize| format!("{n}.0E-06,{}\n", n as f64 / 8.0);
        let head: String = (0..400).map(line).collect();
        let Ok(layout) = understand(format!("time (s),CH1 (V)\n{head}").as_bytes()) else {
            panic!("a capture")
        };
        let Some(mut ahead) = Ahead::new(Row::of(&layout).expect("plain decimals"), 1) else { return };
        for strange in [None, Some(700)] {
            let lines: Vec<String> = (0..1000).map(line).collect();
            let before = strange.map_or(1000, |n| n);
            let text = match strange {
                Some(n) => format!("{}overload\n{}", lines[..n].concat(), lines[n..].concat()),
                None => lines.concat(),
            };
            assert!(ahead.send(text.as_bytes()));
            let mut seen = 0;
            let read = ahead.rows(|time, values| {
                assert!((time - seen as f64 * 1e-6).abs() < 1e-12 && values[0] == seen as f64 / 8.0);
                seen += 1;
            });
            assert_eq!((seen, read), (before, lines[..before].concat().len()));
        }
    }
}
