//! Chapters of a video and the text under it: disclosure first, then the numbers, chapters, method, corrections.
//!
//! What players of videos ask of chapters written in a description: the first at 0:00, at least three, ascending, each
//! ten seconds or longer; titles are cut at about 70 signs (a platform's help page on chapters).
use crate::corrections::{self, spread::clock};
use crate::disclosure;
use crate::facts::{self, Sort};
use crate::finding::Finding;
use crate::outgoing::{Chapter, Video};
use crate::report::Report;
use crate::stamp::day_words;

/// Fewest chapters.
pub const FEWEST: usize = 3;
/// Shortest chapter, s.
pub const SHORTEST_S: u64 = 10;
/// Longest title that is shown whole, in signs.
pub const TITLE: usize = 70;

/// Seconds of "4:12", "1:02:03", "0:00"; `None` for anything else.
pub fn seconds(text: &str) -> Option<u64> {
    let parts: Option<Vec<u64>> = text.trim().split(':').map(digits).collect();
    match parts?.as_slice() {
        [m, s] if *s < 60 => Some(m * 60 + s),
        [h, m, s] if *m < 60 && *s < 60 => Some(h * 3600 + m * 60 + s),
        _ => None,
    }
}

fn digits(text: &str) -> Option<u64> {
    let plain = !text.is_empty() && text.len() <= 4 && text.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| text.parse().ok())?
}

/// Chapters from lines as "4:12 Half load"; a line without a time keeps its text as a title.
pub fn read(text: &str) -> Vec<Chapter> {
    let one = |line: &str| {
        let (at, title) = line.split_once([' ', '\t']).unwrap_or((line, ""));
        // A bullet before the time is taken off: players do not read it.
        let (at, title) = match at {
            "-" | "–" | "•" | "*" => title.trim().split_once([' ', '\t']).unwrap_or((title.trim(), "")),
            _ => (at, title),
        };
        match seconds(at) {
            Some(_) => {
                Chapter { at: at.into(), title: title.trim().trim_start_matches(['-', '–', ' ']).into() }
            }
            None => Chapter { at: String::new(), title: line.into() },
        }
    };
    text.lines().map(str::trim).filter(|l| !l.is_empty()).map(one).collect()
}

/// The lines as they are typed and pasted.
pub fn written(chapters: &[Chapter]) -> String {
    chapters.iter().map(|c| format!("{} {}", c.at, c.title).trim().to_string()).collect::<Vec<_>>().join("\n")
}

/// What stands against these chapters; empty when nothing does.
pub fn findings(video: &Video) -> Vec<Finding> {
    let chapters = &video.chapters;
    let mut out = Vec::new();
    if chapters.is_empty() {
        return out;
    }
    let length = seconds(&video.length);
    if !video.length.is_empty() && length.is_none() {
        let text = format!("`{}` is no length of a video", video.length);
        out.push(Finding::doubt(
            "chapter-length",
            "length",
            text,
            "write minutes and seconds, for example 12:40",
        ));
    }
    if chapters.len() < FEWEST {
        let text = format!("{} of at least {FEWEST} chapters", chapters.len());
        out.push(Finding::gap(
            "chapters-few",
            "chapters",
            text,
            "with fewer, players show none at all; add one or leave chapters out",
        ));
    }
    let last = in_order(chapters, &mut out);
    if let (Some(last), Some(end)) = (last, length)
        && end < last + SHORTEST_S
    {
        let text =
            format!("the last chapter begins at {}, the video ends at {}", clock(last * 1000), video.length);
        let hint = "give it ten seconds or leave it out";
        out.push(Finding::gap("chapter-short", place(chapters.len() - 1), text, hint));
    }
    out
}

fn place(i: usize) -> String {
    format!("chapter {}", i + 1)
}

/// Times and titles one by one; gives the last time that can be read, in s.
fn in_order(chapters: &[Chapter], out: &mut Vec<Finding>) -> Option<u64> {
    let mut last: Option<u64> = None;
    for (i, c) in chapters.iter().enumerate() {
        let Some(at) = seconds(&c.at) else {
            let text =
                format!("`{}` does not begin with a time", if c.at.is_empty() { &c.title } else { &c.at });
            let hint = "begin each line with its time, for example 4:12 Half load";
            out.push(Finding::gap("chapter-time", place(i), text, hint));
            continue;
        };
        if i == 0 && at != 0 {
            let text = format!("the first chapter begins at {}, not at 0:00", c.at);
            let hint = "put a chapter at 0:00, for example 0:00 The answer";
            out.push(Finding::gap("chapter-first", place(i), text, hint));
        }
        if let Some(before) = last {
            if at <= before {
                let text = format!("{} comes after {}", c.at, clock(before * 1000));
                let hint = "put the chapters in the order of their times";
                out.push(Finding::gap("chapter-order", place(i), text, hint));
            } else if at - before < SHORTEST_S {
                let text =
                    format!("the chapter before {} lasts {} s; at least {SHORTEST_S} s", c.at, at - before);
                let hint = "join it with a neighbour or move its time";
                out.push(Finding::gap("chapter-short", place(i - 1), text, hint));
            }
        }
        last = Some(at);
        titled(c, &place(i), out);
    }
    last
}

fn titled(c: &Chapter, place: &str, out: &mut Vec<Finding>) {
    if c.title.is_empty() {
        let text = format!("the chapter at {} has no title", c.at);
        out.push(Finding::gap("chapter-title", place, text, "write what it is about after the time"));
    } else if c.title.chars().count() > TITLE {
        let text = format!("the title at {} has {} signs; {TITLE} are shown", c.at, c.title.chars().count());
        out.push(Finding::note("chapter-title", place, text, "shorten it, or let its end be cut"));
    }
}

/// Results told under a video, in this order, each under its usual condition.
const NUMBERS: [&str; 8] = [
    "usable-energy",
    "sustained-output",
    "idle-draw",
    "starting-power",
    "time-to-full",
    "switchover",
    "noise",
    "mass",
];

/// The whole text under a video. Chapters with something against them are left out: half a list shows none.
pub fn description(report: &Report, video: &Video) -> String {
    let notebook = &report.notebook;
    let Some(model) = report.models.iter().find(|m| m.id == video.model) else { return String::new() };
    let mut out = format!("{}\n\n", disclosure::of_model(notebook, &model.id).description);
    let facts = facts::of_model(report, model);
    let half = |f: &&&facts::Fact| f.condition.get("load").is_some_and(|l| l == "50 %");
    let main = |key: &&str| {
        let of_key: Vec<_> = facts.iter().filter(|f| f.sort == Sort::Measured && f.key == **key).collect();
        of_key.iter().find(half).or(of_key.first()).copied()
    };
    out.push_str(&format!("{}, measured:\n", model.name));
    for f in NUMBERS.iter().filter_map(main) {
        out.push_str(&format!("{}: {}\n", f.title, f.rounded));
    }
    let judged: Vec<String> = model
        .claims
        .iter()
        .filter(|c| c.measured.is_some() || c.counted.is_some())
        .map(|c| {
            format!(
                "{} {}: {}",
                c.result.map_or(c.claim.key.as_str(), |r| r.title),
                c.claim.text,
                c.verdict.words()
            )
        })
        .collect();
    if !judged.is_empty() {
        out.push_str(&format!("\nWhat the maker states: {}.\n", judged.join("; ")));
    }
    let prices: Vec<&str> =
        facts.iter().filter(|f| f.sort == Sort::Price).map(|f| f.wording.as_str()).collect();
    if !prices.is_empty() {
        out.push_str(&format!("\nPrice, as of {}: {}\n", day_words(&report.as_of), prices.join(" ")));
    }
    let sound = findings(video).iter().all(|f| f.weight == crate::finding::Weight::Note);
    if sound && !video.chapters.is_empty() {
        out.push_str(&format!("\n{}\n", written(&video.chapters)));
    }
    if !video.used.is_empty() {
        out.push_str(&format!("\nUsed: {}\n", video.used.trim()));
    }
    let since = |c: &corrections::Correction| {
        c.model == model.id && !video.on.is_empty() && c.at.get(..10) >= Some(&video.on)
    };
    let corrected: Vec<String> = corrections::all(notebook)
        .iter()
        .filter(|c| since(c))
        .map(|c| format!("{}: {}: {} → {}", day_words(&c.at), c.what, c.old, c.new))
        .collect();
    if !corrected.is_empty() {
        out.push_str(&format!("\nCorrected since:\n{}\n", corrected.join("\n")));
    }
    out.push_str("\nEvery number leads to its readings on the page of this station; how each test is made stands in its handbook.\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(text: &str, length: &str) -> Vec<String> {
        let video = Video { chapters: read(text), length: length.into(), ..Video::default() };
        findings(&video).into_iter().map(|f| format!("{} {}", f.code, f.place)).collect()
    }

    #[test]
    fn times_are_read_as_players_write_them() {
        // 1 h 2 min 3 s = 3600 + 120 + 3.
        let cases = [("0:00", Some(0)), ("4:12", Some(252)), ("1:02:03", Some(3723)), ("75:00", Some(4500))];
        for (text, s) in cases {
            assert_eq!(seconds(text), s, "{text}");
        }
        for text in ["", "4", "4:60", "1:60:00", "4:1x", "-1:00", "4:12:"] {
            assert_eq!(seconds(text), None, "{text}");
        }
        assert_eq!(clock(252_000), "4:12");
        assert_eq!(clock(3_723_900), "1:02:03");
    }

    #[test]
    fn sound_chapters_pass() {
        assert!(codes("0:00 The answer\n0:10 Half load\n4:12 Idle draw", "4:22").is_empty());
        assert!(codes("- 0:00 The answer\n- 1:00 – Half load\n- 4:12 Idle draw", "").is_empty());
        assert!(codes("", "").is_empty());
    }

    #[test]
    fn each_fault_is_named_at_its_chapter() {
        assert_eq!(codes("0:00 A\n1:00 B", ""), ["chapters-few chapters"]);
        assert_eq!(codes("0:05 A\n1:00 B\n2:00 C", ""), ["chapter-first chapter 1"]);
        assert_eq!(codes("0:00 A\n2:00 B\n1:00 C", ""), ["chapter-order chapter 3"]);
        assert_eq!(codes("0:00 A\n0:09 B\n1:00 C", ""), ["chapter-short chapter 1"]);
        assert_eq!(codes("0:00 A\n1:00 B\n2:00 C", "2:09"), ["chapter-short chapter 3"]);
        assert_eq!(codes("0:00 A\nHalf load\n2:00 C", ""), ["chapter-time chapter 2"]);
        assert_eq!(
            codes("0:00 A\n1:00\n2:00 C", "soon"),
            ["chapter-length length", "chapter-title chapter 2"]
        );
        assert_eq!(
            codes(&format!("0:00 {}\n1:00 B\n2:00 C", "x".repeat(71)), ""),
            ["chapter-title chapter 1"]
        );
    }
}
