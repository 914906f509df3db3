//! Words of a script and the sentences they make.
use super::read::Piece;

/// A word, a number or a sign.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// In lower case.
    pub text: String,
    /// As written.
    pub raw: String,
    /// Line in the file.
    pub line: usize,
    /// Stands directly after what comes before it, or behind a hyphen.
    pub glued: bool,
    /// A comma, semicolon, colon, dash or bracket stands before it.
    pub after: Option<char>,
}

impl Token {
    /// Starts with a digit.
    pub fn is_figure(&self) -> bool {
        self.text.starts_with(|c: char| c.is_ascii_digit() || c == '.')
    }
    /// Starts with a capital letter.
    pub fn is_capital(&self) -> bool {
        self.raw.starts_with(char::is_uppercase)
    }
}

/// A sentence.
#[derive(Clone, Debug, Default)]
pub struct Sentence {
    /// Its words.
    pub tokens: Vec<Token>,
    /// It is a question.
    pub asks: bool,
}

/// Longest sentence, in words; subtitles without full stops are cut there.
const LONGEST: usize = 80;

/// A sentence of so few words may be the start of the next.
const FRAGMENT: usize = 6;

/// How many signs behind a full stop the next word is looked for.
const FAR: usize = 40;

/// Words after which a full stop ends no sentence.
const SHORT: &[&str] =
    &["approx", "vs", "no", "mr", "mrs", "dr", "e.g", "i.e", "etc", "ca", "max", "min", "st"];

/// Cuts pieces into sentences.
pub fn sentences(pieces: &[Piece]) -> Vec<Sentence> {
    let mut out = Vec::new();
    let mut now = Sentence::default();
    // Subtitles made by a machine have no stops: there each piece is a clause of its own.
    let stops = pieces.iter().filter(|p| p.text.contains(['.', '!', '?'])).count();
    let after = (pieces.len() > 6 && stops * 6 < pieces.len()).then_some(',');
    for piece in pieces {
        let mut scan = Scan { chars: piece.text.chars().collect(), at: 0, line: piece.line, after };
        while let Some(step) = scan.next() {
            match step {
                Step::Word(token) => now.tokens.push(token),
                Step::Stop(mark) => {
                    let last = now.tokens.last().map_or("", |t| t.text.as_str());
                    if mark == '.' && (SHORT.contains(&last) || numbered(&now)) {
                        continue;
                    }
                    now.asks = mark == '?';
                    close(&mut now, &mut out);
                }
            }
            if now.tokens.len() >= LONGEST {
                close(&mut now, &mut out);
            }
        }
        if piece.ends {
            close(&mut now, &mut out);
        }
    }
    close(&mut now, &mut out);
    joined(out)
}

/// "Nearly four days. That's how long it sits there": a fragment and what explains it are one sentence.
fn joined(sentences: Vec<Sentence>) -> Vec<Sentence> {
    let mut out: Vec<Sentence> = Vec::new();
    for mut sentence in sentences {
        let explains = matches!(
            sentence.tokens.first().map_or("", |t| t.text.as_str()),
            "that's" | "thats" | "that" | "which"
        );
        match out.last_mut() {
            Some(last)
                if explains
                    && !last.asks
                    && last.tokens.len() <= FRAGMENT
                    && sentence.tokens.len() < LONGEST =>
            {
                sentence.tokens[0].after = Some(',');
                last.tokens.append(&mut sentence.tokens);
                last.asks = sentence.asks;
            }
            _ => out.push(sentence),
        }
    }
    out
}

/// "3." at the start of a line numbers it.
fn numbered(now: &Sentence) -> bool {
    now.tokens.len() == 1 && now.tokens[0].is_figure()
}

fn close(now: &mut Sentence, out: &mut Vec<Sentence>) {
    if !now.tokens.is_empty() {
        out.push(std::mem::take(now));
    }
}

enum Step {
    Word(Token),
    Stop(char),
}

struct Scan {
    chars: Vec<char>,
    at: usize,
    line: usize,
    after: Option<char>,
}

impl Scan {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).copied()
    }
    fn take(&mut self, while_: impl Fn(&Scan, char) -> bool) -> String {
        let start = self.at;
        while let Some(c) = self.peek(0) {
            if !while_(self, c) {
                break;
            }
            self.at += 1;
        }
        self.chars[start..self.at].iter().collect()
    }
    fn word(&mut self, raw: String, glued: bool) -> Step {
        let raw = raw.replace('\u{2019}', "'");
        let text = raw.to_lowercase();
        Step::Word(Token { text, raw, line: self.line, glued, after: self.after.take() })
    }
    fn next(&mut self) -> Option<Step> {
        let mut glued = self.at > 0;
        loop {
            let c = self.peek(0)?;
            let next_digit = self.peek(1).is_some_and(|d| d.is_ascii_digit());
            if c.is_ascii_digit() || (c == '.' && next_digit && !self.behind_digit()) {
                let text = self.take(|s, c| s.in_figure(c));
                return Some(self.word(text, glued));
            }
            if c.is_alphabetic() {
                let text = self.take(Scan::in_word);
                return Some(self.word(text, glued));
            }
            self.at += 1;
            match c {
                '.' | '!' | '?' | '…' if self.ends(c) => return Some(Step::Stop(c)),
                '%' | '$' | '€' | '£' | '¢' | '°' | '½' | '¼' | '¾' | '/' | '±' | '~' | '≈' | '<' | '>'
                | '≤' | '≥' | '@' => {
                    return Some(self.word(c.to_string(), glued));
                }
                '-' | '\u{2010}' | '\u{2011}' | '–' | '—' | '−' => {
                    let spaced = !glued && self.peek(0).is_none_or(char::is_whitespace);
                    if spaced || c == '—' {
                        self.after = Some('—');
                        glued = false;
                    } else if c == '–' {
                        self.after = Some('–');
                    }
                }
                '…' => {
                    self.after = Some('—');
                    glued = false;
                }
                '.' if self.peek(0) == Some('.') => {
                    self.after = Some('—');
                    glued = false;
                }
                '•' | '·' | '|' | '→' => {
                    self.after = Some(';');
                    glued = false;
                }
                ',' | ';' | ':' | '(' | ')' => {
                    self.after = Some(c);
                    glued = false;
                }
                _ => glued = false,
            }
        }
    }
    fn behind_digit(&self) -> bool {
        self.at > 0 && self.chars[self.at - 1].is_ascii_digit()
    }
    fn in_figure(&self, c: char) -> bool {
        let next_digit = self.peek(1).is_some_and(|d| d.is_ascii_digit());
        // A thin space groups digits: three follow, and then no more.
        let grouped = |s: &Scan| (1..4).all(|i| s.peek(i).is_some_and(|d| d.is_ascii_digit()));
        c.is_ascii_digit()
            || (matches!(c, '.' | ',' | ':' | '\'') && next_digit)
            || (matches!(c, '\u{202f}' | '\u{a0}' | '\u{2009}') && grouped(self))
    }
    fn in_word(&self, c: char) -> bool {
        let next_letter = self.peek(1).is_some_and(char::is_alphabetic);
        // "a.m." is one word, its last point too.
        let dotted = c == '.' && self.at > 0 && {
            let single = self.at < 2 || !self.chars[self.at - 2].is_alphabetic();
            single
                && self.chars[self.at - 1].is_alphabetic()
                && (next_letter || self.at >= 2 && self.chars[self.at - 2] == '.')
        };
        c.is_alphabetic() || (matches!(c, '\'' | '\u{2019}') && next_letter) || dotted
    }
    /// A point ends a sentence when a space and something else than a small letter follow.
    fn ends(&self, mark: char) -> bool {
        let rest = &self.chars[self.at..];
        let space = rest
            .first()
            .is_none_or(|c| c.is_whitespace() || matches!(c, '"' | '\'' | ')' | '\u{201d}' | '*'));
        // Looked for nearby only: a row of dots and spaces as long as a page must not be walked for each of its dots.
        let next = rest.iter().take(FAR).find(|c| c.is_alphanumeric());
        space && (matches!(mark, '!' | '?') || next.is_none_or(|c| !c.is_lowercase()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    fn cut(text: &str) -> Vec<Vec<String>> {
        let piece = Piece { line: 1, text: text.into(), ends: false };
        sentences(&[piece]).iter().map(|s| s.tokens.iter().map(|t| t.text.clone()).collect()).collect()
    }
    #[test]
    fn no_sentence_is_long() {
        // All that is looked for in a sentence is looked for within it: its length bounds the work, whatever the script.
        for text in [
            "9 W ".repeat(5000),
            "911 Wh and ".repeat(5000),
            "nine. That's ".repeat(5000),
            "5 to ".repeat(5000),
        ] {
            let piece = Piece { line: 1, text: text.clone(), ends: false };
            let all = sentences(&[piece]);
            let words: usize = all.iter().map(|s| s.tokens.len()).sum();
            assert!(
                words >= 5000 && all.iter().all(|s| s.tokens.len() <= LONGEST + FRAGMENT),
                "{}",
                &text[..12]
            );
        }
    }
    #[test]
    fn words_numbers_and_sentences() {
        assert_eq!(
            cut("It gave 1,010.5 Wh. Then 9.4ms!"),
            [vec!["it", "gave", "1,010.5", "wh"], vec!["then", "9.4", "ms"]]
        );
        assert_eq!(cut("at 6:48 a.m. it ran"), [["at", "6:48", "a.m.", "it", "ran"]]);
        assert_eq!(cut("$699, 2h10"), [["$", "699", "2", "h", "10"]]);
        assert_eq!(cut("575-watt watt-hours"), [["575", "watt", "watt", "hours"]]);
        assert_eq!(cut("firmware 1.2.0 is"), [["firmware", "1.2.0", "is"]]);
    }
    #[test]
    fn a_sentence_may_span_pieces() {
        let piece = |line, text: &str| Piece { line, text: text.into(), ends: false };
        let s = sentences(&[piece(3, "It gave"), piece(7, "911 watt-hours. Next")]);
        assert_eq!(s.len(), 2);
        assert_eq!(s[0].tokens.iter().map(|t| t.line).collect::<Vec<_>>(), [3, 3, 7, 7, 7]);
    }
}
