//! What the oscilloscope wrote at one switchover test: a small file for each of its trials, dead for as long as the page
//! says. Phase at the cut, jump of the phase and noise are chance.
use crate::chance::Chance;
use crate::truth::truth;
use std::f64::consts::{SQRT_2, TAU};
use trueplate_core::notebook::Test;

/// The test whose captures were kept, and its model.
pub const TEST: &str = "U09-A/switchover/1";
const MODEL: &str = "U09";

/// Samples a second; seconds before the cut and after the return: twelve cycles to judge the wave by, and three.
const RATE_HZ: f64 = 1e4;
const BEFORE_S: f64 = 0.2;
const AFTER_S: f64 = 0.05;
/// The mains of the bench, V and Hz, and the oscilloscope's noise, V (own choice: a hundredth of its range of 40 V a part).
const MAINS: (f64, f64) = (120.0, 60.0);
const NOISE_V: f64 = 0.4;

/// A file of the oscilloscope.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Capture {
    /// Its name.
    pub name: String,
    /// What stands in it.
    pub text: String,
}

/// The captures of the trials that the test names, in their order; none for another test.
pub fn captures(seed: u64, test: &Test) -> Vec<Capture> {
    let Some(times) = test.entries.get("times").filter(|_| test.id == TEST) else { return Vec::new() };
    let Some(own) = truth(MODEL) else { return Vec::new() };
    let mut chance = Chance::new(seed, "captures");
    let dead_ms = times.text.split_whitespace().filter_map(|t| t.parse::<f64>().ok());
    let one = |(n, ms): (usize, f64)| Capture {
        name: format!("cut {:02}.csv", n + 1),
        text: capture(&mut chance, ms / 1e3, (own.volts, own.hertz)),
    };
    dead_ms.enumerate().map(one).collect()
}

/// Mains, nothing for so long, then the station's own voltage.
fn capture(chance: &mut Chance, dead_s: f64, (volts, hertz): (f64, f64)) -> String {
    let at_cut = chance.between(0.0, TAU);
    let jump = chance.between(-0.7, 0.7);
    let count = |s: f64| (s * RATE_HZ).round() as usize;
    let (cut, back) = (count(BEFORE_S), count(BEFORE_S) + count(dead_s));
    let mut text = String::from("Sample Interval,1E-04,s\nVertical Units,V\nCH1\n");
    for i in 0..back + count(AFTER_S) {
        let t = (i as f64 - cut as f64) / RATE_HZ;
        let wave = match i {
            i if i < cut => MAINS.0 * SQRT_2 * (TAU * MAINS.1 * t + at_cut).sin(),
            i if i < back => 0.0,
            _ => volts * SQRT_2 * (TAU * hertz * t + at_cut + jump).sin(),
        };
        text.push_str(&format!("{:.1}\n", wave + NOISE_V * chance.normal()));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::notebook;
    use crate::day::DEMO_SEED;

    #[test]
    fn a_file_for_each_trial_as_long_as_it_takes() {
        let bench = notebook(DEMO_SEED);
        let all = captures(DEMO_SEED, bench.test(TEST).unwrap());
        assert_eq!((all.len(), all[0].name.as_str()), (20, "cut 01.csv"));
        // 0.2 s and 0.05 s at 10 kS/s are 2500 rows; each of the page's tenths of a millisecond is one more; three of header.
        let times = &bench.test(TEST).unwrap().entries["times"].text;
        for (capture, ms) in all.iter().zip(times.split_whitespace()) {
            let rows = 2503 + (ms.parse::<f64>().unwrap() * 10.0).round() as usize;
            assert_eq!(capture.text.lines().count(), rows, "{ms} ms");
        }
        assert!(all.iter().map(|c| c.text.len()).sum::<usize>() < 500_000);
        assert!(captures(DEMO_SEED, bench.test("U06-A/switchover/1").unwrap()).is_empty());
    }
}
