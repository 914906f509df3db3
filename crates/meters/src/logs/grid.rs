//! Lines of one length, as a grid of bytes: what stands at one place in each of them is found without looking for it.

use std::ops::Range;

/// Lines of one length.
#[derive(Clone, Copy)]
pub(crate) struct Grid<'a> {
    bytes: &'a [u8],
    length: usize,
}

impl<'a> Grid<'a> {
    /// The lines of this length that come next.
    pub(crate) fn of(bytes: &'a [u8], length: usize, most: usize) -> Option<Grid<'a>> {
        let lines = bytes.chunks_exact(length).take(most);
        // The short way stops at the first line end, so a line that has two is none of these: no field lets it pass.
        let lines = lines.take_while(|line| line.last() == Some(&b'\n')).count();
        (lines > 0).then(|| Grid { bytes: &bytes[..lines * length], length })
    }

    /// The first of them.
    pub(crate) fn first(self, lines: usize) -> Grid<'a> {
        Grid { bytes: &self.bytes[..lines * self.length], ..self }
    }

    /// Bytes of each line, with its end.
    pub(crate) fn length(self) -> usize {
        self.length
    }

    /// The lines, all of one length.
    #[inline(always)]
    pub(crate) fn lines(self) -> impl ExactSizeIterator<Item = &'a [u8]> {
        self.bytes.chunks_exact(self.length)
    }
}

/// Whether a field of lines, which is not read, ends where it did and holds nothing that sends a line the long way.
pub(crate) fn skips<'a>(
    mut lines: impl Iterator<Item = &'a [u8]>,
    field: Range<usize>,
    after: u8,
    delimiter: u8,
) -> bool {
    let plain = |b: &u8| *b != delimiter && !matches!(b, b'"' | 0 | b'\n' | b'\r');
    lines.all(|line| line[field.end] == after && line[field.clone()].iter().all(plain))
}

/// As many bytes of a line, from this place in it on; it has to reach as far.
#[inline(always)]
pub(crate) fn piece<const N: usize>(line: &[u8], from: usize) -> &[u8; N] {
    line[from..].first_chunk().expect("the line reaches as far")
}

/// Where the eight bytes lie that end with a number, or, near the start of a line, that begin with it.
#[derive(Clone, Copy)]
pub(crate) struct Window {
    from: usize,
    shift: u32,
}

impl Window {
    /// For what is never read.
    pub(crate) const NONE: Window = Window { from: 0, shift: 0 };

    /// For a number of so many characters, one to eight, in lines of a length; `None` where these are too short.
    pub(crate) fn of(line: usize, from: usize, length: usize) -> Option<Window> {
        let beside = 8usize.checked_sub(length).filter(|n| *n < 8)?;
        match from.checked_sub(beside) {
            Some(from) => (from + 8 <= line).then_some(Window { from, shift: 0 }),
            None => (from + 8 <= line).then_some(Window { from, shift: 8 * beside as u32 }),
        }
    }

    /// Eight characters that end with the number, the first in the lowest byte.
    #[inline(always)]
    pub(crate) fn text(self, line: &[u8]) -> u64 {
        u64::from_le_bytes(*piece(line, self.from)) << self.shift
    }
}
