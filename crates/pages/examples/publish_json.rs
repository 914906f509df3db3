//! Writes the pages and charts of a file of units with their numbers and curves, to be timed beside other programs that do
//! the same: `publish_json FILE FOLDER`. The drawings are those of our own pages: each curve for a wide page and for a
//! phone, each claim with its interval mark.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
use serde::Deserialize;
use std::error::Error;
use std::fmt::Write;
use std::{env, fs, path};
use trueplate_core::abreast;
use trueplate_core::judge::Verdict;
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::shown::{self, Style};
use trueplate_core::stats::coverage::Shape;
use trueplate_core::uncertain::{Effect, Influence, Value};
use trueplate_pages::chart::trace::Trace;
use trueplate_pages::piece::{self, Mark, escape};

#[derive(Deserialize)]
struct Station {
    id: String,
    name: String,
    facts: serde_json::Map<String, serde_json::Value>,
    claims: Vec<Claim>,
    charts: Vec<Chart>,
}

#[derive(Deserialize)]
struct Claim {
    claim: String,
    stated: f64,
    measured: f64,
    u: f64,
    verdict: String,
}

#[derive(Deserialize)]
struct Chart {
    title: String,
    x: String,
    y: String,
    xs: Vec<f64>,
    ys: Vec<f64>,
}

const HEAD: &str = "<!doctype html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\"><link rel=\"stylesheet\" href=\"s.css\">";

fn number(value: &serde_json::Value) -> String {
    value.as_f64().map_or_else(|| escape(&value.to_string()), |x| shown::four_digits(x, Style::POINT))
}

fn claim(out: &mut String, station: &str, c: &Claim) {
    let unit: &'static Unit = Dim::Power.kept_in();
    let doubt = Influence::test(station, Effect::Stated, "");
    let measured = Value::exact(Dim::Power, c.measured).with(doubt, c.u / 2.0, Shape::Normal, f64::INFINITY);
    let verdict = match c.verdict.as_str() {
        "holds" => Verdict::Met,
        "fails" => Verdict::NotMet,
        _ => Verdict::CannotTell,
    };
    let mark = Mark {
        limit: c.stated,
        minimum: true,
        measured: &measured,
        trials: &[],
        verdict,
        unit,
        style: Style::POINT,
    };
    let _ = write!(
        out,
        "<tr><th scope=\"row\">{}<td>{}<td>{}<td>{}<td>{}",
        escape(&c.claim),
        piece::plain(c.stated, Style::POINT),
        piece::number(&measured, unit, Style::POINT),
        mark.svg(),
        piece::verdict(verdict)
    );
}

fn page(station: &Station) -> String {
    let mut out =
        format!("{HEAD}<title>{0}</title></head>\n<body><h1>{0}</h1>\n<table>", escape(&station.name));
    for (key, value) in &station.facts {
        let _ = write!(out, "<tr><th scope=\"row\">{}<td>{}", escape(key), number(value));
    }
    out.push_str("</table>\n<table>");
    station.claims.iter().for_each(|c| claim(&mut out, &station.id, c));
    out.push_str("</table>\n");
    for chart in &station.charts {
        let points: Vec<(f64, f64, f64)> =
            chart.xs.iter().zip(&chart.ys).map(|(x, y)| (*x, *y, *y)).collect();
        let window = (points.first().map_or(0.0, |p| p.0), points.last().map_or(0.0, |p| p.0));
        let drawn = Trace { points, window, ..Trace::default() }.figure();
        let (title, x, y) = (escape(&chart.title), escape(&chart.x), escape(&chart.y));
        let _ = writeln!(out, "<figure>{drawn}<figcaption>{title}: {y} against {x}</figcaption></figure>");
    }
    out.push_str("<p><a href=\"index.html\">all units</a></p></body></html>\n");
    out
}

fn index(stations: &[Station]) -> String {
    let mut out = format!("{HEAD}<title>Comparison</title></head>\n<body><table><thead><tr><th>unit");
    for key in stations.first().iter().flat_map(|s| s.facts.keys()) {
        let _ = write!(out, "<th scope=\"col\">{}", escape(key));
    }
    for s in stations {
        let _ =
            write!(out, "\n<tr><th scope=\"row\"><a href=\"{}.html\">{}</a>", escape(&s.id), escape(&s.name));
        s.facts.values().for_each(|v| out.push_str(&format!("<td>{}", number(v))));
    }
    out.push_str("</table></body></html>\n");
    out
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = env::args().skip(1).collect();
    let [file, folder] = words.as_slice() else { return Err("say FILE FOLDER".into()) };
    let stations: Vec<Station> = serde_json::from_slice(&fs::read(file)?)?;
    let folder = path::Path::new(folder);
    fs::create_dir_all(folder)?;
    let write = |name: &str, text: &str| fs::write(folder.join(name), text).map(|()| text.len());
    let mut bytes = write("s.css", "body{font:16px sans-serif}")? + write("index.html", &index(&stations))?;
    for written in abreast::each(&stations, |s| write(&format!("{}.html", s.id), &page(s))) {
        bytes += written?;
    }
    let charts: usize = stations.iter().map(|s| s.charts.len()).sum();
    println!("{}", serde_json::json!({"pages": stations.len() + 1, "charts": charts, "_bytes": bytes}));
    Ok(())
}
