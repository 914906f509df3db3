//! `trueplate law`: the drain law from a table of full discharges.
use super::{Ended, Stop, out, out_json};
use serde_json::{Value as Json, json};
use std::path::{Path, PathBuf};
use trueplate_core::finding::Finding;
use trueplate_core::law::{Idle, Known, Law, Load, Row, Rules, Value, fit};
use trueplate_core::quantity::Dim;
use trueplate_core::shown::{Style, duration_unit, four_digits, shown};
use trueplate_core::stats::coverage::Shape;
use trueplate_core::uncertain::{Effect, Influence, Value as CoreValue};

#[derive(clap::Args)]
pub struct Arguments {
    /// Table with the columns `hours,wh,w2h,u_rel` or `watts,hours,u_rel`, a full discharge a row.
    file: PathBuf,
    /// Loads in W to answer for, commas between; 0 is allowed.
    #[arg(long, value_name = "WATTS", value_delimiter = ',', required = true, allow_negative_numbers = true, value_parser = watts)]
    at: Vec<f64>,
    /// Relative standard uncertainty of the gain of the meter that all rows were read on: 0.005 is 0.5 %.
    #[arg(long, default_value_t = 0.0)]
    gain: f64,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

/// "10", "10W", "10 W".
fn watts(text: &str) -> Result<f64, String> {
    let number = text.trim().trim_end_matches(['W', 'w']).trim_end();
    number.parse().map_err(|_| "a load is a power in W, as in --at 10,50,200".to_string())
}

pub fn run(a: &Arguments) -> Ended {
    if !(0.0..0.5).contains(&a.gain) {
        return Err(Stop::Usage(format!(
            "--gain {}: a relative standard uncertainty lies between 0 and 0.5; 0.005 is 0.5 %",
            a.gain
        )));
    }
    if let Some(w) = a.at.iter().find(|w| !(0.0..=1e6).contains(*w)) {
        return Err(Stop::Usage(format!("--at {w}: a load is a power in W, 0 or more")));
    }
    let rows = read(&a.file)?;
    let law = fit(&rows, Rules { u_gain: a.gain, ..Rules::default() }).map_err(|findings| {
        let texts: Vec<String> = findings.iter().map(said).collect();
        Stop::Usage(format!("{}: no curve can be fitted\n  {}", a.file.display(), texts.join("\n  ")))
    })?;
    if a.json { out_json(&document(&law, a)) } else { out(&text(&law, a)) }
}

fn said(f: &Finding) -> String {
    format!("{}: {}; {}", f.place, f.text, f.hint)
}

/// Rows of the table; each fault with its line.
fn read(path: &Path) -> Result<Vec<Row>, Stop> {
    let file = std::fs::File::open(path).map_err(|e| Stop::unread(path, &e))?;
    let mut table = csv::ReaderBuilder::new().trim(csv::Trim::All).comment(Some(b'#')).from_reader(file);
    let at = |line: u64, text: String| Stop::Usage(format!("{}:{line}: {text}", path.display()));
    let head =
        table.headers().map_err(|e| at(1, format!("{e}; save it as a comma-separated table")))?.clone();
    let column =
        |name: &str| head.iter().position(|h| h.trim_start_matches('\u{feff}').eq_ignore_ascii_case(name));
    let sums = (column("hours"), column("wh"), column("w2h"), column("u_rel"));
    let steady = (column("watts"), column("hours"), column("u_rel"));
    let columns = match (sums, steady) {
        ((Some(h), Some(w), Some(s), Some(u)), _) => vec![h, w, s, u],
        (_, (Some(p), Some(h), Some(u))) => vec![p, h, u],
        _ => {
            let found = head.iter().collect::<Vec<_>>().join(",");
            return Err(at(
                1,
                format!("the columns are `{found}`; needed are `hours,wh,w2h,u_rel` or `watts,hours,u_rel`"),
            ));
        }
    };
    let mut rows = Vec::new();
    for record in table.records() {
        let record = record.map_err(|e| {
            let line = e.position().map_or(0, csv::Position::line);
            at(line, format!("{e}; each row needs as many cells as the first"))
        })?;
        let line = record.position().map_or(0, csv::Position::line);
        let mut cells = Vec::new();
        for &i in &columns {
            let text = record.get(i).unwrap_or("");
            let x: f64 = text.parse().map_err(|_| {
                at(
                    line,
                    format!("`{text}` is not a number; write it with a decimal point and without a unit"),
                )
            })?;
            if !x.is_finite() || x < 0.0 {
                return Err(at(
                    line,
                    format!("`{text}` in column {}: a number of 0 or more is needed", &head[i]),
                ));
            }
            cells.push(x);
        }
        let label = format!("line {line}");
        rows.push(match cells.as_slice() {
            [h, w, s, u] => Row::sums(label, *h, *w, *s, *u),
            [p, h, u] => Row::steady(label, *p, *h, *u),
            _ => continue,
        });
    }
    Ok(rows)
}

fn value(v: &Value, gain: f64, unit: &str) -> Json {
    json!({"value": v.value, "u": v.u_with_gain(gain), "unit": unit})
}

fn document(law: &Law, a: &Arguments) -> Json {
    let mut at = Vec::new();
    let mut refused = Vec::new();
    for &w in &a.at {
        match law.answer(Load::steady(w)) {
            Ok(answer) => at.push(json!({
                "w": w,
                "runtime_h": value(&answer.runtime_h, a.gain, "h"),
                "energy_wh": value(&answer.energy_wh, a.gain, "W.h"),
            })),
            Err(refusal) => {
                at.push(json!({"w": w, "runtime_h": null, "energy_wh": null}));
                refused.push(json!({"w": w, "why": refusal.why, "missing_test": refusal.missing.text()}));
            }
        }
    }
    let idle = match law.idle() {
        Some(Idle::Draw(v)) => value(&v, a.gain, "W"),
        _ => Json::Null,
    };
    let residuals: Vec<Json> =
        law.residuals.iter().map(|r| json!({"row": r.label, "value": r.value, "u": r.u, "z": r.z})).collect();
    // From one power the coefficients mean nothing by themselves.
    let one_power = law.known == Known::OnePower;
    let known = |x: f64| if one_power { Json::Null } else { json!(x) };
    json!({
        "a": known(law.a), "b": known(law.b), "c": known(law.c),
        "covariance": if one_power { Json::Null } else { json!(law.covariance) }, "chi2": law.chi2, "dof": law.dof,
        "at": at,
        "idle_w": idle,
        "best_load_w": law.best_load().map(|v| value(&v, a.gain, "W")),
        "residuals": residuals,
        "refused": refused,
        "findings": law.findings,
    })
}

/// A value of the law as a core value, so that it is rounded as everything else is.
fn core_value(dim: Dim, v: &Value, gain: f64) -> CoreValue {
    let fit = Influence::test("law", Effect::Fit, "");
    CoreValue::exact(dim, v.value).with(fit, v.u_with_gain(gain), Shape::Normal, f64::INFINITY)
}

fn line(dim: Dim, v: &Value, gain: f64) -> String {
    let unit = if dim == Dim::Time { duration_unit(v.value) } else { dim.kept_in() };
    shown(&core_value(dim, v, gain), unit, Style::PLAIN).line()
}

fn text(law: &Law, a: &Arguments) -> String {
    let mut t = String::from("load        runs                   at the outlet\n");
    let mut add = |line: String| {
        t.push_str(&line);
        t.push('\n');
    };
    for &w in &a.at {
        let load = format!("{} W", four_digits(w, Style::PLAIN));
        match law.answer(Load::steady(w)) {
            Ok(answer) => {
                let runs = line(Dim::Time, &answer.runtime_h, a.gain);
                add(format!("{load:<10}  {runs:<21}  {}", line(Dim::Energy, &answer.energy_wh, a.gain)));
            }
            Err(refusal) => add(format!(
                "{load:<10}  refused: {}\n            missing: {}",
                refusal.why,
                refusal.missing.text()
            )),
        }
    }
    add(match law.idle() {
        Some(Idle::Draw(v)) => format!("idle draw   {}, seen from the outlet", line(Dim::Power, &v, a.gain)),
        Some(Idle::Below(w)) => format!("idle draw   below {} W", four_digits(w, Style::PLAIN)),
        None => "idle draw   not known from these rows".into(),
    });
    if let Some(v) = law.best_load() {
        add(format!("best load   {}", line(Dim::Power, &v, a.gain)));
    }
    law.findings.iter().for_each(|f| add(said(f)));
    t
}

#[cfg(test)]
mod tests {
    use super::watts;

    #[test]
    fn loads_are_typed_with_their_unit_or_without() {
        for text in ["10", "10W", " 10 w", "1e1"] {
            assert_eq!(watts(text), Ok(10.0), "{text}");
        }
        for text in ["", "W", "ten", "10 Wh", "10,5"] {
            assert!(watts(text).is_err_and(|why| why.contains("--at 10,50,200")), "{text}");
        }
    }
}
