//! A plan as a calendar file (RFC 5545), for the calendar on the tester's phone.
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use trueplate_core::plan::Plan;

/// The calendar of a plan: one event per step that is more than waiting. `stamp` is now, as `20260503T120000Z`.
pub fn calendar(plan: &Plan, model: &str, zone: &TimeZone, stamp: &str) -> String {
    let mut out = String::new();
    let mut line = |text: &str| fold(text, &mut out);
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//Trueplate//bench days//EN");
    for (i, step) in plan.steps.iter().enumerate().filter(|(_, s)| s.kind != "wait") {
        let Some((from, to)) = utc(step.at, zone).zip(utc(step.until, zone)) else { continue };
        line("BEGIN:VEVENT");
        line(&format!("UID:{stamp}-{i}@trueplate.invalid"));
        line(&format!("DTSTAMP:{stamp}"));
        line(&format!("DTSTART:{from}"));
        line(&format!("DTEND:{to}"));
        line(&format!("SUMMARY:{}", escaped(&format!("{model}: {}", step.title))));
        let mut about: Vec<String> = step.needs.clone();
        about.extend((!step.loads.is_empty()).then(|| format!("loads: {}", step.loads.join(", "))));
        about.push(if step.attended { "stay with it".into() } else { "needs nobody".into() });
        line(&format!("DESCRIPTION:{}", escaped(&about.join("; "))));
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out
}

fn utc(wall: DateTime, zone: &TimeZone) -> Option<String> {
    let at = zone.to_ambiguous_timestamp(wall).compatible().ok()?;
    Some(at.strftime("%Y%m%dT%H%M%SZ").to_string())
}

/// Text values: backslash, semicolon, comma and line ends are escaped (RFC 5545, 3.3.11).
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

/// Lines end with CR LF and are folded before 75 octets (RFC 5545, 3.1).
fn fold(text: &str, out: &mut String) {
    let mut width = 0;
    for c in text.chars().filter(|c| !c.is_control()) {
        if width + c.len_utf8() > 74 {
            out.push_str("\r\n ");
            width = 1;
        }
        out.push(c);
        width += c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn lines_are_folded_and_text_is_escaped() {
        let mut out = String::new();
        fold(&format!("SUMMARY:{}", escaped(&"ä, b; ".repeat(20))), &mut out);
        assert!(out.split("\r\n").all(|l| l.len() <= 75), "{out}");
        assert!(out.contains("\\,") && out.contains("\\;"));
        assert_eq!(
            out.replace("\r\n ", "").trim_end(),
            format!("SUMMARY:{}", "ä\\, b\\; ".repeat(20)).trim_end()
        );
    }
}
