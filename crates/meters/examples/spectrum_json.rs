//! Prints the figures of the speed comparison for harmonics: `spectrum_json FILE.npy`, single-precision samples at 1 MS/s in
//! windows of 200,000 (10 cycles of 50 Hz), harmonic subgroups to the 50th.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
use std::fs::File;
use std::io::{self, Read};
use trueplate_core::wave::harmonics::{distortion, highest_line, subgroups};
use trueplate_core::wave::spectrum::Spectrum;

const WINDOW: usize = 200_000;
const CYCLES: usize = 10;
const ORDERS: usize = 50;

fn main() -> io::Result<()> {
    let path = std::env::args().nth(1).unwrap_or_default();
    let mut file = File::open(&path)?;
    // NPY format 1.0 (NumPy Enhancement Proposal 1): magic, version, length of the header, header.
    let mut start = [0; 10];
    file.read_exact(&mut start)?;
    let mut header = vec![0; usize::from(u16::from_le_bytes([start[8], start[9]]))];
    file.read_exact(&mut header)?;
    let mut spectrum = Spectrum::new(highest_line(CYCLES, ORDERS));
    let (mut bytes, mut v) = (vec![0; WINDOW * 4], vec![0.0f32; WINDOW]);
    let (mut thd, mut third) = (Vec::new(), 0.0);
    while file.read_exact(&mut bytes).is_ok() {
        for (x, b) in v.iter_mut().zip(bytes.chunks_exact(4)) {
            *x = f32::from_le_bytes([b[0], b[1], b[2], b[3]]);
        }
        let Some(lines) = spectrum.lines(&v, 0.0, WINDOW as f64) else { break };
        let squared = subgroups(&lines, CYCLES, ORDERS);
        thd.push(distortion(&squared).unwrap_or(f64::NAN) * 100.0);
        third += (squared[2] / squared[0]).sqrt() * 100.0;
    }
    let n = thd.len().max(1) as f64;
    println!(
        "{}",
        serde_json::json!({
            "workload": "spectrum",
            "windows": thd.len(),
            "thd_mean_pct": thd.iter().sum::<f64>() / n,
            "thd_min_pct": thd.iter().copied().fold(f64::MAX, f64::min),
            "thd_max_pct": thd.iter().copied().fold(0.0, f64::max),
            "thd_first_pct": thd.first(),
            "h3_mean_pct": third / n,
        })
    );
    Ok(())
}
