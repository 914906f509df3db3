//! Fits the drain law of many stations from one table and ranks them in six columns: to time it and to compare it with
//! another program's answers. `cargo run --release -p trueplate-twin --example cohort_json FILE`, where FILE has a header and
//! rows `unit, run, watts, hours, standard uncertainty of the hours`, eight to a station.
//!
//! Columns, more is better in all: hours at 100, 500 and 1000 W; energy at 200 and at 800 W; the second energy over the first.
use std::time::Instant;
use trueplate_core::law::{Law, Row, Rules, fit};
use trueplate_core::measurand::Better;
use trueplate_core::quantity::Dim;
use trueplate_core::rank::{Rank, ranks};
use trueplate_core::stats::coverage::Shape;
use trueplate_core::uncertain::{Effect, Influence, Value};

const RUNS: usize = 8;

fn laws(text: &str) -> Vec<Law> {
    let row = |line: &str| {
        let cells: Vec<f64> = line.split(',').skip(2).map(|c| c.parse().expect("a number")).collect();
        Row::steady("", cells[0], cells[1], cells[2] / cells[1])
    };
    let rows: Vec<Row> = text.lines().skip(1).map(row).collect();
    rows.chunks(RUNS).map(|r| fit(r, Rules::default()).expect("a law")).collect()
}

/// (value, its slope along each coefficient) of one column.
fn metric(law: &Law, column: usize) -> (f64, [f64; 3]) {
    let hours = |w: f64| {
        let t = 1.0 / law.drain(w);
        (t, [1.0, w, w * w].map(|x| -t * t * x))
    };
    let times = |k: f64, (y, slope): (f64, [f64; 3])| (k * y, slope.map(|s| k * s));
    match column {
        0 => hours(100.0),
        1 => hours(500.0),
        2 => hours(1000.0),
        3 => times(200.0, hours(200.0)),
        4 => times(800.0, hours(800.0)),
        _ => {
            let ((low, low_slope), (high, high_slope)) =
                (times(200.0, hours(200.0)), times(800.0, hours(800.0)));
            let ratio = high / low;
            (ratio, std::array::from_fn(|k| ratio * (high_slope[k] / high - low_slope[k] / low)))
        }
    }
}

fn value(unit: usize, law: &Law, column: usize) -> Value {
    let (x, slope) = metric(law, column);
    let variance: f64 = (0..3)
        .flat_map(|i| (0..3).map(move |j| (i, j)))
        .map(|(i, j)| slope[i] * law.covariance[i][j] * slope[j])
        .sum();
    let own = Influence::test(&unit.to_string(), Effect::Fit, "");
    Value::exact(Dim::Ratio, x).with(own, variance.max(0.0).sqrt(), Shape::Normal, f64::INFINITY)
}

fn main() {
    let path = std::env::args().nth(1).expect("a table");
    let begin = Instant::now();
    let laws = laws(&std::fs::read_to_string(path).expect("the table can be read"));
    let fitted = begin.elapsed().as_secs_f64();
    let columns: Vec<Vec<Value>> =
        (0..6).map(|c| laws.iter().enumerate().map(|(u, l)| value(u, l, c)).collect()).collect();
    let ranked: Vec<Vec<Rank>> = columns.iter().map(|c| ranks(c, Better::More)).collect();
    let all = begin.elapsed().as_secs_f64();
    let first = &laws[0];
    let widths: Vec<f64> = ranked
        .iter()
        .map(|r| r.iter().map(|r| (r.high - r.low) as f64).sum::<f64>() / r.len() as f64)
        .collect();
    println!(
        "{{\"units\": {}, \"a0\": {:e}, \"b0\": {:e}, \"c0\": {:e}, \"u_b0\": {:e}, \"chi2_mean\": {}, \"runtime500_u0_h\": {}, \
         \"width_mean\": {widths:?}, \"u0_lo\": {:?}, \"u0_med\": {:?}, \"u0_hi\": {:?}, \"_t\": {{\"fit\": {fitted:.4}, \"end\": {all:.4}}}}}",
        laws.len(),
        first.a,
        first.b,
        first.c,
        first.covariance[1][1].sqrt(),
        laws.iter().map(|l| l.chi2).sum::<f64>() / laws.len() as f64,
        1.0 / first.drain(500.0),
        ranked.iter().map(|r| r[0].low).collect::<Vec<_>>(),
        ranked.iter().map(|r| r[0].middle).collect::<Vec<_>>(),
        ranked.iter().map(|r| r[0].high).collect::<Vec<_>>(),
    );
}
