//! How a model's samples came to the bench, in the texts that go out: page, description of the video, card in the
//! picture, line spoken. Nothing is asserted that is not written down. Not legal advice.
//!
//! Essentials, from the texts of the rules: US 16 CFR 255.5 (any connection that may matter and is not expected:
//! money, free, lent or discounted things, chance of pay, family, employment) and 255.0(f) (hard to miss, easily
//! understood, in the same channel as the claim: seen and heard; a description alone does not do). EU directive
//! 2005/29/EC, Annex I point 11 (content a trader paid for must say so; any consideration counts). UK CAP code 2.1
//! and the competition authority's guidance (say when paid, given or lent, upfront, without a click; "affiliate" is
//! unclear to consumers).
use crate::finding::Finding;
use crate::notebook::{Came, Notebook, Specimen};
use crate::shown::capital;
use crate::stamp::day_words;

/// The texts for one model.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Texts {
    /// For the page: every sample, whole sentences.
    pub page: String,
    /// For the first lines of the video's description.
    pub description: String,
    /// For a card in the picture: few words.
    pub card: String,
    /// To be said aloud, near the first verdict.
    pub spoken: String,
    /// What is not written down and would be asked about.
    pub open: Vec<Finding>,
}

/// What each region asks for, in a line: region, rule, what it means here.
pub const ESSENTIALS: [(&str, &str, &str); 3] = [
    (
        "United States",
        "16 CFR 255.0(f), 255.5",
        "Money, free, lent or discounted things, a chance of pay, family, employment: say which. Hard to miss and easily \
         understood; seen and heard where the verdict is seen and heard. The description, the foot of a page or an about \
         page alone does not do.",
    ),
    (
        "European Union",
        "2005/29/EC, Annex I point 11",
        "What a trader paid for must say so. Anything received counts, not only money.",
    ),
    (
        "United Kingdom",
        "CAP code 2.1; guidance of the competition authority",
        "Say it at the start, without a click: paid, given or lent. Where it was paid for, the word is “ad”; “affiliate” \
         alone is not understood.",
    ),
];

/// How it came, as a word that can begin a sentence.
pub fn came(came: Came) -> &'static str {
    match came {
        Came::Unknown => "Not written down",
        Came::Bought => "Bought",
        Came::Lent => "Lent",
        Came::Given => "Given",
        Came::Paid => "Paid",
    }
}

/// The disclosure of one specimen as plain text: how it came, from whom, on which terms, whether it went back.
pub fn of_specimen(specimen: &Specimen) -> String {
    let (how, told) = (came(specimen.came), specimen.provenance.trim());
    // "Bought online, paid in full" says it already; "Bought: bought online" would say it twice.
    let twice = told.to_lowercase().starts_with(&how.to_lowercase());
    let mut text = if twice {
        format!("{how}{}", told.get(how.len()..).unwrap_or(""))
    } else {
        format!("{how}: {told}")
    };
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    let back = day_words(&specimen.returned);
    if !back.is_empty() && told.contains(&back) {
        // The terms say it already.
    } else if !back.is_empty() {
        text.push_str(&format!(" Sent back {back}; it cannot be retested."));
    } else if !specimen.terms.return_by.is_empty() {
        text.push_str(&format!(" Goes back by {}.", day_words(&specimen.terms.return_by)));
    }
    text.push_str(&gains(specimen));
    text
}

/// Who gains by it, as far as written down.
fn gains(specimen: &Specimen) -> String {
    let terms = &specimen.terms;
    let mut text = String::new();
    if !terms.received.is_empty() {
        text.push_str(&format!(" Received besides: {}.", terms.received.trim_end_matches('.')));
    }
    text.push_str(match terms.paid_links {
        Some(true) => " Links to shops bring the tester money.",
        Some(false) => " Links bring no money.",
        None => "",
    });
    text.push_str(match terms.previewed {
        Some(true) => " The maker saw text or pictures before they were published.",
        Some(false) => " The maker saw no text and no picture before they were published.",
        None => "",
    });
    text
}

/// The texts for a model; where no sample is written down only what is missing.
pub fn of_model(notebook: &Notebook, model: &str) -> Texts {
    let specimens: Vec<&Specimen> = notebook.specimens.iter().filter(|s| s.model == model).collect();
    let name = notebook.model(model).map_or("", |m| &m.name);
    if specimens.is_empty() {
        let gap = Finding::gap(
            "no-specimen",
            "specimens",
            format!("{name}: no sample is written down"),
            "add the one on the bench, and how it came",
        );
        return Texts { open: vec![gap], ..Texts::default() };
    }
    let mut texts =
        Texts { open: specimens.iter().flat_map(|s| open(name, s)).collect(), ..Texts::default() };
    let label = |s: &Specimen| {
        if specimens.len() > 1 && !s.label.is_empty() {
            format!("{}: ", capital(&s.label))
        } else {
            String::new()
        }
    };
    let all = |of: &dyn Fn(&Specimen) -> String| {
        specimens.iter().map(|s| format!("{}{}", label(s), of(s))).collect::<Vec<_>>()
    };
    texts.page = all(&of_specimen).join(" ");
    texts.page.push_str(&asked(notebook, model));
    let paid = specimens.iter().any(|s| s.came == Came::Paid);
    texts.description = format!("{}How I got it: {}", if paid { "Ad. " } else { "" }, texts.page);
    texts.card = all(&card).join(" · ");
    texts.spoken = all(&spoken).join(" ");
    texts
}

/// That figures were sent to the maker, with a blank before it; empty where none were.
pub fn asked(notebook: &Notebook, model: &str) -> String {
    let sent = notebook.letters.iter().filter(|l| l.model == model && !l.sent.is_empty());
    sent.map(|l| l.sent.as_str()).min().map_or_else(String::new, |day| {
        format!(" The measured figures, not the words, were sent to the maker on {}.", day_words(day))
    })
}

/// Who lent, gave or paid: as written down, else the maker or a dealer.
fn by(specimen: &Specimen) -> &str {
    if specimen.terms.by.is_empty() { "the maker or a dealer" } else { &specimen.terms.by }
}

fn card(s: &Specimen) -> String {
    let back = if s.returned.is_empty() { "" } else { ", sent back" };
    match s.came {
        Came::Unknown => "How it came is not written down".into(),
        Came::Bought => format!("Bought by the tester{back}"),
        Came::Lent => format!("Lent by {}{back}", by(s)),
        Came::Given => format!("Given by {}{back}", by(s)),
        Came::Paid => format!("Ad: paid by {}", by(s)),
    }
}

fn spoken(s: &Specimen) -> String {
    let mut text = match s.came {
        Came::Unknown => String::new(),
        Came::Bought => "I bought this one myself".into(),
        Came::Lent if !s.returned.is_empty() => {
            format!("{} lent me this one, and I have sent it back", capital(by(s)))
        }
        Came::Lent => format!("{} lent me this one", capital(by(s))),
        Came::Given => format!("{} gave me this one", capital(by(s))),
        Came::Paid => format!("This is an ad: {} paid me for it", by(s)),
    };
    if text.is_empty() {
        return text;
    }
    if !s.terms.received.is_empty() {
        text.push_str(&format!(", and I also received {}", s.terms.received.trim_end_matches('.')));
    }
    text.push('.');
    text.push_str(match s.terms.paid_links {
        Some(true) => " If you buy through my links, I get money.",
        Some(false) | None => "",
    });
    text.push_str(match s.terms.previewed {
        Some(true) => " They saw parts of this before you do.",
        Some(false) => " They have not seen any of this before you.",
        None => "",
    });
    text
}

/// What a careful reader would ask and the record does not say.
fn open(name: &str, s: &Specimen) -> Vec<Finding> {
    let of = if s.label.is_empty() { name.to_string() } else { format!("{name}, {}", s.label) };
    let mut out = Vec::new();
    let mut ask = |code: &str, text: &str, hint: &str| {
        out.push(Finding::gap(code, s.id.as_str(), format!("{of}: {text}"), hint))
    };
    if s.came == Came::Unknown || s.provenance.trim().is_empty() {
        ask(
            "no-provenance",
            "how it came to the bench is not written down",
            "write whether it was bought, lent or given, by whom and on which terms",
        );
        return out;
    }
    if s.came != Came::Bought && s.terms.by.is_empty() {
        ask(
            "no-giver",
            "who lent, gave or paid is not written down",
            "write it with the sample; until then the texts say “the maker or a dealer”",
        );
    }
    if s.terms.paid_links.is_none() {
        ask(
            "links-not-said",
            "whether links bring money is not written down",
            "say yes or no with the sample; until then the texts say nothing of it",
        );
    }
    if s.came != Came::Bought && s.terms.previewed.is_none() {
        ask(
            "preview-not-said",
            "whether the maker saw anything before publishing is not written down",
            "say yes or no with the sample; until then the texts say nothing of it",
        );
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::Model;
    use crate::outgoing::{Letter, Terms};

    fn bench(specimens: Vec<Specimen>) -> Notebook {
        let model = Model { id: "m".into(), name: "Fell 1010".into(), ..Model::default() };
        Notebook { models: vec![model], specimens, ..Notebook::default() }
    }
    fn sample(came: Came, provenance: &str, terms: Terms) -> Specimen {
        Specimen {
            id: "s".into(),
            model: "m".into(),
            came,
            provenance: provenance.into(),
            terms,
            ..Specimen::default()
        }
    }

    #[test]
    fn what_is_not_written_down_is_not_asserted() {
        let texts = of_model(&bench(vec![sample(Came::Lent, "Lent by its maker.", Terms::default())]), "m");
        assert_eq!(texts.spoken, "The maker or a dealer lent me this one.");
        for text in [&texts.page, &texts.description, &texts.spoken, &texts.card] {
            assert!(!text.contains("money") && !text.contains("saw"), "{text}");
        }
        let codes: Vec<_> = texts.open.iter().map(|f| f.code.as_str()).collect();
        assert_eq!(codes, ["no-giver", "links-not-said", "preview-not-said"]);
    }

    #[test]
    fn what_is_written_down_is_said_in_every_channel() {
        let terms = Terms {
            by: "its maker".into(),
            received: "a flight".into(),
            paid_links: Some(true),
            previewed: Some(false),
            ..Terms::default()
        };
        let texts = of_model(&bench(vec![sample(Came::Given, "Given by its maker, kept.", terms)]), "m");
        assert_eq!(texts.card, "Given by its maker");
        assert_eq!(
            texts.spoken,
            "Its maker gave me this one, and I also received a flight. If you buy through my links, I get money. They have not seen any of this before you."
        );
        assert!(texts.description.starts_with("How I got it: Given by its maker, kept. Received besides: a flight. Links to shops bring the tester money."));
        assert_eq!(texts.open, []);
    }

    #[test]
    fn paid_work_is_called_an_ad_and_a_letter_is_disclosed() {
        let mut n = bench(vec![sample(
            Came::Paid,
            "Paid by the dealer for the test.",
            Terms { by: "the dealer".into(), ..Terms::default() },
        )]);
        n.letters.push(Letter { model: "m".into(), sent: "2026-05-12".into(), ..Letter::default() });
        let texts = of_model(&n, "m");
        assert!(texts.description.starts_with("Ad. ") && texts.card == "Ad: paid by the dealer", "{texts:?}");
        assert!(texts.page.contains("sent to the maker on 12 May 2026"), "{}", texts.page);
    }
}
