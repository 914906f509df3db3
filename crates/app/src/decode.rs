//! Text of unknown encoding: UTF-8, UTF-16 with its mark, else the Western code page of old editors.
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

/// The text of a file, whatever wrote it. Never fails: what no encoding explains is shown as a replacement sign.
pub fn text(bytes: &[u8]) -> String {
    if let Some((encoding, _)) = Encoding::for_bom(bytes) {
        return encoding.decode(bytes).0.into_owned();
    }
    match UTF_8.decode_without_bom_handling_and_without_replacement(bytes) {
        Some(text) => text.into_owned(),
        None => WINDOWS_1252.decode(bytes).0.into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::text;
    #[test]
    fn what_old_editors_write_is_read() {
        assert_eq!(text("911 Wh – ½".as_bytes()), "911 Wh – ½");
        assert_eq!(text(b"\xff\xfe9\x001\x001\x00"), "911");
        assert_eq!(text(b"\xef\xbb\xbf911"), "911");
        assert_eq!(text(b"20 \xb0C"), "20 °C");
    }
}
