//! The demo bench: the simulated stations as a bench file. The only place in the program that knows the twin.
use std::path::Path;
use trueplate_core::notebook::Entry;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error, Stroke};
use trueplate_twin::bench::bench;
use trueplate_twin::bench::captures::captures;
use trueplate_twin::day::DEMO_SEED;

/// Writes the demo bench to a new file. Equal every time.
pub fn write(path: &Path) -> Result<(), Error> {
    let made = bench(DEMO_SEED);
    let day = |r: &Record| match r {
        Record::Test(t) => t.day.clone(),
        _ => String::new(),
    };
    let first = "2025-11-20T09:00:00-05:00";
    let mut file = Bench::create(path, first)?;
    let (tests, ground): (Vec<Record>, Vec<Record>) =
        made.records.into_iter().partition(|r| matches!(r, Record::Test(_)));
    file.save(&ground, &Stroke::at(first).why("the bench is set up"))?;
    // One stroke a day, as a tester would have written them.
    let mut rest = tests.as_slice();
    while let Some(begins) = rest.first() {
        let count = rest.iter().take_while(|r| day(r) == day(begins)).count();
        let (today, later) = rest.split_at(count);
        let at = format!("{}T21:00:00Z", day(begins));
        let mut today = today.to_vec();
        for record in &mut today {
            with_captures(&mut file, record, &at)?;
        }
        file.save(&today, &Stroke::at(at))?;
        rest = later;
    }
    for correction in made.corrections {
        file.save(&[correction.record], &Stroke::at(correction.at).why(correction.why))?;
    }
    for mut later in made.later {
        if let (Some((name, text)), Record::Video(video)) = (later.file, &mut later.record) {
            video.script = file.put_file(text.as_bytes(), name, "application/x-subrip", &later.at)?;
        }
        file.save(&[later.record], &Stroke::at(later.at))?;
    }
    Ok(())
}

/// Puts the oscilloscope's files of a test into the bench and names them in it.
fn with_captures(file: &mut Bench, record: &mut Record, at: &str) -> Result<(), Error> {
    let Record::Test(test) = record else { return Ok(()) };
    let captures = captures(DEMO_SEED, test);
    let Some(times) = test.entries.get("times").filter(|_| !captures.is_empty()) else { return Ok(()) };
    let mut entry = Entry { instrument: times.instrument.clone(), at: times.at.clone(), ..Entry::default() };
    for capture in captures {
        entry.files.push(file.put_file(capture.text.as_bytes(), &capture.name, "text/csv", at)?);
    }
    test.entries.insert("captures".into(), entry);
    Ok(())
}
