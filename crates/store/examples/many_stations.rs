//! Writes a bench of many invented stations, to see how publishing takes it, or changes one reading in such a bench.
//! `cargo run --release -p trueplate-store --example many_stations -- FILE [STATIONS]`, then the same with the word `change`.
#[path = "../../pages/tests/many/mod.rs"]
mod many;

use std::error::Error;
use std::path::Path;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Stroke};

const AT: &str = "2026-06-01T09:00:00Z";

fn write(file: &Path, stations: usize) -> Result<(), Box<dyn Error>> {
    let mut bench = Bench::create(file, AT)?;
    bench.save(&many::ground(stations)?, &Stroke::at(AT).why("the bench is set up"))?;
    for i in 0..stations {
        bench.save(&many::tests(i)?, &Stroke::at(AT))?;
    }
    Ok(())
}

/// Types one reading of the station in the middle anew.
fn change(file: &Path) -> Result<(), Box<dyn Error>> {
    let mut bench = Bench::open(file)?;
    let test = many::changed(&bench.notebook()?)?;
    bench.save(&[Record::Test(test)], &Stroke::at(AT).why("typed wrong"))?;
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let file = Path::new(words.first().ok_or("name the bench file to write")?);
    match words.get(1).map(String::as_str) {
        Some("change") => change(file),
        stations => write(file, stations.map_or(Ok(500), str::parse)?),
    }
}
