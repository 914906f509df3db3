//! A file cut into lines, in constant memory.
use std::io::{self, Read};

/// Room for lines; a block of whole lines is handed out at a time.
pub(crate) const ROOM: usize = 1 << 18;
/// The longest line that is read.
pub(crate) const LONGEST: usize = 1 << 16;

/// Hands out blocks of whole lines.
pub(crate) struct Lines<R> {
    source: R,
    buffer: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    end_byte: u8,
    /// What stopped the reading before the end, if anything did.
    pub(crate) error: Option<io::Error>,
}

/// What came out of the file.
pub(crate) enum Block {
    /// `from..to` of the buffer holds whole lines; `last` when the final one has no line end.
    Lines {
        /// Where the block starts.
        from: usize,
        /// Where it ends.
        to: usize,
        /// The final line of the file has no line end.
        unfinished: bool,
    },
    /// A line longer than [`LONGEST`].
    TooLong,
    /// Nothing more.
    End,
}

impl<R: Read> Lines<R> {
    pub(crate) fn new(source: R, cr_only: bool) -> Self {
        let end_byte = if cr_only { b'\r' } else { b'\n' };
        Lines { source, buffer: vec![0; ROOM], from: 0, to: 0, ended: false, end_byte, error: None }
    }

    pub(crate) fn end_byte(&self) -> u8 {
        self.end_byte
    }

    /// The bytes of a block.
    pub(crate) fn bytes(&self, from: usize, to: usize) -> &[u8] {
        &self.buffer[from..to]
    }

    /// The next block of whole lines.
    pub(crate) fn next_block(&mut self) -> Block {
        loop {
            if let Some(end) = memchr::memrchr(self.end_byte, &self.buffer[self.from..self.to]) {
                let (from, to) = (self.from, self.from + end + 1);
                self.from = to;
                return Block::Lines { from, to, unfinished: false };
            }
            if self.ended {
                let (from, to) = (self.from, self.to);
                self.from = to;
                return if from == to { Block::End } else { Block::Lines { from, to, unfinished: true } };
            }
            if self.to - self.from > LONGEST {
                return Block::TooLong;
            }
            self.fill();
        }
    }

    /// The next block together with the buffer it lies in; `spare` takes its place.
    pub(crate) fn hand_over(&mut self, mut spare: Vec<u8>) -> (Block, Vec<u8>) {
        let block = self.next_block();
        spare.resize(ROOM, 0);
        let rest = self.to - self.from;
        spare[..rest].copy_from_slice(&self.buffer[self.from..self.to]);
        (self.from, self.to) = (0, rest);
        (block, std::mem::replace(&mut self.buffer, spare))
    }

    fn fill(&mut self) {
        self.buffer.copy_within(self.from..self.to, 0);
        (self.from, self.to) = (0, self.to - self.from);
        while self.to + LONGEST / 2 < self.buffer.len() {
            match self.source.read(&mut self.buffer[self.to..]) {
                Ok(0) => {
                    self.ended = true;
                    return;
                }
                Ok(n) => self.to += n,
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                // What was read before the trouble is still handed out.
                Err(e) => {
                    self.error = Some(e);
                    self.ended = true;
                    return;
                }
            }
        }
    }
}
