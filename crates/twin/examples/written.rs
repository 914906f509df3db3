//! Prints what a tester wrote about one model, or everything, as JSON: `written [U06]`.
use trueplate_twin::day::{DEMO_SEED, of_unit, whole_bench};

fn main() {
    let pages = match std::env::args().nth(1) {
        Some(id) => of_unit(&id, DEMO_SEED),
        None => whole_bench(DEMO_SEED),
    };
    println!("{}", serde_json::to_string_pretty(&pages).unwrap_or_default());
}
