//! The fact sheet as text: Markdown for reading, comma-separated values for spreadsheets.
use super::Fact;

/// A table per model, then what must not be said.
pub fn markdown(facts: &[Fact]) -> String {
    let mut out = String::from("# Fact sheet\n");
    let mut model = "";
    for (i, fact) in facts.iter().enumerate() {
        if i == 0 || fact.model != model {
            model = &fact.model;
            out.push_str(&format!("\n## {}\n\nAs of {}.\n\n", cell(&fact.name), cell(&fact.as_of)));
            out.push_str("| fact | value | say | safe wording | tests | id | version |\n|---|---|---|---|---|---|---|\n");
        }
        let row = [
            &fact.title,
            &fact.rounded,
            &fact.spoken,
            &fact.wording,
            &fact.trail.join(", "),
            &format!("`{}`", fact.id),
            &fact.version,
        ];
        let cells: Vec<String> = row.iter().map(|c| cell(c)).collect();
        out.push_str(&format!("| {} |\n", cells.join(" | ")));
        let last = facts.get(i + 1).is_none_or(|next| next.model != fact.model);
        if last {
            do_not_say(facts.iter().filter(|f| f.model == fact.model), &mut out);
        }
    }
    out
}

fn do_not_say<'a>(facts: impl Iterator<Item = &'a Fact>, out: &mut String) {
    let mut lines: Vec<&str> = Vec::new();
    for line in facts.flat_map(|f| &f.do_not_say) {
        if !lines.contains(&line.as_str()) {
            lines.push(line);
        }
    }
    if !lines.is_empty() {
        out.push_str("\nDo not say:\n\n");
        lines.iter().for_each(|l| out.push_str(&format!("- {}\n", cell(l))));
    }
}

fn cell(text: &str) -> String {
    text.replace(['\n', '\r'], " ").replace('|', "\\|")
}

/// One fact a line, RFC 4180, UTF-8. A cell that a spreadsheet would take for a formula gets an apostrophe before it.
pub fn csv(facts: &[Fact]) -> String {
    let head =
        "id,model,fact,sort,condition,value,u,unit,rounded,spoken,wording,do_not_say,tests,version,as_of\r\n";
    let mut out = String::from(head);
    for f in facts {
        let condition: Vec<String> = f.condition.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let u = if f.value.has_u() { f.value.u().to_string() } else { String::new() };
        let x = f.value.x.to_string();
        let text = [
            &f.id,
            &f.name,
            &f.title,
            &f.sort.key().to_string(),
            &condition.join("; "),
            &x,
            &u,
            &f.unit,
            &f.rounded,
            &f.spoken,
            &f.wording,
            &f.do_not_say.join("; "),
            &f.trail.join(" "),
            &f.version,
            &f.as_of,
        ];
        let cells: Vec<String> = text.iter().map(|t| quoted(t)).collect();
        out.push_str(&cells.join(","));
        out.push_str("\r\n");
    }
    out
}

fn quoted(text: &str) -> String {
    let number = text.parse::<f64>().is_ok();
    // OWASP's list of characters that begin a formula (from memory): = + - @ tab, carriage return.
    let armed = !number && text.trim_start_matches(' ').starts_with(['=', '+', '-', '@', '\t', '\r']);
    let text = if armed { format!("'{text}") } else { text.to_string() };
    match text.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn formulas_are_disarmed_and_quotes_doubled() {
        assert_eq!(quoted("=HYPERLINK(\"x\")"), "\"'=HYPERLINK(\"\"x\"\")\"");
        assert_eq!(quoted("@cmd"), "'@cmd");
        assert_eq!(quoted("-0.5"), "-0.5");
        assert_eq!(quoted("a, b"), "\"a, b\"");
    }
}
