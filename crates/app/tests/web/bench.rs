//! A bench served on a loopback port of its own for one test.
use std::net::Ipv4Addr;
use std::path::PathBuf;
use std::sync::Arc;
use trueplate::desk::{Deed, Desk};
use trueplate::web::{Lan, Place, Site, router};
use trueplate_core::kinds;
use trueplate_core::notebook::{Claim, Condition, Notebook};
use trueplate_core::record::Record;
use trueplate_store::Bench;

/// A served bench; its file goes with it.
pub struct Served {
    pub port: u16,
    pub folder: tempfile::TempDir,
    pub file: PathBuf,
}

impl Served {
    /// An empty bench.
    pub fn empty() -> Served {
        Served::with(&[])
    }

    /// The bench of the core's own example: a model of 1000 W with a claim of 850 Wh at half load, one specimen,
    /// a plug meter, a heater, and the example test of usable energy under the id `t1`.
    pub fn example() -> Served {
        let example = kinds::find("usable-energy").expect("the kind").example();
        let Notebook { settings, mut models, specimens, instruments, loads, .. } = example.notebook;
        models[0].claims.push(Claim {
            id: "u".into(),
            key: "usable-energy".into(),
            text: "850 Wh".into(),
            condition: Condition::from([("load".into(), "50 %".into())]),
            ..Claim::default()
        });
        let mut test = example.test;
        test.id = "t1".into();
        let mut records = vec![Record::Settings(settings), Record::Test(test)];
        records.extend(models.into_iter().map(Record::Model));
        records.extend(specimens.into_iter().map(Record::Specimen));
        records.extend(instruments.into_iter().map(Record::Instrument));
        records.extend(loads.into_iter().map(Record::Load));
        Served::with(&records)
    }

    /// The core's example bench with its test of this kind, under the id `t1`, answered in these fields only.
    pub fn begun(kind: &str, answered: &[&str]) -> Served {
        let example = kinds::find(kind).expect("the kind").example();
        let Notebook { settings, models, specimens, instruments, loads, .. } = example.notebook;
        let mut test = example.test;
        test.id = "t1".into();
        test.entries.retain(|key, _| answered.contains(&key.as_str()));
        let mut records = vec![Record::Settings(settings), Record::Test(test)];
        records.extend(models.into_iter().map(Record::Model));
        records.extend(specimens.into_iter().map(Record::Specimen));
        records.extend(instruments.into_iter().map(Record::Instrument));
        records.extend(loads.into_iter().map(Record::Load));
        Served::with(&records)
    }

    /// The demo bench: fourteen made-up stations with all their tests.
    pub fn demo() -> Served {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("demo.trueplate");
        trueplate::demo::write(&file).expect("the demo bench");
        Served::serve(folder, file)
    }

    fn with(records: &[Record]) -> Served {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("bench.trueplate");
        drop(Bench::create(&file, "2026-05-03T08:00:00Z").expect("a new bench"));
        if !records.is_empty() {
            let records = records.to_vec();
            let deed = |_: &Notebook| Ok::<_, anyhow::Error>(Deed { records, why: String::new(), then: () });
            Desk::open(&file).and_then(|d| d.act("", deed)).expect("the example is kept");
        }
        Served::serve(folder, file)
    }

    fn serve(folder: tempfile::TempDir, file: PathBuf) -> Served {
        let desk = Desk::open(&file).expect("the bench opens");
        let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a loopback port");
        listener.set_nonblocking(true).expect("a listener that waits its turn");
        let port = listener.local_addr().expect("its address").port();
        // Other devices would come in here; tests listen on this computer only.
        let lan = Lan::at(Place { address: Some(Ipv4Addr::LOCALHOST), port: 0 });
        let site = Site { lan: Arc::new(lan), ..Site::loopback(desk, port) };
        std::thread::spawn(move || {
            let runtime =
                tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
            runtime.block_on(async {
                let listener = tokio::net::TcpListener::from_std(listener).expect("the same listener");
                axum::serve(listener, router(site)).await.expect("pages served");
            });
        });
        Served { port, folder, file }
    }

    /// What is written down now, read from the file by itself.
    pub fn notebook(&self) -> Notebook {
        Bench::open_read_only(&self.file).expect("the bench").notebook().expect("the notebook")
    }
}
