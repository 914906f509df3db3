//! The program `trueplate`: files, the clock, the network and arguments; no formula lives here.
use std::process::ExitCode;

fn main() -> ExitCode {
    trueplate::cli::main()
}
