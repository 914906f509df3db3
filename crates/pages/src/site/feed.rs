//! The feed of corrections (RFC 4287) and the map of the site (sitemaps.org protocol 0.9).
use super::context::Context;
use super::put;
use super::{pages, words};
use crate::piece::escape;
use trueplate_core::corrections::Of;

/// Corrections as an Atom feed, the newest first.
pub fn atom(context: &Context) -> String {
    let settings = &context.notebook.settings;
    let all = pages::newest_first(context);
    let day = format!("{}T00:00:00Z", context.report.as_of.get(..10).unwrap_or("1970-01-01"));
    let updated =
        all.iter().map(|(_, c)| c.correction.at.as_str()).filter(|a| !a.is_empty()).max().unwrap_or(&day);
    let title = if settings.site.is_empty() { "Test bench" } else { &settings.site };
    let author = if settings.tester.is_empty() { title } else { &settings.tester };
    let base = &context.options.base;
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\">\n\
         <title>{}: corrections</title>\n<id>{}</id>\n<updated>{}</updated>\n<author><name>{}</name></author>\n\
         <link rel=\"self\" href=\"{base}corrections.atom\"/>\n<link href=\"{base}corrections.html\"/>\n",
        escape(title),
        urn(&[title, author]),
        escape(updated),
        escape(author),
        base = escape(base)
    );
    for (model, corrected) in all {
        let c = &corrected.correction;
        let test = context.test(c.test()).map(|t| words::test(t, context.kind(&t.kind)));
        let subject = match &c.of {
            Of::Test(_) => test.unwrap_or_else(|| "a test".into()),
            Of::Claim(_) => "what the maker says".into(),
            Of::Price => "price".into(),
        };
        let effect = corrected.effect.as_ref().map_or_else(String::new, |e| format!(" {}", e.words()));
        put!(
            out,
            "<entry><id>{}</id><title>{}: {}</title><updated>{}</updated>\
             <link href=\"{}m/{}.html#corrections\"/><summary>{}: {} → {}. {}{}</summary></entry>\n",
            urn(&[title, author, &c.seq.to_string(), c.test(), &c.what]),
            escape(&model.report.name),
            escape(&subject),
            escape(if c.at.is_empty() { &day } else { &c.at }),
            escape(base),
            model.slug,
            escape(&words::capital(&super::pages::what(c))),
            escape(&c.old),
            escape(if c.new.is_empty() { "nothing" } else { &c.new }),
            escape(&sentence(&words::capital(&c.why))),
            escape(&effect)
        );
    }
    out.push_str("</feed>\n");
    out
}

/// With a full stop, so that something may follow.
fn sentence(text: &str) -> String {
    if text.is_empty() || text.ends_with('.') { text.to_string() } else { format!("{text}.") }
}

/// Every page with its whole address.
pub fn sitemap(context: &Context) -> String {
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<urlset xmlns=\"http://www.sitemaps.org/schemas/sitemap/0.9\">\n",
    );
    let base = escape(&context.options.base);
    for (page, _) in super::frame::WAY {
        put!(out, "<url><loc>{base}{page}</loc></url>\n");
    }
    for model in context.as_written() {
        put!(out, "<url><loc>{base}m/{}.html</loc></url>\n", model.slug);
    }
    out.push_str("</urlset>\n");
    out
}

/// A lasting name made of texts: a UUID of version 8 (RFC 9562) over their FNV-1a hash of 128 bits.
fn urn(texts: &[&str]) -> String {
    let mut hash: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    for byte in texts.iter().flat_map(|t| t.bytes().chain([0xff])) {
        hash = (hash ^ u128::from(byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
    }
    let hash = (hash & !(0xf000 << 64) & !(0xc000 << 48)) | (0x8000 << 64) | (0x8000 << 48);
    let hex = format!("{hash:032x}");
    format!("urn:uuid:{}-{}-{}-{}-{}", &hex[..8], &hex[8..12], &hex[12..16], &hex[16..20], &hex[20..])
}

#[cfg(test)]
mod tests {
    use super::urn;

    #[test]
    fn names_last_and_differ() {
        let a = urn(&["bench", "7"]);
        assert_eq!(a, urn(&["bench", "7"]));
        assert_ne!(a, urn(&["bench7"]));
        // Version 8 in the 13th hexadecimal digit, variant 8 to b in the 17th (RFC 9562 section 4).
        let (version, variant) = (&a[23..24], &a[28..29]);
        assert!(version == "8" && "89ab".contains(variant), "{a}");
    }
}
