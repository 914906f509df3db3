//! `trueplate wave`: one oscilloscope's file, or several of the same thing; no bench needed.
use super::{Ended, Stop, out, out_json};
use std::fs::File;
use std::io::{ErrorKind, IsTerminal};
use std::path::{Path, PathBuf};
use trueplate_core::finding::{Finding, Weight};
use trueplate_core::shown::{Style, decimal, four_digits, signed};
use trueplate_core::wave::batch::batch;
use trueplate_core::wave::ride::itic_bears;
use trueplate_core::wave::{Interruption, Outcome};
use trueplate_meters::waves::{Capture, Options, batch_json, json, load};

#[derive(clap::Args)]
pub struct Arguments {
    /// The oscilloscope's file: any delimited text, also packed with gzip. Several are taken as trials of the same thing.
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// The probe's factor, as 200; counts whatever the file says.
    #[arg(long, allow_negative_numbers = true)]
    probe: Option<f64>,
    /// Declared voltage in V that dips are held against; default: the mains the wave belongs to.
    #[arg(long, allow_negative_numbers = true)]
    nominal: Option<f64>,
    /// Harmonics counted in the distortion, 2 to this.
    #[arg(long, default_value_t = 40)]
    orders: usize,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

pub fn run(a: &Arguments) -> Ended {
    let positive =
        |option: &str, value: Option<f64>, what: &str| match value.filter(|x| !(*x > 0.0 && x.is_finite())) {
            Some(x) => Err(Stop::Usage(format!("{option} {x}: {what}, more than 0"))),
            None => Ok(()),
        };
    positive("--probe", a.probe, "the factor of the probe, as 200")?;
    positive("--nominal", a.nominal, "volts, as 120")?;
    if !(2..=200).contains(&a.orders) {
        return Err(Stop::Usage(format!("--orders {}: from 2 to 200; the standard counts to 40", a.orders)));
    }
    let options = Options { probe: a.probe, nominal_v: a.nominal, orders: a.orders };
    let mut captures = Vec::new();
    for (k, file) in a.files.iter().enumerate() {
        if a.files.len() > 1 && std::io::stderr().is_terminal() {
            eprint!("\r{} of {}", k + 1, a.files.len());
        }
        captures.push((file.display().to_string(), one(file, &options)?));
    }
    if a.files.len() > 1 && std::io::stderr().is_terminal() {
        eprintln!();
    }
    match (a.json, captures.as_slice()) {
        (true, [(_, capture)]) => out_json(&json(capture))?,
        (true, many) => out_json(&batch_json(many))?,
        (false, [(_, capture)]) => out(&text(capture))?,
        (false, many) => out(&many_text(many))?,
    }
    match captures.iter().find(|c| !c.1.understood()) {
        Some((name, _)) => {
            Err(Stop::Usage(format!("{name}: not understood as a capture; what was noticed is listed above")))
        }
        None => Ok(()),
    }
}

fn one(file: &Path, options: &Options) -> Result<Capture, Stop> {
    if file.is_dir() {
        return Err(Stop::Usage(format!("{}: this is a folder; name one file", file.display())));
    }
    load(|| File::open(file), options).map_err(|e| match e.kind() {
        ErrorKind::NotFound | ErrorKind::PermissionDenied => Stop::unread(file, &e),
        _ => Stop::World(format!("{}: reading stopped ({e}); try again", file.display())),
    })
}

fn shown(x: f64) -> String {
    four_digits(x, Style::PLAIN)
}

/// A label and its value in a row.
fn row(label: &str, value: &str) -> String {
    format!("{label:<18}{value}\n")
}

pub(super) fn text(capture: &Capture) -> String {
    let mut t = String::new();
    if let Some(rate) = capture.rate_hz {
        t += &row("samples", &format!("{}, {} a second", capture.samples, shown(rate)));
    }
    if capture.segments > 1 {
        t += &row("segments", &capture.segments.to_string());
    }
    for c in &capture.channels {
        t += &channel(c);
    }
    for f in capture.findings.iter().chain(capture.channels.iter().flat_map(|c| &c.findings)) {
        t += &finding(f);
    }
    t
}

fn finding(f: &Finding) -> String {
    let weight = match f.weight {
        Weight::Note => "note ",
        Weight::Doubt => "doubt",
        Weight::Gap => "gap  ",
    };
    let how = if f.code.starts_with("probe-factor") { " (--probe)" } else { "" };
    format!("{weight}  {}: {}; {}{how}\n", f.place, f.text, f.hint)
}

fn channel(c: &Outcome) -> String {
    let mut t = format!("{}\n", c.name);
    let mut add = |label: &str, value: Option<String>| {
        if let Some(value) = value {
            t += &row(&format!("  {label}"), &value);
        }
    };
    add("rms", c.rms_v.map(|v| format!("{} V", shown(v))));
    add("mean", c.mean_v.map(|v| format!("{} V", shown(v))));
    add("frequency", c.frequency_hz.map(|f| format!("{} Hz", decimal(f, 3, Style::PLAIN))));
    add(
        "distortion",
        c.thd_percent.map(|d| format!("{} % THD, of the fundamental", decimal(d, 2, Style::PLAIN))),
    );
    add("crest factor", c.crest.map(|x| decimal(x, 3, Style::PLAIN)));
    add("shape", c.frequency_hz.map(|_| c.shape.words().to_string()));
    for i in &c.interruptions {
        t += &interruption(i);
    }
    for d in &c.dips {
        let lasts = d.duration_ms.map_or("to the end".into(), |ms| format!("{} ms", shown(ms)));
        let itic = d.duration_ms.map_or("", |ms| match itic_bears(ms / 1e3, d.residual_percent) {
            true => "; within the ITIC curve",
            false => "; outside the ITIC curve",
        });
        let v = format!(
            "at {} s, {lasts}, down to {} V ({:.0} %){itic}",
            shown(d.start_s),
            shown(d.residual_v),
            d.residual_percent
        );
        t += &row("  dip, cycle rms", &v);
    }
    t
}

fn interruption(i: &Interruption) -> String {
    let lasts = match i.dead_ms.zip(i.dead_u_ms) {
        // Two-sided 95 % of a normal distribution.
        Some((ms, u)) => {
            format!("dead for {} ± {} ms", decimal(ms, 2, Style::PLAIN), decimal(1.96 * u, 2, Style::PLAIN))
        }
        None => "dead to the end of the capture".into(),
    };
    let mut t = row("  interruption", &format!("at {} s, {lasts}", decimal(i.start_s, 5, Style::PLAIN)));
    if let (Some(before), Some(after)) = (i.rms_before_v, i.rms_after_v) {
        let jump = i
            .phase_jump_deg
            .map_or(String::new(), |p| format!(", phase jumps by {}°", signed(p, 0, Style::PLAIN)));
        t += &row("", &format!("{} V before, {} V after{jump}", shown(before), shown(after)));
    }
    for c in &i.compared {
        let word = match (c.within, c.close) {
            (_, true) => "too close to tell",
            (true, _) => "within",
            (false, _) => "longer than",
        };
        t += &row("", &format!("{word} {} ms: {} ({})", shown(c.limit_ms), c.with, c.source));
    }
    t
}

fn many_text(captures: &[(String, Capture)]) -> String {
    let mut t = String::new();
    for (name, capture) in captures {
        t += &format!("{name}\n{}\n", text(capture));
    }
    let all: Vec<f64> = captures.iter().flat_map(|(_, c)| c.dead_ms()).collect();
    let open = captures
        .iter()
        .flat_map(|(_, c)| c.channels.iter().flat_map(|c| &c.interruptions))
        .filter(|i| i.dead_ms.is_none())
        .count();
    if open > 0 {
        t += &row("not back", &format!("{open} dead to the end of the record; not among those below"));
    }
    let Some(b) = batch(&all, None) else {
        return t + if open > 0 {
            "no other interruption in any of them\n"
        } else {
            "no interruption in any of them\n"
        };
    };
    t += &row("interruptions", &format!("{} in {} files", b.n, captures.len()));
    // The form of the switchover test takes them like this.
    let list: Vec<String> = all.iter().map(|ms| decimal(*ms, 2, Style::PLAIN)).collect();
    t += &row("each, ms", &list.join(" "));
    t += &row("median", &format!("{} ms", decimal(b.median_ms, 2, Style::PLAIN)));
    t += &row("longest", &format!("{} ms", decimal(b.longest_ms, 2, Style::PLAIN)));
    for o in &b.over {
        let bound = format!("{:.0} % at most, with 95 % confidence", o.bound * 100.0);
        t += &row(
            "",
            &format!(
                "{} of {} longer than {} ms ({bound}): {} ({})",
                o.k,
                b.n,
                shown(o.limit_ms),
                o.with,
                o.source
            ),
        );
    }
    t
}
