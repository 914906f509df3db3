//! From the text of a script or a subtitle file to its spoken lines, each with its line number in the file.
//!
//! SubRip has no standard (numbers, times with a comma, text, blank line: common practice); WebVTT is W3C's
//! (<https://www.w3.org/TR/webvtt1/>), Markdown is read as CommonMark writes it, as far as speech is concerned.
use crate::finding::Finding;
use std::collections::BTreeMap;

/// How a script is written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Plain text.
    Text,
    /// Markdown.
    Markdown,
    /// SubRip subtitles.
    SubRip,
    /// WebVTT subtitles.
    WebVtt,
}

impl Format {
    /// By the end of a file's name; anything unknown is plain text.
    pub fn of_name(name: &str) -> Format {
        match name.rsplit('.').next().unwrap_or("").to_ascii_lowercase().as_str() {
            "md" | "markdown" => Format::Markdown,
            "srt" => Format::SubRip,
            "vtt" => Format::WebVtt,
            _ => Format::Text,
        }
    }
}

/// A piece of a script that is spoken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Line in the file, 1 is first.
    pub line: usize,
    /// What is said.
    pub text: String,
    /// A sentence cannot run on into the next piece.
    pub ends: bool,
}

/// The spoken pieces of a text.
pub fn pieces(text: &str, format: Format, findings: &mut Vec<Finding>) -> Vec<Piece> {
    let text = text.trim_start_matches('\u{feff}');
    match format {
        Format::Text => plain(text),
        Format::Markdown => markdown(text),
        Format::SubRip | Format::WebVtt => subtitles(text, findings),
    }
}

fn plain(text: &str) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    for (i, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            out.iter_mut().last().into_iter().for_each(|p| p.ends = true);
        } else {
            out.push(Piece { line: i + 1, text: line.trim().to_string(), ends: false });
        }
    }
    out
}

fn markdown(text: &str) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    let mut code = false;
    for (i, line) in text.lines().enumerate() {
        let bare = line.trim();
        if bare.starts_with("```") || bare.starts_with("~~~") {
            code = !code;
        }
        let rule = bare.len() > 2 && bare.chars().all(|c| "-=*_|: ".contains(c));
        if bare.is_empty() || code || bare.starts_with("```") || rule {
            out.iter_mut().last().into_iter().for_each(|p| p.ends = true);
            continue;
        }
        let starts = bare.starts_with(['#', '-', '*', '+', '>', '|'])
            || bare
                .split_once(['.', ')'])
                .is_some_and(|(n, _)| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
        if starts {
            out.iter_mut().last().into_iter().for_each(|p| p.ends = true);
        }
        let heading = bare.starts_with('#') || bare.starts_with('|');
        let said = unmarked(bare.trim_start_matches(['#', '-', '+', '>', ' ']));
        out.push(Piece { line: i + 1, text: said, ends: heading });
    }
    out
}

/// Without emphasis, code marks, table bars and link targets.
fn unmarked(line: &str) -> String {
    let mut out = String::new();
    let mut chars = line.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '*' | '`' | '[' => {}
            '|' => out.push(','),
            ']' if chars.peek() == Some(&'(') => {
                for c in chars.by_ref() {
                    if c == ')' {
                        break;
                    }
                }
            }
            ']' => {}
            c => out.push(c),
        }
    }
    out
}

/// When each line of a subtitle file is said, in ms from the start of the video; empty for a script without times.
pub fn said_at(text: &str, format: Format) -> BTreeMap<usize, u64> {
    if !matches!(format, Format::SubRip | Format::WebVtt) {
        return BTreeMap::new();
    }
    let mut now = None;
    let mut at = BTreeMap::new();
    for (i, line) in text.lines().enumerate() {
        match line.split_once("-->") {
            Some((from, _)) => now = cue_time(from),
            None if line.trim().is_empty() => now = None,
            None => drop(now.map(|ms| at.insert(i + 1, ms))),
        }
    }
    at
}

/// Milliseconds of "00:01:02,345", "1:02.345".
fn cue_time(text: &str) -> Option<u64> {
    let text = text.trim().replace(',', ".");
    let (clock, ms) = text.split_once('.').unwrap_or((&text, "0"));
    let ms: u64 = ms.get(..3.min(ms.len()))?.parse().ok()?;
    let parts: Option<Vec<u64>> = clock.split(':').map(|p| p.trim().parse().ok()).collect();
    match parts?.as_slice() {
        [h, m, s] if *m < 60 && *s < 60 => {
            Some(h.checked_mul(3_600_000)?.checked_add(m * 60_000 + s * 1000 + ms)?)
        }
        [m, s] if *s < 60 => Some(m.checked_mul(60_000)?.checked_add(s * 1000 + ms)?),
        _ => None,
    }
}

fn subtitles(text: &str, findings: &mut Vec<Finding>) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    let lines: Vec<&str> = text.lines().collect();
    let (mut inside, mut skip, mut last) = (false, false, 0u64);
    for (i, line) in lines.iter().enumerate() {
        let bare = line.trim();
        if bare.is_empty() {
            (inside, skip) = (false, false);
            continue;
        }
        if let Some((from, to)) = bare.split_once("-->") {
            inside = true;
            let to = to.split_whitespace().next().unwrap_or("");
            let (from, to) = (cue_time(from), cue_time(to));
            if from.is_none() || to.is_none() || from > to || from.is_some_and(|f| f < last) {
                findings.push(Finding::doubt(
                    "cue-time",
                    format!("line {}", i + 1),
                    format!("the times of this subtitle cannot be right: `{bare}`"),
                    "its text was checked all the same; mend the times in the subtitle editor",
                ));
            }
            last = from.unwrap_or(last);
            continue;
        }
        let block = ["WEBVTT", "NOTE", "STYLE", "REGION"].iter().any(|b| bare.starts_with(b));
        skip |= !inside && block;
        let next_is_time = lines.get(i + 1).is_some_and(|l| l.contains("-->"));
        if skip || (!inside && next_is_time) {
            continue;
        }
        out.push(Piece { line: i + 1, text: untagged(bare), ends: false });
    }
    out
}

/// Without <i>, <v Name>, {\an8} and the like.
fn untagged(line: &str) -> String {
    let mut out = String::new();
    let mut until: Option<char> = None;
    for (i, c) in line.char_indices() {
        match (until, c) {
            (Some(end), c) if c == end => until = None,
            (Some(_), _) => {}
            (None, '<') if line[i + 1..].starts_with(|c: char| c.is_alphabetic() || c == '/') => {
                until = Some('>')
            }
            (None, '{') if line[i + 1..].starts_with('\\') => until = Some('}'),
            (None, c) => out.push(c),
        }
    }
    let out = out.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">").replace("&nbsp;", " ");
    out.trim_start_matches(['-', '–']).trim().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn subtitles_keep_their_line_numbers_and_lose_their_tags() {
        let text = "WEBVTT\n\nNOTE a remark\nof two lines\n\n1\n00:00:01.000 --> 00:00:02.000\n<v Ada>It gave <i>911</i>\n\n00:03.000 --> 00:04.000\nwatt-hours.\n";
        let mut findings = Vec::new();
        let said = pieces(text, Format::WebVtt, &mut findings);
        let got: Vec<_> = said.iter().map(|p| (p.line, p.text.as_str())).collect();
        assert_eq!(got, [(8, "It gave 911"), (11, "watt-hours.")]);
        assert!(findings.is_empty());
    }
    #[test]
    fn each_line_has_the_time_of_its_cue() {
        // 1 h 2 min 3.5 s = 3 723 500 ms; the second cue has no readable time.
        let text = "1\n01:02:03,500 --> 01:02:05,000\nOne\ntwo.\n\n2\nx --> y\nThree.\n";
        let at: Vec<_> = said_at(text, Format::SubRip).into_iter().collect();
        assert_eq!(at, [(3, 3_723_500), (4, 3_723_500)]);
        assert!(said_at(text, Format::Text).is_empty());
    }
    #[test]
    fn broken_times_are_a_finding_and_the_text_is_kept() {
        let text = "1\n00:00:05,000 --> 00:00:02,000\nOne.\n\n2\nx --> y\nTwo.\n";
        let mut findings = Vec::new();
        let said = pieces(text, Format::SubRip, &mut findings);
        assert_eq!(said.len(), 2);
        assert_eq!(findings.iter().map(|f| f.place.as_str()).collect::<Vec<_>>(), ["line 2", "line 6"]);
    }
    #[test]
    fn markdown_loses_its_marks() {
        let said =
            pieces("# Title\n\n- **911** [Wh](http://x.example)\n- two", Format::Markdown, &mut Vec::new());
        assert_eq!(said[1], Piece { line: 3, text: "911 Wh".into(), ends: true });
    }
}
