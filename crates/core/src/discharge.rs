//! What a discharge through a counting meter yields: hours, energy, ∫P² dt and how far to trust them.
//! Shared by the kinds that empty the battery.
use crate::finding::Finding;
use crate::instrument::Feeds;
use crate::kind::{Axis, DrainRow, Outcome, Run};
use crate::logged;
use crate::notebook::LoadSort;
use crate::quantity::{Energy, Time};
use crate::questions;
use crate::reading::Field;
use crate::recording::{LogRecord, Mark};
use crate::shown::{Style, signed};
use crate::stamp::{self, Stamp};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Part, Uncertain};

/// Load as a share of the claimed continuous power.
pub static LOAD_SHARE: Axis =
    Axis { key: "load", label: "load", values: &["10 %", "25 %", "50 %", "80 %", "100 %"] };

/// Where each share begins and ends (common practice): outside, the result stands apart with its watts.
const BANDS: &[(&str, f64, f64)] = &[
    ("10 %", 0.07, 0.13),
    ("25 %", 0.21, 0.29),
    ("50 %", 0.44, 0.56),
    ("80 %", 0.74, 0.86),
    ("100 %", 0.94, 1.06),
];

/// The axis value for a mean power.
pub fn load_share(mean_w: f64, rated_w: Option<f64>) -> String {
    let share = rated_w.filter(|r| *r > 0.0).map(|r| mean_w / r);
    let band = share.and_then(|s| BANDS.iter().find(|(_, from, to)| (*from..=*to).contains(&s)));
    band.map_or_else(|| format!("{mean_w:.0} W"), |(name, _, _)| (*name).into())
}

/// A discharge as read.
pub struct Discharge {
    /// From load on to outlet off.
    pub hours: Uncertain<Time>,
    /// Delivered at the outlet, the meter's unseen own draw included.
    pub energy: Uncertain<Energy>,
    /// Energy over hours, in W.
    pub mean_w: f64,
    /// ∫P² dt over a log, W²·h; `None` where only counter and clock were read.
    pub w2h: Option<f64>,
    /// The battery was empty and the start was full.
    pub complete: bool,
}

/// Hours from one stamp to another with the doubt of reading them; end before start is mended by a day
/// when neither had a date, else reported.
pub fn elapsed(
    run: &Run,
    from: &Field<Stamp>,
    to: &Field<Stamp>,
    out: &mut Outcome,
) -> Option<Uncertain<Time>> {
    apart(run, (from, run.get(from)?), (to, run.get(to)?), out)
}

/// The same for instants at hand, whoever told them.
pub(crate) fn apart(
    run: &Run,
    (from, a): (&Field<Stamp>, Stamp),
    (to, mut b): (&Field<Stamp>, Stamp),
    out: &mut Outcome,
) -> Option<Uncertain<Time>> {
    let zone = &run.desk.zone;
    if stamp::hours_between(a, b) < 0.0 && b.day_assumed {
        b = stamp::next_day(b, zone)?;
        let text = format!(
            "the {} is earlier than the {}, so it is taken for the next day",
            to.spec.label, from.spec.label
        );
        out.findings.push(Finding::note(
            "next-day",
            to.spec.key,
            text,
            "write the date if it was another day",
        ));
    }
    let hours = stamp::hours_between(a, b);
    if hours <= 0.0 {
        let text = format!("the {} is not after the {}", to.spec.label, from.spec.label);
        out.findings.push(Finding::gap(
            "time-order",
            to.spec.key,
            text,
            "look at both times; 12 am is midnight, 12 pm noon",
        ));
        return None;
    }
    if stamp::clock_changed(a, b, zone) {
        out.findings.push(Finding::note(
            "clock-change-inside",
            to.spec.key,
            format!("the clocks were changed meanwhile; the true time is {hours:.2} h"),
            "nothing to do if both times were read off a clock that changes with the zone",
        ));
    }
    let mut t = Uncertain::exact(hours);
    for (s, key) in [(a, from.spec.key), (b, to.spec.key)] {
        let u = f64::from(s.step_s) / 3600.0 / 12f64.sqrt();
        let name = format!("{}/{key}", run.id());
        t = t.with(Influence::test(&name, Effect::Clock, ""), u, Shape::Rectangular, f64::INFINITY);
    }
    Some(t)
}

/// Energy between two counter readings over `hours`, corrected for the meter's unseen own draw.
/// A start of exactly 0 is a counter that was reset: it has no step doubt.
pub fn counted(
    run: &Run,
    from: &Field<Uncertain<Energy>>,
    to: &Field<Uncertain<Energy>>,
    hours: f64,
    out: &mut Outcome,
) -> Option<Uncertain<Energy>> {
    let (start, end) = (run.get(from)?, run.get(to)?);
    let reset = run.entry(from).is_some_and(|e| e.text.bytes().all(|b| !(b'1'..=b'9').contains(&b)));
    let start = if reset { Uncertain::exact(0.0) } else { start };
    out.read("R₁", &from.spec, &start);
    out.read("R₂", &to.spec, &end);
    let read = end.clone() - start;
    if read.x() <= 0.0 {
        out.findings.push(Finding::gap(
            "counter-not-rising",
            to.spec.key,
            "the counter did not rise from start to end".to_string(),
            "a counter that went back was reset or lost its memory; enter the readings before and after as two tests",
        ));
        return None;
    }
    step_check(to, &end, read.x(), out);
    let meter = run.desk.notebook.instrument(&run.entry(to)?.instrument);
    let Some(meter) = meter else { return Some(read) };
    let shows = meter.accuracy_at(crate::quantity::Dim::Power, read.x() / hours);
    let offset = shows.map_or(0.0, |a| (a.of_range * a.range + a.digits * a.step) / 3f64.sqrt() * hours);
    let words = crate::quantity::Dim::Power.words();
    let offset_of = Influence::instrument(&meter.id, Effect::Offset, words);
    let energy = read.with(offset_of, offset, Shape::Rectangular, f64::INFINITY);
    if meter.own_draw_w > 0.0 && meter.feeds == Feeds::Unseen {
        return Some(energy + logged::own_draw(meter, hours, out));
    }
    Some(energy)
}

/// Hours, energy and ∫P² dt of what ran: from the log where there is one, else from clock and counter.
/// ∫P² dt is `None` where only the mean power is known.
pub(crate) fn ran(
    run: &Run,
    symbol_words: &str,
    out: &mut Outcome,
) -> Option<(Uncertain<Time>, Uncertain<Energy>, Option<f64>)> {
    if let Some(recording) = run.log(&questions::LOG) {
        let log = recording.log()?;
        let ends = logged::on_and_off(log, questions::LOG.spec.key, out)?;
        let s = logged::delivered(run, &questions::LOG, log, ends, out)?;
        return Some((s.hours, s.energy, Some(s.w2h)));
    }
    let hours = elapsed(run, &questions::START, &questions::END, out)?;
    out.step("t", symbol_words, "h", &hours);
    let energy = counted(run, &questions::COUNTER_START, &questions::COUNTER_END, hours.x(), out)?;
    Some((hours, energy, None))
}

/// When the load went on: as written, else as the log has it.
pub(crate) fn load_on(run: &Run) -> Option<Stamp> {
    run.get(&questions::START).or_else(|| at_mark(run, |log| log.on.clone()))
}

/// When the outlet went off: as written, else as the log has it.
pub(crate) fn load_off(run: &Run) -> Option<Stamp> {
    run.get(&questions::END).or_else(|| at_mark(run, |log| Some(log.off.clone().unwrap_or(log.last.clone()))))
}

fn at_mark(run: &Run, mark: impl Fn(&LogRecord) -> Option<Mark>) -> Option<Stamp> {
    let at = mark(run.log(&questions::LOG)?.log()?)?.at;
    // A time of day alone is of no use here: the log may have begun on another day.
    stamp::stamp(&at, None, &run.desk.zone).ok()
}

/// Reads the discharge of a test with the common fields, with every cross-check that hand readings allow.
/// `None` when readings contradict each other: then nothing may rest on them.
pub fn discharge(run: &Run, out: &mut Outcome) -> Option<Discharge> {
    let (hours, energy, w2h) = ran(run, "time from load on to outlet off", out)?;
    let mean_w = energy.x() / hours.x();
    let sound =
        timer_check(run, hours.x(), out) & power_check(run, mean_w, out) & rating_check(run, mean_w, out);
    load_check(run, out);
    if !sound {
        return None;
    }
    let (energy, full) = start_state(run, energy, out)?;
    let cause = run.get(&questions::CAUSE)?;
    if cause.0 != "empty" {
        out.findings.push(Finding::gap(
            "not-ended-empty",
            questions::CAUSE.spec.key,
            "it did not end because the battery was empty".to_string(),
            "only an outlet that switched itself off empty tells the usable energy; this run is kept as a check",
        ));
    }
    Some(Discharge { hours, energy, mean_w, w2h, complete: full && cause.0 == "empty" })
}

impl Discharge {
    /// Its row of the drain law. `w2h` for a load of steady power is W²/t.
    pub fn row(&self, w2h: f64) -> DrainRow {
        let (hours, energy) = (self.hours.clone(), self.energy.clone());
        DrainRow { hours, energy, w2h, complete: self.complete, mean_w: self.mean_w }
    }
    /// ∫P² dt, W²·h: summed over the log, else that of a steady load.
    pub fn square(&self) -> f64 {
        self.w2h.unwrap_or(self.mean_w * self.mean_w * self.hours.x())
    }
}

/// A mean power of so many times the claimed one is a slip, not a station (common practice: they trip below 2).
const BEYOND_RATING: f64 = 2.5;

/// Kilowatt-hours taken for watt-hours, days for hours. True when nothing speaks against the readings.
fn rating_check(run: &Run, mean_w: f64, out: &mut Outcome) -> bool {
    let Some(rated) = run.rated_w().filter(|w| mean_w > BEYOND_RATING * w) else { return true };
    out.findings.push(Finding::gap(
        "beyond-rating",
        questions::COUNTER_END.spec.key,
        format!("energy over time gives {mean_w:.0} W, and the station is stated to give {rated:.0} W; no result until this is cleared up"),
        "look at the unit of the counter, Wh or kWh, and at both times",
    ));
    false
}

/// Energy against power × time: the cheapest check there is. True when nothing speaks against the readings.
pub fn power_check(run: &Run, mean_w: f64, out: &mut Outcome) -> bool {
    // A load that switches itself is known by its `load-switches`, not by this.
    let switches = run.if_asked(&questions::LOAD).is_some_and(|l| l.sort == LoadSort::Cycling);
    let Some(shown) = run.if_asked(&questions::POWER).filter(|p| p.x() > 0.0 && !switches) else {
        return true;
    };
    let off = mean_w / shown.x() - 1.0;
    // 5 % : common practice; a heater drifts by two or three as it warms.
    if off.abs() <= 0.05 {
        return true;
    }
    out.findings.push(Finding::gap(
        "energy-against-power",
        questions::COUNTER_END.spec.key,
        format!(
            "energy over time gives {mean_w:.0} W, the meter showed {:.0} W ({} %); no result until this is cleared up",
            shown.x(),
            signed(off * 100.0, 0, Style::POINT)
        ),
        "look at both counter readings and both times: a reset forgotten, two digits swapped, am for pm",
    ));
    false
}

/// A timer that runs with the load may differ from the clock by this much, in h and as a share (common practice:
/// whole minutes, and a hand between the two).
const TIMER_OFF: (f64, f64) = (3.0 / 60.0, 0.01);

/// The meter's own timer against the two times. True when nothing speaks against the readings.
pub fn timer_check(run: &Run, hours: f64, out: &mut Outcome) -> bool {
    let Some(shown) = run.if_asked(&questions::ELAPSED) else { return true };
    if (shown.x() - hours).abs() <= TIMER_OFF.0 + TIMER_OFF.1 * hours {
        return true;
    }
    let words = crate::shown::duration_words;
    out.findings.push(Finding::gap(
        "elapsed-disagrees",
        questions::END.spec.key,
        format!(
            "start and end are {} apart, the meter's timer shows {}; no result until this is cleared up",
            words(hours),
            words(shown.x())
        ),
        "look at both times: am for pm, another day, a clock that was changed",
    ));
    false
}

/// From this share of the reading on, the standard uncertainty of one counter step is worth a word (common practice).
const COARSE_FROM: f64 = 0.01;

/// A counter too coarse for what was read.
pub fn step_check(to: &Field<Uncertain<Energy>>, end: &Uncertain<Energy>, read: f64, out: &mut Outcome) {
    let value = end.clone().value();
    let of_step = |(i, p): (&Influence, &Part)| (i.effect == Effect::Step).then_some(p.signed.powi(2));
    let u = value.parts.iter().filter_map(of_step).sum::<f64>().sqrt();
    if u > COARSE_FROM * read {
        let share = 100.0 * u * 12f64.sqrt() / read;
        out.findings.push(Finding::note(
            "counter-step-coarse",
            to.spec.key,
            format!("one step of the counter is {share:.1} % of what was read"),
            "use a meter with a finer counter, or add up three cycles",
        ));
    }
}

/// A thermostat makes the energy of a steady load meaningless.
fn load_check(run: &Run, out: &mut Outcome) {
    if let Some(load) = run.if_asked(&questions::LOAD).filter(|l| l.sort == LoadSort::Cycling) {
        out.findings.push(Finding::doubt(
            "load-switches",
            questions::LOAD.spec.key,
            format!("{} switches itself on and off", load.name),
            "use a load without thermostat; the run is kept out of the runtime curve",
        ));
    }
}

/// How far the start can be trusted: widens the energy, or says that it was no full start.
pub(crate) fn start_state(
    run: &Run,
    energy: Uncertain<Energy>,
    out: &mut Outcome,
) -> Option<(Uncertain<Energy>, bool)> {
    let state = run.get(&questions::START_STATE)?;
    let Some(doubt) = questions::start_doubt(state.0) else {
        out.findings.push(Finding::gap(
            "start-not-full",
            questions::START_STATE.spec.key,
            "it was not full at the start".to_string(),
            "charge until the charger stops by itself, rest 30 minutes, repeat; this run is kept as a check",
        ));
        return Some((energy, false));
    };
    if state.0 != "full-rested" {
        out.findings.push(Finding::doubt(
            "start-not-rested",
            questions::START_STATE.spec.key,
            "it was not surely full and rested at the start, which can cost up to 1 % of the energy"
                .to_string(),
            "let the charger stop by itself and wait 30 minutes",
        ));
    }
    let u = energy.x() * doubt / 3f64.sqrt();
    let influence = Influence::test(run.id(), Effect::StartState, "");
    Some((energy.with(influence, u, Shape::Rectangular, f64::INFINITY), true))
}
