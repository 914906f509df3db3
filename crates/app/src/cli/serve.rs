//! `trueplate serve`: the local web app.
use super::{Ended, Stop};
use crate::web;
use crate::web::Serve;
use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// Port to listen on; 0 for a free one.
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Let devices of the local network in from the start, by a link (later: More > Phone).
    #[arg(long)]
    lan: bool,
    /// Address of this computer in the local network, where another than the one found is meant.
    #[arg(long, value_name = "ADDRESS")]
    lan_address: Option<Ipv4Addr>,
    /// Do not open the browser.
    #[arg(long)]
    no_open: bool,
}

pub fn run(a: &Arguments) -> Ended {
    serve(&a.bench, Serve { port: a.port, lan: a.lan, lan_address: a.lan_address, open: !a.no_open })
}

/// Serves a bench until it is told to stop.
pub fn serve(bench: &Path, options: Serve) -> Ended {
    web::serve(bench, options).map_err(|e| match e.downcast::<trueplate_store::Error>() {
        Ok(of_the_bench) => Stop::from(of_the_bench),
        Err(other) => Stop::World(format!("{other:#}")),
    })
}
