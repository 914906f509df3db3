//! What the devices ask of a station: one day in pieces, the most at once, and until when.
//!
//! Each device is taken to begin with the day, so that all of them run together at first: no arrangement asks more power.
//! The order of loads inside a day does not move the energy they take.
use super::Device;
use crate::law::Load;
use crate::sun::DAY_MINUTES;

/// A stretch of the day in which the same devices are in use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Piece {
    /// How long, h.
    pub hours: f64,
    /// What they draw together.
    pub load: Load,
    /// The outlet is on.
    pub on: bool,
    /// Some device is in use.
    pub busy: bool,
    /// What the steady ones draw, W: the outlet sees it all the time.
    pub steady_w: f64,
    /// What all draw while every one of them runs, W.
    pub running_w: f64,
}

/// A day of demand.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Demand {
    /// In order, 24 h together.
    pub pieces: Vec<Piece>,
    /// When the last device is done, h into the day.
    pub last_h: f64,
    /// All running at once, W.
    pub running_w: f64,
    /// The largest start while the rest run, W, and whose; `None` when none takes more to start than to run.
    pub start: Option<(f64, String)>,
    /// From the start of the first day to the end of the last use wanted, h.
    pub wanted_h: f64,
}

impl Demand {
    /// The demand of devices over `days`; the outlet stays on between uses, or is switched off by hand.
    pub fn of(devices: &[Device], days: f64, stays_on: bool) -> Demand {
        let mut ends: Vec<f64> = devices.iter().map(|d| d.hours).collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let last_h = ends.last().copied().unwrap_or(0.0);
        if last_h < 24.0 {
            ends.push(24.0);
        }
        let mut from = 0.0;
        let pieces = ends
            .into_iter()
            .map(|end| {
                let piece = piece(devices, from, end - from, stays_on);
                from = end;
                piece
            })
            .collect();
        let running_w: f64 = devices.iter().map(|d| d.running_w).sum();
        let extra = |d: &Device| d.starting_w.map_or(0.0, |s| s - d.running_w);
        let start = devices
            .iter()
            .filter(|d| extra(d) > 0.0)
            .max_by(|a, b| extra(a).total_cmp(&extra(b)))
            .map(|d| (running_w + extra(d), d.name.clone()));
        Demand { pieces, last_h, running_w, start, wanted_h: wanted(days, last_h) }
    }
    /// Mean load while the outlet is on, and the hours a day it is.
    pub fn mean(&self) -> (Load, f64) {
        self.mean_until(24.0)
    }
    /// Mean load while the outlet is on, from the start of a day to this hour of it; and the hours it is.
    pub fn mean_until(&self, hour: f64) -> (Load, f64) {
        let (mut at, mut on_h, mut w, mut w2) = (0.0, 0.0, 0.0, 0.0);
        for piece in &self.pieces {
            let hours = piece.hours.min(hour - at).max(0.0);
            at += piece.hours;
            if piece.on {
                on_h += hours;
                w += piece.load.mean_w * hours;
                w2 += piece.load.mean_w2 * hours;
            }
        }
        let hours = on_h.max(f64::MIN_POSITIVE);
        (Load { mean_w: w / hours, mean_w2: w2 / hours }, on_h)
    }
    /// The same load all the time: then hours are the answer, not a share of the store.
    pub fn steady(&self) -> bool {
        self.pieces.len() == 1
    }
    /// The piece each minute of the day lies in.
    pub fn minutes(&self) -> Vec<usize> {
        let mut of_minute = Vec::with_capacity(DAY_MINUTES);
        let mut end = 0.0;
        for (i, piece) in self.pieces.iter().enumerate() {
            end += piece.hours * 60.0;
            let last = i + 1 == self.pieces.len();
            while of_minute.len() < DAY_MINUTES && (last || (of_minute.len() as f64) + 0.5 < end) {
                of_minute.push(i);
            }
        }
        of_minute
    }
}

/// Independent devices: means add, and so do the variances of those that switch themselves.
fn piece(devices: &[Device], from: f64, hours: f64, stays_on: bool) -> Piece {
    let in_use = || devices.iter().filter(|d| d.hours > from);
    let mean_w: f64 = in_use().map(Device::mean_w).sum();
    let variance: f64 = in_use().map(|d| d.mean_w() * (d.running_w - d.mean_w())).sum();
    let busy = in_use().next().is_some();
    Piece {
        hours,
        load: Load { mean_w, mean_w2: mean_w * mean_w + variance },
        on: stays_on || busy,
        busy,
        steady_w: in_use().filter(|d| d.average_w.is_none()).map(|d| d.running_w).sum(),
        running_w: in_use().map(|d| d.running_w).sum(),
    }
}

fn wanted(days: f64, last_h: f64) -> f64 {
    let (whole, rest) = (days.floor(), days.fract() * 24.0);
    if rest > 1e-9 { whole * 24.0 + rest.min(last_h) } else { (whole - 1.0).max(0.0) * 24.0 + last_h }
}

#[cfg(test)]
mod tests {
    use super::*;
    fn fridge() -> Device {
        Device { starting_w: Some(900.0), average_w: Some(38.0), ..Device::steady("fridge", 85.0) }
    }
    fn laptop() -> Device {
        Device { hours: 9.0, ..Device::steady("laptop", 60.0) }
    }
    #[test]
    fn two_devices_make_two_pieces() {
        let d = Demand::of(&[fridge(), laptop()], 2.0, true);
        // 9 h of 38 + 60 W, then 15 h of the fridge. Mean square of the fridge alone 85·38 = 3230; with the laptop
        // 98² + 38·(85 − 38) = 9604 + 1786 = 11 390.
        assert_eq!(d.pieces.len(), 2);
        assert_eq!((d.pieces[0].hours, d.pieces[0].load.mean_w), (9.0, 98.0));
        assert!((d.pieces[0].load.mean_w2 - 11_390.0).abs() < 1e-9);
        assert!((d.pieces[1].load.mean_w2 - 3230.0).abs() < 1e-9);
        // Start: 900 W beside 60 W of the laptop.
        assert_eq!((d.running_w, d.start.as_ref().map(|s| s.0)), (145.0, Some(960.0)));
        assert_eq!((d.pieces[0].steady_w, d.pieces[1].steady_w), (60.0, 0.0));
        assert_eq!((d.last_h, d.wanted_h), (24.0, 48.0));
        // Mean over the day: (9·98 + 15·38)/24 = 60.5.
        assert!((d.mean().0.mean_w - 60.5).abs() < 1e-9 && d.mean().1 == 24.0);
        // Until 12 h: (9·98 + 3·38)/12 = 83.
        assert!((d.mean_until(12.0).0.mean_w - 83.0).abs() < 1e-9 && d.mean_until(12.0).1 == 12.0);
    }
    #[test]
    fn the_last_use_ends_the_wait() {
        let wanted = |days| Demand::of(&[laptop()], days, true).wanted_h;
        assert_eq!((wanted(1.0), wanted(3.0), wanted(0.25), wanted(1.5)), (9.0, 57.0, 6.0, 33.0));
        let off = Demand::of(&[laptop()], 1.0, false);
        assert_eq!((off.pieces[1].on, off.mean().1), (false, 9.0));
        let minutes = off.minutes();
        assert_eq!((minutes.len(), minutes[539], minutes[540]), (1440, 0, 1));
    }
}
