//! The root of a word, as far as looking it up needs: "charges", "charged" and "charging" are one.
//!
//! No dictionary: endings are cut the same way from the lexicon and from the script, so that it does not matter that
//! some roots are no words ("charg"). Verbs that change their vowel stand in a list.

/// Forms that no ending explains.
const ODD: &[(&str, &str)] = &[
    ("gave", "give"),
    ("given", "give"),
    ("got", "get"),
    ("gotten", "get"),
    ("ran", "run"),
    ("held", "hold"),
    ("kept", "keep"),
    ("took", "take"),
    ("taken", "take"),
    ("went", "go"),
    ("goes", "go"),
    ("gone", "go"),
    ("came", "come"),
    ("drew", "draw"),
    ("drawn", "draw"),
    ("drank", "drink"),
    ("drunk", "drink"),
    ("ate", "eat"),
    ("eaten", "eat"),
    ("fed", "feed"),
    ("hung", "hang"),
    ("sold", "sell"),
    ("paid", "pay"),
    ("said", "say"),
    ("put", "put"),
    ("died", "die"),
    ("dies", "die"),
    ("dying", "die"),
    ("threw", "throw"),
    ("thrown", "throw"),
    ("quit", "quit"),
    ("lost", "lose"),
    ("kicked", "kick"),
    ("wrote", "write"),
    ("written", "write"),
    ("spat", "spit"),
    ("sat", "sit"),
    ("stood", "stand"),
    ("made", "make"),
    ("lit", "light"),
    ("swore", "swear"),
    ("told", "tell"),
];

fn vowel(b: u8) -> bool {
    matches!(b, b'a' | b'e' | b'i' | b'o' | b'u' | b'y')
}

/// What is left when an ending is cut, where enough of a word is left.
fn cut<'a>(word: &'a str, ending: &str, least: usize) -> Option<&'a str> {
    let rest = word.strip_suffix(ending)?;
    (rest.len() >= least && rest.bytes().any(vowel)).then_some(rest)
}

/// The root of a word in lower case.
pub fn root(word: &str) -> &str {
    let word = word.strip_suffix("'s").unwrap_or(word);
    if let Some((_, base)) = ODD.iter().find(|(odd, _)| *odd == word) {
        return root_of_regular(base);
    }
    root_of_regular(word)
}

fn root_of_regular(word: &str) -> &str {
    // "they" is no form of "the".
    if !word.is_ascii() || word.len() < 4 || word == "they" {
        return word;
    }
    let verb = cut(word, "ing", 3).or_else(|| cut(word, "ed", 3).filter(|_| !word.ends_with("ied")));
    if let Some(rest) = verb {
        // "tripped" is of "trip", "filled" of "fill".
        return match rest.as_bytes() {
            [.., a, z] if a == z && !vowel(*z) && !matches!(z, b'l' | b's' | b'z') => &rest[..rest.len() - 1],
            _ => cut(rest, "e", 3).or_else(|| cut(rest, "y", 3)).unwrap_or(rest),
        };
    }
    let whole = word.ends_with("ss") || word.ends_with("us") || word.ends_with("is");
    let rest = cut(word, "ied", 3)
        .or_else(|| cut(word, "ies", 3))
        .or_else(|| if whole { None } else { cut(word, "s", 3) })
        .unwrap_or(word);
    // "switches" and "switch", "charge" and "charging", "carry" and "carried".
    let rest = cut(rest, "e", 3).unwrap_or(rest);
    // "eighty" is not "eight".
    if rest.ends_with("ty") { rest } else { cut(rest, "y", 3).unwrap_or(rest) }
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn forms_of_a_word_have_one_root() {
        for forms in [
            &["charge", "charges", "charged", "charging"][..],
            &["run", "runs", "ran", "running"],
            &["switch", "switches", "switched", "switching"],
            &["deliver", "delivers", "delivered", "delivering"],
            &["trip", "trips", "tripped", "tripping"],
            &["specify", "specifies", "specified", "specifying"],
            &["fill", "fills", "filled", "filling"],
            &["give", "gives", "gave", "given", "giving"],
            &["station", "stations", "station's"],
        ] {
            let roots: Vec<&str> = forms.iter().map(|f| root(f)).collect();
            assert!(roots.iter().all(|r| *r == roots[0]), "{roots:?}");
        }
        assert_ne!(root("full"), root("fill"));
        assert_ne!(root("eighty"), root("eight"));
        assert_ne!(root("idle"), root("ideal"));
    }
}
