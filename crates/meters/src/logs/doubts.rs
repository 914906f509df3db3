//! Doubts about a log as a whole, seen only once it is read.
use super::digest::Digest;
use super::log::Log;
use super::mapping::{Mapping, Role, RowOrder, TimeKind};
use super::notes::Notes;
use trueplate_core::finding::Weight;
use trueplate_core::shown::{Style, decimal};

/// Looks at the whole; takes back what cannot stand.
pub(crate) fn look(log: &mut Log, d: &Digest, mapping: &Mapping, lines: u32, sheet: u32, notes: &mut Notes) {
    let file = || "file".to_string();
    if lines == sheet {
        let what = || format!("the file has exactly {sheet} lines: it was cut by a spreadsheet");
        notes.add(
            Weight::Doubt,
            "cut-by-spreadsheet",
            || format!("line {lines}"),
            what,
            "use the file as the meter wrote it",
        );
    }
    if mapping.order == RowOrder::Sort {
        let what = || "the rows were not in order of time and have been sorted".to_string();
        notes.add(Weight::Doubt, "rows-sorted", file, what, "check the meter's clock");
    }
    sources(log, d, mapping, notes);
    intervals(log, d, notes);
    if let (Some(span), Some(covered), Some(_)) = (log.span_s, log.covered_s, log.energy_wh)
        && covered < 0.5 * span
    {
        let what = || {
            format!(
                "only {covered:.0} s of {span:.0} s are covered; steps longer than {} s count as gaps",
                d.energy.gap as f64 / 1e6
            )
        };
        notes.add(Weight::Doubt, "mostly-gaps", file, what, "give the longest step that is no gap");
    }
    if d.energy.shift == 0 && notes.count("clock-back-an-hour") == 0 && notes.count("time-backwards") > 0 {
        // Rows were left out: what they held is missing from every sum.
        notes.add(
            Weight::Gap,
            "rows-left-out",
            file,
            || "rows out of order were left out of the sums".into(),
            "see where the time runs backwards",
        );
    }
    d.frozen.finish(notes);
    d.spikes.finish(notes);
    zeros(log, d, notes);
    power(log, d, notes);
    compared(log, d, notes);
}

/// No power at all, or amperes alone.
fn sources(log: &Log, d: &Digest, mapping: &Mapping, notes: &mut Notes) {
    if log.energy_wh.is_some() {
        if d.slots.product().is_some() {
            let what = || "power is volts times amperes".to_string();
            notes.add(
                Weight::Note,
                "power-from-volts-amps",
                || "mapping".into(),
                what,
                "right for direct current; alternating current needs watts",
            );
        }
        return;
    }
    let (code, what) = match (d.slots.counter, d.slots.amps, d.slots.volts) {
        (Some(_), ..) if d.slots.power.is_some() => (
            "too-few-readings",
            "the power column holds fewer than two readings close enough together; the counter is all there is",
        ),
        (Some(_), ..) => {
            ("counter-only", "there is a counter but no power: the energy is the counter's alone")
        }
        (None, Some(_), None) => {
            ("current-only", "there is current but neither power nor voltage: no energy can be known")
        }
        _ if d.slots.power.is_some() => {
            ("too-few-readings", "the power column holds fewer than two readings close enough together")
        }
        _ => ("no-power-column", "no column holds power, energy, or voltage with current"),
    };
    let weight = if code == "counter-only" { Weight::Note } else { Weight::Gap };
    let times = mapping.time != TimeKind::Missing;
    if times {
        notes.add(weight, code, || "mapping".into(), || what.into(), "say what each column holds");
    }
}

/// Zeros in the middle of steady power, and rows that share a time.
fn zeros(log: &Log, d: &Digest, notes: &mut Notes) {
    if let (1..=20, None, Some(line)) = (d.energy.spells, log.cycles, d.energy.spell_line) {
        let what = || format!("the power reads 0 and comes back to what it was, {} times", d.energy.spells);
        let hint =
            "was the load off, or are readings missing? Some exports write 0 for none; a counter would tell";
        notes.add(Weight::Doubt, "zero-spell", || format!("line {line}"), what, hint);
    }
    let same = d.spacing.count_in(0.0..0.0005);
    if same > 0 {
        let weight = if same * 3 > d.rows { Weight::Doubt } else { Weight::Note };
        let what = || format!("{same} rows have the same time as the row before");
        let hint = "the clock is coarser than the rows; durations are no finer than its step";
        notes.add(weight, "same-time", || "file".to_string(), what, hint);
    }
}

/// Rows of months, days and quarter hours in one file cannot be summed up together.
fn intervals(log: &mut Log, d: &Digest, notes: &mut Notes) {
    const DAY: f64 = 86_400.0;
    let all = d.rows.saturating_sub(1);
    let short = d.spacing.count_in(0.0..3601.0);
    let months = d.spacing.count_in(20.0 * DAY..1e12);
    let days = d.spacing.count_in(0.9 * DAY..1.1 * DAY);
    if short > 0 && (months > 0 && months * 50 >= all || days > 2 && days * 50 >= all) {
        let what = || {
            "rows of months or days stand beside rows of minutes; they cannot be summed up together"
                .to_string()
        };
        notes.add(Weight::Gap, "mixed-intervals", || "file".into(), what, "export one kind of interval");
        (log.energy_wh, log.energy_bridged_wh, log.energy_counter_wh) = (None, None, None);
        (log.power, log.cutoff, log.cycles, log.covered_s) = (None, None, None, None);
    }
}

fn power(log: &Log, d: &Digest, notes: &mut Notes) {
    let Some(power) = log.power else { return };
    let file = || "power".to_string();
    if d.slots.product().is_none() && power.mean < 0.0 {
        let what = || {
            format!(
                "the mean power is {} W: is the meter plugged in backwards, or is this charging?",
                decimal(power.mean, 1, Style::POINT)
            )
        };
        notes.add(Weight::Doubt, "negative-power", file, what, "say which way the power goes");
    } else if d.slots.product().is_none() && power.min < -0.02 * power.max.abs() - 1.0 {
        let what =
            || format!("the power is negative in places, down to {} W", decimal(power.min, 1, Style::POINT));
        notes.add(Weight::Doubt, "negative-power", file, what, "say which way the power goes");
    }
    let plateau = d.cycles.plateau();
    if plateau > 0.0 && power.max > 50.0 * plateau && power.max > 5000.0 {
        let what = || format!("the highest power, {:.0} W, is far above the usual {plateau:.0} W", power.max);
        notes.add(Weight::Doubt, "power-spike", file, what, "a start, or a damaged figure?");
    }
}

/// Readings against each other: ∫P against the counter, watts against volts times amperes.
fn compared(log: &Log, d: &Digest, notes: &mut Notes) {
    if let (Some(energy), Some(counter)) = (log.energy_bridged_wh.or(log.energy_wh), log.energy_counter_wh) {
        let share = if log.gap_count > 0 { 0.05 } else { 0.02 };
        let room = share * energy.abs().max(counter.abs()) + 2.0 * d.counter.step().max(1.0);
        if (energy - counter).abs() > room && notes.count("counter-reset") + notes.count("counter-fell") == 0
        {
            let what = || {
                let [energy, counter] = [energy, counter].map(|wh| decimal(wh, 1, Style::POINT));
                format!("power over time gives {energy} W·h, the counter {counter} W·h")
            };
            let hint = "readings are missing or wrong, or the units are; the counter knows what was used in the gaps";
            notes.add(Weight::Doubt, "counter-disagrees", || "power".into(), what, hint);
        }
    }
    let (seen, odd) = d.columns.compared;
    if (odd >= 3 && odd * 100 > seen) || d.columns.gross > 0 {
        let what = || format!("in {odd} of {seen} rows watts and volts times amperes do not go together");
        notes.add(
            Weight::Doubt,
            "power-not-volts-amps",
            || "power".into(),
            what,
            "are two columns swapped, or a unit wrong?",
        );
    }
    if let Some(k) = d.slots.power.map(|_| Role::Power)
        && k == Role::Power
        && d.columns.ranges.iter().all(|r| r.count == 0)
    {
        notes.add(
            Weight::Gap,
            "no-readings",
            || "file".into(),
            || "no number could be read".into(),
            "check the decimal mark",
        );
    }
}
