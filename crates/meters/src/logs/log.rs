//! What a log comes to: the numbers, each absent where it cannot be known.
use super::mapping::{Role, RowOrder};
use super::spacing::IntervalShare;
use serde::Serialize;
use trueplate_core::finding::Finding;
use trueplate_core::recording::{Defrosts, LogRecord};

/// A stretch without readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// Last reading before, as the log's times are written out.
    pub from: String,
    /// First reading after.
    pub to: String,
    /// Length, s.
    pub s: f64,
}

/// Time-weighted power over the covered time, W.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PowerSummary {
    /// Energy over covered time.
    pub mean: f64,
    /// Lowest reading.
    pub min: f64,
    /// Highest reading.
    pub max: f64,
}

/// The end of a discharge.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cutoff {
    /// First reading of the stretch that stays off.
    pub at: Option<String>,
    /// The same from the start of the log, s.
    pub elapsed_s: f64,
    /// Energy up to it, W·h, covered time only.
    pub energy_wh: f64,
}

/// A load that switches itself on and off.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cycles {
    /// Times it switched on.
    pub starts: u32,
    /// Whole cycles, from start to start.
    pub whole: u32,
    /// Mean length of the whole cycles, s.
    pub period_s: f64,
    /// Mean time on in whole cycles, s.
    pub on_s: f64,
    /// Share of time on in whole cycles, 0 to 1.
    pub duty: f64,
    /// Mean power over whole cycles, W.
    pub mean_w: f64,
    /// Median power while on, W.
    pub running_w: f64,
    /// Median of the highest readings of each time on, W.
    pub peak_w: f64,
    /// The level taken to divide on from off, W.
    pub threshold_w: f64,
    /// Long times at a higher power, seldom: a fridge that thaws. `None` where none was seen.
    pub defrosts: Option<Defrosts>,
}

/// What is in a column.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColumnSummary {
    /// The header as written.
    pub name: String,
    /// Its role.
    pub role: Role,
    /// UCUM unit of the numbers as written.
    pub unit: Option<String>,
    /// Lowest, mean and highest of the readings in W, W·h, V, A, °C or 1, each reading counted once.
    pub range: Option<(f64, f64, f64)>,
}

/// A point of the thinned picture.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TracePoint {
    /// First row it stands for: µs on the log's own axis.
    pub at_us: i64,
    /// Lowest power of its rows, W.
    pub min: f64,
    /// Highest power of its rows, W.
    pub max: f64,
    /// Energy over covered time up to its first row, W·h.
    pub energy_wh: f64,
}

/// A log, summed up.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Log {
    /// Rows with a time that can be read.
    pub rows: u64,
    /// First and last instant: RFC 3339 where the offset is known, civil time where it is not, absent for elapsed times.
    pub first: Option<String>,
    /// See `first`.
    pub last: Option<String>,
    /// From first to last row, s.
    pub span_s: Option<f64>,
    /// Time between readings no further apart than `gap_s`, s.
    pub covered_s: Option<f64>,
    /// Energy over the covered time, W·h: trapezoid of power.
    pub energy_wh: Option<f64>,
    /// The same with the gaps bridged by straight lines; absent where there are none.
    pub energy_bridged_wh: Option<f64>,
    /// Energy by the meter's own counter, W·h, over the whole span.
    pub energy_counter_wh: Option<f64>,
    /// Power.
    pub power: Option<PowerSummary>,
    /// Stretches without readings, the first 1000.
    pub gaps: Vec<Gap>,
    /// How many there are.
    pub gap_count: u64,
    /// The step beyond which there is a gap, s.
    pub gap_s: Option<f64>,
    /// End of a discharge.
    pub cutoff: Option<Cutoff>,
    /// Cycling.
    pub cycles: Option<Cycles>,
    /// Charged, W·h (voltage and current logs).
    pub energy_in_wh: Option<f64>,
    /// Discharged, W·h (voltage and current logs).
    pub energy_out_wh: Option<f64>,
    /// From the start of charging until the current stays below 95 % of its plateau, s.
    pub taper_at_s: Option<f64>,
    /// From the start of charging until 80 % of its energy is in, s.
    pub time_to_80_percent_energy_s: Option<f64>,
    /// Columns.
    pub columns: Vec<ColumnSummary>,
    /// The commonest steps between rows.
    pub intervals: Vec<IntervalShare>,
    /// Power over time, thinned; lows and highs are kept.
    pub trace: Vec<TracePoint>,
    /// First row with power: µs on the log's own axis, the one the trace stands on.
    #[serde(skip)]
    pub first_us: Option<i64>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// What a kind of test computes with: sums to the load going on and off; absent where no row has power.
    #[serde(skip)]
    pub record: Option<Box<LogRecord>>,
    /// The order in which reading again would do better.
    #[serde(skip)]
    pub read_again_sorted: Option<RowOrder>,
    /// The gap with which reading again would do better, s.
    #[serde(skip)]
    pub read_again_gap_s: Option<f64>,
}
