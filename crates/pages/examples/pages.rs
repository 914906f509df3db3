//! Writes the pages of the invented bench of the tests to a folder, to be looked at: `cargo run --example pages -- FOLDER`.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
#[path = "../tests/bench/mod.rs"]
mod bench;

use std::{env, fs, io, path};
use trueplate_pages::site::{SiteOptions, site};

fn main() -> io::Result<()> {
    let folder = path::PathBuf::from(env::args().nth(1).unwrap_or_else(|| "pages".into()));
    let site = site(&bench::computed(bench::notebook()), &SiteOptions::default());
    for (name, bytes) in &site.files {
        let file = folder.join(name);
        fs::create_dir_all(file.parent().unwrap_or(&folder))?;
        fs::write(file, bytes)?;
    }
    for (model, gate) in &site.refused {
        let why: Vec<&str> = gate.iter().map(|f| f.text.as_str()).collect();
        println!("not published: {model}: {}", why.join("; "));
    }
    Ok(())
}
