//! How fast a large bench loads. Run in release: `cargo test --release -p trueplate-store speed -- --ignored --nocapture`.
use crate::ground::{fresh, model, noise, stroke, test};
use std::time::Instant;
use trueplate_core::record::Record;

/// 500 models with 8 tests each in less than 50 ms, so that a page can be made from the file at each request.
#[test]
#[ignore = "a measurement, for release builds"]
fn five_hundred_models_load_in_fifty_milliseconds() {
    let (_folder, mut b) = fresh();
    let mut records = Vec::new();
    for m in 0..500 {
        records.push(Record::Model(model(&format!("m{m}"))));
        for t in 0..8 {
            records.push(Record::Test(test(&format!("t{m}-{t}"), "0,91 kWh")));
        }
    }
    b.save(&records, &stroke("")).unwrap();
    let bytes = noise(1, 64 << 20);
    let t = Instant::now();
    b.put_file(bytes.as_slice(), "log.csv", "text/csv", "").unwrap();
    println!("64 MiB kept in {:?}", t.elapsed());
    let mut best = f64::INFINITY;
    for _ in 0..20 {
        let t = Instant::now();
        assert_eq!(b.notebook().unwrap().tests.len(), 4000);
        best = best.min(t.elapsed().as_secs_f64());
    }
    let t = Instant::now();
    assert_eq!(b.verify().unwrap(), []);
    println!("notebook {:.1} ms, verify {:?}", best * 1e3, t.elapsed());
    assert!(best < 0.050, "{best} s");
}
