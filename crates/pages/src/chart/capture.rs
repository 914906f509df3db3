//! A capture drawn: the wave, what is dead in it, by how much its phase jumps, and where its segments begin.
use super::trace::{Of, Trace};
use trueplate_core::recording::CaptureRecord;
use trueplate_core::shown::{Style, four_digits, signed};
use trueplate_core::wave::Interruption;

/// "+37°", "−12°", "0°".
pub fn degrees(jump: f64, style: Style) -> String {
    format!("{}°", signed(jump, 0, style))
}

/// "dead 14.6 ms, phase jumps by +37°"; beside others only "14.6 ms, +37°".
fn dead_words(gap: &Interruption, alone: bool, style: Style) -> String {
    let dead = match gap.dead_ms.map(|ms| four_digits(ms, style)) {
        Some(ms) if alone => format!("dead {ms} ms"),
        Some(ms) => format!("{ms} ms"),
        None => "dead to the end".into(),
    };
    match gap.phase_jump_deg.map(|d| degrees(d, style)) {
        Some(d) if !alone => format!("{dead}, {d}"),
        Some(d) if d == "0°" => format!("{dead}, phase goes on"),
        Some(d) => format!("{dead}, phase jumps by {d}"),
        None => dead,
    }
}

/// A stretch of a capture: `points` are time, lowest and highest voltage by the capture's own factor, segments laid end
/// to end.
pub fn trace(
    record: &CaptureRecord,
    points: Vec<(f64, f64, f64)>,
    window: (f64, f64),
    style: Style,
) -> Trace {
    let gaps = record.interruptions().iter();
    let seen: Vec<&Interruption> =
        gaps.filter(|g| record.from_s(g) < window.1 && record.until_s(g) > window.0).collect();
    let ends = |g: &Interruption| {
        [(record.from_s(g), dead_words(g, seen.len() == 1, style)), (record.until_s(g), String::new())]
    };
    let parts = record.parts.iter().enumerate().filter(|_| record.parts.len() > 1);
    Trace {
        of: Of::Voltage,
        points,
        line: record.outlet().map_or_else(Vec::new, |(_, c)| c.cycles.clone()),
        bands: seen.iter().map(|g| (record.from_s(g), record.until_s(g))).collect(),
        marks: seen.iter().flat_map(|g| ends(g)).collect(),
        parts: parts.map(|(n, p)| (p.laid_s, format!("segment {}", n + 1))).collect(),
        window,
        ..Trace::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gap(ms: Option<f64>, jump: Option<f64>) -> Interruption {
        Interruption {
            segment: 1,
            start_s: 0.0,
            dead_ms: ms,
            dead_u_ms: None,
            rms_before_v: None,
            rms_after_v: None,
            phase_jump_deg: jump,
            lowest_cycle_rms_v: None,
            compared: Vec::new(),
        }
    }

    #[test]
    fn a_jump_of_the_phase_is_said_with_its_sign_and_none_is_said_too() {
        let say = |ms, jump| dead_words(&gap(ms, jump), true, Style::PLAIN);
        assert_eq!(say(Some(14.6), Some(36.7)), "dead 14.6 ms, phase jumps by +37°");
        assert_eq!(say(Some(9.0), Some(-11.5)), "dead 9 ms, phase jumps by −12°");
        assert_eq!(say(Some(9.0), Some(-0.4)), "dead 9 ms, phase goes on");
        assert_eq!(say(Some(9.0), None), "dead 9 ms");
        assert_eq!(say(None, None), "dead to the end");
        let beside = |ms, jump| dead_words(&gap(ms, jump), false, Style::PLAIN);
        assert_eq!(beside(Some(14.6), Some(36.7)), "14.6 ms, +37°");
        assert_eq!(beside(Some(14.6), None), "14.6 ms");
    }
}
