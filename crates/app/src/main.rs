//! The program.
use std::path::PathBuf;

fn main() -> anyhow::Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["serve", file, rest @ ..] => {
            let port = rest.iter().position(|w| *w == "--port").and_then(|i| rest.get(i + 1)?.parse().ok());
            let serve = trueplate::web::Serve { port: port.unwrap_or(0), lan: rest.contains(&"--lan") };
            trueplate::web::serve(&PathBuf::from(file), serve)
        }
        _ => anyhow::bail!("usage: trueplate serve FILE [--port N] [--no-open]"),
    }
}
