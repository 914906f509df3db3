//! `trueplate serve`: the local web app on a bench.
use super::{Ended, Stop};
use crate::web::{self, Serve};
use std::path::PathBuf;
use trueplate_store::Error;

/// Arguments of `serve`.
#[derive(clap::Args)]
pub struct Arguments {
    /// The bench file.
    file: PathBuf,
    /// Port to listen on; a free one when left out.
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Let other devices of the local network in.
    #[arg(long)]
    lan: bool,
    /// Do not open a browser.
    #[arg(long)]
    no_open: bool,
}

/// Serves a bench until told to stop.
pub fn run(arguments: &Arguments) -> Ended {
    let options = Serve { port: arguments.port, lan: arguments.lan, open: !arguments.no_open };
    web::serve(&arguments.file, options).map_err(stop)
}

fn stop(error: anyhow::Error) -> Stop {
    let words = format!("{error:#}");
    match error.downcast_ref::<Error>() {
        Some(Error::Damaged { .. }) => Stop::Damaged(words),
        Some(Error::NotFound { .. } | Error::NotABench { .. } | Error::NewerSchema { .. }) => {
            Stop::Usage(words)
        }
        _ => Stop::World(words),
    }
}
