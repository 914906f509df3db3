//! Bytes to UTF-8: encodings, gzip, and the signs that a file is no text at all.
use encoding_rs::{CoderResult, Decoder, Encoding, UTF_8};
use std::io::{self, BufRead, BufReader, Read};

/// Encoding of a file by its first bytes: byte-order mark, the zeros of UTF-16, valid UTF-8, else a guess.
pub(crate) fn encoding_of(head: &[u8]) -> &'static Encoding {
    if let Some((encoding, _)) = Encoding::for_bom(head) {
        return encoding;
    }
    let sample = &head[..head.len().min(4096)];
    let zeros = |odd: usize| sample.iter().skip(odd).step_by(2).filter(|b| **b == 0).count();
    if sample.len() >= 8 && zeros(1) * 5 > sample.len() * 2 {
        return encoding_rs::UTF_16LE;
    }
    if sample.len() >= 8 && zeros(0) * 5 > sample.len() * 2 {
        return encoding_rs::UTF_16BE;
    }
    match std::str::from_utf8(head) {
        Ok(_) => UTF_8,
        // A head cut inside a character is still UTF-8.
        Err(e) if e.error_len().is_none() => UTF_8,
        Err(_) => {
            let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
            detector.feed(head, true);
            detector.guess(None, chardetng::Utf8Detection::Deny)
        }
    }
}

/// The text of a whole file, whatever editor or meter wrote it. Never fails: what no encoding explains shows as a
/// replacement sign.
pub fn plain(bytes: &[u8]) -> String {
    decode(bytes, encoding_of(bytes))
}

/// The encoding [`plain`] reads a file in, by its name in the WHATWG Encoding Standard: "UTF-8", "windows-1252".
pub fn encoding_name(bytes: &[u8]) -> &'static str {
    encoding_of(bytes).name()
}

/// The head or tail as text, for understanding.
pub(crate) fn decode(bytes: &[u8], encoding: &'static Encoding) -> String {
    encoding.decode(bytes).0.into_owned()
}

/// What the first bytes say when they are not a text log.
pub(crate) fn not_text(head: &[u8]) -> Option<&'static str> {
    if head.starts_with(b"PK\x03\x04") {
        return Some("a zip archive or a spreadsheet workbook");
    }
    if head.starts_with(b"SQLite format 3") {
        return Some("a database");
    }
    if head.starts_with(b"%PDF") {
        return Some("a PDF document");
    }
    if head.starts_with(b"\x89PNG") || head.starts_with(b"\xff\xd8\xff") {
        return Some("a picture");
    }
    None
}

/// Unpacks gzip (RFC 1952, several members allowed) where the magic says so.
pub(crate) fn unpack<'a, R: Read + 'a>(source: R) -> io::Result<Box<dyn Read + 'a>> {
    let mut buffered = BufReader::with_capacity(1 << 16, source);
    let packed = buffered.fill_buf()?.starts_with(&[0x1f, 0x8b]);
    Ok(if packed { Box::new(flate2::bufread::MultiGzDecoder::new(buffered)) } else { Box::new(buffered) })
}

/// A reader that turns any encoding into UTF-8 as it goes, byte-order mark taken off.
pub(crate) struct Utf8<R> {
    source: R,
    decoder: Option<Decoder>,
    raw: Vec<u8>,
    from: usize,
    to: usize,
    ended: bool,
    started: bool,
}

impl<R: Read> Utf8<R> {
    pub(crate) fn new(source: R, label: &str) -> Self {
        let encoding = Encoding::for_label(label.as_bytes()).unwrap_or(UTF_8);
        let decoder = (encoding != UTF_8).then(|| encoding.new_decoder_with_bom_removal());
        Utf8 { source, decoder, raw: vec![0; 1 << 14], from: 0, to: 0, ended: false, started: false }
    }

    /// UTF-8 goes straight through; only a byte-order mark is taken off.
    fn plain(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if self.started || out.len() < 3 {
            return self.source.read(out);
        }
        self.started = true;
        let mut n = 0;
        while n < 3 {
            match self.source.read(&mut out[n..])? {
                0 => break,
                k => n += k,
            }
        }
        if out[..n].starts_with(b"\xef\xbb\xbf") {
            out.copy_within(3..n, 0);
            n -= 3;
            if n == 0 {
                return self.source.read(out);
            }
        }
        Ok(n)
    }
}

impl<R: Read> Read for Utf8<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let Some(mut decoder) = self.decoder.take() else { return self.plain(out) };
        let answer = loop {
            if self.from == self.to && !self.ended {
                match self.source.read(&mut self.raw) {
                    Ok(n) => (self.from, self.to, self.ended) = (0, n, n == 0),
                    Err(e) => break Err(e),
                }
            }
            let (state, used, written, _) =
                decoder.decode_to_utf8(&self.raw[self.from..self.to], out, self.ended);
            self.from += used;
            if written > 0 || state == CoderResult::OutputFull || self.ended {
                break Ok(written);
            }
        };
        self.decoder = Some(decoder);
        // After the last call the decoder must not be used again.
        if self.ended && matches!(answer, Ok(0)) {
            self.decoder = None;
            self.started = true;
        }
        answer
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn what_old_editors_write_is_read() {
        // RFC 3629 and the byte-order marks of Unicode; 0xB0 is the degree sign of the Western code page.
        assert_eq!(plain("911 Wh – ½".as_bytes()), "911 Wh – ½");
        assert_eq!(plain(b"\xff\xfe9\x001\x001\x00"), "911");
        assert_eq!(plain(b"\xef\xbb\xbf911"), "911");
        assert_eq!(plain(b"It ran at 20 \xb0C, he said."), "It ran at 20 °C, he said.");
        assert_eq!(
            plain(b"It\x92s 911 watt-hours at the outlet."),
            "It\u{2019}s 911 watt-hours at the outlet."
        );
    }
}
