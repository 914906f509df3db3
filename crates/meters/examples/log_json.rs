//! Prints the document of one log: `log_json FILE [--zone ZONE] [--gap SECONDS] [--map JSON]`.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
use std::fs::File;
use std::process::ExitCode;
use trueplate_meters::logs::{Hints, Options, json, load};

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let (mut path, mut hints, mut options, mut patch) =
        (String::new(), Hints::default(), Options::default(), None);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--zone" => hints.zone = words.next(),
            "--gap" => options.gap_s = words.next().and_then(|s| s.parse().ok()),
            "--map" => patch = words.next().and_then(|s| serde_json::from_str(&s).ok()),
            _ => path = word,
        }
    }
    hints.file_name = std::path::Path::new(&path).file_name().map(|n| n.to_string_lossy().into_owned());
    match load(|| File::open(&path), &hints, &options, patch.as_ref()) {
        Ok(loaded) => {
            println!("{}", json(&loaded.log));
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("{path}: {e}");
            ExitCode::from(2)
        }
    }
}
