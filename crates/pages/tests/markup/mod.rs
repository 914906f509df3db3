//! A small reader of our own pages: tags in their nesting, attributes, text. Strict on purpose.
use std::collections::BTreeMap;

/// One start tag.
pub struct Tag {
    /// Name.
    pub name: String,
    /// Attributes, values without their quotes and still escaped.
    pub attributes: BTreeMap<String, String>,
}

/// Elements without an end tag (HTML Living Standard 13.1.2), and the shapes of SVG, which close themselves.
const VOID: &[&str] = &["meta", "link", "br", "hr", "img", "input"];

/// Every start tag of a page; the first thing that is not well formed as an error.
pub fn tags(page: &str) -> Result<Vec<Tag>, String> {
    let mut rest = page.strip_prefix("<!doctype html>").ok_or("no doctype")?;
    let (mut open, mut all): (Vec<String>, Vec<Tag>) = (Vec::new(), Vec::new());
    while let Some(at) = rest.find('<') {
        let text = &rest[..at];
        if text.contains('>') {
            return Err(format!("a lone > in {text:?}"));
        }
        rest = &rest[at + 1..];
        let end = rest.find('>').ok_or("a tag without end")?;
        let inside = &rest[..end];
        rest = &rest[end + 1..];
        if let Some(name) = inside.strip_prefix('/') {
            if open.pop().as_deref() != Some(name) {
                return Err(format!("</{name}> closes something else; open: {open:?}"));
            }
            continue;
        }
        let closed = inside.ends_with('/');
        let tag = start(inside.trim_end_matches('/'))?;
        if tag.name == "script" {
            let end = rest.find("</script>").ok_or("a script without end")?;
            rest = &rest[end + "</script>".len()..];
        } else if !closed && !VOID.contains(&tag.name.as_str()) {
            open.push(tag.name.clone());
        }
        all.push(tag);
    }
    if open.is_empty() { Ok(all) } else { Err(format!("never closed: {open:?}")) }
}

fn start(inside: &str) -> Result<Tag, String> {
    let (name, mut rest) = inside.split_once(' ').unwrap_or((inside, ""));
    if name.is_empty() || !name.chars().all(|c| c.is_ascii_alphanumeric()) {
        return Err(format!("not the name of a tag: {name:?}"));
    }
    let mut attributes = BTreeMap::new();
    while !rest.trim().is_empty() {
        let (key, after) = match rest.trim_start().split_once("=\"") {
            Some((key, after)) if !key.contains(' ') => (key, after),
            _ => {
                // An attribute without a value.
                let (key, after) = rest.trim_start().split_once(' ').unwrap_or((rest.trim_start(), ""));
                attributes.insert(key.to_string(), String::new());
                rest = after;
                continue;
            }
        };
        let (value, after) = after.split_once('"').ok_or_else(|| format!("an open quote in <{inside}>"))?;
        if attributes.insert(key.to_string(), value.to_string()).is_some() {
            return Err(format!("{key} twice in <{inside}>"));
        }
        rest = after;
    }
    Ok(Tag { name: name.to_string(), attributes })
}

/// The text of a page without its tags.
pub fn text(page: &str) -> String {
    let mut out = String::new();
    for part in page.split('<') {
        out.push_str(part.split_once('>').map_or(part, |(_, text)| text));
    }
    out.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&")
}
