//! `trueplate demo`: writes the fictional demo bench and serves it.
use super::{Ended, Stop, out};
use crate::demo;
use std::path::{Path, PathBuf};
use trueplate_store::Bench;

#[derive(clap::Args)]
pub struct Arguments {
    /// Where the demo bench is written.
    #[arg(long, default_value = "demo.trueplate")]
    into: PathBuf,
    /// Write a demo bench anew that is there already.
    #[arg(long)]
    replace: bool,
    /// Only write it.
    #[arg(long)]
    no_serve: bool,
    /// Port to listen on; 0 for a free one.
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Do not open the browser.
    #[arg(long)]
    no_open: bool,
}

pub fn run(a: &Arguments) -> Ended {
    prepare(&a.into, a.replace)?;
    if a.no_serve {
        return Ok(());
    }
    let options = crate::web::Serve { port: a.port, open: !a.no_open, ..Default::default() };
    super::serve::serve(&a.into, options)
}

/// A demo bench in place: written when there is none, left when there is one, anything else refused.
fn prepare(into: &Path, replace: bool) -> Ended {
    if into.exists() {
        let is_demo = Bench::open_read_only(into).and_then(|b| b.notebook()).is_ok_and(|n| n.settings.demo);
        if !is_demo {
            return Err(Stop::Usage(format!(
                "{}: this is no demo bench, so it is left as it is; name another file with --into",
                into.display()
            )));
        }
        if !replace {
            return Ok(());
        }
        remove(into)?;
    }
    demo::write(into)?;
    out(&format!("{}: a made-up bench with fourteen made-up stations\n", into.display()))
}

/// Removes a demo bench and what SQLite keeps beside it.
fn remove(bench: &Path) -> Ended {
    if let Some(who) = trueplate_store::Hold::holder(bench) {
        return Err(Stop::World(format!("{}: in use by {who}; close that first", bench.display())));
    }
    for end in ["", "-wal", "-shm"] {
        let mut path = bench.as_os_str().to_owned();
        path.push(end);
        match std::fs::remove_file(&path) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                return Err(Stop::World(format!("{}: cannot be replaced ({e})", bench.display())));
            }
            _ => (),
        }
    }
    Ok(())
}
