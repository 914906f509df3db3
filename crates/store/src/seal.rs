//! Checksums of our own: SHA-256 over length-prefixed fields, so that no two rows can share a text.
use sha2::{Digest, Sha256};

/// Collects fields and gives their checksum.
#[derive(Default)]
pub(crate) struct Seal(Sha256);

impl Seal {
    /// Adds a text.
    pub fn text(self, text: &str) -> Self {
        self.bytes(text.as_bytes())
    }
    /// Adds a text that may be absent; absent differs from empty.
    pub fn maybe(self, text: Option<&str>) -> Self {
        match text {
            Some(t) => self.number(1).text(t),
            None => self.number(0),
        }
    }
    /// Adds bytes.
    pub fn bytes(mut self, bytes: &[u8]) -> Self {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
        self
    }
    /// Adds a whole number.
    pub fn number(mut self, n: i64) -> Self {
        self.0.update(n.to_le_bytes());
        self
    }
    /// The checksum, 64 lower-case hexadecimal digits.
    pub fn done(self) -> String {
        hex(self.0)
    }
}

/// The digest of a hasher in lower-case hexadecimal.
pub(crate) fn hex(hasher: Sha256) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let mut text = String::with_capacity(64);
    for byte in hasher.finalize() {
        text.push(DIGITS[usize::from(byte >> 4)] as char);
        text.push(DIGITS[usize::from(byte & 15)] as char);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of "abc": FIPS 180-4 example, as printed in NIST's "SHA256.pdf" example values.
    #[test]
    fn hex_of_the_standard_example() {
        let mut h = Sha256::new();
        h.update(b"abc");
        assert_eq!(hex(h), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn moving_a_letter_between_fields_changes_the_sum() {
        let sum = |a, b| Seal::default().text(a).text(b).done();
        assert_ne!(sum("ab", "c"), sum("a", "bc"));
        assert_ne!(Seal::default().maybe(None).done(), Seal::default().maybe(Some("")).done());
    }
}
