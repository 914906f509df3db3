//! The fact sheet as text: Markdown for reading, comma-separated values for spreadsheets.
use super::Fact;
use crate::cells;

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

/// A text for a cell of a table: on one line, and no mark-up of its own.
fn cell(text: &str) -> String {
    text.replace(['\n', '\r'], " ").replace('|', "\\|").replace('<', "&lt;")
}

/// Columns of [`csv`].
const HEAD: [&str; 19] = [
    "id",
    "model",
    "name",
    "fact",
    "sort",
    "condition",
    "value",
    "u",
    "unit",
    "currency",
    "rounded",
    "spoken",
    "wording",
    "do_not_say",
    "tests",
    "version",
    "as_of",
    "seen",
    "former",
];

/// One fact a line. The value stands in the unit of its line (UCUM); an amount of money carries its currency instead.
pub fn csv(facts: &[Fact]) -> String {
    let mut out = String::new();
    cells::line(&mut out, &HEAD);
    for f in facts {
        let condition: Vec<String> = f.condition.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let (x, u) = f.number();
        let row = [
            &f.id,
            &f.model,
            &f.name,
            &f.title,
            f.sort.key(),
            &condition.join("; "),
            &x.to_string(),
            &u.map_or(String::new(), |u| u.to_string()),
            &f.ucum().unwrap_or_default(),
            &f.currency,
            &f.rounded,
            &f.spoken,
            &f.wording,
            &f.do_not_say.join("; "),
            &f.trail.join(" "),
            &f.version,
            &f.as_of,
            &f.seen,
            &f.former,
        ];
        cells::line(&mut out, &row);
    }
    out
}
