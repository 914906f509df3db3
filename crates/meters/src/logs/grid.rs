//! Lines of one length, as a grid of bytes: what stands at one place in each of them is found without looking for it.

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

/// As many bytes of a line, from this place in it on; it has to reach as far.
#[inline(always)]
pub(crate) fn piece<const N: usize>(line: &[u8], from: usize) -> &[u8; N] {
    line[from..].first_chunk().expect("the line reaches as far")
}
