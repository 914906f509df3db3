//! The local web app: pages rendered here, forms that work without scripts, a queue on the phone where scripts run.
mod assets;
mod answer;
mod ask;
mod at;
mod capture_view;
mod capture_words;
mod captures;
mod claims;
mod compare;
mod correcting;
mod disclosing;
mod entry;
mod expect;
mod facts;
mod fault;
mod figures;
mod files;
mod form;
mod going_out;
mod guard;
mod handbook;
mod history;
mod home;
mod inbox;
mod instruments;
mod keep;
mod lan;
mod letters;
mod loads;
mod log_state;
mod log_sums;
mod log_view;
mod logs;
mod meter;
mod model_form;
mod models;
mod page;
mod phone;
mod prices;
mod publishing;
mod retests;
mod settings;
mod script;
mod sheet;
mod specimens;
mod stage;
mod tables;
mod starting;
mod trail;
mod upload;
mod videos;
mod words;

use crate::desk::Desk;
use anyhow::Context;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use tower_http::compression::CompressionLayer;
use tower_http::compression::predicate::{DefaultPredicate, NotForContentType, Predicate};
use trueplate_store::Hold;

pub use lan::{Lan, Place};

/// How to serve.
#[derive(Clone, Copy, Debug, Default)]
pub struct Serve {
    /// Port to listen on; 0 for a free one.
    pub port: u16,
    /// Let devices of the local network in from the start; they can be let in later too.
    pub lan: bool,
    /// Address of this computer in the local network, where it is not the one found.
    pub lan_address: Option<Ipv4Addr>,
    /// Open the person's browser on it.
    pub open: bool,
}

/// What every request needs.
#[derive(Clone)]
pub struct Site {
    /// The bench.
    pub desk: Arc<Desk>,
    /// Host names under which it is served, port included.
    pub hosts: Arc<[String]>,
    /// Other devices, and whether they are let in.
    pub lan: Arc<Lan>,
    /// It is served to other devices.
    pub outside: bool,
}

impl Site {
    /// A bench served on a loopback port.
    pub fn loopback(desk: Desk, port: u16) -> Site {
        let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|host| format!("{host}:{port}"));
        Site { desk: Arc::new(desk), hosts: hosts.into(), lan: Arc::default(), outside: false }
    }
}

/// Largest form without a file, in bytes.
const FORM_BYTES: usize = 256 << 10;

/// Forms with files have limits of their own, told in words; see [`upload`].
fn files() -> DefaultBodyLimit {
    DefaultBodyLimit::disable()
}

/// Every page and every form.
pub fn router(site: Site) -> Router {
    let routes = Router::new()
        .route("/", get(home::show))
        .route("/models", get(models::list))
        .route("/model/new", get(model_form::new).post(model_form::create))
        .route("/model/{id}", get(models::show))
        .route("/model/{id}/figures", get(figures::show))
        .route("/model/{id}/picture", get(figures::file))
        .route("/figures", get(figures::list))
        .route("/model/{id}/edit", get(model_form::edit).post(model_form::save))
        .route("/model/{id}/claim/{claim}", get(claims::edit).post(claims::save))
        .route("/model/{id}/price/{at}", get(prices::edit).post(prices::save))
        .route("/model/{id}/letter/{letter}", get(letters::edit).post(letters::save))
        .route("/model/{id}/disclosure", get(disclosing::show))
        .route("/model/{id}/video/{video}", get(videos::edit).post(videos::save).layer(files()))
        .route("/questions", get(inbox::list).post(inbox::add))
        .route("/question/{id}", get(inbox::edit).post(inbox::save))
        .route("/corrections", get(correcting::list))
        .route("/correction/{seq}", get(correcting::show))
        .route("/retests", get(retests::show))
        .route("/claim/understand", get(claims::understand))
        .route("/specimen/{id}", get(specimens::edit).post(specimens::save))
        .route("/test/new", get(starting::choose).post(starting::begin))
        .route("/test/{id}", get(entry::show))
        .route("/test/{id}/understand", get(ask::understand))
        .route("/test/{id}/keep", post(keep::keep).layer(files()))
        .route("/test/{id}/remark", post(keep::remark))
        .route("/test/{id}/all", get(sheet::show).post(sheet::save))
        .route("/trail/{model}/{key}", get(trail::show))
        .route("/instruments", get(instruments::list))
        .route("/instrument/{id}", get(instruments::edit).post(instruments::save))
        .route("/instrument/{id}/check", get(meter::ask).post(meter::keep))
        .route("/instrument/{id}/effect/{calibration}", get(meter::effect))
        .route("/loads", get(loads::list))
        .route("/load/{id}", get(loads::edit).post(loads::save))
        .route("/log/new", get(logs::new).post(logs::keep).layer(files()))
        .route("/log/{sha256}", get(logs::show).post(logs::confirm))
        .route("/captures/{test}", get(captures::show).post(captures::keep).layer(files()))
        .route("/captures/{test}/say", post(captures::say))
        .route("/captures/{test}/{sha256}", get(capture_view::one))
        .route("/import", get(tables::new).post(tables::keep).layer(files()))
        .route("/import/{sha256}", get(tables::show).post(tables::take))
        .route("/compare", get(compare::show))
        .route("/answer", get(answer::show))
        .route("/script", get(script::show).post(script::checked))
        .route("/facts", get(facts::list))
        .route("/facts/{model}", get(facts::show))
        .route("/facts/{model}/{file}", get(facts::file))
        .route("/facts/file/{file}", get(facts::whole_file))
        .route("/settings", get(settings::edit).post(settings::save))
        .route("/handbook", get(handbook::list))
        .route("/handbook/{kind}", get(handbook::show))
        .route("/history", get(history::show))
        .route("/undo/{stroke}", post(history::undo))
        .route("/publish", get(publishing::show).post(publishing::publish))
        .route("/file/{sha256}", get(files::show))
        .route("/phone", get(phone::show).post(phone::change))
        .route("/pair", get(phone::pair))
        .route("/assets/{name}", get(assets::show))
        .fallback(fault::unknown_address)
        .layer(DefaultBodyLimit::max(FORM_BYTES));
    guard::guarded(routes, site.clone())
        .layer(CompressionLayer::new().compress_when(unpacked()))
        .with_state(site)
}

/// What is packed on its way: pages, not the kept files, which may be large and are handed over with their length.
fn unpacked() -> impl Predicate {
    DefaultPredicate::new().and(NotForContentType::const_new(files::AS_A_FILE))
}

/// Serves the bench at `path` until it is told to stop.
pub fn serve(path: &Path, options: Serve) -> anyhow::Result<()> {
    let desk = Desk::open(path)?;
    let mut hold = Hold::take(path, &format!("process {}", std::process::id()))?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, options.port));
        let listener = tokio::net::TcpListener::bind(address)
            .await
            .with_context(|| format!("{address} cannot be listened on; choose another with --port"))?;
        let port = listener.local_addr()?.port();
        let place = Place { address: options.lan_address, port: options.port };
        let site = Site { lan: Arc::new(Lan::at(place)), ..Site::loopback(desk, port) };
        if options.lan {
            site.lan.open(&site)?;
        }
        hold.say(&format!("process {} at http://127.0.0.1:{port}/", std::process::id()))?;
        eprintln!("serving http://127.0.0.1:{port}/");
        if let Some(door) = site.lan.shown() {
            eprintln!(
                "a phone comes in by {} (as a square for its camera: http://127.0.0.1:{port}/phone)",
                door.link
            );
        }
        if options.open
            && let Err(e) = open::that_detached(format!("http://127.0.0.1:{port}/"))
        {
            eprintln!("no browser could be opened ({e}); open the address above");
        }
        axum::serve(listener, router(site)).with_graceful_shutdown(told_to_stop()).await?;
        Ok(())
    })
}

/// Ctrl-C, or the signal by which an operating system ends a program.
async fn told_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut end) = signal(SignalKind::terminate()) {
            tokio::select! { _ = tokio::signal::ctrl_c() => (), _ = end.recv() => () }
            return;
        }
    }
    let _no_signal_can_be_waited_for = tokio::signal::ctrl_c().await;
}
