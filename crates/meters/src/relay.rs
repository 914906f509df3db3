//! A long file on two threads: this one reads the bytes and sums up what they mean, another makes rows of them.
//!
//! So whoever gives the bytes need not be able to change threads, nor whoever sums up, and both ends of the work weigh
//! about the same. A short file stays on this thread. Everything arrives in the order of the file.
use crate::logs::lines::{Block, Lines};
use std::io::{self, Read};
use std::mem;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread::{Builder, available_parallelism, scope};

/// Blocks after which a second thread is worth its start.
const SHARE_FROM: usize = 4;
/// Blocks under way between the threads.
const UNDER_WAY: usize = 4;
/// Emptied batches kept to be filled again.
const SPARE: usize = 8;

/// Makes batches of rows out of blocks of lines.
pub(crate) trait Parses: Send {
    /// Some rows in columns.
    type Batch: Send;

    /// All lines of a block; `unfinished`: the file ends without a line end behind the last. `false` when what follows
    /// is not to be read.
    fn block(&mut self, bytes: &[u8], end: u8, unfinished: bool) -> bool;

    /// The next line is longer than any that is read.
    fn too_long(&mut self);

    /// Where full batches are laid in order, and emptied ones lie to be filled.
    fn shelves(&mut self) -> &mut Shelves<Self::Batch>;
}

/// Batches that wait.
pub(crate) struct Shelves<B> {
    pub(crate) full: Vec<B>,
    pub(crate) empty: Vec<B>,
}

impl<B> Shelves<B> {
    pub(crate) fn new() -> Self {
        Shelves { full: Vec::new(), empty: Vec::new() }
    }

    fn put_back(&mut self, batch: B) {
        if self.empty.len() < SPARE {
            self.empty.push(batch);
        }
    }
}

/// Reads all lines; each full batch goes to `take`, which empties it. Gives back the parser with what it still holds.
///
/// # Errors
/// When the other thread died, which can only mean a fault of this program.
pub(crate) fn relay<R: Read, P: Parses>(
    lines: &mut Lines<R>,
    mut parser: P,
    mut take: impl FnMut(&mut P::Batch),
) -> io::Result<P> {
    let alone = available_parallelism().is_ok_and(|n| n.get() == 1);
    let mut block = 0;
    while block < SHARE_FROM || alone {
        block += 1;
        if !here(lines, &mut parser, &mut take) {
            return Ok(parser);
        }
    }
    let (to, pieces) = sync_channel(UNDER_WAY);
    let (back, done) = channel();
    let (hand_over, taken) = sync_channel::<P>(1);
    let end = lines.end_byte();
    scope(|s| {
        let work = move || taken.recv().ok().map(|parser| there(parser, end, &pieces, &back));
        let Ok(worker) = Builder::new().name("rows".into()).spawn_scoped(s, work) else {
            // No thread is to be had: all stays here.
            while here(lines, &mut parser, &mut take) {}
            return Ok(parser);
        };
        let handed = hand_over.send(parser).is_ok();
        let arrived = handed && between(lines, &to, &done, &mut take);
        drop(to);
        let parser = worker.join().ok().flatten();
        // Rows that never arrived would be missing without a word.
        parser.filter(|_| arrived).ok_or_else(|| io::Error::other("the reading broke off inside the program"))
    })
}

/// One block on this thread; `false` when nothing follows.
fn here<R: Read, P: Parses>(
    lines: &mut Lines<R>,
    parser: &mut P,
    take: &mut impl FnMut(&mut P::Batch),
) -> bool {
    let goes_on = match lines.next_block() {
        Block::End => false,
        Block::TooLong => {
            parser.too_long();
            false
        }
        Block::Lines { from, to, unfinished } => {
            parser.block(lines.bytes(from, to), lines.end_byte(), unfinished)
        }
    };
    let shelves = parser.shelves();
    for mut batch in mem::take(&mut shelves.full) {
        take(&mut batch);
        shelves.put_back(batch);
    }
    goes_on
}

/// A block on its way to the other thread, with emptied batches.
struct Piece<B> {
    buffer: Vec<u8>,
    block: Block,
    empty: Vec<B>,
}

/// What comes back: the buffer, and the batches that became full.
struct Done<B> {
    buffer: Vec<u8>,
    full: Vec<B>,
    goes_on: bool,
}

/// The other thread: blocks to batches.
fn there<P: Parses>(
    mut parser: P,
    end: u8,
    pieces: &Receiver<Piece<P::Batch>>,
    back: &Sender<Done<P::Batch>>,
) -> P {
    for Piece { buffer, block, empty } in pieces {
        let goes_on = match block {
            Block::End => false,
            Block::TooLong => {
                parser.too_long();
                false
            }
            Block::Lines { from, to, unfinished } => parser.block(&buffer[from..to], end, unfinished),
        };
        let shelves = parser.shelves();
        empty.into_iter().for_each(|batch| shelves.put_back(batch));
        let full = mem::take(&mut shelves.full);
        if back.send(Done { buffer, full, goes_on }).is_err() || !goes_on {
            break;
        }
    }
    parser
}

/// This thread: bytes to the other, and what comes back summed up. `false` when the other died.
fn between<R: Read, B>(
    lines: &mut Lines<R>,
    to: &SyncSender<Piece<B>>,
    done: &Receiver<Done<B>>,
    take: &mut impl FnMut(&mut B),
) -> bool {
    let (mut buffers, mut empty, mut under_way, mut goes_on) = (Vec::new(), Vec::new(), 0, true);
    loop {
        while goes_on && under_way < UNDER_WAY {
            let (block, buffer) = lines.hand_over(buffers.pop().unwrap_or_default());
            goes_on = matches!(block, Block::Lines { .. });
            if to.send(Piece { buffer, block, empty: mem::take(&mut empty) }).is_err() {
                return false;
            }
            under_way += 1;
        }
        if under_way == 0 {
            return true;
        }
        let Ok(piece) = done.recv() else { return false };
        under_way -= 1;
        for mut batch in piece.full {
            take(&mut batch);
            empty.push(batch);
        }
        buffers.push(piece.buffer);
        if !piece.goes_on {
            return true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Puts the numbers of lines in batches of a hundred; stops behind the line `last`, dies at the line `deadly`.
    struct Counts {
        shelves: Shelves<Vec<u64>>,
        now: Vec<u64>,
        last: u64,
        deadly: u64,
        too_long: bool,
    }

    impl Counts {
        fn new() -> Self {
            let shelves = Shelves::new();
            Counts { shelves, now: Vec::new(), last: u64::MAX, deadly: u64::MAX, too_long: false }
        }
    }

    impl Parses for Counts {
        type Batch = Vec<u64>;

        fn block(&mut self, bytes: &[u8], end: u8, _unfinished: bool) -> bool {
            for line in bytes.split(|b| *b == end).filter(|l| !l.is_empty()) {
                let n = std::str::from_utf8(line).expect("text").parse().expect("a number");
                assert_ne!(n, self.deadly, "this parser dies when it is told to");
                self.now.push(n);
                if self.now.len() == 100 {
                    let empty = self.shelves.empty.pop().unwrap_or_default();
                    self.shelves.full.push(mem::replace(&mut self.now, empty));
                }
                if n == self.last {
                    return false;
                }
            }
            true
        }

        fn too_long(&mut self) {
            self.too_long = true;
        }

        fn shelves(&mut self) -> &mut Shelves<Vec<u64>> {
            &mut self.shelves
        }
    }

    /// What arrived, and the parser; `text` is read in the way files are.
    fn relayed(text: &str, parser: Counts) -> io::Result<(Vec<u64>, Counts)> {
        let mut arrived = Vec::new();
        let mut lines = Lines::new(text.as_bytes(), false);
        let mut parser = relay(&mut lines, parser, |batch| arrived.append(batch))?;
        arrived.append(&mut parser.now);
        Ok((arrived, parser))
    }

    /// Numbers of seven digits, a line each: 8 bytes, so that 400,000 are about twelve blocks.
    fn numbered(lines: u64) -> String {
        (1_000_000..1_000_000 + lines).map(|n| format!("{n}\n")).collect()
    }

    #[test]
    fn all_lines_arrive_once_and_in_order() {
        for lines in [0, 1, 99, 100, 40_000, 400_000] {
            let (arrived, _) = relayed(&numbered(lines), Counts::new()).expect("nobody dies");
            assert!(arrived.into_iter().eq(1_000_000..1_000_000 + lines), "{lines}");
        }
    }

    #[test]
    fn nothing_is_read_behind_the_last() {
        for last in [1_000_010, 1_399_000] {
            let parser = Counts { last, ..Counts::new() };
            let (arrived, _) = relayed(&numbered(400_000), parser).expect("nobody dies");
            assert!(arrived.into_iter().eq(1_000_000..=last), "{last}");
        }
    }

    #[test]
    fn a_line_without_end_is_told() {
        for lines in [3, 400_000] {
            let text = numbered(lines) + &"5".repeat(2 * crate::logs::lines::ROOM);
            let (arrived, parser) = relayed(&text, Counts::new()).expect("nobody dies");
            assert_eq!((arrived.len() as u64, parser.too_long), (lines, true));
        }
    }

    /// Rows are never missing without a word.
    #[test]
    fn a_death_on_the_other_thread_is_an_error() {
        let parser = Counts { deadly: 1_390_000, ..Counts::new() };
        assert!(relayed(&numbered(400_000), parser).is_err());
    }
}
