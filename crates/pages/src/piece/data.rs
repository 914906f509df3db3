//! Data for programs inside a page.

/// JSON that cannot end its script element or start a comment in it: `<`, `>`, `&` and line separators as escapes.
pub fn inert(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<'
            | '>'
            | '&'
            | '\u{2028}'
            | '\u{2029}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}' => out.push_str(&format!("\\u{:04x}", c as u32)),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn json_cannot_leave_its_element() {
        let text = super::inert(&serde_json::json!({ "name": "</script><!--\u{2028}" }).to_string());
        assert!(!text.contains('<') && !text.contains('\u{2028}'));
        let back: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(back["name"], "</script><!--\u{2028}");
    }
}
