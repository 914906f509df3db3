//! How the lines end: whether a last line without a line end is whole.
//!
//! A file cut off inside its last number still has all its fields. Where every line before has the same number of decimals
//! there and the last has fewer, it was cut; where they vary, or there are none, nobody can know.
use super::mapping::Mapping;

/// Lines looked at.
const LINES: usize = 16;

/// The decimals of the last field, where the lines seen last agree.
#[derive(Clone, Copy, Default)]
pub(crate) struct Ending {
    usual: Option<usize>,
}

impl Ending {
    /// Looks at the last lines of a block of whole lines.
    pub(crate) fn look(&mut self, block: &[u8], end: u8, mapping: &Mapping) {
        let lines = block.rsplit(|b| *b == end).skip(1).take(LINES);
        let mut seen = lines.map(|l| decimals(l, mapping));
        self.usual = seen.next().flatten().filter(|first| seen.all(|d| d == Some(*first)));
    }

    /// Whether a last line without a line end was cut inside its last number.
    pub(crate) fn cuts(&self, line: &[u8], mapping: &Mapping) -> bool {
        self.usual.zip(decimals(line, mapping)).is_some_and(|(usual, here)| here < usual)
    }
}

/// Digits behind the decimal mark in the last field of a line; `None` where that is no plain number.
fn decimals(line: &[u8], mapping: &Mapping) -> Option<usize> {
    let line = line.trim_ascii_end();
    let field = match memchr::memrchr(mapping.delimiter as u8, line) {
        Some(at) if mapping.delimiter.is_ascii() => &line[at + 1..],
        _ => line,
    };
    let digits = |part: &[u8]| part.iter().all(u8::is_ascii_digit);
    match memchr::memchr(mapping.decimal as u8, field) {
        Some(at) => Some(&field[at + 1..]).filter(|f| digits(f)).map(<[u8]>::len),
        None => digits(field).then_some(0),
    }
}
