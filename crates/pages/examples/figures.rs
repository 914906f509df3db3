//! Draws the pictures of the demo bench into a folder and says how long that took: `cargo run --release --example figures --
//! FOLDER [PART-OF-NAME] [1080|2160|vertical] [whole]`.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line and times itself"
)]
use std::sync::Arc;
use std::time::Instant;
use std::{env, fs, path};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;
use trueplate_pages::figure::{Frame, Options, figures};
use trueplate_twin::bench::notebook;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut words = env::args().skip(1);
    let folder = path::PathBuf::from(words.next().unwrap_or_else(|| "figures".into()));
    let mut word = || words.next().unwrap_or_default();
    let (part, size, whole) = (word(), word(), word() == "whole");
    let notebook = notebook(trueplate_twin::day::DEMO_SEED);
    let found = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(found), "2026-06-30");
    let begun = Instant::now();
    let main = ["usable-energy", "sustained-output", "idle-draw"].map(String::from).to_vec();
    let all = figures(&report, &Options { main, ..Options::default() }, None);
    println!("{} figures gathered in {:?}", all.len(), begun.elapsed());
    let (begun, mut files, mut bytes) = (Instant::now(), 0, 0);
    for figure in all.iter().filter(|f| f.name.contains(&part)) {
        for frame in Frame::ALL.into_iter().filter(|f| size.is_empty() || f.key() == size) {
            for form in figure.forms().into_iter().filter(|f| !whole || f.layer.is_none()) {
                let png = figure.png(frame, form)?;
                let file = folder.join(figure.path(frame, form));
                fs::create_dir_all(file.parent().unwrap_or(&folder))?;
                (files, bytes) = (files + 1, bytes + png.len());
                fs::write(file, png)?;
            }
        }
    }
    println!("{files} files, {} MB, in {:?}", bytes >> 20, begun.elapsed());
    Ok(())
}
