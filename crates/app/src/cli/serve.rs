//! `trueplate serve`: the local web app.
use super::{Ended, Stop};
use crate::web;
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// Port to listen on; 0 for a free one.
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Let other devices of the local network in, after pairing.
    #[arg(long)]
    lan: bool,
    /// Do not open the browser.
    #[arg(long)]
    no_open: bool,
}

pub fn run(a: &Arguments) -> Ended {
    serve(&a.bench, a.port, a.lan, !a.no_open)
}

/// Serves a bench until it is told to stop.
pub fn serve(bench: &Path, port: u16, lan: bool, open: bool) -> Ended {
    web::serve(bench, web::Serve { port, lan, open }).map_err(|e| {
        match e.downcast::<trueplate_store::Error>() {
            Ok(of_the_bench) => Stop::from(of_the_bench),
            Err(other) => Stop::World(format!("{other:#}")),
        }
    })
}
