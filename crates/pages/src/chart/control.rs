//! A meter's checks of a known load on a control chart: a point a week, the centre, the limits, signals filled and named.
use crate::piece::escape;
use std::fmt::Write;
use trueplate_core::shown::{Style, decimal};
use trueplate_core::steady::{Chart, Point, Signal};

/// One size of the drawing. Type is drawn at its own size: the page never shrinks it.
struct Size {
    class: &'static str,
    wide: f64,
    high: f64,
    left: f64,
}

const WIDE: Size = Size { class: "wide", wide: 640.0, high: 260.0, left: 66.0 };
const NARROW: Size = Size { class: "narrow", wide: 328.0, high: 240.0, left: 60.0 };
const TOP: f64 = 12.0;
const FOOT: f64 = 30.0;
const TYPE: f64 = 12.5;

/// The figure: for a wide page and for a phone, then what it shows in words and as a table.
pub fn figure(chart: &Chart, style: Style) -> String {
    let mut out = String::from("<figure class=\"chart\">");
    for size in [WIDE, NARROW] {
        out.push_str(&svg(chart, &size, style));
    }
    let _ = write!(out, "<figcaption>{}{}</figcaption></figure>", caption(chart, style), table(chart, style));
    out
}

/// A share as a signed per cent: "+0.90 %".
fn per_cent(share: f64, style: Style) -> String {
    let text = decimal(100.0 * share, 2, style);
    if share > 0.0 && !text.starts_with('−') { format!("+{text} %") } else { format!("{text} %") }
}

fn caption(chart: &Chart, style: Style) -> String {
    let mut text = format!("What it shows beyond the known load. Centre {}", per_cent(chart.centre, style));
    match chart.limits {
        Some((low, high)) => {
            let _ = write!(text, ", limits {} and {}", per_cent(low, style), per_cent(high, style));
            let more = if chart.provisional {
                "; they move until there are twenty checks."
            } else {
                ", from the first twenty checks."
            };
            text.push_str(more);
        }
        None => text.push_str("; limits come with the fifth check."),
    }
    text.push_str(" A filled point is a signal.");
    text
}

fn sentence(chart: &Chart, style: Style) -> String {
    let signals: Vec<String> = chart
        .points
        .iter()
        .filter(|p| p.signal != Signal::Steady)
        .map(|p| format!("{}: {}, {}", p.on, per_cent(p.off, style), p.signal.words()))
        .collect();
    let signals = if signals.is_empty() { "no signal".into() } else { signals.join("; ") };
    let days = chart.points.first().zip(chart.points.last()).map_or(String::new(), |(a, b)| {
        if a.on == b.on { format!(" on {}", a.on) } else { format!(" from {} to {}", a.on, b.on) }
    });
    format!("Control chart of {} checks{days}: {signals}.", chart.points.len())
}

fn table(chart: &Chart, style: Style) -> String {
    let mut out = String::from(
        "<details><summary>The same as a table</summary><table><thead><tr><th>day</th>\
         <th class=\"r\">shows too much by</th><th>which is</th></tr></thead><tbody>",
    );
    for p in &chart.points {
        let (day, off) = (escape(&p.on), per_cent(p.off, style));
        let _ = write!(out, "<tr><td>{day}</td><td class=\"r\">{off}</td><td>{}</td></tr>", p.signal.words());
    }
    out.push_str("</tbody></table></details>");
    out
}

fn svg(chart: &Chart, size: &Size, style: Style) -> String {
    let lines: Vec<f64> =
        chart.limits.map_or(vec![chart.centre], |(low, high)| vec![low, chart.centre, high]);
    let all = || chart.points.iter().map(|p| p.off).chain(lines.iter().copied());
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    // A tenth of a per cent at least, so that a single point has a scale.
    let room = ((high - low) * 0.12).max(0.0005);
    let (low, high) = (low - room, high + room);
    let floor = size.high - FOOT;
    let y = |off: f64| floor - (off - low) / (high - low) * (floor - TOP);
    let step = (size.wide - size.left - 16.0) / (chart.points.len().max(2) - 1) as f64;
    let x = |i: usize| size.left + 8.0 + step * i as f64;
    let mut out = format!(
        "<svg class=\"plot control {}\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\">",
        size.class,
        size.wide,
        size.high,
        escape(&sentence(chart, style))
    );
    for line in &lines {
        let class = if *line == chart.centre { "axis base" } else { "limit" };
        let _ = write!(
            out,
            "<path class=\"{class}\" d=\"M{} {:.1}H{}\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" font-size=\"{TYPE}\">{}</text>",
            size.left,
            y(*line),
            size.wide,
            size.left - 8.0,
            y(*line) + 4.5,
            per_cent(*line, style)
        );
    }
    let path: Vec<String> =
        chart.points.iter().enumerate().map(|(i, p)| format!("{:.1} {:.1}", x(i), y(p.off))).collect();
    let _ = write!(out, "<path class=\"thread\" d=\"M{}\"/>", path.join("L"));
    for (i, p) in chart.points.iter().enumerate() {
        draw(&mut out, p, x(i), y(p.off));
    }
    for (i, anchor) in [(0, "start"), (chart.points.len() - 1, "end")].iter().take(chart.points.len().min(2))
    {
        let at = if *i == 0 { size.left } else { size.wide };
        let _ = write!(
            out,
            "<text x=\"{at:.1}\" y=\"{}\" text-anchor=\"{anchor}\" font-size=\"{TYPE}\">{}</text>",
            size.high - 6.0,
            escape(&chart.points[*i].on)
        );
    }
    out.push_str("</svg>");
    out
}

fn draw(out: &mut String, p: &Point, x: f64, y: f64) {
    let (class, r) = if p.signal == Signal::Steady { ("pt", 4.0) } else { ("held", 5.0) };
    let _ = write!(out, "<circle class=\"{class}\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r}\"/>");
}

#[cfg(test)]
mod tests {
    use super::*;
    fn chart(offs: &[f64]) -> Chart {
        let point = |off: &f64| Point {
            on: "2026-05-03".into(),
            off: *off,
            signal: if *off > 0.01 { Signal::Beyond } else { Signal::Steady },
        };
        let limits = (offs.len() > 4).then_some((-0.004, 0.006));
        Chart { points: offs.iter().map(point).collect(), centre: 0.001, limits, provisional: true }
    }
    #[test]
    fn every_check_is_drawn_and_a_signal_is_said_in_words() {
        let figure = figure(&chart(&[0.001, 0.002, 0.0, 0.001, 0.012]), Style::POINT);
        assert_eq!(
            (figure.matches("class=\"pt\"").count(), figure.matches("class=\"held\"").count()),
            (8, 2)
        );
        assert!(
            figure.contains("+1.20 %, beyond the limit") && figure.contains("limits −0.40 % and +0.60 %"),
            "{figure}"
        );
        assert!(
            figure.contains("<td>beyond the limit</td>")
                && !figure.contains("NaN")
                && !figure.contains("style=")
        );
    }
    #[test]
    fn one_check_is_a_chart_without_limits() {
        let figure = figure(&chart(&[0.001]), Style::COMMA);
        assert!(
            figure.contains("limits come with the fifth check") && figure.contains("+0,10 %"),
            "{figure}"
        );
        assert!(!figure.contains("NaN"));
    }
}
