//! Prints what one capture comes to: `wave_json FILE`. First the document of `trueplate wave`; with `--workload` instead
//! one line with the figures of the speed comparison, of the first channel, as that comparison defines them: frequency from
//! the crossings of the first 0.2 s, one-cycle rms on a grid that runs on, the dip below 90 % of 120 V, the longest run
//! below a tenth of the peak.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
use std::fs::File;
use std::process::ExitCode;
use trueplate_core::wave::half_cycle::{Dips, HalfCycles};
use trueplate_meters::waves::{Follows, Options, json, load, one_channel};

fn main() -> ExitCode {
    let (mut path, mut workload) = (String::new(), false);
    for word in std::env::args().skip(1) {
        match word.as_str() {
            "--workload" => workload = true,
            _ => path = word,
        }
    }
    let line = if workload {
        one_channel(|| File::open(&path), 0, Workload::begin)
            .map(|w| w.map_or_else(|| "{}".into(), Workload::line))
    } else {
        load(|| File::open(&path), &Options::default()).map(|c| json(&c).to_string())
    };
    match line {
        Ok(line) => {
            println!("{line}");
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("{path}: {e}");
            ExitCode::from(2)
        }
    }
}

const DECLARED: f64 = 120.0;

/// The figures of the comparison, followed sample by sample.
#[derive(Default)]
struct Workload {
    rate: f64,
    start: f64,
    rows: u64,
    head: Vec<f32>,
    grid: Option<(HalfCycles, Dips)>,
    period: f64,
    cycles: u64,
    first: f64,
    sum: f64,
    lowest: f64,
    highest: f64,
    run: u64,
    longest: (u64, u64),
}

impl Follows for Workload {
    fn take(&mut self, samples: &[f32]) {
        self.quiet(samples);
        if self.grid.is_some() {
            return self.cycle(samples);
        }
        self.head.extend_from_slice(samples);
        if self.head.len() as f64 >= 0.2 * self.rate {
            self.lock();
        }
    }
}

impl Workload {
    fn begin(rate: f64, start: f64) -> Self {
        Workload { rate, start, lowest: f64::MAX, ..Workload::default() }
    }

    /// Upward crossings from below −10 V to above 10 V, each in the middle between the two samples.
    fn lock(&mut self) {
        let n = ((0.2 * self.rate) as usize).min(self.head.len());
        let (mut below, mut crossings) = (None, Vec::new());
        for (i, x) in self.head[..n].iter().enumerate() {
            if *x < -10.0 {
                below = Some(i);
            } else if *x > 10.0
                && let Some(b) = below.take()
            {
                crossings.push(0.5 * (b + i) as f64);
            }
        }
        let (Some(first), Some(last)) = (crossings.first(), crossings.last()) else { return };
        self.period = (last - first) / (crossings.len() - 1) as f64;
        self.grid = Some((HalfCycles::new(*first, self.period), Dips::new(DECLARED, self.rate, self.start)));
        let head = std::mem::take(&mut self.head);
        self.cycle(&head);
    }

    fn cycle(&mut self, samples: &[f32]) {
        let Some((grid, dips)) = &mut self.grid else { return };
        let (cycles, first, sum) = (&mut self.cycles, &mut self.first, &mut self.sum);
        let (lowest, highest) = (&mut self.lowest, &mut self.highest);
        grid.take(samples, |at, u| {
            if *cycles == 0 {
                *first = u;
            }
            *cycles += 1;
            *sum += u;
            *lowest = lowest.min(u);
            *highest = highest.max(u);
            dips.take(at, u);
        });
    }

    /// The longest run of |v| below a tenth of the peak.
    fn quiet(&mut self, samples: &[f32]) {
        let limit = (0.1 * 2f64.sqrt() * DECLARED) as f32;
        for piece in samples.chunks(64) {
            let low = piece.iter().filter(|x| x.abs() < limit).count() as u64;
            if low == 0 && self.run == 0 {
                self.rows += piece.len() as u64;
                continue;
            }
            if low == piece.len() as u64 {
                self.rows += low;
                self.run += low;
                if self.run > self.longest.0 {
                    self.longest = (self.run, self.rows - self.run);
                }
                continue;
            }
            for x in piece {
                self.rows += 1;
                self.run = if x.abs() < limit { self.run + 1 } else { 0 };
                if self.run > self.longest.0 {
                    self.longest = (self.run, self.rows - self.run);
                }
            }
        }
    }

    fn line(mut self) -> String {
        if self.grid.is_none() {
            self.lock();
        }
        if let Some((_, dips)) = &mut self.grid {
            dips.finish();
        }
        let dip = self.grid.as_ref().and_then(|g| g.1.found.first());
        serde_json::json!({
            "workload": "wave",
            "rows": self.rows,
            "freq_hz": self.rate / self.period,
            "n_urms": self.cycles,
            "urms_first": self.first,
            "urms_mean": self.sum / self.cycles.max(1) as f64,
            "urms_min": self.lowest,
            "urms_max": self.highest,
            "dip": dip.map(|d| serde_json::json!({
                "start_s": d.start_s, "duration_ms": d.duration_ms, "residual_v": d.residual_v,
            })),
            "gap_ms": self.longest.0 as f64 / self.rate * 1e3,
            "gap_start_s": self.start + self.longest.1 as f64 / self.rate,
        })
        .to_string()
    }
}
